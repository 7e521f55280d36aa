"""Reading the plans of a tank folder; a broken file becomes words and stands in nobody's way."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from reef_calc.errors import InputError
from reef_calc.log.plans import FOLDER, FORMAT, ContainerPhase, PlannedLevels, StoredPlan
from reef_calc.log.problems import Problem
from reef_calc.log.toml_files import read_each, table_of


def stored_plans(folder: str | Path) -> tuple[tuple[StoredPlan, ...], tuple[Problem, ...]]:
    """Return the plans kept in a tank folder, the oldest first, and what could not be read.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.

    Returns
    -------
    tuple of StoredPlan
        In order of start, then of making.
    tuple of Problem
        One for each file that cannot be used.

    Examples
    --------
    >>> import tempfile
    >>> stored_plans(tempfile.mkdtemp())
    ((), ())
    """
    found, problems = read_each(Path(folder), FOLDER, read_plan)
    return tuple(sorted(found, key=lambda plan: (plan.start, plan.made))), tuple(problems)


def read_plan(file: str, content: bytes) -> StoredPlan:
    """Return the plan that a file holds.

    Parameters
    ----------
    file : str
        Its name, for the messages.
    content : bytes
        TOML text in UTF-8.

    Returns
    -------
    StoredPlan
        The plan.

    Raises
    ------
    InputError
        If it is not TOML, of a later format, or a key is missing or cannot be used.

    Examples
    --------
    >>> from reef_calc.log.plans import plan_text
    >>> made = dt.datetime(2026, 2, 28, 18, tzinfo=dt.UTC)
    >>> plan = StoredPlan("Reef", made, dt.date(2026, 3, 1), 1, 300.0, (), (), file="p.toml")
    >>> read_plan("p.toml", plan_text(plan).encode()) == plan
    True
    """
    whole = table_of(file, content)
    if whole.get("format") != FORMAT:
        raise InputError(
            f"format = {FORMAT}",
            whole.get("format", "nothing"),
            "The file was written by another version, or is no plan. Make the plan again.",
            f"{file}, format",
        )
    start = _date(whole, "start", file)
    days = _whole(whole, "days", file)
    phases: list[ContainerPhase] = []
    before: dict[str, float] = {}
    for table in _tables(whole, "container", file):
        name = _text(table, "name", f"{file}, container")
        where = f"{file}, container {name}"
        before[name] = _number(table, "set_before", where)
        phases += [
            _phase(name, _text(table, "unit", where), one, where)
            for one in _tables(table, "phase", where)
        ]
    levels = [_levels(table, days, file) for table in _tables(whole, "element", file)]
    return StoredPlan(
        _text(whole, "tank", file),
        _made(whole, file),
        start,
        days,
        _number(whole, "net_L", file),
        tuple(phases),
        tuple(levels),
        before,
        tuple(str(note) for note in whole.get("notes", ())),
        file,
    )


def _phase(name: str, unit: str, table: Mapping[str, Any], where: str) -> ContainerPhase:
    first, last = _date(table, "from", where), _date(table, "to", where)
    if last < first:
        raise InputError("a last day that is not before the first", str(last), "Correct it.", where)
    times = table.get("times", [])
    if not isinstance(times, list) or not all(isinstance(one, str) for one in times):
        raise InputError("a list of clock times", times, 'Write ["08:00"].', f"{where}, times")
    return ContainerPhase(
        name,
        unit,
        first,
        last,
        _number(table, "per_day", where),
        _whole(table, "doses", where, 0),
        _number(table, "per_dose", where),
        tuple(times),
    )


def _levels(table: Mapping[str, Any], days: int, file: str) -> PlannedLevels:
    name = _text(table, "name", f"{file}, element")
    where = f"{file}, element {name}"
    levels = table.get("levels")
    if (
        not isinstance(levels, list)
        or len(levels) != days + 1
        or not all(_is_number(one) for one in levels)
    ):
        raise InputError(
            f"{days + 1} levels, one a day and one at the end",
            levels,
            "Make the plan again.",
            where,
        )
    aims = {key: _number(table, key, where) for key in ("low", "aim", "high") if key in table}
    return PlannedLevels(
        name,
        _text(table, "unit", where),
        tuple(float(one) for one in levels),
        _number(table, "use", where),
        **aims,
    )


def _made(whole: Mapping[str, Any], file: str) -> dt.datetime:
    made = whole.get("made")
    if not isinstance(made, dt.datetime) or made.tzinfo is None:
        raise InputError(
            "a time with its zone", made, "Write 2026-03-01T18:00:00Z.", f"{file}, made"
        )
    return made


def _tables(table: Mapping[str, Any], key: str, where: str) -> list[Mapping[str, Any]]:
    found = table.get(key, [])
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise InputError(f"tables headed [[{key}]]", found, "Correct the heading.", where)
    return found


def _text(table: Mapping[str, Any], key: str, where: str) -> str:
    found = table.get(key)
    if not isinstance(found, str) or not found:
        raise InputError("a text", found, "Write it in quotes.", f"{where}, {key}")
    return found


def _date(table: Mapping[str, Any], key: str, where: str) -> dt.date:
    found = table.get(key)
    if not isinstance(found, dt.date) or isinstance(found, dt.datetime):
        raise InputError(
            "a day", found, "Write it as 2026-03-01, without quotes.", f"{where}, {key}"
        )
    return found


def _is_number(value: object) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and math.isfinite(float(value))  # type: ignore[arg-type]


def _number(table: Mapping[str, Any], key: str, where: str) -> float:
    found = table.get(key)
    if not _is_number(found):
        raise InputError("a number", found, "Write it with a decimal point.", f"{where}, {key}")
    return float(found)  # type: ignore[arg-type]


def _whole(table: Mapping[str, Any], key: str, where: str, least: int = 1) -> int:
    found = table.get(key)
    if not isinstance(found, int) or isinstance(found, bool) or found < least:
        raise InputError(
            f"a whole number of {least} or more", found, "Correct it.", f"{where}, {key}"
        )
    return found
