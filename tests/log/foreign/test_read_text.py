"""Text files of every shape give the cells that a person sees."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError, ReefError
from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.reader import read_grid, read_grid_and_questions

HEAD = ("date", "KH", "note")


def rows_of(content: bytes | str, **answers: str) -> tuple[tuple[object, ...], ...]:
    data = content.encode() if isinstance(content, str) else content
    return read_grid("log.csv", data, answers=answers).rows


def codes(grid: Grid) -> list[str]:
    return [note.code for note in grid.notes]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", ["\t", ";", ",", "|"])
@pytest.mark.parametrize(
    "codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_separator_line_end_and_encoding_do_not_matter(
    end: str, separator: str, codec: str
) -> None:
    lines = [separator.join(HEAD), separator.join(("2026-02-01", "8.3", "Höhe 25 °C"))]
    grid = read_grid("log.csv", (end.join(lines) + end).encode(codec))
    assert grid.rows == (HEAD, ("2026-02-01", "8.3", "Höhe 25 °C"))
    assert grid.separator == separator and not grid.broken


WORDS = {
    "cp1252": "Höhe;Prüfer;Größe\n1;2;3\n",
    "cp1250": "zasadowość;wapń;próbka;źródło\n1;2;3;4\n",
    "iso8859_2": "zasadowość;wapń;próbka;źródło\n1;2;3;4\n",
    "mac_roman": "Höhe;Temp °C;Größe\n1;2;3\n",
    "cp850": "Höhe;Temp °C;PO4 µg/l\n1;2;3\n",
    "gb18030": "水温;盐度;硝酸盐\n1;2;3\n",
    "cp932": "水温;カルシウム;メモ\n1;2;3\n",
    "cp1251": "щелочность;кальций;магний\n1;2;3\n",
}


@pytest.mark.parametrize("codec", WORDS)
def test_old_code_pages_are_told_apart_by_their_words(codec: str) -> None:
    assert rows_of(WORDS[codec].encode(codec))[0] == tuple(WORDS[codec].split("\n")[0].split(";"))


def test_two_likely_code_pages_are_both_shown_and_the_answer_holds() -> None:
    content = "sıcaklık;değer\n25;8,3\n".encode("cp1254")
    grid, questions = read_grid_and_questions("log.csv", content)
    (question,) = questions
    assert question.key == "encoding/file" and question.assumed == "cp1252" and not question.open
    assert any("sıcaklık" in choice.consequence for choice in question.choices)
    answered = read_grid("log.csv", content, answers={"encoding/file": "cp1254"})
    assert answered.rows[0] == ("sıcaklık", "değer") != grid.rows[0]


def test_a_file_of_two_encodings_names_the_lines() -> None:
    content = "a;b\nHöhe;1\nÜber;2\n".encode() + "Größe;3\n".encode("cp1252")
    grid = read_grid("log.csv", content)
    assert grid.rows[3] == ("Größe", "3")
    assert "lines 4" in grid.notes[0].text


def test_a_quote_left_open_swallows_no_rows() -> None:
    grid = read_grid("log.csv", b'date;KH;note\n1;8.3;"open\n2;8.1;fine\n3;8.0;closed"\n4;7.9;x\n')
    assert grid.rows[2] == ("2", "8.1", "fine") and grid.rows[4] == ("4", "7.9", "x")
    assert grid.broken == (1,)


def test_an_open_quote_leaves_other_notes_of_two_lines_whole() -> None:
    grid = read_grid("log.csv", b'date;KH;note\n1;8.3;"moved\r\nrock"\n2;8.1;"open\n3;8.0;x\n')
    assert grid.rows == (HEAD, ("1", "8.3", "moved\nrock"), ('2;8.1;"open',), ("3", "8.0", "x"))
    assert grid.broken == (2,)


def test_quotes_around_whole_lines_and_blanks_beside_quotes() -> None:
    assert rows_of('"date,KH"\n"2026-02-01,""8,3"""\n') == (("date", "KH"), ("2026-02-01", "8,3"))
    assert rows_of('a, "b, c" , d\n1, "2" , 3\n') == (("a", "b, c", "d"), ("1", "2", "3"))


def test_a_first_line_that_names_the_separator() -> None:
    assert rows_of("sep=;\ndate;KH\n2026-02-01;8,3\n") == (
        (),
        ("date", "KH"),
        ("2026-02-01", "8,3"),
    )


def test_tables_of_bars_and_of_blanks() -> None:
    bars = rows_of("| date | KH |\n|:---|---:|\n| 2026-02-01 | 8.3 |\n| 2026-02-08 |  |\n")
    assert bars == (("date", "KH"), (), ("2026-02-01", "8.3"), ("2026-02-08", ""))
    blanks = rows_of(
        "date        KH    Ca\n----------  ----  ---\n2026-02-01  8.3   420\n2026-02-08        415\n"
    )
    assert blanks == (
        ("date", "KH", "Ca"),
        (),
        ("2026-02-01", "8.3", "420"),
        ("2026-02-08", "", "415"),
    )
    assert rows_of("date KH\n2026-02-01 8.3\n") == (("date", "KH"), ("2026-02-01", "8.3"))


