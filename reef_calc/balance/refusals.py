"""When there is no rate: too little data, too much beyond a kit's limit, a gap of the log."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days, moment
from reef_calc.balance.record import ElementRecord
from reef_calc.messages import Message
from reef_calc.numbers_in_words import level_text

SIDE_READINGS = 3


def day_text(time: pd.Timestamp, zone: str) -> str:
    """Return a day in words, in a zone.

    Parameters
    ----------
    time : pandas.Timestamp
        Time with a zone.
    zone : str
        IANA zone.

    Returns
    -------
    str
        Text such as "24 Sep 2026".

    Examples
    --------
    >>> day_text(pd.Timestamp("2026-09-24 22:30", tz="UTC"), "Europe/Berlin")
    '25 Sep 2026'
    """
    local = time.tz_convert(zone)
    return f"{local.day} {local:%b %Y}"


def too_few(
    record: ElementRecord, fewest: int, shortest: float, end: pd.Timestamp
) -> Message | None:
    """Return the refusal for too few readings or too short a span, with what would do.

    Parameters
    ----------
    record : ElementRecord
        The window.
    fewest : int
        Least number of sittings.
    shortest : float
        Least span in days.
    end : pandas.Timestamp
        End of the window (UTC).

    Returns
    -------
    Message or None
        None when there is enough.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> print(too_few(record.since(20495.0), 4, 7.0, until).text)
    Too few readings to tell a rate: 2 over 4 days. 2 more readings, the last on 19 Feb 2026 or
    later, would do. All that is known: it fell by 0.20 ± 0.29 dKH in 4 days, doses and water
    changes included.
    >>> too_few(record, 4, 7.0, until) is None
    True
    """
    times, levels = record.sessions["day"].to_numpy(float), record.sessions["level"].to_numpy(float)
    n = times.size
    span = float(times[-1] - times[0]) if n else 0.0
    if n >= fewest and span >= shortest:
        return None
    more = max(fewest - n, 0)
    wait = max(shortest - span, 0.0) if n else shortest
    last = times[-1] if n else float(days(end))
    by = day_text(moment(max(last + wait, last + 2.0 * more, float(days(end)))), record.zone)
    if n == 0:
        return Message(
            "TOO_FEW",
            f"No usable reading of {record.element} in this period: no rate. {fewest} readings over "
            f"{shortest:g} days would do, the last on {by}.",
            "refused",
        )
    ask = f"{more} more reading{'s' if more != 1 else ''}" if more else "One more reading"
    seen = "only one" if n == 1 else f"{n} over {span:.0f} day{'s' if round(span) != 1 else ''}"
    text = f"Too few readings to tell a rate: {seen}. {ask}, the last on {by} or later, would do."
    if n == 2 and span > 0:
        sds = np.hypot(record.sessions["sd"], record.sessions["resolution"] / math.sqrt(12))
        change, u = levels[1] - levels[0], 2 * float(np.hypot(*sds))
        word = "fell" if change < 0 else "rose"
        digits = 2 if u < 0.5 else 1 if u < 5 else 0
        text += (
            f" All that is known: it {word} by {level_text(abs(change), digits, '')} ± "
            f"{level_text(u, digits, record.unit)} in {span:.0f} days, doses and water changes "
            "included."
        )
    return Message("TOO_FEW", text, "refused")


def mostly_beyond(record: ElementRecord, since: pd.Timestamp) -> Message | None:
    """Return the refusal when more than a third of the readings lie beyond the kit's limit.

    Parameters
    ----------
    record : ElementRecord
        The window.
    since : pandas.Timestamp
        Start of the window (UTC).

    Returns
    -------
    Message or None
        None when at most a third do.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> mostly_beyond(record, until - pd.Timedelta(days=90)) is None
    True
    >>> from dataclasses import replace
    >>> beyond = record.sessions[["time", "level"]].assign(mark="beyond limit")
    >>> censored = replace(record, left_out=beyond)
    >>> print(mostly_beyond(censored, until - pd.Timedelta(days=90)).text)
    No rate: 12 of 24 readings lie beyond the kit's limit. They are drawn, not fitted. ...
    """
    out = record.left_out
    beyond = int(((out["mark"] == "beyond limit") & (out["time"] >= since)).sum())
    total = beyond + len(record.sessions)
    if total == 0 or beyond * 3 <= total:
        return None
    return Message(
        "CENSORED",
        f"No rate: {beyond} of {total} readings lie beyond the kit's limit. They are drawn, not "
        "fitted. A kit that reads lower, or a diluted sample where they are too high, would tell.",
        "refused",
    )


def bridged(record: ElementRecord) -> tuple[ElementRecord, tuple[Message, ...]]:
    """Return the record from the last gap on that readings do not bridge, and what is said of gaps.

    A gap of the dosing log costs one more unknown, its dose; it needs three readings on either side.

    Parameters
    ----------
    record : ElementRecord
        The window.

    Returns
    -------
    tuple
        The record, shortened where a gap could not be bridged, and messages.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> from dataclasses import replace
    >>> holiday = replace(record, doses=replace(record.doses, gaps=((20470.0, 20474.0),)))
    >>> kept, told = bridged(holiday)
    >>> len(kept.sessions), told[0].code
    (12, 'LOG_GAP')
    >>> early = replace(record, doses=replace(record.doses, gaps=((20457.0, 20459.0),)))
    >>> kept, told = bridged(early)  # only one reading before it
    >>> len(kept.sessions), told[0].code
    (11, 'LOG_GAP_UNBRIDGED')
    """
    told: list[Message] = []
    for start, stop in record.gaps():
        t = record.sessions["day"].to_numpy(float)
        before, after = int((t <= start).sum()), int((t >= stop).sum())
        span = f"{day_text(moment(start), record.zone)} to {day_text(moment(stop), record.zone)}"
        if min(before, after) >= SIDE_READINGS:
            told.append(
                Message(
                    "LOG_GAP",
                    f"Doses from {span} were not logged: what was given then is taken as unknown "
                    "and worked out with the rate.",
                    "qualified",
                )
            )
        else:
            record = record.since(stop)
            told.append(
                Message(
                    "LOG_GAP_UNBRIDGED",
                    f"Doses from {span} were not logged and fewer than {SIDE_READINGS} readings lie "
                    "on one side: only readings after it are used. Enter what was given, and the "
                    "others count again.",
                    "qualified",
                )
            )
    return record, tuple(told)
