"""What a finished joint mixture says of the uses of alkalinity and calcium, and of their ratio."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri, stdtr

from reef_calc.balance.joint_filter import USE, JointComponents
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]
CONFIDENCE = (0.5, 0.025, 0.975)
# Below this chance of no alkalinity use at all, the ratio has an interval with two ends.
NO_USE_CHANCE = 0.01


class Estimate(NamedTuple):
    """A median with its 95 % interval.

    Attributes
    ----------
    value, low, high : float
        Median and ends of the interval, all in one unit.
    """

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2


@dataclass(frozen=True)
class JointUses:
    """The two uses of every component, in real units; t distributions with one ν.

    Attributes
    ----------
    weights : array (m,)
        Weights of the components (sum 1).
    alkalinity, calcium : array (m,)
        Centres of the uses (dKH and mg/L per day).
    alkalinity_squared, product, calcium_squared : array (m,)
        Squared scales of the uses and their joint scale.
    degrees_of_freedom : float
        ν of the t distributions.
    """

    weights: Floats
    alkalinity: Floats
    calcium: Floats
    alkalinity_squared: Floats
    product: Floats
    calcium_squared: Floats
    degrees_of_freedom: float

    def estimate(self, element: str, among: NDArray[np.bool_] | None = None) -> Estimate:
        """Return median and interval of one use, among all or some components.

        Parameters
        ----------
        element : {"alkalinity", "calcium"}
            Which use.
        among : array (m,) of bool, optional
            Components to look at.

        Returns
        -------
        Estimate
            Use per day.
        """
        some = self if among is None else self.among(among)
        some = some.heaviest()
        centres = getattr(some, element)
        scales = np.sqrt(np.maximum(getattr(some, f"{element}_squared"), 1e-300))

        def below(limits: Floats) -> Floats:
            distance = (limits[:, None] - centres) / scales
            return np.asarray(stdtr(some.degrees_of_freedom, distance) @ some.weights, float)

        reach = 4 * float(scales.max())
        return _reached(below, float(centres.min()) - reach, float(centres.max()) + reach)

    def among(self, chosen: NDArray[Any]) -> JointUses:
        """Return some of the components, their weights again with the sum 1.

        Parameters
        ----------
        chosen : array of bool or of int
            Which components.

        Returns
        -------
        JointUses
            The chosen ones.
        """
        w = self.weights[chosen]
        return JointUses(
            w / w.sum(),
            self.alkalinity[chosen],
            self.calcium[chosen],
            self.alkalinity_squared[chosen],
            self.product[chosen],
            self.calcium_squared[chosen],
            self.degrees_of_freedom,
        )

    def heaviest(self) -> JointUses:
        """Return the components that hold 0.9999 of the weight: the others move no quantile."""
        order = np.argsort(-self.weights, kind="stable")
        return self.among(
            order[: 1 + int(np.searchsorted(np.cumsum(self.weights[order]), 1 - 1e-4))]
        )


def joint_uses(components: JointComponents, ratio: float, sds: tuple[float, float]) -> JointUses:
    """Return the uses of all components: b·s_A and (r·b + u)·s_C.

    Parameters
    ----------
    components : JointComponents
        The finished mixture.
    ratio : float
        Ratio r of the filter, in units of the kits' SDs.
    sds : tuple of two floats
        SD of a reading of alkalinity and of calcium (dKH, mg/L).

    Returns
    -------
    JointUses
        In dKH and mg/L per day.

    Examples
    --------
    >>> one = JointComponents(np.ones(1), np.array([[0, 1, 0, 0, 0.5, 0.0]]).T, np.zeros((6, 6, 1)),
    ...                       np.ones(1), 20.0, np.zeros(1, int), np.zeros((1, 1), np.int8))
    >>> joint_uses(one, 2.0, (0.1, 3.0)).calcium.tolist()
    [7.5]
    """
    forms = np.zeros((2, 6))
    forms[0, USE] = sds[0]
    forms[1, [1, 4]] = ratio * sds[1], sds[1]
    variance = components.squares / components.degrees_of_freedom
    covariance = np.einsum("ai,ijm,bj->abm", forms, components.covariances, forms) * variance
    alkalinity, calcium = forms @ components.means
    return JointUses(
        components.weights,
        alkalinity,
        calcium,
        covariance[0, 0],
        covariance[0, 1],
        covariance[1, 1],
        components.degrees_of_freedom,
    )


@dataclass(frozen=True)
class UseRatio:
    """The ratio calcium use : alkalinity use, without ever dividing: the Bayesian kin of Fieller.

    P(ratio < c) = Σ w·T_ν(−m/s) with m and s of calcium − c·alkalinity, valid where the alkalinity
    use is above 0. The dose uncertainties add (u·use)² of each element to s².

    Attributes
    ----------
    uses : JointUses
        The uses of all components.
    dose_u : tuple of two floats
        Standard uncertainty of strength and delivery of the doses of alkalinity and calcium, as a
        share of the use.
    """

    uses: JointUses
    dose_u: tuple[float, float] = (0.0, 0.0)

    def below(self, limits: ArrayLike) -> Floats:
        """Return the probability that the ratio is below each limit.

        Parameters
        ----------
        limits : array_like, shape (q,)
            Ratios (mg/L calcium per dKH).

        Returns
        -------
        numpy.ndarray, shape (q,)
            Probabilities.
        """
        c, o = np.atleast_1d(np.asarray(limits, dtype=float))[:, None], self.uses
        squared = (
            o.calcium_squared
            - 2 * c * o.product
            + c**2 * o.alkalinity_squared
            + (self.dose_u[1] * o.calcium) ** 2
            + (c * self.dose_u[0] * o.alkalinity) ** 2
        )
        distance = (c * o.alkalinity - o.calcium) / np.sqrt(np.maximum(squared, 1e-300))
        return np.asarray(stdtr(o.degrees_of_freedom, distance) @ o.weights, dtype=float)

    def estimate(self) -> Estimate:
        """Return median and 95 % interval of the ratio.

        Returns
        -------
        Estimate
            Ratio (mg/L calcium per dKH).

        Raises
        ------
        CannotTellError
            If the alkalinity use may well be 0.
        """
        o = self.uses.heaviest()
        # The doses' share too, or the loop for the ends below would find none.
        squared = o.alkalinity_squared + (self.dose_u[0] * o.alkalinity) ** 2
        scale = np.sqrt(np.maximum(squared, 1e-300))
        none = float(stdtr(o.degrees_of_freedom, -o.alkalinity / scale) @ o.weights)
        if none > NO_USE_CHANCE:
            raise CannotTellError(
                "The alkalinity use may be nothing, so there is no ratio of calcium to alkalinity. "
                "More alkalinity readings over a longer span would tell."
            )
        heavy = o.weights >= 0.1 * o.weights.max()
        each = o.calcium[heavy] / np.maximum(o.alkalinity[heavy], scale[heavy])
        width = 0.2 * float(np.mean(np.abs(each))) + float(np.ptp(each)) + 1e-9
        return _reached(
            UseRatio(o, self.dose_u).below, float(each.min()) - width, float(each.max()) + width
        )


def _reached(below: Callable[[Floats], Floats], low: float, high: float) -> Estimate:
    """Where a distribution function reaches ½, 0.025 and 0.975, from a first guess of two ends."""
    wanted = np.array(CONFIDENCE)
    while below(np.array([low]))[0] > wanted.min():
        low -= high - low
    while below(np.array([high]))[0] < wanted.max():
        high += high - low
    # As normal deviates both sides are nearly straight lines, and a false position is soon right.
    aim = ndtri(wanted)
    lows, highs = np.full(3, low), np.full(3, high)
    short, over = _deviates(below, lows) - aim, _deviates(below, highs) - aim
    found, before, todo = np.zeros(3), np.zeros(3), np.arange(3)
    for step in range(200):
        # Every fifth step halves, since a false position stalls on the flat between two humps.
        share = 0.5 if step % 5 == 4 else short[todo] / np.minimum(short - over, -1e-300)[todo]
        middle = lows[todo] + share * (highs - lows)[todo]
        off = _deviates(below, middle) - aim[todo]
        found[todo] = middle
        # The end that stays twice counts half (Illinois rule), or it would stay for ever.
        under, same = off < 0, np.where(np.sign(off) == before[todo], 0.5, 1.0)
        short[todo] = np.where(under, off, short[todo] * same)
        over[todo] = np.where(under, over[todo] * same, off)
        lows[todo] = np.where(under, middle, lows[todo])
        highs[todo] = np.where(under, highs[todo], middle)
        before[todo] = np.sign(off)
        narrow = (highs - lows)[todo] < 1e-12 * (abs(low) + abs(high))
        todo = todo[(np.abs(off) > 1e-8) & ~narrow]
        if not todo.size:
            break
    return Estimate(*map(float, found))


def _deviates(below: Callable[[Floats], Floats], limits: Floats) -> Floats:
    """Return normal deviates of a distribution function, finite even far out."""
    return np.asarray(ndtri(np.clip(below(limits), 1e-12, 1 - 1e-12)), dtype=float)


def ratio_estimate(uses: JointUses, dose_u: tuple[float, float]) -> Estimate | None:
    """Return the ratio with its interval, or None where the alkalinity use may be nothing.

    Parameters
    ----------
    uses : JointUses
        The uses of all components.
    dose_u : tuple of two floats
        Standard uncertainty of the doses of alkalinity and calcium (share of the use).

    Returns
    -------
    Estimate or None
        Ratio (mg/L calcium per dKH).

    Raises
    ------
    InputError
        If a dose uncertainty is negative or not finite.

    Examples
    --------
    >>> sure = JointUses(np.ones(1), np.ones(1), 7 * np.ones(1), np.zeros(1), np.zeros(1),
    ...                  np.zeros(1), 1e9)
    >>> ratio_estimate(sure, (0.04, 0.04)).high  # about 7 ± 1.96 × 7 × 0.04 × √2
    7.8...
    """
    if len(dose_u) != 2 or not np.all(np.isfinite(dose_u)) or min(dose_u) < 0:
        raise InputError(
            "two relative uncertainties from 0 (alkalinity, calcium)",
            dose_u,
            "Give 0.04 for each when no pump was measured.",
            "dose_u",
        )
    try:
        return UseRatio(uses, dose_u).estimate()
    except CannotTellError:
        return None
