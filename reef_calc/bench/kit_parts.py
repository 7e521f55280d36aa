"""The parts of a kit's description: solutions, chart, steps and lots."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from dataclasses import dataclass

from reef_calc.bench.toml_reader import Keys


@dataclass(frozen=True)
class Lot:
    """One lot of a kit's reagents.

    Attributes
    ----------
    name : str
        As on the label.
    opened, expires : datetime.date or None
        Days; None where not written.
    """

    name: str
    opened: dt.date | None = None
    expires: dt.date | None = None


@dataclass(frozen=True)
class Titrant:
    """The titrant of a kit.

    Attributes
    ----------
    mol_per_L : float or None
        Concentration, mol/L; None where not written.
    capacity_mL : float or None
        What the syringe holds, mL; None where not written.
    reacts : str
        What reacts with what, in words.
    """

    mol_per_L: float | None
    capacity_mL: float | None
    reacts: str


@dataclass(frozen=True)
class Precipitant:
    """The precipitant of a back titration.

    Attributes
    ----------
    mol_per_L : float
        Concentration, mol/L.
    mL : float
        Volume added, mL.
    """

    mol_per_L: float
    mL: float


@dataclass(frozen=True)
class Step:
    """One step of a kit.

    Attributes
    ----------
    do : str
        What to do; empty for a wait alone.
    wait_min : tuple of float or None
        Least and most minutes to wait.
    """

    do: str
    wait_min: tuple[float, float] | None = None


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

    Examples
    --------
    >>> titrant_from(Keys({"mol_per_L": 0.02, "capacity_mL": 1.0}, "kits.toml, kit.drops"))
    Titrant(mol_per_L=0.02, capacity_mL=1.0, reacts='')
    >>> titrant_from(None) is None
    True
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

    Examples
    --------
    >>> precipitant_from(Keys({"mol_per_L": 0.025, "mL": 10}, "kits.toml, kit.potassium"))
    Precipitant(mol_per_L=0.025, mL=10.0)
    """
    if keys is None:
        return None
    keys.needed("mol_per_L")
    keys.needed("mL")
    strength, volume = keys.number("mol_per_L", above=0.0), keys.number("mL", above=0.0)
    keys.finish()
    return Precipitant(strength or 0.0, volume or 0.0)


def number_pair(given: object) -> tuple[float, float] | None:
    """Return two finite numbers of a TOML list, or None when it is none such.

    Parameters
    ----------
    given : object
        What ``tomllib`` gave.

    Returns
    -------
    tuple of float or None
        The two, in whatever unit they are written.

    Examples
    --------
    >>> number_pair([3, 5]), number_pair([3]), number_pair([True, 1])
    ((3.0, 5.0), None, None)
    """
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

    Examples
    --------
    >>> chart_from(Keys({"chart": [[0.1, 380], [0.2, 400]]}, "kits.toml, kit.calcium"))
    ((0.1, 380.0), (0.2, 400.0))
    """
    given = keys.value("chart")
    if given is None:
        return ()
    rows = [number_pair(row) for row in given] if isinstance(given, list) else [None]
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

    Examples
    --------
    >>> step_from(Keys({"do": "Swirl", "wait": [1, 3]}, "kits.toml, kit.drops"))
    Step(do='Swirl', wait_min=(1.0, 3.0))
    """
    wait = keys.value("wait")
    do = keys.text("do")
    keys.finish()
    limits = None
    if wait is not None:
        limits = number_pair(wait)
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

    Examples
    --------
    >>> lots_from(Keys({"lot": [{"name": "A1"}, {"name": "A2"}]}, "kits.toml, kit.drops"))
    (Lot(name='A1', opened=None, expires=None), Lot(name='A2', opened=None, expires=None))
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
