"""Rows that stand in a file twice, and replicates of one water."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from reef_calc.log.foreign.outcome import Answers, Choice, Entry, Mark, Question, Said
from reef_calc.messages import Message

KEY = "same row twice/file"
_OF_ONE = ("time", "water", "element", "kit", "lot")
ONCE, EACH = "count once", "count each"


@dataclass(frozen=True)
class OnceOnly:
    """The entries of a file, each counted as often as it was tested.

    Attributes
    ----------
    entries : tuple of Entry
        Without copies; replicates numbered.
    marks, notes, questions : tuple
        What is said, was done, and may be answered otherwise.
    """

    entries: tuple[Entry, ...]
    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


def once_only(
    entries: Sequence[Entry], texts: Callable[[int], tuple[str, ...]], answers: Answers
) -> OnceOnly:
    """Return the entries without the copies of rows that are the same in every cell.

    Parameters
    ----------
    entries : sequence of Entry
        What would be added.
    texts : callable
        Returns all cells of a row of the file, counted from 1.
    answers : dict of str to str
        Answers so far: a keeper may say that equal rows are tests of their own.

    Returns
    -------
    OnceOnly
        Different values of one element, water, kit and time are replicates and numbered.

    Notes
    -----
    Rows below one another whose date is that of a row above may look the same and are of other days:
    only rows of one time are compared.

    Examples
    --------
    >>> cells = {"time": "2026-02-01", "water": "tank", "element": "alkalinity", "value": "8.3"}
    >>> two = [Entry(row, 1, "readings.csv", dict(cells)) for row in (2, 3)]
    >>> found = once_only(two, {2: ("1 Feb", "8.3"), 3: ("1 Feb", "8.3")}.__getitem__, {})
    >>> len(found.entries), found.marks[0].row
    (1, 3)
    """
    groups = _of_one_test(entries)
    copies = _copies(entries, groups, texts)
    marks: list[Mark] = []
    questions: tuple[Question, ...] = ()
    each = answers.get(KEY) == EACH
    if copies:
        number = len(copies)
        questions = (
            Question(
                KEY,
                f"{number} {'row is a copy' if number == 1 else 'rows are copies'} of another row in "
                "every cell. Are they the same test?",
                (
                    Choice(ONCE, "The same test, written twice", "Each is counted once."),
                    Choice(EACH, "Tests of their own", "Each is counted, as a replicate."),
                ),
                tuple(sorted(copies)),
                assumed=ONCE,
                answered=answers.get(KEY, "") if answers.get(KEY) in (ONCE, EACH) else "",
            ),
        )
        if not each:
            marks = [
                Mark(row, None, Said("flagged", "SAME_ROW", f"The same as row {same} in every cell: "
                     "counted once.", "If both were tested, say so above.", KEY))
                for row, same in copies.items()
            ]  # fmt: skip
    kept = list(entries)
    if copies and not each:
        kept = [entry for entry in entries if entry.row not in copies]
        groups = _of_one_test(kept)
    return _numbered(kept, groups, tuple(marks), questions)


def _of_one_test(entries: Sequence[Entry]) -> list[list[int]]:
    """Return the positions of entries of one time, water, element, kit and lot, where several are."""
    first: dict[tuple[str | None, ...], int] = {}
    groups: dict[int, list[int]] = {}
    for position, entry in enumerate(entries):
        cells = entry.cells
        if entry.table == "readings.csv":
            key = tuple(map(cells.get, _OF_ONE))
        else:
            key = (entry.table, *cells.values())
        before = first.setdefault(key, position)
        if before != position:
            groups.setdefault(before, [before]).append(position)
    return [groups[position] for position in sorted(groups)]


def _copies(
    entries: Sequence[Entry],
    groups: Sequence[Sequence[int]],
    texts: Callable[[int], tuple[str, ...]],
) -> dict[int, int]:
    """Return the row that each copy repeats in every cell; only rows of one test can be copies."""
    first: dict[tuple[str, ...], int] = {}
    copies: dict[int, int] = {}
    rows = {
        (entries[position].row, entries[position].cells.get("time", ""))
        for positions in groups for position in positions
    }  # fmt: skip
    for row, time in sorted(rows):
        same = first.setdefault((time, *texts(row)), row)
        if same != row:
            copies[row] = same
    return copies


def _numbered(
    entries: list[Entry],
    groups: Sequence[Sequence[int]],
    marks: tuple[Mark, ...],
    questions: tuple[Question, ...],
) -> OnceOnly:
    several = []
    for positions in groups:
        unsaid = [
            position
            for position in positions
            if entries[position].table == "readings.csv"
            and not entries[position].cells.get("replicate")
        ]
        if len(unsaid) > 1:
            several.append(unsaid)
    if not several:
        return OnceOnly(tuple(entries), marks, (), questions)
    for positions in several:
        for number, position in enumerate(positions, start=1):
            entry = entries[position]
            entries[position] = replace(entry, cells=entry.cells | {"replicate": str(number)})
    example = entries[several[0][0]].cells
    words = "One time has" if len(several) == 1 else f"{len(several)} times have"
    note = Message(
        "REPLICATES",
        f"{words} several readings of one element and kit (first: {example['element']}, "
        f"{example['time']}, {len(several[0])} readings). They are kept as replicates: one point, not "
        f"{len(several[0])}.",
    )
    return OnceOnly(tuple(entries), marks, (note,), questions)
