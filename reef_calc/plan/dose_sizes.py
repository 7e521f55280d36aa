"""How small and how large a single dose may be, and how many of them fit into a day."""

from __future__ import annotations

import math
from collections.abc import Iterable

from reef_calc.chem.alkalinity_kinds import alkalinity_shares
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.plan.keep_apart import groups_apart

# Largest single dose, dKH (common practice, no source).
DOSE_DKH = 0.5
HYDROXIDE_DOSE_DKH = 0.2
HALF_HOURS_A_DAY = 48
# What a pump or a syringe can give at least, where nothing is written (own choice, and said).
USUAL_STEP = 0.1


def step_of(supplement: Supplement) -> float:
    """Return the smallest step of one dose.

    Parameters
    ----------
    supplement : Supplement
        What is dosed.

    Returns
    -------
    float
        In mL (or g); 0.1 where nothing is written.

    Examples
    --------
    >>> step_of(Supplement("soda", {"alkalinity": 1.0}))
    0.1
    """
    return supplement.limits.get(f"step_{supplement.unit}", USUAL_STEP)


def room_for_doses(supplements: Iterable[Supplement]) -> int:
    """Return how many doses a day each container can have, half an hour apart from the others.

    Parameters
    ----------
    supplements : iterable of Supplement
        All containers that are dosed.

    Returns
    -------
    int
        Doses a day, at least 1.

    Raises
    ------
    InputError
        If there are more kinds of container than half hours in a day.

    Examples
    --------
    >>> room_for_doses([Supplement("a", {"alkalinity": 1.0}), Supplement("b", {"calcium": 9.0})])
    24
    """
    groups = max(groups_apart(supplements).values(), default=0) + 1
    if groups > HALF_HOURS_A_DAY:
        raise InputError(
            f"at most {HALF_HOURS_A_DAY} kinds of container",
            str(groups),
            "They could not be dosed half an hour apart. Choose fewer.",
            "Supplements",
        )
    return HALF_HOURS_A_DAY // groups


def dose_limit(supplement: Supplement, net_L: float) -> float:
    """Return the largest single dose as its alkalinity allows.

    Parameters
    ----------
    supplement : Supplement
        What is dosed.
    net_L : float
        Net volume (L).

    Returns
    -------
    float
        Amount as set (mL or g); infinite for what adds no alkalinity.

    Notes
    -----
    *Common practice, no source*: 0.5 dKH a dose, 0.2 dKH where hydroxide is in it.

    Examples
    --------
    >>> from reef_calc.chem.recipe_lines import RecipeLine
    >>> lime = Supplement("limewater", {"alkalinity": 0.0405},
    ...     recipe=(RecipeLine("calcium hydroxide", 0, 1.0, 1.5),))
    >>> round(dose_limit(lime, 300.0))
    528
    """
    meq_per_L = supplement.adds.get("alkalinity", 0.0) / net_L
    rise = meq_per_L * supplement.delivered_over_set.value
    if rise <= 0.0:
        return math.inf
    shares = alkalinity_shares(supplement)
    limit = HYDROXIDE_DOSE_DKH if shares and shares.meq.get("hydroxide") else DOSE_DKH
    return limit / float(convert(rise, "meq/L", "dKH", "alkalinity"))
