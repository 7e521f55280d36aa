"""The parts of a kit's description: solutions, volumes, steps and lots."""

from __future__ import annotations

import datetime as dt
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
    u : float
        Standard uncertainty of the concentration, mol/L; 0 where not written.
    ratio : float
        The same in numbers: moles of the element (for alkalinity: equivalents) that one mole of
        titrant takes; in a back titration, moles of the precipitant. No unit; 1 where not written.
    """

    mol_per_L: float | None
    capacity_mL: float | None
    reacts: str
    u: float = 0.0
    ratio: float = 1.0


@dataclass(frozen=True)
class Precipitant:
    """The precipitant of a back titration.

    Attributes
    ----------
    mol_per_L : float
        Concentration, mol/L.
    mL : float
        Volume added, mL.
    u, u_mL : float
        Standard uncertainties of the two, mol/L and mL; 0 where not written.
    ratio : float
        Moles of the element that one mole of precipitant takes; no unit, 1 where not written.
    """

    mol_per_L: float
    mL: float
    u: float = 0.0
    u_mL: float = 0.0
    ratio: float = 1.0


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
        For an unknown key, a number that cannot be used, or an uncertainty as large as the number.

    Examples
    --------
    >>> titrant_from(Keys({"mol_per_L": 0.02, "capacity_mL": 1.0}, "kits.toml, kit.drops"))
    Titrant(mol_per_L=0.02, capacity_mL=1.0, reacts='', u=0.0, ratio=1.0)
    >>> titrant_from(None) is None
    True
    """
    if keys is None:
        return None
    strength, u = _with_u(keys, "mol_per_L", "u")
    capacity = keys.number("capacity_mL", above=0.0)
    made = Titrant(strength, capacity, keys.text("reacts"), u or 0.0, _ratio(keys))
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
        For an unknown or missing key, a number that cannot be used, or an uncertainty as large as
        its number.

    Examples
    --------
    >>> precipitant_from(Keys({"mol_per_L": 0.025, "mL": 10}, "kits.toml, kit.potassium"))
    Precipitant(mol_per_L=0.025, mL=10.0, u=0.0, u_mL=0.0, ratio=1.0)
    """
    if keys is None:
        return None
    keys.needed("mol_per_L")
    keys.needed("mL")
    (strength, u), (volume, u_mL) = _with_u(keys, "mol_per_L", "u"), _with_u(keys, "mL", "u_mL")
    made = Precipitant(strength or 0.0, volume or 0.0, u or 0.0, u_mL or 0.0, _ratio(keys))
    keys.finish()
    return made


def volumes_from(keys: Keys) -> dict[str, float | None]:
    """Return the measured volumes of a kit with their standard uncertainties.

    Parameters
    ----------
    keys : Keys
        The kit's table; mL.

    Returns
    -------
    dict of str to float or None
        ``sample_mL``, ``sample_u_mL``, ``aliquot_mL``, ``aliquot_u_mL``, ``total_mL``,
        ``total_u_mL``, in mL; None where not written.

    Raises
    ------
    InputError
        For a volume not above 0, an uncertainty without its volume or as large as it, or one of an
        aliquot that may be the whole filtrate.

    Examples
    --------
    >>> volumes = volumes_from(Keys({"sample_mL": 5, "sample_u_mL": 0.03}, "kits.toml, kit.acid"))
    >>> volumes["sample_mL"], volumes["sample_u_mL"], volumes["total_mL"]
    (5.0, 0.03, None)
    """
    found: dict[str, float | None] = {}
    for name in ("sample", "aliquot", "total"):
        key, u_key = f"{name}_mL", f"{name}_u_mL"
        found[key], found[u_key] = _with_u(keys, key, u_key)
    aliquot, total = found["aliquot_mL"], found["total_mL"]
    spread = (found["aliquot_u_mL"] or 0.0) + (found["total_u_mL"] or 0.0)
    if spread and aliquot is not None and total is not None and aliquot + spread > total:
        raise keys.refuse(
            "aliquot_mL",
            f"an aliquot that is surely less than the filtrate, {total:g} mL",
            "Where the whole filtrate is titrated, leave out aliquot_mL, total_mL and their u.",
        )
    return found


def _with_u(keys: Keys, key: str, u_key: str) -> tuple[float | None, float | None]:
    """Return a number above 0 and its standard uncertainty, each None where not written."""
    value, u = keys.number(key, above=0.0), keys.number(u_key, above=0.0)
    if u is not None and value is None:
        raise keys.refuse(u_key, f"{key} beside its uncertainty", f"Add a line “{key} = …”.")
    if u is not None and value is not None and u >= value:
        raise keys.refuse(u_key, f"an uncertainty below {value:g}", "Write one standard deviation.")
    return value, u


def _ratio(keys: Keys) -> float:
    ratio = keys.number("ratio", above=0.0)
    return 1.0 if ratio is None else ratio


def count_from(keys: Keys) -> tuple[float | None, dt.date | None]:
    """Return how many tests a kit was counted to have left, and when.

    Parameters
    ----------
    keys : Keys
        The kit's table, with ``tests_left`` and ``counted``.

    Returns
    -------
    tuple of (float or None, datetime.date or None)
        Number of tests and day; each None where not written.

    Raises
    ------
    InputError
        If the number is negative, or there is a day without a number.

    Examples
    --------
    >>> count_from(Keys({"tests_left": 40, "counted": dt.date(2026, 2, 1)}, "kits.toml, kit.acid"))
    (40.0, datetime.date(2026, 2, 1))
    """
    left, day = keys.number("tests_left", at_least=0.0), keys.day("counted")
    if day is not None and left is None:
        raise keys.refuse("counted", "tests_left beside the day", "Add a line “tests_left = …”.")
    return left, day


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
