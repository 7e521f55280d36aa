"""The comparison page: one tank folder, one element, two kits, and the views of how they differ."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError, ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.comparison_style import STYLE
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    guarded,
    message_html,
    style_widget,
    tank_folders,
)
from reef_calc.show.panels.kit_view import Comparing, KitView
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
        offered = tank_folders(*(Path(p) for p in places))
        self.folder = widgets.Combobox(
            value=str(folder),
            options=[path for _, path in offered],
            description="Tank folder",
            tooltip="Path of a folder with tank.toml; choose one or type another and press Enter",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 34em)"),
        )
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
                "a tank with kit readings", "none", "Bring in readings with their kits first."
            )
        allowed = None
        if self.allowed.value.strip():
            allowed = parse_typed_number(self.allowed.value, "May differ by")
            if not allowed > 0.0:
                raise InputError("a difference above 0", allowed, "Leave it empty for none.", "")
        a, b = self.kit_a.value or "", self.kit_b.value or ""
        if a and a == b:
            raise InputError("two different kits", a, "Choose another one as kit B.", "Kit B")
        name = self.element.value
        aim = tank.aims.get(name)
        return Comparing(
            tank,
            name,
            aim.unit if aim is not None else ELEMENTS[name].display_unit,
            a,
            b,
            self.since.value.strip() or None,
            self.until.value.strip() or None,
            allowed,
            self.say,
            self._reload,
        )

    def _open(self) -> None:
        self.tank = None
        self.place.children = ()
        path = self.folder.value.strip()
        if not path:
            raise InputError(
                "the path of a tank folder", path, "Choose one or type another.", "Tank folder"
            )
        try:
            self.tank = open_tank(Path(path).expanduser())
        except ReefError:
            self._fill(self.element, [], None)
            raise
        names = [(element_name(n), n) for n in _elements(self.tank)]
        self._fill(self.element, names, names[0][1] if names else None)
        self._offer_kits()

    def _reload(self) -> None:
        if self.tank is not None:
            self.tank = open_tank(self.tank.folder)
            self._show()

    def _offer_kits(self) -> None:
        """Offer the kits, and kits by lot, that read the element; the two last used first."""
        tank, name = self.tank, self.element.value
        offered = kits_of(tank, name) if tank is not None and name is not None else []
        first = offered[0] if offered else None
        second = offered[1] if len(offered) > 1 else None
        # The newer one is B: what the change brought is read as its difference.
        self._fill(self.kit_a, offered, second if second is not None else first)
        self._fill(self.kit_b, offered, first)
        self._show()

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
        if self.place.children != (view.box,):
            self.place.children = (view.box,)
        view.show(self.comparing())

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


def kits_of(tank: Tank, element: str) -> list[str]:
    """Return the kits, and the lots of kits, that read an element in the tank, the newest first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.

    Returns
    -------
    list of str
        Kits in the order of their last reading, then kits by lot as "kit A / lot A-2".

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> kits_of(example_tank(), "alkalinity")
    ['drops']
    """
    own = tank.readings[(tank.readings["element"] == element) & (tank.readings["kit"] != "")]
    last = own.groupby("kit")["time"].max().sort_values(ascending=False)
    found = [str(kit) for kit in last.index]
    lots = own[own["lot"] != ""].groupby(["kit", "lot"])["time"].max().sort_values(ascending=False)
    several = own[own["lot"] != ""].groupby("kit")["lot"].nunique()
    found += [f"{kit} / lot {lot}" for kit, lot in lots.index if several[kit] > 1]
    return found


def _elements(tank: Tank) -> list[str]:
    """Elements that were read, those with several kits or lots first."""
    own = tank.readings[tank.readings["kit"] != ""]
    count = {name: len(kits_of(tank, name)) for name in ELEMENTS if (own["element"] == name).any()}
    return sorted(count, key=lambda name: (count[name] < 2, list(ELEMENTS).index(name)))


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))
