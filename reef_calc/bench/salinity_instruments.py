"""Salinity from any instrument: what its scale means, and the same water on every other scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reef_calc.chem.refraction import refractive_index, salinity_from_refractive_index
from reef_calc.chem.salinity_scales import (
    salinity_from_density,
    salinity_from_specific_gravity,
    specific_gravity,
)
from reef_calc.chem.seawater import (
    SALINITY_RANGE,
    absolute_from_practical_salinity,
    check_within,
    conductivity_from_salinity,
    density_kg_per_L,
    practical_from_absolute_salinity,
    salinity_from_conductivity,
)
from reef_calc.errors import InputError

# A scale for sodium chloride shows 36.5 for sea water of 35, give or take 0.5 (MEMORY).
ON_SODIUM_CHLORIDE, ON_SODIUM_CHLORIDE_HALF_WIDTH = 36.5, 0.5
SIXTY_F = (60.0 - 32.0) / 1.8
Temperatures = tuple[float, float]
_ONE = {"20 °C": (20.0, 20.0), "25 °C": (25.0, 25.0)}


@dataclass(frozen=True)
class Scale:
    """One thing that an instrument for salinity may show.

    Attributes
    ----------
    unit : str
        Unit of the reading; empty for none.
    step : float
        A usual smallest step, in that unit (*common practice, no source*).
    made_for : dict of str to (float, float)
        Temperature of the sample and of the pure water it is compared with (°C), by how the
        instrument writes them; empty where temperature plays no part.
    corrects : bool
        Whether such instruments mostly correct for the temperature of the water themselves (*common
        practice, no source*).
    """

    unit: str
    step: float
    made_for: dict[str, Temperatures]
    corrects: bool = True


SCALES: dict[str, Scale] = {
    "specific gravity": Scale(
        "", 0.001,
        {
            "20/20 °C": (20.0, 20.0), "25/25 °C": (25.0, 25.0), "60/60 °F": (SIXTY_F, SIXTY_F),
            "15/15 °C": (15.0, 15.0), "25/20 °C": (25.0, 20.0), "20/4 °C": (20.0, 4.0),
            "25/4 °C": (25.0, 4.0), "25 °C/60 °F": (25.0, SIXTY_F),
        },
        corrects=False,
    ),
    "practical salinity": Scale("PSU", 0.1, {}),
    "absolute salinity": Scale("g/kg", 0.1, {}),
    "conductivity": Scale("mS/cm", 0.1, {"25 °C": (25.0, 25.0), "20 °C": (20.0, 20.0)}),
    "density": Scale("g/cm³", 0.0005, _ONE | {"15 °C": (15.0, 15.0)}, corrects=False),
    "refractive index": Scale("", 0.0001, _ONE, corrects=False),
    "refractometer, sea-water scale": Scale("‰", 1.0, _ONE),
    "refractometer, sodium-chloride scale": Scale("‰", 1.0, _ONE),
}  # fmt: skip


@dataclass(frozen=True)
class SalinityReading:
    """What an instrument showed, and what has to be known to understand it.

    Attributes
    ----------
    scale : str
        A key of ``SCALES``.
    value : float
        Reading in the unit of the scale.
    step : float
        Smallest step of the scale, in the same unit.
    sample_C : float
        Temperature of the water (in a refractometer: of its prism) when it was read, °C.
    made_for : str
        A key of the scale's ``made_for``; empty where temperature plays no part.
    corrects : bool
        Whether the instrument corrects for the temperature of the water itself.
    sample_half_width_C : float
        The thermometer is right within ± this, °C; counts only where nothing corrects.

    Raises
    ------
    InputError
        If scale or ``made_for`` is unknown, or a number cannot be used.
    """

    scale: str
    value: float
    step: float
    sample_C: float = 25.0
    made_for: str = ""
    corrects: bool = True
    sample_half_width_C: float = 0.0

    def __post_init__(self) -> None:
        if self.scale not in SCALES:
            raise InputError("one of " + ", ".join(SCALES), self.scale, "Choose one.")
        described = SCALES[self.scale]
        if described.made_for and self.made_for not in described.made_for:
            raise InputError(
                "what the scale is made for: " + ", ".join(described.made_for), self.made_for,
                "Look at the instrument or its leaflet.",
            )  # fmt: skip
        if not (math.isfinite(self.step) and self.step > 0.0):
            raise InputError("a smallest step above 0", self.step, "Look at the scale.")
        if not 0.0 <= self.sample_half_width_C <= 10.0:
            raise InputError(
                "a thermometer right within 0 to 10 °C", self.sample_half_width_C,
                "Write how far it may be off.",
            )  # fmt: skip

    @property
    def depends_on_sample(self) -> bool:
        """Whether the temperature of the water changes what the reading means."""
        return bool(SCALES[self.scale].made_for) and not self.corrects

    @property
    def temperatures_C(self) -> Temperatures:
        """Temperature that the number is for, and that of the pure water, °C."""
        made = SCALES[self.scale].made_for.get(self.made_for, (25.0, 25.0))
        return (self.sample_C, made[1]) if self.depends_on_sample else made


def salinity_of_reading(reading: SalinityReading) -> float:
    """Return the practical salinity that a reading stands for.

    S with f(S, t) = reading, where f is the equation of the scale and t the temperature of the water,
    or the one the scale is made for when the instrument corrects.

    Parameters
    ----------
    reading : SalinityReading
        Reading and instrument.

    Returns
    -------
    float
        Practical salinity (no unit).

    Raises
    ------
    InputError
        If the reading or a temperature lies outside the range of its scale.

    Notes
    -----
    Refraction is used up to 42; the equation was fitted up to 35. The growth of a glass hydrometer
    with warmth is left out (``salinity_mistakes.glass_effect``). A sodium-chloride scale is taken to
    show 36.5 for sea water of 35 and 0 for pure water (MEMORY).

    Examples
    --------
    >>> cold = SalinityReading("specific gravity", 1.0264, 0.001, 25.0, "20/20 °C", corrects=False)
    >>> round(salinity_of_reading(cold), 3)
    36.609

    References
    ----------
    As for the functions of each scale in ``reef_calc.chem``.
    """
    value, (t, pure_C), scale = reading.value, reading.temperatures_C, reading.scale
    if scale == "practical salinity":
        check_within(value, *SALINITY_RANGE, "a practical salinity", "Check what is shown.")
        return value
    if scale == "absolute salinity":
        return float(practical_from_absolute_salinity(value))
    if scale == "conductivity":
        return float(salinity_from_conductivity(value, t))
    if scale == "density":
        return float(salinity_from_density(value, t))
    if scale == "specific gravity":
        return float(salinity_from_specific_gravity(value, t, pure_C))
    if scale == "refractive index":
        return float(salinity_from_refractive_index(value, t, extrapolate=True))
    as_sea = value
    if scale == "refractometer, sodium-chloride scale":
        as_sea = value * 35.0 / ON_SODIUM_CHLORIDE
    check_within(as_sea, *SALINITY_RANGE, "a salinity", "Check which scale is read.")
    if not reading.depends_on_sample:
        return as_sea
    seen = refractive_index(as_sea, pure_C, extrapolate=True)
    return float(salinity_from_refractive_index(seen, t, extrapolate=True))


def reading_of_salinity(salinity: float, reading: SalinityReading) -> float:
    """Return what the instrument of a reading would show in water of another salinity.

    Inverse of ``salinity_of_reading``.

    Parameters
    ----------
    salinity : float
        Practical salinity (no unit).
    reading : SalinityReading
        Instrument and temperatures; its value plays no part.

    Returns
    -------
    float
        Reading in the unit of the scale.

    Raises
    ------
    InputError
        Outside the range of the scale.

    Examples
    --------
    >>> meter = SalinityReading("conductivity", 50.0, 0.1, made_for="25 °C")
    >>> round(reading_of_salinity(35.0, meter), 3)
    53.071
    """
    (t, pure_C), scale = reading.temperatures_C, reading.scale
    if scale == "practical salinity":
        return salinity
    if scale == "absolute salinity":
        return float(absolute_from_practical_salinity(salinity))
    if scale == "conductivity":
        return float(conductivity_from_salinity(salinity, t))
    if scale == "density":
        return float(density_kg_per_L(salinity, t))
    if scale == "specific gravity":
        return float(specific_gravity(salinity, t, pure_C))
    if scale == "refractive index":
        return float(refractive_index(salinity, t, extrapolate=True))
    as_sea = salinity
    if reading.depends_on_sample:
        seen = refractive_index(salinity, t, extrapolate=True)
        pure, salt = (float(refractive_index(s, pure_C)) for s in (0.0, 35.0))
        as_sea = (float(seen) - pure) / (salt - pure) * 35.0
    ours = scale == "refractometer, sea-water scale"
    return as_sea if ours else as_sea * ON_SODIUM_CHLORIDE / 35.0


def slope_of_scale(salinity: float, reading: SalinityReading) -> float:
    """Return how much the reading of an instrument rises per unit of practical salinity.

    Parameters
    ----------
    salinity : float
        Practical salinity (no unit) at which the slope is taken.
    reading : SalinityReading
        Instrument and temperatures; its value plays no part.

    Returns
    -------
    float
        Unit of the scale per unit of practical salinity.

    Examples
    --------
    >>> made = SalinityReading("specific gravity", 1.026, 0.001, 25.0, "25/25 °C", corrects=True)
    >>> round(slope_of_scale(35.0, made), 5)
    0.00076
    """
    # The step goes inwards, so that it never leaves the range of a scale.
    step = -0.01 if salinity > sum(SALINITY_RANGE) / 2 else 0.01
    shown = [reading_of_salinity(s, reading) for s in (salinity, salinity + step)]
    return (shown[1] - shown[0]) / step
