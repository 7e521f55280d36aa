"""Replacing a file of the tank folder: all of it or nothing, whatever happens meanwhile."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from filelock import FileLock, Timeout

from reef_calc.errors import InputError

LOCK = ".tank.lock"
PREVIOUS = ".previous"
WAIT_SECONDS = 10.0
Renew = Callable[[bytes | None], bytes]
Replace = Callable[[str, Renew], None]


def replace_file(folder: Path, file: str, renew: Renew) -> None:
    r"""Put what ``renew`` makes of a file into its place; it is on the disk when this returns.

    Under a lock the file is read, the new one is written beside it, flushed to the disk and moved
    into its place; the one before is kept in ``.previous``.

    Parameters
    ----------
    folder : pathlib.Path
        Tank folder.
    file : str
        Name of the file in it.
    renew : callable
        Takes what the file holds (None: there is no such file) and returns what it shall hold. What
        it raises is passed on, and nothing is written.

    Raises
    ------
    InputError
        If it is not a tank folder, another program holds the lock or changes the file meanwhile, or
        the folder cannot be written. Nothing is changed then, unless the disk fails after the move.

    Notes
    -----
    A program that does not know the lock, such as a spreadsheet or an editor, is seen only if it
    saved before the move. Save and close it first.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> replace_file(place, "standards.toml", lambda old: b"# none\n")
    >>> (place / "standards.toml").read_text()
    '# none\n'
    """
    with folder_held(folder, file) as replace:
        replace(file, renew)


@contextmanager
def folder_held(folder: Path, file: str) -> Iterator[Replace]:
    r"""Hold a tank folder for several files of it that belong together.

    Parameters
    ----------
    folder : pathlib.Path
        Tank folder.
    file : str
        Name of the file it is about, for the messages.

    Yields
    ------
    callable
        As ``replace_file``, without the folder, while the lock is held. Each file is replaced whole
        or not; a program that is killed between two files leaves the second as it was.

    Raises
    ------
    InputError
        As ``replace_file``.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> with folder_held(place, "kits.toml") as replace:
    ...     replace("kits.toml", lambda old: b"# none\n")
    ...     replace("standards.toml", lambda old: b"# none\n")
    >>> (place / "kits.toml").read_text()
    '# none\n'
    """
    if not (folder / "tank.toml").is_file():
        raise InputError("a tank folder, with tank.toml", str(folder), "Check the path.", file)
    try:
        with FileLock(folder / LOCK, timeout=WAIT_SECONDS):
            yield partial(_replace, folder)
    except Timeout as err:
        raise InputError(
            "the tank folder for itself",
            str(folder),
            "Another program is writing there. Nothing was written; try again.",
            file,
        ) from err
    except (OSError, NotImplementedError) as err:
        raise InputError(
            "a tank folder that can be written",
            str(folder),
            f"The system said: {getattr(err, 'strerror', None) or err}. Close the file in other "
            "programs, or copy the folder to a place of your own.",
            file,
        ) from err


def in_place_of(old: bytes | None, new: bytes, file: str) -> Renew:
    """Return what replaces a file only if it still holds what the new content was made from.

    Parameters
    ----------
    old : bytes or None
        What the file held; None: there was no such file.
    new : bytes
        What it shall hold.
    file : str
        Its name, for the message.

    Returns
    -------
    callable
        As ``replace_file`` takes it.

    Examples
    --------
    >>> in_place_of(None, b"new", "kits.toml")(None)
    b'new'
    """

    def renew(found: bytes | None) -> bytes:
        if found != old:
            raise InputError(
                "a file that no other program changes meanwhile",
                file,
                "It was left as it is. Save and close it in the other program, then try again.",
                file,
            )
        return new

    return renew


def _replace(folder: Path, file: str, renew: Renew) -> None:
    # A link may lead to another folder; the file there is the one to replace.
    path = (folder / file).resolve()
    old = path.read_bytes() if path.exists() else None
    new = renew(old)
    if new == old:
        return
    if old is not None:
        (folder / PREVIOUS / file).parent.mkdir(parents=True, exist_ok=True)
        with _written_beside(folder / PREVIOUS / file, old) as kept:
            _move(kept, folder / PREVIOUS / file)
    with _written_beside(path, new) as beside:
        if (path.read_bytes() if path.exists() else None) != old:
            raise InputError(
                "a file that no other program changes meanwhile",
                file,
                "Nothing was written. Save and close it in the other program, then try again.",
                file,
            )
        if old is not None:
            shutil.copymode(path, beside)
        _move(beside, path)


@contextmanager
def _written_beside(path: Path, content: bytes) -> Iterator[Path]:
    """Give a file in the same folder that holds the content, on the disk; gone afterwards."""
    # One name for all: what a killed program left behind is overwritten by the next.
    beside = path.with_name(f".{path.name}.new")
    try:
        with beside.open("wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        yield beside
    finally:
        beside.unlink(missing_ok=True)


def _move(beside: Path, path: Path) -> None:
    beside.replace(path)
    if os.name != "posix":  # elsewhere a folder cannot be opened, and the move is written through
        return
    handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
