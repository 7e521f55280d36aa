"""A range in which a reading would be no surprise, and what every way of finding it needs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from reef_calc.balance.last_readings import LastReading, last_readings
from reef_calc.bench.kits import Kit, usual_sd
from reef_calc.chem.elements import Element
from reef_calc.chem.units import convert
from reef_calc.log.description import USUAL_CHANGE_PER_DAY
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import decimals_for, fixed

LABEL_SHARE = 0.05  # MEMORY: what a label's figure may be off by where nothing else is known


@dataclass(frozen=True)
class Expected:
    """The range in which the next reading would be no surprise.

    Attributes
    ----------
    low, high : float
        Ends of the 95 % range in ``unit``, the kit's scatter in it, after the kit's correction;
        never beyond what water can hold.
    unit : str
        The kit's unit, or the one of the aims.
    level : float or None
        Expected level in ``unit``; None where only a range is known.
    basis : {"use", "last readings", "label", "standard", "possible"}
        What it rests on.
    words : tuple of str
        Sentences: what it rests on, or why nothing is expected, and the range.
    last : tuple of LastReading
        Up to three last readings of this water as read, newest first.
    """

    low: float
    high: float
    unit: str
    level: float | None
    basis: str
    words: tuple[str, ...]
    last: tuple[LastReading, ...]


@dataclass(frozen=True)
class Question:
    """What is expected of one element in one water at one time.

    Attributes
    ----------
    tank : Tank
        An opened tank folder.
    facts : Element
        The element.
    water : str
        As written in ``readings.csv``.
    at : pandas.Timestamp
        Time of the reading (UTC); only older ones count.
    unit : str
        Unit of the answer.
    kit_name : str
        Kit it is taken with; empty where it was not said.
    kit : Kit or None
        Kit whose scatter counts: that one, or the one of the last reading.
    """

    tank: Tank
    facts: Element
    water: str
    at: pd.Timestamp
    unit: str
    kit_name: str
    kit: Kit | None

    def to(self, value: float, start: str, end: str = "") -> float:
        """Return a level in another unit.

        Parameters
        ----------
        value : float
            Level in ``start``.
        start, end : str
            Units; an empty end is the unit of the answer.

        Returns
        -------
        float
            Level in ``end``.
        """
        held = self.tank.water_at(self.at)
        return convert(
            value,
            start,
            end or self.unit,
            self.facts.name,
            salinity=held.salinity,
            temperature_C=held.temperature_C,
        )

    def width(self, level: float, u: float, start: str) -> float:
        """Return in the unit of the answer what a spread around a level is.

        Parameters
        ----------
        level, u : float
            Level and spread in ``start``.
        start : str
            Their unit.

        Returns
        -------
        float
            In the unit of the answer.
        """
        return abs(self.to(level + u, start) - self.to(level, start))

    def possible(self) -> tuple[float, float]:
        """Return what this water can hold (*common practice, no source*).

        Returns
        -------
        tuple of float
            Lowest and highest level in the unit of the answer.
        """
        facts = self.facts
        low, high = sorted(self.to(end, facts.store_unit) for end in (facts.lowest, facts.highest))
        return (low if self.water in ("tank", "new water") else min(low, 0.0)), high

    def scatter(self, level: float) -> float:
        """Return the standard deviation of one reading, the step of the scale counted in.

        Parameters
        ----------
        level : float
            Level in the unit of the answer.

        Returns
        -------
        float
            In that unit; the usual one where no kit is described.
        """
        kit, name = self.kit, self.facts.name
        if kit is None:
            return usual_sd(name, level, self.unit)
        read = self.to(level, self.unit, kit.unit)
        sd = usual_sd(name, read, kit.unit) if kit.sd_is_default else kit.sd(read)
        return self.width(read, math.hypot(sd, kit.resolution / math.sqrt(12)), kit.unit)

    def wobble(self, level: float) -> float:
        """Return how far a level usually strays: half of the most that a day should bring.

        Parameters
        ----------
        level : float
            Level in the unit of the answer.

        Returns
        -------
        float
            In that unit; a share of the level where practice has no such limit. Own choice.
        """
        change = USUAL_CHANGE_PER_DAY.get(self.facts.name)
        if change is None:
            return LABEL_SHARE * abs(level)
        shown = self.facts.display_unit
        return self.width(self.to(level, self.unit, shown), change / 2, shown)

    def answer(
        self,
        level: float | None,
        ends: tuple[float, float],
        basis: str,
        words: list[str],
        doubted: frozenset[int] = frozenset(),
    ) -> Expected:
        """Return the answer, its range kept within what water can hold.

        Parameters
        ----------
        level : float or None
            Expected level in the unit of the answer.
        ends : tuple of float
            Low and high, in that unit.
        basis : str
            What it rests on.
        words : list of str
            Sentences that come before the range.
        doubted : frozenset of int, optional
            Rows of readings that are set aside.

        Returns
        -------
        Expected
            The answer.
        """
        possible = self.possible()
        low, high = max(ends[0], possible[0]), min(ends[1], possible[1])
        if not low < high:
            level, basis, (low, high) = None, "possible", possible
        elif level is not None and not low <= level <= high:
            level = None
        decimals = max(decimals_for((high - low) / 2), 0)
        span = f"{fixed(low, decimals)} to {fixed(high, decimals)} {self.unit}"
        said = "is all that is known." if basis == "possible" else "would be no surprise."
        last = last_readings(self.tank, self.facts.name, self.water, self.at, self.unit, doubted)
        if last and last[0].doubted:
            words = [f"The last reading, {last[0].text}, is doubted and not used.", *words]
        return Expected(low, high, self.unit, level, basis, (*words, f"{span} {said}"), last)

    def nothing(self, *words: str) -> Expected:
        """Return that nothing is known but what such water can hold.

        Parameters
        ----------
        *words : str
            Why.

        Returns
        -------
        Expected
            With the basis "possible".
        """
        return self.answer(None, self.possible(), "possible", list(words))
