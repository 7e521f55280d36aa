"""What is tested: kit, water, lot, time of the sample."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.kits import Kit
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.times import parse_time
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import WIDE_LABEL
from reef_calc.show.panels.raw_entry import TALL
from reef_calc.show.wording import element_name

STUDY = "a study"
_AHEAD = dt.timedelta(minutes=2)  # clocks of a kernel and of a wall differ


class SampleChoice:
    """The controls above the steps.

    Parameters
    ----------
    kit_chosen, changed, time_changed : callable
        Called after another kit; after another lot or study; after another water or time.
    """

    def __init__(
        self,
        kit_chosen: Callable[[], None],
        changed: Callable[[], None],
        time_changed: Callable[[], None],
    ) -> None:
        self._bench: Bench | None = None
        self._filling = False
        self._shown = ""
        self.kit = widgets.Dropdown(description="Kit", tooltip="The kit in your hand", **_field())
        self.water = widgets.Dropdown(
            description="Water", tooltip="What is in the vial", **_field()
        )
        self.study = widgets.Text(
            description="Study, level", tooltip="Name of the study and of its level", **_field()
        )
        self.lot = widgets.Dropdown(description="Lot", tooltip="Lot of the reagents", **_field())
        self.time = widgets.Text(
            description="Sampled at",
            placeholder="now",
            tooltip="Empty: now. Or 18:30, or 2026-11-25T18:30",
            **_field(),
        )
        self.topped = widgets.Dropdown(
            options=(("not asked", ""), ("yes", "yes"), ("no", "no")),
            description="Topped off?",
            tooltip="Whether evaporated water was topped up before the sample was taken",
            **_field(),
        )
        self.box = widgets.VBox(
            [self.kit, self.water, self.study, self.lot, self.time, self.topped]
        )
        self.kit.observe(lambda _: self._unless_filling(kit_chosen), names="value")
        self.water.observe(lambda _: self._unless_filling(time_changed), names="value")
        self.time.observe(lambda _: self._unless_filling(time_changed), names="value")
        self.lot.observe(lambda _: self._unless_filling(changed), names="value")
        self.study.observe(lambda _: self._unless_filling(changed), names="value")

    def _unless_filling(self, action: Callable[[], None]) -> None:
        if not self._filling:
            action()

    def show(self, bench: Bench) -> None:
        """Offer the kits of a tank; the chosen one stays where it is still there.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        """
        self._bench = bench
        kits = bench.tank.kits
        options = [
            (f"{name} · {element_name(kit.element) if kit.element else 'a report'}", name)
            for name, kit in kits.items()
        ]
        chosen = self.kit.value if self.kit.value in kits else next(iter(kits), None)
        self._fill(self.kit, options, chosen)

    def show_kit(self, kit: Kit) -> None:
        """Offer the waters and lots of a kit.

        Parameters
        ----------
        kit : Kit
            The kit.
        """
        bench = self._needed()
        standards = [
            (f"standard {name}", f"standard {name}")
            for name, one in bench.tank.standards.items()
            if one.element == kit.element
        ]
        waters = [("tank", "tank"), ("new water", "new water"), *standards, (STUDY, STUDY)]
        chosen = self.water.value if self.water.value in [v for _, v in waters] else "tank"
        self._fill(self.water, waters, chosen)
        names = [one.name for one in kit.lots]
        same = self._shown == f"{bench.tank.folder}/{kit.name}" and self.lot.value in (*names, "")
        self._shown = f"{bench.tank.folder}/{kit.name}"
        lot = self.lot.value if same else newest_lot(kit, bench.now().date())
        self._fill(self.lot, [*((n, n) for n in names), ("not known", "")], lot)
        self.show_water()

    def show_water(self) -> None:
        """Show the questions that belong to the chosen water."""
        self.study.layout.display = "" if self.water.value == STUDY else "none"
        self.topped.layout.display = "" if self.water.value == "tank" else "none"

    def chosen_kit(self) -> Kit:
        """Return the kit that was chosen.

        Returns
        -------
        Kit
            As described.

        Raises
        ------
        CannotTellError
            If none is described.
        """
        kits = self._needed().tank.kits
        if self.kit.value not in kits:
            raise CannotTellError("No kit is described yet: write one into kits.toml.")
        return kits[self.kit.value]

    def water_name(self) -> str:
        """Return the water as the log names it.

        Returns
        -------
        str
            ``tank``, ``new water``, ``standard NAME`` or ``study NAME LEVEL``.

        Raises
        ------
        InputError
            If a study has no name or no level.
        """
        if self.water.value != STUDY:
            return str(self.water.value)
        name = " ".join(self.study.value.split())
        if len(name.split()) < 2:
            raise InputError(
                "the study's name and its level", name or "nothing", "Such as: spring 3.", "Study"
            )
        return f"study {name}"

    def moment(self) -> dt.datetime:
        """Return when the sample was taken, in the tank's zone.

        Returns
        -------
        datetime.datetime
            Now, where nothing was typed.

        Raises
        ------
        InputError
            If the text is no time, or lies ahead.
        """
        bench = self._needed()
        text, now = self.time.value.strip(), bench.now().to_pydatetime()
        if not text:
            return now
        if ":" in text and len(text) <= 5:
            text = f"{now.date().isoformat()}T{text.zfill(5)}"
        moment = parse_time(text, bench.tank.zone, now=now, where="Sampled at")
        if moment.utc > now.astimezone(dt.UTC) + _AHEAD:
            raise InputError(
                "a time that is past", text, "Check it, or leave it empty for now.", "Sampled at"
            )
        return moment.utc.astimezone(bench.tank.zone)

    def top_off_words(self) -> str:
        """Return what is known about topping off, for the note.

        Returns
        -------
        str
            Empty where it was not asked.
        """
        if self.water.value != "tank":
            return ""
        words = {"yes": "topped off before sampling", "no": "sampled before top-off"}
        return words.get(self.topped.value, "")

    def clear(self) -> None:
        """Forget time and top-off: the next sample is another one."""
        self._filling = True
        try:
            self.time.value, self.topped.value = "", ""
        finally:
            self._filling = False

    def _needed(self) -> Bench:
        if self._bench is None:
            raise CannotTellError("Open a tank folder first.")
        return self._bench

    def _fill(self, control: widgets.Dropdown, options: list[Any], value: Any) -> None:
        if (tuple(options), value) == (control.options, control.value):
            return
        self._filling = True
        try:
            control.options = options
            control.value = value
        finally:
            self._filling = False


def _field() -> dict[str, Any]:
    # A layout of its own for each: one that is shared would hide them all together.
    return {"style": WIDE_LABEL, "layout": widgets.Layout(width="min(100%, 26em)", height=TALL)}


def newest_lot(kit: Kit, day: dt.date) -> str:
    """Return the lot opened last, or an empty text without one.

    Parameters
    ----------
    kit : Kit
        The kit.
    day : datetime.date
        Today: a lot opened later is not offered.

    Returns
    -------
    str
        Name of the lot.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Lot
    >>> lots = (Lot("A", dt.date(2026, 1, 5)), Lot("B", dt.date(2026, 3, 1)))
    >>> newest_lot(Kit("acid", "alkalinity", "meter", "dKH", lots=lots), dt.date(2026, 2, 1))
    'A'
    """
    opened = [one for one in kit.lots if one.opened is None or one.opened <= day]
    newest = max(opened, key=lambda one: one.opened or dt.date.min, default=None)
    return newest.name if newest else ""
