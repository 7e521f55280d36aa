"""What the XML of an XLSX workbook says of its cells beyond their values."""

from __future__ import annotations

import re
from functools import lru_cache

from reef_calc.log.foreign.file_limits import COLUMNS, PLACES, ROWS, unusable
from reef_calc.log.foreign.workbook_parts import Attributes, SheetParts, target_of, walk_xml

_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_PLAIN_CELL = re.compile(rb'<c r="([A-Z]{1,3})([0-9]{1,7})"')
# Declarations, single quotes, prefixes, and wide characters: written by nobody but readable.
_UNUSUAL = re.compile(rb"<!|=\s*'|<\w+:(?:c|row|v|f|is|col)\b|\x00|<c\s*[\t\r\n]")
_MOST_LISTED = 100_000


def scan_xlsx(
    file: str, parts: dict[str, bytes], most_text: int
) -> tuple[tuple[SheetParts, ...], bool]:
    """Return what is known of the sheets of a workbook, and whether it counts days from 1904.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    parts : dict of str to bytes
        Its parts by name.
    most_text : int
        Largest number of characters that all cells together may hold.

    Returns
    -------
    tuple
        The sheets in order; whether days count from 1904.

    Raises
    ------
    InputError
        If a sheet is too large, or the workbook is damaged.

    Examples
    --------
    >>> book = b"<workbook><workbookPr date1904='1'/><sheet name='log'/></workbook>"
    >>> sheets, from_1904 = scan_xlsx("log.xlsx", {"xl/workbook.xml": book}, 1000)
    >>> sheets[0].name, from_1904
    ('log', True)
    """
    named: list[tuple[str, str]] = []
    targets: dict[str, str] = {}
    from_1904 = False

    def book(name: str, attributes: Attributes) -> None:
        nonlocal from_1904
        if name == "sheet":
            pointer = next((v for k, v in attributes.items() if k.rpartition(":")[2] == "id"), "")
            named.append((attributes.get("name", ""), pointer))
        elif name == "workbookPr":
            from_1904 = attributes.get("date1904", "") in ("1", "true")

    def relation(name: str, attributes: Attributes) -> None:
        if name == "Relationship":
            targets[attributes.get("Id", "")] = target_of("xl", attributes.get("Target", ""))

    walk_xml(file, parts["xl/workbook.xml"], book)
    walk_xml(file, parts.get("xl/_rels/workbook.xml.rels", b"<none/>"), relation)
    lengths = _shared_lengths(file, parts.get("xl/sharedStrings.xml", b"<none/>"))
    by_part: dict[str, SheetParts] = {}
    left = most_text
    # Every part that could be a sheet, so that none is opened unmeasured.
    for name in parts:
        if name.startswith("xl/worksheets/") and name.endswith(".xml"):
            by_part[name], left = _scan_sheet(file, name, parts[name], lengths, left)
    for target in targets.values():
        if target in parts and target not in by_part and target.endswith(".xml"):
            by_part[target], left = _scan_sheet(file, target, parts[target], lengths, left)
    sheets = []
    for name, pointer in named:
        sheet = by_part.get(targets.get(pointer, ""), SheetParts(name))
        sheet.name = name
        sheets.append(sheet)
    return tuple(sheets), from_1904


def _shared_lengths(file: str, part: bytes) -> list[int]:
    lengths: list[int] = []

    def start(name: str, attributes: Attributes) -> None:
        if name == "si":
            lengths.append(0)

    def characters(text: str) -> None:
        if lengths:
            lengths[-1] += len(text)

    walk_xml(file, part, start, None, characters)
    return lengths


@lru_cache(maxsize=65536)
def _column(letters: str) -> int:
    column = 0
    for letter in letters.upper():
        column = 26 * column + ord(letter) - 64
    return column - 1


