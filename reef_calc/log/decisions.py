"""What the keeper decided about findings, kept as rows of ``events.csv``."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

import pandas as pd

from reef_calc.chem.elements import element as find_element
from reef_calc.errors import InputError
from reef_calc.log.entry import append_rows
from reef_calc.log.tank import Tank

DECISIONS = ("accepted", "rejected", "explained")
_KINDS = {"finding accepted": "accepted", "finding rejected": "rejected"}
_SAME_READING = dt.timedelta(minutes=2)
_DAY = dt.timedelta(days=1)
_DATE = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_SPAN = re.compile(f"(rate change|level step) ({_DATE}) to ({_DATE})")
_READING = re.compile(f"(gross error) ({_DATE}T[0-9]{{2}}:[0-9]{{2}}Z)")


@dataclass(frozen=True)
class Decision:
    """What the keeper said of one finding.

    Attributes
    ----------
    key : str
        Name of the finding when it was decided.
    decision : {"accepted", "rejected", "explained"}
        Explained: accepted, with a note.
    note : str
        The keeper's words.
    time : pandas.Timestamp
        When it was decided (UTC).
    """

    key: str
    decision: str
    note: str
    time: pd.Timestamp


def decide_finding(
    tank: Tank, finding_key: str, element: str, decision: str, note: str = ""
) -> None:
    """Append the decision on a finding to ``events.csv``; open the tank again to see it.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    finding_key : str
        Name of the finding, such as ``rate change 2026-08-17 to 2026-08-21``.
    element : str
        Element that it was found for.
    decision : {"accepted", "rejected", "explained"}
        It is so; it is not so; it is so, and the note says why.
    note : str, optional
        The keeper's words.

    Raises
    ------
    InputError
        If the name, the element or the decision is none, an explanation has no note, or the folder
        cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from pathlib import Path
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> key = "gross error 2026-04-15T11:57Z"
    >>> decide_finding(open_tank(place), key, "alkalinity", "rejected", "read twice")
    >>> decisions_for(open_tank(place), "alkalinity")[key].decision
    'rejected'
    """
    where = "decide_finding"
    if decision not in DECISIONS:
        raise InputError("one of " + ", ".join(DECISIONS), decision, "Choose one.", where)
    note = " ".join(note.split())
    if decision == "explained" and not note:
        raise InputError("a note that explains it", note, "Write what happened.", where)
    if _parsed(finding_key) is None:
        raise InputError(
            "the name of a finding",
            finding_key,
            "Copy it, such as “gross error 2026-04-15T11:57Z”.",
            where,
        )
    row = {
        "time": dt.datetime.now(tank.zone).isoformat(timespec="milliseconds"),
        "kind": "finding rejected" if decision == "rejected" else "finding accepted",
        "element": find_element(element).name,
        "refers_to": finding_key,
        "note": note,
    }
    append_rows(tank.folder, "events.csv", [row])


def decisions_for(tank: Tank, element: str) -> dict[str, Decision]:
    """Return the decisions that hold for one element's findings, the newest first.

    A decision replaces every earlier one whose key it matches. Rows without an element, or with a
    name of no finding, are left to ``idle_decisions``.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.

    Returns
    -------
    dict of str to Decision
        By the key under which it was decided.

    Raises
    ------
    InputError
        If there is no such element.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> decisions_for(example_tank(), "alkalinity")
    {}
    """
    name = find_element(element).name
    return {one.key: one for of, one in _held(tank) if of == name and _parsed(one.key) is not None}


def idle_decisions(tank: Tank, found: dict[str, tuple[str, ...]]) -> list[tuple[str, Decision]]:
    """Return the decisions that hold and bear on no finding at hand, the newest first.

    A reading that the keeper agreed is a slip is left out of the fit, so that nothing is found there
    any more; the decision can still be changed.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    found : dict of str to tuple of str
        Keys of the findings at hand, by element.

    Returns
    -------
    list of (str, Decision)
        Element (empty where the row names none) and decision.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> idle_decisions(example_tank(), {})
    []
    """
    return [
        (element, one)
        for element, one in _held(tank)
        if not any(matches(one.key, key) for key in found.get(element, ()))
    ]


def matches(key_a: str, key_b: str) -> bool:
    """Return whether two keys name the same finding, seen with more or fewer readings.

    They do if the kind is the same and the spans of days overlap by more than an end they share; for
    a single reading, if the times are less than two minutes apart.

    Parameters
    ----------
    key_a, key_b : str
        Names such as ``gross error 2026-04-15T11:57Z`` or ``rate change 2026-08-17 to 2026-08-21``.

    Returns
    -------
    bool
        A text that names no finding matches only itself.

    Examples
    --------
    >>> matches("rate change 2026-08-17 to 2026-08-21", "rate change 2026-08-19 to 2026-08-25")
    True
    >>> matches("rate change 2026-08-17 to 2026-08-21", "rate change 2026-08-21 to 2026-08-25")
    False
    >>> matches("rate change 2026-08-17 to 2026-08-21", "level step 2026-08-17 to 2026-08-21")
    False
    """
    if key_a == key_b:
        return True
    a, b = _parsed(key_a), _parsed(key_b)
    if a is None or b is None or a[0] != b[0]:
        return False
    if a[2] is None or b[2] is None:
        return a[2] is b[2] and abs(a[1] - b[1]) < _SAME_READING
    return a[1] < b[2] and b[1] < a[2]


def _parsed(key: str) -> tuple[str, dt.datetime, dt.datetime | None] | None:
    """Kind, start and stop of a key, or nothing; a span within one day counts as that day."""
    found = _SPAN.fullmatch(key) or _READING.fullmatch(key)
    if found is None:
        return None
    kind, *texts = found.groups()
    try:
        moments = [dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC) for text in texts]
    except ValueError:
        return None
    if len(moments) == 1:
        return kind, moments[0], None
    start, stop = moments
    return (kind, start, max(stop, start + _DAY)) if stop >= start else None


def _held(tank: Tank) -> list[tuple[str, Decision]]:
    """Every decision with its element, the newest first, without those that a later one replaces."""
    held: list[tuple[str, Decision]] = []
    events = tank.events[tank.events["kind"].isin(list(_KINDS))].iloc[::-1]
    for event in events.itertuples(index=False):
        element, key, note = str(event.element), str(event.refers_to), str(event.note)
        if any(of == element and matches(one.key, key) for of, one in held):
            continue
        decision = _KINDS[str(event.kind)]
        if decision == "accepted" and note:
            decision = "explained"
        held.append((element, Decision(key, decision, note, event.time)))
    return held
