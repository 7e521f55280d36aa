"""The rate over time as the mixture sees it, and each finding with its place and size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.mixture_by_row import quantiles_by_row
from reef_calc.balance.mixture_filter import FilteredMixture, ScaledSeries
from reef_calc.balance.mixture_priors import CHANGES, DOSE, LOT, SLIPS, STEPS, Priors
from reef_calc.balance.mixture_smoother import SmoothedComponents, smooth_components

Floats = NDArray[np.float64]
TAILS = (0.025, 0.5, 0.975)
NOTICED = 0.02
SAID = 0.5


@dataclass(frozen=True)
class Finding:
    """Something that probably happened.

    Attributes
    ----------
    kind : str
        “rate change”, “level step” or “gross error”.
    probability : float
        Weight of the components in which it happened anywhere between the two readings (share).
    first, last : int
        It lies after the reading before ``first`` and up to reading ``last``; a gross error is
        reading ``last`` itself.
    start, stop : float
        The same as times (d).
    size, low, high : float
        Median and 95 % interval of its size: use (concentration per day) or level (concentration).
    p_dose, p_lot : float
        For a step: probability (share) that it is an unlogged dose, or a lot or kit offset.
    """

    kind: str
    probability: float
    first: int
    last: int
    start: float
    stop: float
    size: float
    low: float
    high: float
    p_dose: float = 0.0
    p_lot: float = 0.0


@dataclass(frozen=True)
class Segment:
    """A stretch of readings between two found changes.

    Attributes
    ----------
    first, last : int
        Index of its first and last reading.
    rate, low, high : float
        Use at its middle reading: median and 95 % interval (concentration per day).
    """

    first: int
    last: int
    rate: float
    low: float
    high: float


@dataclass(frozen=True)
class RateHistory:
    """The use over time.

    Attributes
    ----------
    times : array (n,)
        Reading times (d).
    rate, low, high : array (n,)
        Use at each reading, from all readings: median and 95 % interval (concentration per day).
    segments : tuple of Segment
        Split at the changes whose probability is at least 0.5.
    findings : tuple of Finding
        Changes, steps and gross errors with a probability of at least 0.5, in order of time.
    covered : float
        Share of the mixture's weight that was looked back on.
    """

    times: Floats
    rate: Floats
    low: Floats
    high: Floats
    segments: tuple[Segment, ...]
    findings: tuple[Finding, ...]
    covered: float


def rate_history(
    series: ScaledSeries,
    mixture: FilteredMixture,
    prior: Priors,
    order: NDArray[np.intp],
    reading_sd: float,
) -> RateHistory:
    """Return the use over time with its band, its segments and what was found.

    Each moment is a mixture of t distributions over the heaviest components. Probabilities of one
    event are added over neighbouring intervals before they are judged.

    Parameters
    ----------
    series : ScaledSeries
        Readings in SDs.
    mixture : FilteredMixture
        Survivors.
    prior : Priors
        Beliefs.
    order : array (n,) of int
        How readings were ordered inside.
    reading_sd : float
        s0 (concentration).

    Returns
    -------
    RateHistory
        In the units of the readings.

    Examples
    --------
    See :attr:`reef_calc.balance.mixture_answer.CurrentRate.history`.
    """
    back = smooth_components(series, mixture, prior)
    scales = np.sqrt(back.use_variance * back.error_variance)
    df = mixture.degrees_of_freedom
    low, rate, high = quantiles_by_row(TAILS, back.weights, back.use, scales, df).T * reading_sd
    findings = [
        _finding(kind, branches, first, last, series, mixture, back, order, reading_sd)
        for kind, branches in (
            ("rate change", CHANGES),
            ("level step", STEPS),
            ("gross error", SLIPS),
        )
        for first, last in _runs(mixture, branches, series.times.size)
    ]
    said = sorted(
        (f for f in findings if f.probability >= SAID), key=lambda f: (f.last, f.first, f.kind)
    )
    segments, start = [], 0
    turns = [(f.first, f.last) for f in said if f.kind == "rate change"]
    for first, last in [*turns, (series.times.size, series.times.size)]:
        if first - 1 >= start:
            middle = (start + first - 1) // 2
            segments.append(
                Segment(
                    start, first - 1, float(rate[middle]), float(low[middle]), float(high[middle])
                )
            )
        start = last
    return RateHistory(series.times, rate, low, high, tuple(segments), tuple(said), back.covered)


def _runs(mixture: FilteredMixture, branches: tuple[int, ...], n: int) -> list[tuple[int, int]]:
    """First and last reading of each run of neighbours with some weight; a gross error stands alone."""
    noticed = mixture.events.by_reading(mixture.weights, branches, n) >= NOTICED
    if branches == SLIPS:
        return [(int(i), int(i)) for i in np.flatnonzero(noticed)]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], noticed.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _finding(
    kind: str,
    branches: tuple[int, ...],
    first: int,
    last: int,
    series: ScaledSeries,
    mixture: FilteredMixture,
    back: SmoothedComponents,
    order: NDArray[np.intp],
    reading_sd: float,
) -> Finding:
    alone, step = branches == SLIPS, branches == STEPS
    w, events = mixture.weights, mixture.events
    probability = float(w[events.having(branches, first, last)].sum())
    hit = np.isin(back.branches[first : last + 1], branches)
    has = hit.any(axis=0)
    size = low = high = float("nan")
    if has.any() and probability >= SAID:
        # Two events of one kind side by side in one component are one finding: their sum.
        sizes, variances = (
            (back.slip, back.slip_variance) if alone else (back.size, back.size_variance)
        )
        value = (sizes[first : last + 1] * hit).sum(axis=0)[has]
        variance = (variances[first : last + 1] * hit).sum(axis=0)[has]
        scale = np.sqrt(variance * back.error_variance[has])
        low, size, high = (
            quantiles_by_row(TAILS, back.weights[has], value, scale, mixture.degrees_of_freedom)[0]
            * reading_sd
        )
    return Finding(
        kind=kind,
        probability=probability,
        first=int(order[first]) if alone else first,
        last=int(order[last]) if alone else last,
        start=float(series.times[first if alone else max(first - 1, 0)]),
        stop=float(series.times[last]),
        size=float(size),
        low=float(low),
        high=float(high),
        p_dose=float(w[events.having((DOSE,), first, last)].sum()) if step else 0.0,
        p_lot=float(w[events.having((LOT,), first, last)].sum()) if step else 0.0,
    )
