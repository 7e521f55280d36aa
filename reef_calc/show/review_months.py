"""Which month a review is of."""

from __future__ import annotations

import pandas as pd

from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank


def months_with_readings(tank: Tank) -> tuple[str, ...]:
    """Return the calendar months that hold readings of the tank's water, oldest first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    tuple of str
        Months such as ``2026-09``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> months_with_readings(example_tank())
    ('2026-01', '2026-02')
    """
    own = tank.readings.loc[tank.readings["water"] == "tank", "time"]
    local = own.dt.tz_convert(str(tank.zone)).dt.strftime("%Y-%m")
    return tuple(sorted(set(local)))


def default_month(tank: Tank) -> str:
    """Return the last full month with readings; the last month of all when none is full.

    A month counts as full when readings reach its last week or a later month.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    str
        Month such as ``2026-09``.

    Raises
    ------
    CannotTellError
        If the tank has no reading at all.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> default_month(example_tank())  # February's readings end on the 15th
    '2026-01'
    """
    months = months_with_readings(tank)
    if not months:
        raise CannotTellError(no_reading(tank))
    own = tank.readings.loc[tank.readings["water"] == "tank", "time"]
    last = own.max().tz_convert(str(tank.zone))
    full = last.day > last.days_in_month - 7
    return months[-1] if full or len(months) == 1 else months[-2]


def checked_month(month: str) -> str:
    """Return a month as text ``2026-09``.

    Parameters
    ----------
    month : str
        Text to check.

    Returns
    -------
    str
        The month.

    Raises
    ------
    InputError
        If it is not year and month.

    Examples
    --------
    >>> checked_month(" 2026-09 ")
    '2026-09'
    """
    try:
        return str(pd.to_datetime(month.strip(), format="%Y-%m").strftime("%Y-%m"))
    except (ValueError, AttributeError) as error:
        raise InputError(
            "a month such as 2026-09", month, "Write year, hyphen, month.", "month"
        ) from error


def no_reading(tank: Tank) -> str:
    """Return why a tank has no reading to look at, and what to do.

    Parameters
    ----------
    tank : Tank
        An opened tank folder without a usable reading of its own water.

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> empty = open_tank(start_tank(tempfile.mkdtemp(), "Reef", 300.0, "Europe/Berlin"))
    >>> print(no_reading(empty))
    “Reef” has no reading of the tank's water yet: add rows to readings.csv, with water = tank,
    then look again.
    """
    refused = [p for p in tank.problems if p.severity == "refused" and p.file == "readings.csv"]
    if refused:
        more = f" And {len(refused) - 1} more." if len(refused) > 1 else ""
        return f"No reading of “{tank.name}” could be used. {refused[0]}{more}"
    return (
        f"“{tank.name}” has no reading of the tank's water yet: add rows to readings.csv, with "
        "water = tank, then look again."
    )
