"""Readings of a foreign table that do not fit the others: flagged with what is likely, never changed."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.column_doubts import (
    said_of_copies,
    said_of_misplaced,
    said_of_worked_out,
)
from reef_calc.log.foreign.copied import copied_down, worked_out
from reef_calc.log.foreign.doubt_words import (
    said_of_column,
    said_of_reading,
    said_of_run,
    said_of_unit_change,
)
from reef_calc.log.foreign.exchanged import misplaced
from reef_calc.log.foreign.explained import WHOLE, explained, own_level, runs
from reef_calc.log.foreign.how_written import beside
from reef_calc.log.foreign.lone_readings import lone_readings, unit_changes
from reef_calc.log.foreign.outcome import Mark, Said
from reef_calc.log.foreign.surroundings import Series, Surroundings, surroundings

__all__ = ["Series", "doubts"]
# So many readings with one explanation are no slip of a day.
_RUN = 3
Found = dict[tuple[int, int], Said]


def doubts(
    series: Sequence[Series], aims: Mapping[str, tuple[float, float]] | None = None
) -> tuple[Mark, ...]:
    """Return what is doubtful in the readings of a table.

    Each reading is held against up to six readings around it that are where reef tanks usually are.
    One that is far from both is named where one slip of typing, another unit, another quantity or
    another column would bring it back. Nutrients and traces have no usual level: of them only a
    reading that stands alone between two that agree is named.

    Parameters
    ----------
    series : sequence of Series
        Readings by column, element, unit, kit and water.
    aims : mapping of str to (float, float), optional
        Lowest and highest aim of the tank by element (display unit).

    Returns
    -------
    tuple of Mark
        All with the fate "flagged", by row and column. Codes: ``SLIPPED_DIGITS``,
        ``EXCHANGED_DIGITS``, ``WRONG_QUANTITY``, ``UNIT_SWITCHED``, ``WHOLE_COLUMN``,
        ``EXCHANGED_COLUMNS``, ``SHIFTED_COLUMNS``, ``COPIED_DOWN``, ``WORKED_OUT``.

    Notes
    -----
    Standards and study waters are not judged: they may hold anything. A level that moves by itself,
    from reading to reading, is never named, however far it goes.

    Examples
    --------
    >>> import numpy as np
    >>> kh = Series(2, "KH", "alkalinity", "dKH", (2, 3, 4), np.array([0.0, 7, 14]),
    ...             np.array([8.4, 84, 8.2]), ("", "", ""))
    >>> mark = doubts([kh])[0]
    >>> mark.row, mark.said.code, mark.said.likely
    (3, 'SLIPPED_DIGITS', '8.4')
    """
    waters: dict[str, list[Series]] = defaultdict(list)
    for one in series:
        if one.element in ELEMENTS and one.water in ("tank", "new water") and len(one.rows):
            waters[one.water].append(one)
    marks: list[Mark] = []
    for group in waters.values():
        columns = [surroundings(one, aims) for one in group]
        found = _misplaced(columns)
        for i, seen in enumerate(columns):
            _of_column(i, seen, aims, found)
        _repeated(columns, found)
        for (i, index), said in found.items():
            marks.append(Mark(columns[i].series.rows[index], columns[i].series.column, said))
    return tuple(sorted(marks, key=lambda mark: (mark.row, mark.column)))


def _misplaced(columns: Sequence[Surroundings]) -> Found:
    return {(one.series, one.index): said_of_misplaced(columns, one) for one in misplaced(columns)}


def _of_column(
    i: int, seen: Surroundings, aims: Mapping[str, tuple[float, float]] | None, found: Found
) -> None:
    if seen.usual is None:
        words = beside(seen)
        for index, one in lone_readings(seen).items():
            found.setdefault((i, index), said_of_reading(seen, index, one, words))
        for index, quantity, factor in unit_changes(seen):
            found.setdefault((i, index), said_of_unit_change(seen, index, quantity, factor, words))
        return
    chosen = explained(seen)
    if own_level(seen, chosen):
        seen = surroundings(seen.series, aims, own=True)
        chosen = explained(seen)
    if not chosen:
        return
    words = beside(seen)
    alike = Counter((one.kind, one.words) for one in chosen.values())
    number = int(seen.usable.sum())
    for run in runs(seen, chosen):
        left = [index for index in run if (i, index) not in found]
        if not left:
            continue
        kind, quantity = chosen[left[0]].kind, chosen[left[0]].words
        same = alike[(kind, quantity)]
        whole = kind in ("quantity", "point") and same >= max(_RUN, WHOLE * number)
        many = kind == "quantity" and len(left) >= _RUN
        # Of a stretch the same is said of every equal number.
        said: dict[float, Said] = {}
        for index in left:
            value = float(seen.series.values[index])
            if not (whole or many):
                found[(i, index)] = said_of_reading(seen, index, chosen[index], words)
                continue
            if value not in said and whole:
                said[value] = said_of_column(seen, index, chosen[index], same, words)
            elif value not in said:
                said[value] = said_of_run(seen, index, chosen[index], left, words)
            found[(i, index)] = said[value]


def _repeated(columns: Sequence[Surroundings], found: Found) -> None:
    for i, seen in enumerate(columns):
        for index, length in copied_down(seen):
            found.setdefault((i, index), said_of_copies(seen, index, length))
    for i, j, factor in worked_out(columns):
        first = int(columns[j].usable.argmax())
        found.setdefault((j, first), said_of_worked_out(columns[i], columns[j], factor))
