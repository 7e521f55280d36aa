"""Accounts of what changed, each with the uses under it, where the calcium use has two humps."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from reef_calc.balance.joint_filter import JointComponents
from reef_calc.balance.joint_priors import ALKALINITY_ONLY, CALCIFICATION, CALCIUM_ONLY
from reef_calc.balance.joint_uses import Estimate, JointUses

# A hump of this weight carries an end of the 95 % interval, and has to be named.
LEAST_HUMP = 0.05
CHANGED_BOTH = "calcification changed"
CHANGED_ALKALINITY = "alkalinity use changed without calcium"
CHANGED_CALCIUM = "calcium use changed without alkalinity"
CHANGED_NOTHING = "neither use changed at once"


class Story(NamedTuple):
    """What the uses are if one account of the changes is true.

    Attributes
    ----------
    what : str
        The account, such as "calcification changed".
    weight : float
        Its probability (share).
    calcium, alkalinity : Estimate
        The uses under it (mg/L and dKH per day).
    """

    what: str
    weight: float
    calcium: Estimate
    alkalinity: Estimate


def humps(components: JointComponents, uses: JointUses) -> tuple[Story, ...]:
    """Return the accounts to print side by side because the calcium use has more than one hump.

    A component in which calcification changed belongs there, whatever else it holds; then one in
    which alkalinity alone changed; then calcium alone.

    Parameters
    ----------
    components : JointComponents
        The finished mixture.
    uses : JointUses
        Its uses.

    Returns
    -------
    tuple of Story
        The heaviest, and every other with at least a twentieth of the weight whose median calcium use
        lies outside the heaviest one's interval and the other way round; empty when there is none.

    Examples
    --------
    >>> from reef_calc.balance.joint_uses import joint_uses
    >>> still = JointComponents(np.ones(1), np.zeros((6, 1)), np.zeros((6, 6, 1)), np.ones(1), 20.0,
    ...                         np.zeros(1, int), np.zeros((1, 1), np.int8))
    >>> humps(still, joint_uses(still, 1.0, (1.0, 1.0)))
    ()
    """
    left = np.ones(components.weights.size, dtype=bool)
    groups = []
    for what, branch in (
        (CHANGED_BOTH, CALCIFICATION),
        (CHANGED_ALKALINITY, ALKALINITY_ONLY),
        (CHANGED_CALCIUM, CALCIUM_ONLY),
        (CHANGED_NOTHING, None),
    ):
        own = left if branch is None else left & np.any(components.branches == branch, axis=0)
        left = left & ~own
        weight = float(components.weights[own].sum())
        if weight >= LEAST_HUMP:
            groups.append((weight, what, own))
    if len(groups) < 2:
        return ()
    groups.sort(key=lambda group: -group[0])
    told = [
        Story(what, weight, uses.estimate("calcium", own), uses.estimate("alkalinity", own))
        for weight, what, own in groups
    ]
    most = told[0].calcium
    apart = [
        story
        for story in told[1:]
        if not story.calcium.low <= most.value <= story.calcium.high
        and not most.low <= story.calcium.value <= most.high
    ]
    return (told[0], *apart) if apart else ()
