"""Readings, doses, water changes and remarks that stand side by side in one table."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache

from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.heading_words import ROLE_WORDS
from reef_calc.log.foreign.headings import role_of_words
from reef_calc.log.foreign.outcome import Choice
from reef_calc.log.foreign.plain_words import plain
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.messages import Message

_TICKS = frozenset(
    ("x", "✓", "✔", "☑", "√", "✅", "yes", "y", "ja", "j", "oui", "si", "tak", "sim", "done", "ok")
)
_NO_TICKS = frozenset(
    ("-", "–", "—", "✗", "✘", "✕", "❌", "☐", "no", "n", "nein", "non", "nee", "nie")
)
# What a column beside readings may be instead of a level.
OTHER_KINDS = (
    Choice("amount", "A dose", "It is brought in when the rows are taken as additions."),
    Choice(
        "litres", "A water change", "It is brought in when the rows are taken as water changes."
    ),
)
_DOSED = frozenset(
    (
        "added", "dosed", "addition", "dosing", "zugabe", "zugegeben", "dosiert", "dosierung", "ajout",
        "ajoute", "anadido", "aggiunta", "aggiunto", "dosaggio", "toegevoegd", "dodano", "tillsatt",
    )
)  # fmt: skip
_VOLUME = re.compile(r"\s*\b[0-9]+ ?(?:l|lt|ltr|lit[a-z]*|gal[a-z]*|%)(?= |$)")
_AMOUNT = re.compile(r"[0-9]\s*(?:m[lL]\b|millilit|tropfen|drops?\b|gouttes|gotas|gocce)")
_LITRES = re.compile(r"[0-9]\s*(?:[lL](?:t|tr)?\b|lit|gal|%)")


def volume_heading(words: str) -> bool:
    """Return whether a heading holds a water change together with its volume.

    Parameters
    ----------
    words : str
        Plain words of the heading.

    Returns
    -------
    bool
        True where only words for a water change stand beside the volume.

    Examples
    --------
    >>> volume_heading("ww 40 l"), volume_heading("tank 40 l"), volume_heading("ww")
    (True, False, False)
    """
    rest, found = _VOLUME.subn("", words)
    return found == 1 and role_of_words(rest.strip()) == "litres"


def volume_in_words(words: str) -> str:
    """Return the volume that stands beside words for a water change.

    Parameters
    ----------
    words : str
        Plain words, as of ``volume_heading``.

    Returns
    -------
    str
        Such as “40 L”; empty where there is none.

    Examples
    --------
    >>> volume_in_words("ww 40 l"), volume_in_words("ww")
    ('40 L', '')
    """
    said = _VOLUME.search(words) if volume_heading(words) else None
    if not said:
        return ""
    text = said[0].strip()
    return text.replace("l", "L") if text[-1] == "l" else text


def is_tick(text: str) -> bool:
    """Return whether a cell says no more than that something was done.

    Parameters
    ----------
    text : str
        The cell.

    Returns
    -------
    bool
        True for a cross, a tick, or yes.

    Examples
    --------
    >>> is_tick(" X "), is_tick("nein"), is_tick("40")
    (True, False, False)
    """
    return text.strip().casefold() in _TICKS


def is_dosed(rest: str) -> bool:
    """Return whether words beside an element say that it was dosed.

    Parameters
    ----------
    rest : str
        Plain words of the heading without the element.

    Returns
    -------
    bool
        True for a dose, an addition.

    Examples
    --------
    >>> is_dosed("dose"), is_dosed("zugabe"), is_dosed("kit a")
    (True, True, False)
    """
    return any(word in _DOSED or role_of_words(word) == "amount" for word in rest.split())


def with_ticks_as_volumes(body: Body, column: Column, notes: list[Message]) -> Body:
    """Return a table whose ticks below a heading such as “WW 40 L” are that volume.

    Parameters
    ----------
    body : Body
        The rows.
    column : Column
        Column of the volumes.
    notes : list of Message
        Takes what was assumed.

    Returns
    -------
    Body
        As it was where the heading holds no volume, or no cell is a tick.

    Examples
    --------
    >>> column, notes = Column(1, "WW 40 L", "litres", key="WW 40 L"), []
    >>> body = Body("a.csv", (column,), (2, 3), (), {}, {1: ("x", "nein")})
    >>> with_ticks_as_volumes(body, column, notes).texts[1], notes[0].text
    (('40 L', ''), 'WW 40 L: 1 tick is taken as a water change of 40 L.')
    """
    volume = volume_in_words(plain(column.heading))
    texts = [text.strip() for text in body.texts[column.index]]
    ticks = sum(text.casefold() in _TICKS for text in texts)
    if not ticks or not volume:
        return body
    words = "1 tick is" if ticks == 1 else f"{ticks} ticks are each"
    text = f"{column.key}: {words} taken as a water change of {volume}."
    notes.append(Message("TICKS", text))
    taken = tuple(
        volume if one.casefold() in _TICKS else "" if one.casefold() in _NO_TICKS else one
        for one in texts
    )
    return replace(body, texts={**body.texts, column.index: taken})


def remarks_of(body: Body, at: int) -> list[str]:
    """Return the remarks of a row; below another heading than “note” they keep it.

    Parameters
    ----------
    body : Body
        The rows.
    at : int
        Position of the row, an index from 0.

    Returns
    -------
    list of str
        Without empty ones.

    Examples
    --------
    >>> columns = (Column(1, "Notes", "note"), Column(2, "Skimmer cleaned", "note"))
    >>> remarks_of(Body("a.csv", columns, (2,), (), {}, {1: ("new salt",), 2: ("x",)}), 0)
    ['new salt', 'Skimmer cleaned: x']
    """
    found = []
    for column in body.columns:
        if column.role == "note" and body.texts[column.index][at]:
            text = body.texts[column.index][at]
            found.append(text if _is_note(column.heading) else f"{column.heading}: {text}")
    return found


def spoken_of(body: Body, kind: str) -> tuple[Message, ...]:
    """Return what notes beside readings seem to say of water changes and doses.

    Parameters
    ----------
    body : Body
        The rows.
    kind : str
        What the rows are.

    Returns
    -------
    tuple of Message
        Codes ``NOTE_OF_CHANGE`` and ``NOTE_OF_DOSE``: a note counts as neither.

    Examples
    --------
    >>> column = Column(1, "Notes", "note", key="Notes")
    >>> spoken_of(Body("a.csv", (column,), (2,), (), {}, {1: ("WC 40 L",)}), "readings")[0].text[:56]
    'Notes: row 2 seems to speak of a water change (“WC 40 L”'
    """
    if kind != "readings":
        return ()
    found = []
    for column in body.having("note"):
        texts = body.texts[column.index]
        changes = _rows(body, texts, [text for text in set(texts) if _is_change(text)])
        doses = _rows(body, texts, [t for t in set(texts) if t and _AMOUNT.search(t)])
        for code, rows, what, table in (
            ("NOTE_OF_CHANGE", changes, "water change", "water_changes.csv"),
            ("NOTE_OF_DOSE", doses, "dose", "additions.csv"),
        ):
            if rows:
                first = texts[body.rows.index(rows[0])][:60]
                speaks, stays = ("seems", "It stays a note and is") if len(rows) == 1 else (
                    "seem", "They stay notes and are")  # fmt: skip
                found.append(
                    Message(
                        code,
                        f"{column.key}: {rows_in_words(rows)} {speaks} to speak of a {what} "
                        f"(“{first}”). {stays} not counted; write it into {table}.",
                    )
                )
    return tuple(found)


def _rows(body: Body, texts: Sequence[str], wanted: Iterable[str]) -> list[int]:
    held = set(wanted)
    return [row for row, text in zip(body.rows, texts, strict=True) if text in held]


def _is_change(text: str) -> bool:
    return bool(_LITRES.search(text)) and bool(_change_words().search(text))


@cache
def _change_words() -> re.Pattern[str]:
    """Words for a water change as whole words; one pattern, as notes may be many."""
    words = [word for word in ROLE_WORDS["litres"].split(",") if not word.startswith("lit")]
    phrases = (r"[\W_]+".join(map(re.escape, word.split())) for word in words if word != "changed")
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(phrases)})(?![^\W_])", re.IGNORECASE)


@cache
def _is_note(heading: str) -> bool:
    return not heading or role_of_words(plain(heading)) == "note"
