"""Readings on their way into the log: the row of each, as the tank folder wants it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import TestResult
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for

Row = dict[str, str]


@dataclass(frozen=True)
class Sample:
    """What is known about the water that was tested, and about who tested it.

    Attributes
    ----------
    time : datetime.datetime
        With its zone.
    water : str
        ``tank``, ``new water``, ``standard NAME`` or ``study NAME LEVEL``.
    lot : str
        Lot of the reagents; empty where not known.
    by : str
        Who tested.
    salinity, temperature_C : str
        As typed (practical salinity, °C); empty where not measured.
    source, note : str
        Free text.
    """

    time: dt.datetime
    water: str = "tank"
    lot: str = ""
    by: str = ""
    salinity: str = ""
    temperature_C: str = ""
    source: str = ""
    note: str = ""


def reading_rows(
    kit: Kit, sample: Sample, read: Sequence[tuple[TestResult, str]]
) -> tuple[Row, ...]:
    """Return the rows of ``readings.csv`` for one sitting: the same water, read once or more.

    The level stands as read, without the kit's correction, which the log applies. The uncertainty is
    written only where the kit's own repeatability is known: with the usual scatter of such kits the
    cell stays empty, so that the readings themselves may say how much they scatter.

    Parameters
    ----------
    kit : Kit
        The kit, with element and unit.
    sample : Sample
        Water, time and person.
    read : sequence of (TestResult, str)
        Each reading with its raw entry in words.

    Returns
    -------
    tuple of dict of str to str
        One row a reading, numbered under ``replicate`` where there are several.

    Raises
    ------
    InputError
        If nothing was read, or the time has no zone.

    Examples
    --------
    >>> kit = Kit("drops", "alkalinity", "drop count", "dKH", repeatability_from="typed")
    >>> when = dt.datetime(2026, 3, 1, 19, 5, tzinfo=dt.UTC)
    >>> row = reading_rows(kit, Sample(when, by="NJ"), [(TestResult(7.75, 0.2, "dKH"), "16 drops")])[0]
    >>> row["time"], row["value"], row["u"], row["replicate"]
    ('2026-03-01T19:05+00:00', '7.75', '0.2', '')
    """
    if not read:
        raise InputError("at least one reading", "none", "Type what the kit shows.", kit.name)
    if sample.time.tzinfo is None:
        raise InputError("a time with its zone", sample.time, "Use the tank's zone.", "time")
    several = len(read) > 1
    return tuple(
        _row(kit, sample, result, raw, str(number) if several else "")
        for number, (result, raw) in enumerate(read, start=1)
    )


def _row(kit: Kit, sample: Sample, result: TestResult, raw: str, replicate: str) -> Row:
    known = math.isfinite(result.u) and result.u > 0.0 and not kit.sd_is_default
    return {
        "time": sample.time.isoformat(timespec="minutes"),
        "water": sample.water,
        "element": kit.element,
        "value": level_cell(result.level, result.u),
        "unit": result.unit,
        "u": f"{result.u:.2g}" if known and result.limit != "between" else "",
        "limit": result.limit,
        "upper": level_cell(result.upper, result.u) if result.limit == "between" else "",
        "kit": kit.name,
        "lot": sample.lot,
        "raw": raw,
        "replicate": replicate,
        "salinity": sample.salinity,
        "temperature": sample.temperature_C,
        "by": sample.by,
        "source": sample.source,
        "note": sample.note,
    }


def level_cell(level: float, u: float) -> str:
    """Return a level as it is written into a cell: one digit further than its uncertainty is rounded.

    Parameters
    ----------
    level, u : float
        Level and standard uncertainty in one unit; u may be NaN.

    Returns
    -------
    str
        Plain decimal number; six significant digits where the uncertainty is not known.

    Examples
    --------
    >>> level_cell(7.8461538, 0.076), level_cell(418.27, 8.0), level_cell(0.02, float("nan"))
    ('7.846', '418.3', '0.02')
    """
    if not (math.isfinite(u) and u > 0.0):
        return f"{level:.6g}"
    text = f"{level:.{max(decimals_for(u) + 1, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
