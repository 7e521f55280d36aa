"""Rates in words: used, rising, falling, not shown, refused, and held against the dose."""

from __future__ import annotations

import numpy as np
import pandas as pd

from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.show.standing import Standing
from reef_calc.show.wording import (
    CANNOT_TELL,
    decimals_for,
    fixed,
    is_known,
    month_words,
    upper_bound,
    with_interval,
)


def rate_words(
    rate: float | None,
    low: float | None,
    high: float | None,
    behaviour: str,
    *,
    days: int = 1,
) -> str:
    """Return a rate as a keeper says it: used, rising, falling, or not shown.

    Parameters
    ----------
    rate, low, high : float or None
        Use and its interval, unit per day; a negative one is a rise.
    behaviour : {"used", "net"}
        ``used`` for what corals take up, ``net`` for what only rises or falls.
    days : int
        Days that the change is given for.

    Returns
    -------
    str
        "1.04 ± 0.04 a day", "rises 0.05 ± 0.02 a day", "no use shown: less than 3.2 a day",
        "no change shown: less than 0.9 in 30 days" or "cannot tell".

    Examples
    --------
    >>> rate_words(1.041, 1.003, 1.079, "used")
    '1.04 ± 0.04 a day'
    >>> rate_words(-0.05, -0.07, -0.03, "net")
    'rises 0.05 ± 0.02 a day'
    >>> rate_words(0.7, -1.8, 3.2, "used")
    'no use shown: less than 3.2 a day'
    """
    if rate is None or low is None or high is None or not is_known(rate, low, high):
        return CANNOT_TELL
    per = "a day" if days == 1 else f"in {days} days"
    rate, low, high = rate * days, low * days, high * days
    if high < 0:
        return f"rises {with_interval(-rate, -high, -low)} {per}"
    if low > 0:
        return f"{'falls ' if behaviour == 'net' else ''}{with_interval(rate, low, high)} {per}"
    if behaviour == "net":
        return f"no change shown: less than {upper_bound(max(-low, high))} {per}"
    if high == 0:
        return "no use shown"
    return f"no use shown: less than {upper_bound(high)} {per}"


def refusal_words(use: ConsumptionEstimate) -> str:
    """Return why there is no rate, in the estimate's own words.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    str
        The first refusal; "cannot tell" when none is given.

    Examples
    --------
    >>> from types import SimpleNamespace as Use
    >>> refusal_words(Use(messages=()))
    'cannot tell'
    """
    refused = [m.text for m in use.messages if m.kind == "refused"]
    return refused[0] if refused else CANNOT_TELL


def now_label(use: ConsumptionEstimate) -> str:
    """Return the words beside the dot of the use now.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    str
        Such as "used 1.04 ± 0.04", "rises 0.05 ± 0.02" or "use less than 3.2".

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> now_label(S(rate=0.7, low=-1.8, high=3.2, behaviour="used"))
    'use less than 3.2'
    """
    if use.rate is None or use.low is None or use.high is None:
        return CANNOT_TELL
    if use.low <= 0 <= use.high:
        bound = max(-use.low, use.high) if use.behaviour == "net" else use.high
        noun = "change" if use.behaviour == "net" else "use"
        return f"{noun} less than {upper_bound(bound)}" if bound > 0 else "no use shown"
    if use.high < 0:
        return f"rises {with_interval(-use.rate, -use.high, -use.low)}"
    verb = "falls" if use.behaviour == "net" else "used"
    return f"{verb} {with_interval(use.rate, use.low, use.high)}"


def dose_number(use: ConsumptionEstimate, value: float) -> str:
    """Return a dose with as many decimals as the use it is compared with.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.
    value : float
        Dose, unit per day.

    Returns
    -------
    str
        The number; three digits when the use is unknown.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> dose_number(S(rate=1.04, low=1.0, high=1.08), 0.94)
    '0.94'
    """
    if use.rate is not None and use.low is not None and use.high is not None:
        arm = max(use.high - use.rate, use.rate - use.low)
        if is_known(arm) and 0 < arm < abs(value):
            return fixed(value, decimals_for(arm))
    return f"{value:.3g}"


def month_sentence(standing: Standing, row: pd.Series) -> str:
    """Return what one month says when it is pointed at.

    Parameters
    ----------
    standing : Standing
        The element; it has an estimate.
    row : pandas.Series
        One row of its months.

    Returns
    -------
    str
        Such as "August 2026: 0.93 ± 0.03 a day, dosed 0.94".

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> row = pd.Series({"month": "2026-08", "rate": .93, "low": .9, "high": .96, "dosed": .94})
    >>> month_sentence(S(use=S(behaviour="used")), row)
    'August 2026: used 0.93 ± 0.03 a day, dosed 0.94'
    """
    use = standing.use
    behaviour = use.behaviour if use is not None else "used"
    words = rate_words(row["rate"], row["low"], row["high"], behaviour)
    if words[0].isdigit():
        words = f"used {words}"
    dosed = float(row["dosed"])
    arms = (row["high"] - row["rate"], row["rate"] - row["low"])
    number = (
        fixed(dosed, decimals_for(max(arms)))
        if is_known(*arms) and 0 < max(arms) < abs(dosed)
        else f"{dosed:.3g}"
    )
    dose = f", dosed {number}" if np.isfinite(dosed) and dosed != 0 else ""
    return f"{month_words(row['month'])}: {words}{dose}"
