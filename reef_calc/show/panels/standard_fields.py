"""Fields of the standards view, and what is read out of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.glassware import tolerance_mL, u_of_filling
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.unit_words import accepted_units
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank

TYPED_VESSEL = "another vessel, ± typed"
_LABEL = {"description_width": "10.5em"}
# A round level for each element where the tank has no aim (common practice, no source).
_USUAL = {
    "alkalinity": "8", "calcium": "420", "magnesium": "1300", "potassium": "400", "strontium": "8",
    "iodine": "0.06", "nitrate": "10", "phosphate": "0.1", "bromide": "67", "sulfate": "2750",
    "chloride": "19800", "sodium": "11000",
}  # fmt: skip


def text_field(description: str, tooltip: str, value: str = "") -> widgets.Text:
    """Return a field that a number or a name is typed into.

    Parameters
    ----------
    description, tooltip : str
        Label, and what belongs there.
    value : str, optional
        What stands there at first.

    Returns
    -------
    ipywidgets.Text
        The field; it reports when Enter is pressed or the field is left.

    Examples
    --------
    >>> text_field("Litres", "Size of the flask", "1").value
    '1'
    """
    return widgets.Text(
        value=value, description=description, tooltip=tooltip, continuous_update=False,
        style=_LABEL, layout=widgets.Layout(width="min(100%, 23em)", height="44px"),
    )  # fmt: skip


def choice_field(description: str, tooltip: str, options: Iterable[Any] = ()) -> widgets.Dropdown:
    """Return a list to choose from.

    Parameters
    ----------
    description, tooltip : str
        Label, and what is chosen.
    options : iterable, optional
        Options at first; texts, or pairs of words and value.

    Returns
    -------
    ipywidgets.Dropdown
        The list.

    Examples
    --------
    >>> choice_field("Unit", "Unit of the level", ("dKH",)).value
    'dKH'
    """
    return widgets.Dropdown(
        options=list(options), description=description, tooltip=tooltip, style=_LABEL,
        layout=widgets.Layout(width="min(100%, 36em)", height="44px"),
    )  # fmt: skip


def button(words: str, tooltip: str) -> widgets.Button:
    """Return a button of the height of a finger.

    Parameters
    ----------
    words, tooltip : str
        What it says, and what it does.

    Returns
    -------
    ipywidgets.Button
        The button.

    Examples
    --------
    >>> button("Save", "Save it").layout.height
    '44px'
    """
    return widgets.Button(
        description=words, tooltip=tooltip, layout=widgets.Layout(width="auto", height="44px")
    )


def row(*controls: widgets.Widget) -> widgets.HBox:
    """Return controls side by side, which break into lines where there is no room.

    Parameters
    ----------
    *controls : ipywidgets.Widget
        The controls.

    Returns
    -------
    ipywidgets.HBox
        The row.

    Examples
    --------
    >>> len(row(text_field("a", "b")).children)
    1
    """
    return widgets.HBox(
        list(controls), layout=widgets.Layout(flex_flow="row wrap", grid_gap="6px 18px")
    )


def optional_number(field: widgets.Text) -> float | None:
    """Return the number in a field, or None where nothing is typed.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    float or None
        In the unit that the label names.

    Examples
    --------
    >>> optional_number(text_field("Litres", "", "0,5")), optional_number(text_field("Litres", ""))
    (0.5, None)
    """
    return parse_typed_number(field.value, field.description) if field.value.strip() else None


def number(field: widgets.Text) -> float:
    """Return the number in a field.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    float
        In the unit that the label names.

    Raises
    ------
    InputError
        If the field is empty or holds no number.

    Examples
    --------
    >>> number(text_field("Litres", "", "1.5"))
    1.5
    """
    found = optional_number(field)
    if found is None:
        raise InputError("a number", "nothing", "Type one.", field.description)
    return found


def numbers(field: widgets.Text) -> list[float]:
    """Return the numbers in a field, which stand with ; between them.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    list of float
        In the unit that the label names.

    Raises
    ------
    InputError
        If the field is empty or a part is no number.

    Examples
    --------
    >>> numbers(text_field("Levels", "", "8,1; 8.2"))
    [8.1, 8.2]
    """
    parts = [part for part in field.value.replace(";", " ").split() if part]
    if not parts:
        raise InputError(
            "one number, or several with ; between", "nothing", "Type them.", field.description
        )
    return [parse_typed_number(part, field.description) for part in parts]


def fill(control: widgets.Dropdown, options: list[Any], value: Any = None) -> None:
    """Refill a list and keep what was chosen where it is still there.

    Parameters
    ----------
    control : ipywidgets.Dropdown
        The list.
    options : list
        New options; texts, or pairs of words and value.
    value : object, optional
        What is chosen where the old choice is gone; the first one when not given.

    Examples
    --------
    >>> units = choice_field("Unit", "", ("mg/L", "dKH"))
    >>> fill(units, ["µg/L", "mg/L"])
    >>> units.value
    'mg/L'
    """
    values = [one[1] if isinstance(one, tuple) else one for one in options]
    before = control.value
    chosen = before if before in values else value if value in values else next(iter(values), None)
    if tuple(options) != tuple(control.options):
        control.options = options
    control.value = chosen


def units_per_litre(element: str) -> list[str]:
    """Return the unit words of an element that state a level per litre.

    Parameters
    ----------
    element : str
        Element.

    Returns
    -------
    list of str
        The usual one first.

    Examples
    --------
    >>> units_per_litre("phosphate")[:2]
    ['mg/L', 'µg/L']
    """
    return [word for word in accepted_units(element) if "/kg" not in word]


def usual_level(tank: Tank | None, element: str) -> tuple[str, str]:
    """Return the level offered for an element: the tank's aim, or a usual one.

    Parameters
    ----------
    tank : Tank or None
        The tank.
    element : str
        Element.

    Returns
    -------
    (str, str)
        Number as typed, and its unit per litre.

    Examples
    --------
    >>> usual_level(None, "alkalinity")
    ('8', 'dKH')
    """
    aim = tank.aims.get(element) if tank is not None else None
    if aim is not None and aim.aim > 0 and aim.unit in units_per_litre(element):
        return f"{aim.aim:g}", aim.unit
    return _USUAL.get(element, ""), ELEMENTS[element].display_unit


def vessel_u_mL(kind: str, volume_mL: float, typed: widgets.Text, within_C: float = 4.0) -> float:
    """Return the standard uncertainty of a vessel that was chosen or described.

    Parameters
    ----------
    kind : str
        One of ``glassware.VESSELS``, or ``TYPED_VESSEL``.
    volume_mL : float
        Volume (mL).
    typed : ipywidgets.Text
        Field with the ± written on the glass (mL), read for ``TYPED_VESSEL`` only.
    within_C : float, optional
        The water is within ± this of the temperature on the glass (°C).

    Returns
    -------
    float
        Standard uncertainty (mL).

    Raises
    ------
    InputError
        If the volume or the ± cannot be used.

    Examples
    --------
    >>> round(vessel_u_mL("volumetric flask, class A", 1000.0, text_field("±", "")), 2)
    0.55
    """
    if not (math.isfinite(volume_mL) and volume_mL > 0):
        raise InputError("a volume above 0", f"{volume_mL:g} mL", "Type the size of the vessel.")
    tolerance = number(typed) if kind == TYPED_VESSEL else tolerance_mL(kind, volume_mL)
    return u_of_filling(volume_mL, tolerance, within_C)
