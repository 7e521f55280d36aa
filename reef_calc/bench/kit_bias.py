"""What readings of standards say about a kit: a factor, an offset or a line, with intervals."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from reef_calc.bench.bias_forms import BiasForm, KitBias, sentence_on_difference
from reef_calc.bench.kit_line import line_of_kit
from reef_calc.bench.standard_readings import (
    Bottle,
    check_scatter,
    coverage_factor,
    reading_covariance,
    standard_covariance,
)
from reef_calc.errors import InputError
from reef_calc.messages import Message

# Bottles this close together (share of the level) cannot carry a line: common practice, no source.
_ONE_LEVEL = 0.05
_CANNOT_TELL = (
    "One standard cannot tell a factor from an offset. Both are shown. They agree at this level "
    "and part away from it. A second standard at another level tells."
)
_BLANK = (
    "Water without the element shows an offset only. It says nothing about a factor. A standard "
    "near the tank's level does."
)


def bias_of_kit(
    readings: Sequence[float],
    bottle_names: Sequence[str],
    bottles: Mapping[str, Bottle],
    *,
    sd: float,
    unit: str,
    resolution: float = 0.0,
    sd_df: float = 20.0,
) -> KitBias:
    """Return the kit's factor or offset from one standard, or its line from two levels or more.

    One level S (bottles within 5 %): factor S/ȳ, offset S − ȳ. More: read = α + β·S by
    generalised least squares with V = s² I + r²/12 + β²·cov(S); corrected = (read − α)/β.

    Parameters
    ----------
    readings : sequence of float
        Readings of the standards in ``unit``, n of them.
    bottle_names : sequence of str
        Bottle of each reading, n of them.
    bottles : mapping of str to Bottle
        The bottles by name.
    sd : float
        Standard deviation of one reading in ``unit``, without the resolution.
    unit : str
        The kit's unit, for the sentences.
    resolution : float, optional
        Step of the reading in ``unit``.
    sd_df : float, optional
        Degrees of freedom the scatter is known with (a count; infinite: exactly).

    Returns
    -------
    KitBias
        Corrections with 95 % intervals, in ``unit``.

    Raises
    ------
    InputError
        If the numbers do not fit together, or the kit does not follow the standards at all.

    Notes
    -----
    The scatter is taken as the same at every level. Steps coarser than 3 s do not average away:
    their r²/12 is counted once for each bottle. Water without the other ions of sea water may read
    differently from the tank.

    Examples
    --------
    >>> from reef_calc.bench.standard_readings import Bottle
    >>> found = bias_of_kit([8.3, 8.1], ["A", "A"], {"A": Bottle(8.0, 0.05)}, sd=0.15, unit="dKH")
    >>> [(one.form, round(one.corrected(8.2), 2)) for one in found.forms], found.enough_to_correct
    ([('factor', 8.0), ('offset', 8.0)], False)

    References
    ----------
    Generalised least squares: Aitken (1935), from memory. Degrees of freedom: JCGM 100:2008,
    equation G.2b. Errors of the standards: the idea of ISO/TS 28037 (from memory).
    """
    read = np.asarray(readings, dtype=float)
    if read.ndim != 1 or len(read) == 0 or len(read) != len(bottle_names):
        raise InputError(
            "one bottle for each reading", f"{len(read)} readings, {len(bottle_names)} bottles",
            "Write the bottle beside every reading.",
        )  # fmt: skip
    check_scatter(sd, resolution)
    if not (np.isfinite(read).all() and sd_df > 0):
        raise InputError("readings that are numbers", readings, "Leave missing readings out.")
    from_bottles = standard_covariance(bottle_names, bottles)
    from_kit = reading_covariance(bottle_names, sd, resolution)
    levels = np.array([bottles[name].level for name in bottle_names])
    if np.ptp(levels) <= _ONE_LEVEL * np.abs(levels).max():
        return _one_level(read, levels, from_kit, from_bottles, sd_df, unit)
    return line_of_kit(read, levels, from_kit, from_bottles, sd_df, unit)


def _one_level(
    read: np.ndarray,
    levels: np.ndarray,
    from_kit: np.ndarray,
    from_bottles: np.ndarray,
    sd_df: float,
    unit: str,
) -> KitBias:
    weights = np.linalg.solve(from_kit + from_bottles, np.ones(len(read)))
    weights /= weights.sum()
    mean, level = float(weights @ read), float(weights @ levels)
    u_kit = math.sqrt(float(weights @ from_kit @ weights))
    u_standard = math.sqrt(float(weights @ from_bottles @ weights))
    u = math.hypot(u_kit, u_standard)
    t = coverage_factor(u, u_kit, sd_df)
    difference = mean - level
    enough = bool(abs(difference) > t * u)
    forms = [BiasForm("offset", -difference, 1.0, np.diag([u**2, 0.0]), t)]
    if level > 0 and mean > 0:
        factor = level / mean
        u_factor = factor * math.hypot(u_kit / mean, u_standard / level)
        forms.insert(0, BiasForm("factor", 0.0, factor, np.diag([0.0, u_factor**2]), t))
    told = [
        Message("DIFFERENCE", sentence_on_difference(difference, u, u_standard, t, unit, enough)),
        Message("FACTOR_OR_OFFSET", _CANNOT_TELL if len(forms) == 2 else _BLANK, "qualified"),
    ]
    return KitBias(tuple(forms), enough, difference, u, u_standard, tuple(told))
