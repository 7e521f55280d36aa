"""Levels as somebody stated them: typed from a label, or of test water of known strength."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.elements import ELEMENTS, element
from reef_calc.chem.units import convert


@dataclass(frozen=True)
class Stated:
    """A level as stated.

    Attributes
    ----------
    value : float
        As typed, in ``unit``.
    unit : str
        Unit as typed.
    u : float or None
        Standard uncertainty in ``unit``; None where not stated.
    level, level_u : float, float or None
        The same two in the element's store unit.
    """

    value: float
    unit: str
    u: float | None
    level: float
    level_u: float | None


@dataclass(frozen=True)
class Standard:
    """Test water of known strength.

    Attributes
    ----------
    name, element : str
        Name, and the element it is for.
    value : float
        As typed, in ``unit``.
    unit : str
        Unit as typed.
    u : float or None
        Standard uncertainty in ``unit``; None where not written.
    level, level_u : float, float or None
        Value and uncertainty in the element's store unit.
    made : datetime.date or None
        Day it was made; None where not written.
    recipe : str
        What was weighed, in words.
    """

    name: str
    element: str
    value: float
    unit: str
    u: float | None
    level: float
    level_u: float | None
    made: dt.date | None = None
    recipe: str = ""


def stated_from(keys: Keys, name: str, salinity: float | None) -> Stated:
    """Return a stated level from ``value``, ``unit`` and ``u`` of a TOML table.

    Parameters
    ----------
    keys : Keys
        The table.
    name : str
        Element.
    salinity : float or None
        Practical salinity, for units per kilogram.

    Returns
    -------
    Stated
        As typed, and in the element's store unit.

    Raises
    ------
    InputError
        If a key is missing, negative, or the unit does not belong to the element.

    Examples
    --------
    >>> found = stated_from(Keys({"value": 8.0, "unit": "dKH", "u": 0.3}, "tank.toml"), "alkalinity", 35.0)
    >>> round(found.level, 3), round(found.level_u, 3)  # meq/L
    (2.853, 0.107)
    """
    for key in ("value", "unit"):
        keys.needed(key)
    value, u = keys.number("value", at_least=0.0) or 0.0, keys.number("u", above=0.0)
    unit = keys.text("unit")
    where = f"{keys.where}, unit"
    store = ELEMENTS[name].store_unit

    def to(number: float) -> float:
        return convert(
            number, unit, store, name, salinity=salinity, temperature_C=25.0, where=where
        )

    level = to(value)
    return Stated(value, unit, u, level, None if u is None else abs(to(value + u) - level))


def standard_from_table(name: str, table: object, where: str) -> Standard:
    """Return the standard that a ``[standard.NAME]`` table describes.

    Parameters
    ----------
    name : str
        Name of the standard.
    table : object
        The table as ``tomllib`` gave it.
    where : str
        File and table, for the messages.

    Returns
    -------
    Standard
        The standard.

    Raises
    ------
    InputError
        For an unknown key, a missing one, or a value that cannot be used.

    Examples
    --------
    >>> table = {"element": "alkalinity", "value": 8.0, "unit": "dKH", "u": 0.05}
    >>> standard_from_table("eight", table, "standards.toml, standard.eight").u
    0.05
    """
    keys = Keys(table, where)
    keys.needed("element")
    measured = element(keys.text("element"), f"{where}, element").name
    stated = stated_from(keys, measured, None)
    made, recipe = keys.day("made"), keys.text("recipe")
    keys.finish()
    return Standard(
        name,
        measured,
        stated.value,
        stated.unit,
        stated.u,
        stated.level,
        stated.level_u,
        made,
        recipe,
    )
