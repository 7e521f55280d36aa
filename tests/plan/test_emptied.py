"""If everything ran in at once. The scenarios are our own, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.errors import InputError
from reef_calc.messages import codes
from reef_calc.plan.containers import Container, Emptied, container_of
from reef_calc.plan.emptied import emptied, emptied_frame
from reef_calc.plan.problem import ElementToPlan

FEW = settings(max_examples=40, deadline=None, derandomize=True)
ALKALINITY = ElementToPlan(
    "alkalinity", "dKH", 8.0, rise_per_day=0.5, fall_per_day=0.5, ceiling=12.0
)
CALCIUM = ElementToPlan("calcium", "mg/L", 420.0, rise_per_day=20.0, ceiling=500.0)
WATER = (ALKALINITY, CALCIUM)
LIME = {name: x * 1.6 / 1000.0 for name, x in adds_per_gram("calcium hydroxide").items()}
LIMEWATER = Container(
    "limewater", LIME, 20000.0, kind="hydroxide", dissolved_salt_mg=1.6, reservoir=True
)
SODA = supplement_from_table(
    "soda stock",
    {"recipe": [{"salt": "soda ash", "hydrate": 0, "grams_per_L": 60.0}], "container_L": 5.0},
)


def told(found: Emptied, code: str) -> str:
    return next(one.text for one in found.messages if one.code == code)


def test_twenty_litres_of_limewater_into_three_hundred() -> None:
    """1.6 g/L: +8.1 dKH over the net volume; as mixed into 320 L (8·300 + 121.1·20)/320."""
    found = emptied(LIMEWATER, WATER, 300.0)
    rise = found.rises["alkalinity"]
    assert rise.added == pytest.approx(8.1, abs=0.05)
    assert rise.after == pytest.approx((8.0 * 300 + 121.1 * 20) / 320, abs=0.01)
    calcium = found.rises["calcium"]
    assert calcium.added == pytest.approx(1.6 * 540.92 * 20 / 300, rel=1e-4)
    assert calcium.after == pytest.approx((420.0 * 300 + 1.6 * 540.92 * 20) / 320, rel=1e-4)
    # Almost fresh water thins the salt: 35·307.0 kg of 327.0 kg and 32 g of lime.
    assert found.salinity_after == pytest.approx(35.0 * 307.0 / 327.0 + 0.1, abs=0.01)
    assert told(found, "EMPTIED").startswith("If all 20 L of limewater ran in at once: alkalinity")
    assert "as hydroxide" in told(found, "EMPTIED")
    assert "+8.1 dKH if the water does not rise" in told(found, "EMPTIED")
    assert told(found, "KEEP").startswith("Keep no more than 1.2 L of limewater within reach")
    assert "float valve" in told(found, "MECHANICAL_STOP")
    assert "OVERFLOW" in codes(found.messages)


def test_what_is_kept_moves_the_level_by_no_more_than_a_day_allows() -> None:
    found = emptied(LIMEWATER, WATER, 300.0)
    kept = emptied(replace(LIMEWATER, full=found.keep), WATER, 300.0)
    assert kept.rises["alkalinity"].added == pytest.approx(0.5)
    assert kept.rises["alkalinity"].after <= 8.5
    assert found.keep_for == "alkalinity"
    assert found.keep_limit == 0.5
    assert codes(kept.messages) == ("EMPTIED", "MAY_STAND")


def test_how_much_takes_it_to_what_must_not_be_passed() -> None:
    found = emptied(container_of(SODA), WATER, 300.0)
    at = emptied(replace(container_of(SODA), full=found.never), WATER, 300.0)
    assert found.never_for == "alkalinity"
    assert at.rises["alkalinity"].added == pytest.approx(4.0)
    assert "to 12 dKH, which must not be passed" in told(found, "NEVER_ABOVE")
    high = emptied(container_of(SODA), (replace(ALKALINITY, start=12.5), CALCIUM), 300.0)
    assert told(high, "NEVER_ABOVE") == (
        "Alkalinity is already at 12 dKH or above: nothing of soda stock should stand within reach of "
        "a pump."
    )
    assert high.keep == 0.0
    assert "KEEP" not in codes(high.messages) and "MAY_STAND" not in codes(high.messages)


def test_what_passes_a_level_that_must_not_be_passed_may_not_stand() -> None:
    """0.3 dKH is within a day's 0.5, and takes 11.8 dKH beyond 12 all the same."""
    near = (replace(ALKALINITY, start=11.8), CALCIUM)
    meq = 0.3 * 0.356652 * 300.0
    small = replace(container_of(SODA), full=meq / SODA.adds["alkalinity"])
    found = emptied(small, near, 300.0)
    assert "MAY_STAND" not in codes(found.messages)
    assert found.keep == found.never < small.full  # type: ignore[operator]
    assert "by no more than 0.2 dKH, up to what must not be passed" in told(found, "KEEP")
    assert "MAY_STAND" in codes(emptied(small, WATER, 300.0).messages)


