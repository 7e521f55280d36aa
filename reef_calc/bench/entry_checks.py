"""Checks of an entry against the kit itself: its scale, its lot, its unit."""

from __future__ import annotations

import datetime as dt

from reef_calc.bench.kits import Kit
from reef_calc.bench.slips import LevelOf, Range, Slip, is_on_grid, level_slips
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.numbers import parse_number
from reef_calc.chem.unit_words import accepted_units
from reef_calc.chem.units import check_unit, convert
from reef_calc.errors import InputError, UnitError


def grid_slip(entry: float, step: float, unit: str = "") -> Slip | None:
    """Return a slip when an entry lies off the steps of the scale, or None.

    Parameters
    ----------
    entry, step : float
        Entry and smallest step of the scale, in one unit.
    unit : str, optional
        That unit, for the sentence.

    Returns
    -------
    Slip or None
        The likely value is the nearest step, in the same unit.

    Raises
    ------
    InputError
        If the step is negative.

    Examples
    --------
    >>> grid_slip(7.83, 0.1, "dKH").sentence
    'The scale has steps of 0.1 dKH, and 7.83 dKH lies between two of them: 7.8 dKH?'
    >>> grid_slip(7.8, 0.1) is None
    True
    """
    if step < 0.0:
        raise InputError("a step of 0 or more", step, "Check the kit's resolution.")
    if is_on_grid(entry, step):
        return None
    nearest = round(round(entry / step) * step, 9)
    suffix = f" {unit}" if unit else ""
    return Slip(
        "off grid",
        f"The scale has steps of {step:g}{suffix}, and {entry:g}{suffix} lies between two of "
        f"them: {nearest:g}{suffix}?",
        nearest,
    )


def lot_slip(kit: Kit, lot: str, day: dt.date) -> Slip | None:
    """Return a slip when a lot is unknown, not opened yet or expired, or None.

    Parameters
    ----------
    kit : Kit
        The kit with its lots.
    lot : str
        Lot of the entry; empty: not written.
    day : datetime.date
        Day of the test in the tank's zone.

    Returns
    -------
    Slip or None
        Without a likely value.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Lot
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH",
    ...           lots=(Lot("A", expires=dt.date(2026, 1, 31)),))
    >>> lot_slip(kit, "A", dt.date(2026, 3, 1)).sentence
    'Lot A of acid expired on 2026-01-31. Test a standard before you trust it, or open a new lot.'
    """
    known = kit.lot(lot)
    if known is None:
        if not kit.lots:
            return None
        names = ", ".join(one.name for one in kit.lots)
        which = f"“{lot}” is no lot of {kit.name}" if lot else f"No lot is written for {kit.name}"
        return Slip("lot", f"{which}. Its lots are: {names}.")
    if known.expires is not None and day > known.expires:
        return Slip(
            "lot",
            f"Lot {lot} of {kit.name} expired on {known.expires}. Test a standard before you "
            "trust it, or open a new lot.",
        )
    if known.opened is not None and day < known.opened:
        return Slip(
            "lot",
            f"Lot {lot} of {kit.name} was opened on {known.opened}, after this test. Check the "
            "day and the lot.",
        )
    return None


def unit_slip(entry: float, unit: str, kit: Kit) -> Slip | None:
    """Return a slip when the unit of an entry is not the kit's, or None.

    Parameters
    ----------
    entry : float
        Level as typed, in ``unit``.
    unit : str
        Unit as typed.
    kit : Kit
        The kit.

    Returns
    -------
    Slip or None
        The likely value is the level in the kit's unit, where the unit is one of its element.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH")
    >>> unit_slip(2.8, "meq/L", kit).sentence
    'The kit reads dKH, not meq/L: 2.8 meq/L would be 7.85 dKH.'
    >>> unit_slip(7.8, "PSU", kit).sentence
    'PSU is a unit of salinity, and this kit measures alkalinity in dKH. Is it the right kit?'
    """
    try:
        word = check_unit(unit, kit.element)
    except UnitError as error:
        owners = [name for name in ELEMENTS if unit.strip() in accepted_units(name)]
        if owners:
            whose = " or ".join(owners) if len(owners) < 3 else "other elements"
            return Slip(
                "unit",
                f"{unit.strip()} is a unit of {whose}, and this kit measures {kit.element} in "
                f"{kit.unit}. Is it the right kit?",
            )
        return Slip("unit", f"“{unit}” is no unit of {kit.element}. {error.repair}")
    if word == kit.unit:
        return None
    try:
        level = convert(entry, word, kit.unit, kit.element)
    except InputError:
        return Slip(
            "unit",
            f"The kit reads {kit.unit}, not {word}, and one turns into the other only with the "
            "salinity of the water.",
        )
    return Slip(
        "unit",
        f"The kit reads {kit.unit}, not {word}: {entry:g} {word} would be {level:.3g} {kit.unit}.",
        level,
    )


def check_entry(
    typed: str,
    kit: Kit,
    *,
    day: dt.date,
    unit: str = "",
    lot: str = "",
    expected: Range | None = None,
    level_of: LevelOf | None = None,
) -> tuple[Slip, ...]:
    """Return everything that looks wrong about one entry before it is saved.

    Parameters
    ----------
    typed : str
        The entry as typed: a level in ``unit``, or a raw reading with ``level_of``.
    kit : Kit
        The kit.
    day : datetime.date
        Day of the test in the tank's zone.
    unit : str, optional
        Unit as typed; empty: the kit's. A raw reading (with ``level_of``) has none.
    lot : str, optional
        Lot as typed.
    expected : tuple of float, optional
        Lowest and highest level (in the kit's unit) that would be no surprise.
    level_of : callable, optional
        Level of a raw reading in the kit's unit.

    Returns
    -------
    tuple of Slip
        Empty when nothing looks wrong. The entry itself is never changed.

    Raises
    ------
    InputError
        If the entry is not a number, or the expected range is upside down.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH", resolution=0.1)
    >>> found = check_entry("0.78", kit, day=dt.date(2026, 3, 1), expected=(7.0, 8.6))
    >>> [(slip.code, slip.likely) for slip in found]
    [('impossible', None), ('jump', None), ('decimal point', 7.8)]
    """
    about_lot = lot_slip(kit, lot, day)
    about_unit = unit_slip(parse_number(typed), unit, kit) if unit and level_of is None else None
    if about_unit is not None and about_unit.likely is None:
        # A level in a foreign unit cannot be judged in the kit's.
        return tuple(slip for slip in (about_unit, about_lot) if slip is not None)
    in_kit_unit = about_unit is None and level_of is None
    found = [about_unit]
    found += level_slips(
        typed, kit, expected, level_of if about_unit is None else _to_kit_unit(unit, kit)
    )
    # A slip of typing says more than the scale's steps, and would contradict them.
    mistyped = any(slip is not None and slip.likely is not None for slip in found)
    if in_kit_unit and not mistyped and kit.kind != "laboratory report":
        found.append(grid_slip(parse_number(typed), kit.resolution, kit.unit))
    found.append(about_lot)
    return tuple(slip for slip in found if slip is not None)


def _to_kit_unit(unit: str, kit: Kit) -> LevelOf:
    word = check_unit(unit, kit.element)

    def converted(entry: float) -> float:
        return convert(entry, word, kit.unit, kit.element)

    return converted
