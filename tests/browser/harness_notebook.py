"""Two tiny notebooks that prove the harness: one with a panel like the project's, one that fails."""

from __future__ import annotations

from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

PANEL = '''# Show the panel
import ipywidgets as widgets

choice = widgets.Dropdown(options=["alkalinity", "calcium"], description="Element")
view = widgets.HTML()

def draw(change=None):
    view.value = f"""<div class="rc" data-element="{choice.value}">
        <h2>{choice.value}</h2><svg width="40" height="40" role="img" aria-label="a dot">
        <circle cx="20" cy="20" r="9"/></svg></div>"""

choice.observe(draw, "value")
draw()
widgets.VBox([choice, view])'''


def write_harness_notebooks(folder: Path) -> None:
    """Write harness_panel.ipynb and harness_failure.ipynb into `folder`."""
    for name, code in (("panel", PANEL), ("failure", "# Fail\nraise ValueError('on purpose')")):
        cells = [
            new_markdown_cell("# A notebook for the harness"),
            new_code_cell(code, metadata={"jupyter": {"source_hidden": True}}),
            new_code_cell("# The last cell\n'reached the end'"),
        ]
        kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
        notebook = new_notebook(cells=cells, metadata={"kernelspec": kernel})
        nbformat.write(notebook, folder / f"harness_{name}.ipynb")
