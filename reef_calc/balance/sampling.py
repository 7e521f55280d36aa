"""How often to test: what readings of a kit can show about the use, before they are made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from reef_calc.balance.walk import whiten
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]
DAY_TO_DAY = 0.10
# Ages of a change that are tried (days), and the probability from which it counts as seen.
AGES = (1, 2, 3, 5, 8, 13, 21, 34)
VISIBLE = 0.8


@dataclass(frozen=True)
class WaterChangeHabit:
    """Equal water changes at equal distances.

    Attributes
    ----------
    fraction : float
        Share of the net volume exchanged each time (0 for none).
    days_between : float
        Days from one to the next.
    one_at : float
        Time (d) of any one of them, same origin as the readings. At equal times a reading comes first.
    """

    fraction: float = 0.0
    days_between: float = 7.0
    one_at: float = 0.0

    def __post_init__(self) -> None:
        if not (0 <= self.fraction < 1 and 0 < self.days_between < np.inf):
            raise InputError(
                "a fraction from 0 up to but not 1 and days above 0",
                f"fraction {self.fraction:g}, days {self.days_between:g}",
                "Check litres, net volume and interval.",
                "WaterChangeHabit",
            )

    def events(self, first: float, last: float) -> WaterEvents:
        """Return the water changes between two times.

        Parameters
        ----------
        first, last : float
            Times (d).

        Returns
        -------
        WaterEvents
            Changes to water of level 0: only their pull matters here.
        """
        if self.fraction == 0:
            return WaterEvents()
        steps = np.arange(
            np.ceil((first - self.one_at) / self.days_between),
            np.floor((last - self.one_at) / self.days_between) + 1,
        )
        times = self.one_at + steps * self.days_between
        return WaterEvents(
            change_times=times,
            change_fractions=np.full(times.size, self.fraction),
            change_levels=np.zeros(times.size),
        )


def design_half_widths(
    times: ArrayLike,
    rate: float,
    sd: float,
    resolution: float = 0.0,
    habit: WaterChangeHabit = WaterChangeHabit(),
    *,
    day_to_day: float = DAY_TO_DAY,
    noise: ArrayLike | None = None,
) -> Floats:
    """Return the half-width of the 95 % interval of a steady use after each reading of a design.

    Generalised least squares on [G, −H] with V = s_e²·R + (cv·k)²·P; t with n − 2 degrees of freedom.

    Parameters
    ----------
    times : array_like, shape (n,)
        Reading times (d), past and planned, not decreasing.
    rate : float
        Expected use (concentration per day); only its size matters.
    sd, resolution : float
        Repeatability SD and step of the kit (concentration).
    habit : WaterChangeHabit, optional
        Water changes.
    day_to_day : float, optional
        Variation of the use from day to day (share of the use).
    noise : array_like, shape (n,), optional
        Variance of each reading relative to s² + r²/12; all 1 when not given.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Half-widths (concentration per day); infinite while there are fewer than 3 readings.

    Raises
    ------
    InputError
        If the SD is not above 0.

    Notes
    -----
    For one steady use and a new-water level that is known. Dose strength is not in it.

    Examples
    --------
    >>> h = design_half_widths(np.arange(6) * 3.5, 0.7, 0.2, 0.1, WaterChangeHabit(0.1, 7.0, 6.9))
    >>> [round(100 * x / 0.7, 1) for x in h[3:].tolist()]  # per cent
    [21.0, 12.3, 8.8]

    References
    ----------
    Generalised least squares: standard theory; *common practice, no source*.
    """
    t = np.atleast_1d(np.asarray(times, dtype=float))
    error = float(np.hypot(sd, resolution / np.sqrt(12)))
    if not (np.isfinite(error) and sd > 0):
        raise InputError("an SD above 0", f"sd {sd:g}", "Give the kit a repeatability.", "sampling")
    if t.size < 3:
        return np.full(t.size, np.inf)
    c = balance_columns(t, habit.events(t[0], t[-1]))
    r = np.ones(t.size) if noise is None else np.asarray(noise, dtype=float)
    walk = np.array([(day_to_day * rate / error) ** 2])
    # Whitening goes forward in time, so the sums up to a reading are those of the shorter design.
    X = whiten(np.column_stack([c.G, -c.H]), c.g, c.p, walk, r)[0][0]
    gg, gh, hh = (np.cumsum(X[:, i] * X[:, j]) for i, j in ((0, 0), (0, 1), (1, 1)))
    determinant = gg * hh - gh**2
    found = np.full(t.size, np.inf)
    tells = (np.arange(t.size) >= 2) & (determinant > 1e-12 * gg * hh)
    quantile = stdtrit(np.maximum(np.arange(t.size) - 1, 1), 0.975)
    found[tells] = (quantile * error * np.sqrt(gg / np.where(tells, determinant, 1.0)))[tells]
    return found


def readings_to_reach(
    rate: float,
    sd: float,
    resolution: float = 0.0,
    *,
    days_between: float = 3.5,
    habit: WaterChangeHabit = WaterChangeHabit(0.1, 7.0, -0.01),
    share: float = 0.1,
    day_to_day: float = DAY_TO_DAY,
    most: int = 800,
) -> tuple[float, int]:
    """Return the days and readings that bring a steady use to ± a share of itself.

    Parameters
    ----------
    rate : float
        Use (concentration per day).
    sd, resolution : float
        Repeatability SD and step of the kit (concentration).
    days_between : float, optional
        Days from reading to reading.
    habit : WaterChangeHabit, optional
        Water changes; by default 10 % a week just before a reading.
    share : float, optional
        Wanted half-width as a share of the use.
    day_to_day : float, optional
        Variation of the use from day to day (share of the use).
    most : int, optional
        Number of readings at which to give up.

    Returns
    -------
    tuple of float and int
        Days and readings.

    Raises
    ------
    CannotTellError
        If ``most`` readings would not do.

    Examples
    --------
    >>> readings_to_reach(0.7, 0.2, 0.1)  # alkalinity (dKH)
    (17.5, 6)

    References
    ----------
    :func:`design_half_widths`.
    """
    times = np.arange(most) * days_between
    h = design_half_widths(times, rate, sd, resolution, habit, day_to_day=day_to_day)
    enough = np.flatnonzero(h <= share * abs(rate))
    if not enough.size:
        raise CannotTellError(
            f"Even {most} readings would not show this use to ± {100 * share:.0f} %. A finer kit "
            "would help more than more readings."
        )
    return float(times[enough[0]]), int(enough[0]) + 1


def invisible_age(
    times: ArrayLike,
    rate: float,
    events: WaterEvents,
    probability_not_constant: Callable[[Floats, Floats], float],
    *,
    start: float,
    change: float = 0.25,
    ages: Sequence[float] = AGES,
    threshold: float = VISIBLE,
) -> float | None:
    """Return how old a change of use must be before it shows at this cadence.

    The tank's own reading times get levels without noise in which the use changes 1, 2, 3, 5, 8 …
    days before the last reading; the first age that the estimator sees is the answer.

    Parameters
    ----------
    times : array_like, shape (n,)
        Reading times (d), not decreasing.
    rate : float
        Use before the change (concentration per day).
    events : WaterEvents
        Doses and water changes.
    probability_not_constant : callable
        Takes times (d) and levels (concentration), gives the probability that the use changed.
    start : float
        Level at the first reading (concentration).
    change : float, optional
        Size of the change (share of the use).
    ages : sequence of float, optional
        Ages to try (days), rising.
    threshold : float, optional
        Probability from which a change counts as seen.

    Returns
    -------
    float or None
        Age in days; None if none of the ages within the readings shows.

    Notes
    -----
    Calls the estimator up to eight times; keep the answer as long as the times stay the same.

    Examples
    --------
    >>> def last_five(t, y):  # sees a bend of 0.7 within the last five readings
    ...     return float(abs(y[-1] - 2 * y[-3] + y[-5]) > 0.7)
    >>> invisible_age(np.arange(0, 41, 2), 1.0, WaterEvents(), last_five, start=50.0)
    3

    References
    ----------
    Own definition.
    """
    t = np.atleast_1d(np.asarray(times, dtype=float))
    for age in ages:
        turn = float(t[-1]) - age
        if turn <= t[0]:
            break
        c = balance_columns(t, events, [(float(t[0]), turn), (turn, float(t[-1]))])
        levels = start * c.G + c.D - rate * (c.S[:, 0] + (1 + change) * c.S[:, 1])
        if probability_not_constant(t, levels) > threshold:
            return age
    return None
