"""What kind of file it is, by its content, and which files are not opened at all."""

from __future__ import annotations

import io
import zipfile
from typing import Literal

from reef_calc.errors import InputError

FileKind = Literal["text", "xlsx", "ods", "xls"]
TEXT_BYTES = 64 * 1024**2
WORKBOOK_BYTES = 20 * 1024**2
LARGEST_FILE = max(TEXT_BYTES, WORKBOOK_BYTES)
UNPACKED_BYTES = 200 * 1024**2
# Below this size a part that unpacks to many times its size does no harm.
HARMLESS_BYTES = 4 * 1024**2
UNPACKED_TIMES = 200
ROWS = 1_000_000
COLUMNS = 500
# Places in the rectangle from the first to the last cell: the reader of workbooks holds them all.
PLACES = 6_000_000
# Control characters that no text file has more than a few of; tab and line ends are not among them.
_CONTROLS = bytes(code for code in range(32) if code not in (9, 10, 11, 12, 13)) + b"\x7f"
_SHOW = "Save the table as CSV in UTF-8, or as XLSX, and bring that in."
_COPY = "Type or copy the numbers into a spreadsheet, check them, and save it as CSV in UTF-8."
_PICTURE = f"It is a picture. {_COPY}"
# What a file begins with, what that is, and what to do.
_BEGINNINGS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", f"It is a PDF. {_COPY}"),
    (b"\x89PNG", _PICTURE),
    (b"\xff\xd8\xff", _PICTURE),
    (b"GIF8", _PICTURE),
    (b"II*\x00", _PICTURE),
    (b"MM\x00*", _PICTURE),
    (b"\x1f\x8b", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"7z\xbc\xaf", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"Rar!", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"BZh", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"\xfd7zXZ", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"\x28\xb5\x2f\xfd", "It is a packed file. Unpack it first, and bring in what is inside."),
    (b"PK\x05\x06", "It is a packed file with nothing inside. Take another file."),
    (b"SQLite format 3", f"It is a database. {_SHOW}"),
    (b"PAR1", f"It is a table in a binary form. {_SHOW}"),
    (b"{\\rtf", f"It is a text document with layout. {_SHOW}"),
    (b"\x09\x00\x04\x00", f"It is a workbook of a very old kind. {_SHOW}"),
    (b"\x09\x02\x06\x00", f"It is a workbook of a very old kind. {_SHOW}"),
    (b"\x09\x04\x06\x00", f"It is a workbook of a very old kind. {_SHOW}"),
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LOCKED = "The workbook is protected by a password. Save a copy without one, and bring that in."


def megabytes(count: int) -> str:
    """Return a number of bytes in words.

    Parameters
    ----------
    count : int
        Number of bytes.

    Returns
    -------
    str
        In MB of 1024 times 1024 bytes.

    Examples
    --------
    >>> megabytes(67_108_864), megabytes(300_000)
    ('64 MB', '0.3 MB')
    """
    size = count / 1024**2
    return f"{size:.0f} MB" if size >= 10 else f"{size:.1f} MB"


def unusable(file: str, given: str, repair: str, needed: str = "") -> InputError:
    """Return the error for a file that is not opened.

    Parameters
    ----------
    file : str
        Name of the file.
    given : str
        What was found.
    repair : str
        What the keeper can do.
    needed : str, optional
        What would have been right; a table of readings unless said.

    Returns
    -------
    InputError
        To be raised.

    Examples
    --------
    >>> print(unusable("a.csv", "nothing", "Take another file."))
    a.csv: needed a text file or workbook with a table, given “nothing”. Take another file.
    """
    return InputError(needed or "a text file or workbook with a table", given, repair, file)


