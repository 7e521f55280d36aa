"""Rows of a long table that are no levels: water changes and doses among the readings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.dose_units import unit_in_words
from reef_calc.log.foreign.headings import role_of_words
from reef_calc.log.foreign.mixed_tables import (
    is_dosed,
    is_tick,
    volume_heading,
    volume_in_words,
)
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Mark, Said
from reef_calc.log.foreign.plain_words import plain
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.messages import Message

READINGS, CHANGES, ADDITIONS = "readings", "water changes", "additions"
_ONE = {READINGS: "a level", CHANGES: "a water change", ADDITIONS: "a dose"}
_NO = {READINGS: "no level", CHANGES: "no water change", ADDITIONS: "no dose"}


def kind_of_name(text: str, unit: str, tank: Description) -> str:
    """Return what a row of a long table is, by what it names.

    Parameters
    ----------
    text : str
        Cell of the column of elements.
    unit : str
        Unit of the row; empty where none is written.
    tank : Description
        The tank: names of its supplements.

    Returns
    -------
    str
        readings, water changes or additions; empty where the name says none of them.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> [kind_of_name(text, "", example_tank()) for text in ("KH", "Wasserwechsel", "dose KH", "?")]
    ['readings', 'water changes', 'additions', '']
    """
    if element_named(text):
        return READINGS
    words = plain(text)
    if role_of_words(words) == "litres" or volume_heading(words):
        return CHANGES
    supplements = {name.casefold() for name in tank.supplements}
    if not (is_dosed(words) or text.strip().casefold() in supplements):
        return ""
    return ADDITIONS if not unit.strip() or unit_in_words(unit) else ""


def rows_of_pass(body: Body, kind: str, tank: Description) -> tuple[Body, Made]:
    """Return the rows of a long table that are of one kind, and what is said of the others.

    Parameters
    ----------
    body : Body
        The rows.
    kind : str
        What the rows are brought in as.
    tank : Description
        The tank: names of its supplements.

    Returns
    -------
    Body
        As it was where all its rows are of the kind, or it is no long table.
    Made
        A refusal for each row that another pass takes, and a note for each such pass.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> columns = (Column(0, "test", "element"), Column(1, "value", "value"))
    >>> body = Body("a.csv", columns, (2, 3), (CellTime(), CellTime()), {},
    ...     {0: ("KH", "WW"), 1: ("8.3", "40")})
    >>> only, said = rows_of_pass(body, "readings", example_tank())
    >>> only.rows, said.notes[0].text
    ((2,), 'Row 3 is a water change: bring the file in once more as water changes.')
    """
    named, values = body.having("element")[:1], body.having("value")
    if not named or kind not in _ONE or len(values) != 1 or values[0].element:
        return body, Made()
    names, value = body.texts[named[0].index], values[0].index
    units = body.having("unit")[:1]
    written = body.texts[units[0].index] if units else ("",) * len(body.rows)
    known: dict[tuple[str, str], str] = {}
    for pair in set(zip(names, written, strict=True)):
        known[pair] = kind_of_name(*pair, tank)
    kinds = [known[pair] for pair in zip(names, written, strict=True)]
    if not {CHANGES, ADDITIONS} & set(kinds):
        return body, Made()
    # A name that nobody knows is asked among the readings, and is nothing in the other passes.
    here = [one == kind or (one == "" and kind == READINGS) for one in kinds]
    marks: list[Mark] = []
    rows_of: dict[str, list[int]] = defaultdict(list)
    for row, name, one, taken in zip(body.rows, names, kinds, here, strict=True):
        if taken:
            continue
        if one:
            reason = f"“{name[:60]}” is {_ONE[one]}, {_NO[kind]}."
            repair = f"It is taken when the rows are {one}."
            rows_of[one].append(row)
        else:
            reason = f"“{name[:60]}” says nothing of {_ONE[kind]}."
            repair = "It is asked what it is when the rows are readings."
        marks.append(Mark(row, named[0].index, Said("refused", "OTHER_PASS", reason, repair)))
    notes = [
        Message("OTHER_KIND", f"{_are(rows, one)}: bring the file in once more as {one}.")
        for one, rows in rows_of.items()
    ]
    only = body.only(tuple(here))
    if kind == CHANGES:
        only, told = _with_volumes(only, named[0].index, value)
        notes += told
        only = _with_roles(only, {value: "litres", named[0].index: "not used"})
    elif kind == ADDITIONS:
        only = _with_roles(only, {value: "amount", named[0].index: "supplement"})
        only = _renamed(only, named[0].index, _without_dose)
    return only, Made((), tuple(marks), tuple(notes))


def _are(rows: list[int], kind: str) -> str:
    what = f"is {_ONE[kind]}" if len(rows) == 1 else f"are {_ONE[kind].split(' ', 1)[1]}s"
    return f"{_rows(rows)} {what}"


def _rows(rows: list[int]) -> str:
    words = rows_in_words(rows)
    return words[0].upper() + words[1:]


def _with_roles(body: Body, roles: dict[int, str]) -> Body:
    return replace(
        body,
        columns=tuple(
            replace(column, role=roles.get(column.index, column.role)) for column in body.columns
        ),
    )


def _with_volumes(body: Body, named: int, value: int) -> tuple[Body, list[Message]]:
    """Take the volume out of a name such as “WW 40 L” where the value is a tick or empty."""
    texts = list(body.texts[value])
    taken = []
    for at, name in enumerate(body.texts[named]):
        volume = volume_in_words(plain(name))
        if volume and (not texts[at].strip() or is_tick(texts[at])):
            texts[at] = volume
            taken.append(body.rows[at])
    if not taken:
        return body, []
    first = body.texts[named][body.rows.index(taken[0])]
    note = Message("TICKS", f"{_rows(taken)}: the volume is taken from the name, “{first[:60]}”.")
    return replace(body, texts=body.texts | {value: tuple(texts)}), [note]


def _renamed(body: Body, index: int, change: Callable[[str], str]) -> Body:
    return replace(body, texts=body.texts | {index: tuple(map(change, body.texts[index]))})


def _without_dose(text: str) -> str:
    """Return the name of what was dosed: “dose KH” is KH."""
    rest = " ".join(word for word in text.split() if not is_dosed(plain(word)))
    return rest.strip(" :-–") or text
