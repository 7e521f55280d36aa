"""The small pictures inside the overview: the level of 90 days, and use against dose."""

from __future__ import annotations

import numpy as np

from reef_calc.show.marks import beyond
from reef_calc.show.standing import Standing
from reef_calc.show.style import paint
from reef_calc.show.times import day_numbers, month_end
from reef_calc.show.wording import is_known

STRIP_DAYS = 90
_WIDTH, _HEIGHT, _PAD = 150.0, 34.0, 5.0  # the pad holds the last dot and its rim
_SCALE = (0.6, 1.4)


def level_strip(standing: Standing) -> str:
    """Return the level of the last 90 days as a small picture; the words beside it say the same.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        SVG of 150 by 34 CSS pixels; empty without a reading in that time.

    Examples
    --------
    >>> import pandas as pd
    >>> from types import SimpleNamespace as S
    >>> row = {"time": pd.Timestamp("2026-09-24T00Z"), "level": 7.1, "limit": "", "mark": "used"}
    >>> tank = S(month="2026-09", zone="UTC", readings=pd.DataFrame([row]), low=7.0, high=8.5)
    >>> level_strip(tank).count("<circle")
    1
    """
    end = float(day_numbers([month_end(standing.month, standing.zone)])[0])
    table = standing.readings
    days = day_numbers(table["time"])
    told = (table["mark"] == "used").to_numpy(dtype=bool) | beyond(table, "<") | beyond(table, ">")
    told &= np.isfinite(table["level"].to_numpy(dtype=float))
    inside = told & (days > end - STRIP_DAYS) & (days <= end)
    if not inside.any():
        return ""
    level = table["level"].to_numpy(dtype=float)[inside]
    aims = [v for v in (standing.low, standing.high) if v is not None]
    low, high = min([*level, *aims]), max([*level, *aims])
    middle, span = (low + high) / 2, (high - low) or abs(high) * 0.1 or 1.0

    def across(day: float) -> float:
        return _PAD + (day - end + STRIP_DAYS) / STRIP_DAYS * (_WIDTH - 2 * _PAD)

    def down(value: float) -> float:
        return _HEIGHT / 2 - (value - middle) / span * (_HEIGHT - 2 * _PAD)

    parts = []
    if aims:
        top = down(standing.high) if standing.high is not None else 0.0
        bottom = down(standing.low) if standing.low is not None else _HEIGHT
        parts.append(
            f'<path d="M0 {top:.1f}H150V{bottom:.1f}H0z" fill="{paint("band")}"/>'
            + "".join(
                f'<path d="M0 {down(v):.1f}H150" stroke="{paint("bandedge")}" stroke-width="1"/>'
                for v in aims
            )
        )
    places = [(across(d), down(v)) for d, v in zip(days[inside], level, strict=True)]
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
    parts.append(
        f'<path d="M{line}" fill="none" stroke="{paint("ink")}" stroke-width="1.5" '
        'stroke-linejoin="round"/>'
    )
    hidden = beyond(table, "<")[inside] | beyond(table, ">")[inside]
    x, y = places[-1]
    if hidden[-1]:
        parts.append(
            f'<path d="M{x - 4:.1f} {y - 3:.1f}h8l-4 6.5z" fill="{paint("paper")}" '
            f'stroke="{paint("ink")}" stroke-width="1.3"/>'
        )
    else:
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{paint("ink")}" '
            f'stroke="{paint("paper")}" stroke-width="1.2"/>'
        )
    return f'<svg width="150" height="34" viewBox="0 0 150 34" aria-hidden="true">{"".join(parts)}</svg>'


def use_bar(
    rate: float | None, low: float | None, high: float | None, dose: float | None, *, dot: bool
) -> str:
    """Return use against dose on the common scale of 60 to 140 % of the dose.

    Parameters
    ----------
    rate, low, high : float or None
        Use and its 95 % interval, unit per day.
    dose : float or None
        Dose, unit per day.
    dot : bool
        Whether the use itself is drawn; without it only its interval, for a use not shown.

    Returns
    -------
    str
        SVG of 150 by 18 CSS pixels; empty when there is no dose or no use to compare.

    Examples
    --------
    >>> use_bar(1.04, 1.0, 1.08, None, dot=True)
    ''
    """
    if rate is None or low is None or high is None or dose is None:
        return ""
    if not is_known(rate, low, high, dose) or dose <= 0:
        return ""

    def across(value: float) -> float:
        part = (value / dose - _SCALE[0]) / (_SCALE[1] - _SCALE[0])
        return 4 + part * (_WIDTH - 8)

    left, right = (float(np.clip(across(v), 4, _WIDTH - 4)) for v in (low, high))
    ink, line = paint("ink"), paint("line")
    parts = [
        f'<path d="M4 9H146" stroke="{paint("grid")}" stroke-width="1"/>',
        f'<path d="M75 0V18" stroke="{line}" stroke-width="1.5"/>',
        f'<path d="M{left:.1f} 9H{right:.1f}" stroke="{ink}" stroke-width="2.5"/>',
    ]
    if across(low) < 4:
        parts.append(f'<path d="M9 5L4 9L9 13" fill="none" stroke="{ink}" stroke-width="1.6"/>')
    if across(high) > _WIDTH - 4:
        parts.append(
            f'<path d="M141 5L146 9L141 13" fill="none" stroke="{ink}" stroke-width="1.6"/>'
        )
    if dot and 4 <= across(rate) <= _WIDTH - 4:
        parts.append(
            f'<circle cx="{across(rate):.1f}" cy="9" r="4.4" fill="{ink}" '
            f'stroke="{paint("paper")}" stroke-width=".8"/>'
        )
    return f'<svg width="150" height="18" viewBox="0 0 150 18" aria-hidden="true">{"".join(parts)}</svg>'
