"""Recipes of test water: through a stock, in salt water, spikes; against independent propagation."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from reef_calc.bench.dilutions import dilution_series, levels_around, stated_stock
from reef_calc.bench.glassware import PIPETTES, VESSELS, tolerance_mL, tolerances_mL, u_of_filling
from reef_calc.bench.recipes import WAYS, plan_recipe
from reef_calc.bench.spikes import mean_reading, spike_mL_for
from reef_calc.bench.standard_salts import (
    check_dissolves,
    dissolves_g_per_L,
    elements_with_salts,
    standard_salts,
)
from reef_calc.bench.standards import KEEP_SAFE, hazard_of
from reef_calc.chem.salts import LABEL_FIRST, find_salt
from reef_calc.chem.substances import adds_per_gram
from reef_calc.errors import InputError, UnitError
from tests.trust import record_check

PIPETTE_SET = {v: u_of_filling(v, t) for v, t in tolerances_mL(PIPETTES[0]).items()}
BENCH = {"u_balance_g": 0.001, "u_flask_mL": 0.6, "pipettes": PIPETTE_SET, "step_g": 0.001}


def test_flask_of_quam_a1() -> None:
    """A flask of 100 mL is off by 0.1 mL and gives u 0.07 mL: QUAM A1. PUBLISHED."""
    tolerance = tolerance_mL("volumetric flask, class A", 100.0)
    u = u_of_filling(100.0, tolerance)
    assert tolerance == 0.1
    assert u == pytest.approx(0.07, abs=0.005)
    record_check(
        "Flask of 100 mL", "glass: tolerance and standard uncertainty, mL", (0.1, 0.07),
        (tolerance, round(u, 2)), "Eurachem/CITAC QUAM, 3rd ed. (2012), example A1", "PUBLISHED",
    )  # fmt: skip


@pytest.mark.parametrize("name", elements_with_salts())
def test_every_element_can_be_made(name: str) -> None:
    """Every salt offered adds its element, has a hazard in words, and dissolves at the usual level."""
    for one in standard_salts(name):
        assert adds_per_gram(one.salt.name)[name] > 0
        assert one.drying.endswith(".")
        assert hazard_of(one.salt).count(".") >= 1
        assert not one.salt.delayed_alkalinity
        assert "not for households" not in one.salt.hazard


def test_hazard_of_a_salt_that_gets_hot() -> None:
    assert "cold water" in hazard_of(find_salt("calcium chloride", 0))
    assert "feeds fire" in hazard_of(find_salt("potassium nitrate"))


def test_a_heavy_mass_is_weighed_directly() -> None:
    recipe = plan_recipe("calcium", 420.0, "mg/L", 1000.0, **BENCH)
    assert (recipe.stock, recipe.taken_mL) == (None, 0.0)
    assert recipe.water.level == pytest.approx(420.0)
    assert recipe.weighing_share < 0.01
    assert recipe.water.cautions[0] == LABEL_FIRST
    assert recipe.water.cautions[-1] == KEEP_SAFE


@pytest.mark.parametrize("salinity", [None, 35.0])
@pytest.mark.parametrize("name, level", [("phosphate", 0.1), ("nitrate", 10.0), ("strontium", 8.0)])
def test_through_a_stock_against_uncertainties(
    name: str, level: float, salinity: float | None
) -> None:
    """The two-step budget against the general-purpose package ``uncertainties``, one flask twice."""
    blank, u_blank = level / 20, level / 200
    recipe = plan_recipe(
        name, level, "mg/L", 1000.0, matching_salinity=salinity, blank=blank, u_blank=u_blank,
        purity=0.99, purity_half_width=0.005, **BENCH,
    )  # fmt: skip
    assert recipe.stock is not None
    m, P = ufloat(recipe.mass_g, 0.001), ufloat(0.99, 0.005 / math.sqrt(3))
    V, Vt, b = ufloat(1000.0, 0.6), ufloat(recipe.taken_mL, PIPETTE_SET[recipe.taken_mL]), None
    b = ufloat(blank, u_blank)
    per_gram = adds_per_gram(recipe.salt.name)[name]
    C = m * P * per_gram / V * 1000 * Vt / V + b
    assert recipe.water.level == pytest.approx(level, rel=1e-9)
    assert recipe.water.level == pytest.approx(C.nominal_value, rel=1e-9)
    assert recipe.water.u == pytest.approx(C.std_dev, rel=2e-3)
    # A blank that comes with the sodium chloride is in the flask and not in the stock.
    holds = 0.0 if salinity is not None else blank
    factor = 1000.0 / recipe.taken_mL
    assert recipe.stock.level == pytest.approx((level - blank) * factor + holds, rel=1e-9)
    assert (recipe.sodium_chloride_g > 0) is (salinity is not None)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.05, 500.0), st.sampled_from([100.0, 500.0, 1000.0]), st.floats(0.5, 2.0))
def test_what_was_weighed_gives_the_level(level: float, flask: float, times: float) -> None:
    """Twice the mass is twice the level, whichever way the recipe goes."""
    try:
        planned = plan_recipe("nitrate", level, "mg/L", flask, **BENCH)
    except InputError as error:
        assert "one pipette can dilute" in str(error)
        return
    weighed = times * planned.mass_g
    made = plan_recipe("nitrate", level, "mg/L", flask, weighed_g=weighed, **BENCH)
    assert planned.water.level == pytest.approx(level, rel=1e-9)
    assert made.water.level == pytest.approx(times * level, rel=1e-9)
    assert made.taken_mL == planned.taken_mL
    strange = any("decimal point" in note for note in made.notes)
    assert strange is not (1 / 1.25 < times < 1.25)


def test_a_coarse_balance_is_told() -> None:
    recipe = plan_recipe(
        "alkalinity", 8.0, "dKH", 1000.0, way=WAYS[1], **(BENCH | {"u_balance_g": 0.002})
    )
    assert any("balance alone leaves ± 2.6 %" in note for note in recipe.notes)
    stock = plan_recipe("alkalinity", 8.0, "dKH", 1000.0, **(BENCH | {"u_balance_g": 0.002}))
    assert stock.stock is not None
    assert stock.water.u < recipe.water.u


def test_stronger_or_weaker_than_any_tank_is_told() -> None:
    strong = plan_recipe("alkalinity", 3000.0, "dKH", 1000.0, **BENCH)
    assert any("as a stock only" in note for note in strong.notes)
    weak = plan_recipe("calcium", 10.0, "mg/L", 1000.0, **BENCH)
    assert any("weaker than any" in note for note in weak.notes)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"level": 0.0}, "above what the water itself holds"),
        ({"level": math.inf}, "above what the water itself holds"),
        ({"blank": 9.0}, "above what the water itself holds"),
        ({"level": 1e6}, "certainly dissolves"),
        ({"flask_mL": 0.0}, "the volume of the flask"),
        ({"matching_salinity": 1.026}, "1.026 is a gravity"),
        ({"way": "guess"}, "one of as the balance allows"),
        ({"u_balance_g": 5.0}, "one pipette can dilute"),
        ({"pipettes": {}, "u_balance_g": 0.1}, "pipettes of no size"),
        ({"purity": 0.0}, "assay between 0.3"),
        ({"name": "silicate"}, "makes test water for"),
        ({"name": "calcium", "salt": "calcium chloride"}, "water of crystallisation"),
        ({"name": "calcium", "salt": "soda ash"}, "a salt that adds calcium"),
        ({"name": "chloride", "unit": "mg/L", "matching_salinity": 35.0}, "purified water"),
    ],
)  # fmt: skip
def test_refusals(changes: dict[str, object], words: str) -> None:
    arguments = {"name": "alkalinity", "level": 8.0, "unit": "dKH", "flask_mL": 1000.0,
                 **BENCH, **changes}  # fmt: skip
    if arguments["name"] == "calcium":
        arguments["unit"] = "mg/L"
    with pytest.raises(InputError, match=words):
        plan_recipe(**arguments)  # type: ignore[arg-type]


def test_a_unit_of_another_element_is_refused() -> None:
    with pytest.raises(UnitError, match="a unit of calcium"):
        plan_recipe("calcium", 420.0, "dKH", 1000.0, **BENCH)
    with pytest.raises(UnitError, match="a unit of nitrate"):
        stated_stock("nitrate", 10.0, "dKH", 0.1)
    with pytest.raises(InputError, match="density"):
        stated_stock("nitrate", 10.0, "mg/kg", 0.1)


def test_saturation() -> None:
    """KNO3: 24.2 g in 100 g of saturated solution at 20 °C, so at least 242 g in a litre. MEMORY."""
    salt = find_salt("potassium nitrate")
    assert dissolves_g_per_L(salt) == pytest.approx(242.0, rel=1e-3)
    assert dissolves_g_per_L(find_salt("potassium sulfate")) is None
    with pytest.raises(InputError, match="certainly dissolves"):
        check_dissolves(salt, 25.0, 100.0)


def test_glass_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="a size that"):
        tolerance_mL(VESSELS[0], 330.0)
    with pytest.raises(InputError, match="one of"):
        tolerances_mL("jam jar")


def test_levels_around_one_level() -> None:
    assert levels_around(8.0, 0.25, 3) == pytest.approx([6.0, 8.0, 10.0])
    for bad in ((0.0, 0.5, 5), (8.0, 1.0, 5), (8.0, 0.5, 1), (8.0, 0.5, 2.5)):
        with pytest.raises(InputError):
            levels_around(*bad)


def test_a_series_asks_for_the_uncertainty_of_each_part() -> None:
    stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    asked: list[float] = []

    def u_taken(taken_mL: float) -> float:
        asked.append(taken_mL)
        return 0.01 * taken_mL

    series = dilution_series(stock, [5.0, 20.0], 500.0, u_taken_mL=u_taken, u_flask_mL=0.3)
    assert asked == pytest.approx([2.5, 10.0])
    assert series[0].u / series[0].level == pytest.approx(series[1].u / series[1].level, rel=1e-3)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.1, 50.0), st.floats(0.0, 50.0), st.floats(1.0, 500.0))
def test_a_spike_raises_as_much_as_wanted(rise: float, before: float, water: float) -> None:
    stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    spike = spike_mL_for(rise, before, stock, water)
    after = (before * water + stock.level * spike) / (water + spike)
    assert after - before == pytest.approx(rise, rel=1e-9, abs=1e-9)


def test_refusals_of_spikes() -> None:
    stock = stated_stock("nitrate", 20.0, "mg/L", 1.0)
    with pytest.raises(InputError, match="less than the solution itself has"):
        spike_mL_for(10.0, 10.0, stock, 100.0)
    with pytest.raises(InputError, match="a level of the water"):
        spike_mL_for(1.0, math.nan, stock, 100.0)
    with pytest.raises(InputError, match="at least one reading"):
        mean_reading([], 0.1)
    with pytest.raises(InputError, match="a scatter"):
        mean_reading([8.0], 0.0)
