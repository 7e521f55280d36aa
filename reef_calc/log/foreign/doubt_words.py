"""Sentences about doubtful readings: what stands there, what would fit, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.log.foreign.explained import Explained
from reef_calc.log.foreign.how_written import SeenBeside, given, plain
from reef_calc.log.foreign.outcome import Said
from reef_calc.log.foreign.surroundings import Surroundings
from reef_calc.log.foreign.usual_levels import is_gravity

_LOOK = "Nothing was changed. Look at the original; correct the cell if it is a slip."
_CODES = {
    "point": "SLIPPED_DIGITS",
    "twice": "SLIPPED_DIGITS",
    "exchanged": "EXCHANGED_DIGITS",
    "quantity": "WRONG_QUANTITY",
}
_HOW = {
    "point": "a slipped point, or a zero too few or too many",
    "twice": "a digit typed twice",
    "exchanged": "two digits exchanged",
}


def said_of_reading(seen: Surroundings, index: int, one: Explained, words: SeenBeside) -> Said:
    """Return what is said of one reading.

    Parameters
    ----------
    seen : Surroundings
        The column.
    index : int
        Index of the reading.
    one : Explained
        How it may have come about.
    words : SeenBeside
        How numbers of the column are written.

    Returns
    -------
    Said
        Flagged.

    Examples
    --------
    >>> from reef_calc.log.foreign.how_written import beside
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> seen = surroundings(Series(1, "Ca", "calcium", "mg/L", (2, 3), np.arange(2.0),
    ...                            np.array([470.0, 740]), ("", "")))
    >>> said_of_reading(seen, 1, Explained("exchanged", "", 470.0), beside(seen)).reason
    '740 mg/L does not fit: readings around it are near 470 mg/L. Perhaps 470 mg/L: two digits exchanged.'
    """
    typed, likely = given(seen, index), _likely(one, words)
    fit = f"{typed}{words.unit} does not fit: {_expected(seen, index, words)}."
    if one.kind == "quantity":
        looks = f"{typed} looks like {one.words}: that would be {likely}{words.unit}."
        reason = f"{looks} {one.other}".strip()
        if not np.isnan(seen.around[index]):
            around = _expected(seen, index, words)
            reason = f"{reason} {around[0].upper()}{around[1:]}."
        return Said("flagged", _CODES[one.kind], reason, _LOOK, likely=likely)
    reason = f"{fit} Perhaps {likely}{words.unit}: {_HOW[one.kind]}."
    return Said("flagged", _CODES[one.kind], reason, _LOOK, likely=likely)


def said_of_run(
    seen: Surroundings, index: int, one: Explained, run: Sequence[int], words: SeenBeside
) -> Said:
    """Return what is said of a reading in a stretch that is written in another unit.

    Parameters
    ----------
    seen : Surroundings
        The column.
    index : int
        Index of the reading.
    one : Explained
        How it may have come about.
    run : sequence of int
        Indexes of the stretch, in order of time.
    words : SeenBeside
        How numbers of the column are written.

    Returns
    -------
    Said
        Flagged; names the first row of the stretch and its factor.

    Examples
    --------
    >>> from reef_calc.log.foreign.how_written import beside
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> seen = surroundings(Series(1, "KH", "alkalinity", "dKH", (2, 3, 4, 5), np.arange(4.0),
    ...                            np.array([8.1, 2.9, 2.8, 2.9]), ("",) * 4))
    >>> said = said_of_run(seen, 1, Explained("quantity", "meq/L", 8.13), [1, 2, 3], beside(seen))
    >>> said.reason
    'From row 3 on, 3 numbers look like meq/L: 2.9 would be 8.1 dKH, 2.8 times as much.'
    """
    rows = seen.series.rows
    ends = f"to row {rows[run[-1]]}" if seen.usable[run[-1] + 1 :].any() else "on"
    likely = _likely(one, words)
    times = "" if is_gravity(seen.unit) or seen.series.element in ("salinity", "temperature") else (
        f", {one.level / float(seen.series.values[index]):.3g} times as much"
    )  # fmt: skip
    reason = (
        f"From row {rows[run[0]]} {ends}, {len(run)} numbers look like {one.words}: "
        f"{given(seen, index)} would be {likely}{words.unit}{times}."
    )
    repair = (
        "Nothing was changed. If the unit was changed there, correct these cells, or bring them in "
        "as a file of their own."
    )
    return Said("flagged", "UNIT_SWITCHED", reason, repair, likely=likely)


def said_of_column(
    seen: Surroundings, index: int, one: Explained, number: int, words: SeenBeside
) -> Said:
    """Return what is said of a reading in a column that is nearly all of another unit.

    Parameters
    ----------
    seen : Surroundings
        The column.
    index : int
        Index of the reading.
    one : Explained
        How it may have come about.
    number : int
        Number of such readings.
    words : SeenBeside
        How numbers of the column are written.

    Returns
    -------
    Said
        Flagged.

    Examples
    --------
    >>> from reef_calc.log.foreign.how_written import beside
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> seen = surroundings(Series(1, "KH", "alkalinity", "dKH", (2, 3, 4), np.arange(3.0),
    ...                            np.array([145.0, 144, 146]), ("",) * 3))
    >>> one = Explained("quantity", "mg/L as CaCO3", 8.124)
    >>> said_of_column(seen, 0, one, 3, beside(seen)).reason
    'Nearly all of this column (3 numbers) looks like mg/L as CaCO3: 145 would be 8.12 dKH.'
    """
    likely, typed = _likely(one, words), given(seen, index)
    if one.kind == "quantity":
        looks = f"looks like {one.words}: {typed} would be {likely}{words.unit}."
        repair = "Nothing was changed. If the whole column is so, choose that unit for the column."
    else:
        looks = f"has its point elsewhere: {typed} would be {likely}{words.unit}."
        repair = (
            "Nothing was changed. Look at the original; correct the column and bring it in again."
        )
    reason = f"Nearly all of this column ({number} numbers) {looks}"
    return Said("flagged", "WHOLE_COLUMN", reason, repair, likely=likely)


def said_of_unit_change(
    seen: Surroundings, index: int, quantity: str, factor: float, words: SeenBeside
) -> Said:
    """Return what is said of the first reading after a change by the factor of two units.

    Parameters
    ----------
    seen : Surroundings
        The column.
    index : int
        Index of the reading.
    quantity : str
        Which numbers may be what, a sentence.
    factor : float
        Ratio to the readings before.
    words : SeenBeside
        How numbers of the column are written.

    Returns
    -------
    Said
        Flagged, without a likely value: a real change is possible too.

    Examples
    --------
    >>> from reef_calc.log.foreign.how_written import beside
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> seen = surroundings(Series(1, "NO3", "nitrate", "mg/L", (2, 3), np.arange(2.0),
    ...                            np.array([10.0, 2.3]), ("", "")))
    >>> said_of_unit_change(seen, 1, "These may be …", 0.226, beside(seen)).reason
    'From row 3 on the numbers are about 4.42 times lower, and stay so. These may be …'
    """
    times, way = (factor, "higher") if factor > 1 else (1 / factor, "lower")
    reason = (
        f"From row {seen.series.rows[index]} on the numbers are about {times:.3g} times {way}, and "
        f"stay so. {quantity}"
    )
    repair = (
        "Nothing was changed. If the unit changed, bring the two parts in as files of their own."
    )
    return Said("flagged", "UNIT_SWITCHED", reason, repair)


def _likely(one: Explained, words: SeenBeside) -> str:
    if one.kind != "quantity":
        return plain(one.level)
    return _written(one.level, words.decimals)


def _written(level: float, decimals: int) -> str:
    if decimals < 0:
        return f"{level:.3g}" if abs(level) < 1000 else f"{level:.0f}"
    return f"{level:.{decimals}f}"


def _expected(seen: Surroundings, index: int, words: SeenBeside) -> str:
    around = seen.around[index]
    if np.isnan(around):
        usual = seen.usual
        if usual is None:
            return "no tank holds that"
        return f"tanks usually hold {usual.low:.3g} to {usual.high:.4g}{words.unit}"
    level = float(np.exp(around))
    level = 1 + level / 1000 if is_gravity(seen.unit) else level
    return f"readings around it are near {_written(level, words.decimals)}{words.unit}"
