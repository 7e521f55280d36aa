"""What the XML of an ODS workbook says of its cells beyond their values."""

from __future__ import annotations

from reef_calc.log.foreign.file_limits import COLUMNS, unusable
from reef_calc.log.foreign.workbook_parts import Attributes, SheetParts, walk_xml

_MOST_LISTED = 100_000
_HIDDEN = ("collapse", "filter")


def scan_ods(file: str, part: bytes, most_text: int) -> tuple[SheetParts, ...]:
    """Return what is known of the sheets of an ODS workbook.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    part : bytes
        The part that holds the cells.
    most_text : int
        Largest number of characters that all cells together may hold.

    Returns
    -------
    tuple of SheetParts
        The sheets in order.

    Raises
    ------
    InputError
        If a sheet is too large, or the part is damaged.

    Examples
    --------
    >>> part = b"<d><table name='log'><table-row><table-cell value-type='float' value='8.3'/>"
    >>> sheets = scan_ods("log.ods", part + b"</table-row></table></d>", 1000)
    >>> sheets[0].name, sheets[0].rows, sheets[0].columns
    ('log', 1, 1)
    """
    cells = _Cells(file, most_text)
    walk_xml(file, part, cells.start, cells.end, cells.characters)
    return tuple(cells.sheets)


def _plain(attributes: Attributes) -> Attributes:
    return {name.rpartition(":")[2]: value for name, value in attributes.items()}


def _count(text: str) -> int:
    digits = text.lstrip("+")
    return max(int(digits[:30]), 1) if digits.isdecimal() else 1


class _Cells:
    """Follows the tables from cell to cell, repeated rows and cells counted as often."""

    def __init__(self, file: str, left: int) -> None:
        self.file, self.left = file, left
        self.sheets: list[SheetParts] = []
        self.row = self.column = 0
        self.rows = self.times = 1
        self.width = self.columns_seen = self.notes = 0
        self.cell: Attributes | None = None
        self.text: list[str] = []
        self.in_row = 0

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "table":
            plain = _plain(attributes)
            self.sheets.append(SheetParts(plain.get("name", "")))
            self.row = self.columns_seen = 0
        elif not self.sheets:
            return
        elif name == "annotation":
            self.notes += 1
        elif name == "table-row":
            plain = _plain(attributes)
            self.rows, self.column, self.width, self.in_row = (
                _count(plain.get("number-rows-repeated", "")), 0, 0, 0,
            )  # fmt: skip
            if plain.get("visibility", "") in _HIDDEN and self.rows < 1000:
                self.sheets[-1].hidden_rows.update(range(self.row, self.row + self.rows))
        elif name == "table-column":
            plain = _plain(attributes)
            count = _count(plain.get("number-columns-repeated", ""))
            if plain.get("visibility", "") in _HIDDEN:
                last = min(self.columns_seen + count, COLUMNS)
                self.sheets[-1].hidden_columns.update(range(self.columns_seen, last))
            self.columns_seen += count
        elif name in ("table-cell", "covered-table-cell"):
            self.cell, self.text = _plain(attributes), []
            self.times = _count(self.cell.get("number-columns-repeated", ""))
        elif name == "s" and self.cell is not None:
            # Blanks are written as a count; a count is all that a bomb needs.
            count = _count(_plain(attributes).get("c", ""))
            self._spend(count * self.times * self.rows)

    def characters(self, text: str) -> None:
        if self.cell is not None and not self.notes:
            self.text.append(text)

    def end(self, name: str) -> None:
        if name == "annotation":
            self.notes = max(self.notes - 1, 0)
        elif name in ("table-cell", "covered-table-cell") and self.cell is not None:
            self._close(self.cell)
            self.cell = None
        elif name == "table-row" and self.sheets:
            if self.in_row and self.rows > 1:
                self.sheets[-1].hold(self.file, self.row + self.rows - 1, self.width - 1)
            self.row += self.rows

    def _spend(self, count: int) -> None:
        self.left -= count
        if self.left < 0:
            repair = "Save the sheet with the readings as CSV in UTF-8."
            raise unusable(self.file, "far too much text in the cells", repair)

    def _close(self, cell: Attributes) -> None:
        sheet, text = self.sheets[-1], "".join(self.text).strip()
        formula = "formula" in cell
        if text or "value-type" in cell or formula:
            self.in_row += 1
            self.width = self.column + self.times
            sheet.hold(self.file, self.row, self.width - 1)
            self._spend((len(text) + len(cell.get("string-value", ""))) * self.times * self.rows)
        place = (self.row, self.column)
        if formula:
            sheet.formulas += 1
            stored = any(cell.get(key) for key in (
                "value", "date-value", "time-value", "boolean-value", "string-value",
            ))  # fmt: skip
            listed = len(sheet.texts) + len(sheet.without_result) < _MOST_LISTED
            if not stored and text and listed:
                sheet.texts[place] = text[:1000]
            elif not stored and "value-type" not in cell and listed:
                sheet.without_result.append(place)
        down, across = _count(cell.get("number-rows-spanned", "")), _count(
            cell.get("number-columns-spanned", "")
        )  # fmt: skip
        if (down > 1 or across > 1) and len(sheet.merged) < _MOST_LISTED:
            last = (self.row + down - 1, self.column + across - 1)
            sheet.merged.append((*place, *last))
        self.column += self.times
