"""The view "Change a supplement": from one to another with the supply kept, and did it work."""

from __future__ import annotations

import contextlib
from typing import Any

import ipywidgets as widgets
import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import CannotTellError, InputError, ReefError
from reef_calc.log.tank import Tank
from reef_calc.plan.doses_set import DoseSetNow, set_now
from reef_calc.show.panels.common import download_html, guarded
from reef_calc.show.panels.plan_change_new import NewSupplement
from reef_calc.show.panels.plan_fields import day_in, first_day, water_now, whole
from reef_calc.show.panels.plan_outcome import DidItWork
from reef_calc.show.panels.plan_result import Offered, PlanResult, framed
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.panels.standard_fields import (
    choice_field,
    fill,
    number,
    optional_number,
    row,
    text_field,
)
from reef_calc.show.stock_on_tank import clashing
from reef_calc.show.supplement_change_tables import swap_csv
from reef_calc.show.supplement_change_view import swap_html
from reef_calc.show.supplement_swap import Swap, kept_elements, swap
from reef_calc.show.wording import element_name

VIEW = "Change a supplement"
_DAYS = "7"


class ChangeSupplementView(PlanView):
    """Choose from and to; read the equivalent dose, the days to follow, and later whether it worked.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self) -> None:
        self.result = PlanResult(VIEW)
        self._filling, self._offered = False, Offered()
        self._set: dict[str, DoseSetNow] = {}
        self.old = choice_field("From", "What is dosed today; those in use come first")
        self.new = NewSupplement(self._draw)
        self.element = choice_field("Keep", "The element whose supply stays as it is")
        self.now = text_field("From, a day", "Amount of it that is set today, mL or g a day")
        self.left = text_field("Left of it", "What is left of it, mL or g; empty if not known")
        self.days = text_field("Over days", "Days of the change; a week is usual", _DAYS)
        self.start = text_field("Day 1", "First day of the change, such as 2026-09-30")
        self.doses = text_field(
            "Doses a day, new", "How often a day the new one is given; empty: as the limits allow"
        )
        self.step = text_field(
            "Pump step, new", "Smallest step of one dose, mL or g; empty: as in its description"
        )
        self.links = widgets.HTML()
        self.outcome = DidItWork()
        self.box = widgets.VBox(
            [
                row(self.old, self.now, self.left),
                self.new.box,
                row(self.element, self.days, self.start, self.doses, self.step),
                self.result.box,
                self.links,
                self.outcome.box,
            ]
        )
        self._act = guarded(self._fail, self._work_out)
        self.old.observe(self._old_changed, names="value")
        for control in (
            self.element, self.now, self.left, self.days, self.start, self.doses, self.step,
        ):  # fmt: skip
            control.observe(self._changed, names="value")

    def show(self, planning: Planning) -> None:
        """Show a tank; what was typed stays.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before = self.result.planning
        self.result.planning = planning
        tank, at = planning.tank, pd.Timestamp(first_day(planning), tz=planning.tank.zone)
        self._filling = True
        try:
            self._set = {
                name: set_now(tank, name, at.tz_convert("UTC")) for name in tank.supplements
            }
            names = sorted(self._set, key=lambda name: not self._set[name].lately)
            chosen = max(names, key=lambda name: self._rank(tank, name), default=None)
            fill(self.old, [(self._words(tank, name), name) for name in names], chosen)
            offer = self._offered.offer
            if before is not None and before.tank.folder != tank.folder:
                # What was typed belongs to the tank before.
                offer = self._offered.renew
                self.left.value = self.doses.value = self.step.value = ""
            offer(self.start, f"{first_day(planning):%Y-%m-%d}")
            offer(self.now, self._amount())
            self._fit()
        finally:
            self._filling = False
        self._draw()
        self.outcome.show(planning)

    def _rank(self, tank: Tank, name: str) -> tuple[bool, bool]:
        return self._set[name].amount > 0.0, tank.supplements[name].adds.get(
            "alkalinity", 0.0
        ) > 0.0

    def _words(self, tank: Tank, name: str) -> str:
        now, unit = self._set[name], tank.supplements[name].unit
        if now.amount > 0.0:
            return f"{name}: {now.amount:.4g} {unit} a day"
        return f"{name}: {'by hand lately' if now.lately else 'not in use'}"

    def _amount(self) -> str:
        now = self._set.get(self.old.value or "")
        return f"{now.amount:.6g}" if now is not None and now.amount > 0.0 else ""

    def _old_changed(self, _change: Any) -> None:
        if self._filling:
            return
        self._filling = True
        try:
            # Amount and rest belong to the container that was chosen before.
            self._offered.renew(self.now, self._amount())
            self.left.value = ""
            self._fit()
        finally:
            self._filling = False
        self._draw()

    def _changed(self, _change: Any) -> None:
        if not self._filling:
            self._draw()

    def _old(self) -> Supplement | None:
        planning = self.result.planning
        if planning is None or self.old.value is None:
            return None
        return planning.tank.supplements.get(self.old.value)

    def _fit(self) -> None:
        """Offer what can take its place, and the elements that both add."""
        planning, old = self.result.planning, self._old()
        if planning is not None:
            self.new.offer(planning.tank, old)
        self._fit_elements()

    def _fit_elements(self) -> None:
        old, both = self._old(), []
        # What is wrong with the fields is told when the change is worked out.
        with contextlib.suppress(ReefError):
            both = kept_elements(old, self.new.read()) if old is not None else []
        before, self._filling = self._filling, True
        try:
            fill(self.element, [(element_name(one), one) for one in both])
        finally:
            self._filling = before

    def _draw(self) -> None:
        if self.result.planning is not None:
            self._fit_elements()
            self._act()

    def _fail(self, text: str, kind: str) -> None:
        self.links.value = ""
        self.result.fail(text, kind)

    def _work_out(self) -> None:
        found = self.found()
        planning = self.result.planning
        others = planning.tank.supplements if planning is not None else {}
        apart = [n for n in clashing(others, found.change.new) if n != found.change.old.name]
        self.result.show(swap_html(found, apart))
        name = f"from {found.change.old.name} to {found.change.new.name}.csv"
        link = download_html(name, swap_csv(found), "Save the days (CSV)", "text/csv")
        self.links.value = framed(VIEW, link)

    def found(self) -> Swap:
        """Return the change as the fields have it.

        Returns
        -------
        Swap
            The change.

        Raises
        ------
        InputError, CannotTellError
            For a field that cannot be used.
        """
        planning, old = self.result.planning, self._old()
        if planning is None or old is None:
            raise CannotTellError(
                "No supplement is described yet: write one in supplements.toml, or keep one under "
                "“Make a stock”."
            )
        new, tank = self.new.read(), planning.tank
        if self.element.value is None:
            raise InputError(
                f"a supplement that adds what {old.name} adds", new.name,
                "Choose another, or another one to change from.", "To",
            )  # fmt: skip
        if not self.now.value.strip():
            raise InputError(
                f"the amount of {old.name} a day", "nothing",
                "The log shows none set today. Type what is dosed.", self.now.description,
            )  # fmt: skip
        left = optional_number(self.left)
        if left is not None and left < 0.0:
            raise InputError(
                "an amount of 0 or more", f"{left:g}", "Type what is left.", "Left of it"
            )
        element, aims = self.element.value, tank.aims
        unit = aims[element].unit if element in aims else ELEMENTS[element].display_unit
        doses, set_today = optional_number(self.doses), self._set[old.name]
        return swap(
            old,
            new,
            element,
            unit,
            number(self.now),
            water_now(planning),
            start=day_in(self.start),
            days=whole(number(self.days), self.days),
            doses_old=set_today.doses if set_today.amount > 0.0 else 1,
            doses_new=None if doses is None else whole(doses, self.doses),
            step_new=optional_number(self.step),
            left=left,
            companions=tank.supplements,
        )
