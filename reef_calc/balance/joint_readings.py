"""The readings of two kits in one row of time, scaled, with what moved the water between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.walk import huber_rate
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]
LEAST_ALKALINITY = 6
LEAST_CALCIUM = 3
LEAST_SHARED_DAYS = 21.0


@dataclass(frozen=True)
class ElementReadings:
    """The readings of one element with its kit and everything that moved it.

    Attributes
    ----------
    times : array (n,)
        Reading times (d), any order.
    levels : array (n,)
        Levels read (concentration).
    events : WaterEvents
        Doses and water changes of this element, same days and concentration.
    sd, resolution : float
        Repeatability SD of one reading and step of the kit (concentration).
    noise : array (n,) or None
        Variance of each reading relative to s² + r²/12; all 1 when None.
    declared_lots : array (b,)
        Times (d) from which on another lot or kit was read, that reading included.
    """

    times: ArrayLike
    levels: ArrayLike
    events: WaterEvents
    sd: float
    resolution: float = 0.0
    noise: ArrayLike | None = None
    declared_lots: ArrayLike = ()

    def __post_init__(self) -> None:
        times = np.atleast_1d(np.asarray(self.times, dtype=float))
        levels = np.atleast_1d(np.asarray(self.levels, dtype=float))
        noise = np.ones(times.shape)
        if self.noise is not None:
            noise = np.atleast_1d(np.asarray(self.noise, dtype=float))
        fits = times.ndim == 1 and times.shape == levels.shape == noise.shape
        if not fits or not np.all(np.isfinite([times, levels, noise])) or np.any(noise <= 0):
            raise InputError(
                "one finite level (and variance above 0) for each time",
                f"{times.shape} times, {levels.shape} levels, {noise.shape} variances",
                "Leave out readings beyond the kit's limit before fitting.",
                "ElementReadings",
            )
        if not (np.isfinite(self.sd) and self.sd > 0 and 0 <= self.resolution < np.inf):
            raise InputError(
                "an SD above 0 and a resolution from 0",
                f"sd {self.sd:g}, resolution {self.resolution:g}",
                "Give the kit a repeatability.",
                "ElementReadings",
            )
        # Readings of one time are put in order of their level, so that their rows may be exchanged.
        order = np.lexsort((noise, levels, times))
        lots = np.atleast_1d(np.asarray(self.declared_lots, dtype=float))
        for name, array in (("times", times), ("levels", levels), ("noise", noise)):
            object.__setattr__(self, name, array[order])
        object.__setattr__(self, "declared_lots", np.sort(lots))

    @property
    def reading_sd(self) -> float:
        """SD of one reading with its step (concentration), √(s² + r²/12)."""
        return float(np.sqrt(self.sd**2 + self.resolution**2 / 12))

    def use_scale(self) -> float:
        """Return a robust use per day that only scales priors, kept from collapsing by the doses.

        Returns
        -------
        float
            Concentration per day, above 0.
        """
        c = balance_columns(self.times, self.events)
        robust = huber_rate(
            np.asarray(self.levels) - c.D, np.column_stack([c.G, -c.H]), self.reading_sd
        )[1]
        first, last, e = c.times[0], c.times[-1], self.events
        overlap = np.minimum(e.rate_stops, last) - np.maximum(e.rate_starts, first)
        scheduled = float((e.rates * np.maximum(overlap, 0)).sum() / (last - first))
        return max(abs(float(robust)), 0.3 * scheduled, 1e-6 * self.reading_sd)


@dataclass(frozen=True)
class JointSequence:
    """Readings of both kits sorted by time, in units of their SDs.

    Attributes
    ----------
    times : array (n,)
        Reading times (d); at equal times alkalinity comes first.
    is_calcium : array (n,) of bool
        Whether the reading is one of calcium.
    y, noise : array (n,)
        Reading (SDs of its kit) and relative variance.
    g, h, p : array (n,)
        Contraction, response to a unit use, and to unit daily scatter, of the interval before.
    doses : array (n, 2)
        What doses and new water did to alkalinity and calcium in the interval (SDs of the kit).
    apart, apart_same_kit : array (n,)
        Days since the previous reading of either kit, of the same kit (0 at its first).
    seen : tuple of two arrays (n,)
        Number of earlier readings of alkalinity, of calcium.
    declared_change, declared_offset : array (n,) of bool
        Whether the interval before holds a declared event; whether another lot or kit was opened.
    """

    times: Floats
    is_calcium: NDArray[np.bool_]
    y: Floats
    noise: Floats
    g: Floats
    h: Floats
    p: Floats
    doses: Floats
    apart: Floats
    apart_same_kit: Floats
    seen: tuple[Floats, Floats]
    declared_change: NDArray[np.bool_]
    declared_offset: NDArray[np.bool_]


def joint_sequence(
    alkalinity: ElementReadings, calcium: ElementReadings, declared_events: ArrayLike = ()
) -> JointSequence:
    """Return the readings of both kits in one sequence, with the balance between them.

    Δ, g, h and p belong to the interval since the previous reading of either kit; the same water
    changes act on both elements, each with its own doses and new water.

    Parameters
    ----------
    alkalinity, calcium : ElementReadings
        The two histories, times from one origin.
    declared_events : array_like, shape (a,), optional
        Times (d) at which the use may have changed. At equal times the reading came first.

    Returns
    -------
    JointSequence
        Sorted and scaled.

    Raises
    ------
    InputError
        If the two elements do not have the same water changes.
    CannotTellError
        With fewer than 6 alkalinity or 3 calcium readings, or less than 21 days in common.

    Examples
    --------
    >>> a = ElementReadings(range(0, 42, 7), [8.0] * 6, WaterEvents(), 0.15)
    >>> c = ElementReadings([0, 21, 35], [420.0] * 3, WaterEvents(), 7.0)
    >>> joint_sequence(a, c).is_calcium.astype(int).tolist()
    [0, 1, 0, 0, 0, 1, 0, 0, 1]

    References
    ----------
    Mass balance of a well-mixed volume; own derivation.
    """
    ta, tc = np.asarray(alkalinity.times), np.asarray(calcium.times)
    _refuse_too_few(ta, tc)
    ea, ec = alkalinity.events, calcium.events
    if not (
        np.array_equal(ea.change_times, ec.change_times)
        and np.array_equal(ea.change_fractions, ec.change_fractions)
    ):
        raise InputError(
            "the same water changes for alkalinity and calcium",
            f"{ea.change_times.size} and {ec.change_times.size} changes",
            "Give both elements one list of water changes, each with its own new-water level.",
            "joint_sequence",
        )
    times = np.r_[ta, tc]
    flag = np.r_[np.zeros(ta.size), np.ones(tc.size)].astype(bool)
    order = np.lexsort((flag, times))
    times, flag = times[order], flag[order]
    sds = (alkalinity.reading_sd, calcium.reading_sd)
    y = np.r_[np.asarray(alkalinity.levels) / sds[0], np.asarray(calcium.levels) / sds[1]][order]
    noise = np.r_[np.asarray(alkalinity.noise), np.asarray(calcium.noise)][order]
    balance, other = balance_columns(times, ea), balance_columns(times, ec)
    same_kit, offset = np.zeros(times.size), np.zeros(times.size, dtype=bool)
    for kit, readings in ((False, alkalinity), (True, calcium)):
        own = np.flatnonzero(flag == kit)
        same_kit[own] = np.diff(times[own], prepend=times[own[0]])
        offset[own[_first_after(times[own], np.asarray(readings.declared_lots), "left")]] = True
    change = np.zeros(times.size, dtype=bool)
    change[_first_after(times, np.atleast_1d(np.asarray(declared_events, float)), "right")] = True
    return JointSequence(
        times=times,
        is_calcium=flag,
        y=y,
        noise=noise,
        g=balance.g,
        h=balance.h,
        p=balance.p,
        doses=np.column_stack([balance.d / sds[0], other.d / sds[1]]),
        apart=np.diff(times, prepend=times[0]),
        apart_same_kit=same_kit,
        seen=(np.cumsum(~flag) - (~flag).astype(float), np.cumsum(flag) - flag.astype(float)),
        declared_change=change,
        declared_offset=offset,
    )


def _first_after(times: Floats, moments: Floats, side: str) -> NDArray[np.intp]:
    """Return the readings that close an interval in which one of the moments lies."""
    inside = moments[(moments >= times[0]) & (moments <= times[-1])]
    index = np.searchsorted(times, inside, side=side)  # type: ignore[call-overload]
    return np.unique(index[index < times.size]).astype(np.intp)


def _refuse_too_few(alkalinity_times: Floats, calcium_times: Floats) -> None:
    shared = 0.0
    if alkalinity_times.size and calcium_times.size:
        shared = min(alkalinity_times[-1], calcium_times[-1])
        shared -= max(alkalinity_times[0], calcium_times[0])
    missing = []
    for name, n, least in (
        ("alkalinity", alkalinity_times.size, LEAST_ALKALINITY),
        ("calcium", calcium_times.size, LEAST_CALCIUM),
    ):
        if n < least:
            missing.append(f"{n} {name} readings (at least {least} are needed)")
    if shared < LEAST_SHARED_DAYS:
        missing.append(
            f"{max(shared, 0):.0f} days in common (at least {LEAST_SHARED_DAYS:.0f} are needed)"
        )
    if missing:
        raise CannotTellError(
            "Alkalinity and calcium cannot be read together yet: " + " and ".join(missing) + ". "
            "Until then each is worked out alone."
        )
