"""The parts of a kit's description: solutions, chart, steps, lots and corrections."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from dataclasses import dataclass

from reef_calc.bench.toml_reader import Keys


@dataclass(frozen=True)
class Lot:
    """One lot of a kit's reagents: name, day it was opened, day it expires (None: not written)."""

    name: str
    opened: dt.date | None = None
    expires: dt.date | None = None


@dataclass(frozen=True)
class Titrant:
    """The titrant: concentration (mol/L), what the syringe holds (mL), and what reacts."""

    mol_per_L: float | None
    capacity_mL: float | None
    reacts: str


@dataclass(frozen=True)
class Precipitant:
    """The precipitant of a back titration: concentration (mol/L) and volume added (mL)."""

    mol_per_L: float
    mL: float


@dataclass(frozen=True)
class Step:
    """One step of a kit: what to do, or how long to wait (least and most minutes)."""

    do: str
    wait_min: tuple[float, float] | None = None


@dataclass(frozen=True)
class Correction:
    """What a standard showed: how a level read with the kit is put right.

    Corrected = intercept + slope · read, in the kit's unit. A factor is a slope alone, an offset an
    intercept alone. The level as read is kept beside it, always.

    Attributes
    ----------
    start : datetime.date
        First day it holds, in the tank's zone.
    lot : str
        Lot it was found with; empty: every lot.
    intercept : float
        In the kit's unit.
    slope : float
        Without unit.
    u : float or None
        Standard uncertainty of the corrected level in the kit's unit (of the factor itself, without
        unit, where ``form`` is "factor"); None: not written.
    standard : str
        Name of the standard it was found with.
    form : {"factor", "offset", "line"}
        How it was written.
    """

    start: dt.date
    lot: str
    intercept: float
    slope: float
    u: float | None
    standard: str
    form: str

    def apply(self, level: float) -> float:
        """Return the corrected level.

        Parameters
        ----------
        level : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Corrected level in the kit's unit.
        """
        return self.intercept + self.slope * level

    def uncertainty(self, level: float) -> float:
        """Return the standard uncertainty that the correction adds.

        Parameters
        ----------
        level : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Standard uncertainty in the kit's unit; NaN where none was written.
        """
        if self.u is None:
            return math.nan
        return self.u * abs(level) if self.form == "factor" else self.u


def titrant_from(keys: Keys | None) -> Titrant | None:
    """Return the titrant of a kit, or None when there is none.

    Parameters
    ----------
    keys : Keys or None
        The table ``titrant``; mol/L and mL.

    Returns
    -------
    Titrant or None
        Concentration in mol/L, capacity in mL.

    Raises
    ------
    InputError
        For an unknown key or a number that cannot be used.
    """
    if keys is None:
        return None
    made = Titrant(
        keys.number("mol_per_L", above=0.0),
        keys.number("capacity_mL", above=0.0),
        keys.text("reacts"),
    )
    keys.finish()
    return made


def precipitant_from(keys: Keys | None) -> Precipitant | None:
    """Return the precipitant of a kit, or None when there is none.

    Parameters
    ----------
    keys : Keys or None
        The table ``precipitant``; mol/L and mL, both needed.

    Returns
    -------
    Precipitant or None
        Concentration in mol/L, volume in mL.

    Raises
    ------
    InputError
        For an unknown or missing key or a number that cannot be used.
    """
    if keys is None:
        return None
    keys.needed("mol_per_L")
    keys.needed("mL")
    strength, volume = keys.number("mol_per_L", above=0.0), keys.number("mL", above=0.0)
    keys.finish()
    return Precipitant(strength or 0.0, volume or 0.0)


def _pair(given: object) -> tuple[float, float] | None:
    if not isinstance(given, list) or len(given) != 2:
        return None
    if any(isinstance(x, bool) or not isinstance(x, int | float) for x in given):
        return None
    return (float(given[0]), float(given[1])) if all(map(math.isfinite, given)) else None


