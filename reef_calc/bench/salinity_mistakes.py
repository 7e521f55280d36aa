"""How far a reading of salinity moves when one thing about the instrument is taken wrongly."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reef_calc.bench.salinity_instruments import (
    SCALES,
    SalinityReading,
    salinity_of_reading,
    slope_of_scale,
)
from reef_calc.errors import InputError

# Soda-lime glass takes up this much more room per °C (MEMORY).
GLASS_PER_C = 25e-6
_USUAL_GRAVITIES = ("20/20 °C", "25/25 °C", "60/60 °F")
_MIXED_UP = {
    "practical salinity": ("absolute salinity", "if the number were g/kg"),
    "absolute salinity": ("practical salinity", "if the number were practical salinity"),
    "refractometer, sea-water scale": (
        "refractometer, sodium-chloride scale", "if the scale were for sodium chloride",
    ),
    "refractometer, sodium-chloride scale": (
        "refractometer, sea-water scale", "if the scale were for sea water",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class TakenOtherwise:
    """The same number, understood in another way.

    Attributes
    ----------
    words : str
        What would be otherwise, as an if-clause.
    salinity : float or None
        Practical salinity (no unit) it would stand for; None: no sea water shows this number then.
    difference : float or None
        That salinity minus the one taken now (no unit).
    """

    words: str
    salinity: float | None
    difference: float | None


def taken_otherwise(reading: SalinityReading) -> tuple[TakenOtherwise, ...]:
    """Return what a reading would stand for if one thing about it were otherwise.

    ΔS = S(other) − S(now)

    Parameters
    ----------
    reading : SalinityReading
        Reading and instrument.

    Returns
    -------
    tuple of TakenOtherwise
        Whether it corrects, a sample one degree warmer, other scales; the largest difference first.

    Raises
    ------
    InputError
        If the reading itself stands for no salinity.

    Examples
    --------
    >>> reading = SalinityReading("specific gravity", 1.0264, 0.001, 25.0, "20/20 °C", corrects=False)
    >>> first = taken_otherwise(reading)[0]
    >>> first.words, round(first.difference, 1)
    ('if the instrument did correct for the temperature', -1.9)
    """
    now = salinity_of_reading(reading)
    found = []
    for words, other in _others(reading):
        try:
            salinity = salinity_of_reading(other)
            found.append(TakenOtherwise(words, salinity, salinity - now))
        except InputError:
            found.append(TakenOtherwise(words, None, None))
    # What would be no sea water at all is the plainest mistake and stands first.
    return tuple(
        sorted(found, key=lambda one: (one.difference is not None, -abs(one.difference or 0.0)))
    )


def _others(reading: SalinityReading) -> list[tuple[str, SalinityReading]]:
    made_for = SCALES[reading.scale].made_for
    others = []
    if made_for:
        did = "did not correct" if reading.corrects else "did correct"
        others.append(
            (
                f"if the instrument {did} for the temperature",
                replace(reading, corrects=not reading.corrects),
            )
        )
    if reading.depends_on_sample:
        warmer = replace(reading, sample_C=reading.sample_C + 1.0)
        others.append(("if the water were 1 °C warmer", warmer))
    if reading.corrects or reading.scale == "specific gravity":
        scales = _USUAL_GRAVITIES if reading.scale == "specific gravity" else tuple(made_for)
        others += [
            (f"if the scale were made for {one}", replace(reading, made_for=one))
            for one in scales
            if one != reading.made_for and "refractometer" not in reading.scale
        ]
    if reading.scale in _MIXED_UP:
        name, words = _MIXED_UP[reading.scale]
        others.append((words, replace(reading, scale=name)))
    return others


def glass_effect(reading: SalinityReading) -> float:
    """Return how much too high a glass hydrometer's salinity is because glass grows with warmth.

    ΔS = x·γ·(t − t_made)/(∂x/∂S), γ = 25·10⁻⁶ per °C

    Parameters
    ----------
    reading : SalinityReading
        Reading of specific gravity or density.

    Returns
    -------
    float
        Practical salinity (no unit); 0 for other instruments and where the instrument corrects.

    Notes
    -----
    γ of soda-lime glass is from memory; an instrument of plastic behaves otherwise.

    Examples
    --------
    >>> cold = SalinityReading("specific gravity", 1.0252, 0.001, 25.0, "20/20 °C", corrects=False)
    >>> round(glass_effect(cold), 2)
    0.17
    """
    if reading.scale not in ("specific gravity", "density") or not reading.depends_on_sample:
        return 0.0
    made_C = SCALES[reading.scale].made_for[reading.made_for][0]
    grown = reading.value * GLASS_PER_C * (reading.sample_C - made_C)
    return grown / slope_of_scale(salinity_of_reading(reading), reading)
