"""Every notebook is clean, readable while folded, and opens with what it answers and needs."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbformat.validator import NotebookValidationError

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"
LONGEST_CELL = 12


def faults(notebook: nbformat.NotebookNode) -> list[str]:
    """What is wrong with a notebook, a line each."""
    found = []
    try:
        nbformat.validate(notebook)
    except NotebookValidationError as error:
        found.append(f"not a valid notebook: {error}")
    if notebook.metadata.get("kernelspec", {}).get("name") != "python3":
        found.append("the kernel is not python3")
    if "widgets" in notebook.metadata:
        found.append("widget state is stored")
    found += opening_faults(notebook.cells)
    for number, cell in enumerate(notebook.cells):
        if cell.cell_type == "code":
            found += [f"cell {number}: {fault}" for fault in code_faults(cell)]
    return found


def opening_faults(cells: list[nbformat.NotebookNode]) -> list[str]:
    """What the first cell fails to say."""
    if not cells or cells[0].cell_type != "markdown":
        return ["the first cell is not text"]
    opening = " ".join(cells[0].source.replace("*", "").split()).lower()
    wanted = {
        "a title": opening.startswith("# "),
        "the question": "?" in opening,
        "what you need": "you need" in opening,
        "“press Run, then Run All Cells”": "press run, then run all cells" in opening,
    }
    return [f"the first cell lacks {what}" for what, there in wanted.items() if not there]


def code_faults(cell: nbformat.NotebookNode) -> list[str]:
    """What is wrong with one code cell."""
    lines = cell.source.splitlines()
    wrong = {
        "has outputs": bool(cell.outputs),
        "has an execution count": cell.execution_count is not None,
        "its source is not hidden": not cell.metadata.get("jupyter", {}).get("source_hidden"),
        "its first line is not a comment": not (lines and lines[0].startswith("# ")),
        f"is longer than {LONGEST_CELL} lines": len(lines) > LONGEST_CELL,
    }
    return [fault for fault, there in wrong.items() if there]


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.ipynb")), ids=lambda path: path.stem)
def test_notebook_is_clean(path: Path) -> None:
    assert faults(nbformat.read(path, as_version=4)) == []


def test_every_fault_is_found() -> None:
    output = nbformat.v4.new_output("stream", text="8.2")
    cells = [
        nbformat.v4.new_markdown_cell("Hello"),
        nbformat.v4.new_code_cell("1\n" * 13, outputs=[output], execution_count=1),
    ]
    bad = nbformat.v4.new_notebook(cells=cells, metadata={"widgets": {}})
    bad.metadata["kernelspec"] = nbformat.NotebookNode()
    assert len(faults(bad)) == 1 + 2 + 4 + 5
