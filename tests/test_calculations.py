"""Questions as keepers ask them, from words to a number; each answer worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.stoichiometry import (
    PURE_CARBONATE,
    alkalinity_from_nitrate,
    taken_per_dKH,
)
from reef_calc.balance.water_balance import level_after_cycles
from reef_calc.bench.top_off import level_after_top_off, salinity_after_top_off
from reef_calc.bench.uncertainty import Quantity, propagate, resolution
from reef_calc.chem.composition import normalise_level
from reef_calc.chem.continuous_inflow import (
    half_time_days,
    inflow_for,
    inflow_volumes,
    level_under_inflow,
    rise_by_inflow,
)
from reef_calc.chem.limewater import demand_by_limewater, limewater, rise_by_limewater
from reef_calc.chem.salts import find_salt
from reef_calc.chem.stock_solutions import stock_solution
from reef_calc.chem.stock_words import SaltPart
from reef_calc.chem.substances import adds_per_gram, mass_for
from reef_calc.chem.supplements import level_rise, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.plan.dilution import brought_by_changes
from reef_calc.plan.problem import ElementToPlan, PlanProblem
from reef_calc.plan.recursion import levels_day_by_day
from tests.trust import record_check

GALLON_L = 3.785412  # by definition, to 7 digits


def answer(id: str, topic: str, expected: tuple[float, ...], *got: float) -> None:
    """Compare within 0.3 %, and keep it for the page."""
    record_check(
        id, f"calculation: {topic}", expected, got, "worked example of our own", "COMPUTED"
    )
    assert got == pytest.approx(expected, rel=0.003)


def test_bicarbonate_and_washing_soda() -> None:
    answer(
        "Q01",
        "380 L from 7.2 to 8.5 dKH: NaHCO3 / Na2CO3 / Na2CO3.10H2O (g)",
        (14.80, 9.34, 25.21),
        mass_for("sodium hydrogen carbonate", "alkalinity", 1.3, "dKH", 380.0),
        mass_for("sodium carbonate", "alkalinity", 1.3, "dKH", 380.0, hydrate=0),
        mass_for("washing soda", "alkalinity", 1.3, "dKH", 380.0),
    )


def test_calcium_in_a_tank_with_rock_and_sump() -> None:
    gross = 95.0 * GALLON_L
    net = 0.85 * gross
    dihydrate = mass_for("calcium chloride", "calcium", 45.0, "mg/L", net, hydrate=2, assay=0.96)
    anhydrous = mass_for("calcium chloride", "calcium", 45.0, "mg/L", net, hydrate=0, assay=0.94)
    too_much = mass_for("calcium chloride", "calcium", 45.0, "mg/L", gross, hydrate=2, assay=0.96)
    answer(
        "Q02",
        "Ca 385 to 430: dihydrate 96 % / anhydrous 94 % / dihydrate for gross volume (g)",
        (52.6, 40.5, 61.8),
        dihydrate,
        anhydrous,
        too_much,
    )


def test_magnesium_from_two_salts() -> None:
    chloride, sulfate = find_salt("magnesium chloride"), find_salt("Epsom salt")
    stock = stock_solution(
        "magnesium",
        # Nine parts to one by moles.
        [SaltPart(chloride, 9 * 203.295), SaltPart(sulfate, 246.466)],
        5.0,
        element="magnesium",
        rise=110.0,
        unit="mg/L",
        amount_mL=5000.0,
        litres=620.0,
    )
    sulfate_rise = level_rise(stock.supplement, 5.0, "L", "sulfate", 620.0, "mg/L")
    answer(
        "Q03",
        "620 L, Mg +110: MgCl2.6H2O / MgSO4.7H2O (g), sulfate rise (mg/L)",
        (513.4, 69.2, 43.5),
        *stock.grams,
        sulfate_rise,
    )


def test_potassium() -> None:
    got = mass_for("potassium chloride", "potassium", 40.0, "mg/L", 450.0)
    answer("Q04", "450 L, K 360 to 400: KCl (g)", (34.3,), got)


def test_a_stock_of_bicarbonate() -> None:
    stock = supplement_from_table(
        "stock", {"recipe": [{"salt": "sodium hydrogen carbonate", "grams_per_L": 80.0}]}
    )
    per_mL = level_rise(stock, 1.0, "mL", "alkalinity", 380.0, "dKH")
    answer(
        "Q06",
        "80 g/L NaHCO3: meq/mL, 1 mL in 100 L (dKH), 1 dKH in 380 L (mL)",
        (0.9523, 0.0267, 142.3),
        stock.adds["alkalinity"],
        level_rise(stock, 1.0, "mL", "alkalinity", 100.0, "dKH"),
        1.0 / per_mL,
    )


def test_net_volume_from_a_dose() -> None:
    added = 30.0 * adds_per_gram("sodium hydrogen carbonate")["alkalinity"]
    per_dKH = convert(1.0, "dKH", "meq/L", "alkalinity")
    found = propagate(
        lambda before, after: added / ((after - before) * per_dKH),
        {"before": Quantity(7.5, 0.1), "after": Quantity(8.3, 0.1)},
    )
    answer("Q07", "30 g lift 7.5 to 8.3: net volume, its u (L)", (1252, 221), found.value, found.u)


def test_consumption_without_doses() -> None:
    t, y = np.arange(5.0), np.array([8.9, 8.6, 8.1, 7.8, 7.3])
    row = cross_checks(y, np.column_stack([np.ones(5), -t])).iloc[0]
    answer(
        "Q08", "8.9 8.6 8.1 7.8 7.3: use a day and 95 %", (0.40, 0.336, 0.464),
        row["rate"], row["low"], row["high"],
    )  # fmt: skip


def test_can_two_readings_be_believed() -> None:
    found = propagate(
        lambda first, second: (first - second) / 3.0,
        {"first": resolution(8.6, 0.3), "second": resolution(8.3, 0.3)},
    )
    apart = math.sqrt(2.0) * resolution(8.6, 0.3).u / (0.1 * 0.2)
    answer(
        "Q09", "step 0.3, 8.6 then 8.3 in 3 days: use, 2u, days for 20 %", (0.10, 0.0816, 6.124),
        found.value, 2.0 * found.u, apart,
    )  # fmt: skip


def test_consumption_with_doses() -> None:
    stock = supplement_from_table("stock", {"recipe": [{"salt": "soda ash", "grams_per_L": 53.0}]})
    dose = level_rise(stock, 20.0, "mL", "alkalinity", 300.0, "dKH")
    t = np.array([0.0, 2, 4, 7, 9, 11, 14])
    y = np.array([8.2, 8.2, 8.1, 8.1, 8.0, 8.0, 7.9])
    row = cross_checks(y - dose * t, np.column_stack([np.ones(7), -t])).iloc[0]
    hold = row["rate"] / level_rise(stock, 1.0, "mL", "alkalinity", 300.0, "dKH")
    answer(
        "Q10", "14 days with 20 mL a day: dose, use (dKH a day), mL to hold", (0.18694, 0.2085, 22.3),
        dose, row["rate"], hold,
    )  # fmt: skip
    assert (row["high"] - row["low"]) / 2 == pytest.approx(0.0061, rel=0.02)


def test_calcium_goes_with_alkalinity() -> None:
    calcium = taken_per_dKH(PURE_CARBONATE).calcium
    carbonate = 0.8 * convert(1.0, "dKH", "mg/L CaCO3", "alkalinity") * 400.0 / 1000.0
    salt = 0.5 * 180 * convert(1.0, "dKH", "meq/L", "alkalinity") * 58.44 / 1000.0
    answer(
        "Q12", "0.8 dKH a day in 400 L: Ca (mg/L), CaCO3 (g), per dKH; half a year of NaCl (g/L)",
        (5.72, 5.71, 7.147, 1.88), 0.8 * calcium, carbonate, calcium, salt,
    )  # fmt: skip


def test_evaporation_and_low_salinity() -> None:
    answer(
        "Q14", "195 of 200 L left: 8.4 dKH, S 36.0; Ca 390, Mg 1230 at S 32.5",
        (8.19, 35.1, 420.0, 1325.0, 1327.0),
        level_after_top_off(8.4, 5.0, 200.0),
        salinity_after_top_off(36.0, 5.0, 200.0),
        float(normalise_level(390.0, "calcium", 32.5).naive),
        float(normalise_level(1230.0, "magnesium", 32.5).naive),
        float(normalise_level(1230.0, "magnesium", 32.5).density_corrected),
    )  # fmt: skip


def test_continuous_water_change() -> None:
    answer(
        "Q16", "1 % a day in 11 dKH, use 0.03: end, half-way (days), from 9.5 after 30 days",
        (8.0, 69.3, 9.11),
        level_under_inflow(9.5, 11.0, 1.0, 100.0, math.inf, use_per_day=0.03),
        half_time_days(1.0, 100.0),
        level_under_inflow(9.5, 11.0, 1.0, 100.0, 30.0, use_per_day=0.03),
    )  # fmt: skip


def test_what_water_changes_bring() -> None:
    gain = brought_by_changes(8.0, 11.0, 0.15, 7)
    left = 0.3 - gain
    answer("Q17", "15 % weekly with 11 dKH at 8.0, use 0.3", (0.0643, 0.214, 0.236),
           gain, gain / 0.3, left)  # fmt: skip
    # With this dose the level falls within the week by just what the change then brings back.
    after = level_after_cycles(8.0, 0.3, 0.3 - 0.45 / 7.0 / 0.85, 0.15, 11.0, 7.0, [1, 20])
    assert after == pytest.approx([8.0, 8.0])


def test_nitrate_down_by_water_changes() -> None:
    nitrate = ElementToPlan("nitrate", "mg/L", 40.0)
    problem = PlanProblem((nitrate,), (), 8, exchanged=(0.2,) * 8)
    levels = levels_day_by_day(problem, np.zeros((0, 8)))[0]
    answer(
        "Q18", "nitrate 40 to 10 by 20 %: after 6, after 7 changes; continuous (volumes)",
        (10.49, 8.39, 1.386), levels[6], levels[7], inflow_volumes(40.0, 10.0),
    )  # fmt: skip
    assert int(np.argmax(levels < 10.0)) == 7
    assert pytest.approx(10.0) == (1 - 0.75) * 40.0


def test_limewater() -> None:
    lime = limewater(evaporation_L_per_day=4.0, g_per_L=1.6)
    one = demand_by_limewater(lime, 0.9, "dKH", 300.0)
    two = demand_by_limewater(lime, 2.4, "dKH", 300.0)
    calcium = level_rise(lime, 4.0, "L", "calcium", 300.0, "mg/L")
    soda = mass_for("soda ash", "alkalinity", two.short, "dKH", 300.0)
    answer(
        "Q19", "1.6 g/L, 300 L, 4 L a day: dKH of a litre, most, Ca, strength, litres, short, soda",
        (121.1, 1.615, 11.54, 0.557, 2.23, 0.785, 4.45),
        rise_by_limewater(1.0, 1.0, 1.6, "dKH"), one.most_per_day, calcium, one.share_of_strength,
        one.litres_per_day, two.short, soda,
    )  # fmt: skip
    assert one.short == 0.0
    assert two.litres_per_day == 4.0


def test_a_calcium_reactor() -> None:
    rise = rise_by_inflow(30.0, 28.0, 8.0, 500.0)
    answer(
        "Q20", "30 mL/min of 28 dKH into 500 L at 8: dKH, Ca a day; mL/min for 1.0",
        (1.728, 12.35, 17.36), rise, rise * taken_per_dKH(PURE_CARBONATE).calcium,
        inflow_for(1.0, 28.0, 8.0, 500.0),
    )  # fmt: skip


def test_units_and_nitrate() -> None:
    from_laboratory = convert(
        2350.0, "µmol/kg", "dKH", "alkalinity", salinity=35.0, temperature_C=25.0
    )
    answer(
        "Q29",
        "2350 µmol/kg (dKH, meq/L); 22 µg/L P (mg/L PO4); 2.3 mg/L NO3-N; NO3 +12 mg/L (dKH, share)",
        (6.743, 2.405, 0.0675, 10.18, 0.543, 0.1206),
        from_laboratory,
        convert(from_laboratory, "dKH", "meq/L", "alkalinity"),
        convert(0.022, "mg/L PO4-P", "mg/L PO4", "phosphate"),
        convert(2.3, "mg/L NO3-N", "mg/L NO3", "nitrate"),
        -alkalinity_from_nitrate(12.0),
        -alkalinity_from_nitrate(12.0) / 30.0 / 0.15,
    )