def test_hydroxide_is_held_to_half_a_degree_at_once_whatever_the_day_allows() -> None:
    lye = supplement_from_table(
        "lye", {"recipe": [{"salt": "caustic soda", "grams_per_L": 40.0}], "container_L": 1.0}
    )
    wide = (replace(ALKALINITY, rise_per_day=1.0), CALCIUM)
    found = emptied(container_of(lye), wide, 300.0)
    assert found.keep == pytest.approx(0.5 * 0.356652 * 300.0 / lye.adds["alkalinity"], rel=1e-4)
    assert "0.5 dKH, the most hydroxide at once" in told(found, "KEEP")
    bottle = Supplement("bottle", {"alkalinity": 1.0}, container_L=1.0)
    assert "where hydroxide may be in it" in told(
        emptied(container_of(bottle), wide, 300.0), "KEEP"
    )
    soda = emptied(container_of(SODA), wide, 300.0)
    assert "1 dKH, what a day allows" in told(soda, "KEEP")


def test_elements_that_the_plan_does_not_follow_are_heeded_too() -> None:
    """5 L of 200 g/L of CaCl2·2H2O: 54.5 mg a mL, 909 mg/L in 300 L; 110 mL are 20 mg/L."""
    calcium = supplement_from_table(
        "calcium stock",
        {
            "recipe": [{"salt": "calcium chloride", "hydrate": 2, "grams_per_L": 200.0}],
            "container_L": 5.0,
        },
    )
    found = emptied(container_of(calcium), (ALKALINITY,), 300.0)
    assert found.beside["calcium"].added == pytest.approx(909.0, abs=1.0)
    assert found.keep_for == "calcium" and found.keep == pytest.approx(110.0, abs=0.1)
    assert "calcium by +909 mg/L" in told(found, "EMPTIED")
    assert told(found, "NOT_FOLLOWED").startswith("The plan does not follow calcium")
    assert "MAY_STAND" not in codes(found.messages)
    iodine = Container("iodine stock", {"iodine": 1.0}, 500.0)
    assert "iodine by +1.7 mg/L" in told(emptied(iodine, WATER, 300.0), "EMPTIED")
    # Of sulfate practice has no limit: a tenth of sea water's 2776 mg/L.
    sulfate = emptied(Container("s", {"sulfate": 100.0}, 10.0), WATER, 300.0).beside["sulfate"]
    assert sulfate.limit == pytest.approx(277.6, abs=0.1)


def test_the_container_of_a_supplement_is_what_is_in_it_not_what_the_pump_gives() -> None:
    weak_pump = replace(SODA, delivered_over_set=type(SODA.delivered_over_set)(0.5, 0.02))
    a, b = (emptied(container_of(s), WATER, 300.0) for s in (SODA, weak_pump))
    assert a.rises == b.rises
    assert container_of(SODA).kind == "carbonate"
    assert container_of(SODA, litres=2.0).full == 2000.0


@FEW
@given(
    litres=st.floats(0.05, 50), net=st.floats(20, 2000), strength=st.floats(0.0, 3.0),
    start=st.floats(5, 10),
)  # fmt: skip
def test_mass_is_kept_and_the_rise_is_never_more_than_added(
    litres: float, net: float, strength: float, start: float
) -> None:
    one = Container("stock", {"alkalinity": strength}, 1000.0 * litres, dissolved_salt_mg=0.0)
    water = ElementToPlan("alkalinity", "meq/L", start, rise_per_day=0.2)
    rise = emptied(one, (water,), net).rises["alkalinity"]
    whole = start * net + strength * 1000.0 * litres
    assert rise.after * (net + litres) == pytest.approx(whole)
    assert rise.after - rise.before <= rise.added + 1e-9


@FEW
@given(salt=st.floats(0.0, 300.0), net=st.floats(20, 2000), salinity=st.floats(25, 40))
def test_salinity_moves_by_no_more_than_a_day_allows(
    salt: float, net: float, salinity: float
) -> None:
    one = Container("stock", {"sodium": 1.0}, None, dissolved_salt_mg=salt)
    limits = ElementToPlan("salinity", "PSU", salinity, rise_per_day=0.5, fall_per_day=0.7)
    found = emptied(one, (limits,), net, salinity=salinity)
    if math.isinf(found.keep):
        return
    kept = emptied(replace(one, full=found.keep), (limits,), net, salinity=salinity)
    assert kept.salinity_after is not None
    moved = kept.salinity_after - salinity
    assert moved == pytest.approx(0.5 if moved > 0 else -0.7, rel=1e-6)
    assert found.keep_for == "salinity"


