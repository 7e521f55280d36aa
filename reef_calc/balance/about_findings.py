"""What is said of findings: doubted readings, changes, steps, drift, and what cannot show yet."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pandas as pd

from reef_calc.balance.mixture_answer import as_percent, in_words
from reef_calc.balance.rate_now import NowFit
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.told import Told
from reef_calc.messages import Message

DRIFTS = 0.8
FRESH_DAYS = 7
FEWEST_MONTHS = 6
FOLLOWS = 0.8


def set_aside_frame(record: ElementRecord, fit: NowFit, told: Told, least: float) -> pd.DataFrame:
    """Return the readings that weigh next to nothing: gross errors found, and those agreed on.

    Parameters
    ----------
    record : ElementRecord
        All sittings.
    fit : NowFit
        The mixture's fit.
    told : Told
        Decisions of the keeper.
    least : float
        Probability from which a reading is doubted.

    Returns
    -------
    pandas.DataFrame
        ``time``, ``row``, ``level``, ``why``, ``mark``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> len(estimate_consumption(example_tank(), "alkalinity").set_aside)
    0
    """
    rows = []
    for p, sitting in zip(
        fit.now.p_gross, fit.record.sessions.itertuples(index=False), strict=True
    ):
        if p >= least:
            why = f"gross error {in_words(p)} ({as_percent(float(p))}): weighs next to nothing"
            rows += [(sitting.time, row, sitting.level, why, "doubted") for row in sitting.rows]
    for sitting in record.sessions.itertuples(index=False):
        agreed = told.doubted.intersection(sitting.rows)
        rows += [
            (sitting.time, row, sitting.level, "you agreed that it is a gross error", "doubted")
            for row in sorted(agreed)
        ]
    frame = pd.DataFrame(rows, columns=["time", "row", "level", "why", "mark"])
    return frame.astype({"time": "datetime64[ns, UTC]"}).sort_values("time", ignore_index=True)


def about_age(record: ElementRecord, e: ConsumptionEstimate) -> list[Message]:
    """Return how old the newest reading is, when it is old.

    Parameters
    ----------
    record : ElementRecord
        Sittings.
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> use = estimate_consumption(example_tank(), "alkalinity")
    >>> about_age(use.record, use)
    []
    """
    last = record.sessions["time"].iloc[-1]
    if (e.until - last).days <= FRESH_DAYS:
        return []
    return [
        Message(
            "AGED",
            f"The rate is that of {day_text(last, record.zone)}, the last reading: nothing newer is "
            "known of it.",
            "qualified",
        )
    ]


_CODES = {
    "rate change": "RATE_CHANGED",
    "level step": "STEP_UNEXPLAINED",
    "gross error": "POSSIBLE_GROSS",
}


def about_findings(e: ConsumptionEstimate) -> list[Message]:
    """Return a sentence for every finding that the keeper has not rejected, and for drift.

    Parameters
    ----------
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> use = estimate_consumption(example_tank(), "alkalinity")
    >>> about_findings(use)
    []
    """
    found = []
    for f in e.findings:
        if f.decision == "rejected":
            continue
        answered = (
            f"You said that it is so{f': “{f.note}”' if f.note else ''}." if f.decision else ""
        )
        more = (answered,) if answered else (f.fits, f.coincidence)
        said = " ".join(part for part in (f.text, *more) if part)
        kind: Literal["qualified", "told"] = "told" if f.kind == "gross error" else "qualified"
        found.append(Message(_CODES[f.kind], said, kind))
    p = e.p_not_constant or 0.0
    known = e.low is not None and e.high is not None and (e.low > 0 or e.high < 0)
    if known and p >= DRIFTS and not any(f.kind == "rate change" for f in e.findings):
        found.append(
            Message(
                "DRIFTING",
                f"Use is not constant ({as_percent(p)}), without one day at which it changed: the rate "
                "is that of the last weeks.",
                "qualified",
            )
        )
    return found


def about_follows_level(fit: NowFit, e: ConsumptionEstimate) -> list[Message]:
    """Return whether months with a higher level also used more, if use is known to have changed.

    Parameters
    ----------
    fit : NowFit
        The mixture's fit.
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    See :func:`reef_calc.balance.consumption.estimate_consumption`.
    """
    told = e.months[e.months["rate"].notna()] if len(e.months) else e.months
    if len(told) < FEWEST_MONTHS or (e.p_not_constant or 0.0) < DRIFTS or e.behaviour == "net":
        return []
    s = fit.record.sessions
    levels = [
        s.loc[(s["time"] >= m.start) & (s["time"] <= m.stop), "level"].mean()
        for m in told.itertuples(index=False)
    ]
    if np.ptp(levels) == 0 or np.corrcoef(levels, told["rate"].to_numpy(float))[0, 1] < FOLLOWS:
        return []
    return [
        Message(
            "RATE_FOLLOWS_LEVEL",
            "Months with a higher level used more: uptake may follow the level. Then bringing the "
            "level back raises the use as well.",
        )
    ]


def about_invisible(e: ConsumptionEstimate) -> list[Message]:
    """Return how young a change cannot show yet.

    Parameters
    ----------
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> use = estimate_consumption(example_tank(), "alkalinity")
    >>> about_invisible(use)
    []
    """
    if e.invisible_days is None:
        return []
    return [
        Message(
            "RECENT_CHANGE_INVISIBLE",
            f"At this cadence a change of a quarter younger than about {e.invisible_days:g} days "
            "cannot show yet.",
        )
    ]
