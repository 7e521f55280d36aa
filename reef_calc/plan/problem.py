"""The question a plan answers: levels, uses, supplements and limits, in the units of the aims."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from reef_calc.errors import InputError

# Beyond this a forecast says nothing any more, and a plan is made again long before.
LONGEST = 366


@dataclass(frozen=True)
class ElementToPlan:
    """One element of the water; levels in ``unit``, uses in that unit per day.

    Attributes
    ----------
    name, unit : str
        Element and the unit of everything here.
    start : float
        Level at the start of the first day.
    use : float
        Use per day; negative for what rises by itself.
    new_water : float
        Level of the new water.
    low, aim, high : float or None
        Aims; without ``aim`` the element is only reported.
    rise_per_day, fall_per_day : float
        Largest net rise and fall of the level in a day.
    ceiling : float or None
        Level that must not be passed.
    u_start, u_use, u_new_water : float
        Standard uncertainties of ``start``, ``use`` and ``new_water``.
    u_day : float
        Standard deviation of the use from day to day.
    arriving : tuple of float
        What earlier doses still bring on the first days, unit per day.
    basis : str
        Where the use comes from, in words.
    u_use_alone : float or None
        Standard uncertainty of the use without what moves use and dose alike (pump, strength,
        volume), where the use was told while the doses of today were given; None where it was not.
    """

    name: str
    unit: str
    start: float
    use: float = 0.0
    new_water: float = 0.0
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    rise_per_day: float = math.inf
    fall_per_day: float = math.inf
    ceiling: float | None = None
    u_start: float = 0.0
    u_use: float = 0.0
    u_new_water: float = 0.0
    u_day: float = 0.0
    arriving: tuple[float, ...] = ()
    basis: str = ""
    u_use_alone: float | None = None

    @property
    def half(self) -> float:
        """Half of the band, the scale of every distance; 1 where there is no band."""
        if self.low is None or self.high is None or not self.high > self.low:
            return 1.0
        return (self.high - self.low) / 2


@dataclass(frozen=True)
class SupplementToPlan:
    """One container, or one way, to bring something in; amounts in ``unit`` as set, a day.

    Attributes
    ----------
    name : str
        Name of the supplement.
    effect : mapping of str to float
        Rise of the tank for one mL (or gram) set, by element, in the element's unit; delivery over
        set and net volume are in it.
    unit : {"mL", "g"}
        What amounts are counted in.
    most_per_day : float
        Largest amount a day.
    why_most : str
        What sets ``most_per_day``, as it reads in a sentence: "what the pump can give".
    most_per_dose : float
        Largest single dose.
    most_doses : int
        Largest number of doses a day.
    step : float
        Smallest step of one dose; 0 for any amount.
    stock : float
        Amount at hand for the whole plan.
    residue : float
        Dissolved salt that stays in the water for one mL (or gram), g/kg.
    u_effect : float
        Relative standard uncertainty of ``effect``: strength and delivery.
    lag_days : float
        Days until the alkalinity of it appears.
    linked : mapping of str to float
        Other supplements set in a fixed ratio to this one.
    set_now : float
        Amount a day that is set today.
    """

    name: str
    effect: Mapping[str, float]
    unit: str = "mL"
    most_per_day: float = math.inf
    why_most: str = "the largest amount a day"
    most_per_dose: float = math.inf
    most_doses: int = 24
    step: float = 0.0
    stock: float = math.inf
    residue: float = 0.0
    u_effect: float = 0.0
    lag_days: float = 0.0
    linked: Mapping[str, float] = field(default_factory=dict)
    set_now: float = 0.0


@dataclass(frozen=True)
class PlanProblem:
    """Everything a plan is made from.

    Attributes
    ----------
    elements : tuple of ElementToPlan
        Elements, those without an aim only reported.
    supplements : tuple of SupplementToPlan
        In the order of preference: of two that do the same the first is used first.
    days : int
        Length of the plan.
    exchanged : tuple of float
        Share of the water changed on each day, before use and doses (no unit); one a day.
    u_volume : float
        Relative standard uncertainty of the net volume.
    halve_first : bool
        Whether only half of the first correction is given, after a surprising reading.
    """

    elements: tuple[ElementToPlan, ...]
    supplements: tuple[SupplementToPlan, ...]
    days: int
    exchanged: tuple[float, ...] = ()
    u_volume: float = 0.0
    halve_first: bool = False

    def __post_init__(self) -> None:
        """Check what no later step could make sense of.

        Raises
        ------
        InputError
            For a horizon, a share, a level, a strength or an amount that cannot be used.
        """
        if (
            isinstance(self.days, bool)
            or not isinstance(self.days, int)
            or not 1 <= self.days <= LONGEST
        ):
            raise InputError(
                f"1 to {LONGEST} whole days",
                self.days,
                "A month is usual: test and plan again then.",
                "Days",
            )
        if self.exchanged and len(self.exchanged) != self.days:
            raise InputError(
                f"one share for each of {self.days} days",
                len(self.exchanged),
                "Give 0 for a day without a change.",
                "Water changes",
            )
        for share in self.exchanged:
            if not 0.0 <= share <= 1.0:
                raise InputError("shares of 0 to 1", share, "10 % is written 0.1.", "Water changes")
        for one in self.elements:
            self._check_element(one)
        names = [one.name for one in self.supplements]
        for name in [*names, *(one.name for one in self.elements)]:
            if names.count(name) > 1 or [e.name for e in self.elements].count(name) > 1:
                raise InputError(
                    "every name once", name, "Leave one of them out, or give it another name."
                )
        for supplement in self.supplements:
            self._check(supplement)
            for other, ratio in supplement.linked.items():
                if other not in names or other == supplement.name:
                    raise InputError(
                        f"another supplement of this plan that is linked to {supplement.name}",
                        other,
                        "Allow both of them, or take the link away.",
                        supplement.name,
                    )
                if not (math.isfinite(ratio) and ratio > 0.0):
                    raise InputError(
                        "a ratio above 0", ratio, "Equal amounts are written 1.", supplement.name
                    )

    def _check_element(self, one: ElementToPlan) -> None:
        for words, number in (
            ("level", one.start), ("use", one.use), ("level of the new water", one.new_water)
        ):  # fmt: skip
            if not math.isfinite(number):
                raise InputError(
                    f"the {words} of {one.name}", number, "Test it, or type it.", one.name
                )
        for limit in (one.rise_per_day, one.fall_per_day):
            if not limit > 0.0:
                raise InputError(
                    "a largest change a day above 0", limit, "Correct the limit.", one.name
                )
        edges = [
            (words, number)
            for words, number in (
                ("low", one.low), ("aim", one.aim), ("high", one.high), ("ceiling", one.ceiling)
            )
            if number is not None
        ]  # fmt: skip
        for (_, below), (_, above) in itertools.pairwise(edges):
            if not (math.isfinite(below) and math.isfinite(above) and below <= above):
                raise InputError(
                    "low, aim, high and the level that must not be passed in rising order",
                    ", ".join(f"{words} {number:g}" for words, number in edges),
                    "Correct the aims in tank.toml.",
                    one.name,
                )

    def _check(self, supplement: SupplementToPlan) -> None:
        if not any(supplement.effect.values()):
            raise InputError(
                "what a mL of it adds to this tank",
                "nothing",
                "Write its recipe or its label strength in supplements.toml.",
                supplement.name,
            )
        if not all(math.isfinite(x) for x in supplement.effect.values()):
            raise InputError(
                "a finite strength", dict(supplement.effect), "Correct the recipe.", supplement.name
            )
        for words, number in (
            ("a largest amount a day of 0 or more", supplement.most_per_day),
            ("a pump step of 0 or more", supplement.step),
            ("an amount at hand of 0 or more", supplement.stock),
            ("a dose set now of 0 or more", supplement.set_now),
        ):
            if not number >= 0.0:
                raise InputError(words, number, "Correct sign and number.", supplement.name)
        if not (supplement.most_per_dose > 0.0 and supplement.most_doses >= 1):
            raise InputError(
                "a largest single dose above 0 and at least one dose a day",
                f"{supplement.most_per_dose:g} {supplement.unit}, {supplement.most_doses}",
                "Correct the limits, or leave this supplement out.",
                supplement.name,
            )

    def shares(self) -> np.ndarray:
        """Return the share of the water changed on each day, shape (days,)."""
        return np.array(self.exchanged if self.exchanged else (0.0,) * self.days, dtype=float)

    def effects(self) -> np.ndarray:
        """Return the rise of each element by one mL of each supplement, shape (elements, supplements)."""
        return np.array(
            [[s.effect.get(e.name, 0.0) for s in self.supplements] for e in self.elements],
            dtype=float,
        ).reshape(len(self.elements), len(self.supplements))

    def element(self, name: str) -> int:
        """Return the place of an element.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        int
            Index into ``elements``.

        Raises
        ------
        InputError
            If the plan does not hold it.
        """
        for index, one in enumerate(self.elements):
            if one.name == name:
                return index
        raise InputError(
            f"one of {', '.join(e.name for e in self.elements)}", name, "Choose one of these.", ""
        )
