"""If everything ran in at once, and the cautions, each where its risk stands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from reef_calc.numbers_in_words import fixed
from reef_calc.plan.caution_texts import ALWAYS, Caution
from reef_calc.plan.containers import Emptied, Rise
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import element_name, escape

_COLUMNS = 3  # elements with a column of their own; the rest stands in the sentences
_SLACK = 1e-9


def emptied_html(found: Sequence[Emptied], *, ph_then: Mapping[str, float] | None = None) -> str:
    """Return what each container does when it empties at once, and how much to keep.

    Parameters
    ----------
    found : sequence of Emptied
        One a container or reservoir.
    ph_then : mapping of str to float, optional
        pH (NBS scale) right after it has run in, by container.

    Returns
    -------
    str
        HTML; empty without containers.

    Examples
    --------
    >>> from reef_calc.plan.containers import Container
    >>> from reef_calc.plan.emptied import emptied
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, rise_per_day=0.5)
    >>> lime = Container("limewater", {"alkalinity": 0.04319}, 20000.0, kind="hydroxide",
    ...     dissolved_salt_mg=1.6, reservoir=True)
    >>> "1.2 L" in emptied_html([emptied(lime, [kh], 300.0)])
    True
    """
    if not found:
        return ""
    names = _elements(found)
    heads = ["Container", "holds", *(element_name(name) for name in names), "Salinity"]
    heads += ["pH then"] if ph_then else []
    heads += ["Keep within reach of a pump"]
    rows = []
    for one in found:
        cells = [one.container.name, _holds(one)]
        cells += [_rise_words(one.rises.get(name), one.container.full) for name in names]
        cells.append(_salinity_words(one))
        if ph_then:
            known = ph_then.get(one.container.name)
            unmoved = "no change" if one.container.kind == "none" else "not known"
            cells.append(unmoved if known is None else f"{known:.1f}")
        cells.append(_keep_words(one))
        rows.append(cells)
    caption = (
        "If a stuck pump or valve let everything run in at once, mixed into the whole tank. Where it "
        "runs in it is far worse."
    )
    parts = [table_html(caption, heads, rows)]
    for one in found:
        items = "".join(f"<li>{escape(message.text)}</li>" for message in one.messages)
        if items:
            parts.append(
                folded(
                    f"{one.container.name}: what it would do, what stops it", f"<ul>{items}</ul>"
                )
            )
    return f'<div class="rc-plan-wrap">{"".join(parts)}</div>'


def _elements(found: Sequence[Emptied]) -> list[str]:
    """Return the elements that move most, in shares of their daily limit."""
    weight: dict[str, float] = {}
    for one in found:
        for name, rise in one.rises.items():
            if rise.added != 0.0:
                share = abs(rise.added) / (
                    rise.limit if math.isfinite(rise.limit) else 10 * abs(rise.before) or 1.0
                )
                weight[name] = max(weight.get(name, 0.0), share)
    return sorted(weight, key=lambda name: -weight[name])[:_COLUMNS]


def amount_litres(amount: float, unit: str, *, down: bool = False) -> str:
    """Return an amount with two digits, a thousand mL as a litre.

    Parameters
    ----------
    amount : float
        Amount (``unit``).
    unit : str
        mL or g.
    down : bool, optional
        Whether it is a bound and rounded down.

    Returns
    -------
    str
        Such as "1.2 L".

    Examples
    --------
    >>> amount_litres(1239.0, "mL", down=True), amount_litres(436.0, "mL", down=True)
    ('1.2 L', '430 mL')
    >>> amount_litres(87.0, "g"), amount_litres(0.0, "mL")
    ('87 g', '0 mL')
    """
    if amount >= 1000.0:
        amount, unit = amount / 1000.0, {"mL": "L", "g": "kg"}.get(unit, unit)
    if amount <= 0.0:
        return f"0 {unit}"
    decimals = 1 - math.floor(math.log10(amount))
    if down:
        amount = math.floor(amount * 10.0**decimals + _SLACK) / 10.0**decimals
    decimals = max(decimals, 0)
    text = fixed(amount, decimals)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def _holds(one: Emptied) -> str:
    full = one.container.full
    return "size not written" if full is None else amount_litres(full, one.container.unit)


def _rise_words(rise: Rise | None, full: float | None) -> str:
    if full is None:
        return "not known"
    if rise is None or rise.added == 0.0:
        return "–"
    most = max(abs(rise.before), abs(rise.after), 1e-9)
    decimals = max(0, 2 - math.floor(math.log10(most)))
    words = f"{fixed(rise.before, decimals)} to {fixed(rise.after, decimals)} {rise.unit}"
    if math.isfinite(rise.limit) and abs(rise.added) > rise.limit:
        times = abs(rise.added) / rise.limit
        words += f", {fixed(times, 0 if times >= 9.95 else 1)} times what a day allows"
    return words


def _salinity_words(one: Emptied) -> str:
    if one.salinity_after is None:
        return "not known"
    return f"{fixed(one.salinity_before, 1)} to {fixed(one.salinity_after, 1)}"


def _keep_words(one: Emptied) -> str:
    if math.isinf(one.keep):
        return "no limit is set"
    words = f"at most {amount_litres(one.keep, one.container.unit, down=True)}, for {one.keep_for}"
    full = one.container.full
    return f"{words}: all of it may stand there" if full is not None and full <= one.keep else words


def cautions_html(cautions: Sequence[Caution], *, where: str | None = None) -> str:
    """Return cautions, grouped by the place of their risk.

    Parameters
    ----------
    cautions : sequence of Caution
        In order of weight.
    where : str or None, optional
        Only those of one place, to stand beside it; all places when None.

    Returns
    -------
    str
        HTML; empty without cautions.

    Examples
    --------
    >>> gloves = Caution("making up", "Gloves and goggles.", "sodium hydroxide")
    >>> cautions_html([gloves], where="making up").count("<li>"), cautions_html([gloves], where="x")
    (1, '')
    """
    told = [one for one in cautions if where is None or one.where == where]
    if not told:
        return ""
    parts = []
    for place in dict.fromkeys(one.where for one in told):
        items = "".join(
            f"<li>{escape(one.text)}{_because(one)}</li>" for one in told if one.where == place
        )
        name = escape(place[:1].upper() + place[1:])
        parts.append(f"<strong>{name}</strong><ul>{items}</ul>")
    label = "Cautions" if where is None else f"Cautions: {where}"
    return (
        f'<div class="rc-caution" role="note" aria-label="{escape(label)}">{"".join(parts)}</div>'
    )


def _because(one: Caution) -> str:
    if not one.because or one.because == ALWAYS:
        return ""
    return f' <span class="rc-sub">({escape(one.because)})</span>'
