"""Changing the TOML files of the tank folder from a page: comments stay, and nothing gets worse."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError

from reef_calc.errors import InputError
from reef_calc.log.atomic import replace_file
from reef_calc.log.problems import Problem
from reef_calc.log.toml_files import TOML_FILES, described, file_bytes, table_of

_BOM = "\ufeff"


def edit_toml(
    folder: str | Path, file: str, change: Callable[[tomlkit.TOMLDocument], None]
) -> None:
    """Change a TOML file of the tank folder; the change is on the disk when this returns.

    Comments and the order of the file stay. The new text is read as ``open_tank`` would read it. The
    file is replaced under the lock that ``append_rows`` uses, and the one before is kept in
    ``.previous``. A file that is not there is begun.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    file : str
        ``tank.toml``, ``kits.toml``, ``supplements.toml``, ``standards.toml`` or ``joins.toml``.
    change : callable
        Takes the document as ``tomlkit`` reads it and changes it in place. What it raises is passed
        on, and nothing is written.

    Raises
    ------
    InputError
        If the file as it stands is not TOML, something in it would be refused or flagged that was
        not before, another program holds the lock or changes the file meanwhile, or the folder
        cannot be written. Nothing is changed then, unless the disk fails after the move.

    Notes
    -----
    A tank that is open already does not know of the change: open it again. The rows of the tables are
    not looked at: one that names a kit which is gone is told of when the tank is opened. Line ends
    become those of the first line.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> def more_rock(document):
    ...     document["water"][0]["net_L"] = 290.0
    >>> edit_toml(place, "tank.toml", more_rock)
    >>> open_tank(place).waters[0].net_L
    290.0
    >>> "litres of water, without rock" in (place / "tank.toml").read_text()
    True
    """
    if file not in TOML_FILES:
        raise InputError(
            "one of " + ", ".join(TOML_FILES), file, "Write one of these.", "edit_toml"
        )
    place = Path(folder)

    def renew(old: bytes | None) -> bytes:
        new = changed_toml(file, old or b"", change)
        _refuse_new_problems(place, file, old, new)
        return new

    replace_file(place, file, renew)


def changed_toml(file: str, old: bytes, change: Callable[[tomlkit.TOMLDocument], None]) -> bytes:
    r"""Return the content of a TOML file after a change; comments and order stay.

    Parameters
    ----------
    file : str
        Its name, for the messages.
    old : bytes
        What it holds.
    change : callable
        Takes the document as ``tomlkit`` reads it and changes it in place.

    Returns
    -------
    bytes
        What it shall hold.

    Raises
    ------
    InputError
        If it is not TOML, or the new text does not say what was changed.

    Examples
    --------
    >>> changed_toml("a.toml", b"kind = 'x' # mine\n", lambda document: document.update(kind="y"))
    b'kind = "y" # mine\n'
    """
    table_of(file, old)  # says the line that cannot be read
    text = old.decode("utf-8-sig")
    first_line, _, _ = text.partition("\n")
    try:
        document = tomlkit.parse(text.replace("\r\n", "\n"))
    except TOMLKitError as err:
        raise InputError("TOML text in UTF-8", str(err), "Repair the file.", file) from err
    change(document)
    new = tomlkit.dumps(document)
    try:
        same = table_of(file, new.encode()) == document.unwrap()
    except (InputError, UnicodeEncodeError):
        same = False
    if not same:
        raise InputError(
            "a file that says the same when it is read again",
            "the changed file",
            "Leave out unusual characters, or change the file by hand; nothing was written.",
            file,
        )
    if first_line.endswith("\r"):
        new = new.replace("\n", "\r\n")
    return (_BOM * old.startswith(_BOM.encode()) + new).encode()


def _refuse_new_problems(folder: Path, file: str, old: bytes | None, new: bytes) -> None:
    before = _problems(folder, file, old)
    for problem in _problems(folder, file, new):
        if problem not in before:
            refused = problem.severity == "refused"
            raise InputError(
                problem.reason.removeprefix("Needed ").rstrip(".")
                if refused
                else "nothing in doubt",
                problem.text or problem.column,
                f"{'' if refused else problem.reason} {problem.repair} Nothing was written.".strip(),
                f"{file}, {problem.column}",
            )


def _problems(folder: Path, file: str, content: bytes | None) -> list[Problem]:
    found: list[Problem] = []
    described(folder, found, lambda name: content if name == file else file_bytes(folder / name))
    return [problem for problem in found if problem.severity != "note"]
