"""A bench day under way: what to do now in large letters, its waits, what is left."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets
import pandas as pd

from reef_calc.bench.rest_of_day import DaySoFar, Place, RestOfDay, rest_of_day
from reef_calc.bench.timetable import Starts
from reef_calc.bench.waits import steady_seconds
from reef_calc.errors import CannotTellError
from reef_calc.show.bench_day_words import ShownDay, clock_words
from reef_calc.show.bench_timetable import day_html, hazard_html
from reef_calc.show.panels.common import guarded, message_html
from reef_calc.show.panels.countdowns import Countdowns
from reef_calc.show.timetable_picture import numbers_in_turn
from reef_calc.show.wording import escape

_AT_ONCE = 0.1  # minutes: a step planned as soon as this follows the one before without a pause
_BUTTON = {"height": "60px", "min_width": "10em", "width": "auto"}


class LiveDay:
    """Goes through a timetable step by step and plans the rest anew after each.

    Parameters
    ----------
    ended : callable
        Called without arguments when the person goes back to the choice of tests.
    clock : callable, optional
        Seconds of a clock that never goes back.

    Attributes
    ----------
    box : ipywidgets.VBox
        What is shown.
    """

    def __init__(
        self, ended: Callable[[], None], clock: Callable[[], float] = steady_seconds
    ) -> None:
        self._when_ended, self._clock = ended, clock
        self._lock = threading.RLock()
        self._shown: ShownDay | None = None
        self._planned: Starts = ()
        self._origin = 0.0
        self._pause = ""
        self.day: DaySoFar | None = None
        self.rest: RestOfDay | None = None
        self.now = widgets.HTML()
        self.message = widgets.HTML(message_html(""))
        self.act = self._button("Done", self._acted, "The step is done: go on", "primary")
        self.stop = self._button("Stop the day", self._stopped, "End the day before it is done")
        self.countdowns = Countdowns(on_change=guarded(self._say, self._wait_changed), clock=clock)
        self.shown = widgets.HTML()
        self.box = widgets.VBox(
            [
                self.now,
                widgets.HBox(
                    [self.act, self.stop],
                    layout=widgets.Layout(flex_flow="row wrap", grid_gap="24px"),
                ),
                self.message,
                self.countdowns.box,
                self.shown,
            ]
        )

    def _button(
        self, words: str, action: Callable[[], None], tooltip: str, style: str = ""
    ) -> widgets.Button:
        button = widgets.Button(
            description=words,
            tooltip=tooltip,
            button_style=style,
            layout=widgets.Layout(**_BUTTON),
        )
        act = guarded(self._say, action)
        button.on_click(lambda _button: act())
        return button

    def _say(self, text: str, kind: str = "told") -> None:
        self.message.value = message_html(text, kind)

    @property
    def minute(self) -> float:
        """Minutes since the start of the day."""
        return (self._clock() - self._origin) / 60.0

    def start(self, shown: ShownDay, zone: Any) -> None:
        """Start a day with a timetable.

        Parameters
        ----------
        shown : ShownDay
            The timetable, checked.
        zone : str or zoneinfo.ZoneInfo
            The tank's zone.
        """
        with self._lock:
            self._origin = self._clock()
            self.day = DaySoFar.at_the_start(shown.timetable.tests)
            self._planned = shown.timetable.starts
            self._shown = replace(shown, start=pd.Timestamp.now(tz=zone), day=self.day)
            self._say("")
            self._go_on()

    def _acted(self) -> None:
        with self._lock:
            if self.day is None:
                return
            if self.day.is_done:
                self._leave()
                return
            if self.day.in_hand is None:
                self._begin(self._next())
            else:
                i, k = self.day.in_hand
                self.day = self.day.finish(self.minute)
                test = self.day.tests[i]
                if k + 1 < len(test.hands):
                    least, most = test.waits[k]
                    self.countdowns.start(self._wait_name((i, k + 1)), least * 60, most * 60)
            self._go_on()

    def _begin(self, place: Place) -> None:
        if self.day is not None:
            self.day = self.day.begin(place[0], self.minute)
            self.countdowns.stop(self._wait_name(place))

    def _go_on(self) -> None:
        """Plan the rest, take up the next step where nothing has to be waited for, and show it."""
        self._stop_pause()
        self._plan_rest()
        if self.day is None or self.day.is_done:
            self._draw()
            return
        if self.day.in_hand is None:
            place = self._next()
            start = self._planned[place[0]][place[1]]
            if start <= self.minute + _AT_ONCE:
                self._begin(place)
                self._plan_rest()
            elif self._may_begin(place) < start - _AT_ONCE:
                self._pause = f"Pause, then {self.day.tests[place[0]].name}"
                self.countdowns.start(self._pause, (start - self.minute) * 60)
        self._draw()

    def _stop_pause(self) -> None:
        self.countdowns.stop(self._pause)
        self._pause = ""

    def _plan_rest(self) -> None:
        if self.day is None:
            return
        rest = rest_of_day(self.day, self.minute, self._planned)
        if rest.faults:
            self._say(
                "The rest of the day was put into an order that does not pass its check, so the last "
                "plan stays. What is wrong: " + " ".join(rest.faults),
                "error",
            )
            return
        self.rest, self._planned = rest, rest.timetable.starts
        said = [*self.day.broken, *rest.cannot]
        self._say(" ".join(said), "error")

    def _next(self) -> Place:
        if self.day is None:
            raise CannotTellError("No day has started.")
        return min(self.day.to_do, key=lambda place: (self._planned[place[0]][place[1]], place))

    def _may_begin(self, place: Place) -> float:
        """Minute from which a step may begin by its own wait."""
        i, k = place
        if self.day is None or not k or len(self.day.ended[i]) < k:
            return 0.0
        return self.day.ended[i][k - 1] + self.day.tests[i].waits[k - 1][0]

    def _wait_name(self, place: Place) -> str:
        i, k = place
        if self.day is None:
            return ""
        test = self.day.tests[i]
        return f"{test.name}, then: {test.texts[k] if test.texts else f'step {k + 1}'}"

    def _wait_changed(self, _name: str, _code: str) -> None:
        """Bring words, picture and what cannot be kept up to date: a wait is over or too long."""
        with self._lock:
            if self.day is not None and not self.day.is_done:
                self._plan_rest()
                self._draw()

    def _stopped(self) -> None:
        with self._lock:
            if self.stop.description == "Stop the day":
                self.stop.description = "Press again to stop: what was done is not kept"
                return
            self._leave()

    def _leave(self) -> None:
        for name in self.countdowns.running:
            self.countdowns.stop(name)
        self.day = self.rest = self._shown = None
        self.stop.description = "Stop the day"
        self.now.value = self.shown.value = ""
        self._say("")
        self._when_ended()

    def _draw(self) -> None:
        if self.day is None or self.rest is None or self._shown is None:
            return
        done = self.day.is_done
        self._shown = replace(
            self._shown,
            timetable=self.rest.timetable,
            day=self.day,
            now=None if done else self.minute,
        )
        self.stop.layout.display = "none" if done else ""
        self.stop.description = "Stop the day"
        if done:
            words = "Back to today’s tests"
        else:
            words = "Begin" if self.day.in_hand is None else "Done"
        self.act.description = words
        self.now.value = self._now_html()
        self.shown.value = day_html(self._shown)

    def _now_html(self) -> str:
        if self.day is None or self._shown is None or self.rest is None:
            return ""
        if self.day.is_done:
            end = self.rest.timetable.end
            when = clock_words(self._shown, end)
            inner = (
                f'<h2>All tests are done</h2><p class="rc-day-now">Done at {when}, after '
                f"{round(end, 1):g} min</p>"
            )
            return f'<div class="rc" role="status">{inner}</div>'
        numbers = numbers_in_turn(self.rest.timetable)
        i, k = place = self.day.in_hand or self._next()
        test = self.day.tests[i]
        text = test.texts[k] if test.texts else "Make the test"
        start = self._planned[i][k]
        if self.day.in_hand is not None:
            head, until = "Do now", clock_words(self._shown, start + test.hands[k])
            small = f"about {round(test.hands[k], 1):g} min, until about {until}"
        elif max(self._may_begin(place), start) <= self.minute + _AT_ONCE:
            head, small = "Begin now", "the wait is over: press Begin as you begin"
        else:
            head = f"Hands free until {clock_words(self._shown, start)}, then"
            small = "press Begin as you begin"
        number = numbers[test.name, k + 1]
        kit = self._shown.kits.get(test.name)
        caution = hazard_html(kit) if kit is not None and k == 0 else ""
        return (
            f'<div class="rc" role="status"><h2>{escape(head)}</h2>{caution}'
            f'<p class="rc-day-now">{escape(test.name)}: {escape(text)}'
            f"<small>step {number} of {len(numbers)}, {escape(small)}</small></p>"
            f"{self._after(place)}</div>"
        )

    def _after(self, place: Place) -> str:
        if self.day is None or self._shown is None:
            return ""
        later = [one for one in self.day.to_do if one != place]
        if not later:
            return '<p class="rc-day-sub">After that all is done.</p>'
        i, k = min(later, key=lambda one: (self._planned[one[0]][one[1]], one))
        test = self.day.tests[i]
        when = clock_words(self._shown, self._planned[i][k])
        text = f": {test.texts[k]}" if test.texts else ""
        return f'<p class="rc-day-sub">Next, at about {when}: {escape(test.name + text)}</p>'
