"""Kits as described in kits.toml."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.kit_parts import Precipitant, Titrant
from reef_calc.bench.kits import Kit, kit_from_table, usual_sd
from reef_calc.errors import InputError, ReefError

FULL = {
    "element": "Potassium",
    "kind": "back titration",
    "unit": "mg/L",
    "resolution": 5,
    "repeatability": {"sd": 6.0, "cv": 0.01, "from": "replicates"},
    "sample_mL": 10.0,
    "sample_u_mL": 0.05,
    "dilution": 2,
    "titrant": {"mol_per_L": 0.02, "u": 0.0001, "capacity_mL": 1.0, "ratio": 2, "reacts": "excess"},
    "blank_mL": 0.01,
    "precipitant": {"mol_per_L": 0.1, "mL": 5, "u": 0.001, "u_mL": 0.02, "ratio": 0.5},
    "aliquot_mL": 5,
    "aliquot_u_mL": 0.03,
    "total_mL": 15,
    "total_u_mL": 0.04,
    "chart": [[0.4, 500], [0.6, 400], [0.8, 300]],
    "half_drop": False,
    "steps": [{"do": "Rinse"}, {"wait": [3, 5]}],
    "hands_min": 4,
    "hazards": ["irritates eyes"],
    "tests_left": 20,
    "counted": dt.date(2026, 1, 20),
    "lot": [{"name": "A", "opened": dt.date(2026, 1, 1), "expires": "2027-01-01"}, {"name": "B"}],
    "correction": [
        {"from": dt.date(2026, 2, 1), "factor": 1.05, "u": 0.01},
        {"from": dt.date(2026, 3, 1), "lot": "B", "offset": -10},
        {"from": dt.date(2026, 4, 1), "line": [2.0, 0.98], "standard": "one"},
    ],
}


def kit(**changes) -> Kit:
    """Return the full kit with changes; None leaves a key out."""
    table = {key: value for key, value in (FULL | changes).items() if value is not None}
    return kit_from_table("k", table, "kits.toml, kit.k")


def test_every_key_is_read():
    read = kit()
    assert (read.element, read.kind, read.unit) == ("potassium", "back titration", "mg/L")
    assert read.titrant == Titrant(0.02, 1.0, "excess", u=0.0001, ratio=2.0)
    assert read.precipitant == Precipitant(0.1, 5.0, u=0.001, u_mL=0.02, ratio=0.5)
    assert (read.sample_u_mL, read.aliquot_u_mL, read.total_u_mL) == (0.05, 0.03, 0.04)
    assert (read.tests_left, read.counted) == (20.0, dt.date(2026, 1, 20))
    assert read.chart[0] == (0.4, 500.0)
    assert read.steps[1].wait_min == (3.0, 5.0)
    assert read.half_drop is False
    assert read.lot("A").expires == dt.date(2027, 1, 1)
    assert read.lot("C") is None
    assert read.hazards == ("irritates eyes",)


def test_scatter_adds_the_two_parts_in_quadrature():
    assert kit().sd(800.0) == pytest.approx(10.0)  # COMPUTED: √(6² + 8²)
    assert not kit().sd_is_default


def test_without_repeatability_the_usual_scatter_is_taken_and_said():
    bare = kit_from_table("k", {"element": "calcium", "kind": "chart", "unit": "mg/L"}, "kits.toml")
    assert bare.sd_is_default
    assert bare.sd(420.0) == 10.0  # common practice, no source: 5 to 15 mg/L
    assert usual_sd("alkalinity", 8.0, "dKH") == 0.15  # common practice, no source: 0.1 to 0.2
    # 1 dKH is 0.357 meq/L (COMPUTED: 10 mg CaO a litre, 56.08 g/mol, two charges)
    assert usual_sd("alkalinity", 2.853, "meq/L") == pytest.approx(0.15 * 0.3566, rel=2e-3)
    assert usual_sd("nitrate", 0.0, "mg/L") == 0.2


def test_latest_correction_holds_and_the_lots_own_goes_first():
    read = kit()
    assert read.correction_at(dt.date(2026, 1, 31), "A") is None
    assert read.correction_at(dt.date(2026, 2, 1), "A").apply(400.0) == pytest.approx(420.0)
    assert read.correction_at(dt.date(2026, 3, 2), "B").apply(400.0) == pytest.approx(390.0)
    assert read.correction_at(dt.date(2026, 5, 2), "B").form == "offset"
    assert read.correction_at(pd.Timestamp("2026-05-02", tz="UTC"), "A").apply(
        400.0
    ) == pytest.approx(394.0)
    assert read.correction_at(dt.date(2026, 2, 1)).uncertainty(400.0) == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"colour": "red"}, "colour"),
        ({"resolutoin": 5}, "“resolution” meant"),
        ({"kind": "guess"}, "direct titration"),
        ({"element": "unobtainium"}, "name of an element"),
        ({"unit": "ppm"}, "ppm"),
        ({"resolution": "5"}, "without quotes"),
        ({"resolution": -1}, "0 or more"),
        ({"resolution": float("nan")}, "finite"),
        ({"resolution": True}, "a number"),
        ({"repeatability": {"from": "typed"}}, "sd"),
        ({"repeatability": {"sd": 1, "from": "hearsay"}}, "replicates"),
        ({"repeatability": {"cv": 5}}, "0.05"),
        ({"chart": [[0.4, 500], [0.6, 400], [0.8, 450]]}, "only rise or only fall"),
        ({"chart": [[0.4, 500]]}, "two rows"),
        ({"half_drop": "yes"}, "true or false"),
        ({"sample_u_mL": 10.0}, "sample_u_mL: needed an uncertainty below 10"),
        ({"sample_mL": None}, "sample_u_mL: needed sample_mL beside its uncertainty"),
        ({"aliquot_mL": 15.0}, "surely less than the filtrate, 15 mL.*leave out aliquot_mL"),
        ({"titrant": {"u": 0.001}}, "titrant, u: needed mol_per_L beside"),
        ({"titrant": {"mol_per_L": 0.1, "u": -0.001}}, "titrant, u: needed a number above 0"),
        ({"titrant": {"mol_per_L": 0.1, "ratio": 0}}, "titrant, ratio: needed a number above 0"),
        ({"precipitant": {"mol_per_L": 0.1, "mL": 5, "u": 0.2}}, "an uncertainty below 0.1"),
        ({"precipitant": {"mol_per_L": 0.1, "mL": 5, "u_mL": 5}}, "an uncertainty below 5"),
        ({"tests_left": None}, "counted: needed tests_left beside the day"),
        ({"counted": "last week"}, "counted: needed a date"),
        ({"steps": [{"wait": [5, 3]}]}, "minutes"),
        ({"steps": [{}]}, "do or wait"),
        ({"lot": [{"name": "A"}, {"name": "A"}]}, "no other lot"),
        ({"lot": [{"name": "A", "expires": dt.datetime(2026, 1, 1)}]}, "a date"),
        ({"correction": [{"from": dt.date(2026, 1, 1)}]}, "exactly one"),
        ({"correction": [{"factor": 1.1}]}, "from"),
        ({"correction": [{"from": dt.date(2026, 1, 1), "factor": 1, "offset": 1}]}, "exactly one"),
        ({"correction": [{"from": dt.date(2026, 1, 1), "line": [1, -1]}]}, "slope"),
    ],
)
def test_bad_description_is_refused_by_name(changes, words):
    with pytest.raises(InputError, match=words):
        kit(**changes)


def test_laboratory_report_may_leave_the_element_open():
    report = kit_from_table("lab", {"kind": "laboratory report"}, "kits.toml")
    assert report.element == ""
    with pytest.raises(InputError, match="unit"):
        kit_from_table("lab", {"kind": "laboratory report", "resolution": 1}, "kits.toml")


TOML_VALUE = st.recursive(
    st.one_of(
        st.integers(), st.floats(), st.booleans(), st.text(max_size=5), st.dates(), st.datetimes()
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=4), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.dictionaries(st.sampled_from(sorted(FULL)), TOML_VALUE, max_size=3))
def test_any_toml_value_is_read_or_refused(changes):
    try:
        kit(**changes)
    except ReefError as err:
        assert str(err)
