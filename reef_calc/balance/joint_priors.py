"""What the joint filter believes before it sees a reading: how use varies, and what may happen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.steady_use import DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, MEASURED_SD_WORTH
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
BRANCHES = (
    "nothing",
    "gross error",
    "calcification changed",
    "alkalinity only changed",
    "calcium only changed",
    "level step",
    "kit offset",
    "precipitation",
)
(
    NOTHING,
    GROSS,
    CALCIFICATION,
    ALKALINITY_ONLY,
    CALCIUM_ONLY,
    STEP,
    OFFSET,
    PRECIPITATION,
) = range(len(BRANCHES))
DECLARED = 0.5


@dataclass(frozen=True)
class JointPriors:
    """Beliefs about a tank whose alkalinity and calcium are used together.

    Attributes
    ----------
    ratio : float
        Expected use of calcium per use of alkalinity: 7.06 (mg/L per dKH) for coral aragonite.
    ratio_u : float
        Its standard uncertainty between tanks, same unit.
    other_alkalinity_u : float
        SD of alkalinity used without calcification, as a share of the use.
    unknown_ratio_u, unknown_ratio_weight : float
        Relative SD of the ratio in the class "ratio unknown", and the weight of that class (share).
    day_to_day, day_to_day_weights : tuple of float
        Variation of use from day to day (share of the use) and prior weights.
    own_part : float
        Day-to-day variation of one element alone, as a share of the common one.
    drift, drift_weights : tuple of float
        Slow drift of calcification (share of the use per root day) and prior weights.
    calcium_kit_scale, calcium_kit_weights : tuple of float
        Factors by which the stated SD of the calcium kit may be wrong, and prior weights.
    gross_share : float
        Share of readings that are gross errors.
    gross_sds : float
        SD of a gross error, in SDs of a reading.
    calcification_per_day, alkalinity_only_per_day, calcium_only_per_day : float
        How often a day brings a change of calcification, of alkalinity alone, of calcium alone.
    change_size : float
        SD of a change, as a share of the use.
    step_per_day, offset_per_day, precipitation_per_day : float
        How often a day brings an unlogged dose, a kit or lot offset, a precipitation.
    step_sds, offset_sds : float
        SDs of a step (and of a precipitation) and of an offset, in SDs of a reading.
    sd_worth : float
        Number of readings that the stated SDs are worth: 20 measured, 4 a default.
    """

    ratio: float = 7.06
    ratio_u: float = 0.4
    other_alkalinity_u: float = 0.06
    unknown_ratio_u: float = 0.40
    unknown_ratio_weight: float = 0.15
    day_to_day: tuple[float, ...] = DAY_TO_DAY
    day_to_day_weights: tuple[float, ...] = DAY_TO_DAY_WEIGHTS
    own_part: float = 0.3
    drift: tuple[float, ...] = (0.0, 0.01)
    drift_weights: tuple[float, ...] = (0.93, 0.07)
    calcium_kit_scale: tuple[float, ...] = (0.5, 0.7, 1.0, 1.4, 2.0)
    calcium_kit_weights: tuple[float, ...] = (0.1, 0.2, 0.4, 0.2, 0.1)
    gross_share: float = 0.03
    gross_sds: float = 7.0
    calcification_per_day: float = 1 / 250
    alkalinity_only_per_day: float = 1 / 1500
    calcium_only_per_day: float = 1 / 1500
    change_size: float = 0.30
    step_per_day: float = 1 / 900
    offset_per_day: float = 1 / 900
    precipitation_per_day: float = 1 / 1500
    step_sds: float = 8.0
    offset_sds: float = 4.0
    sd_worth: float = MEASURED_SD_WORTH

    def __post_init__(self) -> None:
        for name in ("day_to_day", "drift", "calcium_kit_scale"):
            values = np.asarray(getattr(self, name), float)
            weights = np.asarray(
                getattr(self, name.replace("_scale", "") + "_weights"), dtype=float
            )
            if values.shape != weights.shape or not (
                np.all(np.isfinite(values)) and np.all(values >= 0) and np.all(weights > 0)
            ):
                raise InputError(
                    "values from 0 with one weight above 0 each",
                    f"{values.tolist()}, weights {weights.tolist()}",
                    "Leave out what is impossible.",
                    f"JointPriors, {name}",
                )
        scalars = {k: v for k, v in vars(self).items() if not isinstance(v, tuple)}
        bad = {k: v for k, v in scalars.items() if not (np.isfinite(v) and v >= 0)}
        if not self.ratio > 0 or not self.sd_worth > 0 or min(self.calcium_kit_scale) <= 0:
            bad |= {"ratio": self.ratio, "sd_worth": self.sd_worth}
        if not (self.gross_share < 1 and self.unknown_ratio_weight < 1):
            bad |= {"shares": (self.gross_share, self.unknown_ratio_weight)}
        if bad:
            raise InputError(
                "finite beliefs from 0, shares below 1, ratio and SDs above 0",
                str(bad),
                "Correct the prior.",
                "JointPriors",
            )

    @property
    def known_ratio_u(self) -> float:
        """Relative SD of the calcium use around ratio × alkalinity use, class "ratio as known"."""
        return float(np.hypot(self.ratio_u / self.ratio, self.other_alkalinity_u))

    def grid(self) -> dict[str, Floats]:
        """Return all combinations of what stays as it is over the history.

        Returns
        -------
        dict of str to numpy.ndarray, each (m,)
            ``day_to_day`` (share), ``drift`` (share per root day), ``ratio_u`` (relative),
            ``kit_scale`` (factor) and ``weight`` (sums to 1).
        """
        unknown = self.unknown_ratio_weight
        axes = {
            "day_to_day": (self.day_to_day, self.day_to_day_weights),
            "drift": (self.drift, self.drift_weights),
            "ratio_u": ((self.known_ratio_u, self.unknown_ratio_u), (1 - unknown, unknown)),
            "kit_scale": (self.calcium_kit_scale, self.calcium_kit_weights),
        }
        values = np.meshgrid(*(np.asarray(v, float) for v, _ in axes.values()), indexing="ij")
        weights = np.meshgrid(*(np.asarray(w, float) for _, w in axes.values()), indexing="ij")
        weight = np.prod(weights, axis=0).ravel()
        possible = weight > 0
        found = {name: v.ravel()[possible] for name, v in zip(axes, values, strict=True)}
        return {**found, "weight": weight[possible] / weight.sum()}


def branch_probabilities(
    apart: Floats,
    apart_same_kit: Floats,
    seen: tuple[Floats, Floats],
    is_calcium: NDArray[np.bool_],
    declared_change: NDArray[np.bool_],
    declared_offset: NDArray[np.bool_],
    priors: JointPriors,
) -> Floats:
    """Return how likely each branch is at each reading before it is read.

    1 − exp(−often·Δ) for what may happen, ½ where it was declared; nothing and gross error share
    Π(1 − p); all are divided by their sum.

    Parameters
    ----------
    apart, apart_same_kit : array (n,)
        Days since the previous reading of either kit, and of the same kit.
    seen : tuple of two arrays (n,)
        Number of earlier readings of alkalinity, of calcium.
    is_calcium : array (n,) of bool
        Whether the reading is one of calcium.
    declared_change, declared_offset : array (n,) of bool
        Whether the interval before holds a declared event; whether another lot or kit was opened.
    priors : JointPriors
        Beliefs.

    Returns
    -------
    numpy.ndarray, shape (n, 8)
        Probabilities in the order of ``BRANCHES``; 0 where a branch is not open.

    Notes
    -----
    Changes and precipitation need two alkalinity readings before (branches with calcium also one of
    calcium), a step two and an offset four of the same kit: before that they cannot be told from the
    level and the use. A declared lot opens the offset from the third reading of the kit on.

    Examples
    --------
    >>> one = np.ones(1)
    >>> p = branch_probabilities(2 * one, 2 * one, (9 * one, 2 * one), one < 0, one < 0, one < 0,
    ...                          JointPriors())
    >>> [round(float(x), 4) for x in p[0]]
    [0.9541, 0.0295, 0.008, 0.0013, 0.0013, 0.0022, 0.0022, 0.0013]

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    alkalinity_seen, calcium_seen = seen
    own_seen = np.where(is_calcium, calcium_seen, alkalinity_seen)
    placed = alkalinity_seen >= 2
    both = placed & (calcium_seen >= 1)
    p = np.zeros((apart.size, len(BRANCHES)))
    for branch, often, days, is_open in (
        (CALCIFICATION, priors.calcification_per_day, apart, placed),
        (ALKALINITY_ONLY, priors.alkalinity_only_per_day, apart, placed),
        (CALCIUM_ONLY, priors.calcium_only_per_day, apart, both),
        (STEP, priors.step_per_day, apart_same_kit, own_seen >= 2),
        (OFFSET, priors.offset_per_day, apart_same_kit, own_seen >= 4),
        (PRECIPITATION, priors.precipitation_per_day, apart, both),
    ):
        p[:, branch] = np.where(is_open, -np.expm1(-often * days), 0.0)
    p[declared_change & placed, CALCIFICATION] = DECLARED
    p[declared_offset & (own_seen >= 2), OFFSET] = DECLARED
    rest = np.prod(1 - p[:, CALCIFICATION:], axis=1)
    p[:, NOTHING] = (1 - priors.gross_share) * rest
    p[:, GROSS] = priors.gross_share * rest
    return p / p.sum(axis=1, keepdims=True)