def chart_from(keys: Keys) -> tuple[tuple[float, float], ...]:
    """Return the rows of a kit's chart, empty when there is none.

    Parameters
    ----------
    keys : Keys
        The kit's table, with the key ``chart``.

    Returns
    -------
    tuple of (float, float)
        Reading and level, in the order typed.

    Raises
    ------
    InputError
        If the rows are not pairs of numbers, or the level does not only rise or only fall.
    """
    given = keys.value("chart")
    if given is None:
        return ()
    rows = [_pair(row) for row in given] if isinstance(given, list) else [None]
    pairs = tuple(row for row in rows if row is not None)
    if len(pairs) != len(rows) or len(pairs) < 2:
        raise keys.refuse(
            "chart", "at least two rows of [reading, level]", "Write [[0.10, 380], [0.20, 400]]."
        )
    ordered = sorted(pairs)
    rising = ordered[-1][1] > ordered[0][1]
    for (x, y), (x2, y2) in itertools.pairwise(ordered):
        if x == x2 or y == y2 or (y2 > y) != rising:
            raise keys.refuse(
                "chart",
                "levels that only rise or only fall along the chart",
                f"Check the rows [{x:g}, {y:g}] and [{x2:g}, {y2:g}].",
            )
    return pairs


def step_from(keys: Keys) -> Step:
    """Return one step of a kit.

    Parameters
    ----------
    keys : Keys
        A table with ``do``, ``wait`` (minutes) or both.

    Returns
    -------
    Step
        The step; waits in minutes.

    Raises
    ------
    InputError
        If it has neither, or the wait is not [least, most].
    """
    wait = keys.value("wait")
    do = keys.text("do")
    keys.finish()
    limits = None
    if wait is not None:
        limits = _pair(wait)
        if limits is None or not 0.0 <= limits[0] <= limits[1]:
            raise keys.refuse("wait", "[least, most] minutes", "Write [3, 5].")
    elif not do:
        raise keys.refuse("do", "do or wait", "Say what the step is.")
    return Step(do, limits)


def lots_from(keys: Keys) -> tuple[Lot, ...]:
    """Return the lots of a kit.

    Parameters
    ----------
    keys : Keys
        The kit's table, with the list ``lot``.

    Returns
    -------
    tuple of Lot
        In the order typed.

    Raises
    ------
    InputError
        If a lot has no name, or the name of another one.
    """
    lots: list[Lot] = []
    for one in keys.tables("lot"):
        one.needed("name")
        lot = Lot(one.text("name"), one.day("opened"), one.day("expires"))
        one.finish()
        if not lot.name or any(lot.name == other.name for other in lots):
            raise one.refuse("name", "a name no other lot has", "Give each lot its own name.")
        lots.append(lot)
    return tuple(lots)


def correction_from(keys: Keys) -> Correction:
    """Return one correction of a kit.

    Parameters
    ----------
    keys : Keys
        A table with ``from`` and one of ``factor``, ``offset`` and ``line``.

    Returns
    -------
    Correction
        Offsets in the kit's unit.

    Raises
    ------
    InputError
        If the day is missing, or there is not exactly one of the three.
    """
    keys.needed("from")
    start = keys.day("from")
    factor, offset = keys.number("factor", above=0.0), keys.number("offset")
    line = keys.value("line")
    lot, standard = keys.text("lot"), keys.text("standard")
    u = keys.number("u", above=0.0)
    keys.finish()
    forms = [key for key in ("factor", "offset", "line") if key in keys]
    if len(forms) != 1 or start is None:
        raise keys.refuse("from", "one of factor, offset or line", "Write exactly one of them.")
    intercept, slope = offset or 0.0, factor or 1.0
    if line is not None:
        pair = _pair(line)
        if pair is None or pair[1] <= 0.0:
            raise keys.refuse(
                "line", "[intercept, slope] with a slope above 0", "Write [0.1, 0.98]."
            )
        intercept, slope = pair
    return Correction(start, lot, intercept, slope, u, standard, forms[0])
