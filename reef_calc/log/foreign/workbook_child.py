"""Run as a process of its own: reads a workbook from its input, writes a table as JSON.

A damaged or hostile workbook can ask for any amount of memory, which ends the process that reads
it. Then this process ends and the notebook lives on.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import sys
from typing import Any

MEMORY_BYTES = 2 * 1024**3
PLAIN = (str, float, bool)
PLACES, COLUMNS = 6_000_000, 500


def cell_as_json(cell: Any) -> Any:
    """Return a cell in a form that JSON can hold.

    Parameters
    ----------
    cell : object
        As the reader of workbooks gives it.

    Returns
    -------
    object
        Texts, numbers and truths as they are; times as a pair of their kind and their text.

    Examples
    --------
    >>> cell_as_json(8.3), cell_as_json(dt.date(2026, 2, 1))
    (8.3, ['date', '2026-02-01'])
    """
    if isinstance(cell, dt.datetime | dt.date | dt.time):
        return [type(cell).__name__, cell.isoformat()]
    if isinstance(cell, dt.timedelta):
        return ["timedelta", cell.total_seconds()]
    return cell


def _main() -> None:
    """Read a workbook from the input; the first argument names the sheet."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    except (ImportError, ValueError, OSError):
        # Not every system can limit a process; the sizes below are looked at all the same.
        pass
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(sys.stdin.buffer.read()))
    hidden = [one.name for one in book.sheets_metadata if not str(one.visible).endswith(".Visible")]
    answer: dict[str, Any] = {"sheets": [], "hidden": hidden, "rows": [], "merged": []}
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    for name in book.sheet_names:
        sheet = book.get_sheet_by_name(name)
        if not sheet.height:
            continue
        answer["sheets"].append(name)
        if name == wanted or (not wanted and len(answer["sheets"]) == 1):
            if sheet.width > COLUMNS or sheet.height * sheet.width > PLACES:
                answer["large"] = [sheet.height, sheet.width]
                continue
            rows = sheet.to_python(skip_empty_area=False)
            answer["rows"] = [
                [cell if type(cell) in PLAIN else cell_as_json(cell) for cell in row]
                for row in rows
            ]
            answer["merged"] = [[*first, *last] for first, last in sheet.merged_cell_ranges or []]
    # In one piece: writing to a stream bit by bit is many times slower.
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    _main()
