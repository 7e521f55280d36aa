"""What is not opened: other kinds of files, damaged ones, and bombs; each with words that help."""

from __future__ import annotations

import io
import struct
import time
import zipfile
import zlib

import pytest

from reef_calc.errors import InputError
from reef_calc.log.foreign.file_limits import TEXT_BYTES, WORKBOOK_BYTES
from reef_calc.log.foreign.reader import read_grid
from tests.log.foreign.workbooks_made import (
    ods,
    ods_row,
    ods_text,
    packed,
    xlsx,
    xlsx_parts,
)

OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600
GOOD = '<row r="1"><c r="A1"><v>1</v></c></row>'
SHEET = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty file"),
        (b"\xef\xbb\xbf", "empty file"),
        (b" \r\n\x00", "empty file"),
        (b"%PDF-1.7 x", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"\xff\xd8\xff\xe0", "picture"),
        (b"\x1f\x8b\x08", "packed"),
        (b"\xef\xbb\xbf <HTML><body><table>", "web page"),
        ("<html><table>".encode("utf-16"), "web page"),
        (b"<?xml version='1.0'?><a/>", "XML"),
        (OLD + "EncryptedPackage".encode("utf-16-le"), "password"),
        (OLD + "WordDocument".encode("utf-16-le"), "no workbook"),
        (OLD + "Workbook".encode("utf-16-le"), "damaged or far too large"),
        (packed({"inner.zip": packed({"a.csv": "x" * 50})}), "no workbook"),
        (packed({"word/document.xml": "<a/>"}), "text document"),
        (packed({"xl/workbook.bin": "x"}), "binary form"),
        (xlsx(GOOD)[:300], "cut short"),
        (bytes(range(1, 32)) * 40, "no text"),
        (b"x" * (TEXT_BYTES + 1), "64 MB"),
        (b"PK\x03\x04" + b"x" * WORKBOOK_BYTES, "20 MB"),
    ],
)
def test_words_say_what_it_is_and_what_to_do(content: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        read_grid("log.xls", content)
    assert caught.value.repair


def test_too_many_rows_or_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reef_calc.log.foreign.text_files.ROWS", 1000)
    assert len(read_grid("log.csv", b"1\n" * 1000).rows) == 1000
    with pytest.raises(InputError, match="at most 1,000 rows"):
        read_grid("log.csv", b"1\n" * 1001)
    with pytest.raises(InputError, match="500 columns"):
        read_grid("log.csv", b"1;" * 600 + b"1\n")
    assert len(read_grid("log.csv", b"1;2" + b";" * 16_000 + b"\n").rows[0]) <= 500


def lying_about_its_size(content: bytes, name: str, true_size: int) -> bytes:
    """A zip whose directory states one byte for a part, with the checksum of that byte."""
    first = struct.pack("<I", zlib.crc32(b" "))
    whole = struct.pack("<II", zlib.crc32(b" " * true_size), true_size)
    assert whole[4:] in content and name.encode() in content
    at, found = 0, content
    while (at := found.find(whole[4:], at)) > 0:
        crc_at = at - 8
        found = (
            found[:crc_at] + first + found[crc_at + 4 : at] + struct.pack("<I", 1) + found[at + 4 :]
        )
        at += 4
    return found


def bomb_by_size() -> bytes:
    parts = xlsx_parts(GOOD)
    parts["xl/theme.xml"] = f"<a>{' ' * 9_000_000}</a>"
    return packed(parts)


def bomb_that_lies() -> bytes:
    parts = xlsx_parts(GOOD)
    parts["xl/theme.xml"] = b" " * 9_000_000
    return lying_about_its_size(packed(parts), "xl/theme.xml", 9_000_000)


def part_twice() -> bytes:
    with pytest.warns(UserWarning, match="Duplicate"):
        target = io.BytesIO(xlsx(GOOD))
        with zipfile.ZipFile(target, "a") as archive:
            archive.writestr(SHEET, "<worksheet/>")
        return target.getvalue()


ENTITIES = '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
FAR = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>2</v></c></row>'
# The same in ways that no spreadsheet writes.
FAR_ODDLY = GOOD + "<row  r = \"900000\"><c\tr='OZ900000' ><v>2</v></c></row>"
NO_PLACES = "<row/>" * 900_000 + "<row>" + "<c><v>1</v></c>" * 400 + "</row>"


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(bomb_by_size, id="unpacks to more than 200 times its size"),
        pytest.param(bomb_that_lies, id="states a size of one byte"),
        pytest.param(part_twice, id="holds a part twice"),
        pytest.param(lambda: xlsx(GOOD, before=ENTITIES), id="entities in XLSX"),
        pytest.param(lambda: ods(ods_row(ods_text("&b;")), ENTITIES), id="entities in ODS"),
        pytest.param(lambda: xlsx(FAR), id="a cell in the farthest corner"),
        pytest.param(lambda: xlsx(FAR_ODDLY), id="the same written oddly"),
        pytest.param(lambda: xlsx(NO_PLACES), id="cells that do not say where they are"),
        pytest.param(
            lambda: ods(ods_row(ods_text("x", 'table:number-columns-repeated="500"'), times=10**6)),
            id="a cell repeated without end",
        ),
        pytest.param(
            lambda: ods(ods_row(ods_text("x" * 30_000), times=100_000)), id="a text repeated"
        ),
        pytest.param(
            lambda: xlsx(
                "".join(
                    f'<row r="{i}"><c r="A{i}" t="s"><v>0</v></c></row>' for i in range(1, 20_000)
                ),
                strings=f"<si><t>{'x' * 32_000}</t></si>",
            ),
            id="one long text shared by many cells",
        ),
    ],
)
def test_bombs_are_refused_quickly_and_in_words(content: object) -> None:
    made = content()  # type: ignore[operator]
    start = time.perf_counter()
    with pytest.raises(InputError):
        read_grid("log.xlsx", made)
    assert time.perf_counter() - start < 3


def test_formats_far_below_do_no_harm() -> None:
    far = GOOD + '<row r="1048576"><c r="XFD1048576" s="0"/></row>'
    assert read_grid("log.xlsx", xlsx(far)).rows == ((1.0,),)


@pytest.mark.parametrize(
    ("part", "was", "becomes"),
    [
        (SHEET, "<worksheet", '<?xml version="1.0" encoding="UTF-77"?><worksheet'),
        (SHEET, 'r="A1"', 'r="A99999999999"'),
        (SHEET, "<v>1</v>", "<v>one</v>"),
        (SHEET, "</row>", ""),
        ("xl/workbook.xml", 'r:id="rId1"', 'r:id="rId9"'),
        ("_rels/.rels", "xl/workbook.xml", "elsewhere.xml"),
    ],
)
def test_a_damaged_workbook_gives_words_or_a_grid(part: str, was: str, becomes: str) -> None:
    parts = xlsx_parts(GOOD)
    text = str(parts[part])
    assert was in text
    parts[part] = text.replace(was, becomes)
    try:
        assert read_grid("log.xlsx", packed(parts)).rows
    except InputError as error:
        assert error.repair
