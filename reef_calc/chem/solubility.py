"""How much of a salt stays dissolved at the coldest place a container stands in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.chem.salts import Salt
from reef_calc.errors import InputError

# Largest share of saturation of a solution that stands for weeks (common practice, no source).
ADVISED_SHARE = 0.6
COLDEST_C, WARMEST_C = 2.0, 40.0
_TABLE_C = (20.0, 25.0)
# Below 20 °C the tables are silent. The slope between 20 and 25 °C is carried on, and never less
# than this share is lost a degree (common practice, no source). Salts that lose much, as nitrate,
# lose still more further down (handbook values, MEMORY): a sixth at 2 °C, which 60 % leaves room for.
_LEAST_LOSS = 0.02


@dataclass(frozen=True)
class Saturation:
    """What a saturated solution of one salt holds.

    Attributes
    ----------
    mass_percent : float
        Salt without its water of crystallisation (g per 100 g of solution).
    tabled : bool
        Whether a table holds it for this temperature; else it is carried on from 20 °C.
    """

    mass_percent: float
    tabled: bool


def saturation(salt: Salt, coldest_C: float) -> Saturation | None:
    """Return what a saturated solution of a salt holds at a temperature.

    Between 20 and 25 °C on the straight line; above, the smaller of the two; below 20 °C
    w = w20·exp(−s·(20 − T)) with s the slope of ln w between 20 and 25 °C, 0.02 a degree at least.

    Parameters
    ----------
    salt : Salt
        The salt.
    coldest_C : float
        Coldest temperature of the place (°C), 2–40.

    Returns
    -------
    Saturation or None
        Mass percent without the water of crystallisation; None where no table is known.

    Raises
    ------
    InputError
        If the temperature lies outside 2–40 °C.

    Notes
    -----
    Below 20 °C this is a guess and no more; the result says so. It is on the careful side for most
    salts, but up to a sixth too high for potassium nitrate at 2 °C (handbook values, MEMORY).

    Examples
    --------
    >>> from reef_calc.chem.salts import find_salt
    >>> soda = find_salt("soda ash")
    >>> saturation(soda, 20.0), round(saturation(soda, 10.0).mass_percent, 1)
    (Saturation(mass_percent=17.9, tabled=True), 10.4)

    References
    ----------
    Values at 20 and 25 °C as ``Salt.solubility_status`` says; below: *common practice, no source*.
    """
    if not (math.isfinite(coldest_C) and COLDEST_C <= coldest_C <= WARMEST_C):
        raise InputError(
            f"a temperature of {COLDEST_C:g} to {WARMEST_C:g} °C",
            coldest_C,
            "Type the coldest the container ever gets, such as 18.",
            "Coldest place",
        )
    at_20, at_25 = salt.mass_percent_20C, salt.mass_percent_25C
    if at_20 is None and salt.anhydrous_g_per_100g_water_20C is not None:
        dissolved = salt.anhydrous_g_per_100g_water_20C
        at_20 = 100.0 * dissolved / (100.0 + dissolved)
    if at_20 is None:
        return None
    at_25 = at_20 if at_25 is None else at_25
    low_C, high_C = _TABLE_C
    if coldest_C < low_C:
        loss = max(math.log(at_25 / at_20) / (high_C - low_C), _LEAST_LOSS)
        return Saturation(at_20 * math.exp(-loss * (low_C - coldest_C)), False)
    if coldest_C > high_C:
        return Saturation(min(at_20, at_25), True)
    return Saturation(at_20 + (at_25 - at_20) * (coldest_C - low_C) / (high_C - low_C), True)


def share_of_saturation(
    dissolved: Sequence[tuple[Salt, float]], coldest_C: float, density_kg_per_L: float = 1.0
) -> float | None:
    """Return how near a solution is to saturation.

    Σ w/w_saturated over its salts; w = grams without water / (10·density)

    Parameters
    ----------
    dissolved : sequence of (Salt, float)
        Each salt with its mass without water of crystallisation (g per litre of solution).
    coldest_C : float
        Coldest temperature of the place (°C).
    density_kg_per_L : float, optional
        Density of the solution (kg/L). Water's is taken: stock is denser, so the share comes out a
        little too high.

    Returns
    -------
    float or None
        Share (no unit), 1 where salt begins to stay at the bottom; None where a table is missing.

    Raises
    ------
    InputError
        If temperature or density cannot be.

    Notes
    -----
    The shares of several salts are added up, which is on the careful side for salts with one ion in
    common.

    Examples
    --------
    >>> from reef_calc.chem.salts import find_salt
    >>> round(share_of_saturation([(find_salt("sodium hydrogen carbonate"), 80.0)], 20.0), 2)
    0.92

    References
    ----------
    *Common practice, no source.*
    """
    if not 0.9 <= density_kg_per_L <= 2.0:
        raise InputError(
            "a density of 0.9 to 2 kg/L", density_kg_per_L, "1.10 is usual.", "Density of the stock"
        )
    total = 0.0
    for salt, grams_per_L in dissolved:
        most = saturation(salt, coldest_C)
        if most is None:
            return None
        total += grams_per_L / (10.0 * density_kg_per_L) / most.mass_percent
    return total
