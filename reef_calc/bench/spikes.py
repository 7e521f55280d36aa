"""Spikes: a known solution added to the tank's own water, and how much of it a kit finds again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.bench.standards import StandardWater
from reef_calc.bench.weighing import budget_of, check_above_zero, check_volumes, combined_u
from reef_calc.errors import InputError


def spike_mL_for(rise: float, before: float, stock: StandardWater, water_mL: float) -> float:
    """Return how much of a known solution raises a sample by so much.

    Vs = Vw·rise/(Cs − before − rise)

    Parameters
    ----------
    rise : float
        Wanted rise of the mixture, in the stock's unit, above 0.
    before : float
        Level of the water before, in the stock's unit, 0 or more.
    stock : StandardWater
        What is added.
    water_mL : float
        Volume of the water (mL).

    Returns
    -------
    float
        Volume of the spike (mL).

    Raises
    ------
    InputError
        If the stock is not stronger than the level wanted, or a number cannot be used.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    >>> round(spike_mL_for(10.0, 5.0, stock, 100.0), 3)
    1.015

    References
    ----------
    Mass balance; no source needed.
    """
    check_above_zero(f"a wanted rise ({stock.unit})", rise)
    check_above_zero("a volume of water (mL)", water_mL)
    if not (math.isfinite(before) and before >= 0):
        raise InputError("a level of the water of 0 or more", before, "Test the water first.")
    if not before + rise < stock.level:
        raise InputError(
            f"a rise to less than the solution itself has ({stock.level:g} {stock.unit})",
            f"{before:g} + {rise:g} {stock.unit}",
            "Take a stronger solution or a smaller rise.",
        )
    return water_mL * rise / (stock.level - before - rise)


def mean_reading(
    readings: Sequence[float], sd: float, resolution: float = 0.0
) -> tuple[float, float]:
    """Return the mean of readings of one water and its standard uncertainty.

    u² = s²/n + r²/12: steps of the scale do not average out for certain, so they count whole.

    Parameters
    ----------
    readings : sequence of float
        Readings in one unit, at least one.
    sd, resolution : float
        Standard deviation of one reading and its step, in the same unit.

    Returns
    -------
    (float, float)
        Mean and standard uncertainty in the same unit.

    Raises
    ------
    InputError
        If there is no reading, one is not a number, or the scatter is not above 0.

    Examples
    --------
    >>> mean, u = mean_reading([8.0, 8.2], 0.1)
    >>> round(mean, 2), round(u, 3)
    (8.1, 0.071)

    References
    ----------
    JCGM 100:2008, 4.2.3 and F.2.2.1.
    """
    if not readings or not all(math.isfinite(one) for one in readings):
        raise InputError("at least one reading", tuple(readings), "Write what the kit read.")
    check_above_zero("a scatter of the readings", sd)
    u = math.sqrt(sd**2 / len(readings) + resolution**2 / 12)
    return math.fsum(readings) / len(readings), u


@dataclass(frozen=True)
class SpikeRecovery:
    """How much of a known addition a kit found again.

    Attributes
    ----------
    recovered : float
        Share found (no unit); 1 is all of it.
    u : float
        Its standard uncertainty (no unit).
    added : float
        What the spike adds to the mixture, in the kit's unit.
    verdict : str
        ``differs``, ``too rough`` or ``not shown``.
    sentence : str
        For the keeper.
    """

    recovered: float
    u: float
    added: float
    verdict: str
    sentence: str


def spike_recovery(
    read_before: float,
    read_after: float,
    stock: StandardWater,
    spike_mL: float,
    water_mL: float,
    *,
    u_read: float,
    u_spike_mL: float,
    u_water_mL: float,
    u_read_after: float | None = None,
) -> SpikeRecovery:
    """Return the share of a spike that the kit finds in the tank's own water.

    R = (after − before·Vw/(Vw + Vs))/(Cs·Vs/(Vw + Vs))

    Parameters
    ----------
    read_before, read_after : float
        Readings of the water and of the water with the spike, in the stock's unit.
    stock : StandardWater
        What was added.
    spike_mL, water_mL : float
        Volumes of spike and water (mL).
    u_read : float
        Standard uncertainty of each reading, in the stock's unit.
    u_spike_mL, u_water_mL : float
        Standard uncertainties of the volumes (mL).
    u_read_after : float, optional
        Standard uncertainty of the second reading where it differs, in the stock's unit.

    Returns
    -------
    SpikeRecovery
        Share with its standard uncertainty.

    Raises
    ------
    InputError
        If a number cannot be used.

    Notes
    -----
    A spike shows a factor and says nothing about an offset: an offset is in both readings.

    Examples
    --------
    >>> from reef_calc.bench.standards import weighed_standard
    >>> stock = weighed_standard("nitrate", 1000.0, "mg/L", 1000.0, u_balance_g=0.001,
    ...                          u_flask_mL=0.6)
    >>> found = spike_recovery(5.0, 14.0, stock, 1.0, 99.0, u_read=0.5, u_spike_mL=0.01,
    ...                        u_water_mL=0.5)
    >>> round(found.recovered, 3), round(found.u, 3)
    (0.905, 0.071)

    References
    ----------
    Recovery of a spike: *common practice, no source*; propagation: JCGM 100:2008, equation 10.
    """
    check_volumes(spike_mL, water_mL, u_spike_mL, u_water_mL)
    u_after = u_read if u_read_after is None else u_read_after
    if not (min(u_read, u_after) > 0 and math.isfinite(read_before) and math.isfinite(read_after)):
        raise InputError(
            "two readings and their uncertainty above 0",
            (read_before, read_after, u_read),
            "Write the kit's scatter.",
        )
    total = spike_mL + water_mL
    added = stock.level * spike_mL / total
    # R = (after·(Vs + Vw) − before·Vw)/(Cs·Vs): the derivatives follow from this form.
    strength = stock.level * spike_mL
    recovered = (read_after * total - read_before * water_mL) / strength
    budget = budget_of(
        {
            "reading after": (read_after, u_after, total / strength),
            "reading before": (read_before, u_read, -water_mL / strength),
            "stock": (stock.level, stock.u, -recovered / stock.level),
            "spike, mL": (spike_mL, u_spike_mL, (read_after / strength - recovered / spike_mL)),
            "water, mL": (water_mL, u_water_mL, (read_after - read_before) / strength),
        }
    )
    u = combined_u(budget)
    percent, half = 100 * recovered, 200 * u
    if abs(recovered - 1.0) > 2 * u:
        verdict, why = (
            "differs",
            (
                "That is not all, or more than all. The kit's scale, the stock or something in this "
                "water can do that; the same spike in purified water tells."
            ),
        )
    elif u > 0.1:
        verdict, why = (
            "too rough",
            "That is too rough to say more. Add a larger spike or read more often.",
        )
    else:
        hidden = 100 * (abs(recovered - 1.0) + 2 * u)
        verdict, why = (
            "not shown",
            (
                f"Nothing in this water is seen to disturb it; up to {hidden:.0f} % could hide in the "
                "scatter. An offset would not show here."
            ),
        )
    sentence = f"The kit finds {percent:.0f} % (± {half:.0f}) of what was added. {why}"
    return SpikeRecovery(recovered, u, added, verdict, sentence)
