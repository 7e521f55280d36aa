"""What doses of a plan do to pH and saturation, and what is said of it."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.alkalinity_kinds import (
    AlkalinityShares,
    alkalinity_kind,
    alkalinity_shares,
)
from reef_calc.chem.carbonate import state_in_air
from reef_calc.chem.carbonate_constants import carbonate_constants
from reef_calc.chem.carbonate_doses import after_adding, after_dose
from reef_calc.chem.carbonate_water import CarbonateWater
from reef_calc.chem.salts import salts
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from reef_calc.plan.doses_for_ph import (
    ARAGONITE_SLOW,
    HIGHEST_PH_NBS,
    LARGEST_PH_STEP,
    doses_for_ph,
)
from reef_calc.plan.ph_of_doses import PhOfDoses, ph_of_doses
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.solved import SolvedPlan

NET_L = 100.0


def stock(name: str, *lines: tuple[str, float]) -> Supplement:
    """A container by recipe: full names of salts and grams per litre."""
    recipe = [
        {"salt": salts()[salt].salt, "hydrate": salts()[salt].hydrate, "grams_per_L": grams}
        for salt, grams in lines
    ]
    return supplement_from_table(name, {"recipe": recipe})


SODA = stock("soda", ("sodium carbonate anhydrous", 53.0))
BICARBONATE = stock("bicarbonate", ("sodium hydrogen carbonate", 84.0))
LYE = stock("lye", ("sodium hydroxide", 40.0))
LIMEWATER = stock("limewater", ("calcium hydroxide", 1.5))
CALCIUM = stock("calcium", ("calcium chloride dihydrate", 147.0))
FORMATE = stock("formate", ("calcium formate", 65.0))


def solved(
    doses: dict[str, tuple[float, int]],
    *,
    now: float = 8.0,
    aim: float | None = 8.0,
    highest: float | None = None,
    calcium: float | None = 420.0,
    unit: str = "dKH",
) -> SolvedPlan:
    """A plan of one day as if a solver had made it: amount a day and number of doses by name."""
    elements = [ElementToPlan("alkalinity", unit, now, use=0.5, aim=aim)]
    levels = [[now, highest or now]]
    if calcium is not None:
        elements.append(ElementToPlan("calcium", "mg/L", calcium, aim=calcium))
        levels.append([calcium, calcium])
    problem = PlanProblem(
        tuple(elements),
        tuple(SupplementToPlan(name, {"alkalinity": 0.01}) for name in doses),
        1,
    )
    amounts = np.array([[amount] for amount, _ in doses.values()]).reshape(len(doses), 1)
    number = np.array([[n] for _, n in doses.values()]).reshape(len(doses), 1)
    return SolvedPlan(problem, (0,), amounts, amounts, number, np.array(levels), (), None, {}, 0.0)


def amount_for(supplement: Supplement, rise_dKH: float) -> float:
    """mL that raise the tank by so much."""
    meq = convert(rise_dKH, "dKH", "meq/L", "alkalinity")
    return meq * NET_L / supplement.adds["alkalinity"]


def one(
    supplement: Supplement, rise_dKH: float, number: int = 1, **given: float | None
) -> PhOfDoses:
    """pH of one container that raises the tank by so much a day."""
    plan = solved({supplement.name: (amount_for(supplement, rise_dKH), number)}, **given)  # type: ignore[arg-type]
    return ph_of_doses(plan, [supplement], NET_L, air_co2_uatm=500.0)


def test_kinds_of_all_salts() -> None:
    kinds = {
        "sodium hydrogen carbonate": "bicarbonate",
        "sodium carbonate anhydrous": "carbonate",
        "sodium carbonate decahydrate": "carbonate",
        "sodium hydroxide": "hydroxide",
        "calcium hydroxide": "hydroxide",
        "calcium formate": "delayed",
        "calcium acetate anhydrous": "delayed",
        "calcium acetate monohydrate": "delayed",
        "sodium tetraborate decahydrate": "borate",
    }
    for name in salts():
        assert alkalinity_kind(stock("x", (name, 1.0))) == kinds.get(name, "none"), name
    both = stock("both", ("sodium carbonate anhydrous", 10.0), ("sodium hydrogen carbonate", 10.0))
    assert alkalinity_kind(both) == "mixed"
    assert alkalinity_kind(Supplement("bottle", {"alkalinity": 0.5})) == "not known"
    assert alkalinity_shares(Supplement("bottle", {"alkalinity": 0.5})) is None
    assert alkalinity_kind(Supplement("bottle", {"calcium": 0.5})) == "none"


def test_recipe_is_kept() -> None:
    line = CALCIUM.recipe[0]
    assert (line.salt, line.hydrate, line.assay, line.grams_per_L) == (
        "calcium chloride dihydrate",
        2,
        1.0,
        147.0,
    )
    label = {"amount": 1, "unit": "mL", "litres": 100, "raises": {"calcium": "1 mg/L"}}
    assert supplement_from_table("bottle", {"label": label}).recipe == ()


def test_shares_sum_to_what_is_added() -> None:
    mixed = stock(
        "mixed",
        ("sodium carbonate anhydrous", 30.0),
        ("sodium hydrogen carbonate", 30.0),
        ("sodium tetraborate decahydrate", 2.0),
    )
    shares = alkalinity_shares(mixed)
    assert shares is not None
    assert sum(shares.meq.values()) == pytest.approx(mixed.adds["alkalinity"], rel=1e-12)
    # Carbon by the formulas: one for each carbonate and each bicarbonate (hand arithmetic).
    assert shares.carbon_mmol == pytest.approx(30.0 / 105.988 + 30.0 / 84.007, rel=1e-4)
    assert shares.boron_mg == pytest.approx(
        2.0 / 1000 * adds_per_gram("sodium tetraborate", hydrate=10)["boron"]
    )


@pytest.mark.parametrize(
    ("supplement", "change", "aragonite"),
    # COMPUTED table of doses at 8 dKH, 500 µatm: 0.5 dKH at once; saturation by salinity's calcium.
    [
        (BICARBONATE, -0.022, 4.148),
        (SODA, 0.096, 5.111),
        (LYE, 0.201, 6.087),
        (LIMEWATER, 0.201, 6.139),
    ],
)
def test_half_a_degree_of_each(supplement: Supplement, change: float, aragonite: float) -> None:
    dose = one(supplement, 0.5, calcium=None).doses[0]
    assert dose.ph_change[0] == pytest.approx(change, abs=6e-4)
    assert np.ravel(dose.right_after.aragonite)[0] == pytest.approx(aragonite, abs=6e-4)
    assert np.ravel(dose.settled.ph_total)[0] == pytest.approx(8.0573, abs=6e-5)
    assert dose.bases == ("now", "aim", "plan")


def test_warnings_and_their_numbers() -> None:
    found = one(LYE, 1.0)
    said = {m.code: m.text for m in found.messages}
    # P07: 8.1716 to 8.5303.
    assert "takes pH from 8.17 to 8.53 (NBS scale) now, above 8.5" in said["PH_ABOVE"]
    assert "raises pH by 0.36 now, more than 0.2 at once" in said["PH_STEP"]
    assert "above 7" in said["ARAGONITE_ABOVE_7"]
    assert "in 3 equal doses or more" in said["DOSES_FOR_PH"]
    assert "if the water is back in balance with the air before each" in said["DOSES_FOR_PH"]
    quiet = codes(one(SODA, 0.3, 2).messages)
    assert not {"PH_ABOVE", "PH_STEP", "ARAGONITE_ABOVE_5", "DOSES_FOR_PH"} & set(quiet)
    # 5.11 with the calcium of sea water, told without alarm.
    some = {m.code: m.kind for m in one(SODA, 0.5, calcium=None).messages}
    assert some["ARAGONITE_ABOVE_5"] == "told"
    assert "STRONG_FLOW" in quiet and "STOP_FIRST" in quiet


def test_a_number_just_beyond_is_shown_beyond() -> None:
    """0.5 dKH of hydroxide raises pH by 0.2013: never “0.20, more than 0.2”."""
    said = {m.code: m.text for m in one(LYE, 0.5).messages}
    assert "raises pH by 0.201 now" in said["PH_STEP"]


def test_nothing_dosed() -> None:
    found = ph_of_doses(solved({}), [], NET_L, air_co2_uatm=500.0)
    assert found.doses == () and "STRONG_FLOW" not in codes(found.messages)
    assert np.ravel(found.states.ph_nbs)[0] == pytest.approx(8.1716, abs=1e-4)
    idle = ph_of_doses(solved({"soda": (0.0, 0)}), [SODA], NET_L)
    assert idle.doses == ()


def test_the_largest_dose_of_all_phases() -> None:
    plan = solved({"soda": (10.0, 1)})
    plan = SolvedPlan(
        plan.problem, (0, 1), np.array([[40.0, 30.0]]), np.array([[40.0, 30.0]]),
        np.array([[4, 2]]), plan.levels, (), None, {}, 0.0,
    )  # fmt: skip
    dose = ph_of_doses(plan, [SODA], NET_L).doses[0]
    assert (dose.amount, dose.doses_a_day, dose.per_day) == (15.0, 2, 40.0)


def test_delivery_and_volume_count() -> None:
    weak = supplement_from_table(
        "soda",
        {
            "recipe": [{"salt": "soda ash", "hydrate": 0, "grams_per_L": 53.0}],
            "delivered_over_set": {"value": 0.5, "u": 0.01},
        },
    )
    plan = solved({"soda": (20.0, 1)})
    rise = 10.0 * SODA.adds["alkalinity"] / NET_L
    assert ph_of_doses(plan, [weak], NET_L).doses[0].rise_meq_per_L == pytest.approx(rise)
    assert ph_of_doses(plan, [SODA], 200.0).doses[0].rise_meq_per_L == pytest.approx(rise)


def test_label_only_is_asked() -> None:
    bottle = Supplement("bottle", {"alkalinity": 1.0})
    plan = solved({"bottle": (amount_for(bottle, 0.5), 1)}, calcium=None)
    found = ph_of_doses(plan, [bottle], NET_L, air_co2_uatm=500.0)
    dose = found.doses[0]
    assert (dose.kind, dose.taken_as) == ("not known", "hydroxide")
    said = {m.code: m.text for m in found.messages}
    assert "bicarbonate −0.02, carbonate +0.10, hydroxide +0.20" in said["ALKALINITY_KIND"]
    assert said["PH_STEP"].startswith("bottle (taken as hydroxide): ")
    told = ph_of_doses(plan, [bottle], NET_L, air_co2_uatm=500.0, kinds={"bottle": "carbonate"})
    assert told.doses[0].ph_change[0] == pytest.approx(0.096, abs=6e-4)
    assert "ALKALINITY_KIND" not in codes(told.messages)
    with pytest.raises(InputError, match="Read the label"):
        ph_of_doses(plan, [bottle], NET_L, kinds={"bottle": "strong"})


def test_delayed_alkalinity() -> None:
    found = one(FORMATE, 0.5)
    dose = found.doses[0]
    assert dose.ph_change[0] == pytest.approx(0.0, abs=1e-12)
    assert dose.rise_meq_per_L == 0.0
    assert dose.late_meq_per_L == pytest.approx(convert(0.5, "dKH", "meq/L", "alkalinity"))
    # Later it counts in full: the settled pH is that of any other 0.5 dKH.
    assert np.ravel(dose.settled.ph_total)[0] == pytest.approx(8.0573, abs=6e-5)
    said = {m.code: m.text for m in found.messages}["DELAYED_ALKALINITY"]
    # 0.1783 meq/L: half a mmol of oxygen each as formate, two as acetate, of 32 g/mol.
    assert "takes up to 2.9 mg/L of oxygen as formate, 11 mg/L as acetate" in said
    assert "holds 6.8 mg/L" in said  # 6.75 mg/L at 35 and 25 °C in oxygen tables (MEMORY)
    assert "PH_DAY" not in codes(found.messages)


def test_calcium_alone_leaves_ph() -> None:
    found = ph_of_doses(solved({"calcium": (50.0, 1)}), [CALCIUM], NET_L)
    dose = found.doses[0]
    assert dose.ph_change[0] == pytest.approx(0.0, abs=1e-12)
    calcium = 420.0 + 0.5 * CALCIUM.adds["calcium"]
    before, after = np.ravel(dose.before.aragonite)[0], np.ravel(dose.right_after.aragonite)[0]
    assert after / before == pytest.approx(calcium / 420.0)
    high = ph_of_doses(solved({"calcium": (50.0, 1)}), [CALCIUM], NET_L, ph_nbs=8.6)
    assert "PH_WATER" in codes(high.messages) and "PH_ABOVE" not in codes(high.messages)


def test_a_measured_ph() -> None:
    plan = solved({"soda": (10.0, 1)})
    found = ph_of_doses(plan, [SODA], NET_L, ph_nbs=7.9, air_co2_uatm=450.0)
    assert np.ravel(found.states.ph_nbs)[0] == pytest.approx(7.9, abs=1e-9)
    assert np.ptp(np.ravel(found.states.pco2_uatm)) == pytest.approx(0.0, abs=1e-6)
    assert np.ravel(found.doses[0].settled.pco2_uatm) == pytest.approx([450.0] * 3)
    text = {m.code: m.text for m in found.messages}["TANK_CO2"]
    assert "pH 7.90" in text and "450 µatm" in text


def test_much_carbon_dioxide_is_written_out() -> None:
    found = ph_of_doses(solved({"soda": (10.0, 1)}), [SODA], NET_L, ph_nbs=7.8)
    text = next(m.text for m in found.messages if m.code == "TANK_CO2")
    assert " 1300 µatm" in text and "e+" not in text


def test_what_is_assumed_is_said() -> None:
    plan = solved({"soda": (5.0, 1)}, calcium=None)
    said = {m.code: m for m in ph_of_doses(plan, [SODA], NET_L).messages}
    assert said["AIR_CO2"].kind == "qualified" and "500 µatm is taken" in said["AIR_CO2"].text
    assert "Between 400 and 1000 µatm" in said["AIR_CO2"].text
    assert "4.6 mg/L, as in sea water" in said["BORON"].text
    assert "422 mg/L" in said["CALCIUM_ASSUMED"].text
    typed = ph_of_doses(
        plan, [SODA], NET_L, air_co2_uatm=600.0, boron_mg_per_L=5.5, salinity=18.0
    ).messages
    said = {m.code: m for m in typed}
    assert said["AIR_CO2"].kind == "told" and "5.5 mg/L, as typed" in said["BORON"].text
    assert "CARBONATE_RANGE" in said
    assert [m.kind == "told" for m in typed] == sorted(m.kind == "told" for m in typed)


def test_high_water_is_said_before_any_dose() -> None:
    found = one(SODA, 0.2, now=11.0, aim=14.0, highest=14.0)
    said = {m.code: m.text for m in found.messages}
    assert (
        "at the aim" in said["ARAGONITE_WATER"] and "A lower alkalinity" in said["ARAGONITE_WATER"]
    )
    outdoors = solved({"lye": (20.0, 1)}, now=18.0, aim=18.0)
    said = {m.code: m.text for m in ph_of_doses(outdoors, [LYE], NET_L, ph_nbs=8.6).messages}
    assert "before any dose" in said["PH_WATER"]
    assert "no number of doses" in said["DOSES_FOR_PH"]


def test_a_day_without_air() -> None:
    """The other extreme is the state after the whole day's alkalinity at once."""
    found = one(LYE, 1.0, 10)
    whole = after_dose(found.states, "hydroxide", convert(1.0, "dKH", "meq/L", "alkalinity"))
    assert np.ravel(found.day_in_one.ph_nbs) == pytest.approx(np.ravel(whole.ph_nbs), abs=1e-9)
    assert "8.53" in {m.code: m.text for m in found.messages}["PH_DAY"]
    assert "PH_STEP" not in codes(found.messages)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["bicarbonate", "carbonate", "hydroxide"]),
    st.floats(0.01, 2.0),
    st.floats(1.5, 4.5),
    st.floats(300.0, 1200.0),
)
def test_number_of_doses_by_brute_force(kind: str, rise: float, level: float, uatm: float) -> None:
    shares = AlkalinityShares({kind: 1.0}, 0.0, 0.0)
    before = state_in_air(level, uatm, CarbonateWater())
    found = doses_for_ph(shares, rise, before, most=20)

    def kept(number: int) -> bool:
        after = after_adding(before, rise / number, shares.carbon_mmol * rise / number)
        return bool(
            after.ph_nbs <= HIGHEST_PH_NBS
            and after.ph_total - before.ph_total <= LARGEST_PH_STEP
            and after.aragonite <= ARAGONITE_SLOW
        )

    if found is None:
        assert not kept(20)
    else:
        assert all(kept(n) for n in range(found, 21))
        assert found == 1 or not kept(found - 1)


