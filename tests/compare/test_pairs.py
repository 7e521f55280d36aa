"""From a table of readings to pairs: nothing is left out in silence."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from reef_calc.compare.pairs import Pairs, pairs_of
from reef_calc.compare.pairs_summary import summarise_pairs
from reef_calc.errors import InputError
from tests.compare.published_pairs import pairs_from


def table(*rows: tuple[object, str, object]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["water", "kit", "value"])


def found(readings: pd.DataFrame, kit_b: str = "new", step: float = 0.1) -> Pairs:
    return pairs_of(
        readings, "old", kit_b, element="alkalinity", unit="dKH", resolution_a=step,
        resolution_b=0.1,
    )  # fmt: skip


GOOD = [("1", "old", 8.2), ("1", "new", 8.9), ("2", "old", 7.0), ("2", "new", 7.4)]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("3", "old", 8.0), "Water 3 was read with old only."),
        (("3", "old", math.nan), "Water 3: a reading of old is missing."),
        (("3", "old", 8.25), "Water 3: 8.25 is no reading of old, whose step is 0.1 dKH."),
        (("3", "new", "8,2"), "Water 3: “8,2” is no number."),
        ((None, "new", 8.2), "A reading of new has no water beside it."),
    ],
)
def test_what_is_left_out_is_said(row: tuple, words: str) -> None:
    pairs = found(table(*GOOD, row))
    assert pairs.dropped == (words,)
    assert pairs.differences.round(9).tolist() == [0.7, 0.4]


def test_other_kits_do_not_matter() -> None:
    assert found(table(*GOOD, ("1", "third", "?"))).dropped == ()


def test_times_and_levels() -> None:
    readings = table(*GOOD).assign(
        nominal=[8.0, 8.0, None, None],
        time=pd.to_datetime(
            ["2026-05-01 10:00", "2026-05-01 11:30", "2026-05-02 10:00", None], utc=True
        ),
    )
    first, second = found(readings).waters
    assert (first.nominal, first.hours_apart) == (8.0, 1.5)
    assert (second.nominal, second.hours_apart) == (None, None)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: found(table(*GOOD), kit_b="old"), "Choose another one"),
        (lambda: found(table(*GOOD), step=-0.1), "0 or more"),
        (lambda: found(table(*GOOD).drop(columns="water")), "Add the column water"),
        (lambda: found(table(("1", "old", 8.0))), "Water 1 was read with old only"),
        (lambda: found(table(*GOOD), kit_b="third"), "read with both old and third"),
        (lambda: found(table(*GOOD).assign(nominal=[8.0, 9.0, 7.0, 7.0])), "a water of its own"),
    ],
)
def test_refusals(call, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert caught.value.where


def test_summary() -> None:
    pairs = pairs_from([(8.0, 8.2), 8.1, 4.0, 4.0], [8.4, (8.5, 8.6), 4.2, 4.4], 0.1)
    summary = summarise_pairs(pairs)
    assert (summary.waters, summary.readings_a, summary.readings_b) == (4, 5, 5)
    assert summary.unequal_repeats
    # 8.1 twice, once as a mean, and 4.0 twice: two of six.
    assert summary.ties_a == pytest.approx(2 / 6)
    assert summary.ties_b == 0.0
    assert summary.ratio == pytest.approx(8.325 / 4.1)
    assert summary.hours_apart is None
    assert summarise_pairs(pairs_from([0.0, 0.1], [0.0, 0.2])).ratio is None
