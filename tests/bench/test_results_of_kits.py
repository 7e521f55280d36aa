"""Every kind of kit through its one door: good readings, and bad ones refused in words."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.chart import level_from_chart, level_from_colour, reading_from_level
from reef_calc.bench.corrections import Correction
from reef_calc.bench.kit_parts import Precipitant, Titrant
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import RawReading
from reef_calc.bench.results_of_kits import lot_titre_of, result_of
from reef_calc.bench.titration import (
    concentration_from_back_titration,
    concentration_from_titrant,
    level_from_drops,
    titrant_for_concentration,
    undiluted,
)
from reef_calc.bench.uncertainty import Quantity
from reef_calc.errors import InputError, UnitError


def kit(kind: str, element: str = "alkalinity", unit: str = "dKH", **more) -> Kit:
    typed = {"repeatability_sd": 0.1, "repeatability_from": "typed", "resolution": 0.1}
    return Kit("the kit", element, kind, unit, **(typed | more))


ACID = kit("direct titration", sample_mL=5.0, titrant=Titrant(0.01783, 1.5, ""))
BACK = kit(
    "back titration",
    "potassium",
    "mg/L",
    sample_mL=5.0,
    titrant=Titrant(0.010, 20.0, ""),
    precipitant=Precipitant(0.025, 10.0),
    aliquot_mL=10.0,
    total_mL=15.0,
    repeatability_sd=8.0,
)
DROPS = kit("drop count", resolution=0.5)
CHART = kit("chart", chart=((0.0, 0.0), (0.5, 8.0), (1.0, 16.0)))
CARD = kit(
    "colour steps",
    "nitrate",
    "mg/L",
    chart=((1, 0.5), (2, 2.0), (3, 5.0), (4, 10.0)),
    resolution=0.0,
)
METER = kit("meter", "phosphate", "mg/L", resolution=0.01, repeatability_sd=0.01)
REPORT = kit("laboratory report", "strontium", "mg/L")

volumes = st.floats(0.05, 1.4)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(volumes, st.floats(0.001, 0.1), st.floats(1.0, 50.0), st.floats(0.0, 0.05))
def test_titration_and_its_inverse(used, strength, sample, blank) -> None:
    solution = {"titrant_mol_per_L": strength, "sample_mL": sample, "blank_mL": blank, "ratio": 0.5}
    found = concentration_from_titrant(used, **solution)
    assert titrant_for_concentration(found, **solution) == pytest.approx(used, rel=1e-9)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.0, 16.0), st.booleans())
def test_chart_and_its_inverse_either_way_round(level, shuffled) -> None:
    rows = [(1.0, 0.0), (0.8, 3.0), (0.5, 8.0), (0.1, 16.0)]
    rows = rows[::-1] if shuffled else rows
    assert level_from_chart(reading_from_level(level, rows), rows) == pytest.approx(level, abs=1e-9)


def test_formulas_take_arrays() -> None:
    used = np.array([0.2, 0.5, 0.9])
    found = concentration_from_titrant(used, titrant_mol_per_L=0.02, sample_mL=4.0)
    assert found.tolist() == pytest.approx([0.001, 0.0025, 0.0045])
    assert level_from_drops(np.array([1, 2]), 0.5, half_drop=False).tolist() == [0.5, 1.0]
    assert undiluted(np.array([1.0, 2.0]), 2.0).tolist() == [2.0, 4.0]
    assert np.isnan(concentration_from_titrant(np.nan, titrant_mol_per_L=0.02, sample_mL=4.0))


# Signs of handling faults by kind of test: common practice, no source.
@pytest.mark.parametrize(
    ("fault", "direct", "back"),
    [
        ({"sample_mL": 5.1}, -1, -1),  # the kit divides by more than there was
        ({"titrant_mol_per_L": 0.0095}, -1, +1),  # the description says weaker than it is
        ({"precipitant_mol_per_L": 0.0255}, 0, +1),  # stated stronger than it is: too high
    ],
)
def test_signs_of_faults(fault, direct, back) -> None:
    stated = {"titrant_mol_per_L": 0.010, "sample_mL": 5.0}
    change = [
        concentration_from_titrant(1.0, **(stated | one))
        for one in ({}, {k: v for k, v in fault.items() if k in stated})
    ]
    assert np.sign(change[1] - change[0]) == direct
    precipitant = {"precipitant_mol_per_L": 0.025, "precipitant_mL": 10.0}
    change = [
        concentration_from_back_titration(13.1, **(stated | precipitant | one))
        for one in ({}, fault)
    ]
    assert np.sign(change[1] - change[0]) == back


def test_one_per_cent_of_the_precipitant() -> None:
    one = result_of(BACK, RawReading(13.10))
    strength = Quantity(0.025, 0.00025)
    row = result_of(BACK, RawReading(13.10), known={"precipitant_mol_per_L": strength}).budget
    part = row.set_index("source")["contribution"]["strength of the precipitant"]
    assert part / one.level == pytest.approx(0.047, abs=5e-4)


def test_a_titration_shows_its_arithmetic() -> None:
    found = result_of(ACID, RawReading(filled_mL=1.5, left_mL=0.7))
    assert found.level == pytest.approx(8.0, rel=1e-3)
    assert found.steps_in_words[0] == "Titrant used: 1.5 − 0.7 = 0.8 mL."
    assert "Strength of the titrant: 0.01783 mol/L." in found.steps_in_words
    assert found.u == pytest.approx(math.hypot(0.1, 0.1 / math.sqrt(6.0)))
    assert found.text == "8.0 ± 0.2 dKH"
    refilled = result_of(ACID, RawReading(filled_mL=1.5, left_mL=1.0, refills_mL=(1.4,)))
    assert refilled.level == pytest.approx(19.0, rel=1e-3)
    assert refilled.u > found.u


def test_drops_either_way_and_asked() -> None:
    assert result_of(DROPS, RawReading(16), half_drop=True).level == 7.75
    assert result_of(dataclasses.replace(DROPS, half_drop=False), RawReading(16)).level == 8.0
    with pytest.raises(InputError, match="half_drop"):
        result_of(DROPS, RawReading(16))


def test_colour_steps() -> None:
    between = result_of(CARD, RawReading(2, second=3))
    assert (between.level, between.limit, between.upper) == (2.0, "between", 5.0)
    assert between.u == pytest.approx(math.hypot(3.0 / math.sqrt(12.0), 0.1))
    assert between.text == "2.0 to 5.0 mg/L"
    on = result_of(CARD, RawReading(3))
    assert (on.level, on.limit) == (5.0, "")
    # u about the step itself: the interval 3.5 to 7.5 is not centred on it.
    assert on.u**2 == pytest.approx((4.0**2 / 12.0 + 0.5**2) + 0.01)
    below, above = (result_of(CARD, RawReading(limit=sign)) for sign in "<>")
    assert (below.level, below.limit) == (0.5, "<")
    assert (above.level, above.limit, above.text) == (10.0, ">", "> 10 mg/L")
    assert result_of(CARD, RawReading(limit=">", dilution=4.0)).level == 40.0
    zero = dataclasses.replace(CARD, chart=((0, 0.0), (1, 5.0)))
    assert (result_of(zero, RawReading(0)).level, result_of(zero, RawReading(0)).limit) == (
        2.5,
        "<",
    )


def test_meter_with_zero_gain_and_unit() -> None:
    found = result_of(
        METER, RawReading(0.09), lot_titre=Quantity(1.1, 0.02), blank=Quantity(0.02, 0.005)
    )
    assert found.level == pytest.approx(1.1 * 0.07)
    assert result_of(METER, RawReading(0.03, unit="mg/L PO4-P")).level == pytest.approx(
        0.09199, rel=1e-3
    )
    nothing = result_of(METER, RawReading(0.0))
    assert nothing.limit == "<" and nothing.level == pytest.approx(
        2 * math.hypot(0.01, 0.00289), rel=1e-3
    )
    assert math.isnan(nothing.u)


def test_laboratory_report_keeps_its_stated_uncertainty() -> None:
    found = result_of(REPORT, RawReading(8.1, u=0.3))
    assert (found.level, found.u) == pytest.approx((8.1, 0.3))
    per_kg = result_of(
        REPORT, RawReading(8.0, u=0.3, unit="mg/kg", salinity=35.0, temperature_C=25.0)
    )
    assert (per_kg.level, per_kg.u) == pytest.approx((8.0 * 1.02334, 0.3 * 1.02334), rel=1e-4)
    assert result_of(REPORT, RawReading(8.1)).u > 0.1


def test_dilution_scales_the_uncertainty_too() -> None:
    plain, four = (result_of(METER, RawReading(0.2, dilution=d)) for d in (1.0, 4.0))
    assert (four.level, four.u) == pytest.approx((4 * plain.level, 4 * plain.u))


def test_titre_by_date_and_lot() -> None:
    described = dataclasses.replace(
        ACID,
        corrections=(
            Correction(dt.date(2026, 1, 1), "", 0.0, 0.97, 0.01, "soda", "factor"),
            Correction(dt.date(2026, 2, 1), "B", 0.0, 0.95, 0.01, "soda", "factor"),
            Correction(dt.date(2026, 3, 1), "", 0.2, 1.0, 0.05, "soda", "offset"),
        ),
    )
    titre = lot_titre_of(described, dt.date(2026, 2, 5), "B")
    assert titre == Quantity(0.95, 0.01)
    assert lot_titre_of(described, dt.date(2026, 2, 5), "A") == Quantity(0.97, 0.01)
    assert lot_titre_of(described, dt.date(2026, 3, 5), "A") is None
    read, corrected = (result_of(described, RawReading(0.8), lot_titre=t) for t in (None, titre))
    assert corrected.level == pytest.approx(0.95 * read.level)
    assert corrected.u > 0.95 * read.u
    assert "Titre factor: 0.95 (u 0.01)." in corrected.steps_in_words


# What the description says, and the same handed in by name.
@pytest.mark.parametrize(
    ("plain", "raw", "described", "known"),
    [
        (ACID, RawReading(0.8), {"sample_u_mL": 0.05}, {"sample_mL": Quantity(5.0, 0.05)}),
        (
            ACID,
            RawReading(0.8),
            {"titrant": Titrant(0.01783, 1.5, "", u=1e-4, ratio=0.5)},
            {"titrant_mol_per_L": Quantity(0.01783, 1e-4), "ratio": Quantity(0.5)},
        ),
        (
            dataclasses.replace(ACID, kind="two titrations"),
            RawReading(0.8, second=0.3),
            {"titrant": Titrant(0.01783, 1.5, "", ratio=2.0)},
            {"ratio": Quantity(2.0)},
        ),
        (
            BACK,
            RawReading(13.1),
            {
                "titrant": Titrant(0.010, 20.0, "", u=2e-5, ratio=0.9),
                "precipitant": Precipitant(0.025, 10.0, u=5e-5, u_mL=0.02, ratio=0.5),
                "aliquot_u_mL": 0.03,
                "total_u_mL": 0.04,
            },
            {
                "titrant_mol_per_L": Quantity(0.010, 2e-5),
                "precipitant_per_titrant": Quantity(0.9),
                "precipitant_mol_per_L": Quantity(0.025, 5e-5),
                "precipitant_mL": Quantity(10.0, 0.02),
                "precipitant_per_element": Quantity(2.0),
                "aliquot_mL": Quantity(10.0, 0.03),
                "total_mL": Quantity(15.0, 0.04),
            },
        ),
    ],
)
def test_the_description_is_taken_by_default(plain, raw, described, known) -> None:
    by_default = result_of(dataclasses.replace(plain, **described), raw)
    handed_in = result_of(plain, raw, known=known)
    assert (by_default.level, by_default.u) == pytest.approx((handed_in.level, handed_in.u))
    assert by_default.level != pytest.approx(result_of(plain, raw).level) or (
        by_default.u > result_of(plain, raw).u
    )


def test_a_ratio_of_the_precipitant_raises_the_end_of_the_range() -> None:
    half = dataclasses.replace(BACK, precipitant=Precipitant(0.025, 10.0, ratio=0.5))
    with pytest.raises(InputError, match=r"level is above 977\.5 mg/L"):
        result_of(half, RawReading(0.0))


def test_a_titre_replaces_what_the_label_leaves_open() -> None:
    unsure = dataclasses.replace(ACID, titrant=Titrant(0.01783, 1.5, "", u=0.001))
    titre = Quantity(0.95, 0.01)
    assert result_of(unsure, RawReading(0.8)).u > result_of(ACID, RawReading(0.8)).u
    assert result_of(unsure, RawReading(0.8), lot_titre=titre).u == pytest.approx(
        result_of(ACID, RawReading(0.8), lot_titre=titre).u
    )


def test_what_is_not_known_is_said() -> None:
    vague = dataclasses.replace(ACID, resolution=0.0, repeatability_from="common practice")
    words = " ".join(result_of(vague, RawReading(0.8)).steps_in_words)
    assert "resolution is not written" in words
    assert "usual one of such kits" in words


@pytest.mark.parametrize(
    ("described", "raw", "says"),
    [
        (ACID, RawReading(filled_mL=1.0, left_mL=1.2), "swapped"),
        (ACID, RawReading(1.6), "the 1.5 mL there was.*refill"),
        (ACID, RawReading(8.0, filled_mL=1.0), "1 mL there was"),
        (ACID, RawReading(0.5, filled_mL=1.0, left_mL=0.44), "used = filled − left"),
        (ACID, RawReading(filled_mL=15.0, left_mL=7.0), "syringe holds"),
        (ACID, RawReading(-0.2), "from 0 mL"),
        (ACID, RawReading(), "filled and left"),
        (ACID, RawReading(math.nan), "titrant used"),
        (ACID, RawReading(0.8, unit="mg/L"), "read in mL"),
        (ACID, RawReading(0.8, dilution=0.25), "not 0.25"),
        (dataclasses.replace(ACID, sample_mL=0.0), RawReading(0.8), "above 0 for sample_mL"),
        (dataclasses.replace(ACID, sample_mL=None), RawReading(0.8), "sample_mL"),
        (dataclasses.replace(ACID, titrant=None), RawReading(0.8), "strength of the titrant"),
        (dataclasses.replace(ACID, blank_mL=0.5), RawReading(0.1), "above the blank"),
        (BACK, RawReading(0.0), "level is above 1955 mg/L. Dilute"),
        (BACK, RawReading(17.5), "never means that none is present"),
        (dataclasses.replace(BACK, aliquot_mL=16.0), RawReading(13.0), "swapped"),
        (dataclasses.replace(BACK, total_mL=None), RawReading(13.0), "both, or neither"),
        (dataclasses.replace(BACK, precipitant=None), RawReading(13.0), "precipitant"),
        (dataclasses.replace(ACID, kind="two titrations"), RawReading(0.8), "second titration"),
        (dataclasses.replace(DROPS, resolution=0.0), RawReading(16), "one drop"),
        (dataclasses.replace(DROPS, half_drop=True), RawReading(7.5), "whole number of drops"),
        (dataclasses.replace(DROPS, half_drop=True), RawReading(0), "1 or more"),
        (CHART, RawReading(1.2), "above 16. Dilute"),
        (CHART, RawReading(-0.1), "below 0"),
        (dataclasses.replace(CHART, chart=()), RawReading(0.2), "at least two rows"),
        (
            dataclasses.replace(CHART, chart=((0.0, 0.0), (1.0, 16.0), (0.5, 18.0))),
            RawReading(0.2),
            "row 3: 0.5 is 18, row 2: 1 is 16",
        ),
        (CARD, RawReading(2.5), "give both"),
        (CARD, RawReading(1, second=3), "neighbouring"),
        (CARD, RawReading(), "colour step"),
        (METER, RawReading(-0.5), "above the blank"),
        (dataclasses.replace(REPORT, element="", unit=""), RawReading(8.0), "Name the element"),
        (REPORT, RawReading(8.0, unit="mg/kg"), "salinity"),
        (REPORT, RawReading(8.0, u=0.0), "above 0"),
        (METER, RawReading(0.2, diluent_level=0.1), "dilution above 1"),
    ],
)
def test_bad_input_is_refused_in_words(described: Kit, raw: RawReading, says: str) -> None:
    with pytest.raises(InputError, match=says):
        result_of(described, raw)


def test_foreign_unit_and_unknown_input() -> None:
    with pytest.raises(UnitError, match="dKH"):
        result_of(METER, RawReading(0.05, unit="dKH"))
    with pytest.raises(InputError, match="Check the name"):
        result_of(METER, RawReading(0.05), known={"sampel": Quantity(5.0)})
    with pytest.raises(InputError, match="never overwritten"):
        result_of(METER, RawReading(0.05), known={"reading": Quantity(0.06, 0.01)})
    with pytest.raises(InputError, match="colour"):
        result_of(CARD, RawReading(2), blank=Quantity(0.1))


def test_colour_of_a_falling_card() -> None:
    found = level_from_colour(1, [(1, 10.0), (2, 4.0), (3, 0.0)], 2)
    assert (found.low, found.high) == (4.0, 10.0)
