"""What is dosed per day now: the pump's standing dose, and the daily dose by hand."""

from __future__ import annotations

from reef_calc.balance.given_doses import standing_rate
from reef_calc.balance.missing_doses import daily_by_hand
from reef_calc.balance.record import ElementRecord

SPAN = 28.0
MOMENT = 1e-6


def dose_now(record: ElementRecord, end: float) -> float | None:
    """Return the dose per day now; None while the log says it was not logged.

    Standing doses count as they are set, daily doses by hand as their mean of the last 28 days, in
    which a forgotten day counts half, as it does in the use; a daily dose that ended is 0. Other
    doses by hand are corrections beside them; where nothing else is dosed, their mean of 28 days is
    the dose. The days end with the last reading or dose by hand, so that days still to come do not
    count as days without a dose.

    Parameters
    ----------
    record : ElementRecord
        Sittings and doses.
    end : float
        Day number that "now" is the moment before.

    Returns
    -------
    float or None
        Unit per day.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.additions import days
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> dose_now(record, float(days(until)))
    1.0
    """
    standing = standing_rate(record.doses, end - MOMENT)
    if standing is None:
        return None
    shots = record.doses.shots
    shots = shots[~shots["standing"].astype(bool)] if len(shots) else shots
    rows = [float(days.max()) for days in (record.sessions["day"], shots["day"]) if len(days)]
    stop = min(end, max(rows, default=end) + MOMENT)
    daily = daily_by_hand(record, stop, SPAN)
    given = standing + sum(daily.values())
    if given > 0:
        return given
    if any(a < stop and b > stop - SPAN for a, b in record.doses.gaps):
        return None
    shots = shots[~shots["supplement"].isin(list(daily))]
    lately = shots.loc[(shots["day"] >= stop - SPAN) & (shots["day"] < stop), "rise"]
    return float(lately.sum()) / SPAN
