"""pH, carbon dioxide and aragonite saturation against published states and a reference library."""

from __future__ import annotations

import csv
import math
import re
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.carbonate import state_from_carbon, state_from_ph, state_in_air
from reef_calc.chem.carbonate_constants import (
    LUEKER_SALINITY,
    LUEKER_TEMPERATURE_C,
    carbonate_constants,
    range_words,
)
from reef_calc.chem.carbonate_doses import after_adding, after_dose, back_in_air
from reef_calc.chem.carbonate_water import (
    CarbonateState,
    CarbonateWater,
    per_L_from_umol_per_kg,
    umol_per_kg,
)
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from tests.trust import DATA, check_published, published_checks, record_check

SEA = CarbonateWater()
EIGHT_DKH = convert(8.0, "dKH", "meq/L", "alkalinity")
KINDS = {
    "NaHCO3": "bicarbonate",
    "Na2CO3": "carbonate",
    "NaOH": "hydroxide",
    "hydroxide": "hydroxide",
    "Ca(OH)2": "lime",
}
OPTIONS = {
    "opt_pH_scale": 1,
    "opt_k_carbonic": 10,
    "opt_k_bisulfate": 1,
    "opt_k_fluoride": 2,
    "opt_total_borate": 1,
}


def start() -> CarbonateState:
    """8 dKH in balance with air of 500 µatm."""
    return state_in_air(EIGHT_DKH, 500.0, SEA)


def test_published_state() -> None:
    """Worked example of another carbonate package (PUBLISHED)."""
    c = SEA.constants()
    state = state_from_ph(per_L_from_umol_per_kg(2340.0, 35.0, 25.0), 8.2 + c.nbs_shift, SEA)
    co2 = c.k_co2 * c.fugacity_factor * state.pco2_uatm
    h = 10.0**-8.2
    bicarbonate = co2 * c.k1 / h
    check_published(
        "P00", state.pco2_uatm, co2, bicarbonate, bicarbonate * c.k2 / h, state.dic_umol_per_kg
    )


def test_published_validation_of_the_library() -> None:
    """The library that brings the constants repeats its published case, nutrients and all."""
    import PyCO2SYS

    found = PyCO2SYS.sys(
        par1=2300.0,
        par2=8.1,
        par1_type=1,
        par2_type=3,
        salinity=33.0,
        temperature=22.0,
        pressure=1000.0,
        total_silicate=10.0,
        total_phosphate=1.0,
        total_ammonia=2.0,
        total_sulfide=3.0,
        **{**OPTIONS, "opt_total_borate": 2, "opt_k_fluoride": 1},
        opt_buffers_mode=0,
    )
    row = published_checks()["P0a"]
    got = [float(found[name]) for name in ("dic", "pCO2", "carbonate", "bicarbonate")]
    assert [round(value, 1) for value in got] == list(row.numbers)
    record_check("P0a", f"{row.topic}: {row.inputs}", row.numbers, got, row.source, row.status)


def test_published_constants() -> None:
    c = carbonate_constants(35.0, 25.0)
    got = [math.log10(c.k1), math.log10(c.k2)]
    got += [math.log(k) for k in (c.k_borate, c.k_co2, c.k_bisulfate, c.k_fluoride)]
    row = published_checks()["P0c"]
    printed = [part.split()[0] for part in row.expected.split(" | ")]
    for text, value in zip(printed, got, strict=True):
        decimals = len(text.partition(".")[2])
        assert value == pytest.approx(float(text), abs=max(5e-4, 0.51 * 10**-decimals))
    record_check("P0c", f"{row.topic}: {row.inputs}", row.numbers, got, row.source, row.status)