def test_what_cannot_be() -> None:
    with pytest.raises(InputError, match=r"supplements\.toml"):
        ph_of_doses(solved({"soda": (5.0, 1)}), [], NET_L)
    with pytest.raises(InputError, match="net volume above 0 L"):
        ph_of_doses(solved({}), [], 0.0)
    plan = solved({})
    without = PlanProblem((plan.problem.elements[1],), (), 1)
    empty = np.zeros((0, 1))
    bare = SolvedPlan(without, (0,), empty, empty, empty, plan.levels[1:], (), None, {}, 0.0)
    with pytest.raises(CannotTellError, match="alkalinity"):
        ph_of_doses(bare, [], NET_L)


def test_other_units_of_alkalinity() -> None:
    meq = convert(8.0, "dKH", "meq/L", "alkalinity")
    in_meq = ph_of_doses(solved({}, now=meq, aim=meq, unit="meq/L"), [], NET_L)
    in_dkh = ph_of_doses(solved({}), [], NET_L)
    assert np.ravel(in_meq.states.ph_nbs) == pytest.approx(np.ravel(in_dkh.states.ph_nbs))


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "PyCO2SYS", None)
    carbonate_constants.cache_clear()
    with pytest.raises(CannotTellError, match="pip install PyCO2SYS"):
        ph_of_doses(solved({"soda": (5.0, 1)}), [SODA], NET_L)
