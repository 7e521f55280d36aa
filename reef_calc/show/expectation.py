"""What a test is expected to show, in the unit and on the line of the kit in the hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from reef_calc.balance.expected import expected_level
from reef_calc.bench.assessment import Assessment
from reef_calc.bench.kits import Kit
from reef_calc.bench.slips import Range
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank
from reef_calc.show.level_scale import LevelScale
from reef_calc.show.wording import day_words

EndOrNone = float | None


@dataclass(frozen=True)
class Expectation:
    """What to expect of one kit in one water at one time.

    Attributes
    ----------
    range : tuple of float or None
        Levels that are no surprise, in the kit's unit, after its correction.
    aims : tuple of float or None
        Lower and upper aim in the kit's unit; None each for other water than the tank's.
    words : tuple of str
        Where the range comes from.
    earlier : tuple of (str, str, str)
        Time, level and kit of the last readings, newest first.
    levels : tuple of float
        The same levels in the kit's unit, oldest first, where they are plain levels.
    """

    range: Range | None = None
    aims: tuple[EndOrNone, EndOrNone] = (None, None)
    words: tuple[str, ...] = ()
    earlier: tuple[tuple[str, str, str], ...] = ()
    levels: tuple[float, ...] = ()

    def scale(self, found: Assessment) -> LevelScale:
        """Return the line that a judged entry is drawn on.

        Parameters
        ----------
        found : Assessment
            The typed entry, judged.

        Returns
        -------
        LevelScale
            In the kit's unit, with the kit's correction where it has one.
        """
        result = found.result
        level = None if result is None or result.limit else result.level
        half = None if result is None or result.limit else result.U
        if level is not None and found.corrected is not None:
            level, half = found.corrected, 2.0 * (found.corrected_u or 0.0)
        ends = self.range or (None, None)
        return LevelScale(found.kit.unit, level, half, ends, self.aims, self.levels)


def expectation(tank: Tank, kit: Kit, water: str, time: dt.datetime) -> Expectation:
    """Return what a kit is expected to show in a water at a time.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit : Kit
        The kit, with element and unit.
    water : str
        ``tank``, ``new water`` or ``standard NAME``.
    time : datetime.datetime
        With its zone.

    Returns
    -------
    Expectation
        Empty where nothing is known.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH")
    >>> found = expectation(tank, kit, "tank", dt.datetime(2026, 2, 17, 18, tzinfo=dt.UTC))
    >>> found.range is not None and found.range[0] < found.range[1]
    True
    """
    told = expected_level(
        tank, kit.element, pd.Timestamp(time), water, kit=kit.name if kit.name in tank.kits else ""
    )
    held = tank.water_at(time)

    def to_kit(value: float | None, unit: str) -> float | None:
        if value is None:
            return None
        try:
            return convert(
                value, unit, kit.unit, kit.element,
                salinity=held.salinity, temperature_C=held.temperature_C,
            )  # fmt: skip
        except InputError:
            return None

    low, high = to_kit(told.low, told.unit), to_kit(told.high, told.unit)
    aim = tank.aims.get(kit.element) if water == "tank" else None
    aims = (to_kit(aim.low, aim.unit), to_kit(aim.high, aim.unit)) if aim else (None, None)
    last = list(told.last)
    levels = [to_kit(one.level, told.unit) for one in last if not one.limit]
    return Expectation(
        (low, high) if low is not None and high is not None else None,
        aims,
        tuple(told.words),
        tuple(
            (
                day_words(o.time, str(tank.zone), clock=True),
                o.text,
                o.kit + (", doubted" if o.doubted else ""),
            )
            for o in last
        ),
        tuple(level for level in reversed(levels) if level is not None),
    )
