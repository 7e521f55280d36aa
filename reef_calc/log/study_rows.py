"""The readings of a study as rows of the log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from reef_calc.errors import InputError
from reef_calc.log.studies import StoredStudy, Test

# A water as the tank gives it has no level that is known beforehand.
AS_IT_IS = "as-it-is"
# Between a kit and its lot, where lots are compared.
LOT_MARK = " / lot "


def water_name(study: str, level: float | None) -> str:
    """Return what the water of a cup is called in the log.

    Parameters
    ----------
    study : str
        Name of the study.
    level : float or None
        Level it was made to (unit of the study).

    Returns
    -------
    str
        ``study NAME LEVEL``.

    Examples
    --------
    >>> water_name("spring", 8.2), water_name("spring", None)
    ('study spring 8.2', 'study spring as-it-is')
    """
    return f"study {study} {AS_IT_IS if level is None else f'{level:.6g}'}"


def reading_row(
    study: StoredStudy,
    test: Test,
    value: float,
    time: dt.datetime,
    *,
    unit: str | None = None,
    lot: str = "",
    by: str = "",
    note: str = "",
) -> Mapping[str, str]:
    """Return the row of ``readings.csv`` for one test of a study.

    Parameters
    ----------
    study : StoredStudy
        The study.
    test : Test
        The test.
    value : float
        What the kit read (unit).
    time : datetime.datetime
        When, with a zone.
    unit : str, optional
        Unit of the value; the study's when not given.
    lot, by, note : str, optional
        Lot of the reagents, where the study names none; who read it; free text.

    Returns
    -------
    mapping of str to str
        Cells by column; ``replicate`` holds the code of the cup and the number of the reading.

    Raises
    ------
    InputError
        If the time has no zone, or the study has no such cup.

    Examples
    --------
    >>> from reef_calc.log.studies import Cup
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1, "each pair", None,
    ...     (Test("K7", "A", 1),), (Cup("K7", 8.2, 1, 1),))
    >>> row = reading_row(study, study.tests[0], 8.3, made)
    >>> row["water"], row["value"], row["kit"], row["replicate"]
    ('study spring 8.2', '8.3', 'A', 'K7/1')
    """
    if time.tzinfo is None:
        raise InputError("a time with its zone", time, "Use the tank's zone.", "time")
    cup = study.cup(test.code)
    kit, _, own_lot = test.kit.partition(LOT_MARK)
    return {
        "time": time.isoformat(timespec="minutes"),
        "water": water_name(study.name, cup.level),
        "element": study.element,
        "value": f"{value:.10g}",
        "unit": study.unit if unit is None else unit,
        "kit": kit,
        "lot": own_lot or lot,
        "replicate": f"{cup.code}/{test.replicate}",
        "by": by,
        "note": note,
    }
