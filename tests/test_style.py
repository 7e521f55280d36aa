"""Format, types, sizes and names of files; nothing of one machine gets into the project."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[1]
LONGEST_MODULE = 350
# One letter of each in brackets, so that this file does not hold what it looks for.
FOREIGN = {
    "the name of a registry's host": re.compile(
        r"py[p]i\.\w|python[h]osted|npm[j]s\.|yarn[p]kg\.|de[b]ian\.org|ana[c]onda\.(org|com)"
    ),
    "a path of one machine": re.compile(
        r"(?<![\w.~/-])/(wor[k]|roo[t]|hom[e]|User[s])/\w|\b[A-Z]:\\\\?User[s]"
    ),
    "a word about how it was built": re.compile(r"shared [s]heet|sub-?[a]gent", re.IGNORECASE),
}


def project_files() -> list[Path]:
    """The files that are, or would be, under version control."""
    git = shutil.which("git")
    if git is None or not (PROJECT / ".git").exists():
        pytest.skip("not a git work tree, so which files belong to the project is not known")
    command = [git, "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    names = subprocess.run(command, cwd=PROJECT, capture_output=True, check=True).stdout
    paths = [PROJECT / name for name in names.decode().split("\0") if name]
    return [path for path in paths if path.is_file()]


@pytest.mark.parametrize(
    "command", [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]], ids=" ".join
)
def test_tool_has_nothing_to_say(command: list[str]) -> None:
    run = subprocess.run(
        [sys.executable, "-m", *command], cwd=PROJECT, capture_output=True, text=True
    )
    assert run.returncode == 0, run.stdout + run.stderr


def test_nothing_of_one_machine_or_registry() -> None:
    found = []
    for path in project_files():
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        for number, line in enumerate(lines, start=1):
            for what, pattern in FOREIGN.items():
                if pattern.search(line):
                    found.append(f"{path.relative_to(PROJECT)}:{number}: {what}: {line[:100]}")
    assert found == []


@pytest.mark.parametrize(
    "text",
    [
        "https://py" + "pi.org/simple",
        "/wo" + "rk/main",
        "/ho" + "me/a/b",
        "see the shared " + "sheets",
    ],
)
def test_each_pattern_bites(text: str) -> None:
    assert any(pattern.search(text) for pattern in FOREIGN.values())


def test_a_module_is_one_subject() -> None:
    long = {
        str(path.relative_to(PROJECT)): lines
        for path in (PROJECT / "reef_calc").rglob("*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    }
    assert long == {}
