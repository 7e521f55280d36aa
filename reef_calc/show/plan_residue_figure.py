"""What a plan leaves in the water over months: one small lane each for what moves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.messages import Message, codes
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.residue import MONTH, Residue, sea_water_ratio
from reef_calc.show.plan_drawing import hovers, padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, labels_at_right, level_axis
from reef_calc.show.style import paint
from reef_calc.show.wording import escape

WIDE, NARROW = 980, 600
_TALL, _TITLE, _AXIS = 72.0, 34.0, 40.0


def residue_html(
    residue: Residue, sentences: Sequence[Message], *, width: int | None = WIDE
) -> str:
    """Return the lanes of the residue with a sentence for each.

    Parameters
    ----------
    residue : Residue
        The water over months.
    sentences : sequence of Message
        From ``residue_words``.
    width : int or None, optional
        Width (pixels); None puts a wide and a narrow picture on the page and shows the one that
        fits.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.plan.residue import residue_of
    >>> from reef_calc.plan.residue_words import residue_words
    >>> residue = residue_of({"sodium": 4.0, "chloride": 6.0}, 0.01)
    >>> residue_html(residue, residue_words(residue)).count("<li>")
    4
    """
    items = "".join(f"<li>{escape(message.text)}</li>" for message in sentences)
    if width is not None:
        pictures = residue_svg(residue, width=width)
    else:
        pictures = (
            f'<div class="rc-wide">{residue_svg(residue, width=WIDE)}</div>'
            f'<div class="rc-narrow">{residue_svg(residue, width=NARROW)}</div>'
        )
    return f'<div class="rc-plan-lanes"><ul>{items}</ul>{pictures}</div>'


def residue_svg(residue: Residue, *, width: int = WIDE) -> str:
    """Return salinity, chloride : sulfate, sodium and magnesium over the months ahead.

    Parameters
    ----------
    residue : Residue
        The water over months.
    width : int, optional
        Width (pixels); the picture is drawn for it, not scaled to it.

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    See :func:`residue_html`.
    """
    ratio = sea_water_ratio()
    # Least spans: a scale must not blow up what no kit could see.
    lanes = [
        ("Salinity", residue.salinity, 1, 1.0, None),
        ("Chloride : sulfate, by mass", residue.mass_ratio, 2, 0.3, ratio),
        *(
            (f"{name.capitalize()}, mg/L", residue.levels[name], -1, 0.02 * residue.levels[name][0], None)
            for name in ("sodium", "magnesium")
            if name in residue.levels
        ),
    ]  # fmt: skip
    if "IONS_NOT_KNOWN" in codes(residue.messages):
        # What a sentence calls not known must not stand beside it as a line.
        hidden = ("Chloride : sulfate", "Sodium")
        lanes = [lane for lane in lanes if not lane[0].startswith(hidden)]
    days = np.arange(len(residue.salinity))
    lanes = [lane for lane in lanes if np.isfinite(lane[1]).all()]
    labels = [_labels(values, decimals, beside) for _, values, decimals, _, beside in lanes]
    left = 62.0 if width >= 800 else 56.0
    room = text_room([text for told in labels for _, text, *_ in told])
    right = width - room - 12.0
    parts, reads, top = [], [], 0.0
    drawn = None
    for (title, values, decimals, least, beside), told in zip(lanes, labels, strict=True):
        ends = [float(values.min()), float(values.max()), *([beside] if beside else [])]
        low, high = padded(ends, least=float(least))
        lane = drawn = Lane(
            left, right, top + _TITLE, top + _TITLE + _TALL, 0.0, float(days[-1]), low, high
        )
        parts.append(level_axis(lane, 4))
        parts.append(words(left, lane.top - 9, title, bold=True))
        if beside:
            parts.append(
                f'<path d="M{left:.1f} {lane.y(beside):.1f}H{right:.1f}" '
                f'stroke="{paint("bandedge")}" stroke-dasharray="5 4"/>'
            )
        step = max(1, len(days) // 400)
        line = lane.line(list(days[::step]), list(values[::step]))
        parts.append(f'<path d="{line}" fill="none" stroke="{paint("ink")}" stroke-width="2"/>')
        parts.append(labels_at_right(lane, told))
        wide = (right - left) / residue.months
        places = [
            (lane.x(MONTH * m) - wide / 2, lane.top, wide, _TALL,
             f"after {m} month{'s' if m != 1 else ''}: {fixed(float(values[MONTH * m]), decimals)}")
            for m in range(residue.months + 1)
        ]  # fmt: skip
        reads.append(hovers(places, right, lane.top - 9))
        top = lane.bottom
    if drawn is None:
        return ""
    parts.append(_months_axis(drawn, residue))
    said = ", ".join(
        f"{title} {fixed(float(v[0]), d)} to {fixed(float(v[-1]), d)}" for title, v, d, *_ in lanes
    )
    label = f"What the doses leave over {residue.months} months: {said}."
    return picture(width, top + _AXIS, label, "".join(parts), reads="".join(reads))


def _labels(
    values: np.ndarray, decimals: int, beside: float | None
) -> list[tuple[float, str, str, bool]]:
    found = [(float(values[-1]), f"then {fixed(float(values[-1]), decimals)}", "ink", True)]
    if beside is not None:
        found.append((beside, f"sea water {fixed(beside, decimals)}", "muted", False))
    return found


def _months_axis(lane: Lane, residue: Residue) -> str:
    y = lane.bottom + 4
    per_month = (lane.right - lane.left) / residue.months
    step = next(s for s in (1, 2, 3, 6, 12, 24, 60) if s * per_month >= 34 or s == 60)
    parts = [f'<path d="M{lane.left:.1f} {y:.1f}H{lane.right:.1f}" stroke="{paint("line")}"/>']
    parts += [
        f'<path d="M{lane.x(MONTH * m):.1f} {y:.1f}v5" stroke="{paint("line")}"/>'
        + words(lane.x(MONTH * m), y + 18, f"{m}", "muted", at="middle")
        for m in range(0, residue.months + 1, step)
    ]
    parts.append(
        words((lane.left + lane.right) / 2, y + 33, "months from now", "muted", at="middle")
    )
    return "".join(parts)
