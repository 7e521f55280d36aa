"""One supplement in place of another on this tank: doses a day, what stays, what pH does."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from reef_calc.chem.supplements import Supplement
from reef_calc.errors import InputError
from reef_calc.plan.change_also import USED
from reef_calc.plan.change_supplement import SupplementChange, change_supplement
from reef_calc.plan.supplements_of_tank import dose_limit
from reef_calc.show.dose_on_ph import DoseOnPh, WaterNow, doses_on_ph

_SLACK = 1e-9
FAR_DAYS = 3650
MOST_DOSES = 48
# What a pump that gives evenly over the day is counted as (own choice).
EVENLY = 24
# A step of the day's amount that is called coarse (own choice, as where the change is told).
COARSE = 0.10


@dataclass(frozen=True)
class Swap:
    """A change of supplement as it can be done on this tank.

    Attributes
    ----------
    change : SupplementChange
        The part that changes; all of it where nothing stands in the way.
    start : datetime.date
        Day 1.
    stays : float
        What goes on of the old one beside the new (its unit, a day), because the new one may not be
        given in the amount that all of it would take.
    wanted : float
        Amount a day of the new one that all of it would take (its unit).
    most : float
        Largest amount a day of the new one (its unit); infinite where none is written.
    doses_old, doses_new : int
        Doses a day.
    step_old, step_new : float
        Smallest step of one dose (mL or g); 0 for any amount.
    left : float or None
        What is left of the old one (mL or g).
    ph : tuple of DoseOnPh
        Old and new; empty where neither moves pH or it cannot be told.
    ph_words : str
        What pH rests on, or why it is not told.
    """

    change: SupplementChange
    start: dt.date
    stays: float
    wanted: float
    most: float
    doses_old: int
    doses_new: int
    step_old: float
    step_new: float
    left: float | None
    ph: tuple[DoseOnPh, ...]
    ph_words: str

    @property
    def now(self) -> float:
        """Amount a day of the old one before the change (its unit)."""
        return self.change.amount_now + self.stays

    @property
    def supply(self) -> float:
        """What arrives a day before and after (unit of the level)."""
        return self.change.supply * self.now / self.change.amount_now

    def days(self) -> pd.DataFrame:
        """Return the days to follow, day 0 before the change first.

        Returns
        -------
        pandas.DataFrame
            ``day``, ``date``, ``old`` and ``new`` (a day as set), ``from_old``, ``from_new`` (what
            the amounts set bring, unit a day), ``arrives`` and ``drift`` (unit).
        """
        change = self.change
        table = change.days
        old = [self.now, *(table["old"] + self.stays)]
        new = [0.0, *table["new"]]
        beside = self.supply - change.supply
        return pd.DataFrame(
            {
                "day": [0, *table["day"]],
                "date": [self.start + dt.timedelta(days=int(d) - 1) for d in (0, *table["day"])],
                "old": old,
                "new": new,
                "from_old": [amount * self.supply / self.now for amount in old],
                "from_new": [amount * change.supply / change.amount_then for amount in new],
                "arrives": [self.supply, *(table["arrives"] + beside)],
                "drift": [0.0, *table["drift"]],
            }
        )

    def runs_out(self) -> dt.date | None:
        """Return the first date on which what is left of the old one does not last.

        Returns
        -------
        datetime.date or None
            None where it lasts, ten years and longer too, or where it is not known what is left.
        """
        if self.left is None:
            return None
        table = self.days().iloc[1:]
        spent = table["old"].cumsum()
        short = table["date"][spent > self.left + _SLACK]
        if len(short):
            return dt.date.fromisoformat(str(short.iloc[0]))
        if self.stays <= 0.0:
            return None
        more = math.floor((self.left - float(spent.iloc[-1])) / self.stays + _SLACK)
        if more > FAR_DAYS:
            return None
        return self.start + dt.timedelta(days=len(table) + more)


def kept_elements(old: Supplement, new: Supplement) -> list[str]:
    """Return the elements whose supply can be kept when one supplement takes another's place.

    Parameters
    ----------
    old, new : Supplement
        The two.

    Returns
    -------
    list of str
        What both add, that which corals use first; salt of no use only where there is nothing else.

    Examples
    --------
    >>> one = Supplement("a", {"sodium": 23.0, "alkalinity": 1.0})
    >>> kept_elements(one, one), kept_elements(one, Supplement("b", {"calcium": 9.0}))
    (['alkalinity'], [])
    """
    both = [name for name, amount in old.adds.items() if amount > 0 and new.adds.get(name, 0) > 0]
    used = [name for name in USED if name in both]
    other = [name for name in both if name not in (*USED, "sodium", "chloride", "sulfate")]
    return used + other or both


def fewest_doses(supplement: Supplement, amount: float, net_L: float) -> int:
    """Return in how many doses a day an amount must be given at least.

    Parameters
    ----------
    supplement : Supplement
        What is dosed.
    amount : float
        Amount a day as set (mL or g).
    net_L : float
        Net volume (L).

    Returns
    -------
    int
        Doses a day, at least 1.

    Notes
    -----
    Its own limit a dose, and 0.5 dKH a dose, with hydroxide 0.2 (*common practice, no source*).

    Examples
    --------
    >>> fewest_doses(Supplement("soda", {"alkalinity": 1.0}), 90.0, 100.0)  # 2.5 dKH a day
    6
    """
    most = min(
        supplement.limits.get(f"{supplement.unit}_per_dose", math.inf),
        dose_limit(supplement, net_L),
    )
    return max(1, math.ceil(amount / most - _SLACK))


def swap(
    old: Supplement,
    new: Supplement,
    element: str,
    unit: str,
    now: float,
    water: WaterNow,
    *,
    start: dt.date,
    days: int = 7,
    doses_old: int = 1,
    doses_new: int | None = None,
    step_new: float | None = None,
    left: float | None = None,
    companions: Mapping[str, Supplement] | None = None,
) -> Swap:
    """Return how a supplement takes another's place on this tank, within its limits.

    Where the new one may not be given in the amount needed, only as much is changed as it can bring,
    and the rest of the old one stays beside it.

    Parameters
    ----------
    old, new : Supplement
        The two.
    element, unit : str
        Element whose supply is kept, and the unit of its level.
    now : float
        Amount a day of the old one as set (mL or g).
    water : WaterNow
        The tank.
    start : datetime.date
        Day 1.
    days : int, optional
        Days of the cross-fade.
    doses_old : int, optional
        Doses a day of the old one; 0 where it is given evenly over the day.
    doses_new : int, optional
        Doses a day of the new one. When not given as many as of the old one, fewer where a pump step
        would be coarse, and never fewer than its limits ask for.
    step_new : float, optional
        Smallest step of one dose of the new one (mL or g); that of its limits when not given.
    left : float, optional
        What is left of the old one (mL or g).
    companions : mapping of str to Supplement, optional
        Supplements given in a fixed ratio to either.

    Returns
    -------
    Swap
        What changes, what stays, and what one dose does to pH.

    Raises
    ------
    InputError
        If a number cannot be used, or the doses a day are too few.

    Examples
    --------
    >>> soda = Supplement("soda", {"alkalinity": 1.0}, limits={"mL_per_day": 10.0})
    >>> found = swap(Supplement("old", {"alkalinity": 1.0}), soda, "alkalinity", "dKH", 40.0,
    ...              WaterNow(100.0), start=dt.date(2026, 3, 1))
    >>> found.change.amount_then, found.stays, found.days()["old"].tolist()[-1]
    (10.0, 30.0, 30.0)
    """
    step_old = old.limits.get(f"step_{old.unit}", 0.0)
    step = new.limits.get(f"step_{new.unit}", 0.0) if step_new is None else step_new
    if not 0.0 <= step < math.inf:
        raise InputError("a step of 0 or more", f"{step:g}", "0 for any amount.", "Pump step")
    coarse_old = step_old * max(1, doses_old)
    doses_old = doses_old or EVENLY

    def changed(amount: float, step_new_a_day: float) -> SupplementChange:
        return change_supplement(
            old, new, element, amount, water.net_L, unit=unit, days=days, old_step=coarse_old,
            new_step=step_new_a_day, companions=companions,
            old_left=left if amount == now else None,
        )  # fmt: skip

    wanted = changed(now, 0.0).amount_then
    most = new.limits.get(f"{new.unit}_per_day", math.inf)
    part = min(wanted, most)
    needed = fewest_doses(new, part, water.net_L)
    doses = _offered(needed, doses_old, part, step) if doses_new is None else doses_new
    _check_doses(doses, needed, new.name)
    # Steps of the pump are rounded to the nearest, so that what is set may pass what is allowed:
    # then less is changed, a step at a time.
    while True:
        stays = now * (1 - part / wanted) if part < wanted * (1 - _SLACK) else 0.0
        if coarse_old:
            stays = math.ceil(stays / coarse_old - _SLACK) * coarse_old
        if part <= 0.0 or stays >= now * (1 - _SLACK):
            raise InputError(
                f"a supplement that may be given in more than {most:g} {new.unit} a day", new.name,
                f"All of it would take {wanted:.3g} {new.unit}: make it stronger, take a pump with a "
                "smaller step, or choose another.",
                "Change of supplement",
            )  # fmt: skip
        found = changed(now - stays, step * doses)
        highest = float(found.days["new"].max())
        needed = fewest_doses(new, highest, water.net_L)
        if highest > most + _SLACK:
            part -= max(step * doses, 0.01 * part)
        elif needed > doses and doses_new is None:
            doses = needed
        else:
            _check_doses(doses, needed, new.name)
            break
    each = ((old, now / doses_old), (new, found.amount_then / doses))
    ph, words = doses_on_ph(each, water)
    return Swap(
        found, start, stays, wanted, most, doses_old, doses, step_old, step, left, ph, words
    )


def _check_doses(doses: int, needed: int, name: str) -> None:
    if needed > MOST_DOSES:
        raise InputError(
            f"an amount of {name} that {MOST_DOSES} doses a day can bring", "more than that",
            "Check the amount and the strength; a weaker stock may need another limit a dose.",
            "Doses a day",
        )  # fmt: skip
    if not needed <= doses <= MOST_DOSES:
        raise InputError(
            f"{needed} to {MOST_DOSES} doses a day of {name}", f"{doses}",
            "A single dose would be larger than what it, or 0.5 dKH (0.2 with hydroxide), allows."
            if doses < needed else "More than one each half hour leaves no time to mix.",
            "Doses a day",
        )  # fmt: skip


def _offered(needed: int, doses_old: int, amount: float, step: float) -> int:
    fine = doses_old if step <= 0.0 else math.floor(COARSE * amount / step + _SLACK)
    return max(needed, min(doses_old, fine), 1)
