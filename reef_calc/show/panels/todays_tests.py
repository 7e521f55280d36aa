"""Choosing today's tests: a box to tick for each kit, those due today first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as widgets
import pandas as pd

from reef_calc.bench.due_tests import Due, due_test
from reef_calc.bench.kits import Kit
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError, ReefError
from reef_calc.log.tank import Tank
from reef_calc.show.wording import element_name, escape

_GROUPS = (
    "Due today",
    "Not due yet, or another kit is in use",
    "Read too seldom to tell",
)
_LABORATORY = "laboratory report"


@dataclass(frozen=True)
class Chosen:
    """A kit that was ticked, with its minutes of work.

    Attributes
    ----------
    kit : Kit
        With ``hands_min``.
    minutes_typed : bool
        Whether the minutes were typed on the page and do not stand in kits.toml.
    """

    kit: Kit
    minutes_typed: bool = False


@dataclass
class _Line:
    kit: Kit
    due: Due
    in_use: bool
    tick: widgets.Checkbox
    minutes: widgets.Text | None
    row: widgets.HBox

    @property
    def group(self) -> int:
        if self.due.every is None:
            return 2
        return 0 if self.due.today and self.in_use else 1


class TodaysTests:
    """The kits of a tank with a box to tick each.

    Parameters
    ----------
    changed : callable
        Called without arguments when another choice was made.

    Attributes
    ----------
    box : ipywidgets.VBox
        What is shown.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed = changed
        self._lines: dict[str, _Line] = {}
        self._folder: object = None
        self._filling = False
        self._groups = widgets.VBox()
        buttons = [
            self._button("Those due", "Tick the tests that are due today", lambda e: e.group == 0),
            self._button("All", "Tick every test", lambda e: True),
            self._button("None", "Untick every test", lambda e: False),
        ]
        self.due, self.all, self.none = buttons
        self.box = widgets.VBox(
            [
                widgets.HTML('<div class="rc"><h2>Today’s tests</h2></div>'),
                widgets.HBox(buttons, layout=widgets.Layout(flex_flow="row wrap", grid_gap="12px")),
                self._groups,
            ]
        )

    def _button(self, words: str, tooltip: str, wanted: Callable[[_Line], bool]) -> widgets.Button:
        button = widgets.Button(
            description=words,
            tooltip=tooltip,
            layout=widgets.Layout(height="44px", width="auto", min_width="7em"),
        )

        def clicked(_button: Any) -> None:
            self._filling = True
            try:
                for line in self._lines.values():
                    line.tick.value = wanted(line)
            finally:
                self._filling = False
            self._changed()

        button.on_click(clicked)
        return button

    def show(self, tank: Tank, now: pd.Timestamp) -> None:
        """Show the kits of a tank; of the same tank, what was ticked and typed is kept.

        Parameters
        ----------
        tank : Tank
            The tank.
        now : pandas.Timestamp
            Present time in the tank's zone.
        """
        before = self._lines if self._folder == tank.folder else {}
        self._folder = tank.folder
        self._lines = {}
        for kit in tank.kits.values():
            if kit.kind != _LABORATORY:
                self._lines[kit.name] = self._line(kit, tank, now, before.get(kit.name))
        parts: list[widgets.Widget] = []
        for group, title in enumerate(_GROUPS):
            rows = [line.row for line in self._lines.values() if line.group == group]
            if rows:
                head = f'<div class="rc"><h3>{escape(title)}</h3></div>'
                wrap = widgets.Layout(flex_flow="row wrap", grid_gap="0 16px")
                parts += [widgets.HTML(head), widgets.HBox(rows, layout=wrap)]
        self._groups.children = parts

    def _line(self, kit: Kit, tank: Tank, now: pd.Timestamp, before: _Line | None) -> _Line:
        due, in_use = _due(kit, tank, now)
        words = f"{kit.name} · {element_name(kit.element)} · {due.in_words}"
        tick = widgets.Checkbox(
            value=due.today and in_use and kit.hands_min is not None,
            description=words,
            tooltip=f"Make a test with {kit.name} today",
            indent=False,
            layout=widgets.Layout(min_height="44px", height="auto", width="100%"),
        )
        tick.add_class("rc-tick")
        minutes = None
        if kit.hands_min is None:
            minutes = widgets.Text(
                description="Minutes of work",
                tooltip=f"Minutes your hands are busy with {kit.name}; kits.toml does not say",
                continuous_update=False,
                style={"description_width": "8.5em"},
                layout=widgets.Layout(width="15em", height="44px"),
            )
        if before is not None:
            tick.value = before.tick.value
            if minutes is not None and before.minutes is not None:
                minutes.value = before.minutes.value
        row = widgets.HBox(
            [tick] if minutes is None else [tick, minutes],
            layout=widgets.Layout(flex_flow="row wrap", width="min(100%, 36rem)"),
        )
        line = _Line(kit, due, in_use, tick, minutes, row)
        tick.observe(self._told, names="value")
        if minutes is not None:
            minutes.observe(lambda _change: self._typed(line), names="value")
        return line

    def _typed(self, line: _Line) -> None:
        # Whoever writes how long a test takes means to make it.
        self._filling = True
        try:
            line.tick.value = bool(line.minutes is not None and line.minutes.value.strip())
        finally:
            self._filling = False
        self._changed()

    def _told(self, _change: Any) -> None:
        if not self._filling:
            self._changed()

    def chosen(self) -> tuple[list[Chosen], list[str]]:
        """Return the kits ticked, and why some of them cannot be planned.

        Returns
        -------
        tuple of (list of Chosen, list of str)
            Kits with their minutes of work; one sentence for each that is left out.
        """
        found: list[Chosen] = []
        unknown: list[str] = []
        left_out: list[str] = []
        for line in self._lines.values():
            if not line.tick.value:
                continue
            if line.kit.hands_min is not None:
                found.append(Chosen(line.kit))
                continue
            text = "" if line.minutes is None else line.minutes.value.strip()
            if not text:
                unknown.append(line.kit.name)
                continue
            try:
                minutes = _minutes(line.kit, text)
            except ReefError as error:
                left_out.append(f"{line.kit.name} is left out: {error}")
            else:
                found.append(Chosen(replace(line.kit, hands_min=minutes), minutes_typed=True))
        if unknown:
            one = len(unknown) == 1
            left_out.append(
                f"Left out: {', '.join(unknown)}. kits.toml does not say how long "
                f"{'it takes' if one else 'they take'}: type the minutes of work beside "
                f"{'it' if one else 'them'}, or write hands_min in kits.toml."
            )
        return found, left_out


def _minutes(kit: Kit, text: str) -> float:
    where = f"{kit.name}, minutes of work"
    minutes = parse_typed_number(text, where)
    if not 0 < minutes <= 240:
        raise InputError("minutes above 0, up to 240", text, "Type the minutes of work.", where)
    return minutes


def _due(kit: Kit, tank: Tank, now: pd.Timestamp) -> tuple[Due, bool]:
    """How long ago the element was tested, and whether it was with this kit."""
    table = tank.readings
    rows = table[(table["water"] == "tank") & (table["element"] == kit.element)]
    if not len(rows):
        return Due(), True
    local = rows["time"].dt.tz_convert(now.tz)
    days = local.dt.tz_localize(None).dt.normalize()
    numbers = ((days - pd.Timestamp(0)) / pd.Timedelta(days=1)).astype(int)
    today = (now.tz_localize(None).normalize() - pd.Timestamp(0)).days
    past = numbers[numbers <= today]
    last_kits = set(rows.loc[past[past == past.max()].index, "kit"]) if len(past) else set()
    return due_test(numbers.tolist(), today), kit.name in last_kits
