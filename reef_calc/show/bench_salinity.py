"""The salinity view as HTML: one reading understood, the same water on every scale, one mistake."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.bench.salinity_instruments import SCALES, SalinityReading
from reef_calc.bench.salinity_mistakes import TakenOtherwise, glass_effect, taken_otherwise
from reef_calc.bench.salinity_table import OnScale, on_every_scale
from reef_calc.bench.top_off import (
    level_after_top_off,
    missing_share,
    salinity_after_top_off,
)
from reef_calc.bench.uncertainty import CombinedUncertainty, Quantity
from reef_calc.show.tables import folded
from reef_calc.show.wording import escape, fixed, with_interval

STYLE = """
.rc-tall input,.rc-tall select{height:44px!important;font-size:16px!important}
.rc-tall button{min-height:44px!important;font-size:15px!important}
.rc-salinity .rc-big{font-size:32px;line-height:1.2;font-variant-numeric:tabular-nums}
.rc-salinity .rc-lead{font-size:17px;line-height:1.4;max-width:60ch}
.rc-salinity .rc-shown{font-size:16px;margin:6px 0 10px;width:100%;max-width:760px}
.rc-salinity .rc-shown caption{text-align:left;font-size:15px;padding:0 0 6px}
.rc-salinity .rc-shown th,.rc-salinity .rc-shown td{padding:7px 16px 7px 0;
 border-bottom:1px solid var(--rc-grid)}
