"""One element of the review: the decision, the picture that proves it, and what lies behind."""

from __future__ import annotations

from typing import Any

from reef_calc.errors import InputError
from reef_calc.plan.decision import SIGNS, Decision
from reef_calc.show.found_wording import beside_html, finding_sentences, found_lines
from reef_calc.show.lane_figure import lanes_svg, shown_readings
from reef_calc.show.marks import key_html
from reef_calc.show.rate_lane import has_rate_lane, is_dosed, rises
from reef_calc.show.rate_wording import rate_words, refusal_words
from reef_calc.show.standing import Standing
from reef_calc.show.tables import (
    cross_check_words,
    events_html,
    folded,
    months_html,
    readings_html,
    worked_out_html,
)
from reef_calc.show.two_answers import told_apart
from reef_calc.show.wording import day_words, element_name, escape, is_known

WIDE, NARROW = 980, 600


def element_html(
    standing: Standing,
    *,
    width: int | None = WIDE,
    period: tuple[Any, Any] | None = None,
) -> str:
    """Return everything about one element in one month.

    Parameters
    ----------
    standing : Standing
        The element.
    width : int or None
        Width of the picture in CSS pixels: 980 for a window of 1280, 600 for one of 800. None puts
        both on the page and shows the one that fits, on screen and on paper.
    period : (since, until) or None
        Moments to show; None for the first reading to the end of the month.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Raises
    ------
    InputError
        If the width is below 400 pixels or the period does not end after it begins.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> first = Decision("test", "test", "Test for the first time", "There is no reading yet.")
    >>> empty = S(element="iodine", unit="mg/L", decision=first, readings=(), events=(), use=None)
    >>> "Iodine: test for the first time" in element_html(empty)
    True
    """
    if width is not None and width < 400:
        raise InputError("a width of 400 pixels or more", width, "Use 600 or 980.")
    name, decision = element_name(standing.element), standing.decision
    sign = SIGNS[decision.action]
    return (
        f'<section class="rc" aria-label="{escape(name)}" data-element="{escape(standing.element)}">'
        f'<div class="rc-element">'
        f'<h2><span class="rc-sign" aria-hidden="true">{sign}</span>{escape(name)}: '
        f"{escape(_after_colon(decision.headline))}</h2>"
        f'<p class="rc-sub">{escape(decision.reason)}</p>'
        f"{cautions_html(decision)}"
        f"{_picture_html(standing, width, period)}"
        f"{_below_html(standing)}</div>"
        f"{folded('Month by month', months_html(standing))}"
        f"{folded('Readings as a table', readings_html(standing))}"
        f"{folded('Events', events_html(standing))}"
        f"{folded('How this was worked out', worked_out_html(standing))}"
        "</section>"
    )


def _after_colon(headline: str) -> str:
    """Return a sentence as it follows a colon; a word in capitals or a sign keeps its own."""
    lower = headline[:1].lower() + headline[1:]
    return headline if headline[1:2].isupper() else lower


def cautions_html(decision: Decision) -> str:
    """Return the cautions of an advice to dose, as they stand right under it.

    Parameters
    ----------
    decision : Decision
        The decision.

    Returns
    -------
    str
        HTML; empty without cautions.

    Examples
    --------
    >>> cautions_html(Decision("leave", "keep", "Keep the dose", "In the aim."))
    ''
    """
    if not decision.cautions:
        return ""
    items = "".join(f"<li>{escape(text)}</li>" for text in decision.cautions)
    return (
        '<div class="rc-caution" role="note" aria-label="Before you dose">'
        f"<strong>Before you dose</strong><ul>{items}</ul></div>"
    )


def _picture_html(standing: Standing, width: int | None, period: tuple[Any, Any] | None) -> str:
    if not len(standing.readings):
        return "<p>No reading yet.</p>"
    shown = shown_readings(standing, period)
    if not len(shown):
        last = day_words(standing.readings["time"].iloc[-1], standing.zone)
        return f"<p>No reading in this period; the last one is of {escape(last)}.</p>"
    use = standing.use
    lane = has_rate_lane(standing)
    months = lane and use is not None and bool(use.months["rate"].notna().any())
    curve = lane and use is not None and use.curve is not None
    told = lane and use is not None and is_known(use.rate, use.low, use.high)
    verb = "change" if rises(standing) or (use and use.behaviour == "net") else "used"
    over_time = " over time" if curve else ", month by month" if months else ""
    now = f"{verb} now" + (", two answers" if use is not None and told_apart(use) else "")
    key = key_html(
        shown,
        rate=f"{verb}{over_time}, 95 % interval" if curve or months or told else "",
        now=now if told else "",
        dose=lane and is_dosed(standing),
    )
    if width is not None:
        return key + lanes_svg(standing, width=width, period=period)
    return (
        f'{key}<div class="rc-wide">{lanes_svg(standing, width=WIDE, period=period)}</div>'
        f'<div class="rc-narrow">{lanes_svg(standing, width=NARROW, period=period)}</div>'
    )


def _below_html(standing: Standing) -> str:
    use = standing.use
    if use is None:
        return ""
    lines = []
    if is_known(use.rate, use.low, use.high):
        verb = "Change" if use.behaviour == "net" else "Use"
        words = rate_words(use.rate, use.low, use.high, use.behaviour)
        basis = f" ({use.basis})" if use.basis else ""
        # "1.04 ± 0.04 a day" needs its unit; "no use shown: …" reads on by itself.
        lines.append(f"{verb} now, {standing.unit}: {words}{basis}.")
    elif len(standing.readings) and not any(m.kind == "refused" for m in use.messages):
        lines.append(f"The use per day: {refusal_words(use)}.")
    lines += found_lines(standing)
    if checks := cross_check_words(use):
        lines.append(checks)
    small = (
        f'<p class="rc-small">{"<br>".join(escape(line) for line in lines)}</p>' if lines else ""
    )
    texts = [message.text for message in use.messages] + finding_sentences(use)
    told = "".join(f"<p>{escape(text)}</p>" for text in texts) + beside_html(standing)
    return f'<div class="rc-block">{small}{told}</div>' if small or told else ""
