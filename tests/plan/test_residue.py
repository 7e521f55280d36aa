"""What doses leave behind, and the water changes that hold it.

Worked examples are our own, checked by hand; composition of sea water: Millero et al. (2008).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.continuous_inflow import level_under_inflow
from reef_calc.chem.seawater import REFERENCE_SALINITY
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from reef_calc.plan.dilution import brought_by_changes, changes_to_reach
from reef_calc.plan.left_over import left_each_day, sodium_chloride_left
from reef_calc.plan.problem import ElementToPlan, PlanProblem
from reef_calc.plan.residue import Residue, residue_of, residue_of_plan, sea_water_ratio
from reef_calc.plan.residue_words import residue_words
from reef_calc.plan.water_changes_that_hold import change_that_holds, share_that_holds
from tests.trust import check_published

FEW = settings(max_examples=30, deadline=None, derandomize=True)


def excess(residue: Residue) -> np.ndarray:
    """Absolute salinity above the start (g/kg)."""
    return (residue.salinity - residue.salinity[0]) * REFERENCE_SALINITY / 35.0


def test_one_dkh_of_two_containers_leaves_sodium_chloride() -> None:
    left = sodium_chloride_left(1.0)
    check_published("K09", left.total)
    assert (left.sodium, left.chloride) == pytest.approx((8.199, 12.643), abs=1e-3)
    assert left.g_per_kg == pytest.approx(0.020367, abs=1e-6)


def test_what_is_left_is_what_the_two_salts_bring_less_calcium_carbonate() -> None:
    """The same by the salts of the list: sodium from bicarbonate, chloride from calcium chloride."""
    soda = adds_per_gram("sodium hydrogen carbonate")
    calcium = adds_per_gram("calcium chloride", hydrate=2)
    left = sodium_chloride_left(1.0, "meq/L")
    assert left.sodium == pytest.approx(soda["sodium"] / soda["alkalinity"], rel=1e-9)
    # Half a mmol of calcium, 20.039 mg, for each meq.
    chloride = 20.039 * calcium["chloride"] / calcium["calcium"]
    assert left.chloride == pytest.approx(chloride, rel=1e-4)


def test_half_a_year_of_half_a_dkh() -> None:
    """0.5 dKH a day for 180 days: 32.1 mmol/L of NaCl, 1.88 g/L (our own worked example)."""
    left = sodium_chloride_left(0.5 * 180)
    assert left.total / 1000.0 == pytest.approx(1.88, rel=0.003)
    daily = sodium_chloride_left(0.5)
    six = residue_of({"sodium": daily.sodium, "chloride": daily.chloride}, daily.g_per_kg, months=6)
    assert excess(six)[-1] == pytest.approx(left.g_per_kg, rel=1e-9)
    assert six.levels["sodium"][-1] - six.levels["sodium"][0] == pytest.approx(left.sodium)


def test_weekly_changes_against_the_closed_form() -> None:
    """0.02 g/kg a day, 10 % every 7th day: 1.28·(1 − 0.9^k) after week k, peaks towards 1.40."""
    rising = excess(residue_of({}, 0.02, change_share=0.1, every_days=7, months=13))
    weeks = np.arange(1, 53)
    np.testing.assert_allclose(rising[7 * weeks], 1.28 * (1 - 0.9**weeks), rtol=1e-9)
    assert rising[7 * 52] == pytest.approx(1.274657, abs=1e-6)
    peaks = rising[7 * weeks - 1]
    assert peaks[-1] == pytest.approx(1.394063, abs=1e-6)
    assert peaks[11] == pytest.approx(0.998322, abs=1e-6)
    assert int(np.flatnonzero(peaks >= 1.0)[0]) + 1 == 13
    assert share_that_holds(0.02, 1.0, 7) == pytest.approx(0.14)


@FEW
@given(rise=st.floats(0.001, 0.2), share=st.floats(0.05, 1.0), every=st.integers(1, 30))
def test_the_share_that_holds_holds_and_less_does_not(
    rise: float, share: float, every: int
) -> None:
    bound = rise * every / share
    assert share_that_holds(rise, bound, every) == pytest.approx(share)
    level, peak = 0.0, 0.0
    for day in range(every * 400):
        if day % every == every - 1:
            peak = max(peak, level)
            level *= 1 - share
        level += rise
    assert peak <= bound * (1 + 1e-9)
    assert peak > 0.95 * bound - rise


def test_held_with_fresh_water_the_others_thin_out() -> None:
    """exp(−ΔS/35.165) for what is not dosed; c·S_A/s for ever for what is."""
    daily = sodium_chloride_left(1.0)
    held = residue_of(
        {"sodium": daily.sodium, "chloride": daily.chloride}, daily.g_per_kg, months=12,
        salinity_held=True,
    )  # fmt: skip
    salt = 360 * daily.g_per_kg
    expected = math.exp(-salt / 35.16504)
    assert held.undosed[-1] == pytest.approx(expected, rel=1e-9)
    for name in ("sulfate", "magnesium"):
        assert held.levels[name][-1] / held.levels[name][0] == pytest.approx(expected, rel=1e-9)
    assert (held.salinity == 35.0).all()
    assert held.swapped == pytest.approx(salt / 35.16504)
    settled = daily.sodium * 35.16504 / daily.g_per_kg
    start = held.levels["sodium"][0]
    assert held.levels["sodium"][-1] == pytest.approx(settled + (start - settled) * expected)


def test_chloride_to_sulfate_of_sea_water() -> None:
    """Equivalents Cl/(2 SO4) = 9.6665, from the reference composition."""
    still = residue_of({}, 0.0, months=1)
    assert still.equivalent_ratio[0] == pytest.approx(9.6665, abs=1e-4)
    assert still.mass_ratio[-1] == pytest.approx(sea_water_ratio(), rel=1e-9)
    assert sea_water_ratio() == pytest.approx(19352.71 / 2712.35, rel=5e-4)


@FEW
@given(
    chloride=st.floats(0, 60), sulfate=st.floats(0, 30), within=st.floats(0.01, 0.3),
    every=st.integers(1, 14),
)  # fmt: skip
def test_the_ratio_is_held_by_the_change_it_asks_for(
    chloride: float, sulfate: float, within: float, every: int
) -> None:
    doses = {"chloride": chloride, "sulfate": sulfate}
    share = change_that_holds(doses, 0.0, every_days=every, ratio_within=within).share
    if share > 1.0:
        return
    at = residue_of(doses, 0.0, change_share=max(share, 0.02), every_days=every, months=30)
    assert (np.abs(at.mass_ratio / sea_water_ratio() - 1.0) <= within * (1 + 1e-6)).all()
    if share > 0.05:
        less = residue_of(doses, 0.0, change_share=0.9 * share, every_days=every, months=60)
        assert (np.abs(less.mass_ratio / sea_water_ratio() - 1.0) > within).any()


def test_magnesium_chloride_and_sulfate_in_the_right_proportion_keep_the_ratio() -> None:
    """7.973 : 1 by mass of the hydrates keeps sea water's chloride : sulfate."""
    chloride = 7.973 * adds_per_gram("magnesium chloride", hydrate=6)["chloride"]
    sulfate = adds_per_gram("magnesium sulfate", hydrate=7)["sulfate"]
    doses = {"chloride": chloride / 100, "sulfate": sulfate / 100}
    still = residue_of(doses, 0.0, months=12)
    assert still.mass_ratio[-1] == pytest.approx(still.mass_ratio[0], rel=1e-4)
    found = change_that_holds(doses, 0.0, ratio_within=0.01)
    assert found.share == 0.0
    assert found.words == "These doses need no water change to stay within the bounds."


