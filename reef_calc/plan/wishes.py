"""What a keeper wishes of a plan beside what the tank folder says: aims, uses, levels and limits."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import InputError

WHERE = "Plan"
# Half an hour each, around the clock: the most that times of day can hold apart.
MOST_DOSES = 24


@dataclass(frozen=True)
class WaterChanges:
    """Water changes to come.

    Attributes
    ----------
    litres : float
        Water changed each time (L); 0 for none at all.
    every_days : int
        Days from one to the next.
    first_day : datetime.date or None
        Day of the first one; None: the first day of the plan.
    """

    litres: float
    every_days: int = 7
    first_day: dt.date | None = None

    def __post_init__(self) -> None:
        """Check both numbers.

        Raises
        ------
        InputError
            For litres below 0, or less than a whole day from one to the next.
        """
        if not 0.0 <= self.litres < math.inf:
            raise InputError(
                "litres of 0 or more", self.litres, "Write 0 for no water changes.", "Water changes"
            )
        whole = isinstance(self.every_days, int) and not isinstance(self.every_days, bool)
        if not whole or not 1 <= self.every_days <= 366:
            raise InputError(
                "1 to 366 whole days from one change to the next",
                self.every_days,
                "Write 7 for one a week.",
                "Water changes",
            )


@dataclass(frozen=True)
class PlanWishes:
    """What is wished of a plan; whatever is left out comes from the tank folder.

    Attributes
    ----------
    aims : mapping of str to (float, float, float)
        Low, aim and high by element, in the unit of its aims.
    uses : mapping of str to (float, float or None)
        Use per day and its standard uncertainty by element, in that unit; negative for what rises
        by itself.
    levels : mapping of str to (float, float)
        Level at the start and its standard uncertainty by element, in that unit.
    allowed : tuple of str or None
        Supplements the plan may use; None for all.
    only_in_use : bool
        Whether only those may be used that are dosed now.
    extra : tuple of Supplement
        Supplements that the folder does not describe, such as limewater.
    rise_per_day, fall_per_day : mapping of str to float
        Largest change of the level a day by element, in that unit.
    most_per_day : mapping of str to (float, str)
        Largest amount a day (mL or g as set) by supplement, and what sets it, as it reads in a
        sentence: "what evaporates".
    stock : mapping of str to float
        Amount at hand (mL or g) by supplement, for the whole plan.
    water_changes : WaterChanges or None
        None: those of the last weeks go on.
    most_doses : int
        Largest number of doses a day of one supplement; 1 for doses by hand.
    confirmed : tuple of str
        Elements whose aims beyond the usual caution levels are meant.
    """

    aims: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    uses: Mapping[str, tuple[float, float | None]] = field(default_factory=dict)
    levels: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    allowed: tuple[str, ...] | None = None
    only_in_use: bool = False
    extra: tuple[Supplement, ...] = ()
    rise_per_day: Mapping[str, float] = field(default_factory=dict)
    fall_per_day: Mapping[str, float] = field(default_factory=dict)
    most_per_day: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    stock: Mapping[str, float] = field(default_factory=dict)
    water_changes: WaterChanges | None = None
    most_doses: int = MOST_DOSES
    confirmed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check every number that can be checked without the tank.

        Raises
        ------
        InputError
            For an unknown element, a number that cannot be, or aims in the wrong order.
        """
        for name, (low, aim, high) in self.aims.items():
            _element(name, "aims")
            _numbers(f"aims of {name}", low, aim, high)
            if not 0.0 <= low <= aim <= high:
                raise InputError(
                    "low ≤ aim ≤ high, none below 0",
                    f"{low:g}, {aim:g}, {high:g}",
                    "Put them in this order.",
                    f"{WHERE}, aims of {name}",
                )
        for name, (use, u) in self.uses.items():
            _element(name, "uses")
            if find_element(name).behaviour == "state":
                raise InputError(
                    "an element that is used up or moves by itself",
                    name,
                    "Leave this one out.",
                    f"{WHERE}, uses",
                )
            _numbers(f"use of {name}", use, 0.0 if u is None else u)
            if u is not None and u < 0.0:
                raise _negative(f"use of {name}, its uncertainty", u)
        for name, (level, u) in self.levels.items():
            _element(name, "levels")
            _numbers(f"level of {name}", level, u)
            if level < 0.0 or u < 0.0:
                raise _negative(f"level of {name}", min(level, u))
        for what, limits in (("rise", self.rise_per_day), ("fall", self.fall_per_day)):
            for name, limit in limits.items():
                _element(name, f"{what} per day")
                if not 0.0 < limit < math.inf:
                    raise InputError(
                        f"a largest {what} a day above 0",
                        limit,
                        "To leave the level where it is, aim for that level.",
                        f"{WHERE}, {what} per day of {name}",
                    )
        amounts = {name: most for name, (most, _) in self.most_per_day.items()}
        for what, some in (("largest amount a day", amounts), ("amount at hand", self.stock)):
            for name, amount in some.items():
                if not amount >= 0.0:
                    raise _negative(f"{what} of {name}", amount)
        for name in self.confirmed:
            _element(name, "confirmed")
        whole = isinstance(self.most_doses, int) and not isinstance(self.most_doses, bool)
        if not whole or not 1 <= self.most_doses <= MOST_DOSES:
            raise InputError(
                f"1 to {MOST_DOSES} doses a day", self.most_doses, "Write a whole number.", WHERE
            )

    def by_own_names(self) -> PlanWishes:
        """Return the wishes with elements named as in the closed list.

        Returns
        -------
        PlanWishes
            The same wishes.
        """
        return replace(
            self,
            aims={find_element(name).name: band for name, band in self.aims.items()},
            uses={find_element(name).name: use for name, use in self.uses.items()},
            levels={find_element(name).name: level for name, level in self.levels.items()},
            rise_per_day={find_element(name).name: x for name, x in self.rise_per_day.items()},
            fall_per_day={find_element(name).name: x for name, x in self.fall_per_day.items()},
            confirmed=tuple(find_element(name).name for name in self.confirmed),
        )


def _element(name: str, what: str) -> None:
    if find_element(name, f"{WHERE}, {what}").name in ("temperature", "pH"):
        raise InputError(
            "an element that a dose can raise: " + ", ".join(e for e in ELEMENTS if e not in
            ("temperature", "pH")),
            name,
            "Leave this one out.",
            f"{WHERE}, {what}",
        )  # fmt: skip


def _numbers(what: str, *values: float) -> None:
    for value in values:
        if isinstance(value, bool) or not math.isfinite(value):
            raise InputError(
                "numbers", value, "Write a number, or leave it out.", f"{WHERE}, {what}"
            )


def _negative(what: str, value: float) -> InputError:
    return InputError("a number of 0 or more", value, "Check sign and number.", f"{WHERE}, {what}")
