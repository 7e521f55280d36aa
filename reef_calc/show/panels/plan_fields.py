"""Fields of the plan page's views: a day, a whole number, and the water that doses go into."""

from __future__ import annotations

import datetime as dt

import ipywidgets as widgets
import pandas as pd

from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.show.dose_on_ph import WaterNow
from reef_calc.show.panels.plan_view import Planning

# Longer ago and further ahead than any log, and well inside what times can be held in.
FIRST_YEAR, LAST_YEAR = 1950, 2199


def water_now(planning: Planning) -> WaterNow:
    """Return the water of a tank as it is now, with its alkalinity where plan or aims tell it.

    Parameters
    ----------
    planning : Planning
        Tank and plan.

    Returns
    -------
    WaterNow
        The water.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> page = Planning(example_tank(), None, None, print, print, print)
    >>> round(water_now(page).alkalinity_meq_per_L, 2)  # without a plan that of the aims
    2.85
    """
    tank = planning.tank
    water, alkalinity = tank.water_at(planning.now()), None
    if planning.plan is not None:
        rows = planning.plan.summary
        for one in rows[rows["element"] == "alkalinity"].itertuples():
            alkalinity = convert(float(one.now), str(one.unit), "meq/L", "alkalinity")
    elif "alkalinity" in tank.aims:
        aim = tank.aims["alkalinity"]
        alkalinity = convert(aim.aim, aim.unit, "meq/L", "alkalinity")
    return WaterNow(
        water.net_L, water.salinity, water.temperature_C, water.air_co2_uatm, alkalinity
    )


def day_in(field: widgets.Text) -> dt.date:
    """Return the day that is typed in a field.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    datetime.date
        The day.

    Raises
    ------
    InputError
        If it is none.

    Examples
    --------
    >>> from reef_calc.show.panels.standard_fields import text_field
    >>> day_in(text_field("Day 1", "", "2026-09-30"))
    datetime.date(2026, 9, 30)
    """
    return typed_day(field.value, field.description)


def typed_day(text: str, where: str) -> dt.date:
    """Return the day that a person typed.

    Parameters
    ----------
    text : str
        Year, month and day.
    where : str
        Label of the field, for the message.

    Returns
    -------
    datetime.date
        The day.

    Raises
    ------
    InputError
        If it is none, or one of another century than any log.

    Examples
    --------
    >>> typed_day(" 2026-09-30 ", "First day")
    datetime.date(2026, 9, 30)
    >>> typed_day("0226-09-30", "First day")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: First day: needed a day from 1950 to 2199, given “0226-09-30”.
    Check the year.
    """
    cell = text.strip()
    try:
        if len(cell) != 10:
            raise ValueError
        day = dt.date.fromisoformat(cell)
    except ValueError:
        raise InputError(
            "a day such as 2026-09-30", cell or "nothing", "Write it as year-month-day.", where
        ) from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(f"a day from {FIRST_YEAR} to {LAST_YEAR}", cell, "Check the year.", where)
    return day


def whole(value: float, field: widgets.Text) -> int:
    """Return a number that must be whole.

    Parameters
    ----------
    value : float
        The number (no unit).
    field : ipywidgets.Text
        Where it stands.

    Returns
    -------
    int
        The number.

    Raises
    ------
    InputError
        If it is not whole.

    Examples
    --------
    >>> from reef_calc.show.panels.standard_fields import text_field
    >>> whole(7.0, text_field("Over days", ""))
    7
    """
    if value != int(value):
        raise InputError("a whole number", f"{value:g}", "Write 7, not 7.5.", field.description)
    return int(value)


def first_day(planning: Planning) -> dt.date:
    """Return the first day of the plan, or tomorrow where there is none.

    Parameters
    ----------
    planning : Planning
        Tank and plan.

    Returns
    -------
    datetime.date
        The day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> page = Planning(example_tank(), None, None, print, print, print)
    >>> first_day(page) > page.now().date()
    True
    """
    if planning.plan is not None:
        return planning.plan.start
    return (planning.now() + pd.Timedelta(days=1)).date()
