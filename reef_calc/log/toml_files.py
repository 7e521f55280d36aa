"""Reading the TOML files of a tank folder: what they describe, and what was wrong with them."""

from __future__ import annotations

import re
import tomllib
import zoneinfo
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from reef_calc.bench.kits import kit_from_table
from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.supplements import supplement_from_table
from reef_calc.errors import InputError, TankFolderError
from reef_calc.log.description import Description
from reef_calc.log.join_rows import joins_from_document
from reef_calc.log.joins import FILE as JOINS
from reef_calc.log.joins import Join
from reef_calc.log.problems import Problem
from reef_calc.log.stated import standard_from_table
from reef_calc.log.tank_toml import FILE, STATES, Reader, as_folder_error, refusal
from reef_calc.log.times import tank_zone

TOML_FILES = (FILE, "kits.toml", "supplements.toml", "standards.toml", JOINS)
Made = TypeVar("Made")
Read = Callable[[str], bytes | None]


def file_bytes(path: Path) -> bytes | None:
    """Return what a file holds, or None when it is not there.

    Parameters
    ----------
    path : pathlib.Path
        The file.

    Returns
    -------
    bytes or None
        Its content.

    Raises
    ------
    TankFolderError
        If it is there and cannot be read.

    Examples
    --------
    >>> file_bytes(Path("no such folder") / "kits.toml") is None
    True
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as err:
        raise TankFolderError(
            "a file that can be read", path.name, f"{err.strerror}.", path.name
        ) from err


def table_of(file: str, content: bytes) -> dict[str, Any]:
    """Return the whole of a TOML file as one table.

    Parameters
    ----------
    file : str
        Name of the file, for the messages.
    content : bytes
        What it holds, UTF-8.

    Returns
    -------
    dict
        As ``tomllib`` gives it.

    Raises
    ------
    InputError
        If it is not TOML in UTF-8; says the line.

    Examples
    --------
    >>> table_of("kits.toml", b"[kit.drops]")
    {'kit': {'drops': {}}}
    """
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except (ValueError, RecursionError) as err:
        line = re.search(r"line (\d+)", str(err))
        place = f"line {line[1]}" if line else "the end" if "end of document" in str(err) else ""
        raise InputError(
            "TOML text in UTF-8",
            f"{err}",
            f"Repair {place or 'the file'}: texts in quotes, numbers with a decimal point.",
            file,
        ) from err


def read_each(
    folder: Path, subfolder: str, read: Callable[[str, bytes], Made]
) -> tuple[list[Made], list[Problem]]:
    """Return what each TOML file of a subfolder holds, and what was wrong with the others.

    Parameters
    ----------
    folder : pathlib.Path
        The tank folder.
    subfolder : str
        Such as ``plans``.
    read : callable
        Takes the name of a file, with its subfolder, and its content; may raise ``InputError``.

    Returns
    -------
    tuple
        Results and problems, in the order of the files' names; nothing where there is no such folder.

    Examples
    --------
    >>> read_each(Path("no such folder"), "plans", lambda file, content: file)
    ([], [])
    """
    place = folder / subfolder
    found: list[Made] = []
    problems: list[Problem] = []
    for path in sorted(place.glob("*.toml")) if place.is_dir() else []:
        file = f"{subfolder}/{path.name}"
        try:
            found.append(read(file, file_bytes(path) or b""))
        except InputError as error:
            given = error.given if isinstance(error.given, str) else repr(error.given)
            spot = error.where.removeprefix(file).lstrip(", ")
            problems.append(
                Problem(file, None, spot, given, "refused", f"Needed {error.needed}.", error.repair)
            )
    return found, problems


def described(folder: Path, problems: list[Problem], read: Read | None = None) -> Description:
    """Return what the TOML files of a folder describe.

    Parameters
    ----------
    folder : pathlib.Path
        The tank folder.
    problems : list of Problem
        What was refused, flagged or noted is added here.
    read : callable, optional
        Takes the name of a file and returns what it holds, None when there is no such file; the
        disk when not given.

    Returns
    -------
    Description
        All that can be used.

    Raises
    ------
    TankFolderError
        If there is no usable ``tank.toml``.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> described(place, []).name
    'Reef'
    """
    if not folder.is_dir():
        raise TankFolderError(
            "a folder that holds a tank", str(folder), "Check the path, or start a new tank there."
        )
    read = read or (lambda file: file_bytes(folder / file))
    try:
        content = read(FILE)
        if content is None:
            raise TankFolderError(
                f"a file {FILE} in the folder", str(folder), "Start a new tank there, or copy it."
            )
        document = table_of(FILE, content)
        zone, name, state = _head(document, folder, problems)
        reader = Reader(document, zone)
        waters, aims, new_water = reader.waters(), reader.aims(), reader.new_water()
    except TankFolderError:
        raise
    except InputError as err:
        raise as_folder_error(err) from err
    problems += reader.problems
    for key in document:
        if key not in ("tank", "water", "aim", "new_water", "state"):
            problems.append(
                Problem(
                    FILE, None, key, "", "flagged", "This key is not known and is not used.",
                    "Check its spelling.",
                )
            )  # fmt: skip
    kits = _named(read, "kits.toml", "kit", kit_from_table, problems)
    supplements = _named(
        read,
        "supplements.toml",
        "supplement",
        lambda name, table, _: supplement_from_table(name, table, "supplements.toml"),
        problems,
    )
    for supplement in supplements.values():
        problems += [
            Problem("supplements.toml", None, f"supplement.{supplement.name}", "", "note", sentence)
            for sentence in supplement.assumed
        ]
    standards = _named(read, "standards.toml", "standard", standard_from_table, problems)
    return Description(
        folder, name, state, zone, waters, aims, new_water, kits, supplements, standards,
        _joins(read, problems),
    )  # fmt: skip


def _joins(read: Read, problems: list[Problem]) -> tuple[Join, ...]:
    """Return the joins of kits; most tanks have none, and no such file."""
    try:
        content = read(JOINS)
        return () if content is None else joins_from_document(table_of(JOINS, content), problems)
    except InputError as err:
        problems.append(refusal(err, JOINS, ""))
        return ()


def _head(
    document: dict[str, Any], folder: Path, problems: list[Problem]
) -> tuple[zoneinfo.ZoneInfo, str, str]:
    top = Keys(document, FILE)
    top.needed("tank")
    keys = Keys(document["tank"], f"{FILE}, tank")
    keys.needed("zone")
    zone = tank_zone(keys.text("zone"), f"{FILE}, tank, zone")
    name = keys.text("name")
    if not name:
        name = folder.name
        problems.append(
            Problem(FILE, None, "tank, name", "", "note", f"No name is written: {name} is taken.")
        )
    state = STATES[0]
    for place in (top, keys):
        try:
            state = place.choice("state", STATES, state)
        except InputError as err:
            problems.append(refusal(err, FILE, "state"))
    for key in keys.unknown():
        problems.append(
            Problem(
                FILE, None, f"tank, {key}", "", "flagged", "This key is not known and is not used.",
                "Check its spelling.",
            )
        )  # fmt: skip
    return zone, name, state


def _named(
    read: Read,
    file: str,
    key: str,
    make: Callable[[str, Any, str], Made],
    problems: list[Problem],
) -> dict[str, Made]:
    made: dict[str, Made] = {}
    try:
        content = read(file)
        if content is None:
            problems.append(Problem(file, None, "", "", "note", "There is no such file."))
            return made
        document = table_of(file, content)
        tables = document.get(key, {})
        if not isinstance(tables, dict):
            raise InputError(f"tables [{key}.NAME]", tables, "Head each one so.", file)
    except InputError as err:
        problems.append(refusal(err, file, ""))
        return made
    for name, table in tables.items():
        try:
            place = f"{file}, {key}.{name}"
            if not isinstance(table, dict):
                raise InputError("a table of keys", table, f"Head it [{key}.NAME].", place)
            made[name] = make(name, table, place)
        except InputError as err:
            problems.append(refusal(err, file, f"{key}.{name}"))
    for other in document:
        if other != key:
            problems.append(
                Problem(
                    file, None, other, "", "flagged", "This key is not known and is not used.",
                    f"Head each table with [{key}.NAME].",
                )
            )  # fmt: skip
    return made
