"""What one dose of a supplement does to pH on this tank, for supplements that are compared."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.chem.alkalinity_kinds import AlkalinityShares, alkalinity_shares
from reef_calc.chem.carbonate import state_in_air
from reef_calc.chem.carbonate_doses import after_adding
from reef_calc.chem.carbonate_water import CarbonateState, CarbonateWater
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import ReefError

# What a label without a recipe may mean, from the least to the most that it moves pH.
MAY_MEAN = ("bicarbonate", "carbonate", "hydroxide")


@dataclass(frozen=True)
class WaterNow:
    """The water that the doses go into.

    Attributes
    ----------
    net_L : float
        Net volume (L).
    salinity : float
        Practical salinity (no unit).
    temperature_C : float
        Temperature (°C).
    air_co2_uatm : float
        Carbon dioxide of the room (µatm).
    alkalinity_meq_per_L : float or None
        Alkalinity now (meq/L); None where it is not known.
    """

    net_L: float
    salinity: float = 35.0
    temperature_C: float = 25.0
    air_co2_uatm: float = 500.0
    alkalinity_meq_per_L: float | None = None


@dataclass(frozen=True)
class DoseOnPh:
    """What one dose of a supplement does to pH, mixed in the whole tank.

    Attributes
    ----------
    name : str
        The supplement.
    amount, unit : float and str
        One dose as set (mL or g).
    before, low, high : float
        pH (NBS scale) before, and right after; two numbers where only a label is known.
    """

    name: str
    amount: float
    unit: str
    before: float
    low: float
    high: float


def doses_on_ph(
    doses: tuple[tuple[Supplement, float], ...], water: WaterNow
) -> tuple[tuple[DoseOnPh, ...], str]:
    """Return what single doses do to pH, or why that cannot be told.

    Parameters
    ----------
    doses : tuple of (Supplement, float)
        Each with one dose as set (mL or g).
    water : WaterNow
        The tank.

    Returns
    -------
    tuple of DoseOnPh
        One for each that adds alkalinity; empty where none does, or where it cannot be told.
    str
        What it rests on, or why it cannot be told; empty where none adds alkalinity.

    Notes
    -----
    The water is taken in balance with the air of the room before the dose. Where the dose runs in,
    pH is far higher.

    Examples
    --------
    >>> doses_on_ph(((Supplement("c", {"calcium": 9.0}), 5.0),), WaterNow(100.0))
    ((), '')
    """
    adding = [(one, amount) for one, amount in doses if one.adds.get("alkalinity", 0.0) > 0.0]
    if not adding:
        return (), ""
    if water.alkalinity_meq_per_L is None:
        return (), (
            "What a dose does to pH is not told: neither a plan nor an aim says the alkalinity of the "
            "tank."
        )
    try:
        before = state_in_air(
            water.alkalinity_meq_per_L,
            water.air_co2_uatm,
            CarbonateWater(water.salinity, water.temperature_C),
        )
        found = tuple(_one(one, amount, before, water.net_L) for one, amount in adding)
    except ReefError as error:
        return (), f"What a dose does to pH is not told. {error}"
    return found, (
        f"Before each dose the water is taken in balance with a room of {water.air_co2_uatm:.0f} µatm of "
        "carbon dioxide; with less in the room pH starts higher."
    )


def _one(one: Supplement, amount: float, before: CarbonateState, net_L: float) -> DoseOnPh:
    shares = alkalinity_shares(one)
    per_L = amount * one.delivered_over_set.value / net_L
    possible = [shares] if shares is not None else [_as(one, kind) for kind in MAY_MEAN]
    after = [
        float(
            after_adding(
                before,
                each.at_once_meq * per_L,
                each.carbon_mmol * per_L,
                calcium_mg_per_L=each.calcium_mg * per_L,
                boron_mg_per_L=each.boron_mg * per_L,
            ).ph_nbs
        )
        for each in possible
    ]
    return DoseOnPh(one.name, amount, one.unit, float(before.ph_nbs), min(after), max(after))


def _as(one: Supplement, kind: str) -> AlkalinityShares:
    return AlkalinityShares({kind: one.adds["alkalinity"]}, one.adds.get("calcium", 0.0), 0.0)
