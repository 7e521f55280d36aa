"""The doses of a plan as a person follows them: table of the day, totals, shopping, what runs out."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping

import numpy as np
import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.log.plans import ContainerPhase
from reef_calc.plan.day_times import times_of_day

# Rounding of sums of doses, mL: what is empty to this is still enough for the last dose.
DUST = 1e-6
DAY_COLUMNS = ("date_from", "date_to", "time", "container", "amount", "unit", "dose_number")
TOTAL_COLUMNS = ("container", "unit", "total", "container_L", "lasts_days", "runs_out",
                 "containers_needed")  # fmt: skip
SHOPPING_COLUMNS = ("container", "what", "amount", "unit", "for_litres")


def container_phases(
    supplements: Mapping[str, Supplement],
    amounts: np.ndarray,
    doses: np.ndarray,
    spans: list[tuple[dt.date, dt.date]],
    *,
    by_hand: bool = False,
) -> tuple[ContainerPhase, ...]:
    """Return what each container gives in each phase, with its times.

    Parameters
    ----------
    supplements : mapping of str to Supplement
        Containers in the order of the rows.
    amounts : ndarray, shape (containers, phases)
        Amount a day as set (mL or g).
    doses : ndarray of int, shape (containers, phases)
        Doses a day.
    spans : list of (datetime.date, datetime.date)
        First and last day of each phase.
    by_hand : bool, optional
        Whether someone has to be awake for the doses.

    Returns
    -------
    tuple of ContainerPhase
        Container by container, phase by phase.

    Examples
    --------
    >>> soda = {"soda": Supplement("soda", {"alkalinity": 1.0})}
    >>> day = dt.date(2026, 3, 1)
    >>> (one,) = container_phases(soda, np.array([[60.0]]), np.array([[2]]), [(day, day)])
    >>> one.per_dose, one.times
    (30.0, ('08:00', '20:00'))
    """
    names = list(supplements)
    found = []
    for phase, (first, last) in enumerate(spans):
        given = {
            name: int(doses[row, phase]) if amounts[row, phase] > 0.0 else 0
            for row, name in enumerate(names)
        }
        times = times_of_day(supplements, given, by_hand=by_hand)
        for row, name in enumerate(names):
            amount, number = float(amounts[row, phase]), given[name]
            found.append(
                ContainerPhase(
                    name,
                    supplements[name].unit,
                    first,
                    last,
                    amount,
                    number,
                    amount / number if number else 0.0,
                    times.get(name, ()),
                )
            )
    order = {name: row for row, name in enumerate(names)}
    return tuple(sorted(found, key=lambda one: (order[one.container], one.date_from)))


def day_table(phases: tuple[ContainerPhase, ...]) -> pd.DataFrame:
    """Return the table to follow: one row a dose of the day, phase by phase in order of the clock.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.

    Returns
    -------
    pandas.DataFrame
        ``date_from``, ``date_to`` (dates), ``time`` (clock), ``container``, ``amount``, ``unit`` (mL
        or g as set), ``dose_number`` (from 1, of its container and day).

    Examples
    --------
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, day, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> day_table((one,))[["time", "amount", "dose_number"]].values.tolist()
    [['08:00', 30.0, 1], ['20:00', 30.0, 2]]
    """
    rows = [
        (one.date_from, one.date_to, clock, one.container, one.per_dose, one.unit, number)
        for one in phases
        for number, clock in enumerate(one.times, start=1)
    ]
    table = pd.DataFrame(rows, columns=[*DAY_COLUMNS])
    return table.sort_values(["date_from", "time", "container"], kind="stable", ignore_index=True)


def totals(
    phases: tuple[ContainerPhase, ...], supplements: Mapping[str, Supplement]
) -> pd.DataFrame:
    """Return what the plan takes of each container, and when a full one is empty.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.
    supplements : mapping of str to Supplement
        Containers by name.

    Returns
    -------
    pandas.DataFrame
        ``container``, ``unit``, ``total`` (mL or g), ``container_L`` (L; NaN where its size is not
        written), ``lasts_days`` (days a container that is full at the start lasts, with the last
        amount kept beyond the plan; NaN where not known), ``runs_out`` (date; None where not known),
        ``containers_needed`` (fillings for the plan; NaN where not known).

    Examples
    --------
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, dt.date(2026, 3, 30), 60.0, 2, 30.0, ())
    >>> found = totals((one,), {"soda": Supplement("soda", {"alkalinity": 1.0}, container_L=1.0)})
    >>> found[["total", "lasts_days", "runs_out"]].values.tolist()
    [[1800.0, 16.0, datetime.date(2026, 3, 17)]]
    """
    rows = []
    for name, supplement in supplements.items():
        own = [one for one in phases if one.container == name]
        total = sum(one.per_day * _length(one) for one in own)
        full = math.nan
        if supplement.container_L is not None and supplement.unit == "mL":
            full = 1000.0 * supplement.container_L
        lasts = _lasts(own, full)
        out = None
        if math.isfinite(lasts) and lasts <= 3650.0:
            out = own[0].date_from + dt.timedelta(days=math.floor(lasts))
        rows.append(
            {
                "container": name,
                "unit": supplement.unit,
                "total": total,
                "container_L": supplement.container_L if full == full else math.nan,
                "lasts_days": float(math.floor(lasts)) if math.isfinite(lasts) else math.nan,
                "runs_out": out,
                "containers_needed": float(math.ceil(total / full - 1e-9))
                if full > 0.0
                else math.nan,
            }
        )
    return pd.DataFrame(rows, columns=[*TOTAL_COLUMNS])


def _length(one: ContainerPhase) -> int:
    return (one.date_to - one.date_from).days + 1


def _lasts(own: list[ContainerPhase], full: float) -> float:
    """Return the days a full container can serve; infinite where nothing more is taken."""
    if math.isnan(full):
        return math.nan
    days, left = 0.0, full
    for one in own:
        if one.per_day * _length(one) > left + DUST:
            return days + (left + DUST) / one.per_day
        left = max(left - one.per_day * _length(one), 0.0)
        days += _length(one)
    return days + (left + DUST) / own[-1].per_day if own and own[-1].per_day > 0.0 else math.inf


def shopping(
    phases: tuple[ContainerPhase, ...], supplements: Mapping[str, Supplement]
) -> pd.DataFrame:
    """Return what has to be there for the whole plan: grams of each salt, or the bottle's amount.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.
    supplements : mapping of str to Supplement
        Containers by name.

    Returns
    -------
    pandas.DataFrame
        ``container``, ``what`` (salt as sold, or the supplement itself), ``amount``, ``unit`` (g or
        mL), ``for_litres`` (L of stock that it makes; NaN without a recipe). As set; what is in the
        containers already is not taken off.

    Examples
    --------
    >>> from reef_calc.chem.supplements import supplement_from_table
    >>> soda = supplement_from_table("soda", {"recipe": [{"salt": "soda ash", "hydrate": 0,
    ...     "grams_per_L": 60.0}]})
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, dt.date(2026, 3, 30), 60.0, 2, 30.0, ())
    >>> shopping((one,), {"soda": soda})[["what", "amount", "unit"]].values.tolist()
    [['sodium carbonate anhydrous', 108.0, 'g']]
    """
    rows = []
    for name, supplement in supplements.items():
        total = sum(one.per_day * _length(one) for one in phases if one.container == name)
        if total <= 0.0:
            continue
        if not supplement.recipe:
            rows.append((name, name, total, supplement.unit, math.nan))
        for line in supplement.recipe:
            litres = total / 1000.0
            rows.append((name, line.salt, line.grams_per_L * litres, "g", litres))
    return pd.DataFrame(rows, columns=[*SHOPPING_COLUMNS])


def ions_per_day(
    phases: tuple[ContainerPhase, ...],
    supplements: Mapping[str, Supplement],
    net_L: float,
) -> pd.DataFrame:
    """Return by how much the doses of a day raise every ion, phase by phase.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.
    supplements : mapping of str to Supplement
        Containers by name.
    net_L : float
        Net volume (L).

    Returns
    -------
    pandas.DataFrame
        One row a phase: ``date_from``, ``date_to``, then one column an element in its display unit
        (mg/L a day, alkalinity dKH a day); only what something adds.

    Examples
    --------
    >>> soda = {"soda": Supplement("soda", {"alkalinity": 1.0, "sodium": 23.0})}
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, day, 50.0, 1, 50.0, ())
    >>> found = ions_per_day((one,), soda, 100.0)
    >>> found[["alkalinity", "sodium"]].round(3).values.tolist()
    [[1.402, 11.5]]
    """
    spans = sorted({(one.date_from, one.date_to) for one in phases})
    names = [name for name in ELEMENTS if any(s.adds.get(name) for s in supplements.values())]
    rows = []
    for span in spans:
        row: dict[str, object] = {"date_from": span[0], "date_to": span[1]}
        for name in names:
            amount = sum(
                one.per_day
                * supplements[one.container].delivered_over_set.value
                * supplements[one.container].adds.get(name, 0.0)
                for one in phases
                if (one.date_from, one.date_to) == span
            )
            facts = ELEMENTS[name]
            row[name] = float(convert(amount / net_L, facts.store_unit, facts.display_unit, name))
        rows.append(row)
    return pd.DataFrame(rows, columns=["date_from", "date_to", *names])
