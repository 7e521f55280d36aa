"""What a study will be able to say: the chance of each statement, whatever may be true."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.compare.difference_words import plain
from reef_calc.compare.study_power import StudyOutlook
from reef_calc.show.comparison_drawing import axis_across
from reef_calc.show.plan_drawing import hovers, picture, text_room, words
from reef_calc.show.plan_lane import Lane, level_axis
from reef_calc.show.style import paint

_WIDTH, _LEFT, _TOP, _TALL, _UNDER = 640, 58.0, 46.0, 260.0, 44.0
# From below upwards: column, words, colour of the palette.
_PARTS = (
    ("within", "within", "band"),
    ("cannot_tell", "cannot tell yet", "paper"),
    ("differs", "differs, size open", "grid"),
    ("beyond", "beyond", "interval"),
)
_LEAST = 16.0  # pixels that a word needs
_MOST_READ_OUTS = 31


def power_svg(outlook: StudyOutlook, *, width: int = _WIDTH) -> str:
    """Return the chance of each of the four statements against the difference that is true.

    Parameters
    ----------
    outlook : StudyOutlook
        What a study will be able to say.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; empty without an allowed difference.

    Examples
    --------
    >>> from reef_calc.compare.kit_scatter import KitScatter
    >>> from reef_calc.compare.study_design import Design
    >>> from reef_calc.compare.study_power import study_outlook
    >>> fine = KitScatter(0.15, 0.1)
    >>> svg = power_svg(study_outlook(Design((1.0,), 10), fine, fine, unit="dKH", allowed=0.5))
    >>> svg.count("fill-opacity"), "allowed 0.5" in svg
    (0, True)
    """
    table, allowed = outlook.chances, outlook.allowed
    if table is None or allowed is None:
        return ""
    across = table["true_difference"].to_numpy(float)
    lane = Lane(_LEFT, width - 20.0, _TOP, _TOP + _TALL, float(across[0]), float(across[-1]),
                0.0, 100.0)  # fmt: skip
    below, parts, names = np.zeros(across.size), [], []
    for column, text, role in _PARTS:
        above = below + 100.0 * table[column].to_numpy(float)
        parts.append(
            f'<path d="{lane.between(list(across), list(below), list(above))}" fill="{paint(role)}" '
            f'stroke="{paint("line")}" stroke-width=".8"/>'
        )
        names.append(_name_svg(lane, across, below, above, text))
        below = above
    parts.append(level_axis(lane, 5))
    x = lane.x(allowed)
    parts.append(
        f'<path d="M{x:.1f} {lane.top:.1f}V{lane.bottom:.1f}" stroke="{paint("ink")}" '
        'stroke-width="1.4" stroke-dasharray="6 4"/>'
    )
    parts += names
    unit = outlook.unit
    parts.append(words(x + 6, lane.top - 6, f"allowed {plain(allowed)}"))
    parts.append(words(_LEFT, 16, "Chance of each statement, %", bold=True))
    parts.append(axis_across(lane, f"true difference of the kits at the usual level, {unit}"))
    alike = table.iloc[0]
    label = (
        f"Chance of each statement of a study with {outlook.design.vials} tests. If the kits read "
        f"alike: within {_percent(alike['within'])}, cannot tell yet {_percent(alike['cannot_tell'])}."
    )
    return picture(
        width, lane.bottom + _UNDER, label, "".join(parts),
        reads=hovers(_reads(outlook, lane), width - 4.0, 16.0),
    )  # fmt: skip


def _name_svg(
    lane: Lane, across: np.ndarray, below: np.ndarray, above: np.ndarray, text: str
) -> str:
    """Return the name of an area where it is widest and the name has room on both sides."""
    half = text_room([text]) / 2.0
    x = np.array([lane.x(one) for one in across])
    upper, lower = (np.array([lane.y(one) for one in ends]) for ends in (above, below))
    best, place = _LEAST, None
    for one in x:
        under = np.abs(x - one) <= half + 4.0
        if one - half < lane.left or one + half > lane.right:
            continue
        top, foot = float(upper[under].max()), float(lower[under].min())
        if foot - top > best:
            best, place = foot - top, (float(one), (top + foot) / 2.0)
    if place is None:
        return ""
    return words(place[0], place[1] + 4, text, at="middle", bold=True, halo=True)


def power_key_html() -> str:
    """Return the key to the areas of the picture, from below upwards.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> power_key_html().count("<li>")
    4
    """
    items = "".join(
        f'<li><svg width="18" height="12" aria-hidden="true"><path d="M.5 .5h17v11h-17z" '
        f'fill="{paint(role)}" stroke="{paint("line")}"/></svg>{text}</li>'
        for _, text, role in _PARTS
    )
    return f'<ul class="rc-key">{items}</ul>'


def _percent(share: float) -> str:
    if share < 0.005:
        return "hardly ever"
    return "almost surely" if share > 0.995 else f"{100 * share:.0f} %"


def _reads(outlook: StudyOutlook, lane: Lane) -> Sequence[tuple[float, float, float, float, str]]:
    table = outlook.chances
    if table is None:
        return []
    rows = table.iloc[:: max(1, len(table) // _MOST_READ_OUTS)]
    wide = (lane.right - lane.left) / max(len(rows) - 1, 1)
    found = []
    for row in rows.to_dict("records"):
        told = ", ".join(f"{text} {_percent(row[column])}" for column, text, _ in _PARTS)
        true = plain(row["true_difference"], 3)
        left = max(lane.x(row["true_difference"]) - wide / 2.0, lane.left)
        right = min(lane.x(row["true_difference"]) + wide / 2.0, lane.right)
        found.append((left, lane.top, right - left, lane.bottom - lane.top,
                      f"if {true} {outlook.unit}: {told}"))  # fmt: skip
    return found