def test_a_single_column_stays_one() -> None:
    grid = read_grid("log.txt", b"KH\n8.3\n8.1\n")
    assert grid.rows == (("KH",), ("8.3",), ("8.1",)) and grid.separator == ""
    assert rows_of('"KH"\n"8.3"\n') == (("KH",), ("8.3",))


@pytest.mark.parametrize(
    "text",
    [
        "Becken 3, 420 L\nam 01.03., dann\n\nDatum;KH\n2026-02-01;8,3\n2026-02-08;8,1\n",
        "Datum;KH\n01.02.2026;8,3\n08.02.2026;8,1\n* Salz, neu, am 5. Februar\n",
    ],
)
def test_commas_in_texts_and_numbers_do_not_win(text: str) -> None:
    assert read_grid("log.csv", text.encode()).separator == ";"


def test_a_separator_that_could_be_another_is_asked_and_can_be_chosen() -> None:
    content = b"1,2;3\n4,5;6\n7,8;9\n"
    grid = read_grid("log.csv", content, answers={"separator/file": ","})
    assert grid.rows[0] == ("1", "2;3")
    with pytest.raises(InputError, match="Choose one of them"):
        read_grid("log.csv", content, answers={"separator/file": "&"})
    with pytest.raises(InputError, match="Choose one of them"):
        read_grid("log.csv", b"\xe4;b\n", answers={"encoding/file": "rot13"})


def test_invisible_characters_go_and_are_told() -> None:
    grid = read_grid("log.csv", "date;\u200bKH\u00a0\n2026-02-01;\u200e8.3\u202f\n".encode())
    assert grid.rows == (("date", "KH"), ("2026-02-01", "8.3"))
    assert "INVISIBLE" in codes(grid)
    assert any("3 cells" in n.text or "2 cells" in n.text for n in grid.notes)


def test_an_emoji_joined_of_several_stays_whole() -> None:
    family = "👩\u200d🔬"
    assert rows_of(f"date;note\n1;{family} ok\n")[1] == ("1", f"{family} ok")


def test_nul_bytes_and_double_line_ends() -> None:
    assert rows_of(b"date;KH\r\r\n2026-02-01;8\x00.3\r\r\n") == (
        ("date", "KH"),
        ("2026-02-01", "8.3"),
    )
    assert rows_of("date;KH\u0085 1;8.3\u0085".encode()) == (("date", "KH"), ("1", "8.3"))


def test_a_very_long_cell_beyond_the_limit_of_the_csv_module() -> None:
    long = "x" * 300_000
    assert rows_of(f"date;note\n1;{long}\n2;y\n")[1:] == (("1", long), ("2", "y"))
    grid = read_grid("log.csv", f'date;note\n1;"{long}"\n2;y\n'.encode())
    assert grid.rows[2] == ("2", "y") and grid.broken == (1,)


CELL = st.text(
    st.characters(min_codepoint=33, max_codepoint=0x17F, exclude_categories=("Cc", "Cf", "Zs"))
    | st.sampled_from(' ",;\t|'),
    max_size=8,
).map(str.strip)


@settings(max_examples=50, deadline=None)
@given(
    cells=st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=6),
    separator=st.sampled_from([("tab", "\t"), (";", ";"), (",", ",")]),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    codec=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_what_the_csv_module_writes_comes_back(
    cells: list[tuple[str, str, str]], separator: tuple[str, str], end: str, codec: str
) -> None:
    word, mark = separator
    target = io.StringIO()
    writer = csv.writer(target, delimiter=mark, lineterminator=end, quoting=csv.QUOTE_ALL)
    writer.writerows([("date", "KH", "note"), *cells])
    answers = {"separator/file": word}
    grid = read_grid("log.csv", target.getvalue().encode(codec), answers=answers)
    assert grid.rows == (("date", "KH", "note"), *cells)


@settings(max_examples=50, deadline=None)
@given(
    st.binary(max_size=300)
    | st.text('"\n\r;,|\t 8.3a-=', max_size=80).map(str.encode)
    | st.binary(max_size=60).map(lambda tail: b"PK\x03\x04" + tail)
    | st.binary(max_size=60).map(lambda tail: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + tail)
)
def test_any_bytes_give_a_grid_or_words(content: bytes) -> None:
    try:
        grid = read_grid("any", content)
    except ReefError:
        return
    assert all(isinstance(cell, str) for row in grid.rows for cell in row)
    assert all(position < len(grid.rows) for position in grid.broken)
