"""What the planned readings of an element will be able to show, and what would show more."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.sampling import DAY_TO_DAY, WaterChangeHabit, design_half_widths
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PlannedElement:
    """One element with its kit, as far as a test calendar needs it.

    Attributes
    ----------
    name, unit : str
        Element and unit of its level.
    times : array_like (n,)
        Times of the readings so far (d), not decreasing; may be empty.
    rate : float
        Use (unit per day), not 0.
    sd, resolution : float
        Repeatability SD and step of the kit (unit).
    """

    name: str
    unit: str
    times: ArrayLike
    rate: float
    sd: float
    resolution: float = 0.0

    def __post_init__(self) -> None:
        past = np.atleast_1d(np.asarray(self.times, dtype=float))
        if past.ndim != 1 or not np.all(np.isfinite(past)) or np.any(np.diff(past) < 0):
            raise InputError(
                "finite reading times that do not decrease",
                past,
                "Sort the readings by time first.",
                f"PlannedElement, {self.name}",
            )
        if not (np.isfinite(self.rate) and self.rate != 0 and self.sd > 0 and self.resolution >= 0):
            raise InputError(
                "a use that is not 0, an SD above 0 and a step from 0",
                f"rate {self.rate:g}, sd {self.sd:g}, resolution {self.resolution:g}",
                "Without a use there is nothing to plan for; give a first guess.",
                f"PlannedElement, {self.name}",
            )


@dataclass(frozen=True)
class SamplingOutlook:
    """What planned readings will show of a steady use, and what would show more.

    Attributes
    ----------
    element : PlannedElement
        Whose readings.
    planned : int
        Number of planned readings.
    now, after : float
        Half-width of the 95 % interval of the use (unit per day) now and after the planned readings;
        infinite with fewer than 3 readings.
    one_more, finer_kit, longer_span : float
        The same with one more reading at its best day; with half the SD and step from now on; with
        the planned readings spread over twice the time.
    one_more_at : float
        That best day (time in d).
    """

    element: PlannedElement
    planned: int
    now: float
    after: float
    one_more: float
    finer_kit: float
    longer_span: float
    one_more_at: float

    @property
    def text(self) -> str:
        """What the keeper reads."""
        e = self.element
        if not math.isfinite(self.after):
            return (
                f"The {e.name} readings so far and planned are too few to show a use. "
                "Three are the least."
            )
        decimals = decimals_for(self.after)

        def width(half: float) -> str:
            return f"± {fixed(half, decimals + 1)}" if math.isfinite(half) else "no interval"

        share = 100 * self.after / abs(e.rate)
        return (
            f"After the {self.planned} planned {'reading' if self.planned == 1 else 'readings'} "
            f"the use of {e.name} will be known to "
            f"{width(self.after)} {e.unit} a day (± {share:.0f} %) if it stays steady. One more "
            f"reading: {width(self.one_more)}. A kit twice as fine: {width(self.finer_kit)}. "
            f"The same readings over twice the time: {width(self.longer_span)}."
        )


def outlook(
    element: PlannedElement,
    planned: ArrayLike,
    habit: WaterChangeHabit = WaterChangeHabit(),  # noqa: B008 (frozen)
    *,
    day_to_day: float = DAY_TO_DAY,
) -> SamplingOutlook:
    """Return what planned readings will show, and what one more, a finer kit or more time would.

    Each is :func:`reef_calc.balance.sampling.design_half_widths` of another design.

    Parameters
    ----------
    element : PlannedElement
        Readings so far, kit and use.
    planned : array_like, shape (m,)
        Times of the planned readings (d), after the last one, not decreasing.
    habit : WaterChangeHabit, optional
        Water changes.
    day_to_day : float, optional
        Variation of the use from day to day (share of the use).

    Returns
    -------
    SamplingOutlook
        Half-widths in unit per day.

    Raises
    ------
    InputError
        If nothing is planned, or a planned time is not after the last reading.

    Examples
    --------
    >>> calcium = PlannedElement("calcium", "mg/L", [0, 7, 14], 7.0, 7.0, 5.0)
    >>> print(outlook(calcium, [21, 28, 35, 42]).text)
    After the 4 planned readings the use of calcium will be known to ± 0.57 mg/L a day (± 8 %) if it
    stays steady. One more reading: ± 0.50. A kit twice as fine: ± 0.46. The same readings over twice
    the time: ± 0.36.

    References
    ----------
    Generalised least squares: standard theory; *common practice, no source*.
    """
    past = np.atleast_1d(np.asarray(element.times, dtype=float))
    future = np.atleast_1d(np.asarray(planned, dtype=float))
    since = float(past[-1]) if past.size else float(future[0]) if future.size else 0.0
    in_order = np.all(np.isfinite(future)) and np.all(np.diff(future) >= 0)
    if not future.size or not in_order or (past.size and future[0] <= since):
        raise InputError(
            "planned readings after the last one, in order of time",
            future,
            "Plan from tomorrow on.",
            "outlook, planned",
        )

    def after(coming: Floats, finer: float = 1.0) -> float:
        times = np.r_[past, coming]
        noise = np.r_[np.ones(past.size), np.full(coming.size, finer**2)]
        found = design_half_widths(
            times,
            element.rate,
            element.sd,
            element.resolution,
            habit,
            day_to_day=day_to_day,
            noise=noise,
        )
        return float(found[-1]) if found.size else math.inf

    first = math.floor(future[0])
    candidates = np.arange(
        max(first, math.floor(since) + 1), math.floor(future[-1]) + 1, dtype=float
    )
    candidates = candidates if candidates.size else future[-1:]
    with_one = [after(np.sort(np.r_[future, day])) for day in candidates]
    best = int(np.argmin(with_one))
    return SamplingOutlook(
        element=element,
        planned=future.size,
        now=after(np.empty(0)),
        after=after(future),
        one_more=with_one[best],
        finer_kit=after(future, 0.5),
        longer_span=after(since + 2 * (future - since)),
        one_more_at=float(candidates[best]),
    )
