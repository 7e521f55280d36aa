"""A foreign file by its path: understood, and added to the tank's log."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.foreign.add import Added, add_entries
from reef_calc.log.foreign.file_limits import LARGEST_FILE
from reef_calc.log.foreign.outcome import Answers
from reef_calc.log.foreign.profiles import profile_name
from reef_calc.log.foreign.understand import understand
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.tank import Tank


def understand_log(
    tank: Tank,
    path: str | Path,
    answers: Answers | None = None,
    *,
    sheet: str = "",
    now: dt.datetime | None = None,
) -> Understood:
    r"""Return a foreign file as it was understood; nothing is written.

    Parameters
    ----------
    tank : Tank
        The tank that it is for.
    path : str or pathlib.Path
        The file: CSV, TSV or TXT, XLSX or ODS.
    answers : dict of str to str, optional
        Answers by the key of the question.
    sheet : str, optional
        Sheet of a workbook; the first that holds something when not given.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Understood
        Entries, questions, what is said of each row, and the sums.

    Raises
    ------
    InputError
        If the file cannot be read, holds no table, or an answer cannot be used.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.example import example_tank
    >>> file = Path(tempfile.mkdtemp()) / "old.csv"
    >>> _ = file.write_text("date;KH\n2026-02-01;8,3\n")
    >>> understand_log(example_tank(), file).entries[0].cells["value"]
    '8.3'
    """
    return understand(*content_of(path), tank, answers, sheet=sheet, now=now)


def add_log(
    tank: Tank,
    path: str | Path,
    answers: Answers | None = None,
    *,
    sheet: str = "",
    leave_out: bool = False,
    now: dt.datetime | None = None,
) -> Added:
    r"""Return what was added of a foreign file to a tank's log; it is on the disk when this returns.

    Parameters
    ----------
    tank : Tank
        The tank; open it again afterwards.
    path : str or pathlib.Path
        The file.
    answers : dict of str to str, optional
        Answers by the key of the question.
    sheet : str, optional
        Sheet of a workbook.
    leave_out : bool, optional
        Whether rows that are refused, or wait for an answer, are left out; otherwise nothing is added
        while there are any.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Added
        Rows by table, how many stood there already, and the moment to undo it by.

    Raises
    ------
    CannotTellError
        If rows are refused or wait for an answer, and are not to be left out.
    InputError
        As ``understand_log``, or if the folder cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = Path(tempfile.mkdtemp())
    >>> tank = open_tank(start_tank(place / "reef", "Reef", 300.0, "Europe/Berlin"))
    >>> _ = (place / "old.csv").write_text("date;KH\n2026-02-01;8,3\n")
    >>> add_log(tank, place / "old.csv").tables, add_log(tank, place / "old.csv").already
    ({'readings.csv': 1}, 1)
    """
    file, content = content_of(path)
    found = understand(file, content, tank, answers, sheet=sheet, now=now)
    held = {
        mark.row
        for mark in found.marks
        if mark.said.fate == "asked" or (mark.said.fate == "refused" and not mark.said.chosen)
    }
    if found.refusal:
        raise CannotTellError(found.refusal)
    if held and not leave_out:
        questions = ", ".join(question.key for question in found.questions if question.open)
        raise CannotTellError(
            f"{len(held)} rows are refused or wait for an answer (first: row {min(held)}). "
            + (f"Questions: {questions}. " if questions else "")
            + "Answer them, or leave these rows out; nothing was added."
        )
    return add_entries(
        tank.folder, file=file, content=content, sheet=found.grid.sheet, entries=found.entries,
        name=profile_name(file), now=now,
    )  # fmt: skip


def content_of(path: str | Path) -> tuple[str, bytes]:
    """Return the name of a file and what it holds, measured before it is read.

    Parameters
    ----------
    path : str or pathlib.Path
        The file.

    Returns
    -------
    (str, bytes)
        Name and content.

    Raises
    ------
    InputError
        If it is too large or cannot be read.

    Examples
    --------
    >>> content_of(__file__)[0]
    'from_a_file.py'
    """
    path = Path(path)
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise InputError(
                f"a file of {LARGEST_FILE // 1_000_000} MB or less", f"{size / 1e6:.0f} MB",
                "Split it by year.", path.name,
            )  # fmt: skip
        return path.name, path.read_bytes()
    except OSError as err:
        raise InputError(
            "a file that can be read", str(path), f"{err.strerror}. Check the path.", path.name
        ) from err