.rc-salinity .rc-shown thead th{color:var(--rc-muted);font-size:14px}
.rc-salinity .rc-shown td:last-child{white-space:nowrap;font-weight:650}
.rc-salinity h3{font-size:17px}
.rc-salinity ul{font-size:16px}
"""
WAITING = (
    '<h2>Salinity</h2><p class="rc-lead">Choose what the instrument shows and type the reading: the '
    "salinity appears here.</p>"
)
_CORRECT = "What instruments that correct for the temperature would show."
_SET = (
    "How well the instrument is set is not in it: check it in test water as salty as the sea, near "
    "35, not with pure water only."
)


def plus_minus(value: float, half: float) -> str:
    """Return a number with the same interval to both sides.

    Parameters
    ----------
    value, half : float
        Number and half-width, in one unit.

    Returns
    -------
    str
        Such as "35.0 ± 0.2".

    Examples
    --------
    >>> plus_minus(1.026374, 0.000151)
    '1.02637 ± 0.00015'
    """
    return with_interval(value, value - half, value + half)


def understood_html(
    reading: SalinityReading, found: CombinedUncertainty, aim: tuple[float, float] | None = None
) -> str:
    """Return the salinity in large letters, with how the reading was understood.

    Parameters
    ----------
    reading : SalinityReading
        Reading and instrument.
    found : CombinedUncertainty
        Practical salinity (no unit) of it.
    aim : (float, float), optional
        Ends of the tank's aim, as practical salinity (no unit).

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.salinity_table import salinity_with_uncertainty
    >>> meter = SalinityReading("conductivity", 53.07, 0.1, made_for="25 °C")
    >>> understood_html(meter, salinity_with_uncertainty(meter))[:69]
    '<h2 class="rc-big">Practical salinity 35.00 ± 0.04</h2><p class="rc-l'
    """
    lead = [_understood(reading)]
    if aim is not None:
        lead.append(_against(found, aim))
    small = [_made_of(reading, found), *_notes(reading, found.value)]
    return (
        f'<h2 class="rc-big">Practical salinity {plus_minus(found.value, found.U)}</h2>'
        f'<p class="rc-lead">{escape(" ".join(lead))}</p>'
        f'<p class="rc-small">{escape(" ".join(small))}</p>'
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _understood(reading: SalinityReading) -> str:
    scale = SCALES[reading.scale]
    text = f"{_capital(reading.scale)} {reading.value:g} {scale.unit}".rstrip()
    if not scale.made_for:
        return f"{text}."
    if reading.depends_on_sample:
        return (
            f"{text}, read with the water at {reading.sample_C:.4g} °C on a scale made for "
            f"{reading.made_for}; nothing corrects for that, so it is worked out here."
        )
    return f"{text}, on a scale made for {reading.made_for} that corrects for the temperature."


def _against(found: CombinedUncertainty, aim: tuple[float, float]) -> str:
    low, high = aim
    told = f"the aim {fixed(low, 1)} to {fixed(high, 1)}"
    if found.value + found.U < low:
        return f"That is below {told}."
    if found.value - found.U > high:
        return f"That is above {told}."
    if low <= found.value - found.U and found.value + found.U <= high:
        return f"That is in {told}."
    return f"Too close to an end of {told} to say on which side."


def _made_of(reading: SalinityReading, found: CombinedUncertainty) -> str:
    parts = [f"the smallest step {reading.step:g} {SCALES[reading.scale].unit}".rstrip()]
    if reading.depends_on_sample:
        parts.append(f"a thermometer right within {reading.sample_half_width_C:g} °C")
    if len(found.budget) > len(parts):
        parts.append("how well a sodium-chloride scale is known")
    listed = " and ".join(parts) if len(parts) < 3 else f"{parts[0]}, {parts[1]} and {parts[2]}"
    return f"± is two standard uncertainties (about 95 %), from {listed}. {_SET}"


def _notes(reading: SalinityReading, salinity: float) -> list[str]:
    notes = []
    if "refract" in reading.scale:
        if reading.depends_on_sample:
            notes.append(
                "The temperature is that of the prism: let the drop lie on it for half a minute."
            )
        if salinity > 35.0 and (reading.depends_on_sample or not reading.scale.endswith("scale")):
            notes.append("Above 35 the equation of refraction goes beyond what it was fitted to.")
    if reading.scale == "refractometer, sodium-chloride scale":
        notes.append(
            "Such a scale is taken to show 36.5 ± 0.5 in sea water of 35 (from memory, no source)."
        )
    if reading.scale.endswith("sea-water scale"):
        notes.append("‰ is taken as practical salinity; as g/kg it would be lower by 0.2.")
    if reading.scale == "conductivity" and reading.corrects:
        notes.append(
            "Meters correct by a fixed share for each degree: trust that only near the temperature "
            "the scale is made for."
        )
    glass = glass_effect(reading)
    if abs(glass) >= 0.05:
        way = "high" if glass > 0 else "low"
        notes.append(
            f"A hydrometer of glass reads a further {fixed(abs(glass), 1)} too {way}, because glass "
            "grows with warmth (from memory, no source). That is not taken off."
        )
    return notes


def on_scales_html(reading: SalinityReading, found: CombinedUncertainty) -> str:
    """Return the same water on every other scale, and what one mistake would do.

    Parameters
    ----------
    reading : SalinityReading
        Reading and instrument.
    found : CombinedUncertainty
        Practical salinity (no unit) of it.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.salinity_table import salinity_with_uncertainty
    >>> meter = SalinityReading("practical salinity", 35.0, 0.1)
    >>> page = on_scales_html(meter, salinity_with_uncertainty(meter))
    >>> "1.02661 ± 0.00004" in page
    True
    """
    shown = on_every_scale(Quantity(found.value, found.u), reading.sample_C)
    own = (reading.scale, reading.made_for, reading.corrects)
    others = [
        one
        for one in shown
        if (one.reading.scale, one.reading.made_for, one.reading.corrects) != own
        and not (one.reading.depends_on_sample and _is_same_water(one.reading, reading))
        and not (one.reading.scale.startswith("refractometer") and one.reading.made_for == "25 °C")
    ]
    usual = [one for one in others if _is_usual(one.reading)]
    rest = [one for one in others if not _is_usual(one.reading)]
    return (
        f"<h3>The same water on every other scale</h3>{_scales_table(_CORRECT, usual)}"
        + folded("At other temperatures", _scales_table("At other temperatures.", rest))
        + mistakes_html(taken_otherwise(reading))
    )


def _is_same_water(one: SalinityReading, typed: SalinityReading) -> bool:
    """Whether the number stands in the table already, or is the one that was typed."""
    listed = any(one.sample_C == pair[0] for pair in SCALES[one.scale].made_for.values())
    return listed or (one.scale == typed.scale and typed.depends_on_sample)


def _is_usual(one: SalinityReading) -> bool:
    made_for = list(SCALES[one.scale].made_for)
    usual = made_for[: 3 if one.scale == "specific gravity" else 1] or [""]
    return one.made_for in usual and not one.depends_on_sample


def _scales_table(caption: str, shown: Sequence[OnScale]) -> str:
    rows = []
    for one in shown:
        reading, unit = one.reading, SCALES[one.reading.scale].unit
        if one.refused:
            number = "outside its range"
        else:
            number = f"{plus_minus(reading.value, one.U)} {unit}".rstrip()
        made_for = reading.made_for or "any temperature"
        if reading.depends_on_sample:
            made_for = f"{reading.sample_C:.4g} °C, as the water is"
        rows.append(
            f"<tr><th scope=row>{escape(_capital(reading.scale))}</th><td>{escape(made_for)}</td>"
            f"<td>{escape(number)}</td></tr>"
        )
    return (
        f'<div class="rc-scroll" tabindex="0" role="group" aria-label="{escape(caption)}">'
        f'<table class="rc-shown"><caption>{escape(caption)}</caption><thead><tr>'
        "<th scope=col>Scale</th><th scope=col>For</th><th scope=col>Shows</th></tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def mistakes_html(others: Sequence[TakenOtherwise]) -> str:
    """Return what a reading would stand for if one thing about it were otherwise.

    Parameters
    ----------
    others : sequence of TakenOtherwise
        Each with its difference.

    Returns
    -------
    str
        HTML; empty when there is nothing to mistake.

    Examples
    --------
    >>> mistakes_html([TakenOtherwise("if the water were 1 °C warmer", 35.4, 0.4)])[-65:]
    '<li>If the water were 1 °C warmer: 35.4, higher by 0.4.</li></ul>'
    """
    lines = []
    for one in others:
        if one.salinity is None or one.difference is None:
            told = "no sea water shows this number"
        else:
            decimals = 1 if abs(one.difference) >= 0.1 else 2
            way = "higher" if one.difference > 0 else "lower"
            told = (
                f"{fixed(one.salinity, decimals)}, {way} by {fixed(abs(one.difference), decimals)}"
            )
        lines.append(f"<li>{escape(_capital(one.words))}: {escape(told)}.</li>")
    if not lines:
        return ""
    return (
        "<h3>What one mistake would do</h3><p>The same number, with one thing taken wrongly:</p>"
        f"<ul>{''.join(lines)}</ul>"
    )


def top_off_html(
    missing_L: float,
    net_L: float,
    found: CombinedUncertainty | None = None,
    level: float | None = None,
) -> str:
    """Return what readings taken before topping off stand for.

    Parameters
    ----------
    missing_L, net_L : float
        Litres missing when the sample was taken, and net volume when topped off (L).
    found : CombinedUncertainty, optional
        Practical salinity as read (no unit).
    level : float, optional
        Another level as read, in any unit per litre.

    Returns
    -------
    str
        HTML.

    Raises
    ------
    InputError
        If the volumes cannot be.

    Examples
    --------
    >>> "2.0 % too high" in top_off_html(6.0, 300.0)
    True
    """
    share = missing_share(missing_L, net_L)
    if not share:
        return '<p class="rc-lead">Nothing is missing: levels stand as they were read.</p>'
    high = 100.0 * share / (1.0 - share)
    lines = [
        f"{missing_L:g} of {net_L:g} L were missing, so what is dissolved reads {fixed(high, 1)} % too "
        f"high. Topped off, it is {fixed(1.0 - share, 3)} of what was read."
    ]
    if found is not None:
        after = salinity_after_top_off(found.value, missing_L, net_L)
        half = found.U * after / found.value if found.value else found.U
        lines.append(f"Salinity becomes {plus_minus(after, half)}.")
    if level is not None:
        after = level_after_top_off(level, missing_L, net_L)
        lines.append(
            f"A level of {level:g} becomes {float(f'{after:.4g}'):g}, no surer than the reading itself."
        )
    return (
        f'<p class="rc-lead">{escape(" ".join(lines))}</p>'
        '<p class="rc-small">Temperature and pH do not follow. Better: top off, let the pumps mix it in '
        "and sample again. In the log a reading stays as it was read; say in its note how much was "
        "missing.</p>"
    )
