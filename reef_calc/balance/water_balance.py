"""The mass balance of one element: what doses and water changes do to the level, worked out exactly.

Between events the level moves by doses minus use; a water change of fraction f pulls it towards the
new water. The level at a reading is therefore linear in the level at the first reading, in the daily
use and in every unknown dose: all of this module is the columns of that linear equation.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.errors import InputError

Floats = NDArray[np.float64]


def _empty() -> Floats:
    return np.empty(0)


@dataclass(frozen=True)
class WaterEvents:
    """Everything except use that moved one element, times in days on any common origin.

    Attributes
    ----------
    dose_times, dose_rises : array (m,)
        Doses given at once: time (d) and rise of the level (concentration).
    rate_starts, rate_stops, rates : array (q,)
        Doses spread evenly: from, to (d) and rise per day (concentration per day).
    change_times, change_fractions, change_levels : array (c,)
        Water changes: time (d), exchanged fraction of the net volume (0 ≤ f < 1) and level of the new
        water (concentration). The level counts as known here; what is uncertain about it is the
        column ``new_water`` of :func:`balance_columns`.
    """

    dose_times: Floats = field(default_factory=_empty)
    dose_rises: Floats = field(default_factory=_empty)
    rate_starts: Floats = field(default_factory=_empty)
    rate_stops: Floats = field(default_factory=_empty)
    rates: Floats = field(default_factory=_empty)
    change_times: Floats = field(default_factory=_empty)
    change_fractions: Floats = field(default_factory=_empty)
    change_levels: Floats = field(default_factory=_empty)

    def __post_init__(self) -> None:
        groups = (
            ("dose_times", "dose_rises"),
            ("rate_starts", "rate_stops", "rates"),
            ("change_times", "change_fractions", "change_levels"),
        )
        for names in groups:
            arrays = [np.atleast_1d(np.asarray(getattr(self, n), dtype=float)) for n in names]
            if len({a.size for a in arrays}) != 1:
                sizes = ", ".join(f"{n} {a.size}" for n, a in zip(names, arrays, strict=True))
                raise InputError(
                    "arrays of one length", sizes, "Give one entry an event.", "WaterEvents"
                )
            for name, array in zip(names, arrays, strict=True):
                if not np.all(np.isfinite(array)):
                    raise InputError(
                        "finite numbers", array, "Leave the event out or fill it in.", name
                    )
            order = np.argsort(arrays[0], kind="stable")
            for name, array in zip(names, arrays, strict=True):
                object.__setattr__(self, name, array[order])
        fractions = self.change_fractions
        if np.any((fractions < 0) | (fractions >= 1)):
            raise InputError(
                "water changes of 0 up to but not 100 % of the net volume",
                f"{100 * fractions[(fractions < 0) | (fractions >= 1)][0]:g} %",
                "Check litres and net volume; a full change starts a new history.",
                "WaterEvents.change_fractions",
            )
        if np.any(self.rate_stops < self.rate_starts):
            raise InputError(
                "a dose that stops after it starts",
                f"{self.rate_starts.tolist()} to {self.rate_stops.tolist()}",
                "Exchange start and stop.",
                "WaterEvents.rate_stops",
            )


@dataclass(frozen=True)
class BalanceColumns:
    """Columns of the balance, by interval between readings and added up over the history.

    Attributes
    ----------
    times : array (n,)
        Reading times (d).
    g, h, d, p, w : array (n,)
        What one interval does, entry 0 standing for the first reading: contraction, response to a
        unit use, to the logged doses and new water (concentration), to unit-variance daily scatter,
        and to a unit level of the new water.
    spans : array (n, j)
        Response within the interval to a unit rate inside each asked span.
    G, H, D, P, W : array (n,)
        The same, added up since the first reading.
    S : array (n, j)
        The spans, added up since the first reading.
    """

    times: Floats
    g: Floats
    h: Floats
    d: Floats
    p: Floats
    w: Floats
    spans: Floats
    G: Floats
    H: Floats
    D: Floats
    P: Floats
    W: Floats
    S: Floats


def balance_columns(times: ArrayLike, events: WaterEvents, spans: ArrayLike = ()) -> BalanceColumns:
    """Return the columns of the mass balance at the reading times.

    C(t) = C0·G + D − k·H. Between events dH/dt = 1, dP/dt = 1, dD/dt = dose rate; a dose d adds to D;
    a water change of fraction f with level Cn gives G ×= 1−f, H ×= 1−f, D = D(1−f) + f·Cn,
    P ×= (1−f)². At equal times a reading comes first, then doses, then water changes.

    Parameters
    ----------
    times : array_like, shape (n,)
        Reading times in days, not decreasing.
    events : WaterEvents
        Doses and water changes in the same days and one unit of concentration. What happened
        before the first reading or after the last does not matter.
    spans : array_like, shape (j, 2), optional
        Spans (from, to) in days whose response to a unit rate is wanted: months, gaps of the log.

    Returns
    -------
    BalanceColumns
        Times in days, levels in the unit of the events.

    Raises
    ------
    InputError
        If times are not finite or decrease.

    Notes
    -----
    Valid for a well-mixed net volume that the events refer to. Sums start afresh at each reading, so
    long histories do not underflow.

    Examples
    --------
    A fifth of the water changed at day 5, after the reading of that day, with new water of 7:

    >>> log = WaterEvents(change_times=[5.0], change_fractions=[0.2], change_levels=[7.0])
    >>> c = balance_columns([0, 2.5, 5, 7.5, 10], log)
    >>> round(float(c.G[-1]), 9), round(float(c.H[-1]), 9), round(float(c.D[-1]), 9)
    (0.8, 9.0, 1.4)

    References
    ----------
    Mass balance of a well-mixed volume; own derivation.
    """
    t = np.atleast_1d(np.asarray(times, dtype=float))
    if t.ndim != 1 or not np.all(np.isfinite(t)) or np.any(np.diff(t) < 0):
        raise InputError(
            "finite reading times that do not decrease",
            t,
            "Sort the readings by time first.",
            "balance_columns, times",
        )
    asked = np.asarray(spans, dtype=float).reshape(-1, 2)
    n = t.size
    first, last = (t[0], t[-1]) if n else (0.0, 0.0)
    log_kept = np.concatenate([[0.0], np.cumsum(np.log1p(-events.change_fractions))])

    def kept_before(u: Floats) -> Floats:
        return log_kept[np.searchsorted(events.change_times, u, side="left")]

    kept_at_readings = kept_before(t)
    g = np.ones(n)
    g[1:] = np.exp(np.diff(kept_at_readings))

    bounds = np.concatenate(
        [t, events.change_times, events.rate_starts, events.rate_stops, asked.ravel()]
    )
    bounds = np.unique(bounds[(bounds >= first) & (bounds <= last)])
    length, middle, end = np.diff(bounds), (bounds[:-1] + bounds[1:]) / 2, bounds[1:]
    interval = np.searchsorted(t, end, side="left")
    log_survives = kept_at_readings[interval] - kept_before(end) if n else length
    survives = np.exp(log_survives)

    def gather(index: NDArray[np.intp], amounts: Floats) -> Floats:
        return np.bincount(index, weights=amounts, minlength=n)[:n].astype(float)

    steps = np.concatenate([[0.0], np.cumsum(np.r_[events.rates, -events.rates][_by_time(events)])])
    edges = np.sort(np.r_[events.rate_starts, events.rate_stops])
    rate = steps[np.searchsorted(edges, middle, side="right")]
    h = gather(interval, length * survives)
    p = gather(interval, length * survives**2)
    d = gather(interval, length * survives * rate)
    span_columns = np.zeros((n, len(asked)))
    for j, (start, stop) in enumerate(asked):
        inside = (middle > start) & (middle < stop)
        span_columns[:, j] = gather(interval[inside], (length * survives)[inside])

    in_reach = (events.dose_times >= first) & (events.dose_times < last)
    u = events.dose_times[in_reach]
    index = np.searchsorted(t, u, side="right")
    d += gather(
        index, events.dose_rises[in_reach] * np.exp(kept_at_readings[index] - kept_before(u))
    )

    in_reach = (events.change_times >= first) & (events.change_times < last)
    index = np.searchsorted(t, events.change_times[in_reach], side="right")
    pulled = events.change_fractions[in_reach] * np.exp(
        kept_at_readings[index] - log_kept[1:][in_reach]
    )
    w = gather(index, pulled)
    d += gather(index, pulled * events.change_levels[in_reach])
    G, H, D, P, W, S = _added_up(g, h, d, p, w, span_columns)
    return BalanceColumns(t, g, h, d, p, w, span_columns, G, H, D, P, W, S)


def _by_time(events: WaterEvents) -> NDArray[np.intp]:
    return np.argsort(np.r_[events.rate_starts, events.rate_stops], kind="stable")


def _added_up(
    g: Floats, h: Floats, d: Floats, p: Floats, w: Floats, spans: Floats
) -> tuple[Floats, ...]:
    moved = np.column_stack([h, d, w, spans])
    total, walk = np.zeros_like(moved), np.zeros_like(p)
    for i in range(1, g.size):
        total[i] = g[i] * total[i - 1] + moved[i]
        walk[i] = g[i] ** 2 * walk[i - 1] + p[i]
    kept: Floats = np.cumprod(g, dtype=float)
    return kept, total[:, 0], total[:, 1], walk, total[:, 2], total[:, 3:]


def level_after_cycles(
    start: float,
    use: float,
    dose: float,
    fraction: float,
    new_water: float,
    days_between: float,
    cycles: ArrayLike,
) -> Floats:
    """Return the level just after each of a run of equal water changes: the closed form.

    C_m = C∞ + (C0 − C∞)·(1−f)^m with C∞ = Cn + (1−f)/f·(dose − use)·Δ; without water change
    C_m = C0 + m·(dose − use)·Δ.

    Parameters
    ----------
    start : float
        Level at the start (concentration).
    use, dose : float
        Use and dose (concentration per day).
    fraction : float
        Fraction exchanged at the end of each cycle, 0 ≤ f < 1.
    new_water : float
        Level of the new water (concentration).
    days_between : float
        Days from one change to the next, above 0.
    cycles : array_like of int
        Numbers of changes after which the level is wanted.

    Returns
    -------
    numpy.ndarray
        Levels (concentration), one for each entry of ``cycles``.

    Raises
    ------
    InputError
        If the fraction is outside [0, 1) or the days are not above 0.

    Examples
    --------
    One per cent a day in new water of 11, use 0.03 a day: from 9.5 after 30 days.

    >>> float(level_after_cycles(9.5, 0.03, 0.0, 0.01, 11.0, 1.0, [30])[0])
    9.12...

    References
    ----------
    Geometric series; *common practice, no source*.
    """
    if not 0 <= fraction < 1 or not days_between > 0:
        raise InputError(
            "a fraction from 0 up to but not 1 and days above 0",
            f"fraction {fraction:g}, days {days_between:g}",
            "Check litres, net volume and interval.",
            "level_after_cycles",
        )
    m = np.asarray(cycles, dtype=float)
    gain = (dose - use) * days_between
    if fraction == 0:
        return start + m * gain
    final = new_water + (1 - fraction) / fraction * gain
    return final + (start - final) * (1 - fraction) ** m
