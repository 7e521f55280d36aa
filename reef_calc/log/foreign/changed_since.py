"""Which entries were brought in before, and changed or deleted in the tank since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.same_rows import already_there, held_already, rows_as_cells
from reef_calc.log.foreign.undo_list import imports_before, rows_written
from reef_calc.log.tank import Tank


def changed_since(tank: Tank, entries: Sequence[Entry]) -> tuple[bool, ...]:
    """Return for each entry whether it was brought in before and does not stand in the tank any more.

    Parameters
    ----------
    tank : Tank
        The tank.
    entries : sequence of Entry
        What would be added.

    Returns
    -------
    tuple of bool
        One for each entry. What was taken back may be added anew and is not among them; rows that
        were edited or deleted before that are.

    Raises
    ------
    InputError
        If the rows of an import are gone.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> entry = Entry(2, None, "water_changes.csv", {"time": "2026-01-04 10:00", "litres": "30.0"})
    >>> changed_since(example_tank(), [entry])
    (False,)
    """
    changed = [False] * len(entries)
    written: dict[str, list[dict[str, str]]] = defaultdict(list)
    for one in imports_before(tank.folder)[0]:
        for added in one.added:
            if one.undone and not added.left:
                continue
            brought_in = rows_written(tank.folder, one.name, added)
            if one.undone:
                # Edited or deleted when the others were taken back: of an edited one the new content
                # still stands, and the old one must not come beside it without a word.
                brought_in = (brought_in[0], *(brought_in[number] for number in added.left))
            written[added.table] += rows_as_cells(brought_in)
    if not written:
        return tuple(changed)
    there = already_there(tank, entries)
    for table, rows in written.items():
        places = [i for i, entry in enumerate(entries) if entry.table == table]
        # Also those that are there: of two equal entries one may be new.
        before = held_already(table, rows, [entries[i].cells for i in places], tank.zone)
        for place, brought in zip(places, before, strict=True):
            changed[place] = brought and not there[place]
    return tuple(changed)
