"""A calcium reactor or any other continuous inflow: it delivers flow × (inflow − tank)."""

from __future__ import annotations

import math

from reef_calc.errors import CannotTellError, InputError

MINUTES_A_DAY = 1440.0


def exchanged_share(flow_L_per_day: float, net_L: float, days: float = 1.0) -> float:
    """Return the share of the water that a continuous inflow has replaced.

    1 − exp(−F·t/V)

    Parameters
    ----------
    flow_L_per_day : float
        Flow, in and out alike (L a day), 0 or more.
    net_L : float
        Net volume (L).
    days : float, optional
        Time (days), 0 or more.

    Returns
    -------
    float
        Share (no unit).

    Raises
    ------
    InputError
        If a number cannot be.

    Notes
    -----
    The tank is taken as mixed.

    Examples
    --------
    >>> round(exchanged_share(0.0576 * 500.0, 500.0), 5)
    0.05597
    """
    return -math.expm1(-_per_day(flow_L_per_day, net_L) * _days(days))


def _per_day(flow_L_per_day: float, net_L: float) -> float:
    if not (0.0 <= flow_L_per_day < math.inf and 0.0 < net_L < math.inf):
        raise InputError(
            "a flow of 0 or more and a net volume above 0",
            f"{flow_L_per_day} L a day, {net_L} L",
            "Run the outlet into a cylinder for a minute; mL a minute × 1.44 is L a day.",
            "Continuous inflow",
        )
    return flow_L_per_day / net_L


def _days(days: float) -> float:
    if not 0.0 <= days < math.inf:
        raise InputError("0 days or more", days, "Check sign and number.", "Continuous inflow")
    return days


def level_under_inflow(
    level: float,
    inflow_level: float,
    flow_L_per_day: float,
    net_L: float,
    days: float,
    *,
    use_per_day: float = 0.0,
) -> float:
    """Return a level after some days of continuous inflow and steady use.

    dC/dt = q·(Cin − C) − r with q = F/V, so C = C∞ + (C0 − C∞)·exp(−q·t), C∞ = Cin − r/q

    Parameters
    ----------
    level, inflow_level : float
        Level at the start and level of the inflow, in one unit per litre.
    flow_L_per_day : float
        Flow, in and out alike (L a day), above 0.
    net_L : float
        Net volume (L).
    days : float
        Time (days); ``inf`` for the level it ends at.
    use_per_day : float, optional
        Use in the same unit per litre a day.

    Returns
    -------
    float
        Level in that unit. A negative one means that the inflow cannot keep up with the use.

    Raises
    ------
    InputError
        If flow or volume is not above 0, or the time is negative.

    Examples
    --------
    >>> round(level_under_inflow(9.5, 11.0, 1.0, 100.0, 30.0, use_per_day=0.03), 2)
    9.11

    References
    ----------
    Mass balance of a mixed tank.
    """
    q = _per_day(flow_L_per_day, net_L)
    if q == 0.0:
        raise InputError("a flow above 0 L a day", flow_L_per_day, "Measure it.", "Inflow")
    ends_at = inflow_level - use_per_day / q
    stays = 0.0 if days == math.inf else math.exp(-q * _days(days))
    return ends_at + (level - ends_at) * stays


def half_time_days(flow_L_per_day: float, net_L: float) -> float:
    """Return how long a continuous inflow takes to go half of the way.

    ln 2 · V/F

    Parameters
    ----------
    flow_L_per_day : float
        Flow (L a day), above 0.
    net_L : float
        Net volume (L).

    Returns
    -------
    float
        Time (days).

    Raises
    ------
    InputError
        If flow or volume is not above 0.

    Examples
    --------
    >>> round(half_time_days(1.0, 100.0), 1)
    69.3
    """
    q = _per_day(flow_L_per_day, net_L)
    if q == 0.0:
        raise InputError("a flow above 0 L a day", flow_L_per_day, "Measure it.", "Inflow")
    return math.log(2.0) / q


def inflow_volumes(level: float, wanted: float, inflow_level: float = 0.0) -> float:
    """Return how many tank volumes of continuous inflow bring a level to another one.

    ln((C0 − Cin)/(C − Cin))

    Parameters
    ----------
    level, wanted, inflow_level : float
        Level now, level wanted and level of the inflow, in one unit.

    Returns
    -------
    float
        Volumes (ratio, no unit).

    Raises
    ------
    CannotTellError
        If the wanted level does not lie between the level and that of the inflow.

    Examples
    --------
    >>> round(inflow_volumes(40.0, 10.0), 3)
    1.386
    """
    above = (level - inflow_level) * (wanted - inflow_level)
    if not (math.isfinite(above) and above > 0.0) or abs(wanted - inflow_level) > abs(
        level - inflow_level
    ):
        raise CannotTellError(
            f"Water of {inflow_level:g} never brings {level:g} to {wanted:g}: the wanted level must "
            "lie between the two."
        )
    return math.log((level - inflow_level) / (wanted - inflow_level))


def rise_by_inflow(
    flow_mL_per_min: float, inflow_level: float, tank_level: float, net_L: float
) -> float:
    """Return what a continuous inflow adds to a level a day.

    F·(Cin − C)/V, and not F·Cin/V: what flows out carries the tank's own level away.

    Parameters
    ----------
    flow_mL_per_min : float
        Flow (mL a minute).
    inflow_level, tank_level : float
        Levels of what flows in and of the tank, in one unit per litre.
    net_L : float
        Net volume (L).

    Returns
    -------
    float
        Rise in that unit a day; negative where the inflow holds less than the tank.

    Raises
    ------
    InputError
        If flow or volume cannot be.

    Notes
    -----
    While the tank stays at this level. A reactor also brings carbonic acid, which lowers the pH;
    its gas bottle needs a regulator and a ventilated room.

    Examples
    --------
    >>> round(rise_by_inflow(30.0, 28.0, 8.0, 500.0), 3)
    1.728
    """
    q = _per_day(flow_mL_per_min * MINUTES_A_DAY / 1000.0, net_L)
    return q * (inflow_level - tank_level)


def inflow_for(rise_per_day: float, inflow_level: float, tank_level: float, net_L: float) -> float:
    """Return the flow that adds so much to a level a day.

    F = r·V/(Cin − C)

    Parameters
    ----------
    rise_per_day : float
        Wanted rise, unit per litre a day, 0 or more.
    inflow_level, tank_level : float
        Levels of what flows in and of the tank, in the same unit per litre.
    net_L : float
        Net volume (L).

    Returns
    -------
    float
        Flow (mL a minute).

    Raises
    ------
    InputError
        If the rise is negative or the volume not above 0.
    CannotTellError
        If the inflow holds no more than the tank.

    Examples
    --------
    >>> round(inflow_for(1.0, 28.0, 8.0, 500.0), 1)
    17.4
    """
    if not 0.0 <= rise_per_day < math.inf:
        raise InputError("a rise of 0 or more a day", rise_per_day, "Check sign and number.")
    if not inflow_level > tank_level:
        raise CannotTellError(
            f"An inflow of {inflow_level:g} cannot raise a tank of {tank_level:g}: test the outlet, "
            "and slow it down."
        )
    _per_day(0.0, net_L)
    return rise_per_day * net_L / (inflow_level - tank_level) * 1000.0 / MINUTES_A_DAY