def test_words_of_a_change_that_holds() -> None:
    left = sodium_chloride_left(1.0)
    doses = {"sodium": left.sodium, "chloride": left.chloride}
    three = change_that_holds(
        doses, left.g_per_kg, salinity_within=1.0, ratio_within=0.05, sodium_within=500.0
    )
    assert set(three.shares) == {"salinity", "chloride : sulfate", "sodium"}
    assert three.share == max(three.shares.values()) == three.shares["salinity"]
    assert three.words.startswith(
        "Change at least 15 % of the water every 7 days. Salinity needs 15 %"
    )
    four = change_that_holds(doses, left.g_per_kg, salinity_within=0.1)
    assert four.share > 1.0
    assert "all of the water every 4 days" in four.words
    assert "every day." in change_that_holds({}, 0.06, salinity_within=0.1).words
    assert "not even" in change_that_holds({}, 0.5, salinity_within=0.1).words


SODA = supplement_from_table(
    "soda", {"recipe": [{"salt": "sodium hydrogen carbonate", "grams_per_L": 50.0}],
             "delivered_over_set": {"value": 0.9, "u": 0.02}},
)  # fmt: skip
MAGNESIUM = supplement_from_table(
    "magnesium", {"recipe": [{"salt": "magnesium chloride", "hydrate": 6, "grams_per_L": 200.0}]}
)


