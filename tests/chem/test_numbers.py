"""A number is read strictly; every other text has its own sentence."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.numbers import parse_number
from reef_calc.errors import NumberError

REFUSED = {
    "8,3": "write 8.3",
    "−0,2": "write -0.2",
    "1,234": "1.234 or 1234",
    "1,234.5": "thousands",
    "1.234,5": "thousands",
    "1'234": "thousands",
    "1.234.567": "thousands",
    "1 234": "blanks",
    "8. 3": "blanks",
    "nan": "left out",
    "NA": "left out",
    "inf": "left out",
    "1e999": "left out",
    "8.3 dKH": "unit column",
    "420ppm": "“ppm”",
    "8.3?": "note column",
    "<0.02": "Put < in the limit column",
    "< 0.02": "Put < in the limit column",
    ">50": "Put > in the limit column",
    "5-10": "range",
    "": "empty",
    "n.d.": "digits",
    "~8": "digits",
    "٣": "digits",
    "1_000": "thousands",
    "0x10": "digits",
    "=1+1": "digits",
}


@pytest.mark.parametrize(("text", "words"), REFUSED.items())
def test_refused_with_its_own_sentence(text: str, words: str) -> None:
    with pytest.raises(NumberError) as caught:
        parse_number(text, "readings.csv row 7, value")
    assert words in caught.value.repair
    assert str(caught.value).startswith("readings.csv row 7, value: needed ")


def test_not_a_text() -> None:
    with pytest.raises(NumberError):
        parse_number(8.3)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "number"), [("8.3", 8.3), (" 8. ", 8.0), ("+.5", 0.5), ("−2", -2.0), ("1e-3", 0.001)]
)
def test_read(text: str, number: float) -> None:
    assert parse_number(text) == number


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_written_number_comes_back(number: float) -> None:
    assert parse_number(repr(number)) == number


@settings(max_examples=120, deadline=None, derandomize=True)
@given(st.text(max_size=8))
def test_any_text_is_a_finite_number_or_a_refusal(text: str) -> None:
    try:
        assert math.isfinite(parse_number(text))
    except NumberError as error:
        assert error.repair.endswith(".")