@pytest.mark.parametrize(
    "id", ["P01", "P02", "P03", "P04", "P05", "P07", "P08", "P09", "P10", "P12"]
)
def test_dose_against_the_record(id: str) -> None:
    """COMPUTED with PyCO2SYS as a whole; rows without calcium also with the R package seacarb."""
    row = published_checks()[id]
    before = [float(x) for x in re.findall(r"(?:TA|DIC|pHT|pHNBS|pCO2|Oar) ([\d.]+)", row.inputs)]
    typed = re.search(r"\+([\d.]+) dKH as (\S+) ->", row.inputs)
    assert typed is not None
    now = start()
    assert now.alkalinity_umol_per_kg == pytest.approx(before[0], abs=0.01)
    assert now.dic_umol_per_kg == pytest.approx(before[1], abs=0.01)
    assert (now.ph_total, now.ph_nbs) == pytest.approx(before[2:4], abs=1e-4)
    assert (now.pco2_uatm, now.aragonite) == pytest.approx(before[4:6], rel=1e-4)
    rise = convert(float(typed[1]), "dKH", "meq/L", "alkalinity")
    dosed = after_dose(now, KINDS[typed[2]], rise)
    assert (dosed.alkalinity_umol_per_kg, dosed.dic_umol_per_kg) == pytest.approx(
        before[6:8], abs=0.01
    )
    settled = back_in_air(dosed, 500.0)
    got = (
        dosed.ph_total,
        dosed.ph_nbs,
        dosed.pco2_uatm,
        dosed.aragonite,
        settled.ph_total,
        settled.aragonite,
    )
    wanted = [float(x) for x in re.findall(r"(?:pHT|pHNBS|pCO2|Oar) ([\d.]+)", row.expected)]
    for place, tolerance in enumerate(({"abs": 0.002}, {"abs": 0.002}, {"rel": 0.002},
                                       {"rel": 0.002}, {"abs": 0.002}, {"rel": 0.002})):  # fmt: skip
        assert got[place] == pytest.approx(wanted[place], **tolerance)
    record_check(id, f"{row.topic}: {row.inputs}", wanted, got, row.source, row.status)


