"""How much water to change so that what doses leave stays within bounds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.seawater import REFERENCE_SALINITY
from reef_calc.errors import InputError
from reef_calc.plan.dilution import check_days
from reef_calc.plan.residue import sea_water_ratio


def share_that_holds(rise_per_day: float, bound: float, every_days: int) -> float:
    """Return the smallest share of each water change that keeps an excess within a bound for ever.

    w = c·n/bound: the excess before a change tends to c·n/w

    Parameters
    ----------
    rise_per_day : float
        What is left each day, any unit.
    bound : float
        Largest excess over the new water, same unit, above 0.
    every_days : int
        Whole days between changes.

    Returns
    -------
    float
        Share of the water (no unit); above 1 where no water change of this rhythm holds it.

    Raises
    ------
    InputError
        If the bound is not above 0, the days are not whole, or the rise is not a number.

    Examples
    --------
    >>> round(share_that_holds(0.02, 1.0, 7), 6)
    0.14
    """
    check_days(every_days)
    if not math.isfinite(rise_per_day):
        raise InputError("a rise that is a number", rise_per_day, "Type it.", "Water changes")
    if not 0.0 < bound < math.inf:
        raise InputError("a bound above 0", bound, "Type how far it may go.", "Water changes")
    return abs(rise_per_day) * every_days / bound


@dataclass(frozen=True)
class ChangeThatHolds:
    """The water change that keeps what the doses leave within bounds.

    Attributes
    ----------
    every_days : int
        Days between changes.
    shares : dict of str to float
        Smallest share (no unit) for each thing held: ``salinity``, ``chloride : sulfate``,
        ``sodium``. Above 1 where no change of this rhythm holds it.
    share : float
        Share that holds all of them (no unit).
    words : str
        All of this in words.
    """

    every_days: int
    shares: dict[str, float]
    share: float
    words: str


def change_that_holds(
    per_day: Mapping[str, float],
    salt_per_day: float,
    *,
    every_days: int = 7,
    salinity_within: float | None = None,
    ratio_within: float | None = None,
    sodium_within: float | None = None,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
) -> ChangeThatHolds:
    """Return how much water to change so that what the doses leave stays within bounds for ever.

    w = c·n/bound for salinity and sodium; for the ratio R the bound on m = n/w is
    (R·SO4 − Cl)/(c_Cl − R·c_SO4)

    Parameters
    ----------
    per_day : mapping of str to float
        Net rise by element (mg/L per day).
    salt_per_day : float
        Salt left each day (g/kg).
    every_days : int, optional
        Whole days between changes.
    salinity_within : float, optional
        Largest excess of the practical salinity (no unit).
    ratio_within : float, optional
        Largest departure of chloride over sulfate from sea water's, as a share (no unit).
    sodium_within : float, optional
        Largest departure of sodium (mg/L).
    salinity : float, optional
        Practical salinity of the new water (no unit), which has sea water's composition.
    temperature_C : float, optional
        Temperature (°C).

    Returns
    -------
    ChangeThatHolds
        The share for each bound given and for all together.

    Raises
    ------
    InputError
        If no bound is given, or one is not above 0.

    Notes
    -----
    Bounds are the keeper's: no level at which the excess does harm is known. New water is taken to
    have the composition of sea water. Salinity that is held with fresh water is another question.

    Examples
    --------
    >>> from reef_calc.plan.left_over import sodium_chloride_left
    >>> left = sodium_chloride_left(0.5)
    >>> doses = {"sodium": left.sodium, "chloride": left.chloride}
    >>> change_that_holds(doses, left.g_per_kg, salinity_within=1.0, ratio_within=0.05).words
    'Change at least 7.1 % of the water every 7 days. Salinity needs 7.1 %, chloride : sulfate 4.5 %.'
    """
    check_days(every_days)
    shares: dict[str, float] = {}
    if salinity_within is not None:
        practical = salt_per_day * 35.0 / REFERENCE_SALINITY
        shares["salinity"] = share_that_holds(practical, salinity_within, every_days)
    if ratio_within is not None:
        shares["chloride : sulfate"] = _share_for_ratio(
            per_day, ratio_within, every_days, salinity, temperature_C
        )
    if sodium_within is not None:
        shares["sodium"] = share_that_holds(per_day.get("sodium", 0.0), sodium_within, every_days)
    if not shares:
        raise InputError(
            "a bound for salinity, chloride : sulfate or sodium",
            "none",
            "Type how far one of them may go.",
            "Water changes",
        )
    share = max(shares.values())
    return ChangeThatHolds(every_days, shares, share, _holding_words(shares, share, every_days))


def _share_for_ratio(
    per_day: Mapping[str, float],
    within: float,
    every_days: int,
    salinity: float,
    temperature: float,
) -> float:
    if not 0.0 < within < 1.0:
        raise InputError("a share between 0 and 1", within, "5 % is written 0.05.", "Water changes")
    sea = reference_levels(salinity, temperature)
    chloride, sulfate = sea["chloride"].mg_per_L or 0.0, sea["sulfate"].mg_per_L or 0.0
    more_chloride, more_sulfate = per_day.get("chloride", 0.0), per_day.get("sulfate", 0.0)
    pull = more_chloride - sea_water_ratio() * more_sulfate
    edge = sea_water_ratio() * (1.0 + math.copysign(within, pull))
    pace = (more_chloride - edge * more_sulfate) / (edge * sulfate - chloride)
    # The ratio tends to that of the doses themselves; where that lies inside, nothing is needed.
    return max(0.0, pace * every_days)


def _percent_up(share: float) -> str:
    """Return a share in per cent, rounded up so that the sentence stays true."""
    decimals = 1 if share < 0.1 else 0
    return f"{math.ceil(100 * share * 10**decimals - 1e-9) / 10**decimals:.{decimals}f}"


def _holding_words(shares: Mapping[str, float], share: float, every_days: int) -> str:
    rhythm = "every day" if every_days == 1 else f"every {every_days} days"
    if share > 1.0:
        worst = max(shares, key=lambda name: shares[name])
        often = math.floor(every_days / share)
        instead = (
            f"it would take all of the water every {'day' if often == 1 else f'{often} days'}"
            if often >= 1
            else "not even all of the water every day would do"
        )
        return (
            f"No water change {rhythm} holds {worst} within its bound: {instead}. Dose otherwise, or "
            "accept a wider bound."
        )
    if share == 0.0:
        return "These doses need no water change to stay within the bounds."
    needed = {name: one for name, one in shares.items() if one > 0.0}
    each = ", ".join(
        f"{name} needs {_percent_up(one)} %" if index == 0 else f"{name} {_percent_up(one)} %"
        for index, (name, one) in enumerate(needed.items())
    )
    return (
        f"Change at least {_percent_up(share)} % of the water {rhythm}. "
        f"{each[0].upper()}{each[1:]}."
    )
