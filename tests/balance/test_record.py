"""What the log holds about one element: own tank folders, hand arithmetic."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reef_calc.balance.additions import days
from reef_calc.balance.record import ElementRecord, element_record
from tests.folders import KITS, TANK, dose, make_tank, reading

END = pd.Timestamp("2026-03-01", tz="UTC")
MEQ_PER_DKH = 20 / 56.077  # COMPUTED: 10 mg CaO a litre, two charges; CaO 40.078 + 15.999 g/mol


def record(
    path: Path,
    *readings: dict[str, object],
    element: str = "alkalinity",
    unit: str = "dKH",
    until: pd.Timestamp = END,
    **parts: object,
) -> ElementRecord:
    tank = make_tank(path, readings=list(readings), **parts)
    assert not [p for p in tank.problems if p.severity == "refused"]
    return element_record(tank, element, unit, until)


def calcium(time: str, value: float, **cells: object) -> dict[str, object]:
    return reading(time, value, element="calcium", unit="mg/L", kit="syringe", **cells)


def salt(time: str, value: float, **cells: object) -> dict[str, object]:
    return reading(time, value, element="salinity", unit="PSU", **cells)


CHANGES = [
    {"time": "2026-02-05T10:00", "litres": 30},
    {"time": "2026-02-12T10:00", "litres": 30},
    {"time": "2026-02-19T10:00", "litres": 30},
]


def test_the_corrected_level_is_used_and_the_one_read_kept(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-08T18:00", 8.0, kit="drops", lot="A1"),
        reading("2026-02-12T18:00", 8.0, kit="drops", lot="A1"),
    )
    assert found.sessions["level"].tolist() == pytest.approx([8.0, 7.6])  # × 0.95 from the 10th
    assert found.sessions["as_read"].tolist() == pytest.approx([8.0, 8.0])
    assert found.sessions["sd"].tolist() == pytest.approx([0.2, 0.2])
    assert found.sessions["resolution"].tolist() == pytest.approx([0.5, 0.5])
    assert found.sessions["hour"].tolist() == [18.0, 18.0]
    assert (found.element, found.unit, found.zone) == ("alkalinity", "dKH", "Europe/Berlin")


def test_between_two_colours_is_the_middle_with_a_rectangular_width(tmp_path: Path) -> None:
    """(7 + 8)/2; u of a rectangle 1 wide is 1/√12 (GUM, JCGM 100:2008, 4.3.7, MEMORY)."""
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 7.0, limit="between", upper=8.0, kit="drops"),
        reading("2026-02-12T18:00", 7.0, limit="between", upper=8.0, kit="drops", lot="A1"),
        reading("2026-02-20T18:00", 7.0, kit="drops"),
    )
    assert found.sessions["level"].tolist() == pytest.approx([7.5, 0.95 * 7.5, 7.0])
    wide = np.hypot(0.2, 1 / np.sqrt(12))
    assert found.sessions["sd"].tolist() == pytest.approx([wide, wide, 0.2])
    assert found.left_out.empty


def test_replicates_are_one_sitting(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0, kit="drops", lot="A1"),
        reading("2026-02-01T18:10", 8.4, kit="drops", lot="A1"),
        reading("2026-02-05T18:00", 7.8, kit="drops", lot="A1"),
        reading("2026-02-05T18:05", 7.6),  # another kit stands alone
    )
    assert found.sessions["level"].tolist() == pytest.approx([8.2, 7.8, 7.6])
    assert found.sessions["n"].tolist() == [2, 1, 1]
    assert found.sessions["rows"].tolist() == [(2, 3), (4,), (5,)]
    # The mean counts as one reading: shared errors of a sitting do not average out.
    assert found.sessions["sd"].iloc[0] == pytest.approx(0.2)
    assert found.sessions["hour"].iloc[0] == pytest.approx(18 + 5 / 60)


def test_readings_beyond_the_limit_or_the_possible_are_left_out_and_named(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0),
        reading("2026-02-02T18:00", 4.0, limit="<"),
        reading("2026-02-03T18:00", 80.0),
    )
    assert found.sessions["level"].tolist() == pytest.approx([8.0])
    assert found.left_out["row"].tolist() == [3, 4]
    assert found.left_out["mark"].tolist() == ["beyond limit", "left out"]
    assert found.left_out["why"].iloc[0] == "beyond the kit's limit (< 4 dKH): drawn, not fitted"
    assert "Perhaps 8 is meant" in found.left_out["why"].iloc[1]


def test_the_end_is_exclusive_and_nothing_later_is_seen(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-28T22:59:00Z", 8.0),
        reading("2026-03-01T00:00:00Z", 7.0),
        reading("2026-03-02T10:00", 9.0, water="new water"),
        water_changes=CHANGES,
    )
    assert found.sessions["level"].tolist() == pytest.approx([8.0])
    assert found.new_water.source == "unknown"


def test_the_usual_scatter_where_none_is_known_at_a_level_of_zero(tmp_path: Path) -> None:
    kits = KITS + (
        '\n[kit.colour]\nelement = "nitrate"\nkind = "colour steps"\nunit = "mg/L"\n'
        'repeatability = {cv = 0.15, from = "typed"}\n'
    )
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 0.0, element="nitrate", unit="mg/L", kit="colour"),
        reading("2026-02-05T18:00", 10.0, element="nitrate", unit="mg/L", kit="colour"),
        element="nitrate",
        unit="mg/L",
        kits=kits,
    )
    assert found.sessions["sd"].iloc[0] > 0
    assert found.sessions["sd"].iloc[1] == pytest.approx(1.5)


# --- Salinity -----------------------------------------------------------------------------------


def test_calcium_is_brought_to_one_salinity(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        calcium("2026-02-01T18:00", 400.0, salinity=34.0),
        calcium("2026-02-08T18:00", 410.0),
        calcium("2026-02-15T18:00", 420.0, salinity=36.0),
        salt("2026-02-08T12:00", 35.0),
        element="calcium",
        unit="mg/L",
    )
    assert found.scaled
    assert found.sessions["level"].tolist() == pytest.approx([400 * 35 / 34, 410, 420 * 35 / 36])
    # 10 mg/L: usual scatter of calcium kits, common practice, no source.
    assert found.sessions["sd"].tolist() == pytest.approx([10 * 35 / 34, 10, 10 * 35 / 36])


def test_salinity_between_two_of_its_readings(tmp_path: Path) -> None:
    """34 on the 1st and 36 on the 5th: 35 on the 3rd, within three days of both."""
    found = record(
        tmp_path,
        *(calcium(f"2026-02-{d:02d}T18:00", 400.0) for d in (1, 3, 5)),
        salt("2026-02-01T18:00", 34.0),
        salt("2026-02-05T18:00", 36.0),
        element="calcium",
        unit="mg/L",
    )
    assert found.sessions["level"].tolist() == pytest.approx([400 * 35 / 34, 400.0, 400 * 35 / 36])


@pytest.mark.parametrize(
    "salts",
    [
        [salt("2026-02-01T18:00", 34.7), salt("2026-02-08T18:00", 35.2)],  # moved by 0.5, not more
        [salt("2026-02-01T18:00", 34.0), salt("2026-02-04T18:00", 36.0)],  # none near the second
        [salt("2026-02-01T18:00", 34.0), salt("2026-02-08T18:00", 84.0)],  # impossible: not used
        [],
    ],
)
def test_nothing_is_scaled_on_less(tmp_path: Path, salts: list[dict[str, object]]) -> None:
    found = record(
        tmp_path,
        calcium("2026-02-01T18:00", 400.0),
        calcium("2026-02-08T18:00", 410.0),
        *salts,
        element="calcium",
        unit="mg/L",
    )
    assert not found.scaled
    assert found.sessions["level"].tolist() == pytest.approx([400.0, 410.0])


def test_alkalinity_is_never_scaled(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0, salinity=33.0),
        reading("2026-02-08T18:00", 8.0, salinity=36.0),
    )
    assert not found.scaled
    assert found.sessions["level"].tolist() == pytest.approx([8.0, 8.0])


# --- New water ----------------------------------------------------------------------------------


def test_measured_new_water_is_the_newest_before_each_change(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0, kit="drops", lot="A1"),
        reading("2026-02-11T09:00", 7.5, water="new water", kit="drops", lot="A1"),
        reading("2026-02-19T10:00", 8.5, water="new water", kit="drops", lot="A1"),
        reading("2026-02-20T09:00", 5.0, water="new water", limit="<"),
        water_changes=CHANGES,
        unit="meq/L",
    )
    water = found.new_water
    # The first change had no reading before it and borrows the first one there is.
    assert (water.as_read / MEQ_PER_DKH).tolist() == pytest.approx([7.5, 7.5, 8.5], rel=1e-4)
    # The kit's correction from the 10th on (× 0.95) holds for new water as for the tank.
    assert (water.levels / MEQ_PER_DKH).tolist() == pytest.approx([7.125, 7.125, 8.075], rel=1e-4)
    assert (water.source, water.borrowed) == ("measured", 1)
    assert water.kits == frozenset({("drops", "A1")})
    # √(0.2² + 0.5²/12) of one reading, the mean of two; and 1 % of 8.0, of the correction
    of_two = np.hypot(0.2, 0.5 / 12**0.5) / 2**0.5
    assert water.u == pytest.approx(np.hypot(of_two, 0.08) * MEQ_PER_DKH, rel=1e-3)
    assert found.events.change_levels.tolist() == water.levels.tolist()


@pytest.mark.parametrize(
    ("typed", "u"),
    [
        ('{value = 8.0, unit = "dKH", u = 0.3}', 0.3),
        ('{value = 8.0, unit = "dKH"}', 0.5),  # MEMORY: what a label's figure may be off by
    ],
)
def test_new_water_from_a_label(tmp_path: Path, typed: str, u: float) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 7.0),
        water_changes=CHANGES,
        tank=TANK + f"\n[new_water]\nalkalinity = {typed}\n",
    )
    assert found.new_water.source == "label"
    assert found.new_water.levels.tolist() == pytest.approx([8.0, 8.0, 8.0])
    assert found.new_water.u == pytest.approx(u)
    assert found.new_water.borrowed == 0


def test_a_label_without_a_known_error_leaves_the_level_free(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        element="strontium",
        unit="mg/L",
        tank=TANK + '\n[new_water]\nstrontium = {value = 8.0, unit = "mg/L"}\n',
        water_changes=CHANGES,
    )
    assert (found.new_water.source, found.new_water.u) == ("label", None)


def test_unknown_new_water_takes_the_tanks_own_level_and_no_certainty(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 7.0),
        reading("2026-02-05T18:00", 7.6),
        reading("2026-02-09T18:00", 7.4),
        water_changes=CHANGES,
    )
    assert (found.new_water.source, found.new_water.u) == ("unknown", None)
    assert found.new_water.levels.tolist() == pytest.approx([7.4] * 3)
    assert found.new_water.kits == frozenset()


def test_without_changes_or_readings(tmp_path: Path) -> None:
    found = record(tmp_path)
    assert found.sessions.empty
    assert found.left_out.empty
    assert found.new_water.levels.size == 0
    assert found.gaps() == ()
    assert found.offset_columns() == []


# --- Columns ------------------------------------------------------------------------------------


def test_every_other_kit_or_lot_has_an_offset(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0, kit="drops", lot="A1"),
        reading("2026-02-03T18:00", 8.0, kit="drops", lot="A1"),
        reading("2026-02-05T18:00", 8.0, kit="drops"),
        reading("2026-02-07T18:00", 8.0, kit="other", u=0.1),
        reading("2026-02-09T18:00", 8.0, kit="drops"),
    )
    columns = {c.name: c for c in found.offset_columns()}
    assert list(columns) == ["offset drops A1", "offset other"]
    assert columns["offset drops A1"].values.tolist() == [1, 1, 0, 0, 0]
    assert columns["offset other"].values.tolist() == [0, 0, 0, 1, 0]
    # Four times the usual SD of a reading with its step: median of 0.2466 (four) and 0.1.
    for column in columns.values():
        assert (column.centre, column.u) == (0.0, pytest.approx(4 * np.hypot(0.2, 0.5 / 12**0.5)))


def test_one_kit_has_no_offset(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0, kit="drops"),
        reading("2026-02-03T18:00", 8.0, kit="drops"),
    )
    assert found.offset_columns() == []


def test_a_gap_of_the_log_is_a_column(tmp_path: Path) -> None:
    """Dose of one a day in the gap of three days, a tenth changed afterwards: 2.7 is left."""
    found = record(
        tmp_path,
        *(reading(f"2026-02-{d:02d}T00:00", 8.0) for d in (1, 8, 15, 22)),
        additions=[
            dose("2026-01-01T00:00", 60),
            {
                "start": "2026-02-09T00:00", "end": "2026-02-12T00:00", "supplement": "part one",
                "how": "not logged",
            },
        ],
        water_changes=[{"time": "2026-02-16T00:00", "litres": 30}],
    )  # fmt: skip
    (column,) = found.gap_columns()
    assert column.name == "gap 0"
    assert column.values.tolist() == pytest.approx([0.0, 0.0, 3.0, 2.7])
    (span,) = found.gaps()
    assert span[1] - span[0] == pytest.approx(3.0)
    # Only what lies within the readings counts.
    late = found.since(float(days(pd.Timestamp("2026-02-12T00:00", tz="UTC"))))
    assert late.gaps() == ()
    assert late.sessions["day"].size == 2


def test_without_takes_the_whole_sitting(tmp_path: Path) -> None:
    found = record(
        tmp_path,
        reading("2026-02-01T18:00", 8.0),
        reading("2026-02-01T18:10", 8.4),
        reading("2026-02-05T18:00", 7.8),
    )
    assert found.without(frozenset({3})).sessions["rows"].tolist() == [(4,)]
    assert len(found.sessions) == 2


def test_the_balance_of_the_record_by_hand(tmp_path: Path) -> None:
    """Two weeks, a fifth changed in the middle, 1 dKH a day, new water 7."""
    found = record(
        tmp_path,
        reading("2026-02-01T00:00", 8.0),
        reading("2026-02-15T00:00", 8.0),
        reading("2026-01-31T00:00", 7.0, water="new water"),
        additions=[dose("2026-02-01T00:00", 60)],
        water_changes=[{"time": "2026-02-08T00:00", "litres": 60}],
    )
    columns = found.balance()
    assert columns.G.tolist() == pytest.approx([1.0, 0.8])
    assert columns.H[-1] == pytest.approx(7 * 0.8 + 7)
    assert columns.D[-1] == pytest.approx(7 * 0.8 + 0.2 * 7 + 7)
