"""Countdowns that lose no second, and a bench day from the choice of tests to the last step."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pytest

from reef_calc.bench.rest_of_day import DaySoFar, rest_of_day
from reef_calc.bench.timetable import BenchTest, faults_of_timetable, order_search
from reef_calc.bench.waits import wait_state
from reef_calc.show.panels.bench_day import BenchDayView
from reef_calc.show.panels.bench_sheet import BenchSheetPanel
from reef_calc.show.panels.countdowns import Countdowns
from reef_calc.show.panels.live_day import LiveDay
from tests.tank_cases import words_of

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"
TESTS = (
    BenchTest("a", (2.0, 3.0), ((10.0, 12.0),)),
    BenchTest("b", (4.0, 2.0), ((5.0, 8.0),)),
    BenchTest("c", (3.0,)),
)


class Clock:
    """A clock that moves when it is told to."""

    def __init__(self) -> None:
        self.seconds = 1000.0

    def __call__(self) -> float:
        return self.seconds


def test_ten_countdowns_at_once_stay_right() -> None:
    clock, told = Clock(), []
    waits = Countdowns(lambda name, code: told.append((name, code)), clock)
    try:
        for i in range(10):
            waits.start(f"kit {i}", 60.0 * i + 30.0, 60.0 * i + 90.0)
        clock.seconds += 95.0  # a kernel that was busy for so long
        waits.tick()
        rows = waits.box.children[1].children
        shown = ["".join(words_of(row.children[0].value).split()) for row in rows]
        for i, words in enumerate(shown):
            state = wait_state(95.0, 60.0 * i + 30.0, 60.0 * i + 90.0)
            assert "".join(state.sentence.split()) in words
        assert ("kit 0", "late") in told and ("kit 1", "ready") in told
        assert not any(name == "kit 2" for name, _ in told)
        waits.start("kit 5", 1.0)  # a finger that slips sets back no wait
        assert "running already" in waits.box.children[3].value
        for name in waits.running:
            waits.stop(name)
        assert waits.running == ()
    finally:
        waits.close()


def test_a_late_step_shifts_the_rest_and_a_broken_wait_is_said() -> None:
    planned = order_search(TESTS)
    day = DaySoFar.at_the_start(TESTS)
    first = min((0, 1), key=lambda i: planned.starts[i][0])
    day = day.begin(first, 0.0).finish(TESTS[first].hands[0] + 1.0)
    rest = rest_of_day(day, TESTS[first].hands[0] + 1.0, planned.starts)
    assert rest.cannot == () and rest.faults == ()
    late = rest_of_day(day, 60.0, planned.starts)
    assert late.cannot  # the longest wait of the first test is long past
    assert late.timetable.end >= 60.0


@pytest.fixture
def view(tmp_path: Path) -> BenchDayView:
    folder = tmp_path / "reef"
    shutil.copytree(DEMO, folder)
    panel = BenchSheetPanel(folder)
    panel.view.value = "Bench day"
    found = panel.views["Bench day"]
    assert isinstance(found, BenchDayView)
    return found


def test_every_timetable_shown_passes_the_check(view: BenchDayView) -> None:
    view.choice.all.click()
    assert view.timetable is not None
    assert faults_of_timetable(view.timetable.tests, view.timetable.starts) == ()
    first = view.timetable.end
    if view.searching is not None:
        view.searching.join(timeout=20.0)
    assert view.timetable.end <= first
    assert faults_of_timetable(view.timetable.tests, view.timetable.starts) == ()
    assert "saved against one test after the other" in words_of(view.shown.value)
    assert 'role="alert"' not in view.message.value


def test_no_test_chosen(view: BenchDayView) -> None:
    view.choice.none.click()
    assert view.timetable is None and view.start.disabled
    assert "Tick the tests" in view.shown.value


def test_a_day_is_led_to_its_end(view: BenchDayView) -> None:
    """Every step begun and ended when it may be; the waits run beside it."""
    clock = Clock()
    ended: list[bool] = []
    view.choice.all.click()
    assert view.timetable is not None and view._shown is not None
    live = LiveDay(lambda: ended.append(True), clock)
    live.start(view._shown, "Europe/London")
    steps = sum(len(test.hands) for test in view.timetable.tests)
    for _ in range(2 * steps + 2):
        if live.day is None or live.day.is_done:
            break
        if live.day.in_hand is None:
            i, k = live._next()
            clock.seconds = max(clock.seconds, live._origin + 60.0 * live._planned[i][k])
        else:
            i, k = live.day.in_hand
            clock.seconds += 60.0 * live.day.tests[i].hands[k]
        live.act.click()
    assert live.day is not None and live.day.is_done
    assert live.day.broken == ()
    live.act.click()
    assert ended == [True] and live.countdowns.running == ()
    live.countdowns.close()


def test_the_thread_ends_with_the_last_countdown() -> None:
    waits = Countdowns()
    waits.start("kit", 5.0)
    thread = waits._thread
    assert thread is not None and thread.is_alive()
    waits.stop("kit")
    deadline = time.monotonic() + 5.0
    while thread.is_alive() and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not thread.is_alive()
