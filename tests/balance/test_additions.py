"""From the log of additions to doses: against hand sums, in own tank folders.

Own examples, hand arithmetic. The tank holds 300 L; 10 mL of part one raise 100 L by 0.5 dKH, so
60 mL raise the tank by 1 dKH.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from reef_calc.balance.additions import AdditionHistory, addition_history, days, moment
from reef_calc.balance.given_doses import mean_dose, standing_rate, water_events
from reef_calc.log.tank import Tank
from tests.folders import SUPPLEMENTS, TANK, dose, make_tank

MEQ_PER_DKH = 20 / 56.077  # COMPUTED: 10 mg CaO a litre, two charges; CaO 40.078 + 15.999 g/mol
PUMPS = """
[supplement."part one"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
delivered_over_set = {value = 0.9, u = 0.018}
strength_u = 0.03
"""
POWDER = """
[supplement.powder]
label = {amount = 3, unit = "g", litres = 100, raises = {alkalinity = "1 dKH"}}
"""
TWO_PARTS = (
    SUPPLEMENTS
    + """
[supplement."hand dose"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "1 dKH"}}
"""
)


def at(tank: Tank, text: str) -> float:
    return float(days(pd.Timestamp(text, tz=str(tank.zone)).tz_convert("UTC")))


def history(
    tank: Tank, until: str, unit: str = "dKH", element: str = "alkalinity"
) -> AdditionHistory:
    return addition_history(tank, element, unit, moment(at(tank, until)))


def opened(path: Path, *additions: dict[str, object], **parts: object) -> Tank:
    tank = make_tank(path, additions=list(additions), **parts)
    assert not [p for p in tank.problems if p.severity == "refused"]
    return tank


def test_per_day_without_times_is_a_standing_rate(tmp_path: Path) -> None:
    tank = opened(
        tmp_path, dose("2026-02-01T00:00", 60), dose("2026-02-11T00:00", 90, end="2026-02-21T00:00")
    )
    found = history(tank, "2026-03-01")
    assert found.steps["rate"].tolist() == pytest.approx([1.0, 1.5])
    assert (found.steps["stop"] - found.steps["start"]).tolist() == pytest.approx([10.0, 10.0])
    assert found.shots.empty
    assert standing_rate(found, at(tank, "2026-02-05")) == pytest.approx(1.0)
    assert standing_rate(found, at(tank, "2026-02-25")) == 0.0
    # 10 days of 1.0 and 10 of 1.5 within 28 days
    start, stop = at(tank, "2026-02-01"), at(tank, "2026-03-01")
    assert mean_dose(found, start, stop) == pytest.approx((10 + 15) / 28)
    assert mean_dose(found, start + 5, start + 15) == pytest.approx(1.25)


def test_an_open_row_stops_at_the_end_asked_for(tmp_path: Path) -> None:
    tank = opened(tmp_path, dose("2026-02-01T00:00", 60), dose("2026-02-20T00:00", 30))
    found = history(tank, "2026-02-11")
    assert found.steps["stop"].tolist() == [at(tank, "2026-02-11")]
    assert len(found.steps) == 1


def test_the_unit_asked_for(tmp_path: Path) -> None:
    tank = opened(tmp_path, dose("2026-02-01T00:00", 60))
    found = history(tank, "2026-03-01", "meq/L")
    assert found.steps["rate"].tolist() == pytest.approx([MEQ_PER_DKH], rel=1e-4)
    assert history(tank, "2026-03-01", "mg/L", "calcium").steps.empty


@pytest.mark.parametrize(
    ("zone", "short", "long"),
    [
        ("Europe/Berlin", "2026-03-29", "2026-10-25"),
        ("America/New_York", "2026-03-08", "2026-11-01"),
    ],
)
def test_times_of_day_follow_the_clock_on_the_wall(
    tmp_path: Path, zone: str, short: str, long: str
) -> None:
    """Days of 23 and 25 hours get the same doses, at the same hours of the clock."""
    tank = opened(tmp_path, dose("2026-01-01T00:00", 60, times="06:00;18:00;21:30"), zone=zone)
    for day, hours in ((short, 23), (long, 25), ("2026-07-01", 24)):
        after = (pd.Timestamp(day) + pd.Timedelta(days=1)).strftime("%Y-%m-%d")
        start, stop = at(tank, day), at(tank, after)
        assert (stop - start) * 24 == pytest.approx(hours)
        shots = history(tank, after).shots
        today = shots[(shots["day"] >= start) & (shots["day"] < stop)]
        clock = [f"{moment(d).tz_convert(zone):%H:%M}" for d in today["day"]]
        assert clock == ["06:00", "18:00", "21:30"]
        assert today["rise"].tolist() == pytest.approx([1 / 3] * 3)
        assert today["standing"].all()


@pytest.mark.parametrize(
    ("day", "clock", "utc"),
    [
        ("2026-03-29", "02:30", "2026-03-29T01:00"),  # jumped over: given at 03:00, the first after
        ("2026-10-25", "02:30", "2026-10-25T00:30"),  # shown twice: given at the first
    ],
)
def test_a_clock_time_missing_or_twice_is_given_once(
    tmp_path: Path, day: str, clock: str, utc: str
) -> None:
    tank = opened(tmp_path, dose(f"{day}T00:00", 60, times=clock))
    after = (pd.Timestamp(day) + pd.Timedelta(days=1)).strftime("%Y-%m-%d")
    shots = history(tank, after).shots
    assert [moment(d) for d in shots["day"]] == [pd.Timestamp(utc, tz="UTC")]


def test_times_only_within_the_row(tmp_path: Path) -> None:
    """Begun at noon and ended before the evening dose of the next day: three of four shots."""
    tank = opened(
        tmp_path, dose("2026-02-01T12:00", 60, times="06:00; 18:00", end="2026-02-02T18:00")
    )
    found = history(tank, "2026-03-01")
    assert [f"{moment(d).tz_convert('Europe/Berlin'):%d %H:%M}" for d in found.shots["day"]] == [
        "01 18:00",
        "02 06:00",
    ]
    # Counted once: as shots, not as a rate too.
    assert found.steps["at_times"].all()
    assert water_events(tank, found, 8.0).rates.size == 0
    assert water_events(tank, found, 8.0).dose_rises.tolist() == pytest.approx([0.5, 0.5])
    assert mean_dose(found, at(tank, "2026-02-01"), at(tank, "2026-02-03")) == pytest.approx(0.5)
    assert standing_rate(found, at(tank, "2026-02-01T20:00")) == pytest.approx(1.0)


def test_once_takes_what_was_poured_without_the_pump(tmp_path: Path) -> None:
    tank = opened(
        tmp_path,
        dose("2026-02-03T08:00", 12, how="once"),
        dose("2026-02-05", 24, how="once"),
        supplements=PUMPS,
    )
    shots = history(tank, "2026-03-01").shots
    assert shots["rise"].tolist() == pytest.approx([0.2, 0.4])
    assert shots["date_only"].tolist() == [False, True]
    assert not shots["standing"].any()
    assert shots["u"].tolist() == pytest.approx([0.03, 0.03])
    assert moment(shots["day"].iloc[1]) == pd.Timestamp("2026-02-05T11:00", tz="UTC")
    # A dose after the end is not there yet.
    assert len(history(tank, "2026-02-04").shots) == 1


def test_delivered_over_set(tmp_path: Path) -> None:
    """60 mL set, 54 mL given: 0.9 dKH; relative u √(0.03² + (0.018/0.9)²)."""
    tank = opened(tmp_path, dose("2026-02-01T00:00", 60), supplements=PUMPS)
    step = history(tank, "2026-03-01").steps.iloc[0]
    assert step["rate"] == pytest.approx(0.9)
    assert step["u"] == pytest.approx((0.03**2 + 0.02**2) ** 0.5)


def test_not_logged_silences_its_own_supplement_only(tmp_path: Path) -> None:
    tank = opened(
        tmp_path,
        dose("2026-02-01T00:00", 60),
        dose("2026-02-01T00:00", 15, supplement="hand dose"),
        {
            "start": "2026-02-10T00:00", "end": "2026-02-13T00:00", "supplement": "part one",
            "how": "not logged",
        },
        supplements=TWO_PARTS,
    )  # fmt: skip
    found = history(tank, "2026-02-21")
    own = found.steps[found.steps["supplement"] == "part one"]
    other = found.steps[found.steps["supplement"] == "hand dose"]
    assert (own["stop"] - own["start"]).tolist() == pytest.approx([9.0, 8.0])
    assert (other["stop"] - other["start"]).tolist() == pytest.approx([20.0])
    assert other["rate"].tolist() == pytest.approx([0.5])  # 15 mL at 10 dKH·L per mL in 300 L
    assert found.gaps == ((at(tank, "2026-02-10"), at(tank, "2026-02-13")),)
    assert standing_rate(found, at(tank, "2026-02-11")) is None
    assert standing_rate(found, at(tank, "2026-02-14")) == pytest.approx(1.5)
    assert mean_dose(found, at(tank, "2026-02-08"), at(tank, "2026-02-11")) is None
    assert mean_dose(found, at(tank, "2026-02-13"), at(tank, "2026-02-21")) == pytest.approx(1.5)
    # Calcium gets nothing from either, so its log has no gap.
    assert history(tank, "2026-02-21", "mg/L", "calcium").gaps == ()


def test_not_logged_silences_shots_at_times_too(tmp_path: Path) -> None:
    tank = opened(
        tmp_path,
        dose("2026-02-01T00:00", 60, times="08:00"),
        {
            "start": "2026-02-03T00:00", "end": "2026-02-05T00:00", "supplement": "part one",
            "how": "not logged",
        },
    )  # fmt: skip
    found = history(tank, "2026-02-07")
    given = [f"{moment(d).tz_convert('Europe/Berlin'):%d}" for d in found.shots["day"]]
    assert given == ["01", "02", "05", "06"]


def test_an_open_gap_lasts_until_the_dose_is_logged_again(tmp_path: Path) -> None:
    tank = opened(
        tmp_path,
        dose("2026-02-01T00:00", 60),
        {"start": "2026-02-10T00:00", "supplement": "part one", "how": "not logged"},
        {"start": "2026-02-12T00:00", "supplement": "part one", "how": "not logged"},
        dose("2026-02-17T00:00", 60),
    )
    found = history(tank, "2026-02-21")
    assert found.gaps == ((at(tank, "2026-02-10"), at(tank, "2026-02-17")),)  # merged
    assert sum(found.steps["stop"] - found.steps["start"]) == pytest.approx(9 + 4)
    assert history(tank, "2026-02-14").gaps == ((at(tank, "2026-02-10"), at(tank, "2026-02-14")),)


def test_a_new_volume_splits_the_dose(tmp_path: Path) -> None:
    larger = TANK.replace(
        "[aim.alkalinity]",
        "[[water]]\nfrom = 2026-02-11\nnet_L = 600.0\nnet_u_L = 9.0\n\n[aim.alkalinity]",
    )
    tank = opened(
        tmp_path,
        dose("2026-02-01T00:00", 60),
        dose("2026-02-12T08:00", 60, how="once"),
        tank=larger,
    )
    found = history(tank, "2026-02-21")
    assert found.steps["rate"].tolist() == pytest.approx([1.0, 0.5])
    assert found.steps["stop"].iloc[0] == found.steps["start"].iloc[1] == at(tank, "2026-02-11")
    assert found.shots["rise"].tolist() == pytest.approx([0.5])


@pytest.mark.parametrize(("amount", "unit"), [(60, "mL"), (60, "ml"), (0.06, "L"), (0.06, "l")])
def test_millilitres_and_litres(tmp_path: Path, amount: float, unit: str) -> None:
    tank = opened(tmp_path, dose("2026-02-01T00:00", amount, unit=unit))
    assert history(tank, "2026-03-01").steps["rate"].tolist() == pytest.approx([1.0])


@pytest.mark.parametrize(("amount", "unit"), [(9, "g"), (0.009, "kg")])
def test_grams_and_kilograms(tmp_path: Path, amount: float, unit: str) -> None:
    """3 g raise 100 L by 1 dKH, so 9 g raise 300 L by 1 dKH."""
    tank = opened(
        tmp_path,
        dose("2026-02-01T08:00", amount, unit=unit, supplement="powder", how="once"),
        supplements=POWDER,
    )
    assert history(tank, "2026-03-01").shots["rise"].tolist() == pytest.approx([1.0])


def test_water_changes_become_events(tmp_path: Path) -> None:
    tank = opened(
        tmp_path,
        dose("2026-02-01T00:00", 60),
        water_changes=[
            {"time": "2026-02-07T10:00", "litres": 30},
            {"time": "2026-02-14T10:00", "litres": 60},
        ],
    )
    events = water_events(tank, history(tank, "2026-03-01"), pd.Series([8.0, 8.5]))
    assert events.change_fractions.tolist() == pytest.approx([0.1, 0.2])
    assert events.change_levels.tolist() == [8.0, 8.5]
    assert events.change_times.tolist() == pytest.approx(
        [at(tank, "2026-02-07T10:00"), at(tank, "2026-02-14T10:00")]
    )
    assert events.rates.tolist() == pytest.approx([1.0])


def test_an_empty_log(tmp_path: Path) -> None:
    tank = opened(tmp_path)
    found = history(tank, "2026-03-01")
    assert (len(found.steps), len(found.shots), found.gaps) == (0, 0, ())
    assert standing_rate(found, at(tank, "2026-02-01")) == 0.0
    assert mean_dose(found, at(tank, "2026-02-01"), at(tank, "2026-03-01")) == 0.0
    events = water_events(tank, found, 8.0)
    assert (events.rates.size, events.dose_rises.size, events.change_times.size) == (0, 0, 0)
