"""From a matplotlib figure to an inline picture: no ids shared, no fixed colours, read on hover."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from reef_calc.errors import InputError
from reef_calc.show.style import PALETTE, paint
from reef_calc.show.wording import escape

_ROLE_OF = {pair[0].lower(): role for role, pair in PALETTE.items()}


@dataclass(frozen=True)
class ReadOut:
    """What one place of a picture says when it is pointed at; all lengths in points.

    Attributes
    ----------
    text : str
        The words; plain text, escaped when written.
    x, y : float
        Centre of the circle, or lower left corner of the box, from the figure's lower left.
    text_x, text_y : float
        Right end of the words on their base line.
    width, height : float
        Size of the box; zero for a circle.
    stop : bool
        Whether the Tab key stops here.
    """

    text: str
    x: float
    y: float
    text_x: float
    text_y: float
    width: float = 0.0
    height: float = 0.0
    stop: bool = False


def picture_prefix(*parts: object) -> str:
    """Return a short id prefix that belongs to one picture.

    Parameters
    ----------
    *parts : object
        What tells this picture from any other on the page: tank, element, view, width.

    Returns
    -------
    str
        Letter and eight hexadecimal digits.

    Examples
    --------
    >>> picture_prefix("tank", "calcium", 980) == picture_prefix("tank", "calcium", 600)
    False
    """
    joined = "\x1f".join(str(part) for part in parts)
    return "p" + hashlib.sha256(joined.encode()).hexdigest()[:8]


def leftover_colours(svg: str) -> list[str]:
    """Return the colours of a picture that do not follow the theme.

    Parameters
    ----------
    svg : str
        SVG text.

    Returns
    -------
    list of str
        Hexadecimal colours outside ``var(…)``; empty when all is well.

    Examples
    --------
    >>> leftover_colours('<path style="fill:#1f77b4;stroke:var(--rc-ink,#1F2428)"/>')
    ['#1f77b4']
    """
    # An id such as url(#h1234abcd) is no colour.
    bare = re.sub(r"var\([^)]*\)|url\(#[^)]*\)|href=\"#[^\"]*\"", "", svg)
    return re.findall(r"(?<!&)#[0-9A-Fa-f]{6}\b|(?<!&)#[0-9A-Fa-f]{3}\b", bare)


def figure_svg(
    figure: Figure, *, prefix: str, label: str, read_outs: Sequence[ReadOut] = ()
) -> str:
    """Return a figure as inline SVG that follows the theme and answers to hover and keyboard.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Drawn in the light palette at 72 dots per inch.
    prefix : str
        Id prefix of this picture, from ``picture_prefix``.
    label : str
        What the picture shows, in one sentence.
    read_outs : sequence of ReadOut
        Places that say something; later ones lie on top.

    Returns
    -------
    str
        One ``<svg>`` element, sized in CSS pixels.

    Raises
    ------
    InputError
        If the figure is not at 72 dots per inch: the read-outs would miss their places.

    Examples
    --------
    >>> figure_svg(Figure(figsize=(1, 1), dpi=72), prefix="p1", label="Nothing")[:16]
    '<svg class="rc-p'
    """
    if figure.dpi != 72:
        raise InputError("a figure at 72 dots per inch", figure.dpi, "Draw it with RC_PARAMS.")
    buffer = io.StringIO()
    no_metadata = dict.fromkeys(("Creator", "Date", "Format", "Type"))
    figure.savefig(buffer, format="svg", metadata=no_metadata)
    text = buffer.getvalue()
    body = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
    body = re.sub(r"<metadata>.*?</metadata>|<!--.*?-->", "", body, flags=re.DOTALL)
    body = re.sub(r' id="', f' id="{prefix}-', body)
    body = re.sub(r"url\(#", f"url(#{prefix}-", body)
    body = re.sub(r'href="#', f'href="#{prefix}-', body)
    body = re.sub(r"#[0-9a-fA-F]{6}\b", lambda m: _themed(m[0]), body)
    body = re.sub(r"\n\s*", "\n", body)

    width, height = figure.get_size_inches() * 72
    stops = any(r.stop for r in read_outs)
    return (
        f'<svg class="rc-picture" xmlns="http://www.w3.org/2000/svg" '
        f'xmlns:xlink="http://www.w3.org/1999/xlink" role="{"group" if stops else "img"}" '
        f'aria-label="{escape(label)}" width="{width / 0.75:.0f}" height="{height / 0.75:.0f}" '
        f'viewBox="0 0 {width:.2f} {height:.2f}">'
        f"{body}{_hover_group(read_outs, height)}</svg>"
    )


def _themed(colour: str) -> str:
    role = _ROLE_OF.get(colour.lower())
    return colour if role is None else paint(role)


def _hover_group(read_outs: Sequence[ReadOut], height: float) -> str:
    if not read_outs:
        return ""
    parts = []
    for r in read_outs:
        words = escape(r.text)
        name = f' tabindex="0" role="img" aria-label="{words}"' if r.stop else ""
        if r.width:
            top = height - r.y - r.height
            place = (
                f'<rect x="{r.x:.1f}" y="{top:.1f}" width="{r.width:.1f}" height="{r.height:.1f}"/>'
            )
        else:
            place = f'<circle cx="{r.x:.1f}" cy="{height - r.y:.1f}" r="5.5"/>'
        parts.append(
            f"<g{name}>{place}"
            f'<text x="{r.text_x:.1f}" y="{height - r.text_y:.1f}">{words}</text></g>'
        )
    return '<g class="rc-hover">' + "".join(parts) + "</g>"