def plan_of_two() -> PlanProblem:
    magnesium = ElementToPlan("magnesium", "mg/L", 1350.0, use=1.0, new_water=1300.0)
    salt = ElementToPlan("salinity", "PSU", 36.0, new_water=35.0)
    weekly = tuple(0.1 * (day % 7 == 6) for day in range(30))
    return PlanProblem((magnesium, salt), (), 30, weekly)


def test_what_doses_leave_each_day() -> None:
    """By hand: 50 mL of 50 g/L at 0.9 are 2.25 g of NaHCO3, 0.6158 g of sodium, in 300 L."""
    left = left_each_day([(SODA, 50.0), (MAGNESIUM, 10.0)], 300.0, uses={"magnesium": 0.3})
    assert left.rises["sodium"] == pytest.approx(2250 / 84.006 * 22.990 / 300, rel=1e-4)
    assert left.rises["magnesium"] == pytest.approx(2000 / 203.295 * 24.305 / 300 - 0.3, rel=1e-4)
    assert left.rises["sulfate"] == 0.0
    ions = left.rises["sodium"] + left.rises["magnesium"] + 0.3 + left.rises["chloride"]
    assert left.salt == pytest.approx(ions / 1000.0 / 1.023344, rel=1e-5)
    assert left.messages == ()
    for bad in (-1.0, math.nan, math.inf):
        with pytest.raises(InputError, match="soda: needed an amount of 0 or more"):
            left_each_day([(SODA, bad)], 300.0)
        with pytest.raises(InputError, match="a net volume above 0 L"):
            left_each_day([(SODA, 1.0)], -abs(bad))


def test_two_containers_leave_what_the_closed_form_says() -> None:
    """Sodium bicarbonate and calcium chloride in balance: 20.843 mg/L of NaCl for each dKH."""
    calcium = supplement_from_table(
        "calcium", {"recipe": [{"salt": "calcium chloride", "hydrate": 2, "grams_per_L": 80.0}]}
    )
    ml = 0.356652 * 300 / (SODA.adds["alkalinity"] * 0.9), 7.1470 * 300 / calcium.adds["calcium"]
    left = left_each_day([(SODA, ml[0]), (calcium, ml[1])], 300.0)
    closed = sodium_chloride_left(1.0)
    assert left.rises["sodium"] == pytest.approx(closed.sodium, rel=1e-4)
    assert left.rises["chloride"] == pytest.approx(closed.chloride, rel=1e-4)
    assert left.salt == pytest.approx(closed.g_per_kg, rel=1e-4)


def test_a_label_that_hides_its_carrier_is_told() -> None:
    bottle = Supplement("bottle", {"alkalinity": 1.0})
    found = left_each_day([(bottle, 50.0)], 300.0)
    assert codes(found.messages) == ("IONS_NOT_KNOWN",)
    assert found.rises["sodium"] == 0.0
    assert found.salt > 0.0
    assert left_each_day([(bottle, 0.0)], 300.0).messages == ()
    words = residue_words(residue_of_plan(plan_of_two(), [(bottle, 50.0)], 300.0))
    assert codes(words)[-1] == "IONS_NOT_KNOWN"
    refused = [one.code for one in words if one.kind == "refused"]
    assert refused == ["CHLORIDE_TO_SULFATE", "SODIUM"]


