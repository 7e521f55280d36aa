"""Plans in the tank folder: kept whole, never overwritten, read back, compared with what was done."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log.entry import append_rows
from reef_calc.log.plan_files import read_plan, stored_plans
from reef_calc.log.plan_rows import additions_for
from reef_calc.log.planned_and_done import planned_and_done
from reef_calc.log.plans import (
    ContainerPhase,
    PlannedLevels,
    StoredPlan,
    plan_text,
    store_plan,
)
from reef_calc.log.tank import Tank, open_tank
from tests.folders import dose, make_folder, reading

DAY = dt.date(2026, 4, 1)
MADE = dt.datetime(2026, 3, 31, 20, 15, tzinfo=dt.timezone(dt.timedelta(hours=2)))


def day(number: int) -> dt.date:
    return DAY + dt.timedelta(days=number)


def phases(name: str, first: float, then: float) -> tuple[ContainerPhase, ...]:
    two = ("08:00", "20:00")
    return (
        ContainerPhase(name, "mL", day(0), day(2), first, 2, first / 2, two if first else ()),
        ContainerPhase(name, "mL", day(3), day(13), then, 2, then / 2, two if then else ()),
    )


PLAN = StoredPlan(
    "Test reef",
    MADE,
    DAY,
    14,
    300.0,
    (*phases("part one", 90.0, 66.0), *phases("part two", 0.0, 0.0)),
    (PlannedLevels("alkalinity", "dKH", tuple(7.0 + 0.1 * i for i in range(15)), 0.9, 7.5, 8.0, 8.5),
     PlannedLevels("nitrate", "mg/L", (5.0,) * 15, -0.1)),
    {"part one": 60.0, "part two": 30.0},
    ("Keep „this“ \\ safe.\nTwo lines.",),
)  # fmt: skip


def test_a_plan_comes_back_as_it_was(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    path = store_plan(folder, PLAN)
    (found,), problems = stored_plans(folder)
    assert problems == () and found.file == "plans/2026-04-01.toml"
    assert found == StoredPlan(**{**vars(PLAN), "file": found.file})
    assert found.turns() == (day(0), day(3))
    assert "# amounts as set on the pump" in path.read_text(encoding="utf-8")
    assert tomllib.loads(path.read_text(encoding="utf-8"))["format"] == 1


numbers = st.floats(0.0, 1e6, allow_subnormal=False)
words = st.text(min_size=1, max_size=12).filter(lambda t: "\r" not in t)


@settings(max_examples=40, deadline=None)
@given(words, numbers, numbers, st.lists(st.floats(-50.0, 50.0), min_size=3, max_size=3), words)
def test_every_plan_comes_back(
    name: str, first: float, then: float, levels: list[float], note: str
) -> None:
    plan = StoredPlan(
        name, MADE, DAY, 2, 300.0, phases(name, first, then),
        (PlannedLevels("calcium", "mg/L", tuple(levels), 2.0),), {name: first}, (note,), "p.toml",
    )  # fmt: skip
    assert read_plan("p.toml", plan_text(plan).encode()) == plan


def test_nothing_is_ever_overwritten(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    with ThreadPoolExecutor(4) as pool:
        paths = list(pool.map(lambda _: store_plan(folder, PLAN), range(6)))
    assert len(set(paths)) == 6
    assert {path.name for path in paths} == {
        "2026-04-01.toml", *(f"2026-04-01-{n}.toml" for n in range(2, 7)),
    }  # fmt: skip
    assert all(path.read_text(encoding="utf-8") == plan_text(PLAN) for path in paths)


def test_only_into_a_tank_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="tank folder"):
        store_plan(tmp_path, PLAN)
    assert not (tmp_path / "plans").exists()


def test_a_plans_folder_that_is_a_file(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    (folder / "plans").write_text("no folder")
    with pytest.raises(InputError, match="can be written"):
        store_plan(folder, PLAN)
    assert stored_plans(folder) == ((), ())


GOOD = plan_text(PLAN)


@pytest.mark.parametrize(
    ("text", "words_"),
    [
        ("", "format = 1"),
        ("format = ", "TOML text"),
        (GOOD.replace("format = 1", "format = 2"), "another version"),
        (GOOD.replace("start = 2026-04-01", 'start = "soon"'), "a day"),
        (GOOD.replace("days = 14", "days = 0"), "whole number of 1"),
        (GOOD.replace("days = 14", "days = 13"), "14 levels"),
        (GOOD.replace("net_L = 300.0", "net_L = nan"), "a number"),
        (GOOD.replace("per_day = 90.0", 'per_day = "much"'), "a number"),
        (GOOD.replace("doses = 2", "doses = -2", 1), "whole number of 0"),
        (GOOD.replace('unit = "mL"', "unit = 3", 1), "a text"),
        (GOOD.replace("to = 2026-04-03", "to = 2026-03-03", 1), "not before the first"),
        (GOOD.replace('times = ["08:00", "20:00"]', "times = [8, 20]", 1), "clock times"),
        (GOOD.replace("made = 2026-03-31T20:15:00+02:00", "made = 2026-03-31T20:15:00"), "zone"),
        ('format = 1\ncontainer = "none"', "a day"),
        (GOOD.encode("utf-16").decode("latin-1"), "TOML text"),
    ],
)
def test_a_broken_plan_becomes_words_and_the_tank_opens(
    tmp_path: Path, text: str, words_: str
) -> None:
    folder = make_folder(tmp_path / "tank")
    store_plan(folder, PLAN)
    (folder / "plans" / "2026-05-01.toml").write_text(text, encoding="utf-8")
    found, problems = stored_plans(folder)
    assert [plan.start for plan in found] == [DAY]
    assert len(problems) == 1 and words_ in str(problems[0])
    assert problems[0].file == "plans/2026-05-01.toml"
    assert open_tank(folder).name == "Test reef"


# ---------------------------------------------------------------- into the log


def test_what_was_set_becomes_rows_and_runs_from_its_day(tmp_path: Path) -> None:
    before = [dose("2026-03-01", "60"), dose("2026-03-01", "30", supplement="part two")]
    folder = make_folder(tmp_path / "tank", additions=before)
    for phase in (0, 1):
        append_rows(folder, "additions.csv", additions_for(PLAN, phase))
    tank = open_tank(folder, now=dt.datetime(2026, 4, 5, tzinfo=dt.UTC))
    assert not [p for p in tank.problems if p.file == "additions.csv" and p.severity != "note"]
    own = tank.additions[tank.additions["supplement"] == "part one"]
    assert own["amount"].tolist() == [60.0, 90.0, 66.0]
    assert own["times"].tolist() == ["", "08:00;20:00", "08:00;20:00"]
    # The second container gets nothing more: a row of 0 stops it.
    assert tank.additions.loc[tank.additions["supplement"] == "part two", "amount"].tolist() == [
        30,
        0,
    ]
    assert [row["start"] for row in additions_for(PLAN)] == [
        "2026-04-01T00:00", "2026-04-01T00:00", "2026-04-04T00:00",
    ]  # fmt: skip
    with pytest.raises(InputError, match="a phase from 0 to 1"):
        additions_for(PLAN, 2)


def test_rows_appended_twice_are_refused_with_words(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", additions=[dose("2026-03-01", "60")])
    rows = [row for row in additions_for(PLAN, 0) if row["supplement"] == "part one"]
    append_rows(folder, "additions.csv", rows)
    append_rows(folder, "additions.csv", rows)
    tank = open_tank(folder)
    assert tank.additions["amount"].tolist() == [60.0, 90.0]  # counted once


# ---------------------------------------------------------------- planned and done


def tank_with(path: Path, additions: list[dict[str, object]], **parts: object) -> Tank:
    return open_tank(make_folder(path / "tank", additions=additions, **parts))  # type: ignore[arg-type]


def test_followed_to_the_letter_is_as_planned(tmp_path: Path) -> None:
    rows = [dose("2026-04-01T00:00", "90"), dose("2026-04-04T00:00", "66")]
    found = planned_and_done(tank_with(tmp_path, rows), PLAN, "2026-04-14")
    own = found.doses[found.doses["container"] == "part one"]
    assert own["planned"].tolist() == [3 * 90.0 + 4 * 66.0, 7 * 66.0]
    assert own["logged"].tolist() == pytest.approx(own["planned"].tolist())
    assert found.sentences[0] == (
        "part one: 996 mL planned by 14 Apr 2026, 996 mL logged. As planned."
    )


def test_the_hour_the_clocks_change_is_no_dose(tmp_path: Path) -> None:
    start = dt.date(2026, 3, 23)  # the clocks go forward on 29 March
    one = ContainerPhase(
        "part one", "mL", start, start + dt.timedelta(6), 70.0, 1, 70.0, ("08:00",)
    )
    plan = StoredPlan("Test reef", MADE, start, 7, 300.0, (one,), ())
    found = planned_and_done(
        tank_with(tmp_path, [dose("2026-03-23T00:00", "70")]), plan, "2026-03-29"
    )
    assert found.doses["logged"].tolist() == pytest.approx([490.0])


def test_less_more_by_hand_and_not_written_down(tmp_path: Path) -> None:
    rows = [
        dose("2026-04-01T00:00", "45"),
        dose("2026-04-09T00:00", "66"),
        dose("2026-04-10", "100", how="once", supplement="part two"),
    ]
    found = planned_and_done(tank_with(tmp_path, rows), PLAN, "2026-04-14")
    one = found.doses[found.doses["container"] == "part one"]
    assert one["verdict"].tolist() == ["less", "less"]
    assert "% less than planned" in found.sentences[0]
    assert "part two: not in the plan, 100 mL logged" in found.sentences[1]
    gap = [
        *rows[:1],
        dose("2026-04-05T00:00", "", end="2026-04-07T00:00", how="not logged", unit=""),
    ]
    found = planned_and_done(tank_with(tmp_path / "gap", gap), PLAN, "2026-04-14")
    one = found.doses[found.doses["container"] == "part one"]
    assert one["verdict"].tolist()[0] == "not logged"
    assert "2 days were not written down" in found.sentences[0]


def test_levels_beside_what_was_planned(tmp_path: Path) -> None:
    rows = [
        reading("2026-04-06T00:00", 7.5, u=0.1),
        reading("2026-04-11T00:00", 7.2, u=0.1),
        reading("2026-04-13T00:00", 20, limit=">"),
        reading("2026-04-20T00:00", 7.2, u=0.1),
    ]
    found = planned_and_done(tank_with(tmp_path, [], readings=rows), PLAN, "2026-05-30")
    assert found.levels["planned"].tolist() == pytest.approx([7.5, 8.0])
    assert found.levels["verdict"].tolist() == ["as planned", "lower"]
    assert (found.levels["high"] - found.levels["low"]).tolist() == pytest.approx([0.4, 0.4])
    assert found.sentences[-1] == (
        "Alkalinity: last read 7.2 ± 0.2 dKH, planned 8.0. It is lower than planned: plan again "
        "with it."
    )


def test_a_day_before_the_plan(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="had not begun"):
        planned_and_done(tank_with(tmp_path, []), PLAN, "2026-03-31")


def test_nothing_logged_at_all_is_less_and_no_nan(tmp_path: Path) -> None:
    found = planned_and_done(tank_with(tmp_path, []), PLAN, "2026-04-03")
    assert found.sentences == (
        "part one: 270 mL planned by 3 Apr 2026, 0 mL logged. 100 % less than planned.",
    )
    assert not found.doses["logged"].map(math.isnan).any()
