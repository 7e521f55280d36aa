"""What doses leave behind over months: salinity, chloride, sulfate, sodium, magnesium."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.seawater import REFERENCE_SALINITY, absolute_from_practical_salinity
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.left_over import IONS, left_each_day
from reef_calc.plan.problem import ElementToPlan, PlanProblem

MONTH = 30
LONGEST_MONTHS = 60


@dataclass(frozen=True)
class Residue:
    """The water over months under the same daily doses.

    Attributes
    ----------
    levels : dict of str to ndarray, shape (days + 1,)
        Levels at the start of each day (mg/L), by element.
    salinity : ndarray, shape (days + 1,)
        Practical salinity (no unit).
    mass_ratio, equivalent_ratio : ndarray, shape (days + 1,)
        Chloride over sulfate by mass and by equivalents (no unit).
    salt_per_day : float
        Salt that is left each day (g/kg).
    change_share : float
        Share of the water changed each time (no unit).
    every_days : int
        Days between water changes.
    months : int
        Months of 30 days looked ahead.
    salinity_held : bool
        Whether salinity is held by swapping tank water for fresh water.
    swapped : float
        Tank volumes swapped for fresh water in the whole time (no unit); 0 when not held.
    undosed : ndarray, shape (days + 1,)
        Level of an element that is neither dosed nor used, over its level at the start (no unit).
    messages : tuple of Message
        What is not counted.
    """

    levels: dict[str, np.ndarray]
    salinity: np.ndarray
    mass_ratio: np.ndarray
    equivalent_ratio: np.ndarray
    salt_per_day: float
    change_share: float
    every_days: int
    months: int
    salinity_held: bool
    swapped: float
    undosed: np.ndarray
    messages: tuple[Message, ...] = ()

    def frame(self) -> pd.DataFrame:
        """Return one row a month.

        Returns
        -------
        pandas.DataFrame
            ``month`` (0 is now), ``salinity``, one column an element (mg/L),
            ``chloride_to_sulfate`` (by mass), ``chloride_to_sulfate_equivalents``.
        """
        at = np.arange(0, len(self.salinity), MONTH)
        return pd.DataFrame(
            {
                "month": np.arange(len(at)),
                "salinity": self.salinity[at],
                **{name: level[at] for name, level in self.levels.items()},
                "chloride_to_sulfate": self.mass_ratio[at],
                "chloride_to_sulfate_equivalents": self.equivalent_ratio[at],
            }
        )


def sea_water_ratio() -> float:
    """Return chloride over sulfate by mass in sea water of reference composition (no unit).

    Returns
    -------
    float
        Mass ratio, the same at every salinity.

    Examples
    --------
    >>> round(sea_water_ratio(), 3)
    7.135

    References
    ----------
    Millero et al. (2008), Deep-Sea Research I 55, 50, table 4.
    """
    sea = reference_levels()
    return float((sea["chloride"].mg_per_kg or 0.0) / (sea["sulfate"].mg_per_kg or 1.0))


def _sea_water_equivalents() -> float:
    """Return chloride over sulfate by equivalents in sea water of reference composition."""
    sea = reference_levels()
    return sea["chloride"].mmol_per_kg / (2.0 * sea["sulfate"].mmol_per_kg)


def residue_of(
    per_day: Mapping[str, float],
    salt_per_day: float,
    *,
    change_share: float = 0.0,
    every_days: int = 7,
    months: int = 6,
    start: Mapping[str, float] | None = None,
    new_water: Mapping[str, float] | None = None,
    salinity: float = 35.0,
    new_salinity: float | None = None,
    temperature_C: float = 25.0,
    salinity_held: bool = False,
) -> Residue:
    """Return what the same daily doses make of the water over months.

    Each day: on every n-th X ← (1−w)·X + w·X_new, then X ← X·exp(−k) + c·(1 − exp(−k))/k, with
    k = salt/S_A while salinity is held by swapping with fresh water, else X ← X + c

    Parameters
    ----------
    per_day : mapping of str to float
        Net rise by element (mg/L per day): what is dosed less what is used.
    salt_per_day : float
        Salt left each day (g/kg), 0 or more.
    change_share : float, optional
        Share of the water changed each time (no unit, 0–1).
    every_days : int, optional
        Whole days between changes.
    months : int, optional
        Months of 30 days.
    start, new_water : mapping of str to float, optional
        Levels now and in the new water (mg/L), by element; sea water's at ``salinity``, and the
        start's, where not given.
    salinity, new_salinity : float, optional
        Practical salinity now and of the new water (no unit); the same where not given.
    temperature_C : float, optional
        Temperature (°C).
    salinity_held : bool, optional
        Whether salinity is held by swapping tank water for fresh water.

    Returns
    -------
    Residue
        Day by day.

    Raises
    ------
    InputError
        For a share outside 0–1, days that are not whole, a negative salt, or an unknown element.

    Notes
    -----
    Evaporation is taken as topped up with fresh water. Without an end of the doses the excess tends
    to c·n/w before each change. Held by fresh water, an element that is not dosed falls as
    exp(−ΔS/S_A), ΔS being the salt taken out again.

    Examples
    --------
    >>> from reef_calc.plan.left_over import sodium_chloride_left
    >>> left = sodium_chloride_left(0.5)
    >>> per_day = {"sodium": left.sodium, "chloride": left.chloride}
    >>> residue_of(per_day, left.g_per_kg).salinity[[0, 180]].round(2)
    array([35.  , 36.82])
    >>> held = residue_of(per_day, left.g_per_kg, salinity_held=True)
    >>> (held.levels["sulfate"][180] / held.levels["sulfate"][0]).round(4).tolist()
    0.9492

    References
    ----------
    Mass balance; composition of Millero et al. (2008).
    """
    _check(salt_per_day, change_share, every_days, months)
    sea = {
        name: level.mg_per_L
        for name, level in reference_levels(salinity, temperature_C).items()
        if level.mg_per_L is not None
    }
    names = tuple(dict.fromkeys((*IONS, *per_day)))
    for name in names:
        if name not in sea:
            raise InputError(
                f"an element of sea water ({', '.join(sea)})", name, "Leave it out here.", "Residue"
            )
    absolute = salinity * REFERENCE_SALINITY / 35.0
    decay = salt_per_day / absolute if salinity_held else 0.0
    keep = math.exp(-decay)
    spread = -math.expm1(-decay) / decay if decay > 0.0 else 1.0
    given = start or {}
    first = np.array([*(float(given.get(name, sea[name])) for name in names), 1.0, absolute])
    fresh = first.copy()
    fresh[: len(names)] = [
        float((new_water or {}).get(n, x)) for n, x in zip(names, first, strict=False)
    ]
    if new_salinity is not None:
        fresh[-1] = absolute_from_practical_salinity(new_salinity)
    rise = np.array([*(float(per_day.get(name, 0.0)) for name in names), 0.0, salt_per_day])
    if not (np.isfinite(first).all() and np.isfinite(fresh).all() and np.isfinite(rise).all()):
        raise InputError(
            "levels and rises that are numbers", "not a number", "Type them.", "Residue"
        )
    days = months * MONTH
    found = np.empty((len(first), days + 1))
    found[:, 0] = first
    for day in range(days):
        level = found[:, day]
        if change_share > 0.0 and day % every_days == every_days - 1:
            level = level + change_share * (fresh - level)
        found[:, day + 1] = level * keep + rise * spread
    if salinity_held:
        found[-1] = absolute
    levels = dict(zip(names, found, strict=False))
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = levels["chloride"] / levels["sulfate"]
    return Residue(
        levels,
        found[-1] * 35.0 / REFERENCE_SALINITY,
        ratio,
        ratio / sea_water_ratio() * _sea_water_equivalents(),
        salt_per_day,
        change_share,
        every_days,
        months,
        salinity_held,
        decay * days,
        found[-2],
    )


def residue_of_plan(
    problem: PlanProblem,
    doses: Sequence[tuple[Supplement, float]],
    net_L: float,
    *,
    months: int = 6,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
    salinity_held: bool = False,
) -> Residue:
    """Return what the daily doses of a plan make of the water over months.

    Parameters
    ----------
    problem : PlanProblem
        Levels, new water and uses; its water changes go on, with their mean share and the median of
        the days between them.
    doses : sequence of (Supplement, float)
        Everything that is dosed, with the amount set a day (mL or g): the last phase of the plan,
        and what stays as it is.
    net_L : float
        Net volume of water (L), above 0.
    months : int, optional
        Months of 30 days.
    salinity : float, optional
        Practical salinity (no unit) where the problem has no salinity.
    temperature_C : float, optional
        Temperature (°C).
    salinity_held : bool, optional
        Whether salinity is held by swapping tank water for fresh water.

    Returns
    -------
    Residue
        Day by day.

    Examples
    --------
    >>> soda = Supplement("soda", {"alkalinity": 1.0, "sodium": 22.99})
    >>> problem = PlanProblem((), (), 30, tuple(0.1 * (day % 7 == 6) for day in range(30)))
    >>> left = residue_of_plan(problem, [(soda, 100.0)], 400.0, months=1)
    >>> left.every_days, round(left.change_share, 3), left.salinity[[0, 30]].round(3).tolist()
    (7, 0.1, [35.0, 35.134])
    """
    days = np.flatnonzero(problem.shares() > 0.0)
    changes = problem.shares()[days]
    mine = {one.name: one for one in problem.elements}
    ions = [mine[name] for name in IONS if name in mine]
    new_salinity = None
    if (now := mine.get("salinity")) is not None:
        salinity, new_salinity = (
            float(convert(x, now.unit, "PSU", "salinity", temperature_C=temperature_C))
            for x in (now.start, now.new_water)
        )

    def in_mg(one: ElementToPlan, level: float) -> float:
        return float(
            convert(
                level, one.unit, "mg/L", one.name, salinity=salinity, temperature_C=temperature_C
            )
        )

    left = left_each_day(
        doses,
        net_L,
        uses={one.name: in_mg(one, one.use) for one in ions},
        salinity=salinity,
        temperature_C=temperature_C,
    )
    found = residue_of(
        left.rises,
        left.salt,
        change_share=float(changes.mean()) if len(changes) else 0.0,
        every_days=round(float(np.median(np.diff(days)))) if len(days) > 1 else problem.days,
        months=months,
        start={one.name: in_mg(one, one.start) for one in ions},
        new_water={one.name: in_mg(one, one.new_water) for one in ions},
        salinity=salinity,
        new_salinity=new_salinity,
        temperature_C=temperature_C,
        salinity_held=salinity_held,
    )
    if len(days) != 1:
        return replace(found, messages=left.messages)
    words = f"One water change falls into the plan: here it comes again every {problem.days} days."
    return replace(found, messages=(*left.messages, Message("CHANGES_TAKEN", words, "qualified")))


def _check(salt_per_day: float, change_share: float, every_days: int, months: int) -> None:
    if not 0.0 <= salt_per_day < math.inf:
        raise InputError(
            "salt of 0 g/kg a day or more", salt_per_day, "Check sign and number.", "Residue"
        )
    if not 0.0 <= change_share <= 1.0:
        raise InputError("a share of 0 to 1", change_share, "10 % is written 0.1.", "Water changes")
    for number, most, what in (
        (every_days, 366, "whole days between changes"),
        (months, LONGEST_MONTHS, "whole months"),
    ):
        if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= most:
            raise InputError(f"1 to {most} {what}", number, "Type a whole number.", "Residue")
