"""Sea-water density of EOS-80 at the surface: a second opinion on TEOS-10, used by tests only."""

from __future__ import annotations


def density_eos80(salinity: float, temperature_C: float) -> float:
    """Return the density in kg/m³; temperature on IPTS-68.

    UNESCO Technical Papers in Marine Science 44 (Fofonoff and Millard 1983), one-atmosphere
    equation of state; coefficients from memory, checked by rows S09–S12.
    """
    t, s = temperature_C, salinity
    water = 999.842594 + t * (
        6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))
    )
    linear = 8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    root = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6)
    return water + linear * s + root * s**1.5 + 4.8314e-4 * s**2
