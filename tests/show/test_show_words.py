"""Words of the pages: rounding, refusals, dates in the tank's zone, escaping."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.show import wording as w
from reef_calc.show.level_wording import aim_words, level_words
from reef_calc.show.rate_wording import rate_words

NAN = float("nan")


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        # Common practice, no source: one digit of the uncertainty, two when it begins with 1.
        (1.04, 0.04, "1.04 ± 0.04"),
        (7.2, 0.5, "7.2 ± 0.5"),
        (1.0, 0.0995, "1.00 ± 0.10"),
        (412.0, 31.0, "410 ± 30"),
        (0.002, 0.0006, "0.0020 ± 0.0006"),
        (-0.05, 0.02, "−0.05 ± 0.02"),
    ],
)
def test_rounding_by_uncertainty(value: float, u: float, shown: str) -> None:
    assert w.with_interval(value, value - u, value + u) == shown


def test_rounding_agrees_with_another_library() -> None:
    """Outside check: `uncertainties` rounds by the Particle Data Group's rule (PUBLISHED there:
    355 to 949 one digit, 100 to 354 two), the same as ours outside 0.195 to 0.354."""
    uncertainties = pytest.importorskip("uncertainties")
    for u in (0.11, 0.14, 0.19, 0.04, 0.5, 0.9, 3.7, 8.0):
        theirs = f"{uncertainties.ufloat(123.456, u):}".replace("+/-", " ± ")
        assert w.with_interval(123.456, 123.456 - u, 123.456 + u) == theirs


def test_uneven_intervals_are_ranges() -> None:
    assert w.with_interval(1.0, 0.95, 1.12) == "0.95 to 1.12"
    assert w.with_interval(1.0, 0.96, 1.05) == "1.00 ± 0.05"


@given(st.floats(-1e4, 1e4), st.floats(1e-6, 1e3))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_rounded_interval_stays_close(value: float, u: float) -> None:
    shown = w.with_interval(value, value - u, value + u).replace("−", "-")
    assert " ± " in shown
    middle, arm = (float(part) for part in shown.split(" ± "))
    assert arm == pytest.approx(u, rel=0.27)
    assert abs(middle - value) <= 0.51 * 10.0 ** -w.decimals_for(u)


@given(st.floats(1e-9, 1e9))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_upper_bound_never_too_small(value: float) -> None:
    assert float(w.upper_bound(value)) >= value * (1 - 1e-9)


@pytest.mark.parametrize("bad", [None, NAN, math.inf])
def test_unknown_numbers_are_refused_in_words(bad: float | None) -> None:
    texts = [
        w.fixed(bad, 1),
        w.with_interval(bad, 0.0, 1.0),
        w.with_interval(0.5, 0.0, bad),
        rate_words(bad, bad, bad, "used"),
        w.upper_bound(bad),
        level_words(bad, 1),
        w.escape(bad if bad is not math.inf else ""),
    ]
    for text in texts:
        assert "nan" not in text.lower() and "inf" not in text and "None" not in text


@pytest.mark.parametrize(
    ("rate", "behaviour", "days", "shown"),
    [
        ((1.04, 1.0, 1.08), "used", 1, "1.04 ± 0.04 a day"),
        ((-0.05, -0.07, -0.03), "used", 1, "rises 0.05 ± 0.02 a day"),
        ((0.05, 0.03, 0.07), "net", 1, "falls 0.05 ± 0.02 a day"),
        ((-0.1, -0.12, -0.08), "net", 30, "rises 3.0 ± 0.6 in 30 days"),
        ((0.7, -1.8, 3.11), "used", 1, "no use shown: less than 3.2 a day"),
        ((0.01, -0.03, 0.02), "net", 30, "no change shown: less than 0.90 in 30 days"),
        ((-0.4, -1.0, 0.0), "used", 1, "no use shown"),
    ],
)
def test_rates_as_a_keeper_says_them(
    rate: tuple[float, float, float], behaviour: str, days: int, shown: str
) -> None:
    assert rate_words(*rate, behaviour, days=days) == shown


def test_dates_are_the_tanks() -> None:
    night = pd.Timestamp("2026-09-30T22:30", tz="UTC")
    assert w.day_words(night, "Europe/London") == "30 Sep 2026"
    assert w.day_words(night, "Asia/Tokyo", clock=True) == "1 Oct 2026, 07:30"
    assert w.day_words(pd.NaT, "UTC") == "no date"
    with pytest.raises(InputError, match="2026-9"):
        w.month_words("2026-9")


@given(st.text())
@settings(max_examples=80, deadline=None, derandomize=True)
def test_any_text_is_safe_in_a_picture(text: str) -> None:
    escaped = w.escape(text)
    element = ET.fromstring(f'<g a="{escaped}">{escaped}</g>')
    assert len(element) == 0


def test_aims_keep_their_digits() -> None:
    assert aim_words(0.025, 0.1, 2) == "aim 0.025–0.10"
    assert level_words(0.02, 2, "between", 0.05) == "0.02–0.05"
