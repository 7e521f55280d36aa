"""Readings of standards, kit by kit and lot by lot, as read: nothing corrected, nothing dropped."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Any

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.chem.elements import element as element_named
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.stated import Standard
from reef_calc.log.tank import Tank

_PREFIX = "standard "
_ROOM_TEMPERATURE_C = 25.0
_COLUMNS = (
    "row", "time", "date_only", "lot", "standard", "read", "upper", "level", "level_u", "limit",
    "by", "note", "aside", "said",
)  # fmt: skip


@dataclass(frozen=True)
class KitWithStandards:
    """A kit as the page offers it.

    Attributes
    ----------
    name : str
        Name of the kit.
    described : bool
        Whether kits.toml has it.
    count : int
        Readings of standards with it.
    """

    name: str
    described: bool
    count: int


def kits_with_standards(tank: Tank) -> tuple[KitWithStandards, ...]:
    """Return all kits, those with readings of a standard first.

    Parameters
    ----------
    tank : Tank
        The tank.

    Returns
    -------
    tuple of KitWithStandards
        Kits of the description, and kits that only a reading of a standard names.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> kits_with_standards(example_tank())
    (KitWithStandards(name='drops', described=True, count=0),)
    """
    of_standards = tank.readings[tank.readings["water"].str.startswith(_PREFIX)]
    counts = of_standards["kit"].value_counts()
    names = dict.fromkeys([*tank.kits, *(name for name in of_standards["kit"] if name)])
    found = [KitWithStandards(n, n in tank.kits, int(counts.get(n, 0))) for n in names]
    return tuple(sorted(found, key=lambda kit: kit.count == 0))


def standard_rows(tank: Tank, kit_name: str) -> pd.DataFrame:
    """Return the readings of standards with one kit, as read, in the kit's unit.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit_name : str
        Name of a kit that kits.toml describes, with one element and one unit.

    Returns
    -------
    pandas.DataFrame
        In order of time: ``row`` of readings.csv, ``time`` (UTC), ``date_only``, ``lot``,
        ``standard``, ``read`` and ``upper`` (kit's unit), ``level`` and ``level_u`` (of the standard,
        kit's unit; NaN where not known), ``limit``, ``by``, ``note``, ``aside`` (why the reading
        cannot be compared with a number; empty where it can) and ``said`` (what to know of it).

    Raises
    ------
    InputError
        If the kit is not described, or measures more than one element.

    Notes
    -----
    Between units per litre and per kilogram the row's own salinity counts, never the tank's: test
    water in purified water is lighter than sea water.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> len(standard_rows(example_tank(), "drops"))
    0
    """
    kit = tank.kits.get(kit_name)
    if kit is None:
        raise InputError("a kit of kits.toml", kit_name, "Describe the kit there first.")
    if not kit.unit:
        raise InputError(
            "a kit with one element and one unit", kit_name, "Write both in kits.toml."
        )
    rows = tank.readings
    mine = rows[(rows["kit"] == kit_name) & rows["water"].str.startswith(_PREFIX)]
    # Listed elements have no level; another element than the kit's is told, not left out.
    made = [_row(tank, kit, row) for row in mine.itertuples(index=False)]
    found = pd.DataFrame(made, columns=[*_COLUMNS])
    return found.astype({"read": float, "upper": float, "level": float, "level_u": float})


def lot_remark(kit: Kit, lot: str, day: dt.date) -> str:
    """Return what to know of the lot that a reading was taken with.

    Parameters
    ----------
    kit : Kit
        The kit.
    lot : str
        Lot of the reading; empty where none was written.
    day : datetime.date
        Day of the reading in the tank's zone.

    Returns
    -------
    str
        A sentence; empty where the lot is described and was in date.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Lot
    >>> kit = Kit("drops", "alkalinity", "meter", "dKH", lots=(Lot("A", None, dt.date(2026, 6, 30)),))
    >>> lot_remark(kit, "A", dt.date(2026, 7, 1)), lot_remark(kit, "B", dt.date(2026, 7, 1))
    ('Lot A expired on 2026-06-30.', 'Lot B is not described in kits.toml.')
    """
    if not lot:
        return "No lot was written, and the kit has lots." if kit.lots else ""
    described = kit.lot(lot)
    if described is None:
        return f"Lot {lot} is not described in kits.toml."
    if described.opened is not None and day < described.opened:
        return f"Lot {lot} was opened only on {described.opened}."
    if described.expires is not None and day > described.expires:
        return f"Lot {lot} expired on {described.expires}."
    return ""


def _row(tank: Tank, kit: Kit, row: Any) -> dict[str, Any]:
    name = row.water.removeprefix(_PREFIX).strip()
    day = row.time.tz_convert(tank.zone).date()
    standard = tank.standards.get(name)
    found: dict[str, Any] = {
        "row": row.row, "time": row.time, "date_only": row.date_only, "lot": row.lot,
        "standard": name, "limit": row.limit, "by": row.by, "note": row.note,
        "read": math.nan, "upper": math.nan, "level": math.nan, "level_u": math.nan, "aside": "",
    }  # fmt: skip
    said = [lot_remark(kit, row.lot, day)]
    if standard is not None and standard.made is not None and day < standard.made:
        said.append(f"It was read before {name} was made ({standard.made}).")
    found["said"] = " ".join(one for one in said if one)
    if row.element != kit.element:
        return found | {"aside": f"It is a reading of {row.element}; the kit is for {kit.element}."}
    try:
        found["read"] = _in_kit_unit(kit, row, row.level)
        found["upper"] = _in_kit_unit(kit, row, row.upper_level)
        if standard is not None and standard.element == kit.element:
            found["level"] = _in_kit_unit(kit, row, standard.level)
            found["level_u"] = _spread(kit, row, standard)
    except InputError as error:
        return found | {"aside": f"It cannot be put into {kit.unit}. {error.repair}"}
    return found | {"aside": _aside(found, kit, standard, day)}


def _aside(found: dict[str, Any], kit: Kit, standard: Standard | None, day: dt.date) -> str:
    if standard is None:
        return f"Standard {found['standard']} has no value. Describe it in standards.toml."
    if standard.element != kit.element:
        return f"Standard {standard.name} is for {standard.element}, the kit for {kit.element}."
    if found["limit"]:
        return _beside_the_limit(found)
    lot = kit.lot(found["lot"])
    if lot is not None and lot.opened is not None and day < lot.opened:
        return "It is older than its lot. Correct the lot, or its day of opening in kits.toml."
    return ""


def _beside_the_limit(found: dict[str, Any]) -> str:
    """Say what a reading without a number shows of the kit, as far as it shows anything."""
    read, upper, level = found["read"], found["upper"], found["level"]
    if found["limit"] == "<":
        told = "fits it" if level < read else "holds more: the kit may read low"
    elif found["limit"] == ">":
        told = "fits it" if level > read else "holds less: the kit may read high"
    else:
        told = "fits it" if read <= level <= upper else "lies outside: the kit may be off"
    return f"It is a limit, not a number. The standard {told}."


def _in_kit_unit(kit: Kit, row: Any, level: float) -> float:
    store = element_named(kit.element).store_unit
    if math.isnan(level):
        return level
    return convert(
        level, store, kit.unit, kit.element,
        salinity=None if math.isnan(row.salinity) else row.salinity,
        temperature_C=_ROOM_TEMPERATURE_C if math.isnan(row.temperature) else row.temperature,
    )  # fmt: skip


def _spread(kit: Kit, row: Any, standard: Standard) -> float:
    if standard.level_u is None:
        return math.nan
    above = _in_kit_unit(kit, row, standard.level + standard.level_u)
    return abs(above - _in_kit_unit(kit, row, standard.level))
