"""The comparison page: one tank folder, one element, two kits, and the views of how they differ."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.elements import ELEMENTS
from reef_calc.errors import InputError, ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.comparison_style import STYLE
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    guarded,
    message_html,
    style_widget,
)
from reef_calc.show.panels.folder_choice import folder_field, tank_in
from reef_calc.show.panels.kit_choice import elements_with_kits, first_two, kits_of
from reef_calc.show.panels.kit_view import Comparing, KitView, number_in
from reef_calc.show.panels.plan_fields import typed_day
from reef_calc.show.wording import element_name

VIEWS: dict[str, tuple[str, str, str]] = {
    "From the log": (
        "kit_from_log",
        "FromLogView",
        "From all readings of the tank, no pairs needed",
    ),
    "Side by side": (
        "kit_side_by_side",
        "SideBySideView",
        "Waters read with both; any two columns",
    ),
    "Study": ("kit_study", "StudyView", "Plan a study before a drop is spent, and judge it"),
    "Join histories": ("kit_join", "JoinView", "An old history on the new kit's scale"),
    "Which to believe": ("kit_belief", "BeliefView", "What standards say of each kit"),
    "Lots and persons": ("kit_lots", "LotsView", "More than two at once"),
}
PAGE_STYLE = """
.rc-kits-page .jupyter-widget-Collapse-header,.rc-kits-page .jupyter-widget-Collapse-header span{
 color:var(--jp-ui-font-color0)}
