"""Every file of the messy collection gives the cells that a person sees in it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest

from reef_calc.log.foreign.reader import read_grid, read_grid_and_questions

MESSY = Path(__file__).resolve().parents[2] / "data" / "messy"
FILES = sorted(path for path in MESSY.iterdir() if path.name.startswith("M"))
# Number of rows and of columns, and one cell by row and column, as read off by eye.
SEEN: dict[str, tuple[int, int, int, int, object]] = {
    "M01.csv": (3, 3, 2, 2, "415,5"),
    "M02.csv": (3, 3, 1, 2, "3"),
    "M03.csv": (4, 2, 3, 1, "8,0"),
    "M05.csv": (4, 2, 3, 0, "3/16/2026"),
    "M07.csv": (3, 2, 2, 1, "8.2"),
    "M10.csv": (4, 2, 2, 0, "46055.5"),
    "M11.xlsx": (3, 2, 1, 0, dt.date(2026, 2, 1)),
    "M12.csv": (4, 2, 2, 0, "29.02.2026"),
    "M14.csv": (4, 2, 1, 1, "8.10"),
    "M15.csv": (4, 3, 3, 1, ""),
    "M16.csv": (5, 3, 2, 2, "2,9 meq/l"),
    "M17.csv": (3, 4, 1, 3, "µg/L P"),
    "M19.csv": (7, 2, 3, 1, "< 0.02"),
    "M20.csv": (6, 2, 2, 1, "5-10"),
    "M22.csv": (4, 3, 2, 1, "-999"),
    "M23.csv": (4, 4, 3, 3, "7.9"),
    "M24.csv": (5, 2, 4, 1, "7.6"),
    "M25.csv": (6, 2, 5, 0, "01/03/26"),
    "M26.csv": (6, 4, 5, 3, "9.0"),
    "M27.csv": (3, 6, 0, 5, "PO4-P (ppb)"),
    "M28.xlsx": (4, 5, 3, 4, 425.0),
    "M29.csv": (6, 2, 5, 0, "* changed salt on 5 Feb"),
    "M30.csv": (6, 2, 0, 0, "Tank 3, 420 L"),
    "M31.txt": (2, 3, 1, 2, "coral \U0001fab8 ok"),
    "M32.csv": (2, 3, 0, 2, "PO4 µg/l"),
    "M34.csv": (5, 4, 4, 1, "740"),
    "M36.csv": (8, 2, 7, 1, "75 x 50 x 50 cm"),
    "M38.csv": (2, 2, 1, 1, "8.3"),
    "M39.csv": (5, 3, 2, 1, "1.0264"),
    "M40.csv": (4, 5, 1, 2, "moved\nrock"),
}


def test_the_collection_is_whole() -> None:
    assert [path.name for path in FILES] == sorted(SEEN)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_cells_as_seen(path: Path) -> None:
    rows, columns, row, column, cell = SEEN[path.name]
    grid, questions = read_grid_and_questions(path.name, path.read_bytes())
    assert len(grid.rows) == rows and max(map(len, grid.rows)) == columns
    assert grid.rows[row][column] == cell
    assert not grid.broken and not questions


@pytest.mark.parametrize("name", ["M11.xlsx", "M28.xlsx"])
def test_workbooks_agree_with_a_general_library(name: str) -> None:
    """Against openpyxl, which reads cell by cell."""
    sheet = openpyxl.load_workbook(MESSY / name).active
    grid = read_grid(name, (MESSY / name).read_bytes())
    for row, cells in enumerate(sheet.iter_rows(values_only=True)):
        for column, cell in enumerate(cells):
            ours = grid.rows[row][column]
            if isinstance(cell, dt.datetime):
                assert ours == cell.date()
            else:
                assert ours == ("" if cell is None else cell)


def test_an_old_workbook_of_published_figures() -> None:
    """XLS file that comes with statsmodels, against the same figures in its CSV table."""
    from statsmodels.datasets import macrodata

    path = Path(macrodata.__file__).with_name("src") / "macrodata.xls" / "macrodata.xls"
    if not path.is_file():
        pytest.skip("statsmodels is installed without the sources of its data")
    grid = read_grid("old.xls", path.read_bytes(), sheet="Quarterly")
    assert grid.sheets == ("README", "Monthly", "Quarterly")
    at = grid.rows[0].index("GDPC96")
    by_day = {row[0]: row[at] for row in grid.rows[1:]}
    published = macrodata.load_pandas().data
    assert len(published) > 200
    for year, quarter, product in published[["year", "quarter", "realgdp"]].to_numpy():
        assert by_day[dt.date(int(year), int(3 * quarter - 2), 1)] == pytest.approx(
            product, abs=1e-3
        )