def test_the_residue_of_a_plan_starts_from_its_levels_and_goes_on_with_its_changes() -> None:
    found = residue_of_plan(plan_of_two(), [(SODA, 100.0), (MAGNESIUM, 12.5463)], 300.0, months=12)
    assert (found.every_days, found.change_share) == (7, pytest.approx(0.1))
    assert found.levels["magnesium"][0] == 1350.0
    assert found.levels["magnesium"][-1] == pytest.approx(1300.0, abs=0.5)
    assert found.salinity[0] == pytest.approx(36.0)
    # 35 of the new water, and n·c/w more before a change, for ever.
    peak = found.salinity[-14:].max()
    left = 7 * found.salt_per_day / 0.1
    assert peak == pytest.approx(35.0 + left * 35.0 / REFERENCE_SALINITY, abs=0.02)
    once = residue_of_plan(replace(plan_of_two(), exchanged=()), [(SODA, 100.0)], 300.0)
    assert once.change_share == 0.0


def test_the_frame_is_monthly() -> None:
    frame = residue_of({"potassium": 0.1}, 0.01, months=6).frame()
    assert frame["month"].tolist() == [0, 1, 2, 3, 4, 5, 6]
    assert frame["potassium"].diff().dropna().to_numpy() == pytest.approx(3.0)
    assert not frame.isna().any().any()


def test_sentences_say_what_moves_and_what_stays() -> None:
    left = sodium_chloride_left(1.0)
    doses = {"sodium": left.sodium, "chloride": left.chloride, "magnesium": -1.0}
    words = residue_words(residue_of(doses, left.g_per_kg, change_share=0.1, months=6))
    assert codes(words) == ("SALINITY", "CHLORIDE_TO_SULFATE", "SODIUM", "MAGNESIUM")
    texts = [one.text for one in words]
    assert texts[0].startswith("Salinity creeps from 35.0 to 36.3 in 6 months")
    assert "with 10 % changed every 7 days" in texts[0]
    assert "above sea water's" in texts[1]
    assert texts[2].startswith("Sodium rises from 11030 to")
    assert texts[3].startswith("Magnesium falls from 1310 to")
    still = [one.text for one in residue_words(residue_of({}, 0.0))]
    assert still[0] == "Salinity stays at 35.0 in 6 months, without water changes."
    assert still[1].startswith("Chloride : sulfate stays at 7.14")
    held = residue_words(residue_of(doses, left.g_per_kg, salinity_held=True))[0].text
    falling = residue_words(residue_of({}, 0.0, salinity=36.0, new_salinity=35.0, change_share=0.1))
    assert falling[0].text.startswith("Salinity falls from 36.0 to 35.1 in 6 months (−0.34 a month")
    assert held.startswith("To hold salinity at 35.0, 10 % of the tank's volume is swapped")
    gone = residue_words(residue_of({"magnesium": -50.0, "sulfate": -100.0}, 0.0, months=3))
    assert codes(gone)[-1] == "USED_UP"
    assert "cannot be told" in gone[1].text


def test_small_daily_changes_settle_like_a_slow_one() -> None:
    """1 % a day of 11 dKH, use 0.03 a day, from 9.5: 9.11 after 30 days, 8.0 for ever (own example)."""
    level = 9.5
    for _ in range(30):
        level += 0.01 * (11.0 - level) - 0.03
    assert level == pytest.approx(9.11, rel=0.003)
    slow = level_under_inflow(9.5, 11.0, 1.0, 100.0, 30.0, use_per_day=0.03)
    assert level == pytest.approx(slow, rel=1e-3)


def test_what_weekly_changes_bring() -> None:
    """Held at 8.0, 15 % a week of 11 dKH: 0.0643 a day, 21.4 % of 0.3 (own example)."""
    brought = brought_by_changes(8.0, 11.0, 0.15, 7)
    assert brought == pytest.approx(0.0643, rel=0.003)
    assert brought / 0.3 == pytest.approx(0.214, rel=0.003)
    assert 0.3 - brought == pytest.approx(0.236, rel=0.003)


def test_changes_that_bring_nitrate_down() -> None:
    """40 to below 10 mg/L by 20 % changes: 7, after six 10.49, after seven 8.39 (own example)."""
    way = changes_to_reach(40.0, 10.0, 0.2)
    assert way.count == 7
    assert way.levels[6:] == pytest.approx([10.49, 8.39], abs=0.005)
    assert way.in_one == pytest.approx(0.75)
    assert way.volumes_of_slow_change == pytest.approx(1.386, abs=5e-4)
    assert changes_to_reach(8.0, 8.0, 0.1).count == 0
    assert changes_to_reach(40.0, 20.0, 0.5).count == 1
    assert changes_to_reach(40.0, 20.0, 1.0).levels[-1] == 0.0


