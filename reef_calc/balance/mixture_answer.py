"""What a finished mixture says: the rate with its interval, and the weight of everything that happened."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.mixture_by_row import quantiles_by_row
from reef_calc.balance.mixture_filter import STATES, USE, FilteredMixture, ScaledSeries
from reef_calc.balance.mixture_priors import CHANGES, DOSE, LOT, SLIPS, STEPS, Priors
from reef_calc.balance.rate_history import RateHistory, rate_history

Floats = NDArray[np.float64]
TAILS = (0.025, 0.5, 0.975)
TWO_HUMPS = (0.2, 0.8)
STILL_FITS = 0.001
WORDS = ((0.95, "found"), (0.8, "likely"), (0.5, "possible"))


def in_words(probability: float) -> str:
    """Return the word for a probability: found, likely, possible, or nothing at all.

    Parameters
    ----------
    probability : float
        Probability (0 to 1).

    Returns
    -------
    str
        “found” from 0.95, “likely” from 0.8, “possible” from 0.5, else empty.

    Examples
    --------
    >>> in_words(0.97), in_words(0.6), in_words(0.2)
    ('found', 'possible', '')
    """
    return next((word for least, word in WORDS if probability >= least), "")


def as_percent(probability: float) -> str:
    """Return a probability in whole per cent, never as 0 % or 100 %.

    Parameters
    ----------
    probability : float
        Probability (0 to 1). What was pruned is lost, so a small one is only known to be small.

    Returns
    -------
    str
        Such as “< 3 %” or “70 %”.

    Examples
    --------
    >>> as_percent(0.0), as_percent(0.7), as_percent(1.0)
    ('< 3 %', '70 %', '> 97 %')
    """
    if probability < 0.03:
        return "< 3 %"
    return "> 97 %" if probability > 0.97 else f"{100 * probability:.0f} %"


@dataclass(frozen=True)
class WeightedRate:
    """A rate under a condition, with the probability of the condition.

    Attributes
    ----------
    weight : float
        Probability (share).
    rate, low, high : float
        Median and 95 % interval (concentration per day).
    """

    weight: float
    rate: float
    low: float
    high: float


@dataclass(frozen=True)
class CurrentRate:
    """What the tank uses per day now, and what seems to have happened.

    Attributes
    ----------
    rate, low, high : float
        Median and 95 % interval of the use now (concentration per day).
    p_changed, p_not_constant : float
        Probability that the use changed; that it changed or drifts (the better calibrated one).
    p_step, p_step_dose, p_step_lot : float
        Probability of a step of the level, as an unlogged dose, as a lot or kit offset.
    p_gross : array (n,)
        Probability that a reading is a gross error, in the order of the readings handed in.
    p_change_at, p_dose_at, p_lot_at : array (n,)
        Probability by the reading that closes the interval. Add over neighbours before judging.
    if_nothing_changed : WeightedRate or None
        The same limited to steady use; None where steady use no longer fits these readings.
    humps : tuple of WeightedRate
        Without and with a change, if the probability of a change is between 0.2 and 0.8; else empty.
    day_to_day, day_to_day_weights : array (v,)
        Variation of use from day to day (share) and what the readings leave of its weight.
    degrees_of_freedom : float
        ν of every t distribution.
    rate_scale, reading_sd : float
        k0 (concentration per day) and s0 (concentration).
    sd_found : float
        SD of a reading that its scatter supports, the stated one counted in (concentration).
    names : tuple of str
        Names of the known columns.
    centres : array (m,)
        Expected factors of the known columns.
    order : array (n,) of int
        How readings were ordered inside; only those at equal times may be exchanged.
    series, mixture, prior
        What went into the answer: scaled readings, surviving components, beliefs.
    """

    rate: float
    low: float
    high: float
    p_changed: float
    p_not_constant: float
    p_step: float
    p_step_dose: float
    p_step_lot: float
    p_gross: Floats
    p_change_at: Floats
    p_dose_at: Floats
    p_lot_at: Floats
    if_nothing_changed: WeightedRate | None
    humps: tuple[WeightedRate, ...]
    day_to_day: Floats
    day_to_day_weights: Floats
    degrees_of_freedom: float
    rate_scale: float
    reading_sd: float
    sd_found: float
    names: tuple[str, ...]
    centres: Floats
    order: NDArray[np.intp]
    series: ScaledSeries
    mixture: FilteredMixture
    prior: Priors

    def interval(
        self, contrast: ArrayLike, probability: float = 0.95
    ) -> tuple[float, float, float]:
        """Return median, low and high end of a linear combination of the state now.

        Parameters
        ----------
        contrast : array_like, shape (3 + m,)
            Coefficients of level, use, reading offset and the known columns.
        probability : float, optional
            Coverage of the interval (share).

        Returns
        -------
        tuple of float
            Median, low, high, in the unit of the combination.
        """
        c = np.asarray(contrast, dtype=float)
        tail = (1 - probability) / 2
        low, middle, high = _quantiles(self.mixture, c, (tail, 0.5, 1 - tail)) * self.reading_sd
        known = float(c[STATES:] @ self.centres)
        return float(middle) + known, float(low) + known, float(high) + known

    def factor(self, name: str, probability: float = 0.95) -> tuple[float, float, float]:
        """Return median, low and high end of the factor of a known column.

        Parameters
        ----------
        name : str
            One of ``names``.
        probability : float, optional
            Coverage of the interval (share).

        Returns
        -------
        tuple of float
            Median, low, high, in the unit of the factor.
        """
        return self.interval(
            np.eye(STATES + len(self.names))[STATES + self.names.index(name)], probability
        )

    @cached_property
    def history(self) -> RateHistory:
        """The rate over time with its band, its segments and the sizes of what was found."""
        return rate_history(self.series, self.mixture, self.prior, self.order, self.reading_sd)


def answer(
    series: ScaledSeries,
    mixture: FilteredMixture,
    prior: Priors,
    order: NDArray[np.intp],
    reading_sd: float,
    names: tuple[str, ...],
    centres: Floats,
) -> CurrentRate:
    """Return the answer of a finished mixture in the units of the readings.

    Rate = median of Σ w·t_ν(b, √(P22·S/ν)); findings are sums of weights.

    Parameters
    ----------
    series : ScaledSeries
        Readings in SDs.
    mixture : FilteredMixture
        Components after the last reading.
    prior : Priors
        Beliefs.
    order : array (n,) of int
        How readings were ordered inside.
    reading_sd : float
        s0 (concentration).
    names : tuple of str
        Names of the known columns.
    centres : array (m,)
        Expected factors of the known columns, in their units.

    Returns
    -------
    CurrentRate
        Full precision.

    Examples
    --------
    See :func:`reef_calc.balance.rate_mixture.current_rate`.
    """
    n, w, events = series.times.size, mixture.weights, mixture.events
    cv, mu, _ = prior.grid()
    changed = events.having(CHANGES)
    drifts = mu[events.roots] > 0
    steady = ~changed & ~drifts
    p_changed = float(w[changed].sum())
    use = np.zeros(mixture.means.shape[1])
    use[USE] = 1.0

    def rate_of(keep: NDArray[np.bool_]) -> WeightedRate:
        low, middle, high = _quantiles(mixture, use, TAILS, keep) * reading_sd
        return WeightedRate(float(w[keep].sum()), float(middle), float(low), float(high))

    whole = rate_of(np.ones(w.size, dtype=bool))
    humps: tuple[WeightedRate, ...] = ()
    if TWO_HUMPS[0] <= p_changed <= TWO_HUMPS[1]:
        humps = (rate_of(~changed), rate_of(changed))
    p_gross = np.empty(n)
    p_gross[order] = events.by_reading(w, SLIPS, n)
    variation = np.asarray(prior.day_to_day, dtype=float)
    return CurrentRate(
        rate=whole.rate,
        low=whole.low,
        high=whole.high,
        p_changed=p_changed,
        p_not_constant=float(w[~steady].sum()),
        p_step=float(w[events.having(STEPS)].sum()),
        p_step_dose=float(w[events.having((DOSE,))].sum()),
        p_step_lot=float(w[events.having((LOT,))].sum()),
        p_gross=p_gross,
        p_change_at=events.by_reading(w, CHANGES, n),
        p_dose_at=events.by_reading(w, (DOSE,), n),
        p_lot_at=events.by_reading(w, (LOT,), n),
        if_nothing_changed=rate_of(steady) if w[steady].sum() >= STILL_FITS else None,
        humps=humps,
        day_to_day=variation,
        day_to_day_weights=np.array([w[cv[events.roots] == v].sum() for v in variation]),
        degrees_of_freedom=mixture.degrees_of_freedom,
        rate_scale=series.use * reading_sd,
        reading_sd=reading_sd,
        sd_found=reading_sd * float(np.sqrt(w @ mixture.squares / mixture.degrees_of_freedom)),
        names=names,
        centres=centres,
        order=order,
        series=series,
        mixture=mixture,
        prior=prior,
    )


def _quantiles(
    mixture: FilteredMixture,
    contrast: Floats,
    probabilities: tuple[float, ...],
    keep: NDArray[np.bool_] | None = None,
) -> Floats:
    which = slice(None) if keep is None else keep
    centres = mixture.means[which] @ contrast
    variances = np.einsum("i,mij,j->m", contrast, mixture.covariances[which], contrast)
    scales = np.sqrt(np.maximum(variances, 0) * mixture.squares[which] / mixture.degrees_of_freedom)
    return quantiles_by_row(
        probabilities, mixture.weights[which], centres, scales, mixture.degrees_of_freedom
    )[0]
