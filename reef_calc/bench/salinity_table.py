"""The salinity of a reading with its uncertainty, and the same water on every other scale."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from reef_calc.bench.salinity_instruments import (
    ON_SODIUM_CHLORIDE,
    ON_SODIUM_CHLORIDE_HALF_WIDTH,
    SCALES,
    SalinityReading,
    reading_of_salinity,
    salinity_of_reading,
    slope_of_scale,
)
from reef_calc.bench.uncertainty import (
    CombinedUncertainty,
    Quantity,
    propagate,
    rectangular,
    resolution,
)
from reef_calc.errors import InputError


def salinity_with_uncertainty(reading: SalinityReading) -> CombinedUncertainty:
    """Return the practical salinity of a reading with its uncertainty and where that comes from.

    u² = (∂S/∂x·d/√12)² + (∂S/∂t·a/√3)² + (S·0.5/(36.5·√3))², the last for a sodium-chloride scale.

    Parameters
    ----------
    reading : SalinityReading
        Reading x with its step d; the thermometer's half-width a counts where nothing corrects.

    Returns
    -------
    CombinedUncertainty
        Practical salinity (no unit) with its budget. How well the instrument is set is not in it.

    Raises
    ------
    InputError
        If the reading or a temperature lies outside the range of its scale.

    Examples
    --------
    >>> meter = SalinityReading("conductivity", 53.07, 0.1, made_for="25 °C")
    >>> found = salinity_with_uncertainty(meter)
    >>> round(found.value, 2), round(found.u, 3)
    (35.0, 0.021)

    References
    ----------
    JCGM 100:2008, 4.3.7, 5.1.2 and F.2.2.1.
    """
    salinity = salinity_of_reading(reading)
    per_salinity = slope_of_scale(salinity, reading)
    inputs = {"reading": resolution(reading.value, reading.step)}
    slopes = {"reading": 1.0 / per_salinity}
    if reading.depends_on_sample:
        inputs["temperature"] = rectangular(reading.sample_C, reading.sample_half_width_C)
        step = 0.05 if reading.sample_C < 15.0 else -0.05
        warmer = replace(reading, sample_C=reading.sample_C + step)
        shown = [reading_of_salinity(salinity, one) for one in (reading, warmer)]
        slopes["temperature"] = -(shown[1] - shown[0]) / step / per_salinity
    if reading.scale == "refractometer, sodium-chloride scale":
        half_width = ON_SODIUM_CHLORIDE_HALF_WIDTH / ON_SODIUM_CHLORIDE
        inputs["sodium-chloride scale"] = rectangular(1.0, half_width)
        slopes["sodium-chloride scale"] = salinity
    return propagate(lambda **_: salinity, inputs, sensitivities=slopes)


@dataclass(frozen=True)
class OnScale:
    """The same water on one scale.

    Attributes
    ----------
    reading : SalinityReading
        What an instrument of that scale would show.
    U : float
        Expanded uncertainty 2u of that, in the unit of the scale.
    refused : str
        Why there is no such reading; then its value is not a number.
    """

    reading: SalinityReading
    U: float = math.nan
    refused: str = ""


def on_every_scale(salinity: Quantity, sample_C: float | None = None) -> tuple[OnScale, ...]:
    """Return what instruments of every scale would show in the same water.

    U = 2·|∂x/∂S|·u(S)

    Parameters
    ----------
    salinity : Quantity
        Practical salinity (no unit) with its standard uncertainty.
    sample_C : float, optional
        Temperature of the water (°C), for what instruments show that do not correct.

    Returns
    -------
    tuple of OnScale
        For each scale one for each temperature it is made for, of instruments that correct; then
        conductivity, density and refractive index in the water as it is.

    Examples
    --------
    >>> shown = on_every_scale(Quantity(35.0, 0.1))
    >>> [f"{one.reading.value:.5f} {one.U:.5f}" for one in shown[:2]]
    ['1.02661 0.00015', '1.02637 0.00015']
    """
    empty = [
        SalinityReading(name, math.nan, scale.step, made_for=made_for)
        for name, scale in SCALES.items()
        for made_for in scale.made_for or ("",)
    ]
    if sample_C is not None:
        empty += [
            SalinityReading(name, math.nan, SCALES[name].step, sample_C, "20 °C", corrects=False)
            for name in ("conductivity", "density", "refractive index")
        ]
    return tuple(_on_scale(salinity, one) for one in empty)


def _on_scale(salinity: Quantity, empty: SalinityReading) -> OnScale:
    try:
        shown = reading_of_salinity(salinity.value, empty)
        spread = 2.0 * abs(slope_of_scale(salinity.value, empty)) * salinity.u
    except InputError as error:
        return OnScale(empty, refused=str(error))
    if empty.scale == "refractometer, sodium-chloride scale":
        half_width = ON_SODIUM_CHLORIDE_HALF_WIDTH * salinity.value / 35.0
        spread = math.hypot(spread, 2.0 * half_width / math.sqrt(3.0))
    return OnScale(replace(empty, value=shown), spread)