@FEW
@given(
    level=st.floats(1, 100), part=st.floats(0.05, 0.95), share=st.floats(0.05, 0.9),
    new=st.floats(0, 200),
)  # fmt: skip
def test_the_last_change_gets_there_and_the_one_before_does_not(
    level: float, part: float, share: float, new: float
) -> None:
    wanted = new + (level - new) * part
    if abs(level - new) < 1e-3:
        return
    way = changes_to_reach(level, wanted, share, new_water=new)
    left = np.abs(way.levels - new)
    assert left[-1] <= abs(wanted - new) * (1 + 1e-6)
    assert left[-2] > abs(wanted - new) * (1 - 1e-6)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"change_share": 1.2}, "a share of 0 to 1"),
        ({"change_share": math.nan}, "a share of 0 to 1"),
        ({"every_days": 0}, "whole days between changes"),
        ({"every_days": 3.5}, "whole days between changes"),
        ({"months": 0}, "1 to 60 whole months"),
        ({"months": 1000}, "1 to 60 whole months"),
        ({"salt_per_day": -0.1}, "salt of 0 g/kg a day or more"),
        ({"per_day": {"nitrate": 1.0}}, "an element of sea water"),
        ({"per_day": {"sodium": math.nan}}, "levels and rises that are numbers"),
        ({"salinity": 60.0}, "a practical salinity between 0 and 42"),
    ],
)
def test_bad_inputs_are_refused_in_words(change: dict[str, Any], words: str) -> None:
    given_: dict[str, Any] = {"per_day": {}, "salt_per_day": 0.01} | change
    with pytest.raises(InputError, match=words):
        residue_of(given_.pop("per_day"), given_.pop("salt_per_day"), **given_)


def test_other_bad_inputs_are_refused_in_words() -> None:
    with pytest.raises(InputError, match="alkalinity of 0 dKH or more"):
        sodium_chloride_left(-1.0)
    with pytest.raises(InputError, match="a bound for salinity"):
        change_that_holds({}, 0.02)
    with pytest.raises(InputError, match="a bound above 0"):
        change_that_holds({}, 0.02, salinity_within=0.0)
    with pytest.raises(InputError, match=r"5 % is written 0\.05"):
        change_that_holds({}, 0.02, ratio_within=5.0)
    with pytest.raises(InputError, match="a rise that is a number"):
        share_that_holds(math.nan, 1.0, 7)
    with pytest.raises(InputError, match="Weekly is 7"):
        brought_by_changes(8.0, 11.0, 0.1, 0)
    with pytest.raises(InputError, match="a share above 0, at most 1"):
        changes_to_reach(40.0, 10.0, 0.0)
    with pytest.raises(InputError, match="levels that are numbers"):
        changes_to_reach(math.nan, 10.0, 0.1)
    with pytest.raises(InputError, match="a larger share"):
        changes_to_reach(40.0, 0.001, 0.001)
    with pytest.raises(CannotTellError, match="nearer to the new water, 12"):
        changes_to_reach(40.0, 10.0, 0.2, new_water=12.0)
    with pytest.raises(CannotTellError, match="do not take 10 to 40"):
        changes_to_reach(10.0, 40.0, 0.2)


def test_shares_are_written_out() -> None:
    """All of the water each week, and a tank whose salt doubles: no powers of ten in a sentence."""
    whole = residue_words(residue_of({}, 0.0, change_share=1.0))
    assert "with 100 % changed every 7 days" in whole[0].text
    much = residue_words(residue_of({"sodium": 300.0}, 0.4, salinity_held=True))
    assert not any("e+" in message.text for message in much)
    assert "% of the tank's volume is swapped" in much[0].text


def test_a_single_change_in_the_plan_is_said_to_be_taken_again() -> None:
    one = PlanProblem((), (), 14, tuple(0.1 * (day == 5) for day in range(14)))
    found = residue_of_plan(one, [], 300.0, months=1)
    assert found.every_days == 14
    (said,) = found.messages
    assert said.text == ("One water change falls into the plan: here it comes again every 14 days.")
    two = PlanProblem((), (), 14, tuple(0.1 * (day % 7 == 6) for day in range(14)))
    assert residue_of_plan(two, [], 300.0, months=1).messages == ()
