"""The marks of the pictures and the key that names them, each drawn in its own colour and shape."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.show.style import paint
from reef_calc.show.wording import escape


@dataclass(frozen=True)
class Mark:
    """One shape of the level lane.

    Attributes
    ----------
    marker : str
        matplotlib's letter.
    role : str
        Colour of the palette.
    size, rim : float
        Diameter and line, points.
    filled : bool
        Filled with the colour; otherwise with paper.
    path : str
        The same shape in a 12 by 12 box, for the key.
    """

    marker: str
    role: str
    size: float
    rim: float
    filled: bool
    path: str


KIT_MARKS: tuple[Mark, ...] = (
    Mark("o", "kitA", 5.2, 0.8, True, "M6 2.6a3.4 3.4 0 1 1 0 6.8a3.4 3.4 0 1 1 0-6.8z"),
    Mark("D", "kitB", 4.8, 1.3, False, "M6 1.6L10.4 6L6 10.4L1.6 6z"),
    Mark("s", "kitC", 5.0, 1.3, False, "M2.4 2.4H9.6V9.6H2.4z"),
    Mark("p", "muted", 6.0, 1.3, False, "M6 1.6L10.4 4.8L8.7 10H3.3L1.6 4.8z"),
)
DOUBTED = Mark("x", "ink", 7.5, 1.5, False, "M2 2L10 10M10 2L2 10")
BELOW = Mark("v", "ink", 6.0, 1.2, False, "M1.8 2.8H10.2L6 10z")
ABOVE = Mark("^", "ink", 6.0, 1.2, False, "M1.8 9.2H10.2L6 2z")
LEFT_OUT = Mark("+", "muted", 6.5, 1.3, False, "M6 2V10M2 6H10")


def kit_marks(readings: pd.DataFrame) -> dict[str, Mark]:
    """Return the mark of each kit, in the order in which the kits came into use.

    Parameters
    ----------
    readings : pandas.DataFrame
        Readings of a standing, in time order.

    Returns
    -------
    dict of str to Mark
        From the fifth kit on, the shapes begin again; the read-out still names the kit.

    Examples
    --------
    >>> list(kit_marks(pd.DataFrame({"kit": ["a", "b", "a"]})))
    ['a', 'b']
    """
    kits = dict.fromkeys(kit_names(readings))
    return {kit: KIT_MARKS[i % len(KIT_MARKS)] for i, kit in enumerate(kits)}


def kit_names(readings: pd.DataFrame) -> list[str]:
    """Return the kit of each reading, "kit not named" where there is none.

    Parameters
    ----------
    readings : pandas.DataFrame
        Readings of a standing.

    Returns
    -------
    list of str
        One name a reading.

    Examples
    --------
    >>> kit_names(pd.DataFrame({"kit": ["", "kit A"]}))
    ['kit not named', 'kit A']
    """
    return [
        str(k) if isinstance(k, str) and k.strip() else "kit not named" for k in readings["kit"]
    ]


def beyond(readings: pd.DataFrame, limit: str) -> NDArray[np.bool_]:
    """Return which readings lie beyond one end of their kit.

    Parameters
    ----------
    readings : pandas.DataFrame
        Readings of a standing.
    limit : {'<', '>'}
        The end.

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
        True where the reading says only that much and is not doubted.

    Examples
    --------
    >>> beyond(pd.DataFrame({"limit": ["<", ""], "mark": ["beyond limit", "used"]}), "<")
    array([ True, False])
    """
    told = ~readings["mark"].isin(["doubted", "left out"]).to_numpy(dtype=bool)
    return (readings["limit"] == limit).to_numpy(dtype=bool) & told


def _shape(mark: Mark) -> str:
    fill = paint(mark.role) if mark.filled else "none" if mark.marker in "x+" else paint("paper")
    return (
        '<svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">'
        f'<path d="{mark.path}" fill="{fill}" stroke="{paint(mark.role)}" stroke-width="1.5"/></svg>'
    )


def _line(role: str, *, dashes: str = "", grey: bool = False, dot: bool = False) -> str:
    inner = ""
    if grey:
        inner += (
            f'<rect x=".5" y="1.5" width="21" height="9" fill="{paint("interval")}" '
            f'stroke="{paint("line")}"/>'
        )
    inner += (
        f'<path d="M0 6H22" stroke="{paint(role)}" stroke-width="2" stroke-dasharray="{dashes}"/>'
        if not dot
        else f'<path d="M11 0V12" stroke="{paint(role)}" stroke-width="2"/>'
        f'<circle cx="11" cy="6" r="3.4" fill="{paint(role)}"/>'
    )
    return f'<svg width="22" height="12" viewBox="0 0 22 12" aria-hidden="true">{inner}</svg>'


def key_html(readings: pd.DataFrame, *, rate: str = "", now: str = "", dose: bool = False) -> str:
    """Return the key: only what the picture shows, in the marks' own colours.

    Parameters
    ----------
    readings : pandas.DataFrame
        Readings that the picture shows.
    rate : str
        What the stepped line is, or an empty text when there is none.
    now : str
        What the dot at its end is, or an empty text.
    dose : bool
        Whether a dose is drawn.

    Returns
    -------
    str
        HTML list.

    Examples
    --------
    >>> key_html(pd.DataFrame({"kit": [], "limit": [], "mark": []}))
    ''
    """
    items: list[tuple[str, str]] = []
    plain = readings[(readings["mark"] == "used") & (readings["limit"].isin(["", "between"]))]
    shown = set(kit_names(plain))
    items += [(_shape(m), kit) for kit, m in kit_marks(readings).items() if kit in shown]
    if (readings["mark"] == "doubted").any():
        items.append((_shape(DOUBTED), "doubted, not used"))
    if beyond(readings, "<").any():
        items.append((_shape(BELOW), "below the kit’s limit"))
    if beyond(readings, ">").any():
        items.append((_shape(ABOVE), "above the kit’s limit"))
    if (readings["mark"] == "left out").any():
        items.append((_shape(LEFT_OUT), "left out, see the table"))
    if rate:
        items.append((_line("ink", grey=True), rate))
    if now:
        items.append((_line("ink", dot=True), now))
    if dose:
        items.append((_line("kitA", dashes="6 2.5"), "dosed"))
    return _list(items)


def _list(items: Sequence[tuple[str, str]]) -> str:
    if not items:
        return ""
    lines = "".join(f"<li>{picture}<span>{escape(words)}</span></li>" for picture, words in items)
    return f'<ul class="rc-key" role="list" aria-label="Key">{lines}</ul>'
