"""environment.yml asks for the same as pyproject.toml."""

from __future__ import annotations

import tomllib
from pathlib import Path

import yaml

PROJECT = Path(__file__).resolve().parents[1]
# Where conda-forge's name is not the one of the Python package index.
CONDA_NAMES = {"PyCO2SYS": "pyco2sys", "tzdata": "python-tzdata"}


def conda_requirement(requirement: str) -> str:
    """A requirement under the name of conda-forge."""
    name, version = requirement.split(">=")
    return f"{CONDA_NAMES.get(name, name)}>={version}"


def test_the_conda_environment_equals_the_project() -> None:
    text = (PROJECT / "pyproject.toml").read_text(encoding="utf-8")
    project = tomllib.loads(text)["project"]
    environment = yaml.safe_load((PROJECT / "environment.yml").read_text(encoding="utf-8"))
    wanted = project["dependencies"] + project["optional-dependencies"]["carbonate"]
    assert environment["name"] == project["name"]
    assert environment["channels"] == ["conda-forge"]
    assert environment["dependencies"] == [
        f"python{project['requires-python']}",
        "pip",
        *map(conda_requirement, wanted),
        {"pip": ["-e ."]},
    ]