def test_table_of_doses() -> None:
    """COMPUTED table of doses from 0.1 to 2 dKH, every row to its printed digits."""
    with (DATA / "dose_ph_effect.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 18
    now = start()
    for row in rows:
        rise = convert(float(row["dose_dKH"]), "dKH", "meq/L", "alkalinity")
        dosed = after_dose(now, KINDS[row["chemical"]], rise)
        assert dosed.ph_total == pytest.approx(float(row["pH_total_right_after"]), abs=6e-5)
        assert dosed.ph_total - now.ph_total == pytest.approx(float(row["change"]), abs=6e-4)
        assert dosed.pco2_uatm == pytest.approx(float(row["pCO2_uatm"]), abs=0.06)
        assert dosed.aragonite == pytest.approx(float(row["Omega_ar"]), abs=6e-4)
        if row["Omega_ar_then"]:
            then = back_in_air(dosed, 500.0)
            assert then.ph_total == pytest.approx(
                float(row["pH_total_after_reequilibration_500uatm"]), abs=6e-5
            )
            assert then.aragonite == pytest.approx(float(row["Omega_ar_then"]), abs=6e-4)


@pytest.mark.parametrize(("salinity", "temperature"), [(35.0, 25.0), (31.5, 21.0), (39.0, 29.5)])
def test_own_solution_equals_the_whole_library(salinity: float, temperature: float) -> None:
    """General library: PyCO2SYS solves the same waters from scratch."""
    import PyCO2SYS

    random = np.random.default_rng(4)
    count = 60
    alkalinity, uatm = random.uniform(1000, 8000, count), random.uniform(150, 3000, count)
    calcium, boron = random.uniform(200, 600, count), random.uniform(1, 20, count)
    water = CarbonateWater(salinity, temperature, calcium, boron)
    per_mg = 1000.0 / water.constants().density
    given = {
        "salinity": salinity,
        "temperature": temperature,
        # Atomic weights of CIAAW 2021, typed by hand.
        "total_calcium": calcium / 40.078 * per_mg,
        "total_borate": boron / 10.81 * per_mg,
        "opt_buffers_mode": 0,
        **OPTIONS,
    }
    per_L = per_L_from_umol_per_kg(alkalinity, salinity, temperature)
    in_air = state_in_air(per_L, uatm, water)
    library = PyCO2SYS.sys(par1=alkalinity, par2=uatm, par1_type=1, par2_type=4, **given)
    np.testing.assert_allclose(in_air.dic_umol_per_kg, library["dic"], rtol=1e-9)
    np.testing.assert_allclose(in_air.ph_total, library["pH_total"], atol=1e-9)
    np.testing.assert_allclose(in_air.ph_nbs, library["pH_nbs"], atol=1e-9)
    np.testing.assert_allclose(in_air.aragonite, library["saturation_aragonite"], rtol=2e-5)
    carbon = alkalinity * random.uniform(0.4, 1.1, count)
    closed = state_from_carbon(alkalinity, carbon, water)
    library = PyCO2SYS.sys(par1=alkalinity, par2=carbon, par1_type=1, par2_type=2, **given)
    np.testing.assert_allclose(closed.ph_total, library["pH_total"], atol=1e-9)
    np.testing.assert_allclose(closed.pco2_uatm, library["pCO2"], rtol=1e-8)


waters = st.builds(
    CarbonateWater,
    st.sampled_from([30.0, 33.5, 35.0, 38.0]),
    st.sampled_from([20.0, 25.0, 28.0]),
    st.floats(200.0, 600.0),
    st.floats(0.0, 20.0),
)
alkalinities = st.floats(0.5, 8.0)


@settings(max_examples=40, deadline=None)
@given(alkalinities, st.floats(100.0, 5000.0), waters)
def test_three_ways_in_give_one_state(meq_per_L: float, uatm: float, water: CarbonateWater) -> None:
    state = state_in_air(meq_per_L, uatm, water)
    again = state_from_carbon(state.alkalinity_umol_per_kg, state.dic_umol_per_kg, water)
    by_ph = state_from_ph(meq_per_L, state.ph_nbs, water)
    for other in (again, by_ph):
        assert other.pco2_uatm == pytest.approx(uatm, rel=1e-9)
        assert other.aragonite == pytest.approx(state.aragonite, rel=1e-9)
    assert per_L_from_umol_per_kg(
        umol_per_kg(meq_per_L, water.salinity, water.temperature_C),
        water.salinity,
        water.temperature_C,
    ) == pytest.approx(meq_per_L, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.5, 5.0), st.floats(250.0, 1500.0), st.floats(0.02, 1.0), waters)
def test_order_of_the_kinds(
    meq_per_L: float, uatm: float, rise: float, water: CarbonateWater
) -> None:
    """Less carbon, more pH; the calcium of lime touches saturation only; air makes them equal."""
    before = state_in_air(meq_per_L, uatm, water)
    soda, ash, lye, lime = (
        after_dose(before, kind, rise) for kind in ("bicarbonate", "carbonate", "hydroxide", "lime")
    )
    assert soda.ph_total < ash.ph_total < lye.ph_total
    assert lime.ph_total == pytest.approx(lye.ph_total, abs=1e-12)
    assert lime.aragonite > lye.aragonite > ash.aragonite > soda.aragonite > before.aragonite
    settled = [back_in_air(one, uatm).ph_total for one in (soda, ash, lye, lime)]
    assert settled == pytest.approx([settled[0]] * 4, abs=1e-10)
    assert settled[0] > before.ph_total
    # Half and half of hydroxide and bicarbonate is carbonate.
    half = after_dose(after_dose(before, "hydroxide", rise / 2), "bicarbonate", rise / 2)
    assert half.ph_total == pytest.approx(ash.ph_total, abs=1e-11)


def test_more_carbon_dioxide_less_ph() -> None:
    ph = state_in_air(EIGHT_DKH, np.array([400.0, 500.0, 700.0, 1000.0]), SEA).ph_nbs
    assert np.all(np.diff(ph) < 0.0)
    # A doubling takes about log10(2)·0.88: carbonate gives way a little (own bisection).
    assert ph[1] - ph[3] == pytest.approx(0.264, abs=0.01)


