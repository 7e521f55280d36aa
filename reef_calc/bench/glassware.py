"""What standard glass may be off by: flasks, cylinders and pipettes by class and size."""

from __future__ import annotations

import math

from reef_calc.bench.weighing import u_of_flask
from reef_calc.errors import InputError

# Tolerance of class A in mL by nominal volume in mL; class B is twice that. MEMORY, except that
# QUAM (2012), example A1, prints 0.1 mL for a flask of 100 mL.
_CLASS_A: dict[str, dict[float, float]] = {
    "volumetric flask": {  # ISO 1042
        10: 0.025, 20: 0.04, 25: 0.04, 50: 0.06, 100: 0.1, 200: 0.15, 250: 0.15, 500: 0.25,
        1000: 0.4, 2000: 0.6,
    },
    "measuring cylinder": {  # ISO 4788
        10: 0.1, 25: 0.25, 50: 0.5, 100: 0.5, 250: 1.0, 500: 2.5, 1000: 5.0, 2000: 10.0,
    },
    "bulb pipette": {  # ISO 648
        1: 0.008, 2: 0.01, 5: 0.015, 10: 0.02, 20: 0.03, 25: 0.03, 50: 0.05, 100: 0.08,
    },
}  # fmt: skip
VESSELS = tuple(
    f"{kind}, class {letter}"
    for kind in ("volumetric flask", "measuring cylinder")
    for letter in "AB"
)
PIPETTES = ("bulb pipette, class A", "bulb pipette, class B")
# Scatter of filling to a mark as a share of the volume: 0.02 mL in 100 mL, QUAM (2012), example A1.
_FILLING = 2e-4


def tolerances_mL(kind: str) -> dict[float, float]:
    """Return the tolerance of each size of one kind of glass.

    Parameters
    ----------
    kind : str
        One of ``VESSELS`` or ``PIPETTES``.

    Returns
    -------
    dict of float to float
        Tolerance (mL) by nominal volume (mL).

    Raises
    ------
    InputError
        If there is no such glass.

    Examples
    --------
    >>> tolerances_mL("volumetric flask, class B")[1000.0]
    0.8

    References
    ----------
    ISO 1042, ISO 4788, ISO 648 (all from memory).
    """
    base, _, letter = kind.partition(", class ")
    if base not in _CLASS_A or letter not in ("A", "B"):
        raise InputError("one of " + ", ".join((*VESSELS, *PIPETTES)), kind, "Choose one of these.")
    factor = 1.0 if letter == "A" else 2.0
    return {float(size): factor * tolerance for size, tolerance in _CLASS_A[base].items()}


def tolerance_mL(kind: str, volume_mL: float) -> float:
    """Return the tolerance of a glass of one size.

    Parameters
    ----------
    kind : str
        One of ``VESSELS`` or ``PIPETTES``.
    volume_mL : float
        Nominal volume (mL).

    Returns
    -------
    float
        Tolerance (mL).

    Raises
    ------
    InputError
        If this kind is not made in that size.

    Examples
    --------
    >>> tolerance_mL("volumetric flask, class A", 100.0)
    0.1
    """
    sizes = tolerances_mL(kind)
    for size, tolerance in sizes.items():
        if math.isclose(size, volume_mL, rel_tol=1e-9):
            return tolerance
    raise InputError(
        f"a size that a {kind} is made in ({', '.join(f'{size:g}' for size in sizes)} mL)",
        f"{volume_mL:g} mL",
        "Choose one of these sizes, or another vessel and type what is written on it.",
    )


def u_of_filling(volume_mL: float, tolerance: float, within_C: float = 4.0) -> float:
    """Return the standard uncertainty of a vessel filled to its mark.

    As ``u_of_flask``, with a scatter of filling of 0.02 % of the volume.

    Parameters
    ----------
    volume_mL, tolerance : float
        Volume, and the tolerance of the glass (mL).
    within_C : float, optional
        The water is within ± this of the temperature on the glass (°C).

    Returns
    -------
    float
        Standard uncertainty (mL).

    Raises
    ------
    InputError
        If a number cannot be used.

    Examples
    --------
    >>> round(u_of_filling(100.0, 0.1), 4)
    0.0665

    References
    ----------
    Eurachem/CITAC (2012), example A1.
    """
    scatter = _FILLING * volume_mL
    return u_of_flask(volume_mL, tolerance, repeatability_mL=scatter, within_C=within_C)
