"""The rows of a text file, whatever parts its cells and ends its lines."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from reef_calc.log.foreign.encodings import decode
from reef_calc.log.foreign.file_limits import COLUMNS, ROWS, unusable
from reef_calc.log.foreign.invisible import CellTexts
from reef_calc.log.foreign.outcome import Answers, Question
from reef_calc.log.foreign.separators import (
    BLANK,
    BLANKS,
    NAMES,
    NONE,
    RULER,
    Separator,
    find_separator,
    line_pieces,
    named_separator,
)
from reef_calc.messages import Message

Row = tuple[str, ...]
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_RARE_ENDS = re.compile("[\x0b\x0c\x1e\u0085\u2028\u2029]")
# A quoted note longer than this many lines is taken for a quote left open.
_LONGEST_NOTE = 20
_WHOLE = re.compile(r'"(?:[^"]|"")*"')


@dataclass
class TextTable:
    """A text file as rows.

    Attributes
    ----------
    rows : tuple of tuple of str
        Cells of every line, empty lines as empty rows.
    broken : tuple of int
        Positions (index from 0) of rows that could not be parted; each is one cell.
    separator : str
        What parts the cells; empty for a single column.
    notes : list of Message
        How it was read.
    questions : list of Question
        What could be otherwise.
    """

    rows: tuple[Row, ...] = ()
    broken: tuple[int, ...] = ()
    separator: str = ""
    notes: list[Message] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)


def read_text(file: str, content: bytes, answers: Answers) -> TextTable:
    r"""Return the rows of a text file.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.
    answers : dict of str to str
        Answers of the keeper: ``encoding/file``, ``separator/file``.

    Returns
    -------
    TextTable
        Rows, and how they were found.

    Raises
    ------
    InputError
        If the file is too long or too wide, or is no text.

    Examples
    --------
    >>> read_text("a.csv", b"date;KH\r\n2026-02-01;8,3\r\n", {}).rows
    (('date', 'KH'), ('2026-02-01', '8,3'))
    """
    decoded = decode(file, content, answers)
    table = TextTable(notes=list(decoded.notes), questions=list(decoded.questions))
    text = _plain_line_ends(decoded.text, table)
    del decoded
    text = _unwrapped(text, table)
    first = _LINE.match(text)
    named = named_separator(first.group()) if first else ""
    if first and named:
        text = text[first.end() :]
        found = Separator(named, 1.0, 2)
        table.notes.append(
            Message("SEPARATOR", f"Row 1 of the file says that {NAMES[named]} part the cells.")
        )
    else:
        sample = [line.group().rstrip("\r\n") for line in islice(_LINE.finditer(text), 2000)]
        found = find_separator(sample, answers)
        table.questions += found.questions
        if found.separator == NONE:
            table.notes.append(Message("SEPARATOR", "Each line is one cell."))
        else:
            words = f"The cells are parted by {NAMES[found.separator]}."
            table.notes.append(Message("SEPARATOR", words))
    table.separator = "" if found.separator == NONE else found.separator
    lines: Iterator[str] = (line.group() for line in _LINE.finditer(text))
    before: list[Row] = [()] if named else []
    if found.separator in ("\t", ";", ","):
        rows, broken = _quoted_rows(file, text, found, len(before))
    elif found.separator in (BLANKS, BLANK):
        rows, broken = _rows_of_blanks(file, [line.rstrip("\r\n") for line in lines], found)
    else:
        rows, broken = _rows_of_bars(file, lines, found.separator)
    texts = CellTexts()
    clean = texts.clean
    table.rows = tuple(before + [_trimmed(file, tuple(map(clean, row)), at) for at, row in rows])
    table.broken = tuple(at + len(before) for at in broken)
    table.notes += texts.notes()
    return table


def _trimmed(file: str, row: Row, at: int) -> Row:
    if len(row) <= COLUMNS:
        return row
    if any(row[COLUMNS:]):
        given = f"{len(row)} cells in row {at + 1}"
        needed = f"a table of at most {COLUMNS} columns"
        raise unusable(file, given, "Bring in the columns you need only.", needed)
    return row[:COLUMNS]


def _plain_line_ends(text: str, table: TextTable) -> str:
    if "\r\r\n" in text:
        text = text.replace("\r\r\n", "\r\n")
        table.notes.append(Message("LINE_ENDS", "Every line ended twice; that was put right."))
    if "\n" not in text and "\r" not in text and _RARE_ENDS.search(text):
        text = _RARE_ENDS.sub("\n", text)
        table.notes.append(Message("LINE_ENDS", "The lines end with an unusual character."))
    return text


def _unwrapped(text: str, table: TextTable) -> str:
    """Lines that stand in quotes as a whole: a file with commas, saved again where ; is used."""
    if not text.startswith('"'):
        return text
    lines = [line.rstrip("\r\n") for line in _lines(text)]
    full = [line for line in lines if line]
    if not all(_WHOLE.fullmatch(line) for line in full):
        return text
    bare = [line[1:-1].replace('""', '"') if line else "" for line in lines]
    inside = find_separator(bare[:300], {})
    if inside.cells < 2 or inside.share < 0.9 or inside.separator not in (";", ",", "\t"):
        return text
    table.notes.append(
        Message("QUOTES", "Every line stood in quotes as a whole; they were taken off.")
    )
    return "\n".join(bare) + "\n"


def _counted(file: str, rows: Iterator[Row]) -> Iterator[tuple[int, Row]]:
    for at, row in enumerate(rows):
        if at >= ROWS:
            raise too_long(file)
        yield at, row


def too_long(file: str) -> Exception:
    """Return the error for a table with too many rows.

    Parameters
    ----------
    file : str
        Name of the file.

    Returns
    -------
    Exception
        To be raised.

    Examples
    --------
    >>> print(too_long("a.csv"))
    a.csv: needed a table of at most 1,000,000 rows, given “more rows”. Part it by years.
    """
    return unusable(file, "more rows", "Part it by years.", f"a table of at most {ROWS:,} rows")


def _quoted_rows(
    file: str, text: str, found: Separator, skipped: int
) -> tuple[Iterator[tuple[int, Row]], list[int]]:
    broken: list[int] = []
    if '"' not in text and len(text) > 0:
        lines = (line.group() for line in _LINE.finditer(text))
        return _counted(file, _without_quotes(lines, found.separator)), broken
    if _sound(text, found):
        reader = csv.reader(
            _lines(text), delimiter=found.separator, strict=True, skipinitialspace=True
        )
        return _counted(file, map(tuple, reader)), broken
    return iter(list(_counted(file, _mended(text, found, broken)))), broken


def _without_quotes(lines: Iterator[str], separator: str) -> Iterator[Row]:
    # Not the csv module: it refuses cells above a limit that any other code may have lowered.
    for line in lines:
        bare = line.rstrip("\r\n")
        yield tuple(bare.split(separator)) if bare else ()


def _lines(text: str) -> Iterator[str]:
    return (line.group() for line in _LINE.finditer(text))


def _sound(text: str, found: Separator) -> bool:
    """Whether all quotes are closed, and none swallows lines that are rows themselves."""
    reader = csv.reader(_lines(text), delimiter=found.separator, strict=True, skipinitialspace=True)
    before = 0
    try:
        for row in reader:
            if reader.line_num > before + 1 and _swallows(row, found):
                return False
            before = reader.line_num
    except csv.Error:
        return False
    return True


def _swallows(row: list[str], found: Separator) -> bool:
    """Whether a cell holds a line that looks like a row of the table."""
    for cell in row:
        for piece in io.StringIO(cell).readlines()[1:] if "\n" in cell or "\r" in cell else ():
            parts = piece.count(found.separator)
            enough = parts >= max(found.cells - 1, 1)
            # With one separator in a row a note may well hold one too.
            if enough and (found.cells > 2 or piece[:1].isdigit()):
                return True
    return False


def _mended(text: str, found: Separator, broken: list[int]) -> Iterator[Row]:
    """Line by line: a quote may run over lines only where that closes it and swallows no row."""
    lines = list(_lines(text))
    at = position = 0
    while at < len(lines):
        row, used = _one_record(lines, at, found)
        if row is None:
            broken.append(position)
            row = (lines[at].rstrip("\r\n"),)
        yield row
        at += used
        position += 1


def _one_record(lines: list[str], at: int, found: Separator) -> tuple[Row | None, int]:
    separator = found.separator
    for used in range(1, _LONGEST_NOTE + 1):
        if at + used > len(lines):
            break
        try:
            read = list(
                csv.reader(
                    lines[at : at + used], delimiter=separator, strict=True, skipinitialspace=True
                )
            )
        except csv.Error as error:
            if "unexpected end" in str(error):
                continue
            # A blank between the closing quote and the separator.
            closed = re.sub(rf'"[ \t]+(?={separator}|\r|\n|$)', '"', lines[at])
            if used == 1 and closed != lines[at]:
                return _one_record([closed], 0, found)
            break
        if len(read) != 1 or (used > 1 and _swallows(read[0], found)):
            break
        return tuple(read[0]), used
    return None, 1


def _rows_of_bars(
    file: str, lines: Iterator[str], separator: str
) -> tuple[Iterator[tuple[int, Row]], list[int]]:
    def rows() -> Iterator[Row]:
        for line in lines:
            bare = line.rstrip("\r\n")
            if not bare.strip() or (separator == "|" and RULER.fullmatch(bare.strip())):
                yield ()
            elif separator == NONE and _WHOLE.fullmatch(bare):
                yield (bare[1:-1].replace('""', '"'),)
            else:
                yield tuple(line_pieces(bare, separator))

    return _counted(file, rows()), []


def _rows_of_blanks(
    file: str, lines: list[str], found: Separator
) -> tuple[Iterator[tuple[int, Row]], list[int]]:
    """Columns held apart by blanks: a cell left empty shows only by where the others stand."""
    broken: list[int] = []
    pieces = [line_pieces(line, found.separator) if line.strip() else [] for line in lines]
    head = next((at for at, row in enumerate(pieces) if len(row) == found.cells), 0)
    starts = _starts(lines[head], found.separator) if lines else []

    def rows() -> Iterator[Row]:
        for at, row in enumerate(pieces):
            if not row or RULER.fullmatch(lines[at].strip()):
                yield ()
            elif at > head and 1 < len(row) < found.cells:
                placed = _placed(lines[at], starts, found.separator)
                if placed is None:
                    broken.append(at)
                    placed = (lines[at],)
                yield placed
            else:
                yield tuple(row)

    return iter(list(_counted(file, rows()))), broken


def _starts(line: str, separator: str) -> list[tuple[int, int]]:
    gap = r"\S+" if separator == BLANK else r"\S+(?:[ \u00a0]\S+)*"
    return [found.span() for found in re.finditer(gap, line)]


def _placed(line: str, columns: list[tuple[int, int]], separator: str) -> Row | None:
    """Return the cells of a short line in the columns above them; None where that is not plain."""
    row = [""] * len(columns)
    for first, last in _starts(line, separator):
        under = [i for i, (a, b) in enumerate(columns) if first < b and a < last]
        if len(under) != 1 or row[under[0]]:
            return None
        row[under[0]] = line[first:last]
    return tuple(row)
