"""What was found in a history, in words: labels of the pictures and the lines below them."""

from __future__ import annotations

from reef_calc.balance.findings import FoundEvent
from reef_calc.balance.mixture_answer import as_percent
from reef_calc.balance.results import Beside, ConsumptionEstimate
from reef_calc.messages import codes
from reef_calc.show.rate_wording import rate_words
from reef_calc.show.standing import Standing
from reef_calc.show.tables import table_html
from reef_calc.show.two_answers import hump_words
from reef_calc.show.wording import (
    CANNOT_TELL,
    day_words,
    decimals_for,
    element_name,
    fixed,
    with_interval,
)

RATE_CHANGE, LEVEL_STEP, GROSS_ERROR = "rate change", "level step", "gross error"


def believed(use: ConsumptionEstimate | None, kind: str) -> list[FoundEvent]:
    """Return the findings of a kind that the keeper did not reject.

    Parameters
    ----------
    use : ConsumptionEstimate or None
        The estimate.
    kind : {"rate change", "level step", "gross error"}
        The kind.

    Returns
    -------
    list of FoundEvent
        In the order of time.

    Examples
    --------
    >>> believed(None, "rate change")
    []
    """
    found = () if use is None else use.findings
    kept = [event for event in found if event.kind == kind and event.decision != "rejected"]
    return sorted(kept, key=lambda event: event.start)


def _word(event: FoundEvent) -> str:
    word = "explained" if event.decision == "explained" else event.word
    return f", {word}" if word else ""


def change_label(use: ConsumptionEstimate, event: FoundEvent) -> str:
    """Return the label of a change of the use.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.
    event : FoundEvent
        One of its rate changes.

    Returns
    -------
    str
        Such as "use changed, likely"; what only rises or falls has no use, so "rate changed, likely".

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> change_label(S(behaviour="used"), S(word="likely", decision=""))
    'use changed, likely'
    """
    return f"{'rate' if use.behaviour == 'net' else 'use'} changed{_word(event)}"


def step_label(event: FoundEvent) -> str:
    """Return the label of a step of the level.

    Parameters
    ----------
    event : FoundEvent
        A level step.

    Returns
    -------
    str
        Such as "step +0.5, found", rounded by its interval.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> step_label(S(size=0.52, low=0.31, high=0.74, word="found", decision=""))
    'step +0.5, found'
    """
    return f"step {_signed(event)}{_word(event)}"


def _signed(event: FoundEvent, *, interval: bool = False) -> str:
    arm = (event.high - event.low) / 2
    sign = "+" if event.size > 0 else ""
    if interval:
        words = with_interval(event.size, event.low, event.high)
        return words if " to " in words else sign + words
    return sign + (fixed(event.size, decimals_for(arm)) if arm > 0 else f"{event.size:.2g}")


def event_sentence(standing: Standing, use: ConsumptionEstimate, event: FoundEvent) -> str:
    """Return what a change or a step says when it is pointed at.

    Parameters
    ----------
    standing : Standing
        The element.
    use : ConsumptionEstimate
        Its estimate.
    event : FoundEvent
        One of its findings.

    Returns
    -------
    str
        Such as "17 Aug to 21 Aug 2026: use changed, found; +0.23 ± 0.06 a day".

    Examples
    --------
    >>> import pandas as pd
    >>> from types import SimpleNamespace as S
    >>> days = {"start": pd.Timestamp("2026-08-17T12Z"), "stop": pd.Timestamp("2026-08-21T12Z")}
    >>> event = S(kind="rate change", size=0.23, low=0.17, high=0.29, word="found", decision="", **days)
    >>> event_sentence(S(zone="UTC", unit="dKH"), S(behaviour="used"), event)
    '17 Aug to 21 Aug 2026: use changed, found; +0.23 ± 0.06 a day'
    """
    zone = standing.zone
    place = f"{day_words(event.start, zone, year=False)} to {day_words(event.stop, zone)}"
    size = _signed(event, interval=True)
    if event.kind == LEVEL_STEP:
        return f"{place}: step {size} {standing.unit}{_word(event)}"
    return f"{place}: {change_label(use, event)}; {size} a day"