def test_boron_typed_and_dosed() -> None:
    """More borate takes more of the same alkalinity, so carbon, saturation and pH are lower."""
    usual = start()
    typed = state_in_air(EIGHT_DKH, 500.0, CarbonateWater(boron_mg_per_L=10.0))
    assert typed.dic_umol_per_kg < usual.dic_umol_per_kg
    assert typed.aragonite < usual.aragonite
    # Uppström (1974): 0.232 mg/kg of boron for each unit of chlorinity (MEMORY); the constants
    # carry it as mol/kg, rounded to four digits.
    assert SEA.boron() == pytest.approx(0.232 * 35.0 / 1.80655 * 1.023344, rel=5e-4)
    acid = after_adding(usual, 0.0, 0.0, boron_mg_per_L=1.0)
    assert acid.ph_total < usual.ph_total
    assert acid.water.boron_mg_per_L == pytest.approx(SEA.boron() + 1.0)


def test_states_of_an_array() -> None:
    water = CarbonateWater(calcium_mg_per_L=np.array([400.0, 440.0]))
    both = state_in_air(np.array([2.5, 3.0]), 500.0, water)
    one = state_in_air(3.0, 500.0, replace(water, calcium_mg_per_L=440.0))
    assert both.at(1) == one
    assert both.at(1).water.boron_mg_per_L is None


def test_large_spill_has_a_ph() -> None:
    """8 dKH of lime at once: no number is refused, though solids would fall out first."""
    spilled = after_dose(start(), "lime", convert(8.1, "dKH", "meq/L", "alkalinity"))
    assert 9.9 < spilled.ph_nbs < 10.5


@pytest.mark.parametrize("meq", [0.0, -1.0, math.nan, 51.0, math.inf])
def test_impossible_alkalinity(meq: float) -> None:
    with pytest.raises(InputError, match="8 dKH"):
        state_in_air(meq, 500.0, SEA)


def test_other_impossible_numbers() -> None:
    with pytest.raises(InputError, match="400 to 1000"):
        state_in_air(3.0, 0.05, SEA)
    with pytest.raises(InputError, match="carbon dioxide of the air"):
        state_in_air(3.0, math.nan, SEA)
    for wrong in ({"salinity": math.nan}, {"temperature_C": math.inf}):
        with pytest.raises(InputError, match="Write the number"):
            CarbonateWater(**wrong)
    with pytest.raises(InputError, match="two fresh buffers"):
        state_from_ph(3.0, math.nan, SEA)
    with pytest.raises(InputError, match="two fresh buffers"):
        state_from_ph(3.0, 82.0, SEA)
    with pytest.raises(InputError, match="read both again"):
        state_from_ph(0.1, 9.5, SEA)
    with pytest.raises(InputError, match="carbon above 0"):
        state_from_carbon(2500.0, -1.0, SEA)
    with pytest.raises(InputError, match="amount and volume"):
        state_from_carbon(2e6, 100.0, SEA)
    with pytest.raises(InputError, match="one of bicarbonate"):
        after_dose(start(), "vinegar", 0.1)
    for wrong in ({"calcium_mg_per_L": -1.0}, {"boron_mg_per_L": np.array([4.0, math.nan])}):
        with pytest.raises(InputError, match="of 0 mg/L or more"):
            CarbonateWater(**wrong)
    with pytest.raises(InputError, match="practical salinity"):
        state_in_air(3.0, 500.0, CarbonateWater(salinity=53.0))


def test_outside_the_range_is_said() -> None:
    assert range_words(LUEKER_SALINITY[0], LUEKER_TEMPERATURE_C[1]) == ()
    assert "18.0 and 25.0 °C" in range_words(18.0, 25.0)[0].text
    assert range_words(35.0, 36.0)[0].kind == "qualified"


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "PyCO2SYS", None)
    carbonate_constants.cache_clear()
    with pytest.raises(CannotTellError, match="pip install PyCO2SYS"):
        state_in_air(3.0, 500.0, SEA)
