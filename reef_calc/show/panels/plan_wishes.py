"""The fields of the plan page: first day, length, aims, supplements, limits and water changes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.limewater import limewater
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank
from reef_calc.plan.wishes import MOST_DOSES, PlanWishes, WaterChanges
from reef_calc.show.panels.plan_fields import typed_day
from reef_calc.show.panels.plan_reactor import ReactorFields
from reef_calc.show.wording import element_name

DAYS = 30
# Warmth of the container that the strength of limewater depends on.
LIME_TEMPERATURE = 25.0
CONFIRM = "Aims beyond the caution levels are meant, and a second kit or a standard agreed"


class WishesForm:
    """Everything a keeper may wish of a plan, each field empty or as the tank folder says.

    Parameters
    ----------
    changed : callable
        Called after every change of a field.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed, self._filling = changed, False
        self._tank: Tank | None = None
        self.start = self._field("First day", "Year-month-day of the first day of the plan")
        self.days = self._field("Days", "Length of the plan in days; a month is usual")
        self.aims: dict[str, widgets.Text] = {}
        self.rises: dict[str, widgets.Text] = {}
        self.levels: dict[str, widgets.Text] = {}
        self.uses: dict[str, widgets.Text] = {}
        self.allowed: dict[str, widgets.Checkbox] = {}
        self.stocks: dict[str, widgets.Text] = {}
        self.most: dict[str, widgets.Text] = {}
        self.confirm = self._box(CONFIRM, "Without it such aims are not followed", value=False)
        self.doses = self._field("Doses a day", "At most so many of one supplement; 1 by hand")
        self.lime = self._field(
            "Limewater, L a day",
            "What evaporates each day and is replaced with saturated limewater",
        )
        self.reactor = ReactorFields(self._field)
        self.litres = self._field("Change, L", "Litres of each water change; 0 for none")
        self.every = self._field("Every, days", "Days from one water change to the next")
        self._parts = {
            name: widgets.VBox([])
            for name in ("Aims", "Supplements", "Limits", "Level and use", "Water changes")
        }
        self.more = widgets.Accordion(
            list(self._parts.values()), titles=tuple(self._parts), selected_index=None
        )
        self.box = widgets.VBox([_row([self.start, self.days]), self.more])

    def offer(self, tank: Tank, start: dt.date) -> None:
        """Fill the fields from a tank folder; what was typed for another tank is forgotten.

        Parameters
        ----------
        tank : Tank
            An opened tank folder.
        start : datetime.date
            First day offered.
        """
        self._filling = True
        try:
            self._tank = tank
            self.start.value, self.days.value = start.isoformat(), str(DAYS)
            self.reactor.clear()
            for field in (self.doses, self.lime, self.litres, self.every):
                field.value = ""
            self.doses.placeholder = str(MOST_DOSES)
            self.litres.placeholder = self.every.placeholder = "as in the last weeks"
            self.lime.placeholder = "none"
            self.confirm.value = False
            self._offer_elements(tank)
            self._offer_supplements(tank)
        finally:
            self._filling = False

    def read(self) -> tuple[dt.date, int, PlanWishes]:
        """Return first day, length and wishes as they stand in the fields.

        Returns
        -------
        tuple
            First day, days, wishes.

        Raises
        ------
        InputError
            For a text that is no number or no day.
        """
        days = _number(self.days, "Days")
        if days is None:
            raise InputError("whole days", "nothing", "Write 30 for a month.", "Days")
        if days != int(days):
            raise InputError("whole days", self.days.value, "Write 30 for a month.", "Days")
        return typed_day(self.start.value, "First day"), int(days), self._wishes()

    def _wishes(self) -> PlanWishes:
        tank = self._tank
        if tank is None:
            return PlanWishes()
        aims = {}
        for name, field in self.aims.items():
            aim = tank.aims[name]
            typed = _number(field, f"aim of {name}")
            # Typing the aim of the folder is a wish too: then it is followed even where the readings
            # show no difference.
            if typed is not None:
                aims[name] = (min(aim.low, typed), typed, max(aim.high, typed))
        doses = _number(self.doses, "Doses a day")
        if doses is not None and doses != int(doses):
            raise InputError("whole doses a day", self.doses.value, "Write 6.", "Doses a day")
        lime = _number(self.lime, "Limewater")
        most: dict[str, tuple[float, str]] = {
            name: (value, "what you typed as the most a day")
            for name, value in _numbers(self.most, "most a day of ").items()
        }
        extra: tuple[Supplement, ...] = ()
        if lime:
            water = limewater(LIME_TEMPERATURE, evaporation_L_per_day=lime)
            extra = (water,)
            most[water.name] = (1000.0 * lime, "what evaporates")
        reactor = self.reactor.supplement(tank)
        if reactor is not None:
            extra += (reactor,)
            most[reactor.name] = (reactor.limits["mL_per_day"], "what the reactor can give")
        left_out = [name for name, box in self.allowed.items() if not box.value]
        kept = tuple(name for name, box in self.allowed.items() if box.value)
        return PlanWishes(
            aims=aims,
            uses={n: (v, None) for n, v in _numbers(self.uses, "use of ").items()},
            levels={n: (v, 0.0) for n, v in _numbers(self.levels, "level of ").items()},
            allowed=(*kept, *(s.name for s in extra)) if left_out else None,
            extra=extra,
            rise_per_day=_numbers(self.rises, "largest rise of "),
            most_per_day=most,
            stock=_numbers(self.stocks, "amount at hand of "),
            water_changes=self._changes(),
            most_doses=MOST_DOSES if doses is None else int(doses),
            confirmed=tuple(tank.aims) if self.confirm.value else (),
        )

    def _changes(self) -> WaterChanges | None:
        litres, every = _number(self.litres, "Change, L"), _number(self.every, "Every, days")
        if litres is None and every is None:
            return None
        if litres is None:
            raise InputError("litres of a change", "nothing", "Write 0 for none.", "Change, L")
        if every is not None and every != int(every):
            raise InputError("whole days", self.every.value, "Write 7.", "Every, days")
        return WaterChanges(litres, 7 if every is None else int(every))

    def _offer_elements(self, tank: Tank) -> None:
        added = {name for one in tank.supplements.values() for name, x in one.adds.items() if x > 0}
        planned = [
            n
            for n in ELEMENTS
            if n in tank.aims and n in added and ELEMENTS[n].behaviour != "state"
        ]
        self.aims, self.rises, self.levels, self.uses = {}, {}, {}, {}
        for name in planned:
            aim, title = tank.aims[name], element_name(name)
            words = f"{title}, {aim.unit}"
            self.aims[name] = self._field(words, f"Level of {name} to aim for")
            self.aims[name].placeholder = f"{aim.aim:g}"
            self.rises[name] = self._field(
                f"{words} a day", f"{title} rises by at most so much a day; stricter wins"
            )
            if aim.rise_per_day is not None:
                self.rises[name].placeholder = f"{aim.rise_per_day:g}"
            self.levels[name] = self._field(f"{words} now", "Instead of the last readings")
            self.levels[name].placeholder = "from the readings"
            self.uses[name] = self._field(f"{words} used a day", "Instead of what the log tells")
            self.uses[name].placeholder = "from the log"
        self._parts["Aims"].children = (_row(self.aims.values()), self.confirm)
        self._parts["Level and use"].children = (
            _row(self.levels.values()), _row(self.uses.values()),
        )  # fmt: skip

    def _offer_supplements(self, tank: Tank) -> None:
        self.allowed, self.stocks, self.most = {}, {}, {}
        for name, one in tank.supplements.items():
            self.allowed[name] = self._box(name, f"Whether the plan may use {name}", value=True)
            self.stocks[name] = self._field(
                f"{name}, {one.unit} at hand", "What is left of it for the whole plan"
            )
            self.most[name] = self._field(
                f"{name}, {one.unit} a day", "At most so much a day, as set on the pump"
            )
            limit = one.limits.get(f"{one.unit}_per_day")
            self.most[name].placeholder = "no limit" if limit is None else f"{limit:g}"
        self._parts["Supplements"].children = (
            widgets.VBox(list(self.allowed.values())), _row([self.lime, self.doses]), self.reactor.box,
            _row(self.stocks.values()),
        )  # fmt: skip
        self._parts["Limits"].children = (_row(self.rises.values()), _row(self.most.values()))
        self._parts["Water changes"].children = (_row([self.litres, self.every]),)

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style={"description_width": "15em"},
            layout=widgets.Layout(width="min(100%, 25em)"),
        )
        found.observe(self._tell, names="value")
        return found

    def _box(self, description: str, tooltip: str, *, value: bool) -> widgets.Checkbox:
        found = widgets.Checkbox(
            value=value,
            description=description,
            tooltip=tooltip,
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        found.observe(self._tell, names="value")
        return found

    def _tell(self, _change: Any) -> None:
        if not self._filling:
            self._changed()


def _row(controls: Any) -> widgets.HBox:
    return widgets.HBox(list(controls), layout=widgets.Layout(flex_flow="row wrap"))


def _number(field: widgets.Text, where: str) -> float | None:
    return parse_typed_number(field.value, where) if field.value.strip() else None


def _numbers(fields: Mapping[str, widgets.Text], where: str) -> dict[str, float]:
    found = {name: _number(field, f"{where}{name}") for name, field in fields.items()}
    return {name: value for name, value in found.items() if value is not None}
