"""Reading the studies of a tank folder; a broken file becomes words and stands in nobody's way."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from reef_calc.bench.toml_reader import Keys
from reef_calc.errors import InputError
from reef_calc.log.problems import Problem
from reef_calc.log.studies import FOLDER, FORMAT, Cup, StoredStudy, Test, check_study_name
from reef_calc.log.toml_files import read_each, table_of

_RULES = ("each pair", "four looks", "at the end")


def stored_studies(folder: str | Path) -> tuple[tuple[StoredStudy, ...], tuple[Problem, ...]]:
    """Return the studies kept in a tank folder, the oldest first, and what could not be read.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.

    Returns
    -------
    tuple of StoredStudy
        In order of their making.
    tuple of Problem
        One for each file that cannot be used.

    Examples
    --------
    >>> import tempfile
    >>> stored_studies(tempfile.mkdtemp())
    ((), ())
    """
    found, problems = read_each(Path(folder), FOLDER, read_study)
    return tuple(sorted(found, key=lambda one: (one.made, one.name))), tuple(problems)


def read_study(file: str, content: bytes) -> StoredStudy:
    """Return the study that a file holds.

    Parameters
    ----------
    file : str
        Its name, for the messages.
    content : bytes
        TOML text in UTF-8.

    Returns
    -------
    StoredStudy
        The study.

    Raises
    ------
    InputError
        If it is not TOML, of a later format, or a key is missing or cannot be used.

    Examples
    --------
    >>> from reef_calc.log.studies import study_text
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1, "each pair", 0.3,
    ...     (Test("K7", "A", 1), Test("K7", "B", 1)), (Cup("K7", 8.2, 1, 1),), 8.0, "studies/spring.toml")
    >>> read_study("studies/spring.toml", study_text(study).encode()) == study
    True
    """
    keys = Keys(table_of(file, content), file)
    if keys.value("format") != FORMAT:
        raise InputError(
            f"format = {FORMAT}",
            keys.value("format") or "nothing",
            "The file was written by another version, or is no study. Plan the study again.",
            f"{file}, format",
        )
    made = keys.value("made")
    if not isinstance(made, dt.datetime) or made.tzinfo is None:
        raise keys.refuse("made", "a time with its zone", "Write 2026-03-01T18:00:00Z.")
    name, element, unit, kit_a, kit_b = (
        _text(keys, key) for key in ("name", "element", "unit", "kit_a", "kit_b")
    )
    check_study_name(name)
    if kit_a == kit_b:
        raise keys.refuse("kit_b", "another kit than kit_a", "Write the second kit.")
    cups = tuple(_cup(one) for one in keys.tables("key"))
    codes = [one.code for one in cups]
    if len(set(codes)) < len(codes) or not codes:
        raise keys.refuse("key", "one row for each cup, each with a code of its own", "Correct it.")
    tests = tuple(_test(one, codes, (kit_a, kit_b)) for one in keys.tables("tests"))
    if not tests or len(set(tests)) < len(tests):
        raise keys.refuse("tests", "one row for each test, no two the same", "Correct it.")
    study = StoredStudy(
        name, element, unit, kit_a, kit_b, made, _whole(keys, "seed", 0),
        keys.choice("look", _RULES, _RULES[0]), keys.number("allowed", above=0.0), tests, cups,
        keys.number("usual", above=0.0), file,
    )  # fmt: skip
    keys.finish()
    return study


def _cup(keys: Keys) -> Cup:
    level = keys.number("level", above=0.0)
    cup = Cup(_text(keys, "code"), level, _whole(keys, "water", 1), _whole(keys, "block", 1))
    keys.finish()
    return cup


def _test(keys: Keys, codes: list[str], kits: tuple[str, str]) -> Test:
    for key in ("cup", "kit"):
        keys.needed(key)
    test = Test(keys.choice("cup", codes), keys.choice("kit", kits), _whole(keys, "replicate", 1))
    keys.finish()
    return test


def _text(keys: Keys, key: str) -> str:
    keys.needed(key)
    found = keys.text(key)
    if not found:
        raise keys.refuse(key, "a text", "Write it in quotes.")
    return found


def _whole(keys: Keys, key: str, least: int) -> int:
    keys.needed(key)
    found = keys.value(key)
    if not isinstance(found, int) or isinstance(found, bool) or found < least:
        raise keys.refuse(key, f"a whole number of {least} or more", "Correct it.")
    return found
