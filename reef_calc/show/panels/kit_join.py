"""Joining histories: which kit took over, by how much it reads higher, and the history on one scale."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import ipywidgets as widgets

from reef_calc.balance.about_joins import signed
from reef_calc.compare.joined import joined_history
from reef_calc.compare.kit_names import split_name
from reef_calc.compare.overlap import overlap_advice
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.joins import NEW_WATER_SCALES, Join
from reef_calc.log.joins_file import add_join, remove_join
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.joined_figure import joined_svg
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.kit_view import Comparing, KitView, number_in
from reef_calc.show.panels.plan_fields import typed_day
from reef_calc.show.wording import escape

FROM_LOG, FROM_STUDY = "the readings of the log tell", "a study told"


class JoinView(KitView):
    """Store that kit B took over from kit A; raw readings stay as they are."""

    def __init__(self) -> None:
        self._comparing: Comparing | None = None
        self.start = self._field("B in use from", "Day from which kit B is the kit in use")
        self.source = widgets.ToggleButtons(
            options=(FROM_LOG, FROM_STUDY),
            description="Difference",
            tooltips=[
                "Only the tank's own readings; they are counted anyway",
                "From readings that do not stand in the tank's history",
            ],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.source.observe(lambda _: self._changed(), names="value")
        self.mean = self._field("B reads higher by", "Difference B less A of the study")
        self.u = self._field("Half of its interval", "Half of the 95 % interval of the study")
        self.scale = widgets.Dropdown(
            options=[(text, text) for text in NEW_WATER_SCALES],
            description="New water is on",
            tooltip="Whose scale the level of the new water is on: it decides more than many overlaps",
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 24em)"),
        )
        self.note = self._field("Note", "Your words")
        self.save = widgets.Button(
            description="Join the histories",
            tooltip="Written into joins.toml; no reading is changed",
            layout=widgets.Layout(width="auto", height="36px"),
        )
        self.save.on_click(lambda _: self._press(self._save))
        self.stored = widgets.Dropdown(
            description="Stored joins",
            tooltip="Joins of this element",
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 34em)"),
        )
        self.undo = widgets.Button(
            description="Take this join back",
            tooltip="Removes it from joins.toml",
            layout=widgets.Layout(width="auto", height="36px"),
        )
        self.undo.on_click(lambda _: self._press(self._remove))
        self._study = _row([self.mean, self.u])
        self._shown = widgets.HTML()
        self.box = widgets.VBox(
            [
                widgets.HTML('<div class="rc"><h2>Kit B took over from kit A</h2></div>'),
                _row([self.start, self.scale]),
                self.source,
                self._study,
                _row([self.note, self.save]),
                _row([self.stored, self.undo]),
                self._shown,
            ]
        )

    def show(self, comparing: Comparing) -> None:
        """Show the history of an element on one scale.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        """
        self._comparing = comparing
        told = self.empty_typed(
            (self.start, self.mean, self.u),
            str(comparing.tank.folder), comparing.element, comparing.unit, comparing.kit_a,
            comparing.kit_b,
        )  # fmt: skip
        self._offer(comparing)
        self.told_besides(comparing, told, self._work_out)

    def _own(self, comparing: Comparing) -> list[Join]:
        return [one for one in comparing.tank.joins if one.element == comparing.element]

    def _offer(self, comparing: Comparing) -> None:
        self._filling = True
        try:
            first = _first_day(comparing)
            self.start.placeholder = "not set" if first is None else first.isoformat()
            names = [(_words(one), i) for i, one in enumerate(self._own(comparing))]
            if tuple(names) != tuple(self.stored.options):
                self.stored.options = names
                self.stored.value = names[-1][1] if names else None
            self.undo.disabled = not names
        finally:
            self._filling = False
        self._study.layout.display = "" if self.source.value == FROM_STUDY else "none"

    def _changed(self) -> None:
        if self._comparing is not None and not self._filling:
            self._comparing.say("", "told")
            guarded(self._comparing.say, self._work_out)()
            self._study.layout.display = "" if self.source.value == FROM_STUDY else "none"

    def _work_out(self) -> None:
        comparing = self._comparing
        self._shown.value = ""
        if comparing is None:
            return
        if not self._own(comparing):
            inner = (
                "<h2>The history on one scale</h2><p>No join of this element is stored. Until one is, "
                "a new kit or lot counts as an unknown step of its own.</p>"
            )
        else:
            inner = _joined(comparing)
        self._shown.value = (
            f'<div class="rc" data-view="Join histories">{inner}{_advice(comparing)}'
            f"{comparing.not_used(days=False)}</div>"
        )

    def _press(self, action: Any) -> None:
        if self._comparing is None:
            return
        self.save.disabled = self.undo.disabled = True
        try:
            guarded(self._comparing.say, action)()
        finally:
            self.save.disabled = False
            self.undo.disabled = not self.stored.options

    def _save(self) -> None:
        comparing = self._comparing
        if comparing is None or not comparing.kit_b or comparing.kit_a == comparing.kit_b:
            raise CannotTellError("Choose two kits, or two lots of one, first.")
        kits = frozenset(comparing.tank.kits)
        old, old_lot = split_name(comparing.kit_a, kits)
        new, new_lot = split_name(comparing.kit_b, kits)
        start = _first_day(comparing)
        if self.start.value.strip():
            start = typed_day(self.start.value, "B in use from")
        if start is None:
            raise InputError(
                "the day from which kit B is in use", "nothing", "Type it.", "B in use from"
            )
        _check_order(comparing, start)
        mean = u = None
        if self.source.value == FROM_STUDY:
            mean, half = number_in(self.mean), number_in(self.u)
            if not half > 0.0:
                raise InputError(
                    "half of an interval, above 0", self.u.value.strip(),
                    "Write the number behind ± of the study.", "Half of its interval",
                )  # fmt: skip
            u = half / 1.96
        add_join(
            comparing.tank.folder,
            Join(
                comparing.element, start, new, new_lot or "", old, old_lot or "", mean, u,
                comparing.unit, "study" if mean is not None else "log", self.scale.value,
                self.note.value.strip(),
            ),
        )  # fmt: skip
        wrong = comparing.reload()
        comparing.say(
            "Kept in joins.toml. The estimate takes it from now on; readings stay as read. "
            f"{wrong}".strip(),
            "told",
        )

    def _remove(self) -> None:
        comparing = self._comparing
        if comparing is None or self.stored.value is None:
            return
        remove_join(comparing.tank.folder, self._own(comparing)[self.stored.value])
        wrong = comparing.reload()
        comparing.say(f"Taken back. {wrong}".strip(), "told")

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 24em)"),
        )
        found.observe(lambda _: self._changed(), names="value")
        return found


def _joined(comparing: Comparing) -> str:
    history = joined_history(comparing.tank, comparing.element, comparing.until)
    said = [*history.sentences, *history.messages]
    if history.aims:
        said.append(history.aims)
    kit = comparing.tank.kits.get(split_name(comparing.kit_b, frozenset(comparing.tank.kits))[0])
    step = 0.1 if kit is None or kit.resolution <= 0.0 else kit.resolution
    decimals = max(decimals_for(step), 0)
    aim = comparing.tank.aims.get(comparing.element)
    band = None if aim is None else (aim.low, aim.high)
    pictures = "".join(
        f'<div class="rc-{name}">{joined_svg(history, decimals=decimals, width=width, aim=band)}</div>'
        for name, width in (("wide", 980), ("narrow", 600))
    )
    items = "".join(f"<li>{escape(text)}</li>" for text in dict.fromkeys(said))
    return f"<h2>The history on one scale</h2><ul>{items}</ul>{pictures}"


def _advice(comparing: Comparing) -> str:
    """Return how many waters to test with both before the old kit is empty."""
    kits = comparing.tank.kits
    names = [split_name(k, frozenset(kits))[0] for k in (comparing.kit_a, comparing.kit_b)]
    old, new = (kits.get(name) for name in names)
    aim = comparing.tank.aims.get(comparing.element)
    if old is None or new is None or aim is None or comparing.kit_a == comparing.kit_b:
        return ""
    if old.unit != comparing.unit or new.unit != comparing.unit:
        return ""
    sd_old, sd_new = (math.hypot(k.sd(aim.aim), k.resolution / math.sqrt(12)) for k in (old, new))
    advice = overlap_advice(
        comparing.element,
        comparing.unit,
        comparing.kit_a,
        comparing.kit_b,
        sd_old=sd_old,
        sd_new=sd_new,
        tests_left=old.tests_left,
    )
    items = "".join(f"<li>{escape(text)}</li>" for text in advice.sentences)
    return f"<h2>Before the old kit is empty</h2><ul>{items}</ul>"


def _first_day(comparing: Comparing) -> dt.date | None:
    """Return the first day on which kit B read the element."""
    days = _days_read(comparing, comparing.kit_b)
    return None if days is None else days[0]


def _days_read(comparing: Comparing, name: str) -> tuple[dt.date, dt.date] | None:
    """Return the first and the last day on which a kit read the element."""
    kit, lot = split_name(name, frozenset(comparing.tank.kits))
    own = comparing.tank.readings
    own = own[(own["element"] == comparing.element) & (own["kit"] == kit)]
    if lot is not None:
        own = own[own["lot"] == lot]
    if own.empty:
        return None
    first, last = (
        t.tz_convert(comparing.tank.zone).date() for t in own["time"].agg(["min", "max"])
    )
    return first, last


def _check_order(comparing: Comparing, start: dt.date) -> None:
    """Refuse a day before which nothing was read with the old kit, or after which nothing with B."""
    old, new = (_days_read(comparing, kit) for kit in (comparing.kit_a, comparing.kit_b))
    if old is not None and start <= old[0]:
        raise InputError(
            f"a day after the first reading with kit A, {old[0].isoformat()}", start.isoformat(),
            "Type the day from which kit B is in use, or exchange kit A and kit B.",
            "B in use from",
        )  # fmt: skip
    if new is not None and start > new[1]:
        raise InputError(
            f"a day up to the last reading with kit B, {new[1].isoformat()}", start.isoformat(),
            "Type the day from which kit B is in use.", "B in use from",
        )  # fmt: skip


def _words(join: Join) -> str:
    new = f"{join.kit} {join.lot}".strip()
    old = f"{join.relative_to_kit} {join.relative_to_lot}".strip()
    if join.mean is None or join.u is None:
        by = "by the log"
    else:
        half = 1.96 * join.u
        by = f"{signed(join.mean, half)} ± {fixed(half, decimals_for(half))} {join.unit}"
    return f"{join.start.isoformat()}: {new} after {old}, {by}"


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap", grid_gap="6px"))