def file_kind(file: str, content: bytes) -> FileKind:
    r"""Return what kind of file it is, judged by what it holds and not by its name.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.

    Returns
    -------
    {"text", "xlsx", "ods", "xls"}
        How it is to be read.

    Raises
    ------
    InputError
        If it is empty, too large, or of a kind that is not opened; the words say what to do.

    Examples
    --------
    >>> file_kind("readings.xls", b"date;KH\n")
    'text'
    """
    if not content.strip(b"\x00\t\n\r ") or content in (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"):
        raise unusable(file, "an empty file", "Take another file, or save the table again.")
    for beginning, repair in _BEGINNINGS:
        if content.startswith(beginning):
            raise unusable(file, "a file of another kind", repair)
    if content[4:8] == b"ftyp" or (content[:4] == b"RIFF" and content[8:12] == b"WEBP"):
        raise unusable(file, "a file of another kind", _PICTURE)
    packed, old = content.startswith(b"PK\x03\x04"), content.startswith(_OLE)
    if (packed or old) and len(content) > WORKBOOK_BYTES:
        raise unusable(
            file,
            megabytes(len(content)),
            "Save the one sheet with the readings as CSV in UTF-8, or part it by years.",
            f"a workbook of at most {megabytes(WORKBOOK_BYTES)}",
        )
    if packed:
        return _packed_kind(file, content)
    if old:
        return _old_kind(file, content)
    _check_text(file, content)
    return "text"


def _packed_kind(file: str, content: bytes) -> FileKind:
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
        names = {part.filename for part in archive.infolist()}
        locked = any(part.flag_bits & 1 for part in archive.infolist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, RuntimeError) as error:
        raise unusable(
            file,
            "a damaged file",
            "It was cut short, perhaps while it was copied. Copy it again, or save it again.",
        ) from error
    if locked:
        raise unusable(file, "a protected file", _LOCKED)
    if "xl/workbook.xml" in names:
        return "xlsx"
    if "xl/workbook.bin" in names:
        raise unusable(file, "a workbook in a binary form", _SHOW)
    if "content.xml" in names and "mimetype" in names:
        if b"opendocument.spreadsheet" in content[:200]:
            return "ods"
        raise unusable(file, "a text document or drawing", _SHOW)
    if "word/document.xml" in names or "ppt/presentation.xml" in names:
        raise unusable(file, "a text document or slides", _SHOW)
    if "Index/Document.iwa" in names:
        raise unusable(file, "a document of another program", _SHOW)
    raise unusable(
        file,
        "a packed file that is no workbook",
        "Unpack it first, and bring in the one file with the readings.",
    )


def _old_kind(file: str, content: bytes) -> FileKind:
    if "EncryptedPackage".encode("utf-16-le") in content:
        raise unusable(file, "a protected file", _LOCKED)
    if "Workbook".encode("utf-16-le") in content or "Book".encode("utf-16-le") in content:
        return "xls"
    raise unusable(file, "a document that is no workbook", _SHOW)


def _check_text(file: str, content: bytes) -> None:
    if len(content) > TEXT_BYTES:
        raise unusable(
            file,
            megabytes(len(content)),
            "Part it by years and bring in one part after the other.",
            f"a text file of at most {megabytes(TEXT_BYTES)}",
        )
    # Without NUL bytes this also sees through UTF-16.
    head = content[:4096].replace(b"\x00", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").lower()
    if head.startswith(b"<"):
        if b"urn:schemas-microsoft-com:office:spreadsheet" in head or b"office:document" in head:
            raise unusable(file, "a workbook written as one XML text", _SHOW)
        if b"<html" in head or b"<table" in head or b"<!doctype html" in head:
            given = "a web page, whatever its name says"
            raise unusable(file, given, f"Open it in a spreadsheet. {_SHOW}")
        if head.startswith((b"<?xml", b"<!doctype")):
            raise unusable(file, "an XML text", _SHOW)
    wide = content[:2] in (b"\xff\xfe", b"\xfe\xff") or content.count(0, 0, 4096) * 4 > len(head)
    if not wide:
        sample = content[:65536].replace(b"\x00", b"")
        controls = len(sample) - len(sample.translate(None, _CONTROLS))
        if controls > 2 and controls * 50 > len(sample):
            raise unusable(file, "a file that is no text", _SHOW)
