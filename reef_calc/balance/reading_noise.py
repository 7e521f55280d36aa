"""Scatter that the clock adds to readings: the hour of the day, and dates without a time."""

from __future__ import annotations

import numpy as np

from reef_calc.balance.additions import moment
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.chem.units import convert

LIGHT_SHARE = 0.05
FAST_ALKALINITY_DKH = 1.0


def hour_and_date_noise(record: ElementRecord, rate: float) -> np.ndarray:
    """Return variance to add to readings for the hour of day and for missing times.

    Uptake in the light is about twice that in the dark (MEMORY): 0.05·k in quadrature where readings
    spread over more than 3 hours and alkalinity use is above 1 dKH a day. A reading with a date only
    gains k²/12 when a dose at once or a water change fell on that date.

    Parameters
    ----------
    record : ElementRecord
        Sessions and events.
    rate : float
        Use, unit per day.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Variances in unit².

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> record.sessions["date_only"] = record.sessions.index == 0
    >>> hour_and_date_noise(record, 1.0).max().item()  # no dose at once or change fell on that day
    0.0
    >>> record.sessions["hour"] = 8.0 + record.sessions.index
    >>> round(hour_and_date_noise(record, 1.2)[0].item(), 6)  # (0.05 × 1.2)²
    0.0036
    """
    sessions = record.sessions
    extra = np.zeros(len(sessions))
    if hour_varies(record, rate):
        extra += (LIGHT_SHARE * rate) ** 2
    shots = record.doses.shots
    moved = [*record.events.change_times, *(shots["day"][~shots["standing"].astype(bool)])]
    dates = {day_text(moment(m), record.zone) for m in moved}
    on = [day_text(t, record.zone) in dates for t in sessions["time"]]
    extra[sessions["date_only"].to_numpy(bool) & np.array(on, dtype=bool)] += rate**2 / 12
    return extra


def hour_varies(record: ElementRecord, rate: float) -> bool:
    """Return whether the hour of the readings matters at this rate.

    Parameters
    ----------
    record : ElementRecord
        Sessions.
    rate : float
        Use, unit per day.

    Returns
    -------
    bool
        True for alkalinity above 1 dKH a day with readings spread over more than 3 hours.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> hour_varies(record, 1.2)  # all at 18:00
    False
    >>> record.sessions["hour"] = 8.0 + record.sessions.index
    >>> hour_varies(record, 1.2), hour_varies(record, 0.8)
    (True, False)
    """
    if record.element != "alkalinity" or len(record.sessions) < 2:
        return False
    fast = float(convert(FAST_ALKALINITY_DKH, "dKH", record.unit, "alkalinity"))
    hours = record.sessions.loc[~record.sessions["date_only"].astype(bool), "hour"]
    return rate > fast and len(hours) > 1 and float(hours.max() - hours.min()) > 3
