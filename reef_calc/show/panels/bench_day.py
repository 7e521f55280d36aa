"""The bench day: choose today's tests, see the order that ends soonest, run it live."""

from __future__ import annotations

import threading
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.shortest_timetable import shortest_timetable
from reef_calc.bench.timetable import (
    BenchTest,
    Timetable,
    bench_test_from_kit,
    faults_of_timetable,
    order_search,
)
from reef_calc.errors import CannotTellError, InputError, ReefError
from reef_calc.show.bench_day_words import ShownDay, assumed_words
from reef_calc.show.bench_timetable import (
    STYLE,
    day_html,
    timetable_csv,
    timetable_page,
)
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import download_html, guarded, message_html
from reef_calc.show.panels.live_day import LiveDay
from reef_calc.show.panels.todays_tests import Chosen, TodaysTests

SEARCH_S = 2.0
_LONGEST_DAY = 24 * 60.0  # minutes
_NEARLY = 1e-3  # minutes
_SEARCHING = (
    '<div class="rc rc-message" role="status"><p>Looking for a shorter order… '
    '<progress aria-label="Looking for a shorter order"></progress></p></div>'
)


class BenchDayView:
    """Today's tests in the order that ends soonest, and the day itself step by step."""

    def __init__(self) -> None:
        self.bench: Bench | None = None
        self.timetable: Timetable | None = None
        self.searching: threading.Thread | None = None
        self._planned: tuple[BenchTest, ...] | None = None
        self._shown: ShownDay | None = None
        self._turn = 0
        self._lock = threading.RLock()
        self.choice = TodaysTests(guarded(self._say, self._plan))
        self.message = widgets.HTML(message_html(""))
        self.told = widgets.HTML(message_html(""), layout=widgets.Layout(flex="1 1 20em"))
        self.start = widgets.Button(
            description="Start now",
            button_style="primary",
            tooltip="Go through the day step by step, with the waits counted down",
            layout=widgets.Layout(height="52px", width="auto", min_width="10em"),
        )
        self.start.on_click(lambda _button: guarded(self._say, self._start)())
        self.shown = widgets.HTML()
        self.live = LiveDay(self._ended)
        self.live.box.layout.display = "none"
        row = widgets.Layout(flex_flow="row wrap", align_items="center", grid_gap="12px")
        self._planning = widgets.VBox(
            [
                self.choice.box,
                self.message,
                widgets.HBox([self.start, self.told], layout=row),
                self.shown,
            ]
        )
        css = widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0", margin="0"))
        self.box = widgets.VBox([css, self._planning, self.live.box])

    def show(self, bench: Bench) -> None:
        """Show a tank; a day that has started goes on as it is.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        """
        self.bench = bench
        guarded(bench.say, self._refill)()

    def _refill(self) -> None:
        if self.bench is not None:
            self.choice.show(self.bench.tank, self.bench.now())
            guarded(self._say, self._plan)()

    def _say(self, text: str, kind: str = "told") -> None:
        self.message.value = message_html(text, kind)

    def _plan(self) -> None:
        """Plan the tests ticked: a good order at once, the shortest one from a thread."""
        chosen, left_out = self.choice.chosen()
        self._say(" ".join(left_out), "error")
        tests = tuple(bench_test_from_kit(one.kit) for one in chosen)
        notes = _notes(chosen)
        with self._lock:
            same = self._shown is not None and self._shown.notes == notes
            if tests == self._planned and tests and same:
                return
            self._turn += 1
            self._planned, self._shown, self.timetable = tests, None, None
            self.told.value = message_html("")
            self._draw()
            if not tests:
                self.shown.value = (
                    '<div class="rc"><p>Tick the tests you want to make today.</p></div>'
                )
                return
            # A test that is too long alone is named, before any search.
            for test in tests:
                _refuse_too_long(test.name, test.shortest)
            first = order_search(tests)
            _refuse_too_long("All tests together", first.end)
            kits = {one.kit.name: one.kit for one in chosen}
            self._shown = ShownDay(first, kits, notes)
            self._take(first)
            if not first.is_shortest:
                self.told.value = _SEARCHING
                self.searching = threading.Thread(
                    target=self._search, args=(self._turn, tests), daemon=True
                )
                self.searching.start()

    def _search(self, turn: int, tests: tuple[BenchTest, ...]) -> None:
        found, words = None, "No shorter order was found."
        try:
            found = shortest_timetable(tests, seconds=SEARCH_S)
        except ReefError as error:
            words = f"The search for a shorter order failed: {error}"
        with self._lock:
            if turn != self._turn or self.timetable is None:
                return
            if found is not None and found.end < self.timetable.end - _NEARLY:
                words = (
                    f"A shorter order was found: {round(found.end, 1):g} instead of "
                    f"{round(self.timetable.end, 1):g} min."
                )
            self.told.value = message_html(words)
            if found is not None:
                guarded(self._say, self._take)(found)

    def _take(self, timetable: Timetable) -> None:
        """Show a timetable, once it has passed a check that knows nothing of how it was found."""
        faults = faults_of_timetable(timetable.tests, timetable.starts)
        if faults:
            kept = "The one before it stays." if self.timetable is not None else "None is shown."
            raise CannotTellError(
                f"A timetable was worked out that does not pass its check, so it is not shown. "
                f"{kept} What is wrong: {' '.join(faults)}"
            )
        if self._shown is not None:
            self.timetable = timetable
            self._shown = ShownDay(timetable, self._shown.kits, self._shown.notes)
            self._draw()

    def _draw(self) -> None:
        self.start.disabled = self.timetable is None
        if self._shown is None or self.timetable is None or self.bench is None:
            self.shown.value = ""
            return
        day = f"{self.bench.now():%Y-%m-%d}"
        links = [
            download_html(
                f"bench_day_{day}.html",
                timetable_page(self._shown, f"Bench day of {self.bench.tank.name}"),
                "The timetable as a page to print (HTML)",
            ),
            download_html(
                f"bench_day_{day}.csv",
                timetable_csv(self._shown),
                "The timetable as a table (CSV)",
                "text/csv",
            ),
        ]
        items = "".join(f"<li>{link}</li>" for link in links)
        self.shown.value = (
            f'{day_html(self._shown)}<div class="rc"><h3>Take away</h3>'
            f'<ul class="rc-links">{items}</ul></div>'
        )

    def _start(self) -> None:
        with self._lock:
            if self._shown is None or self.timetable is None or self.bench is None:
                raise InputError("a timetable", "none", "Tick at least one test.")
            self._turn += 1  # a search under way finds nobody waiting any more
            self.told.value = message_html("")
            self._planning.layout.display = "none"
            self.live.box.layout.display = ""
            self.live.start(self._shown, self.bench.tank.zone)

    def _ended(self) -> None:
        self.live.box.layout.display = "none"
        self._planning.layout.display = ""

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Bench day: press Run, then Run All Cells."
        return data


def _notes(chosen: list[Chosen]) -> tuple[str, ...]:
    return tuple(assumed_words(one.kit, one.minutes_typed) for one in chosen)


def _refuse_too_long(what: str, minutes: float) -> None:
    if minutes > _LONGEST_DAY:
        raise InputError(
            "tests that are done within 24 hours",
            f"{minutes:g} min",
            "Check hands_min and the waits in kits.toml: they are minutes.",
            what,
        )
