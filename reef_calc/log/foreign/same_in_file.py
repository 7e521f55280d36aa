"""Rows that stand in a file twice, and replicates of one water."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
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
    entries: Sequence[Entry], texts: dict[int, tuple[str, ...]], answers: Answers
) -> OnceOnly:
    """Return the entries without the copies of rows that are the same in every cell.

    Parameters
    ----------
    entries : sequence of Entry
        What would be added.
    texts : dict of int to tuple of str
        All cells of each row of the file, by row counted from 1.
    answers : dict of str to str
        Answers so far: a keeper may say that equal rows are tests of their own.

    Returns
    -------
    OnceOnly
        Different values of one element, water, kit and time are replicates and numbered.

    Examples
    --------
    >>> cells = {"time": "2026-02-01", "water": "tank", "element": "alkalinity", "value": "8.3"}
    >>> two = [Entry(row, 1, "readings.csv", dict(cells)) for row in (2, 3)]
    >>> found = once_only(two, {2: ("1 Feb", "8.3"), 3: ("1 Feb", "8.3")}, {})
    >>> len(found.entries), found.marks[0].row
    (1, 3)
    """
    first: dict[tuple[str, ...], int] = {}
    copies: dict[int, int] = {}
    for row in dict.fromkeys(entry.row for entry in entries):
        same = first.setdefault(texts.get(row, (str(row),)), row)
        if same != row:
            copies[row] = same
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
    kept = [entry for entry in entries if each or entry.row not in copies]
    return _numbered(kept, tuple(marks), questions)


def _numbered(
    entries: list[Entry], marks: tuple[Mark, ...], questions: tuple[Question, ...]
) -> OnceOnly:
    groups: dict[tuple[str | None, ...], list[int]] = defaultdict(list)
    for position, entry in enumerate(entries):
        cells = entry.cells
        if entry.table != "readings.csv" or cells.get("replicate"):
            continue
        groups[tuple(map(cells.get, _OF_ONE))].append(position)
    several = [positions for positions in groups.values() if len(positions) > 1]
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
