"""The use per day with and without flagged readings, side by side in words."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.without_doubted import WithAndWithout
from reef_calc.show.rate_wording import rate_words, refusal_words
from reef_calc.show.tables import table_html
from reef_calc.show.times import records
from reef_calc.show.wording import day_words, element_name, escape, is_known

# As shares of the narrower half-width: a smaller shift of the use, and a smaller change of the
# interval, is nothing to act on. *Common practice, no source*.
_SHIFT, _WIDTH = 0.5, 1.25
_NAMED = 4


def with_and_without_html(compared: Sequence[WithAndWithout], zone: str) -> str:
    """Return the use of elements with flagged readings, with all of them and without.

    Parameters
    ----------
    compared : sequence of WithAndWithout
        Elements with flagged readings.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        HTML; empty where nothing is flagged.

    Examples
    --------
    >>> with_and_without_html([], "Europe/Berlin")
    ''
    """
    if not compared:
        return ""
    rows = [
        (
            element_name(one.element),
            _named(one, zone),
            _rate(one.with_all, one.unit),
            _rate(one.without, one.unit),
            what_follows(one),
        )
        for one in compared
    ]
    heads = ("Element", "Flagged readings", "Use with all readings", "Use without them", "So")
    words = (
        "Flagged: what water for a reef cannot hold, and what was brought in with a doubt. Everywhere "
        "else on this page the first are left out, and the others count like any reading. To leave one "
        "out for good, correct its row in readings.csv or take it out."
    )
    return (
        f'<div class="rc-block"><h3>{escape("The use with and without flagged readings")}</h3>'
        f"{table_html(words, heads, rows, texts=(1, 2, 3, 4))}</div>"
    )


def what_follows(one: WithAndWithout) -> str:
    """Return whether the flagged readings matter for the use, in a sentence.

    Parameters
    ----------
    one : WithAndWithout
        Both fits.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> fit = S(rate=1.0, low=0.9, high=1.1)
    >>> what_follows(S(with_all=fit, without=S(rate=1.01, low=0.91, high=1.11)))
    'Nothing changes without them.'
    """
    first, second = _interval(one.with_all), _interval(one.without)
    if first is None or second is None:
        return (
            "Too few readings are left to tell. Test again before you rely on either."
            if second is None
            else "Only without them is there a use."
        )
    narrow = min(first[2] - first[1], second[2] - second[1]) / 2
    ratio = (first[2] - first[1]) / max(second[2] - second[1], 1e-12)
    if abs(first[0] - second[0]) > _SHIFT * narrow:
        return "They matter. Look at the originals before you dose by either number."
    if ratio > _WIDTH:
        return "The use stays; without them it is known better."
    if ratio < 1 / _WIDTH:
        return "The use stays; without them it is known less well."
    return "Nothing changes without them."


def _interval(use: ConsumptionEstimate | None) -> tuple[float, float, float] | None:
    if use is None or use.rate is None or use.low is None or use.high is None:
        return None
    return (use.rate, use.low, use.high) if is_known(use.rate, use.low, use.high) else None


def _rate(use: ConsumptionEstimate | None, unit: str) -> str:
    if use is None:
        return "cannot be worked out"
    if _interval(use) is None:
        return refusal_words(use)
    return f"{rate_words(use.rate, use.low, use.high, use.behaviour)} ({unit}), {use.basis}"


def _named(one: WithAndWithout, zone: str) -> str:
    named = [
        f"{row.value:.10g} {row.unit} on {day_words(row.time, zone)} (row {row.row})"
        for row in records(one.flagged.head(_NAMED))
    ]
    more = len(one.flagged) - len(named)
    return "; ".join(named) + (f"; and {more} more" if more else "")
