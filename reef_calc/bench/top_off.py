"""Levels of water that was sampled before fresh water replaced what had evaporated."""

from __future__ import annotations

from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.errors import InputError

_ROOM_C = 25.0


def missing_share(missing_L: float, net_L: float) -> float:
    """Return the share of the water that has evaporated.

    m/V

    Parameters
    ----------
    missing_L : float
        Litres of fresh water that were missing when the sample was taken (L).
    net_L : float
        Net volume when topped off (L).

    Returns
    -------
    float
        Share (no unit), 0 or more and below 1.

    Raises
    ------
    InputError
        If the volumes cannot be.

    Examples
    --------
    >>> missing_share(6.0, 300.0)
    0.02
    """
    if not 0.0 < net_L < 1e9:
        raise InputError("a net volume above 0 L", net_L, "Write the litres when topped off.")
    if not 0.0 <= missing_L < net_L:
        raise InputError(
            "missing litres of 0 or more, fewer than the net volume", missing_L,
            "Write how much fresh water brings the level back to its mark.",
        )  # fmt: skip
    return missing_L / net_L


def level_after_top_off(level: float, missing_L: float, net_L: float) -> float:
    """Return the level per litre that a reading before topping off stands for.

    C·(V − m)/V

    Parameters
    ----------
    level : float
        Level as read, per litre, in any unit.
    missing_L, net_L : float
        Litres missing when the sample was taken, and net volume when topped off (L).

    Returns
    -------
    float
        Level in the same unit.

    Raises
    ------
    InputError
        If the volumes cannot be.

    Notes
    -----
    For what neither evaporates nor comes with the fresh water. Volumes are taken to add up: in sea
    water they do within 0.01 % of the total.

    Examples
    --------
    >>> level_after_top_off(430.0, 6.0, 300.0)
    421.4

    References
    ----------
    Mass balance.
    """
    return level * (1.0 - missing_share(missing_L, net_L))


def salinity_after_top_off(salinity: float, missing_L: float, net_L: float) -> float:
    """Return the practical salinity once the missing fresh water is back.

    S·M/(M + m·ρ₀) with M = (V − m)·ρ(S), because salinity counts per mass

    Parameters
    ----------
    salinity : float
        Practical salinity as read (no unit).
    missing_L, net_L : float
        Litres missing when the sample was taken, and net volume when topped off (L).

    Returns
    -------
    float
        Practical salinity (no unit).

    Raises
    ------
    InputError
        If a number cannot be.

    Examples
    --------
    >>> round(salinity_after_top_off(35.7, 6.0, 300.0), 2)
    35.0

    References
    ----------
    Mass balance; densities of TEOS-10 at 25 °C.
    """
    missing_share(missing_L, net_L)
    salt_water = (net_L - missing_L) * float(density_kg_per_L(salinity, _ROOM_C))
    fresh = missing_L * float(density_kg_per_L(0.0, _ROOM_C))
    return salinity * salt_water / (salt_water + fresh)