def doubt_words(use: ConsumptionEstimate | None) -> dict[int, str]:
    """Return how sure the doubt about a reading is.

    Parameters
    ----------
    use : ConsumptionEstimate or None
        The estimate.

    Returns
    -------
    dict of int to str
        Row of ``readings.csv`` to "doubted, likely".

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> event = S(kind="gross error", start=0, rows=(12,), word="likely", decision="")
    >>> doubt_words(S(findings=(event,)))
    {12: 'doubted, likely'}
    """
    return {
        row: f"doubted{_word(event)}" for event in believed(use, GROSS_ERROR) for row in event.rows
    }


def found_lines(standing: Standing) -> list[str]:
    """Return the lines that belong beside the rate: steady or not, humps, what cannot show yet.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    list of str
        Plain text; empty while changes are not searched.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> use = S(behaviour="used", p_not_constant=0.7, humps=(), invisible_days=8.0, messages=())
    >>> use.if_nothing_changed = S(weight=0.3, rate=1.0, low=0.97, high=1.03)
    >>> for line in found_lines(S(use=use, unit="dKH")):
    ...     print(line)
    If nothing changed: 1.00 ± 0.03 a day (30 %).
    Not constant: 70 %.
    A change of a quarter younger than 8 days cannot show yet.
    """
    use = standing.use
    if use is None:
        return []
    lines = []
    if words := hump_words(use):
        lines.append(
            f"{'Change' if use.behaviour == 'net' else 'Use'} now: "
            f"{'about ' if words[0][0].isdigit() else ''}{' or '.join(words)}. "
            "The readings cannot decide yet."
        )
    if use.p_not_constant is not None:
        steady = use.if_nothing_changed
        if steady is None or steady.rate is None:
            steadily = "A steady change" if use.behaviour == "net" else "Steady use"
            lines.append(f"{steadily} no longer fits these readings.")
        else:
            rate = rate_words(steady.rate, steady.low, steady.high, use.behaviour)
            lines.append(f"If nothing changed: {rate} ({as_percent(steady.weight)}).")
        lines.append(f"Not constant: {as_percent(use.p_not_constant)}.")
    if use.invisible_days is not None and "RECENT_CHANGE_INVISIBLE" not in codes(use.messages):
        days = fixed(use.invisible_days, 0)
        lines.append(
            f"A change of a quarter younger than {days} day{'' if days == '1' else 's'} "
            "cannot show yet."
        )
    return lines


def finding_sentences(use: ConsumptionEstimate) -> list[str]:
    """Return the changes and steps that the picture marks as sentences, with what fits them.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of str
        Plain text; what a message says already is not said twice.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> event = S(kind="level step", decision="", start=0, text="A step.", fits="", coincidence="")
    >>> finding_sentences(S(findings=(event,), messages=()))
    ['A step.']
    """
    events = believed(use, RATE_CHANGE) + believed(use, LEVEL_STEP)
    return [
        " ".join(part for part in (event.text, event.fits, event.coincidence) if part)
        for event in sorted(events, key=lambda event: event.start)
        if not any(event.text in message.text for message in use.messages)
    ]


def beside_html(standing: Standing) -> str:
    """Return the small table of results from other sources, "Beside it".

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML; empty without any.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> other = S(title="Calcium readings alone", rate=7.1, low=6.1, high=8.1, words="", unit="mg/L")
    >>> tank = S(element="calcium", unit="mg/L", use=S(behaviour="used", unit="mg/L", beside=(other,)))
    >>> "7.1 ± 1.0 a day" in beside_html(tank)
    True
    """
    use = standing.use
    if use is None or not use.beside:
        return ""
    rows = [(other.title, _beside_words(other, use), other.words) for other in use.beside]
    heads = (
        "Result",
        "Change" if use.behaviour == "net" else "Value",
        "What to know",
    )
    caption = f"Beside it: {element_name(standing.element)}, {standing.unit}, 95 % interval"
    return table_html(caption, heads, rows, texts=(0, 2))


def _beside_words(other: Beside, use: ConsumptionEstimate) -> str:
    """Return the number of another source: a use a day, a ratio with its unit, or a plain factor."""
    if other.unit == use.unit:
        return rate_words(other.rate, other.low, other.high, use.behaviour)
    number = with_interval(other.rate, other.low, other.high)
    return number if number == CANNOT_TELL else f"{number} {other.unit}".strip()
