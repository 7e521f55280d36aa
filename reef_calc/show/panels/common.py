"""Pieces that every panel shares: message line, download link, guarded callbacks."""

from __future__ import annotations

import base64
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import ReefError
from reef_calc.show.style import stylesheet_html
from reef_calc.show.wording import escape

WIDE_LABEL = {"description_width": "8.5em"}
_PROJECT = Path(__file__).resolve().parents[3]


def style_widget() -> widgets.HTML:
    """Return the stylesheet as a widget of its own, so that changes do not resend it.

    Returns
    -------
    ipywidgets.HTML
        Invisible widget.

    Examples
    --------
    >>> style_widget().layout.height
    '0'
    """
    return widgets.HTML(stylesheet_html(), layout=widgets.Layout(height="0", margin="0"))


def message_html(text: str, kind: str = "told") -> str:
    """Return a message line with its role, a sign and words; empty text gives an empty line.

    Parameters
    ----------
    text : str
        Plain text.
    kind : {"told", "error"}
        An error is announced at once, anything else when the reader is idle.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> message_html("")
    '<div class="rc rc-message" role="status"></div>'
    """
    role, sign = ("alert", "! ") if kind == "error" else ("status", "")
    if not text:
        return '<div class="rc rc-message" role="status"></div>'
    return f'<div class="rc rc-message" role="{role}"><p>{sign}{escape(text)}</p></div>'


def download_html(name: str, content: str, words: str, kind: str = "text/html") -> str:
    """Return a link that saves a text as a file, with everything inside the link.

    Parameters
    ----------
    name : str
        File name offered.
    content : str
        The text.
    words : str
        What the link says.
    kind : str, optional
        Media type.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> download_html("a.csv", "x", "Save", "text/csv").startswith('<a class="rc-download"')
    True
    """
    data = base64.b64encode(content.encode("utf-8")).decode("ascii")
    return (
        f'<a class="rc-download" download="{escape(name)}" '
        f'href="data:{kind};charset=utf-8;base64,{data}">{escape(words)}</a>'
    )


def guarded(say: Callable[[str, str], None], action: Callable[..., Any]) -> Callable[..., None]:
    """Return a callback that shows the package's own errors instead of losing them in a log.

    Parameters
    ----------
    say : callable
        Takes a text and a kind (``told`` or ``error``).
    action : callable
        What to do.

    Returns
    -------
    callable
        The guarded action.

    Examples
    --------
    >>> from reef_calc.errors import CannotTellError
    >>> def look() -> None:
    ...     raise CannotTellError("Too few readings.")
    >>> guarded(lambda text, kind: print(kind, text), look)()
    error Too few readings.
    """

    def run(*arguments: Any) -> None:
        try:
            action(*arguments)
        except ReefError as error:
            say(str(error), "error")
        except OSError as error:
            say(f"The file system said: {error.strerror} ({str(error.filename)[:80]}).", "error")

    return run


def tank_folders(*places: Path) -> list[tuple[str, str]]:
    """Return the tank folders directly inside some places, as (name, path) pairs.

    Parameters
    ----------
    *places : pathlib.Path
        Folders to look in; missing ones are passed over.

    Returns
    -------
    list of (str, str)
        Folder name and path, in order of name.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = Path(tempfile.mkdtemp())
    >>> _ = start_tank(place / "reef", "My reef", 300.0, "Europe/London")
    >>> [name for name, _ in tank_folders(place, place / "not there")]
    ['reef']
    """
    found = []
    for place in places:
        if place.is_dir():
            found += [(p.parent.name, str(p.parent)) for p in sorted(place.glob("*/tank.toml"))]
    return list(dict.fromkeys(found))


def can_write(folder: Path) -> bool:
    """Return whether a folder can be written by this person.

    Parameters
    ----------
    folder : pathlib.Path
        The folder.

    Returns
    -------
    bool
        False for one that is read only or not there.

    Examples
    --------
    >>> can_write(Path("nowhere at all"))
    False
    """
    return os.access(folder.resolve(), os.W_OK)


def is_demonstration(folder: Path) -> bool:
    """Return whether a tank folder belongs to the workbench itself.

    Parameters
    ----------
    folder : pathlib.Path
        The folder.

    Returns
    -------
    bool
        True for the invented tanks.

    Examples
    --------
    >>> is_demonstration(Path("nowhere at all"))
    False
    """
    place = folder.resolve()
    return any(place.is_relative_to(_PROJECT / name) for name in ("data_demo", "reef_calc"))
