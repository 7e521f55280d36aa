"""Settings of JupyterLab for this project only; used when JUPYTER_CONFIG_DIR is this folder."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
c = get_config()  # type: ignore[name-defined]  # noqa: F821


def save_without_results(model: dict[str, Any], path: str, **_: object) -> None:
    """Save the project's notebooks as they came, without results, so that Run All starts afresh."""
    if model["type"] != "notebook" or not path.startswith("notebooks/"):
        return
    metadata = model["content"]["metadata"]
    metadata.pop("widgets", None)
    metadata["language_info"] = {"name": "python"}
    for cell in model["content"]["cells"]:
        cell["metadata"].pop("trusted", None)
        if cell["cell_type"] == "code":
            cell["outputs"], cell["execution_count"] = [], None


c.FileContentsManager.pre_save_hook = save_without_results
c.ServerApp.root_dir = str(HERE.parent)
c.ServerApp.ip = "127.0.0.1"
# The server warns against running as root; where root is the only user there is no other way.
c.ServerApp.allow_root = hasattr(os, "geteuid") and os.geteuid() == 0
# One document, without file browser and tabs.
c.LabApp.default_url = "/doc/tree/notebooks/00_start.ipynb"
c.LabApp.custom_css = True
c.LabApp.user_settings_dir = str(HERE / "runtime" / "user-settings")
c.LabApp.workspaces_dir = str(HERE / "runtime" / "workspaces")
# Nothing is asked of the outside world.
c.LabApp.news_url = None
c.LabApp.check_for_updates_class = "jupyterlab.NeverCheckForUpdate"
c.LabApp.extension_manager = "readonly"
