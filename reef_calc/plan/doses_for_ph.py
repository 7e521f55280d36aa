"""In how many doses a day an amount must be given so that pH and saturation stay within bounds."""

from __future__ import annotations

import numpy as np

from reef_calc.chem.alkalinity_kinds import AlkalinityShares
from reef_calc.chem.carbonate_doses import after_adding
from reef_calc.chem.carbonate_water import CarbonateState

# Common practice, no source: pH of a reef tank, and how far one dose may move it.
HIGHEST_PH_NBS = 8.5
LARGEST_PH_STEP = 0.2
# From memory: runaway precipitation with lime is reported at a saturation of about 5 to 7.
ARAGONITE_SAID = 5.0
ARAGONITE_SLOW = 7.0
MOST_DOSES = 48


def doses_for_ph(
    shares: AlkalinityShares, per_L: float, before: CarbonateState, *, most: int = MOST_DOSES
) -> int | None:
    """Return the number of equal doses a day from which each keeps pH and saturation in bounds.

    Bounds after one dose: pH 8.5 (NBS), a step of 0.2, aragonite saturation 7.

    Parameters
    ----------
    shares : AlkalinityShares
        What one mL (or gram) adds.
    per_L : float
        Amount that reaches each litre of the tank in a day (mL/L or g/L).
    before : CarbonateState
        Before a dose; one state or an array of them, all of which must stay in bounds.
    most : int, optional
        Largest number of doses to try.

    Returns
    -------
    int or None
        Smallest number such that it and every larger one will do; None where even ``most`` do not.

    Notes
    -----
    Between doses the water is taken to come back into balance with air, which takes hours (common
    practice, no source). Where doses follow each other faster, they add up.

    Examples
    --------
    >>> from reef_calc.chem.carbonate import state_in_air
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> now = state_in_air(2.853216, 500.0, CarbonateWater())
    >>> doses_for_ph(AlkalinityShares({"hydroxide": 1.0}, 0.0, 0.0), 0.356652, now)
    3
    >>> doses_for_ph(AlkalinityShares({"hydroxide": 1.0}, 0.0, 0.0), 0.178326, now)
    2
    """
    number = np.arange(1, most + 1)[:, np.newaxis]
    each = per_L / number
    after = after_adding(
        before,
        shares.at_once_meq * each,
        shares.carbon_mmol * each,
        calcium_mg_per_L=shares.calcium_mg * each,
        boron_mg_per_L=shares.boron_mg * each,
    )
    kept = (
        (after.ph_nbs <= HIGHEST_PH_NBS)
        & (after.ph_total - before.ph_total <= LARGEST_PH_STEP)
        & (after.aragonite <= ARAGONITE_SLOW)
    ).all(axis=1)
    if not kept[-1]:
        return None
    return int(most - np.argmin(kept[::-1])) + 1 if not kept.all() else 1
