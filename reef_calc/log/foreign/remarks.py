"""Rows without a number: a remark on a day is kept as an event, an empty one is said."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.mixed_tables import remarks_of, spoken_of
from reef_calc.log.foreign.outcome import Entry, Mark, Said
from reef_calc.messages import Message

_KEPT_OF = ("readings", "laboratory report")
# Of these every row counts without being an entry of its own.
_SUMMED = ("logger", "volumes")
_NOTHING = Said(
    "refused", "NOTHING_THERE", "Nothing in this row can be taken.",
    "If it holds a reading, say above what its column is.",
)  # fmt: skip


def rows_without_entries(
    kind: str, body: Body, entries: Sequence[Entry], marks: Sequence[Mark]
) -> Made:
    """Return what becomes of rows of which nothing was taken and nothing was said.

    Parameters
    ----------
    kind : str
        What the rows are.
    body : Body
        The rows.
    entries : sequence of Entry
        What is taken of them.
    marks : sequence of Mark
        What is said of them.

    Returns
    -------
    Made
        A remark with its date becomes an event of kind "other"; all else is refused by name.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (Column(0, "date", "date"), Column(1, "remark", "note")), (2,),
    ...     (CellTime("2026-02-01", date_only=True),), {}, {0: ("2026-02-01",), 1: ("new corals",)})
    >>> rows_without_entries("readings", body, [], []).entries[0].cells
    {'time': '2026-02-01', 'kind': 'other', 'note': 'new corals'}
    """
    if kind in _SUMMED:
        return Made()
    done = {entry.row for entry in entries}
    done |= {mark.row for mark in marks if mark.said.fate != "read"}
    events, refused = [], []
    for at, row in enumerate(body.rows):
        if row in done:
            continue
        remark = "; ".join(remarks_of(body, at))
        if remark and body.times[at].iso and kind in _KEPT_OF:
            cells = {"time": body.times[at].iso, "kind": "other", "note": remark}
            events.append(Entry(row, None, "events.csv", cells))
        else:
            refused.append(Mark(row, None, _NOTHING))
    notes: tuple[Message, ...] = ()
    if events:
        number = len(events)
        rows = "1 row holds" if number == 1 else f"{number} rows hold"
        first = events[0]
        notes = (
            Message(
                "REMARKS_KEPT",
                f"{rows} a remark and no number (first: row {first.row}, "
                f"“{first.cells['note'][:60]}”): kept in events.csv as “other”.",
            ),
        )
    return Made(tuple(events), tuple(refused), (*notes, *spoken_of(body, kind)))