class _Cells:
    """Follows one sheet from cell to cell."""

    def __init__(self, file: str, sheet: SheetParts, lengths: list[int], left: int) -> None:
        self.file, self.sheet, self.lengths, self.left = file, sheet, lengths, left
        self.row, self.column, self.kind = -1, -1, ""
        self.formula = self.result = self.wanted = False
        self.value: list[str] = []
        # Sharing one long text among many cells only matters where there is a long one.
        self.longest = max(lengths, default=0)

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "c":
            self.column += 1
            written = attributes.get("r")
            reference = _REFERENCE.fullmatch(written) if written is not None else None
            if written is not None and reference is None:
                repair = "Open it in a spreadsheet, save it again as XLSX, and bring that in."
                raise unusable(self.file, "a damaged workbook", repair)
            if reference:
                self.column, self.row = _column(reference[1]), int(reference[2]) - 1
            self.kind = attributes.get("t", "")
            self.formula = self.result = False
            self.value = []
        elif name in ("v", "is", "f"):
            self.sheet.hold(self.file, max(self.row, 0), self.column)
            self.formula = self.formula or name == "f"
            self.wanted = name == "v"
        elif name == "row":
            self.row, self.column = self.row + 1, -1
            if attributes.get("r", "").isdecimal():
                self.row = int(attributes["r"][:9]) - 1
            if attributes.get("hidden", "") in ("1", "true") and len(self.sheet.hidden_rows) < 1e5:
                self.sheet.hidden_rows.add(self.row)
        elif name == "col" and attributes.get("hidden", "") in ("1", "true"):
            first, last = attributes.get("min", ""), attributes.get("max", "")
            if first.isdecimal() and last.isdecimal():
                ends = (min(int(first), COLUMNS) - 1, min(int(last), COLUMNS))
                self.sheet.hidden_columns.update(range(*ends))

    def characters(self, text: str) -> None:
        if self.wanted:
            self.value.append(text)

    def end(self, name: str) -> None:
        if name == "v":
            self.wanted = False
        elif name == "c" and (self.formula or self.kind in ("e", "s")):
            self._look()

    def _look(self) -> None:
        value = "".join(self.value)
        if self.kind == "s":
            index = int(value) if value.isdecimal() and len(value) < 10 else -1
            self.left -= self.lengths[index] if 0 <= index < len(self.lengths) else 0
            if self.left < 0:
                repair = "Save the sheet with the readings as CSV in UTF-8."
                raise unusable(self.file, "far too much text in the cells", repair)
        place = (max(self.row, 0), self.column)
        if self.kind == "e" and value and len(self.sheet.texts) < _MOST_LISTED:
            self.sheet.texts[place] = value[:100]
        if self.formula:
            self.sheet.formulas += 1
            if not value and self.kind != "str" and len(self.sheet.without_result) < _MOST_LISTED:
                self.sheet.without_result.append(place)


def _scan_sheet(
    file: str, name: str, part: bytes, lengths: list[int], left: int
) -> tuple[SheetParts, int]:
    sheet = SheetParts(name)
    cells = _Cells(file, sheet, lengths, left)
    shared = cells.longest * part.count(b'"s"') > left
    if not shared and _plain_extent(sheet, part):
        return sheet, left
    # Results and errors are only looked for where there are any: most sheets hold plain numbers.
    if shared or b"<f" in part or b'"e"' in part or _UNUSUAL.search(part):
        walk_xml(file, part, cells.start, cells.end, cells.characters)
    else:
        walk_xml(file, part, cells.start)
    return sheet, cells.left


def _plain_extent(sheet: SheetParts, part: bytes) -> bool:
    """Find how far a sheet reaches without walking through it, where nothing in it is unusual."""
    if any(word in part for word in (b"<f", b'"e"', b" hidden=")) or _UNUSUAL.search(part):
        return False
    if b"<v" not in part and b"<is" not in part:
        return False
    columns, rows, count = set(), set(), 0
    for found in _PLAIN_CELL.finditer(part):
        columns.add(found[1])
        rows.add(found[2])
        count += 1
    if not count or count != part.count(b"<c ") + part.count(b"<c>") + part.count(b"<c/"):
        return False
    width = max(_column(letters.decode()) for letters in columns) + 1
    height = max(map(int, rows))
    # Cells with a format and nothing in them were counted too: beyond the limits, look closer.
    if width > COLUMNS or height > ROWS or width * height > PLACES:
        return False
    sheet.rows, sheet.columns = height, width
    return True
