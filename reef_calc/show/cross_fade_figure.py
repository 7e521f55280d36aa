"""The cross-fade of two supplements as a picture: what each brings by the day, and both together."""

from __future__ import annotations

from reef_calc.show.set_amounts import supply_text
from reef_calc.show.style import paint
from reef_calc.show.supplement_swap import Swap
from reef_calc.show.wording import MONTHS, escape

_WIDTH, _HEIGHT = 620.0, 216.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 12.0, 128.0, 14.0, 40.0
_LABELS = 8  # dates below the bars; more would touch


def cross_fade_svg(found: Swap) -> str:
    """Return the supply of each day as two stacked bars with the line of what arrives.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        Key and SVG, 620 CSS pixels wide; its text says what it shows.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    >>> found = swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0),
    ...              start=dt.date(2026, 3, 1), days=4)
    >>> cross_fade_svg(found).count("<rect"), "from 1.12 to 0" in cross_fade_svg(found)
    (10, True)
    """
    table = found.days()
    highest = max((table["from_old"] + table["from_new"]).max(), table["arrives"].max())
    slot = (_WIDTH - _LEFT - _RIGHT) / len(table)
    bar = slot * 0.86 if slot > 12 else slot - 1.0

    def down(value: float) -> float:
        return _TOP + (1.0 - value / (1.06 * highest)) * (_HEIGHT - _TOP - _BOTTOM)

    zero, parts = down(0.0), []
    for place, day in enumerate(table.itertuples()):
        left = _LEFT + place * slot + (slot - bar) / 2
        middle = down(day.from_old)
        if day.from_old > 0.0:
            parts.append(_bar(left, middle, bar, zero - middle, _OLD))
        if day.from_new > 0.0:
            top = down(day.from_old + day.from_new)
            parts.append(_bar(left, top, bar, middle - top, _NEW))
    line = "".join(
        f"{'M' if place == 0 else 'L'}{_LEFT + place * slot:.1f} {down(value):.1f}"
        f"H{_LEFT + (place + 1) * slot:.1f}"
        for place, value in enumerate(table["arrives"])
    )
    right = _WIDTH - _RIGHT
    last = down(float(table["arrives"].iloc[-1]))
    parts.append(
        f'<path d="M{_LEFT} {zero:.1f}H{right}" stroke="{paint("line")}" stroke-width="1"/>'
        f'<path d="{line}" fill="none" stroke="{paint("ink")}" stroke-width="2.2"/>'
        f'<text x="{right + 8}" y="{last + 4:.1f}" font-size="13" font-weight="700" '
        f'fill="{paint("ink")}">together {supply_text(float(table["arrives"].iloc[-1]))}</text>'
        f'<text x="{right + 8}" y="{last + 20:.1f}" font-size="12" fill="{paint("muted")}">'
        f"{escape(found.change.unit)} a day</text>"
    )
    parts += _days(found, slot, zero)
    return (
        f"{_key(found)}"
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(_said(found))}" '
        f'width="{_WIDTH:.0f}" height="{_HEIGHT:.0f}" viewBox="0 0 {_WIDTH:.0f} {_HEIGHT:.0f}">'
        f"{''.join(parts)}</svg>"
    )


_OLD = f'fill="{paint("interval")}" stroke="{paint("line")}" stroke-width="1"'
_NEW = f'fill="{paint("kitA")}" stroke="{paint("kitA")}" stroke-width="1"'


def _bar(x: float, y: float, width: float, height: float, look: str) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(width, 1.0):.1f}" '
        f'height="{max(height, 0.0):.1f}" {look}/>'
    )


def _days(found: Swap, slot: float, zero: float) -> list[str]:
    table = found.days()
    count = len(table)
    every = max(1, -(-count // _LABELS))
    if slot * every < 52:
        every = int(-(-52 // slot))
    parts = []
    for place in range(0, count, every):
        day = table.iloc[place]
        x = _LEFT + (place + 0.5) * slot
        words = "before" if place == 0 else f"day {day['day']}"
        date = f"{day['date'].day} {MONTHS[day['date'].month - 1][:3]}"
        parts.append(
            f'<text x="{x:.1f}" y="{zero + 16:.1f}" font-size="12" text-anchor="middle" '
            f'fill="{paint("ink")}">{words}</text>'
            f'<text x="{x:.1f}" y="{zero + 31:.1f}" font-size="12" text-anchor="middle" '
            f'fill="{paint("muted")}">{date}</text>'
        )
    return parts


def _key(found: Swap) -> str:
    swatch = '<svg width="16" height="12" aria-hidden="true">{}</svg>'
    old, new = (
        swatch.format(f'<rect x="1" y="1" width="14" height="10" {look}/>') for look in (_OLD, _NEW)
    )
    line = swatch.format(f'<path d="M0 6H16" stroke="{paint("ink")}" stroke-width="2.2"/>')
    words = (
        f"<li>{old}below: {escape(found.change.old.name)}</li>"
        f"<li>{new}above: {escape(found.change.new.name)}</li>"
        f"<li>{line}line: what arrives of {escape(found.change.element)} in all</li>"
    )
    return f'<ul class="rc-key">{words}</ul>'


def _said(found: Swap) -> str:
    table, change = found.days(), found.change
    low, high = (
        supply_text(float(end)) for end in (table["arrives"].min(), table["arrives"].max())
    )
    return (
        f"What {change.old.name} brings of {change.element} goes from {supply_text(found.supply)} to "
        f"{supply_text(float(table['from_old'].iloc[-1]))} {change.unit} a day within "
        f"{int(table['day'].iloc[-1])} days, what {change.new.name} brings from 0 to "
        f"{supply_text(float(table['from_new'].iloc[-1]))}; together {low} to {high} arrive a day."
    )
