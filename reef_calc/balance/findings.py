"""What probably happened in a history, each with its probability, place, size and words."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.errors import InputError


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


def key_of(kind: str, start: pd.Timestamp, stop: pd.Timestamp) -> str:
    """Return the stable name of a finding.

    Parameters
    ----------
    kind : str
        Kind of the finding.
    start, stop : pandas.Timestamp
        It lies between these two (UTC).

    Returns
    -------
    str
        Such as ``rate change 2026-08-17 to 2026-08-21``; to the minute for a gross error.

    Examples
    --------
    >>> t = pd.Timestamp("2026-04-15 11:57", tz="UTC")
    >>> key_of("gross error", t, t)
    'gross error 2026-04-15T11:57Z'
    """
    if kind == "gross error":
        return f"{kind} {stop:%Y-%m-%dT%H:%M}Z"
    return f"{kind} {start:%Y-%m-%d} to {stop:%Y-%m-%d}"


def span_of(key: str) -> tuple[str, float, float]:
    """Return kind and day numbers of a finding's name; the days of a span count whole.

    Parameters
    ----------
    key : str
        Name made by :func:`key_of`.

    Returns
    -------
    tuple
        Kind, start and stop in days since 1970 (UTC).

    Raises
    ------
    InputError
        If the text is not such a name.

    Examples
    --------
    >>> span_of("rate change 1970-01-03 to 1970-01-05")
    ('rate change', 2.0, 5.0)
    >>> span_of("gross error 1970-01-03T12:00Z")
    ('gross error', 2.5, 2.5)
    """
    epoch, day = pd.Timestamp("1970-01-01", tz="UTC"), pd.Timedelta(days=1)
    for kind in ("rate change", "level step", "gross error"):
        if not key.startswith(kind + " "):
            continue
        texts = key.removeprefix(kind + " ").split(" to ")
        try:
            moments = [pd.Timestamp(text.removesuffix("Z"), tz="UTC") for text in texts]
        except ValueError:
            break
        start, stop = ((m - epoch) / day for m in (moments[0], moments[-1]))
        return kind, start, stop if kind == "gross error" else stop + 1
    raise InputError(
        "the name of a finding",
        key,
        "Copy it from the review, such as “gross error 2026-04-15T11:57Z”.",
        "events.csv, refers_to",
    )
