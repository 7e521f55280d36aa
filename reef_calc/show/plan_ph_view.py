"""pH and saturation around a dose as part of a page: warnings, pictures, key, numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.plan.ph_of_doses import PhOfDoses
from reef_calc.show.plan_drawing import marker
from reef_calc.show.plan_ph_figure import (
    CIRCLE,
    DIAMOND,
    NARROW,
    SQUARE,
    WIDE,
    DosePh,
    aragonite_svg,
    ph_svg,
)
from reef_calc.show.plan_words import plain_amount
from reef_calc.show.style import paint
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import escape

_NO_CHANGE = 0.005  # pH units: nothing a meter shows
_LEAST_AIR, _MOST_AIR = 400.0, 1000.0  # µatm carbon dioxide


def dose_ph_rows(found: PhOfDoses) -> tuple[DosePh, ...]:
    """Return a row for each container that moves the pH, at the plan's highest alkalinity.

    Parameters
    ----------
    found : PhOfDoses
        pH and saturation of a plan.

    Returns
    -------
    tuple of DosePh
        Those that move pH by less than a meter shows are left out.

    Examples
    --------
    See :func:`ph_html`.
    """
    at = len(found.bases) - 1

    def there(values: object) -> float:
        return float(np.ravel(np.asarray(values, dtype=float))[at])

    least, most = (
        there(found.in_air[air].ph_nbs) if air in found.in_air else there(found.states.ph_nbs)
        for air in (_MOST_AIR, _LEAST_AIR)
    )
    rows = []
    for one in found.doses:
        before, after = there(one.before.ph_nbs), there(one.right_after.ph_nbs)
        if abs(after - before) < _NO_CHANGE and one.rise_meq_per_L == 0.0:
            continue
        dose = plain_amount(one.amount, one.unit)
        if one.taken_as != one.kind:
            dose += f", taken as {one.taken_as}"
        elif one.kind != "none":
            dose += f", {one.kind}"
        rows.append(
            DosePh(
                one.name, dose, before, after, there(one.settled.ph_nbs), least, most,
                there(one.before.ph_total) - before, there(one.before.aragonite),
                there(one.right_after.aragonite), there(one.settled.aragonite),
            )
        )  # fmt: skip
    return tuple(rows)


def ph_html(found: PhOfDoses, *, width: int | None = WIDE) -> str:
    """Return pH and saturation around one dose: warnings, pictures, their key, the numbers.

    Parameters
    ----------
    found : PhOfDoses
        pH and saturation of a plan.
    width : int or None, optional
        Width (pixels); None puts a wide and a narrow picture on the page and shows the one that
        fits.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.chem.carbonate import state_in_air
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> now = state_in_air(np.array([2.85]), 500.0, CarbonateWater())
    >>> found = PhOfDoses(("now",), now, 500.0, {}, (), now, ())
    >>> "No dose of this plan moves the pH" in ph_html(found)
    True
    """
    rows = dose_ph_rows(found)
    warned = [m.text for m in found.messages if m.kind != "told"]
    told = [m.text for m in found.messages if m.kind == "told"]
    warnings = "".join(f"<li>{escape(text)}</li>" for text in warned)
    parts = [f'<div class="rc-caution" role="note" aria-label="Warnings about pH"><ul>{warnings}</ul></div>'
             if warned else ""]  # fmt: skip
    if not rows:
        parts.append("<p>No dose of this plan moves the pH by as much as a meter shows.</p>")
    else:
        parts.append(
            "<p>One dose, mixed into the whole tank, at the highest alkalinity of the plan. Where it "
            "runs in, pH and saturation are far higher: dose into strong flow.</p>" + _key()
        )
        if width is not None:
            parts.append(ph_svg(rows, width=width) + aragonite_svg(rows, width=width))
        else:
            parts += [
                f'<div class="{kind}">{ph_svg(rows, width=w)}{aragonite_svg(rows, width=w)}</div>'
                for kind, w in (("rc-wide", WIDE), ("rc-narrow", NARROW))
            ]
        parts.append(_table(rows))
    items = "".join(f"<li>{escape(text)}</li>" for text in told)
    parts.append(folded("What was taken for this", f"<ul>{items}</ul>" if told else ""))
    return f'<div class="rc-plan-lanes">{"".join(parts)}</div>'


def _key() -> str:
    signs = (
        (marker(CIRCLE, 14, 8, filled=False, size=4.0), "before"),
        (marker(DIAMOND, 14, 8), "right after one dose, mixed in"),
        (marker(SQUARE, 14, 8, filled=False, size=6.5), "in balance with air again"),
        (
            f'<path d="M1 8H27" stroke="{paint("interval")}" stroke-width="10"/>',
            "before, in room air of 1000 to 400 µatm carbon dioxide",
        ),
    )
    items = "".join(
        f'<li><svg width="28" height="16" viewBox="0 0 28 16" aria-hidden="true">{sign}</svg>'
        f"{name}</li>"
        for sign, name in signs
    )
    return f'<ul class="rc-key">{items}</ul>'


def _table(rows: Sequence[DosePh]) -> str:
    cells = [
        (
            row.name, row.dose, f"{row.before:.2f}", f"{row.after:.2f}", f"{row.settled:.2f}",
            f"{row.after + row.to_total:.2f}", f"{row.aragonite_before:.1f}",
            f"{row.aragonite_after:.1f}", f"{row.aragonite_settled:.1f}",
        )
        for row in rows
    ]  # fmt: skip
    heads = ("Container", "One dose", "pH before", "after", "later", "after, total scale",
             "Aragonite before", "after", "later")  # fmt: skip
    return folded(
        "pH and saturation as a table",
        table_html("pH on the NBS scale", heads, cells, numbers=range(2, 9)),
    )
