"""What an element needs a day and what it gets now, each with its interval."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pandas as pd

from reef_calc.balance.additions import addition_history, days
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.dose_now import dose_now
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import decimals_for, fixed, is_known, with_interval


@dataclass(frozen=True)
class SupplyNow:
    """Need and supply of one element, in ``unit`` per day; intervals of 95 %.

    Attributes
    ----------
    element, unit : str
        Element and unit of its level.
    use, use_low, use_high : float or None
        Use; the interval is the one to compare with the dose: an error of pump, strength or volume
        moves both alike and is left out.
    dose, dose_low, dose_high : float or None
        Dose now, with the uncertainty of strength and delivery; None while it was not logged.
    difference, low, high : float or None
        Use less dose: above 0 the level falls.
    words : str
        In one sentence.
    """

    element: str
    unit: str
    use: float | None
    use_low: float | None
    use_high: float | None
    dose: float | None
    dose_low: float | None
    dose_high: float | None
    difference: float | None
    low: float | None
    high: float | None
    words: str


def supply_now(
    tank: Tank, element: str, at: pd.Timestamp, *, estimate: ConsumptionEstimate | None = None
) -> SupplyNow:
    """Return what an element uses a day and what it gets now.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up or moves by itself.
    at : pandas.Timestamp
        The moment (UTC).
    estimate : ConsumptionEstimate, optional
        An estimate that is there already.

    Returns
    -------
    SupplyNow
        In the unit of the aims, per day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = supply_now(example_tank(), "alkalinity", pd.Timestamp("2026-02-16", tz="UTC"))
    >>> round(found.use, 2), round(found.dose, 2)
    (1.03, 1.0)
    >>> found.words
    'Alkalinity uses 1.020 to 1.046 dKH a day and gets 1.000 dKH: the level falls.'
    """
    found = estimate if estimate is not None else estimate_consumption(tank, element)
    use, (low, high) = found.rate, found.against_dose or (found.low, found.high)
    if use is None:
        low = high = None
    record: ElementRecord = replace(
        found.record, doses=addition_history(tank, found.element, found.unit, at)
    )
    dose = dose_now(record, float(days(at)))
    half = None if dose is None else HALF_WIDTH * dose * _dose_u(record, at)
    difference = None if use is None or dose is None else use - dose
    ends: tuple[float | None, float | None] = (None, None)
    if low is not None and high is not None and dose is not None and difference is not None:
        ends = (low - dose, high - dose)
    return SupplyNow(
        found.element,
        found.unit,
        use,
        low,
        high,
        dose,
        None if dose is None or half is None else dose - half,
        None if dose is None or half is None else dose + half,
        difference,
        *ends,
        _words(found.element, found.unit, use, low, high, dose),
    )


def _dose_u(record: ElementRecord, at: pd.Timestamp) -> float:
    """Return the relative standard uncertainty of what is dosed now, each supplement by its share."""
    now = float(days(at))
    steps, shots = record.doses.steps, record.doses.shots
    parts: dict[str, list[float]] = {}
    if len(steps):
        running = steps[(steps["start"] <= now) & (steps["stop"] >= now - 1e-6)]
        for row in running.itertuples(index=False):
            parts.setdefault(str(row.supplement), [0.0, float(row.u)])[0] += float(row.rate)
    if not parts and len(shots):
        for row in shots[shots["day"] > now - 28.0].itertuples(index=False):
            parts.setdefault(str(row.supplement), [0.0, float(row.u)])[0] += float(row.rise)
    total = sum(amount for amount, _ in parts.values())
    if total <= 0.0:
        return 0.0
    return math.sqrt(sum((amount * u) ** 2 for amount, u in parts.values())) / total


def _words(
    name: str,
    unit: str,
    use: float | None,
    low: float | None,
    high: float | None,
    dose: float | None,
) -> str:
    title = name.capitalize()
    if use is None or low is None or high is None or not is_known(use, low, high):
        got = (
            "what it gets now is not logged" if dose is None else f"it gets {dose:.3g} {unit} a day"
        )
        return f"{title}: its use is not known; {got}."
    used = f"{title} uses {with_interval(use, low, high)} {unit} a day"
    if high <= 0.0:
        used = f"{title} rises by itself by {with_interval(-use, -high, -low)} {unit} a day"
    if dose is None:
        return f"{used}; what it gets now is not logged."
    if dose == 0.0:
        got = f"{used} and gets nothing"
    else:
        got = f"{used} and gets {fixed(dose, decimals_for((high - low) / 2))} {unit}"
    if low <= dose <= high:
        return f"{got}: within what is known the level holds."
    return f"{got}: the level {'falls' if use > dose else 'rises'}."