def test_fresh_water_thins_and_may_run_over() -> None:
    found = emptied(
        Container("fresh water", {}, 25000.0, reservoir=True, a_day=4000.0), WATER, 462.0
    )
    assert found.rises["alkalinity"].added == 0.0
    assert found.rises["alkalinity"].after == pytest.approx(8.0 * 462 / 487)
    assert told(found, "EMPTIED") == (
        "If all 25 L of fresh water ran in at once: salinity from 35.0 to 33.2."
    )
    assert "salinity by no more than 1, what a day allows" in told(found, "KEEP")
    assert told(found, "LASTS") == "That lasts 3 days at today's plan."
    assert "plugs and sockets" in told(found, "OVERFLOW")


def test_a_size_nobody_has_said_is_asked_for() -> None:
    found = emptied(container_of(replace(SODA, container_L=None)), WATER, 300.0)
    assert found.rises == {}
    assert found.salinity_after is None
    assert "How much does the container of soda stock hold?" in told(found, "SIZE_NOT_KNOWN")
    assert "container_L in supplements.toml" in told(found, "SIZE_NOT_KNOWN")
    # How much may stand there is known all the same.
    assert found.keep == pytest.approx(0.5 * 0.356652 * 300 / SODA.adds["alkalinity"], rel=1e-4)
    assert "KEEP" in codes(found.messages)
    dry = emptied(Container("powder", {"alkalinity": 18.87}, unit="g"), WATER, 300.0)
    assert "weigh what is in it" in told(dry, "SIZE_NOT_KNOWN")
    assert " g of powder" in told(dry, "KEEP")


def test_a_day_that_takes_more_than_may_stand_there() -> None:
    found = emptied(container_of(SODA, a_day=150.0), WATER, 300.0)
    assert told(found, "DAY_IS_MORE").startswith("A day takes 150 mL, more than that.")


def test_a_label_says_nothing_of_the_salt() -> None:
    found = emptied(
        container_of(Supplement("bottle", {"alkalinity": 1.0}, container_L=1.0)), WATER, 300.0
    )
    assert found.salinity_after is None
    assert found.keep_for == "alkalinity"


def test_an_element_without_a_daily_limit_is_named() -> None:
    iodine = ElementToPlan("iodine", "mg/L", 0.06)
    found = emptied(Container("iodine stock", {"iodine": 0.01}, 500.0), (iodine,), 300.0)
    assert "No daily limit is set for iodine" in told(found, "NO_DAILY_LIMIT")
    assert "MAY_STAND" not in codes(found.messages)
    assert "MECHANICAL_STOP" in codes(found.messages)
    # Until one is, the usual 0.01 mg/L: 0.01·300 mg of 0.01 mg a mL.
    assert found.keep == pytest.approx(300.0)
    assert "0.01 mg/L, the usual most for a day" in told(found, "KEEP")


def test_delayed_alkalinity_is_said_to_come_later() -> None:
    late = supplement_from_table(
        "formate",
        {"recipe": [{"salt": "calcium formate", "grams_per_L": 60.0}], "container_L": 1.0},
    )
    text = told(emptied(container_of(late), WATER, 300.0), "EMPTIED")
    assert "later, as bacteria take up oxygen for it" in text


def test_the_frame_has_a_row_for_each_and_one_for_the_unknown() -> None:
    unknown = container_of(replace(SODA, name="other", container_L=None))
    frame = emptied_frame([emptied(one, WATER, 300.0) for one in (container_of(SODA), unknown)])
    assert frame["container"].tolist() == ["soda stock", "soda stock", "other"]
    assert frame["element"].isna().tolist() == [False, False, True]


@pytest.mark.parametrize(
    ("one", "net_L", "words"),
    [
        (LIMEWATER, 0.0, "a net volume above 0 L"),
        (LIMEWATER, -300.0, "a net volume above 0 L"),
        (LIMEWATER, math.nan, "a net volume above 0 L"),
        (replace(LIMEWATER, full=0.0), 300.0, "limewater: needed a size above 0"),
        (replace(LIMEWATER, full=-5.0), 300.0, "limewater: needed a size above 0"),
        (replace(LIMEWATER, unit="L"), 300.0, "needed mL or g"),
    ],
)
def test_bad_inputs_are_refused_in_words(one: Container, net_L: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        emptied(one, WATER, net_L)
