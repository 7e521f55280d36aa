"""Steps of a scale that do not average out over the waters of a comparison."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.compare.pairs import Pairs
from reef_calc.compare.repeatability import Repeatability

# Below this many steps of the scale a scatter does not shake the rounding (own simulation).
_FINE = 0.5
_FEWEST_VARIED, _VARIED_STEPS = 4, 3.0
_COARSE_STEP = 3.0
_FEWEST_PHASES = 3


def coarse_kits(
    pairs: Pairs, scatter: tuple[Repeatability | None, Repeatability | None]
) -> tuple[str, ...]:
    """Return the kits whose steps do not average out over these waters.

    A kit whose scatter is below half a step, read on fewer than four waters or on waters less than
    three steps apart; or a scatter below a third of a step on set levels that lie alike on the steps.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    scatter : tuple of Repeatability or None
        Scatter of the kits; where it is not known, that of the differences stands in for it.

    Returns
    -------
    tuple of str
        Their names.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.5,)) for i in range(6))
    >>> coarse_kits(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.5, waters), (None, None))
    ('old', 'new')

    References
    ----------
    Own simulation: repeats of one water with a scatter of 0.1 steps cover the truth in 30 of 100.
    """
    found = []
    of_differences = float(pairs.differences.std(ddof=1)) / math.sqrt(2.0) if pairs.n > 1 else 0.0
    nominal = pairs.nominal[np.isfinite(pairs.nominal)]
    for kit, step, levels, known in (
        (pairs.kit_a, pairs.resolution_a, pairs.a, scatter[0]),
        (pairs.kit_b, pairs.resolution_b, pairs.b, scatter[1]),
    ):
        if step <= 0.0:
            continue
        sd = of_differences if known is None else known.sd if known.typed else known.observed_sd
        in_steps = (sd or 0.0) / step
        still = pairs.n < _FEWEST_VARIED or float(np.ptp(levels)) < _VARIED_STEPS * step
        phases = np.unique(np.round((nominal / step) % 1.0, 3) % 1.0)
        alike = nominal.size == pairs.n and phases.size < _FEWEST_PHASES
        if (in_steps < _FINE and still) or (in_steps * _COARSE_STEP < 1.0 and alike):
            found.append(kit)
    return tuple(found)


def steps_variance(pairs: Pairs) -> float:
    """Return the variance of a difference that the steps of both scales alone can make.

    (rA² + rB²)/12

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.

    Returns
    -------
    float
        Variance (unit squared).

    Examples
    --------
    >>> round(steps_variance(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.5, ())), 5)
    0.02167

    References
    ----------
    JCGM 100:2008, F.2.2.1.
    """
    return (pairs.resolution_a**2 + pairs.resolution_b**2) / 12.0
