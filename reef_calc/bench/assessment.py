"""One typed entry judged: the level it gives, what looks wrong, and whether it may be saved."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace

from reef_calc.bench.corrections import Correction
from reef_calc.bench.entry_checks import check_entry, lot_slip
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import RawReading, TestResult
from reef_calc.bench.results_of_kits import result_of
from reef_calc.bench.slips import Range, Slip, syringe_slip
from reef_calc.bench.typed_entry import (
    Typed,
    half_drop_of,
    kit_for,
    main_field,
    raw_reading_of,
)
from reef_calc.chem.numbers import with_decimal_point
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Assessment:
    """What one typed entry says.

    Attributes
    ----------
    kit : Kit
        The kit, with element and unit.
    result : TestResult or None
        Level as read; None while too little is typed or where it cannot be worked out.
    refusal : str
        Why there is no level, in words; empty otherwise.
    slips : tuple of Slip
        What looks wrong and has to be answered before saving.
    field : str
        Field that a slip's likely value belongs into.
    corrected, corrected_u : float or None
        Level and its standard uncertainty after the kit's correction, in the kit's unit; None
        without a correction.
    surprise : {"", "high", "low"}
        On which side of the expected range the level lies.
    """

    kit: Kit
    result: TestResult | None = None
    refusal: str = ""
    slips: tuple[Slip, ...] = ()
    field: str = ""
    corrected: float | None = None
    corrected_u: float | None = None
    surprise: str = ""


def assess(
    kit: Kit, typed: Typed, *, day: dt.date, lot: str = "", expected: Range | None = None
) -> Assessment:
    """Return what a typed entry says, what looks wrong about it, and whether it surprises.

    Parameters
    ----------
    kit : Kit
        The kit.
    typed : mapping of str to str
        What was typed, by field of ``typed_entry.fields_of``.
    day : datetime.date
        Day of the test in the tank's zone.
    lot : str, optional
        Lot that was used.
    expected : tuple of float, optional
        Lowest and highest level, in the kit's unit and after its correction, that is no surprise.

    Returns
    -------
    Assessment
        Without a result while too little is typed. Nothing typed is ever changed.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Titrant
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH", repeatability_sd=0.05,
    ...           repeatability_from="typed", sample_mL=4.0, resolution=0.14,
    ...           titrant=Titrant(0.02, 1.0, ""))
    >>> found = assess(kit, {"filled": "1.0", "left": "0.44"}, day=dt.date(2026, 3, 1),
    ...                expected=(7.3, 8.4))
    >>> found.result.text, found.slips
    ('7.85 ± 0.15 dKH', ())
    >>> found = assess(kit, {"filled": "1.0", "left": "4.4"}, day=dt.date(2026, 3, 1),
    ...                expected=(7.3, 8.4))
    >>> [slip.likely for slip in found.slips if slip.code == "decimal point"]
    [0.44]
    """
    kit = kit_for(kit, typed)
    try:
        raw = raw_reading_of(kit, typed)
    except InputError as error:
        return Assessment(kit, refusal=str(error))
    if raw is None:
        about_lot = lot_slip(kit, lot, day)
        return Assessment(kit, slips=(about_lot,) if about_lot else ())
    name = main_field(kit, typed)
    half_drop = half_drop_of(typed)
    correction = kit.correction_at(day, lot)
    as_read = _as_read(expected, correction)
    result, refusal = None, ""
    try:
        result = result_of(kit, raw, half_drop=half_drop)
    except InputError as error:
        refusal = str(error)
    slips = _slips(kit, raw, typed, name, day, lot, as_read, half_drop)
    if result is None:
        # The refusal says already that there is no level, and why.
        slips = tuple(one for one in slips if one.code != "impossible")
        return Assessment(kit, refusal=refusal, slips=slips, field=name)
    corrected = None if correction is None else correction.apply(result.level)
    corrected_u = None
    if correction is not None and math.isfinite(result.u):
        corrected_u = math.hypot(
            result.u * abs(correction.slope), correction.uncertainty(result.level)
        )
    return Assessment(
        kit, result, "", slips, name, corrected, corrected_u, _surprise(result, as_read)
    )


def _within_syringe(slip: Slip, kit: Kit) -> Slip:
    """Return the slip without a likely volume that the syringe cannot hold."""
    capacity = kit.titrant.capacity_mL if kit.titrant else None
    if capacity is not None and slip.likely is not None and slip.likely > capacity:
        return replace(slip, likely=None)
    return slip


def _as_read(expected: Range | None, correction: Correction | None) -> Range | None:
    """Return the expected range on the kit's own scale: the kit reads before it is corrected."""
    if expected is None or correction is None or correction.slope <= 0.0:
        return expected
    low, high = ((end - correction.apply(0.0)) / correction.slope for end in expected)
    return low, high


def _surprise(result: TestResult, expected: Range | None) -> str:
    if expected is None:
        return ""
    top = result.upper if result.limit == "between" else result.level
    if result.limit != ">" and top < expected[0]:
        return "low"
    if result.limit != "<" and result.level > expected[1]:
        return "high"
    return ""


def _slips(
    kit: Kit,
    raw: RawReading,
    typed: Typed,
    name: str,
    day: dt.date,
    lot: str,
    expected: Range | None,
    half_drop: bool | None,
) -> tuple[Slip, ...]:
    if kit.kind == "colour steps" or raw.limit or not kit.element:
        about_lot = lot_slip(kit, lot, day)
        return (about_lot,) if about_lot else ()
    found: list[Slip] = []
    if raw.filled_mL is not None and raw.left_mL is not None:
        used = raw.reading
        drawn = raw.filled_mL + math.fsum(raw.refills_mL) - raw.left_mL
        about_syringe = syringe_slip(
            raw.filled_mL, raw.left_mL, drawn if used is None else used, raw.refills_mL
        )
        found += [_within_syringe(about_syringe, kit)] if about_syringe else []
    text = with_decimal_point(typed.get(name, ""))
    if kit.kind in ("meter", "laboratory report") and raw.dilution in (None, 1.0):
        checked = check_entry(text, kit, day=day, unit=raw.unit, lot=lot, expected=expected)
    else:

        def level_of(entry: float) -> float:
            changed = {**typed, name: repr(entry)}
            again = raw_reading_of(kit, changed)
            if again is None:
                raise InputError("a reading", entry, "Type what was read.")
            return result_of(kit, again, half_drop=half_drop).level

        checked = check_entry(text, kit, day=day, lot=lot, expected=expected, level_of=level_of)
    return (*found, *checked)
