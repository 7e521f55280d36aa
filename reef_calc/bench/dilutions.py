"""Dilution series and spikes from a stock of known strength, each with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.bench.standards import StandardWater
from reef_calc.bench.weighing import budget_of, combined_u
from reef_calc.errors import InputError


def diluted(
    stock: StandardWater,
    taken_mL: float,
    flask_mL: float,
    *,
    u_taken_mL: float,
    u_flask_mL: float,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> StandardWater:
    """Return the water made by diluting a part of a stock.

    C = Cs·Vt/Vf + Cw·(1 − Vt/Vf)

    Parameters
    ----------
    stock : StandardWater
        The stock.
    taken_mL, flask_mL : float
        Volume of stock taken, and volume it is filled to (mL).
    u_taken_mL, u_flask_mL : float
        Their standard uncertainties (mL).
    blank, u_blank : float, optional
        What the diluting water holds, in the stock's unit, and its standard uncertainty.

    Returns
    -------
    StandardWater
        Level and uncertainties in the stock's unit; ``u_stock`` is shared by all its dilutions.

    Raises
    ------
    InputError
        If more is taken than the flask or the stock holds, or a number cannot be used.

    Examples
    --------
    >>> from reef_calc.bench.standards import weighed_standard
    >>> stock = weighed_standard("nitrate", 1000.0, "mg/L", 1000.0, u_balance_g=0.001,
    ...                          u_flask_mL=0.6)
    >>> ten = diluted(stock, 10.0, 1000.0, u_taken_mL=0.05, u_flask_mL=0.6)
    >>> round(ten.level, 2), round(ten.u, 3), round(ten.u_stock, 3)
    (10.0, 0.059, 0.03)

    References
    ----------
    Propagation: JCGM 100:2008, equation 10.
    """
    _volumes(taken_mL, flask_mL, u_taken_mL, u_flask_mL)
    if not 0 < taken_mL <= min(flask_mL, stock.volume_mL):
        raise InputError(
            f"a part of the stock between 0 and {min(flask_mL, stock.volume_mL):g} mL",
            f"{taken_mL!r} mL",
            "Take less, or fill a larger flask.",
        )
    if not (blank >= 0 and u_blank >= 0):
        raise InputError("a blank of 0 or more", (blank, u_blank), "Write 0 for pure water.")
    share = taken_mL / flask_mL
    step = stock.level - blank
    budget = budget_of(
        {
            f"stock, {stock.unit}": (stock.level, stock.u, share),
            "stock taken, mL": (taken_mL, u_taken_mL, step / flask_mL),
            "volume of flask, mL": (flask_mL, u_flask_mL, -step * share / flask_mL),
            f"the water itself, {stock.unit}": (blank, u_blank, 1.0 - share),
        }
    )
    steps = (f"Take {taken_mL:g} mL of the stock and fill to the mark of {flask_mL:g} mL. Mix.",)
    return StandardWater(
        stock.element,
        stock.unit,
        stock.level * share + blank * (1.0 - share),
        combined_u(budget),
        stock.u * share,
        flask_mL,
        budget,
        steps,
        stock.cautions,
    )


def dilution_series(
    stock: StandardWater,
    levels: Sequence[float],
    flask_mL: float,
    *,
    u_taken_mL: float,
    u_flask_mL: float,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> tuple[StandardWater, ...]:
    """Return separately mixed dilutions of one stock at the wanted levels.

    Vt = Vf·(C − Cw)/(Cs − Cw)

    Parameters
    ----------
    stock : StandardWater
        The stock.
    levels : sequence of float
        Wanted levels in the stock's unit, above the blank and up to the stock.
    flask_mL, u_taken_mL, u_flask_mL : float
        Volume of the flask, and the standard uncertainties of the part taken and of it (mL).
    blank, u_blank : float, optional
        What the diluting water holds, in the stock's unit, and its standard uncertainty.

    Returns
    -------
    tuple of StandardWater
        One for each level, in the order given.

    Raises
    ------
    InputError
        If a level lies outside what the stock can give.

    Examples
    --------
    >>> from reef_calc.bench.standards import weighed_standard
    >>> stock = weighed_standard("phosphate", 100.0, "mg/L", 1000.0, u_balance_g=0.0002,
    ...                          u_flask_mL=0.6)
    >>> series = dilution_series(stock, [0.05, 0.1], 1000.0, u_taken_mL=0.005, u_flask_mL=0.6)
    >>> [one.steps[0][:11] for one in series]
    ['Take 0.5 mL', 'Take 1 mL o']

    References
    ----------
    Mass balance; no source needed.
    """
    for level in levels:
        if not blank < level <= stock.level:
            raise InputError(
                f"a level above {blank:g} and up to {stock.level:g} {stock.unit}",
                level,
                "Choose another level, or make a stronger stock.",
            )
    return tuple(
        diluted(
            stock, flask_mL * (level - blank) / (stock.level - blank), flask_mL,
            u_taken_mL=u_taken_mL, u_flask_mL=u_flask_mL, blank=blank, u_blank=u_blank,
        )
        for level in levels
    )  # fmt: skip


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
    sentence : str
        For the keeper.
    """

    recovered: float
    u: float
    added: float
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
    _volumes(spike_mL, water_mL, u_spike_mL, u_water_mL)
    if not (u_read > 0 and math.isfinite(read_before) and math.isfinite(read_after)):
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
            "reading after": (read_after, u_read, total / strength),
            "reading before": (read_before, u_read, -water_mL / strength),
            "stock": (stock.level, stock.u, -recovered / stock.level),
            "spike, mL": (spike_mL, u_spike_mL, (read_after / strength - recovered / spike_mL)),
            "water, mL": (water_mL, u_water_mL, (read_after - read_before) / strength),
        }
    )
    u = combined_u(budget)
    percent, half = 100 * recovered, 200 * u
    if abs(recovered - 1.0) > 2 * u:
        verdict = (
            "That is not all, or more than all. The kit's scale, the stock or something in this "
            "water can do that; the same spike in purified water tells."
        )
    elif u > 0.1:
        verdict = "That is too rough to say more. Add a larger spike or read more often."
    else:
        verdict = "Nothing in this water is seen to disturb it. An offset would not show here."
    sentence = f"The kit finds {percent:.0f} % (± {half:.0f}) of what was added. {verdict}"
    return SpikeRecovery(recovered, u, added, sentence)


def _volumes(*given: float) -> None:
    first, second, *uncertainties = given
    if not (0 < first < math.inf and 0 < second < math.inf) or min(uncertainties) < 0:
        raise InputError(
            "volumes above 0 mL with uncertainties of 0 or more", given, "Check the volumes."
        )
