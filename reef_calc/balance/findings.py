"""What probably happened in a history, each with its probability, place, size and words."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True)
class FoundEvent:
    """One finding of the estimator, told with what the keeper decided about it.

    Attributes
    ----------
    key : str
        Stable name that a decision in ``events.csv`` refers to, such as
        ``gross error 2026-04-15T11:57Z`` or ``rate change 2026-08-17 to 2026-08-21``.
    kind : {"rate change", "level step", "gross error"}
        What it is.
    word : {"found", "likely", "possible"}
        From a probability of 0.95, 0.8 and 0.5.
    probability : float
        Weight of everything in which it happened.
    start, stop : pandas.Timestamp
        It lies between these two readings (UTC); a gross error is the reading at ``stop``.
    size, low, high : float
        Median and 95 % interval: unit per day for a rate, unit for a level.
    rows : tuple of int
        Rows of ``readings.csv`` that it names; empty unless a gross error.
    text : str
        The finding as a sentence.
    fits : str
        What fits it, never a cause.
    coincidence : str
        Logged events close to it, told as a coincidence; empty when there are none.
    decision : {"", "accepted", "rejected", "explained"}
        What the keeper said of it.
    note : str
        The keeper's words.
    """

    key: str
    kind: str
    word: str
    probability: float
    start: pd.Timestamp
    stop: pd.Timestamp
    size: float
    low: float
    high: float
    rows: tuple[int, ...]
    text: str
    fits: str
    coincidence: str = ""
    decision: str = ""
    note: str = ""


@dataclass(frozen=True)
class RateCurve:
    """The use over time as the readings up to the end tell it.

    Attributes
    ----------
    time : pandas.DatetimeIndex
        Reading times (UTC).
    rate, low, high : tuple of float
        Use at each reading with its 95 % band, unit per day.
    segments : pandas.DataFrame
        Stretches between believed changes: ``start``, ``stop`` (UTC), ``rate``, ``low``, ``high``.
    """

    time: pd.DatetimeIndex
    rate: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    segments: pd.DataFrame
