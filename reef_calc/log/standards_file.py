"""Adding a standard to standards.toml, and a blank to a kit."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml
from reef_calc.numbers_in_words import decimals_for

FILE = "standards.toml"


def rounded_by_u(value: float, u: float) -> tuple[float, float]:
    """Return a level and its standard uncertainty as they are written down.

    Parameters
    ----------
    value, u : float
        Level and standard uncertainty above 0, in one unit.

    Returns
    -------
    (float, float)
        Both in the same unit, with two or three figures of the uncertainty.

    Raises
    ------
    InputError
        If the uncertainty is not above 0.

    Examples
    --------
    >>> rounded_by_u(8.00412, 0.05371)
    (8.004, 0.054)
    """
    decimals = decimals_for(u) + 1
    return round(value, decimals), round(u, decimals)


def checked_name(name: str) -> str:
    """Return a name of a standard as it is stored, or refuse it.

    Parameters
    ----------
    name : str
        As typed.

    Returns
    -------
    str
        With single blanks.

    Raises
    ------
    InputError
        If it is empty, longer than 60 characters, or holds characters that cannot be printed.

    Examples
    --------
    >>> checked_name("  check   water 3 ")
    'check water 3'
    """
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > 60 or not tidy.isprintable():
        raise InputError(
            "a name for the standard, up to 60 characters", name, "Write one, such as: water 3.",
            "Name",
        )  # fmt: skip
    return tidy


def add_standard(
    folder: str | Path,
    name: str,
    element: str,
    value: float,
    unit: str,
    u: float,
    *,
    made: dt.date,
    recipe: str,
) -> str:
    """Return the name under which a standard was added to standards.toml.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    name : str
        Name of the standard; readings of it name the water ``standard NAME``.
    element : str
        Element.
    value : float
        Level in ``unit``; rounded by its uncertainty.
    unit : str
        Unit of the level.
    u : float
        Standard uncertainty of the level above 0, in ``unit``.
    made : datetime.date
        Day it was made.
    recipe : str
        What was weighed and mixed, in words.

    Returns
    -------
    str
        The name as stored.

    Raises
    ------
    InputError
        If the name is taken or cannot be used, or the file cannot be changed. Nothing is written
        then.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> add_standard(place, "water 1", "alkalinity", 8.0, "dKH", 0.05,
    ...              made=dt.date(2026, 1, 5), recipe="0.240 g to 1 L")
    'water 1'
    >>> open_tank(place).standards["water 1"].u
    0.05
    """
    tidy = checked_name(name)
    level, standard_u = rounded_by_u(value, u)

    def add(document: tomlkit.TOMLDocument) -> None:
        if "standard" not in document:
            document["standard"] = tomlkit.table(is_super_table=True)
        held = document["standard"]
        if any(" ".join(str(one).split()).casefold() == tidy.casefold() for one in held):
            raise InputError(
                "a name that no standard has yet", tidy,
                "Write another one: readings of the old bottle stay with the old name.", FILE,
            )  # fmt: skip
        table = tomlkit.table()
        table["element"] = element
        table["value"] = level
        table["unit"] = unit
        table["u"] = standard_u
        table["made"] = made
        table["recipe"] = recipe
        held[tidy] = table

    edit_toml(folder, FILE, add)
    return tidy


def set_blank(folder: str | Path, kit: str, blank_mL: float) -> None:
    """Write what titrant a kit takes on purified water into kits.toml.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    kit : str
        Name of the kit.
    blank_mL : float
        Titrant used on purified water (mL), 0 or more.

    Raises
    ------
    InputError
        If there is no such kit, or the file cannot be changed. Nothing is written then.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> set_blank(place, "acid", 0.02)
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: kits.toml: needed a kit that is described, given “acid”. Choose
    one of the list.
    """

    def write(document: tomlkit.TOMLDocument) -> None:
        if kit not in document.get("kit", {}):
            raise InputError("a kit that is described", kit, "Choose one of the list.", "kits.toml")
        document["kit"][kit]["blank_mL"] = round(blank_mL, 4)

    edit_toml(folder, "kits.toml", write)
