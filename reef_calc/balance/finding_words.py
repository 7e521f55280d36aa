"""Findings of the mixture told as sentences: what, when, how much, what fits, what coincides."""

from __future__ import annotations

import math

import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.findings import FoundEvent, key_of
from reef_calc.balance.mixture_answer import as_percent, in_words
from reef_calc.balance.rate_history import Finding
from reef_calc.balance.rate_now import NowFit
from reef_calc.balance.refusals import day_text
from reef_calc.balance.told import Told
from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.decisions import matches
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import with_interval

CLOSE = pd.Timedelta(days=7)
SURE = 0.8
WORTH_TELLING = 0.05
RATE_FITS = (
    "Only dose minus use is seen: use changed, or more or less was delivered than set (pump, hose, "
    "air, an empty or weak container), or the salt mix changed."
)


def found_events(tank: Tank, fit: NowFit, told: Told) -> tuple[FoundEvent, ...]:
    """Return the findings of a fit, in order of time, with what the keeper decided on each.

    A change of rate is only told from 80 %, or with a size of 5 % whose interval leaves out nothing:
    over a long span of few readings a change is likely before any reading speaks for it.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    fit : NowFit
        A fitted record.
    told : Told
        Declared events and decisions.

    Returns
    -------
    tuple of FoundEvent
        Findings.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> estimate_consumption(example_tank(), "alkalinity").findings
    ()
    """
    said = []
    for f in fit.now.history.findings:
        clear = (f.low > 0 or f.high < 0) and (
            f.kind != "rate change" or abs(f.size) >= WORTH_TELLING * abs(fit.now.rate)
        )
        if f.kind == "level step" and not clear:
            continue
        if f.kind == "rate change" and not clear and f.probability < SURE:
            continue
        if not math.isfinite(f.size):
            continue
        said.append(_told(tank, fit, told, f))
    return tuple(said)


def _told(tank: Tank, fit: NowFit, told: Told, f: Finding) -> FoundEvent:
    record = fit.record
    start, stop = moment(f.start), moment(f.stop)
    rows: tuple[int, ...] = ()
    name, unit = record.element, record.unit
    word = in_words(f.probability)
    sure = {"found": "", "likely": "Likely: ", "possible": "Possibly: "}[word]
    if f.kind == "gross error":
        row = record.sessions.iloc[f.last]
        rows = tuple(row["rows"])
        text = (
            f"{sure}the {name} reading of {day_text(stop, record.zone)} ({row['level']:g} {unit}, row "
            f"{rows[0]}) is {with_interval(abs(f.size), *_sizes(f))} {unit} too "
            f"{'high' if f.size > 0 else 'low'} for the readings around it."
        )
        weight = "less" if word == "possible" else "next to nothing"
        fits = f"A slip of hand, eye or pen fits; it weighs {weight} in the rate."
    elif f.kind == "rate change":
        used = ELEMENTS[name].behaviour == "used"
        more = (
            ("more is used" if used else "it falls faster")
            if f.size > 0
            else ("less is used" if used else "it rises faster")
        )
        since = f"{day_text(start, record.zone)} and {day_text(stop, record.zone)}"
        text = (
            f"{sure}{more} since a day between {since}, by "
            f"{with_interval(abs(f.size), *_sizes(f))} {unit} a day."
        )
        fits = RATE_FITS if used else "Feeding, export, uptake or the source water changed."
    else:
        word_size = with_interval(abs(f.size), *_sizes(f))
        text = (
            f"{sure}the level stepped {'up' if f.size > 0 else 'down'} by {word_size} {unit} between "
            f"{day_text(start, record.zone)} and {day_text(stop, record.zone)}."
        )
        fits = (
            f"Something added or removed that is not in the log ({as_percent(f.p_dose)}), or another "
            f"lot, kit or reader ({as_percent(f.p_lot)}). Later water changes fade the first and not "
            "the second; the keeper may know."
        )
    key = key_of(f.kind, start, stop)
    decision = next((d for k, d in told.decisions.items() if matches(k, key)), None)
    return FoundEvent(
        key=key,
        kind=f.kind,
        word=word,
        probability=f.probability,
        start=start,
        stop=stop,
        size=f.size,
        low=f.low,
        high=f.high,
        rows=rows,
        text=text[:1].upper() + text[1:],
        fits=fits,
        coincidence=""
        if f.kind == "gross error"
        else _coincidence(tank, record.element, start, stop),
        decision="" if decision is None else decision.decision,
        note="" if decision is None else decision.note,
    )


def _sizes(f: Finding) -> tuple[float, float]:
    return (f.low, f.high) if f.size > 0 else (-f.high, -f.low)


def _coincidence(tank: Tank, element: str, start: pd.Timestamp, stop: pd.Timestamp) -> str:
    events = tank.events
    near = events[
        (events["time"] >= start - CLOSE)
        & (events["time"] <= stop + CLOSE)
        & events["element"].isin(["", element])
        & ~events["kind"].isin(["finding accepted", "finding rejected"])
    ]
    if near.empty:
        return ""
    zone = str(tank.zone)
    listed = "; ".join(
        f"{day_text(e.time, zone)} {e.kind}" + (f" ({e.note})" if e.note else "")
        for e in near.itertuples(index=False)
    )
    return f"In the log at about that time: {listed}. That is a coincidence, not a proof."
