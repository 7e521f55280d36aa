"""The readings of one element, in one unit, with their scatter and their correction."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log.history import new_water_readings, replicate_sessions, tank_readings
from tests.folders import KITS, make_tank, reading

MEQ_PER_DKH = 20 / 56.077  # COMPUTED: 10 mg CaO a litre, two charges; CaO 40.078 + 15.999 g/mol


def test_levels_scatter_and_resolution_are_in_the_unit_asked_for(tmp_path):
    tank = make_tank(tmp_path, readings=[reading("2026-02-01", 8.0, kit="drops", lot="A1")])
    for unit, size in (("dKH", 1.0), ("meq/L", MEQ_PER_DKH)):
        row = tank_readings(tank, "alkalinity", unit).iloc[0]
        assert row["level"] == pytest.approx(8.0 * size, rel=1e-4)
        assert row["sd"] == pytest.approx(0.2 * size, rel=1e-4)
        assert row["resolution"] == pytest.approx(0.5 * size, rel=1e-4)
        assert row["sd_from"] == "kit"
        assert math.isnan(row["upper_level"])


def test_typed_uncertainty_goes_before_the_kit_and_the_usual_comes_last(tmp_path):
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-01", 8.0, kit="drops", u=0.05),
            reading("2026-02-02", 8.0, kit="unheard of"),
            reading("2026-02-03", 8.0),
            reading("2026-02-04", 8.0, kit="syringe"),
        ],
    )
    found = tank_readings(tank, "alkalinity", "dKH")
    assert list(found["sd_from"]) == ["typed u", "usual", "usual", "usual"]
    # common practice, no source: 0.15 dKH
    assert list(found["sd"]) == pytest.approx([0.05, 0.15, 0.15, 0.15])
    assert list(found["resolution"]) == [0.0] * 4


def test_correction_stands_beside_the_level_as_read(tmp_path):
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-09T23:59", 8.0, kit="drops", lot="A1"),
            reading("2026-02-10T00:00", 8.0, kit="drops", lot="A1"),
            reading("2026-02-11", 8.0, kit="drops"),
            reading("2026-02-12", 7.0, kit="drops", lot="A1", limit="between", upper=8.0),
        ],
    )
    found = tank_readings(tank, "alkalinity", "dKH")
    assert list(found["level"]) == pytest.approx([8.0, 8.0, 8.0, 7.0])
    assert list(found["corrected"]) == pytest.approx([8.0, 7.6, 8.0, 6.65])
    assert found["corrected_upper"][3] == pytest.approx(7.6)
    assert list(found["corrected_u"][:3]) == pytest.approx([0.0, 0.08, 0.0])
    assert "factor from 2026-02-10" in found["correction"][1]
    assert found["correction"][0] == ""
    in_meq = tank_readings(tank, "alkalinity", "meq/L")
    assert in_meq["corrected"][1] == pytest.approx(7.6 * MEQ_PER_DKH, rel=1e-4)


def test_correction_without_uncertainty_says_nan_not_zero(tmp_path):
    kits = KITS.replace("factor = 0.95\nu = 0.01", "offset = -0.3")
    tank = make_tank(
        tmp_path, kits=kits, readings=[reading("2026-02-11", 8.0, kit="drops", lot="A1")]
    )
    row = tank_readings(tank, "alkalinity", "dKH").iloc[0]
    assert row["corrected"] == pytest.approx(7.7)
    assert math.isnan(row["corrected_u"])


def test_only_the_water_and_the_window_asked_for(tmp_path):
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-01T00:30", 8.0),
            reading("2026-02-01T23:30", 8.1),
            reading("2026-02-02T00:30", 8.2),
            reading("2026-02-01", 9.0, water="new water"),
            reading("2026-02-01", 420, element="calcium", unit="mg/L"),
        ],
    )
    found = tank_readings(tank, "Alkalinity", "dKH", since="2026-02-01", until="2026-02-01")
    assert list(found["value"]) == [8.0, 8.1]
    assert list(new_water_readings(tank, "alkalinity", "dKH")["value"]) == [9.0]
    assert tank_readings(tank, "nitrate", "mg/L").empty
    with pytest.raises(InputError):
        tank_readings(tank, "alkalinity", "ppm")
    with pytest.raises(InputError):
        tank_readings(tank, "gold", "mg/L")


def test_reading_that_no_scale_holds_does_not_stop_the_others(tmp_path):
    cells = {"element": "salinity", "unit": "PSU"}
    tank = make_tank(
        tmp_path, readings=[reading("2026-02-01", 350, **cells), reading("2026-02-02", 35, **cells)]
    )
    found = tank_readings(tank, "salinity", "SG 25/25")
    assert math.isnan(found["level"][0])
    assert found["outside"][0]
    assert found["level"][1] == pytest.approx(1.0264, abs=2e-4)  # MEMORY: SG 25/25 at 35
    assert len(replicate_sessions(found)) == 2


def test_replicates_make_one_session_and_no_row_is_lost(tmp_path):
    cells = {"kit": "drops", "lot": "A1"}
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-01T20:00", 8.1, **cells),
            reading("2026-02-01T20:10", 8.3, **cells),
            reading("2026-02-01T20:20", 8.2, **cells),
            reading("2026-02-01T20:20", 8.4, kit="other"),
            reading("2026-02-01T20:25", 0.5, limit="<", **cells),
            reading("2026-02-01T20:26", 84, **cells),
            reading("2026-02-08", 7.6, **cells),
        ],
    )
    sessions = replicate_sessions(tank_readings(tank, "alkalinity", "dKH"))
    first = sessions.iloc[0]
    assert first["rows"] == (2, 3, 4)
    assert first["level"] == pytest.approx(8.2)  # COMPUTED: mean and SD of 8.1, 8.3, 8.2
    assert first["spread"] == pytest.approx(0.1)
    assert first["n"] == 3
    assert first["time"] == pd.Timestamp("2026-02-01T19:10Z")
    assert list(sessions["n"]) == [3, 1, 1, 1, 1]
    assert math.isnan(sessions["spread"][1])


def test_marked_replicates_may_be_hours_apart_and_a_repeated_mark_begins_anew(tmp_path):
    times = ("08:00", "10:00", "12:00", "14:00")
    marks = ("1", "2", "1", "")
    rows = [
        reading(f"2026-02-01T{time}", 8.0 + i / 10, kit="drops", replicate=mark)
        for i, (time, mark) in enumerate(zip(times, marks, strict=True))
    ]
    tank = make_tank(tmp_path, readings=rows)
    sessions = replicate_sessions(tank_readings(tank, "alkalinity", "dKH"))
    assert list(sessions["rows"]) == [(2, 3), (4,), (5,)]


def test_empty_sessions_have_the_same_columns(tmp_path):
    tank = make_tank(tmp_path, readings=[reading("2026-02-01", 8)])
    some = replicate_sessions(tank_readings(tank, "alkalinity", "dKH"))
    none = replicate_sessions(tank_readings(tank, "calcium", "mg/L"))
    assert list(some.columns) == list(none.columns)
    assert some["time"].dtype == none["time"].dtype


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(
            st.integers(0, 600),
            st.sampled_from(["", "1", "2"]),
            st.sampled_from(["", "<"]),
            st.sampled_from(["drops", "other"]),
            st.floats(5, 12).map(lambda x: round(x, 2)),
        ),
        max_size=25,
    )
)
def test_every_row_is_in_one_session(tmp_path_factory, made):
    rows = [
        reading(
            f"2026-02-01T{minutes // 60:02d}:{minutes % 60:02d}", value,
            replicate=mark, limit=limit, kit=kit, note=i,
        )
        for i, (minutes, mark, limit, kit, value) in enumerate(made)
    ]  # fmt: skip
    tank = make_tank(tmp_path_factory.mktemp("t"), readings=rows)
    found = tank_readings(tank, "alkalinity", "dKH")
    sessions = replicate_sessions(found)
    listed = sorted(row for rows in sessions["rows"] for row in rows)
    assert listed == sorted(found["row"])
    assert sessions["n"].sum() == len(found)
    assert sessions["time"].is_monotonic_increasing
    weighted = float((sessions["n"] * sessions["level"]).sum())
    assert np.isclose(weighted, found["level"].sum())


def test_what_all_readings_of_a_kit_share_is_no_scatter(tmp_path: Path) -> None:
    """A u from a raw entry holds the titrant's strength too; one below the kit's scatter counts."""
    rows = [
        reading("2026-02-01T18:00", 8.0, kit="drops", u="0.5", raw="16 drops"),
        reading("2026-02-02T18:00", 8.0, kit="drops", u="0.1", raw="16 drops"),
        reading("2026-02-03T18:00", 8.0, kit="drops"),
    ]
    found = tank_readings(make_tank(tmp_path / "t", readings=rows), "alkalinity", "dKH")
    assert list(found["sd_from"]) == ["kit", "typed u", "kit"]
    assert list(found["sd"].round(9)) == [0.2, 0.1, 0.2]
    assert list(found["resolution"]) == [0.5, 0.0, 0.5]
    assert list(found["level_u"].round(9).dropna()) == [0.5, 0.1]
