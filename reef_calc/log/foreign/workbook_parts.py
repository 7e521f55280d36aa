"""A workbook before it is opened: its parts measured, and what its cells do not say themselves."""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from xml.parsers import expat

from reef_calc.errors import InputError
from reef_calc.log.foreign.file_limits import (
    COLUMNS,
    HARMLESS_BYTES,
    PLACES,
    ROWS,
    UNPACKED_BYTES,
    UNPACKED_TIMES,
    megabytes,
    unusable,
)

Attributes = dict[str, str]
_DAMAGED = "Open it in a spreadsheet, save it again as XLSX, and bring that in."


@dataclass
class SheetParts:
    """What is known of one sheet before its cells are read.

    Attributes
    ----------
    name : str
        Name of the sheet.
    rows, columns : int
        Number of rows and columns up to the last cell that holds something.
    merged : list of (int, int, int, int)
        Merged cells, for ODS only: first row, first column, last row, last column (index from 0).
    texts : dict of (int, int) to str
        Texts of cells that hold an error, by row and column (index from 0).
    formulas : int
        Number of cells with a formula.
    without_result : list of (int, int)
        Cells with a formula and no stored result, by row and column (index from 0).
    hidden_rows, hidden_columns : set of int
        Hidden ones that may hold something (index from 0).
    """

    name: str
    rows: int = 0
    columns: int = 0
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    texts: dict[tuple[int, int], str] = field(default_factory=dict)
    formulas: int = 0
    without_result: list[tuple[int, int]] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)

    def hold(self, file: str, row: int, column: int) -> None:
        """Note that a cell holds something.

        Parameters
        ----------
        file : str
            Name of the file, for messages.
        row, column : int
            Where, an index from 0.

        Raises
        ------
        InputError
            If the sheet is larger than what is read.
        """
        if row < self.rows and column < self.columns:
            return
        self.rows, self.columns = max(self.rows, row + 1), max(self.columns, column + 1)
        if self.rows > ROWS or self.columns > COLUMNS or self.rows * self.columns > PLACES:
            given = f"{self.rows:,} rows and {self.columns:,} columns on the sheet “{self.name}”"
            needed = f"at most {ROWS:,} rows, {COLUMNS} columns and {PLACES:,} cells"
            repair = "Does a cell far below or far right hold something? Or save the sheet as CSV."
            raise unusable(file, given, repair, needed)


def measured_parts(file: str, content: bytes) -> dict[str, bytes]:
    """Return the XML parts of a packed workbook, none unpacked beyond the limit.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The workbook.

    Returns
    -------
    dict of str to bytes
        Parts by name. Pictures, macros and whatever else is packed with them are left out.

    Raises
    ------
    InputError
        If they unpack to more than is held, or are damaged. What the file states of their sizes is
        believed only where it is too much.

    Examples
    --------
    >>> measured_parts("log.xlsx", packed_anew({"a.xml": b"<a/>", "picture.png": b"x"}))
    {'a.xml': b'<a/>'}
    """
    found: dict[str, bytes] = {}
    total, packed = 0, len(content)
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
        parts = [part for part in archive.infolist() if _matters(part.filename)]
        if len({part.filename for part in parts}) < len(parts):
            raise unusable(file, "a workbook with a part in it twice", _DAMAGED)
        if sum(part.file_size for part in parts) > UNPACKED_BYTES:
            raise _bomb(file, sum(part.file_size for part in parts))
        for part in parts:
            with archive.open(part) as stream:
                pieces = []
                while piece := stream.read(1 << 20):
                    total += len(piece)
                    if total > UNPACKED_BYTES or total > max(
                        HARMLESS_BYTES, UNPACKED_TIMES * packed
                    ):
                        raise _bomb(file, total)
                    pieces.append(piece)
            found[part.filename] = b"".join(pieces)
    except InputError:
        raise
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, RuntimeError,
            NotImplementedError) as error:  # fmt: skip
        repair = "It was cut short, perhaps while it was copied. Copy it again, or save it again."
        raise unusable(file, "a damaged workbook", repair) from error
    return found


def _matters(name: str) -> bool:
    return name == "mimetype" or name.endswith((".xml", ".rels"))


def _bomb(file: str, size: int) -> InputError:
    given = f"parts that unpack to more than {megabytes(size)}"
    needed = f"a workbook of at most {megabytes(UNPACKED_BYTES)} unpacked"
    return unusable(file, given, "Save the sheet with the readings as CSV in UTF-8.", needed)


def packed_anew(parts: dict[str, bytes]) -> bytes:
    """Return a workbook of measured parts, so that nothing unmeasured reaches its reader.

    Parameters
    ----------
    parts : dict of str to bytes
        Parts by name.

    Returns
    -------
    bytes
        The workbook, its parts stored as they are.

    Examples
    --------
    >>> packed_anew({"mimetype": b"x"})[:2]
    b'PK'
    """
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(parts, key=lambda name: name != "mimetype"):
            archive.writestr(name, parts[name])
    return target.getvalue()


def walk_xml(
    file: str,
    part: bytes,
    start: Callable[[str, Attributes], None],
    end: Callable[[str], None] | None = None,
    characters: Callable[[str], None] | None = None,
) -> Any:
    """Walk through one part; a document type, where bombs are declared, is refused.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    part : bytes
        The part.
    start, end, characters : callable
        Called for each beginning and end of an element (its name without a prefix) and each text.

    Returns
    -------
    None
        Nothing.

    Raises
    ------
    InputError
        If it declares a document type or is no XML.

    Examples
    --------
    >>> walk_xml("a.xlsx", b"<a><b/></a>", lambda name, attributes: print(name))
    a
    b
    """

    def refuse(*_: object) -> None:
        raise unusable(file, "a workbook that declares its own XML names", _DAMAGED)

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    parser.buffer_text = True

    def begin(name: str, attributes: Attributes) -> None:
        start(name.rpartition(":")[2], attributes)

    parser.StartElementHandler = begin
    if end is not None:
        finish = end
        parser.EndElementHandler = lambda name: finish(name.rpartition(":")[2])
    if characters is not None:
        parser.CharacterDataHandler = characters
    try:
        parser.Parse(part, True)
    except (expat.ExpatError, ValueError, LookupError) as error:
        if isinstance(error, InputError):
            raise
        raise unusable(file, "a damaged workbook", _DAMAGED) from error


def target_of(base: str, target: str) -> str:
    """Return the name of a part that another one points to.

    Parameters
    ----------
    base : str
        Folder of the part that points.
    target : str
        What it says.

    Returns
    -------
    str
        Name of the part.

    Examples
    --------
    >>> target_of("xl", "worksheets/sheet1.xml"), target_of("xl", "/xl/worksheets/sheet1.xml")
    ('xl/worksheets/sheet1.xml', 'xl/worksheets/sheet1.xml')
    """
    return target[1:] if target.startswith("/") else posixpath.normpath(f"{base}/{target}")
