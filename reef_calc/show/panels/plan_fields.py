"""Fields of the plan page's views: a day, a whole number, and the water that doses go into."""

from __future__ import annotations

import datetime as dt

import ipywidgets as widgets
import pandas as pd

from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.show.dose_on_ph import WaterNow
from reef_calc.show.panels.plan_view import Planning


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
    text = field.value.strip()
    try:
        if len(text) == 10:
            return dt.date.fromisoformat(text)
    except ValueError:
        pass
    raise InputError(
        "a day such as 2026-09-30", text or "nothing", "Write year, month and day.",
        field.description,
    )  # fmt: skip


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