"""


class KitComparisonPanel:
    """Choose a tank folder, an element and two kits, and see how they differ.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder shown first.
    places : sequence of pathlib.Path, optional
        Folders whose tanks are offered in the list.

    Attributes
    ----------
    tank : Tank or None
        As read just now.
    """

    def __init__(self, folder: str | Path, places: tuple[str | Path, ...] = ()) -> None:
        self.tank: Tank | None = None
        self.views: dict[str, KitView] = {}
        self._filling = False
        self._allowed_for = ("", "")
        self.folder = folder_field(folder, places)
        self.element = self._choice("Element", "The element whose kits are compared")
        self.kit_a = self._choice("Kit A", "Differences are B less A")
        self.kit_b = self._choice("Kit B", "Differences are B less A")
        self.since = self._field("From", "First day looked at, year-month-day")
        self.until = self._field("Up to", "Last day looked at, year-month-day")
        self.allowed = self._field("May differ by", "Difference that does not matter to you")
        self.view = widgets.ToggleButtons(
            options=list(VIEWS),
            description="Show",
            tooltips=[words for _, _, words in VIEWS.values()],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.message = widgets.HTML(message_html(""))
        self.place = widgets.VBox([])
        self.box = widgets.VBox(
            [
                style_widget(),
                widgets.HTML(
                    f"<style>{STYLE}{PAGE_STYLE}</style>", layout=widgets.Layout(height="0")
                ),
                self.folder,
                _row([self.element, self.kit_a, self.kit_b]),
                _row([self.since, self.until, self.allowed]),
                self.view,
                self.message,
                self.place,
            ]
        )
        self.box.add_class("rc-kits-page")
        self._watch(self.folder, self._open)
        self._watch(self.element, self._offer_kits)
        for control in (self.kit_a, self.kit_b, self.since, self.until, self.allowed, self.view):
            self._watch(control, self._show)
        guarded(self.say, self._open)()

    def say(self, text: str, kind: str = "told") -> None:
        """Show a text on the message line.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            An error is announced at once.
        """
        self.message.value = message_html(text, kind)

    def comparing(self) -> Comparing:
        """Return what is compared, as the fields have it.

        Returns
        -------
        Comparing
            For the views.

        Raises
        ------
        InputError
            For a difference that is no number above 0, or the same kit twice.
        """
        tank = self.tank
        if tank is None or self.element.value is None:
            raise InputError(
                "two kits that read the same element",
                "no reading that names its kit",
                "Write the kit into the readings, or say it of the column when you bring in a log.",
            )
        allowed = None
        if self.allowed.value.strip():
            allowed = number_in(self.allowed)
            if not allowed > 0.0:
                raise InputError(
                    "a difference above 0", allowed, "Leave it empty for none.", "May differ by"
                )
        since, until = (_typed_day(field) for field in (self.since, self.until))
        if since is not None and until is not None and until < since:
            raise InputError(
                f"a day on or after {since}", until, "Exchange “From” and “Up to”.", "Up to"
            )
        a, b = self.kit_a.value or "", self.kit_b.value or ""
        if a and a == b:
            raise InputError("two different kits", a, "Choose another one as kit B.", "Kit B")
        name = self.element.value
        return Comparing(
            tank,
            name,
            _unit(tank, name),
            a,
            b,
            since,
            until,
            allowed,
            self.say,
            self._reload,
        )

    def _open(self) -> None:
        self.tank = None
        self.place.children = ()
        try:
            self.tank = tank_in(self.folder)
        except ReefError:
            self._fill(self.element, [], None)
            for control in (self.kit_a, self.kit_b):
                self._fill(control, [], None)
            raise
        names = [(element_name(n), n) for n in elements_with_kits(self.tank)]
        self._fill(self.element, names, names[0][1] if names else None)
        self._offer_kits()

    def _reload(self) -> str:
        """Read the tank again; what was saved is saved, even where the view has nothing to show."""
        wrong: list[str] = []
        if self.tank is not None:
            self.tank = open_tank(self.tank.folder)
            guarded(lambda text, _kind: wrong.append(text), self._show)()
        return " ".join(wrong)

    def _offer_kits(self) -> None:
        """Offer the kits, and kits by lot, that read the element; the two last used first."""
        tank, name = self.tank, self.element.value
        offered = kits_of(tank, name) if tank is not None and name is not None else []
        a, b = (None, None) if tank is None else first_two(tank, name, offered)
        self._fill(self.kit_a, offered, a)
        self._fill(self.kit_b, offered if b is not None else [], b)
        told = self._empty_allowed()
        wrong: list[str] = []
        guarded(lambda text, _kind: wrong.append(text), self._show)()
        if told or wrong:
            self.say(" ".join([*wrong, told]).strip(), "error" if wrong else "told")

    def _empty_allowed(self) -> str:
        """Empty the allowed difference where it was typed for another element; say so."""
        tank, name = self.tank, self.element.value
        before = self._allowed_for
        self._allowed_for = ("" if tank is None else str(tank.folder), name or "")
        typed = self.allowed.value.strip()
        unit = "" if tank is None or name is None else _unit(tank, name)
        self.allowed.placeholder = f"not set, {unit}" if unit else "not set"
        if not typed or before in (self._allowed_for, ("", "")):
            return ""
        self._filling = True
        try:
            self.allowed.value = ""
        finally:
            self._filling = False
        return f"“May differ by” was {typed} for {before[1]} and is empty again."

    def _show(self) -> None:
        """Show the chosen view; made when it is first asked for."""
        if self.tank is None or self._filling:
            return
        self.say("")
        name = self.view.value
        if name not in self.views:
            module, kind, _ = VIEWS[name]
            made = import_module(f"reef_calc.show.panels.{module}")
            self.views[name] = getattr(made, kind)()
        view = self.views[name]
        try:
            comparing = self.comparing()
        except ReefError:
            # What is still shown would be of another comparison than the fields say.
            self.place.children = ()
            raise
        if self.place.children != (view.box,):
            self.place.children = (view.box,)
        view.show(comparing)

    def _fill(self, control: widgets.Dropdown, options: list[Any], value: Any) -> None:
        self._filling = True
        try:
            control.options = options
            control.value = value
        finally:
            self._filling = False

    def _watch(self, control: widgets.Widget, action: Callable[[], None]) -> None:
        def changed(_change: Any) -> None:
            if not self._filling:
                guarded(self.say, action)()

        control.observe(changed, names="value")

    def _choice(self, description: str, tooltip: str) -> widgets.Dropdown:
        return widgets.Dropdown(
            description=description,
            tooltip=tooltip,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 24em)"),
        )

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        return widgets.Text(
            description=description,
            tooltip=tooltip,
            placeholder="not set",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 20em)"),
        )

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Kit comparison: press Run, then Run All Cells."
        return data


def _typed_day(field: widgets.Text) -> str | None:
    text = field.value.strip()
    return typed_day(text, field.description).isoformat() if text else None


def _unit(tank: Tank, element: str) -> str:
    aim = tank.aims.get(element)
    return aim.unit if aim is not None else ELEMENTS[element].display_unit


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))
