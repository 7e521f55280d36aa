"""What glassware and a balance leave uncertain, and the budget that adds it up."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from reef_calc.errors import InputError

# Water expands by this share per degree near 20 °C; QUAM (2012), example A1.
_WATER_EXPANSION_PER_C = 2.1e-4


def u_of_flask(
    volume_mL: float, tolerance_mL: float, *, repeatability_mL: float = 0.0, within_C: float = 4.0
) -> float:
    """Return the standard uncertainty of the volume of a flask or pipette.

    u² = a²/6 + r² + (V·2.1e-4·ΔT)²/3: triangular tolerance, filling, rectangular temperature.

    Parameters
    ----------
    volume_mL, tolerance_mL, repeatability_mL : float
        Volume, the tolerance written on the glass, and the scatter of filling it (mL).
    within_C : float, optional
        The water is within ± this of the temperature on the glass (°C).

    Returns
    -------
    float
        Standard uncertainty (mL).

    Raises
    ------
    InputError
        If the volume is not above 0, or another number is below 0.

    Notes
    -----
    For water near 20 °C. The expansion of the glass is left out: it is ten times smaller.

    Examples
    --------
    >>> round(u_of_flask(100.0, 0.1, repeatability_mL=0.02), 4)
    0.0665

    References
    ----------
    Eurachem/CITAC, Quantifying Uncertainty in Analytical Measurement, 3rd ed. (2012), example A1.
    """
    check_above_zero("the volume of the flask (mL)", volume_mL)
    for one in (tolerance_mL, repeatability_mL, within_C):
        check_not_negative("a tolerance, a scatter and a range of temperature", one)
    warmth = volume_mL * _WATER_EXPANSION_PER_C * within_C
    return math.sqrt(tolerance_mL**2 / 6 + repeatability_mL**2 + warmth**2 / 3)


def u_of_weighing(linearity_g: float, *, repeatability_g: float = 0.0) -> float:
    """Return the standard uncertainty of a mass weighed as a difference of two readings.

    u² = 2·a²/3 + r²

    Parameters
    ----------
    linearity_g : float
        Half-width of the balance's error (g); of a kitchen balance, one step of its display.
    repeatability_g : float, optional
        Scatter of weighing the same thing again (g).

    Returns
    -------
    float
        Standard uncertainty (g).

    Raises
    ------
    InputError
        If a number is below 0.

    Examples
    --------
    >>> round(u_of_weighing(0.00015), 6)
    0.000122

    References
    ----------
    Eurachem/CITAC (2012), example A2.
    """
    check_not_negative("the balance's error (g)", linearity_g)
    check_not_negative("the scatter of weighing (g)", repeatability_g)
    return math.sqrt(2 * linearity_g**2 / 3 + repeatability_g**2)


def budget_of(parts: dict[str, tuple[float, float, float]]) -> pd.DataFrame:
    """Return an uncertainty budget of independent sources.

    contribution = |sensitivity|·u; share = contribution²/Σ contribution²

    Parameters
    ----------
    parts : dict of str to (float, float, float)
        By source: value, standard uncertainty, sensitivity.

    Returns
    -------
    pandas.DataFrame
        Columns source, value, u, sensitivity, contribution, share (0 where nothing is uncertain).

    Examples
    --------
    >>> list(budget_of({"a": (1.0, 3.0, 1.0), "b": (1.0, 4.0, 1.0)}).share.round(2))
    [0.36, 0.64]

    References
    ----------
    JCGM 100:2008, equation 10.
    """
    frame = pd.DataFrame(
        [(source, *numbers) for source, numbers in parts.items()],
        columns=["source", "value", "u", "sensitivity"],
    )
    frame["contribution"] = np.abs(frame.sensitivity) * frame.u
    total = float((frame.contribution**2).sum())
    frame["share"] = frame.contribution**2 / total if total > 0 else 0.0
    return frame


def combined_u(budget: pd.DataFrame) -> float:
    """Return the combined standard uncertainty of a budget.

    u = √(Σ contribution²)

    Parameters
    ----------
    budget : pandas.DataFrame
        As ``budget_of`` returns it.

    Returns
    -------
    float
        Standard uncertainty in the unit of the result.

    Examples
    --------
    >>> combined_u(budget_of({"a": (1.0, 3.0, 1.0), "b": (1.0, 4.0, 1.0)}))
    5.0

    References
    ----------
    JCGM 100:2008, equation 10.
    """
    return float(np.sqrt((budget.contribution**2).sum()))


def check_above_zero(what: str, given: float) -> None:
    """Refuse a number that is not above zero.

    Parameters
    ----------
    what : str
        What the number is, for the message.
    given : float
        The number, in any unit.

    Raises
    ------
    InputError
        If it is 0, negative or not a number.

    Examples
    --------
    >>> check_above_zero("the volume (mL)", 100.0)
    """
    if not (math.isfinite(given) and given > 0):
        raise InputError(f"{what} above 0", given, "Measure it and write the number.")


def check_not_negative(what: str, given: float) -> None:
    """Refuse a number below zero.

    Parameters
    ----------
    what : str
        What the number is, for the message.
    given : float
        The number, in any unit.

    Raises
    ------
    InputError
        If it is negative or not a number.

    Examples
    --------
    >>> check_not_negative("the blank", 0.0)
    """
    if not (math.isfinite(given) and given >= 0):
        raise InputError(f"{what}: 0 or more", given, "Write 0 if there is none.")


def check_volumes(first_mL: float, second_mL: float, *uncertainties_mL: float) -> None:
    """Refuse two volumes, or their uncertainties, that cannot be.

    Parameters
    ----------
    first_mL, second_mL : float
        Volumes (mL), above 0.
    *uncertainties_mL : float
        Their standard uncertainties (mL), 0 or more.

    Raises
    ------
    InputError
        If one of them cannot be used.

    Examples
    --------
    >>> check_volumes(10.0, 1000.0, 0.05, 0.6)
    """
    given = (first_mL, second_mL, *uncertainties_mL)
    fit = 0 < first_mL < math.inf and 0 < second_mL < math.inf
    if not fit or not all(0 <= one < math.inf for one in uncertainties_mL):
        raise InputError(
            "volumes above 0 mL with uncertainties of 0 or more", given, "Check the volumes."
        )
