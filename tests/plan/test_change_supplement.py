"""One supplement for another: equal supply day by day, what else changes; hand arithmetic."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.supplements import Delivered, Supplement, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import codes
from reef_calc.plan.change_supplement import SupplementChange, change_supplement
from reef_calc.plan.cross_fade import cross_fade

quick = settings(max_examples=40, deadline=None, derandomize=True)


def recipe(name: str, salt: str, grams_per_L: float, **more: object) -> Supplement:
    line: dict[str, object] = {"salt": salt, "grams_per_L": grams_per_L}
    if "hydrate" in more:
        line["hydrate"] = more.pop("hydrate")
    return supplement_from_table(name, {"recipe": [line], **more})


SODA = recipe("soda", "soda ash", 60.0)
BICARBONATE = recipe("bicarbonate", "sodium hydrogen carbonate", 50.0, container_L=5.0)
FORMATE = recipe("formate", "calcium formate", 80.0)
CHLORIDE = recipe("chloride", "calcium chloride", 80.0, hydrate=2)


def text(change: SupplementChange, code: str) -> str:
    return next(m.text for m in change.messages if m.code == code)


def test_equivalent_dose_by_hand() -> None:
    change = change_supplement(SODA, BICARBONATE, "alkalinity", 40.0, 300.0)
    # 60 g/L / 105.988 × 2 = 1.13221 meq/mL; 50 g/L / 84.006 = 0.59519 meq/mL.
    assert change.amount_then == pytest.approx(40.0 * 1.13221 / 0.59519, rel=1e-4)
    assert change.supply == pytest.approx(40.0 * 1.13221 / 300.0 / 0.356652, rel=1e-4)
    assert change.new_lasts_days == pytest.approx(5000.0 / change.setting_then)
    # 2 % strength and 4 % pump, twice.
    assert change.u_equivalent == pytest.approx(math.sqrt(2 * (0.02**2 + 0.04**2)))
    sodium = change.effects.set_index("element").loc["sodium"]
    # Both bring one sodium for one equivalent: nothing changes.
    assert sodium["before"] == pytest.approx(sodium["after"], rel=1e-9)
    assert change.salt_before is not None
    assert change.salt_after is not None
    # Per equivalent 84.006 g of bicarbonate against 52.994 g of soda.
    assert change.salt_after / change.salt_before == pytest.approx(84.006 / 52.994, rel=1e-4)


def test_pumps_that_deliver_otherwise_than_set() -> None:
    weak = Supplement("weak pump", {"alkalinity": 1.0}, delivered_over_set=Delivered(0.8, 0.02))
    sound = Supplement("sound pump", {"alkalinity": 1.0}, delivered_over_set=Delivered(1.0, 0.02))
    assert change_supplement(weak, sound, "alkalinity", 10.0, 100.0).amount_then == pytest.approx(8)
    assert change_supplement(sound, weak, "alkalinity", 8.0, 100.0).amount_then == pytest.approx(10)


def test_there_and_back_is_where_it_was() -> None:
    there = change_supplement(SODA, FORMATE, "alkalinity", 33.0, 250.0)
    back = change_supplement(FORMATE, SODA, "alkalinity", there.amount_then, 250.0)
    assert back.amount_then == pytest.approx(33.0)
    assert back.supply == pytest.approx(there.supply)
    assert back.effects["change"].to_numpy() == pytest.approx(-there.effects["change"].to_numpy())


def test_what_must_be_dosed_by_itself() -> None:
    change = change_supplement(FORMATE, SODA, "alkalinity", 30.0, 300.0)
    # One calcium for two equivalents: 20.039 mg for one meq.
    meq = convert(change.supply, "dKH", "meq/L", "alkalinity")
    assert change.missing["calcium"] == pytest.approx(20.039 * meq, rel=1e-4)
    assert f"Dose {change.missing['calcium']:.1f} mg/L a day of it by itself" in text(
        change, "DOSE_SEPARATELY"
    )
    other = change_supplement(SODA, FORMATE, "alkalinity", 30.0, 300.0)
    assert "off other doses of it, or the level rises" in text(other, "BRINGS_MORE")


def test_a_linked_companion() -> None:
    pair = recipe("pair", "soda ash", 60.0, linked={"chloride": 1.0})
    alone = change_supplement(pair, FORMATE, "alkalinity", 40.0, 300.0)
    assert "chloride was set in a fixed ratio to pair: 40 mL a day" in text(
        alone, "COMPANION_STOPS"
    )
    assert "What chloride brings is not counted" in text(alone, "COMPANION_NOT_COUNTED")
    assert alone.salt_before is None
    counted = change_supplement(
        pair, FORMATE, "alkalinity", 40.0, 300.0, companions={"chloride": CHLORIDE}
    )
    assert "COMPANION_NOT_COUNTED" not in codes(counted.messages)
    calcium = counted.effects.set_index("element").loc["calcium"]
    # 80 g/L of CaCl2.2H2O: 80 × 40.078/147.008 = 21.81 mg/mL.
    assert calcium["before"] == pytest.approx(40 * 21.810 / 300, rel=1e-4)
    back = change_supplement(
        FORMATE, pair, "alkalinity", 40.0, 300.0, companions={"chloride": CHLORIDE}
    )
    assert "pair is given together with chloride" in text(back, "COMPANION_NEEDED")


def test_what_piles_up() -> None:
    nitrate = supplement_from_table(
        "nitrate soda",
        {"label": {"amount": 1, "unit": "mL", "litres": 100,
                   "raises": {"alkalinity": "0.05 dKH", "nitrate": "0.1 mg/L"}}},
    )  # fmt: skip
    change = change_supplement(SODA, nitrate, "alkalinity", 40.0, 300.0)
    row = change.effects.set_index("element").loc["nitrate"]
    assert row["in_30_days"] == pytest.approx(30 * 2 * change.supply, rel=1e-9)
    assert "Nitrate:" in text(change, "ALSO_CHANGES")
    assert "only a label strength is known" in text(change, "LABEL_ONLY")
    assert change.chloride_to_sulfate is None
    to_chloride = change_supplement(FORMATE, CHLORIDE, "calcium", 30.0, 300.0)
    assert to_chloride.chloride_to_sulfate is not None
    sea, old, new = to_chloride.chloride_to_sulfate
    assert sea == pytest.approx(7.135, abs=0.001)  # 19352.71/2712.35
    assert old == pytest.approx(sea)
    assert new > sea
    assert "sea water 7.14" in text(to_chloride, "CHLORIDE_TO_SULFATE")
    # Calcium is there at once: no overlap, whatever the delay of the alkalinity.
    assert len(to_chloride.days) == 7
    assert any(m.text.startswith("Alkalinity:") for m in to_chloride.messages)


@quick
@given(
    st.integers(1, 20), st.integers(1, 5), st.sampled_from([0.0, 0.5, 1.0, 2.0, 3.5]),
    st.sampled_from([0.0, 0.5, 1.0, 2.5]), st.floats(5, 100), st.floats(5, 100),
)  # fmt: skip
def test_supply_is_kept_exactly_without_steps(
    days: int, every: int, old_lag: float, new_lag: float, now: float, then: float
) -> None:
    table = cross_fade(
        now, then, 1.0, days, old_lag_days=old_lag, new_lag_days=new_lag, change_every=every
    )
    assert table["old"].iloc[-1] == 0.0
    assert table["new"].iloc[-1] == pytest.approx(then)
    assert np.all(np.diff(table["old"]) <= 1e-9)
    assert np.all(np.diff(table["new"]) >= -1e-9)
    wait = abs(new_lag - old_lag)
    if float(wait).is_integer() and every == 1:
        assert table["error"].to_numpy() == pytest.approx(0.0, abs=1e-9)
    # Staircases half a day apart miss each other by at most the wait, in shares of the supply.
    assert table["drift"].abs().max() <= max(1.0, every) * math.ceil(wait) + 1e-9
    assert table["error"].iloc[-1] == pytest.approx(0.0, abs=1e-9)


@quick
@given(
    st.integers(1, 20), st.floats(0.1, 5.0), st.floats(0.1, 5.0), st.floats(20, 100),
    st.floats(20, 100),
)  # fmt: skip
def test_pump_steps_never_add_up(
    days: int, old_step: float, new_step: float, now: float, then: float
) -> None:
    table = cross_fade(now, then, 1.0, days, old_step=old_step, new_step=new_step)
    for column, step in (("old", old_step), ("new", new_step)):
        steps = table[column] / step
        assert steps.to_numpy() == pytest.approx(np.round(steps), abs=1e-6)
    # What is left open never exceeds half a step of the new one; the last setting is the nearest.
    inner = table["drift"].iloc[:-1].abs().max() if days > 1 else 0.0
    assert inner <= 0.5 * new_step / then + 1e-9
    assert abs(table["error"].iloc[-1]) <= 0.5 * new_step / then + 1e-9


def test_late_alkalinity_starts_early_and_stops_late() -> None:
    late = change_supplement(SODA, FORMATE, "alkalinity", 40.0, 300.0, days=4)
    assert FORMATE.lag_days == 1.0
    assert late.days["new"].iloc[0] > 0
    assert late.days["old"].iloc[0] == pytest.approx(40.0)
    assert late.days["error"].to_numpy() == pytest.approx(0.0, abs=1e-9)
    assert "starts before the old one is taken back" in text(late, "ACTS_LATE")
    assert "Its calcium is there at once" in text(late, "ACTS_LATE")
    back = change_supplement(FORMATE, SODA, "alkalinity", 40.0, 300.0, days=4)
    assert back.days["new"].iloc[0] == 0.0
    assert back.days["error"].to_numpy() == pytest.approx(0.0, abs=1e-9)


def test_containers_and_tests() -> None:
    change = change_supplement(SODA, BICARBONATE, "alkalinity", 40.0, 300.0, days=5, old_left=50.0)
    # 32 + 24 + 16 + 8 mL.
    assert change.old_needed == pytest.approx(80.0)
    assert change.old_runs_out == 2
    assert "soda runs out on day 2: 50 mL are left and the change takes 80 mL" in text(
        change, "OLD_RUNS_OUT"
    )
    assert "A full container of bicarbonate (5 L) then lasts 66 days." in text(change, "NEW_LASTS")
    enough = change_supplement(SODA, BICARBONATE, "alkalinity", 40.0, 300.0, days=5, old_left=80.0)
    assert enough.old_runs_out is None
    empty = change_supplement(SODA, BICARBONATE, "alkalinity", 40.0, 300.0, old_left=0.0)
    assert "soda is empty: change at once" in text(empty, "OLD_RUNS_OUT")
    sharp = change_supplement(SODA, BICARBONATE, "alkalinity", 40.0, 300.0, reading_sd=0.1)
    assert sharp.first_sign_days == pytest.approx(2 * math.sqrt(2) * 0.1 / (0.25 * sharp.supply))
    assert "If bicarbonate is a quarter weaker than stated, the level falls by 0.11 dKH a day" in (
        text(sharp, "WHAT_TO_TEST")
    )


def test_limits_and_steps_are_named() -> None:
    small = recipe("small", "soda ash", 6.0, limits={"mL_per_day": 200})
    change = change_supplement(SODA, small, "alkalinity", 40.0, 300.0)
    assert (
        "small may be given at 200 mL a day and no more. That is 50 % of what is needed: keep 20 mL"
        in (text(change, "MORE_THAN_ALLOWED"))
    )
    strong = recipe("strong", "sodium hydroxide", 300.0)
    coarse = change_supplement(SODA, strong, "alkalinity", 40.0, 300.0, new_step=2.4)
    assert "One step of the pump is 40 % of the day's amount of strong. Dilute it 4 times" in (
        text(coarse, "COARSE_STEP")
    )
    assert coarse.setting_then == pytest.approx(7.2)
    assert "dKH a day more than before" in text(coarse, "PUMP_STEP")
    assert any("severe burns" in m.text for m in coarse.messages if m.code == "HAZARD")
    assert "Never put the two into one container" in text(coarse, "NEVER_MIX")


def test_what_is_refused() -> None:
    with pytest.raises(InputError, match="a supplement that adds calcium"):
        change_supplement(SODA, FORMATE, "calcium", 40.0, 300.0)
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(InputError, match="today's amount of soda above 0"):
            change_supplement(SODA, FORMATE, "alkalinity", bad, 300.0)
    with pytest.raises(InputError, match="a net volume above 0"):
        change_supplement(SODA, FORMATE, "alkalinity", 40.0, 0.0)
    with pytest.raises(InputError, match="1 to 60 whole days"):
        change_supplement(SODA, FORMATE, "alkalinity", 40.0, 300.0, days=0)
    with pytest.raises(InputError, match="a pump step of 0 or more"):
        change_supplement(SODA, FORMATE, "alkalinity", 40.0, 300.0, new_step=-1.0)


def test_an_inflow_that_takes_something_away() -> None:
    reactor = Supplement("reactor", {"alkalinity": 0.00713, "magnesium": -0.05})
    change = change_supplement(SODA, reactor, "alkalinity", 40.0, 300.0)
    magnesium = change.effects.set_index("element").loc["magnesium"]
    assert magnesium["after"] < 0
    assert "Magnesium: soda brings 0, reactor −" in text(change, "DOSE_SEPARATELY")
    assert not any("nan" in message.text for message in change.messages)


def test_what_no_kit_shows_in_weeks_is_not_waited_for() -> None:
    chloride = recipe("chloride", "magnesium chloride", 400.0)
    sulfate = recipe("sulfate", "Epsom salt", 300.0)
    slow = change_supplement(chloride, sulfate, "magnesium", 20.0, 300.0)
    assert slow.first_sign_days > 90.0
    said = text(slow, "WHAT_TO_TEST")
    assert "this kit does not see that within 42 days" in said and "cylinder" in said
    assert "until day 49" in said
    soon = text(change_supplement(SODA, FORMATE, "alkalinity", 40.0, 300.0), "WHAT_TO_TEST")
    assert "Change nothing else in this time" in soon


def test_one_day_is_not_days_and_scales_are_no_pump() -> None:
    late = change_supplement(SODA, FORMATE, "alkalinity", 40.0, 300.0)
    assert "appears about 1 day after the dose" in text(late, "ACTS_LATE")
    assert "this alone shifts by 1 day." in text(late, "ACTS_LATE")
    powder = Supplement("powder", {"alkalinity": 11.9}, "g")
    dry = change_supplement(SODA, powder, "alkalinity", 40.0, 300.0, new_step=1.5)
    assert "pump" not in text(dry, "PUMP_STEP") + text(dry, "COARSE_STEP")
