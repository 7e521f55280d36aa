"""The end of the day that a question is asked for."""

from __future__ import annotations

import pandas as pd

from reef_calc.errors import InputError
from reef_calc.log.tank import Tank


def end_of(tank: Tank, until: str | pd.Timestamp | None, element: str) -> pd.Timestamp:
    """Return the end of the day asked for as a time (UTC), or that of the last reading.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    until : str, pandas.Timestamp or None
        Day in the tank's zone, or a time.
    element : str
        Element whose last reading counts when nothing is asked for.

    Returns
    -------
    pandas.Timestamp
        Time in UTC.

    Raises
    ------
    InputError
        If the text is not a day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> end_of(example_tank(), "2026-02-28", "alkalinity").isoformat()  # midnight in Berlin
    '2026-02-28T23:00:00+00:00'
    >>> end_of(example_tank(), None, "alkalinity").isoformat()  # last reading on 15 February
    '2026-02-15T23:00:00+00:00'
    """
    zone = str(tank.zone)
    if isinstance(until, pd.Timestamp):
        return (until.tz_localize(zone) if until.tzinfo is None else until).tz_convert("UTC")
    if until is None:
        own = tank.readings[
            (tank.readings["element"] == element) & (tank.readings["water"] == "tank")
        ]["time"]
        last = own.max() if len(own) else pd.Timestamp("1970-01-01", tz="UTC")
        day = last.tz_convert(zone).tz_localize(None).normalize()
    else:
        try:
            day = pd.Timestamp(pd.to_datetime(until, format="%Y-%m-%d"))
        except (ValueError, TypeError) as error:
            raise InputError(
                "a day such as 2026-09-30", until, "Write year, month and day.", "until"
            ) from error
    return (day + pd.Timedelta(days=1)).tz_localize(zone).tz_convert("UTC")
