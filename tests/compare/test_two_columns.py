"""Any table of two columns: understood as a whole, or refused in words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.two_columns import pairs_from_two_columns, read_two_columns
from reef_calc.errors import InputError

DKH = {"element": "alkalinity", "unit": "dKH", "resolution_a": 0.1, "resolution_b": 0.1}


@pytest.mark.parametrize(
    "text",
    [
        "8.2,8.4\n7.9,8.2\n",
        "8.2;8.4\n7.9;8.2",
        "8.2\t8.4\r\n7.9\t8.2\r\n",
        "8,2;8,4\n7,9;8,2\n",
        "8,2\t8,4\n\n7,9\t8,2\n",
        "\ufeffold;new\n8,2;8,4\n7,9;8,2\n",
        '"old","new"\n"8.2","8.4"\n"7.9","8.2"\n',
        "8.2;8.4;\n7.9;8.2;\n",
        " 8.2 ; 8.4 \n7.9;8.2\n;\n",
    ],
)
def test_the_same_two_waters(text: str) -> None:
    found = read_two_columns(text)
    assert (found.a, found.b, found.steps) == ((8.2, 7.9), (8.4, 8.2), (0.1, 0.1))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "rows of two numbers"),
        ("8.2\n8.4\n", "two columns parted by"),
        ("8,2,8,4\n7,9,8,2\n", "cannot be told apart"),
        ("8,2;8.4\n7,9;8.2\n", "one decimal mark"),
        ("1,250;1,300\n1,280;1,310\n", "decimal mark or part thousands"),
        ("1.250;1.300\n", "decimal mark or part thousands"),
        ("1;2;3\n4;5;6\n", "Row 1 has 3"),
        ("a;b\n8.2;low\n", "row 2, second column"),
        ("8.2;<0.1\n", "beyond the scale cannot be compared"),
        ("8.2;8.4 dKH\n8.1;8.3\n", "a number alone"),
        ("a;b\n", "none"),
        ("8.2;\n;8.4\n", "none"),
        ("8.2;8.4\nold;new\n", "row 2, first column"),
        ("8.2;nan\n", "finite number"),
    ],
)
def test_refused_in_words(text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_two_columns(text)
    assert said in str(caught.value)
    assert caught.value.where and caught.value.repair


def test_it_says_how_it_was_read_so_that_a_column_of_decimal_commas_is_seen() -> None:
    (told,) = read_two_columns("8,2\n8,5\n").messages
    assert told.text == (
        "2 waters, columns parted by commas. Row 1: first column 8, second column 2."
    )


def test_rows_with_one_number_are_told() -> None:
    found = read_two_columns("old;new\n8.2;8.4\n7.9;\n;8.1\n8.0;8.2\n")
    assert found.rows == (2, 5)
    assert found.messages[1].text == "Rows 3, 4 have one number only and cannot be used."
    pairs = pairs_from_two_columns("8.2;8.4\n7.9;\n", **DKH)
    assert pairs.dropped == ("Row 2 has one number only and cannot be used.",)


def test_phosphate_with_three_decimals_is_read() -> None:
    found = read_two_columns("0,250;0,300\n1,280;1,310\n")
    assert found.a == (0.25, 1.28)


def test_a_wide_step_is_suggested_only_by_many_numbers() -> None:
    lines = [f"{8 + 0.5 * (i % 3)};{400 + 10 * (i % 4)}" for i in range(10)]
    assert read_two_columns("\n".join(lines)).steps == (0.5, 10.0)
    assert read_two_columns("\n".join(lines[:4])).steps == (0.1, 1.0)


def test_a_table_already_read_gives_the_same_pairs() -> None:
    text = "old;new\n8.2;8.4\n7.9;8.2\n"
    assert pairs_from_two_columns(read_two_columns(text), **DKH) == pairs_from_two_columns(
        text, **DKH
    )


def test_a_table_needs_its_unit_and_two_names() -> None:
    with pytest.raises(InputError, match="unit of both columns"):
        pairs_from_two_columns("8.2;8.4\n", **(DKH | {"unit": " "}))
    with pytest.raises(InputError, match="two different kits"):
        pairs_from_two_columns("kit;kit\n8.2;8.4\n", **DKH)
    pairs = pairs_from_two_columns("kit;kit\n8.2;8.4\n", **DKH, kit_b="other")
    assert (pairs.kit_a, pairs.kit_b) == ("kit", "other")


def test_off_the_steps_is_told_with_its_row() -> None:
    pairs = pairs_from_two_columns("8.2;8.45\n8.1;8.3\n", **DKH)
    assert pairs.n == 1 and any("8.45" in one for one in pairs.dropped)


values = st.lists(st.tuples(st.integers(1, 999), st.integers(1, 999)), min_size=2, max_size=8)


@settings(max_examples=50, deadline=None)
@given(values, st.sampled_from(["\t", ";", ","]), st.sampled_from([".", ","]), st.booleans())
def test_what_is_written_is_read(
    rows: list[tuple[int, int]], separator: str, mark: str, header: bool
) -> None:
    if separator == mark:
        mark = "."
    lines = [separator.join(f"{one / 10:.1f}".replace(".", mark) for one in row) for row in rows]
    found = read_two_columns("\n".join((["old" + separator + "new"] if header else []) + lines))
    assert found.a == tuple(a / 10 for a, _ in rows) and found.b == tuple(b / 10 for _, b in rows)


@settings(max_examples=50, deadline=None)
@given(st.text(alphabet='0123456789.,;\t\n -<ab"', max_size=40))
def test_no_text_breaks_it(text: str) -> None:
    try:
        read_two_columns(text)
    except InputError as error:
        assert error.repair and error.where


def test_one_column_with_commas_inside_is_not_read_as_two() -> None:
    with pytest.raises(InputError, match="two numbers, or one with a comma"):
        read_two_columns("1,234\n1,235\n")
    assert read_two_columns("old,new\n1,234\n1,235\n").a == (1.0, 1.0)
