"""From the bytes of a foreign file to its table, whatever the file calls itself."""

from __future__ import annotations

from reef_calc.log.foreign.file_limits import FileKind, file_kind
from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.outcome import Answers, Question
from reef_calc.log.foreign.text_files import read_text
from reef_calc.log.foreign.workbooks import read_workbook
from reef_calc.messages import Message

_WORKBOOK_ENDINGS = (".xlsx", ".xlsm", ".ods", ".xls", ".xlsb")
_TEXT_ENDINGS = (".csv", ".tsv", ".tab", ".txt", ".text", ".md", ".dat", ".asc", ".log")


def read_grid(
    file: str, content: bytes, *, sheet: str = "", answers: Answers | None = None
) -> Grid:
    r"""Return the table of a foreign file as it stands.

    Parameters
    ----------
    file : str
        Name of the file, for messages; how it is read is decided by what it holds.
    content : bytes
        The whole file.
    sheet : str, optional
        Name of the sheet of a workbook; the first that holds something unless said.
    answers : dict of str to str, optional
        Answers of the keeper: ``encoding/file``, ``separator/file``, ``sheet/file``.

    Returns
    -------
    Grid
        Every line of it, and notes on how it was read.

    Raises
    ------
    InputError
        If the file is empty, too large, damaged, protected, or holds no table; the words say what
        to do.

    Examples
    --------
    >>> grid = read_grid("log.csv", b"date;KH\n2026-02-01;8,3\n")
    >>> grid.rows, grid.notes[0].text
    ((('date', 'KH'), ('2026-02-01', '8,3')), 'The cells are parted by semicolons.')
    """
    return read_grid_and_questions(file, content, sheet=sheet, answers=answers)[0]


def read_grid_and_questions(
    file: str, content: bytes, *, sheet: str = "", answers: Answers | None = None
) -> tuple[Grid, tuple[Question, ...]]:
    r"""Return the table of a foreign file, and what could be otherwise in how it was read.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.
    sheet : str, optional
        Name of the sheet of a workbook; the first that holds something unless said.
    answers : dict of str to str, optional
        Answers of the keeper: ``encoding/file``, ``separator/file``, ``sheet/file``.

    Returns
    -------
    tuple
        The table; questions on encoding, separator and sheet, each with what is assumed.

    Raises
    ------
    InputError
        If the file is empty, too large, damaged, protected, or holds no table.

    Examples
    --------
    >>> read_grid_and_questions("log.csv", b"date;KH\n2026-02-01;8,3\n")[1]
    ()
    """
    given = answers or {}
    kind = file_kind(file, content)
    notes = _other_name(file, kind)
    if kind == "text":
        text = read_text(file, content, given)
        notes += tuple(text.notes)
        grid = Grid(file, text.rows, broken=text.broken, separator=text.separator, notes=notes)
        return grid, tuple(text.questions)
    book = read_workbook(file, content, kind, sheet, given)
    notes += tuple(book.notes)
    grid = Grid(file, book.rows, book.merged, book.sheet, book.sheets, notes=notes)
    return grid, tuple(book.questions)


def _other_name(file: str, kind: FileKind) -> tuple[Message, ...]:
    """Return a note where the name says another kind of file."""
    name = file.lower()
    if kind == "text" and name.endswith(_WORKBOOK_ENDINGS):
        return (
            Message("KIND", "The name says workbook, but the file is text; it is read as text."),
        )
    if kind != "text" and name.endswith(_TEXT_ENDINGS):
        words = "The name says text, but the file is a workbook; it is read as a workbook."
        return (Message("KIND", words),)
    return ()
