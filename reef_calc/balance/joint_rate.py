"""Calcium and alkalinity in one filter: what the tank uses of both per day, and their ratio.

A coral takes both in a fixed proportion, and alkalinity kits are far finer than calcium kits. Reading
the two together shows a change of the calcium use weeks before the calcium kit alone could.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from reef_calc.balance.joint_filter import JointComponents, filter_jointly
from reef_calc.balance.joint_priors import (
    ALKALINITY_ONLY,
    CALCIFICATION,
    CALCIUM_ONLY,
    GROSS,
    OFFSET,
    PRECIPITATION,
    STEP,
    JointPriors,
)
from reef_calc.balance.joint_readings import ElementReadings, JointSequence, joint_sequence
from reef_calc.balance.joint_stories import Story, humps
from reef_calc.balance.joint_uses import (
    Estimate,
    JointUses,
    UseRatio,
    joint_uses,
    ratio_estimate,
)
from reef_calc.balance.steady_use import steady_use
from reef_calc.errors import InputError

RATIO_LIMITS = (6.3, 7.8)
# Below this weight an account no longer fits the readings.
STILL_FITS = 0.001
# Standard normal quantile: half a 95 % interval in SDs.
HALF_WIDTH = 1.959964
BY_READING = {
    "gross": GROSS,
    "calcification": CALCIFICATION,
    "alkalinity_only": ALKALINITY_ONLY,
    "calcium_only": CALCIUM_ONLY,
    "step": STEP,
    "offset": OFFSET,
    "precipitation": PRECIPITATION,
}


@dataclass(frozen=True)
class JointRate:
    """What the tank uses of calcium and alkalinity per day, read together.

    Attributes
    ----------
    calcium, alkalinity : Estimate
        Uses now (mg/L and dKH per day). Show alkalinity from its own estimate, calcium from here.
    ratio, ratio_with_doses : Estimate or None
        Calcium per alkalinity used (mg/L per dKH) by the readings, and with the uncertainty of the
        doses added; None where the alkalinity use may be nothing.
    ratio_limits : tuple of two floats
        Ratios outside of which to speak (mg/L per dKH).
    p_ratio_low, p_ratio_high : float or None
        Probability of a ratio below and above them, with the uncertainty of the doses.
    p_calcification_changed, p_alkalinity_only, p_calcium_only : float
        Probability that both uses, only that of alkalinity, only that of calcium changed at once.
    p_precipitation, p_step : float
        Probability that both levels fell or rose at once; that one level or kit stepped.
    p_not_constant : float
        Probability of any change of use, or of drift.
    humps : tuple of Story
        Accounts of the changes to be printed side by side; empty when one account is enough.
    if_nothing_changed : Estimate or None
        Calcium use if nothing changed; None where steady use no longer fits the readings.
    calcium_alone : Estimate or None
        Calcium use from the calcium readings alone (mg/L per day), where it was given.
    share_from_alkalinity : float or None
        1 − joint variance / variance alone: what the alkalinity readings gave of all that is known.
        None where calcium alone looks narrower, because it was not asked whether the use changed.
    disagreement : float or None
        Joint less alone, in combined SDs. Beyond ±2 the log, or the ratio, is in doubt.
    by_reading : pandas.DataFrame
        One row a reading: ``time`` (d), ``element``, ``level``, and the probability that it is
        ``gross`` or closes an interval with a change (``calcification``, ``alkalinity_only``,
        ``calcium_only``, ``precipitation``), a ``step`` or an ``offset`` of its own kit. Add over
        neighbours before judging.
    calcium_kit_scale : pandas.Series
        What is left of the weight of each factor (index) on the calcium kit's SD.
    degrees_of_freedom : float
        ν of every t distribution.
    alkalinity_scale : float
        Robust alkalinity use that scales the priors (dKH per day).
    uses : JointUses
        Uses of every component.
    components : JointComponents
        The finished mixture.
    """

    calcium: Estimate
    alkalinity: Estimate
    ratio: Estimate | None
    ratio_with_doses: Estimate | None
    ratio_limits: tuple[float, float]
    p_ratio_low: float | None
    p_ratio_high: float | None
    p_calcification_changed: float
    p_alkalinity_only: float
    p_calcium_only: float
    p_precipitation: float
    p_step: float
    p_not_constant: float
    humps: tuple[Story, ...]
    if_nothing_changed: Estimate | None
    calcium_alone: Estimate | None
    share_from_alkalinity: float | None
    disagreement: float | None
    by_reading: pd.DataFrame
    calcium_kit_scale: pd.Series
    degrees_of_freedom: float
    alkalinity_scale: float
    uses: JointUses
    components: JointComponents


def steady_calcium(readings: ElementReadings) -> tuple[float, float, float]:
    """Return the calcium use from its own readings if it was steady, with its 95 % interval.

    Parameters
    ----------
    readings : ElementReadings
        The calcium history.

    Returns
    -------
    tuple of float
        Median, low, high (mg/L per day).

    Examples
    --------
    >>> from reef_calc.balance.water_balance import WaterEvents
    >>> flat = ElementReadings([0, 10, 20, 30], [440, 430, 420, 410], WaterEvents(), 7.0, 5.0)
    >>> round(steady_calcium(flat)[0], 3)
    1.0
    """
    return steady_use(
        readings.times,
        readings.levels,
        readings.events,
        sd=readings.sd,
        resolution=readings.resolution,
        noise=readings.noise,
    ).interval([0.0, 1.0])


def joint_rate(
    alkalinity: ElementReadings,
    calcium: ElementReadings,
    *,
    declared_events: ArrayLike = (),
    dose_u: tuple[float, float] = (0.0, 0.0),
    priors: JointPriors = JointPriors(),  # noqa: B008 (frozen)
    ratio_limits: tuple[float, float] = RATIO_LIMITS,
    calcium_alone: Callable[[ElementReadings], tuple[float, float, float] | None] = steady_calcium,
    kept: int | None = None,
) -> JointRate:
    """Return what the tank uses of calcium and alkalinity per day, read together.

    Calcium use = r·b + u with the alkalinity use b, the expected ratio r and a deviation u that the
    readings may teach. Each reading may be nothing special, a gross error, or close an interval in
    which calcification, one use alone, a level or a kit changed; every combination is one filter.

    Parameters
    ----------
    alkalinity, calcium : ElementReadings
        The two histories in dKH and mg/L, times in days from one origin.
    declared_events : array_like, shape (a,), optional
        Times (d) at which the use may have changed: corals added or taken out, new light.
    dose_u : tuple of two floats, optional
        Standard uncertainty of strength and delivery of the doses of alkalinity and of calcium, as
        a share of the use. 0.04 each when no pump was measured. It goes 1:1 into the ratio.
    priors : JointPriors, optional
        Beliefs. Other units than dKH and mg/L need another ``ratio`` there.
    ratio_limits : tuple of two floats, optional
        Ratios outside of which to speak (mg/L per dKH).
    calcium_alone : callable, optional
        Gives median, low and high of the calcium use (mg/L per day) from its readings alone, or None
        where they do not tell.
    kept : int, optional
        Number of components kept after each reading; 240, or 360 where the calcium kit's SD has
        several scales.

    Returns
    -------
    JointRate
        Uses, ratio and everything that seems to have happened.

    Raises
    ------
    InputError
        If the water changes of the elements differ, or a limit or uncertainty cannot be used.
    CannotTellError
        With fewer than 6 alkalinity or 3 calcium readings, or less than 21 days in common.

    Notes
    -----
    Simulated coverage of the 95 % interval of calcium, readings of 90 days: 92–99 % from ten days
    after a change of 25 % on, 76–96 % five days after, since alkalinity cannot show it either. A
    calcium log that is wrong by 15 % is not found: it looks like another ratio.

    Examples
    --------
    >>> from reef_calc.balance.water_balance import WaterEvents
    >>> days = np.arange(0, 30, 3)
    >>> a = ElementReadings(days, 8 - 0.1 * days, WaterEvents(), sd=0.1, resolution=0.1)
    >>> c = ElementReadings(days, 430 - 0.7 * days, WaterEvents(), sd=7.0, resolution=5.0)
    >>> found = joint_rate(a, c)
    >>> [round(x, 2) for x in found.calcium], [round(x, 1) for x in found.ratio]
    ([0.7, 0.6, 0.81], [7.0, 6.1, 8.0])

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY);
    ratio from the composition of coral aragonite, ``stoichiometry.CORAL_ARAGONITE``.
    """
    low_limit, high_limit = ratio_limits
    if not 0 < low_limit < high_limit < np.inf:
        raise InputError(
            "two rising limits above 0", ratio_limits, "Give low and high.", "joint_rate"
        )
    sds = (alkalinity.reading_sd, calcium.reading_sd)
    sequence = joint_sequence(alkalinity, calcium, declared_events)
    ratio = priors.ratio * sds[0] / sds[1]
    scale = alkalinity.use_scale()
    found = filter_jointly(sequence, ratio, scale / sds[0], priors, kept)
    uses = joint_uses(found, ratio, sds)

    joint = uses.estimate("calcium")
    by_readings = ratio_estimate(uses, (0.0, 0.0))
    with_doses = by_readings if not any(dose_u) else ratio_estimate(uses, dose_u)
    below = UseRatio(uses, dose_u).below(ratio_limits) if with_doses else None

    def weight_of(*branches: int) -> float:
        hit = np.any(np.isin(found.branches, branches), axis=0)
        return float(found.weights[hit].sum())

    changed = np.any(
        np.isin(found.branches, (CALCIFICATION, ALKALINITY_ONLY, CALCIUM_ONLY)), axis=0
    )
    grid = priors.grid()
    steady = ~changed & (grid["drift"][found.classes] == 0)
    p_steady = float(found.weights[steady].sum())
    alone, gained, apart = _beside_calcium_alone(joint, calcium_alone(calcium))
    kit_scale = pd.Series(found.weights).groupby(grid["kit_scale"][found.classes]).sum()
    return JointRate(
        calcium=joint,
        alkalinity=uses.estimate("alkalinity"),
        ratio=by_readings,
        ratio_with_doses=with_doses,
        ratio_limits=(low_limit, high_limit),
        p_ratio_low=None if below is None else float(below[0]),
        p_ratio_high=None if below is None else float(1 - below[1]),
        p_calcification_changed=weight_of(CALCIFICATION),
        p_alkalinity_only=weight_of(ALKALINITY_ONLY),
        p_calcium_only=weight_of(CALCIUM_ONLY),
        p_precipitation=weight_of(PRECIPITATION),
        p_step=weight_of(STEP, OFFSET),
        p_not_constant=max(0.0, 1 - p_steady),
        humps=humps(found, uses),
        if_nothing_changed=uses.estimate("calcium", steady) if p_steady > STILL_FITS else None,
        calcium_alone=alone,
        share_from_alkalinity=gained,
        disagreement=apart,
        by_reading=_by_reading(found, sequence, sds),
        calcium_kit_scale=kit_scale,
        degrees_of_freedom=found.degrees_of_freedom,
        alkalinity_scale=scale,
        uses=uses,
        components=found,
    )


def _beside_calcium_alone(
    joint: Estimate, given: tuple[float, float, float] | None
) -> tuple[Estimate | None, float | None, float | None]:
    """Estimate from calcium alone, share that alkalinity gave, and distance in combined SDs."""
    if given is None:
        return None, None, None
    alone = Estimate(*given)
    if not (np.all(np.isfinite(alone)) and alone.half_width > 0):
        raise InputError(
            "a finite interval of the calcium use alone",
            alone,
            "Give None where the calcium readings do not tell.",
            "joint_rate, calcium_alone",
        )
    gained = 1 - (joint.half_width / alone.half_width) ** 2
    combined = float(np.hypot(joint.half_width, alone.half_width)) / HALF_WIDTH
    apart = (joint.value - alone.value) / combined
    return alone, gained if gained >= 0 else None, apart


def _by_reading(
    found: JointComponents, sequence: JointSequence, sds: tuple[float, float]
) -> pd.DataFrame:
    levels = sequence.y * np.where(sequence.is_calcium, sds[1], sds[0])
    table = {
        "time": sequence.times,
        "element": np.where(sequence.is_calcium, "calcium", "alkalinity"),
        "level": levels,
    }
    for name, branch in BY_READING.items():
        table[name] = (found.branches == branch) @ found.weights
    return pd.DataFrame(table)
