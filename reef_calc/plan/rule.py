"""The rule of decision: what to do about one element, from its level, aims, use and dose."""

from __future__ import annotations

import math
from typing import Literal

from reef_calc.numbers_in_words import level_text
from reef_calc.plan.confirm import confirm_first, doubted_last, repair_first
from reef_calc.plan.decision import (
    LABEL_FIRST,
    MONTH,
    NO_READING,
    SMALL_GAP,
    TRACE_DAYS,
    TRACES,
    USUAL_TEST_DAYS,
    Decision,
    Situation,
)
from reef_calc.plan.other_rules import decide_net, decide_state


def decide(s: Situation) -> Decision:
    """Return what to do about one element.

    Leave as it is: level inside its aims, and the whole interval of the use within ±10 % of the dose
    or the gap between them, over a month, below a quarter of the aim band. Test again first: level
    inside, and neither of the others. Change something: level outside its aims, or the interval clear
    of the dose and the use itself beyond those bounds, so that more scatter never asks for a change.
    A level outside comes first and its sentence brings the level back before it speaks of the dose.

    Parameters
    ----------
    s : Situation
        Level, aims, use and dose.

    Returns
    -------
    Decision
        Group, verb sentence, reason and cautions.

    Notes
    -----
    Rule of decision: *common practice, no source*; the bounds (10 %, a quarter of the band, 30 days)
    are this workbench's own.

    Examples
    --------
    >>> d = decide(Situation("alkalinity", "dKH", "used", level=7.8, level_sd=0.15, low=7, high=8.5,
    ...     rate=1.04, rate_low=1.00, rate_high=1.08, dose=0.90, doses=True, rise_per_day=0.5))
    >>> d.group, d.headline
    ('change', 'Raise the dose: 0.90 to 1.04 dKH a day')
    """
    s = s.only_known()
    doubted = doubted_last(s)
    if doubted is not None:
        return doubted
    if s.level is None:
        return Decision("test", "test", NO_READING, f"Nothing is known of {s.element}.")
    if s.level_age > old_days(s.element):
        what = " of the dose" if s.behaviour == "used" else ""
        return Decision(
            "test",
            "test",
            f"Test: the last reading is {s.level_age:.0f} days old",
            f"It was {s.last_words or s.text(s.level)}. Nothing is said{what} on so old a reading.",
        )
    where = _outside(s)
    if s.behaviour == "state":
        return _at_the_edge(s) if where == "edge" else decide_state(s, where)
    unsure = confirm_first(s, where)
    if unsure is not None:
        return unsure
    if where == "edge":
        return _at_the_edge(s)
    if s.behaviour == "net":
        return decide_net(s, where)
    if where == "below" and s.element in TRACES and not _trace_known(s):
        return Decision(
            "test",
            "test",
            "Test again before dosing anything",
            f"Below the aim of {s.text(s.low or 0.0)}, but a trace is only dosed on a reading of the "
            "last 60 days and a use that is shown.",
        )
    if where == "below":
        return _bring_up(s)
    if where == "above":
        return _bring_down(s)
    repair = repair_first(s)
    if repair is not None:
        return repair
    if s.rate is None or s.rate_low is None or s.rate_high is None:
        return _no_rate(s)
    if s.doses and s.dose is None:
        return Decision(
            "test",
            "test",
            "Write down today's dose, then test",
            "The log does not say what is dosed now, so use and dose cannot be compared.",
        )
    if s.dose is None or s.dose <= 0:
        return _not_dosed(s)
    return _use_against_dose(s)


def old_days(element: str) -> float:
    """Return after how many days a reading is too old to act on.

    Parameters
    ----------
    element : str
        Element.

    Returns
    -------
    float
        Three times the usual days between tests, at least 14 (*common practice, no source*).

    Examples
    --------
    >>> old_days("alkalinity"), old_days("magnesium")
    (14.0, 84)
    """
    return max(14.0, 3 * USUAL_TEST_DAYS.get(element, 90.0))


def _number(s: Situation, value: float) -> str:
    """Return a rate as a bare number; the unit follows once, at the end of the range."""
    return s.rate_in_words(value).removesuffix(s.unit).strip()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _trace_known(s: Situation) -> bool:
    return s.level_age <= TRACE_DAYS and s.rate_low is not None and s.rate_low > 0


def _outside(s: Situation) -> Literal["", "below", "above", "edge"]:
    """Beyond an aim by more than scatter allows; ``edge`` where it may be either."""
    if s.limit and s.level is not None:
        if s.limit == "<" and s.low is not None and s.level <= s.low:
            return "edge"
        return "above" if s.limit == ">" and s.high is not None and s.level >= s.high else ""
    level, u = s.level_now, s.level_u
    if level is None or u is None:
        level, u = s.level, s.level_sd or 0.0
    if level is None:
        return ""
    margin = 1.64 * u
    if s.low is not None and level < s.low:
        clear = level < s.low - margin and (s.level is None or s.level < s.low)
        return "below" if clear else "edge"
    if s.high is not None and level > s.high:
        clear = level > s.high + margin and (s.level is None or s.level > s.high)
        return "above" if clear else "edge"
    return ""


def _bring_up(s: Situation) -> Decision:
    level = s.level if s.level is not None else math.nan
    target = s.target(s.low if s.low is not None else level)
    gap = target - level
    days = f" over at least {math.ceil(gap / s.rise_per_day - 1e-9)} days" if s.rise_per_day else ""
    days = days.replace(" 1 days", " 1 day")
    signed = level_text(gap, s.decimals, s.unit)
    head = (
        f"Bring back {level_text(level, s.decimals, '')} to {level_text(target, s.decimals, '')}: "
        f"+{signed}{days}{s.then_rate()}"
    )
    reason = f"Below the aim of {s.text(s.low or 0.0)}."
    if s.rate is None:
        reason += f" {s.refusal}"
    elif s.dose is not None and s.rate_low is not None and s.rate_low > s.dose:
        reason += (
            f" More is used ({s.rate_in_words(s.rate)} a day) than the doses bring "
            f"({s.rate_in_words(s.dose)})."
        )
    return Decision("change", "raise", head, reason.strip(), s.dose_cautions(True))


def _bring_down(s: Situation) -> Decision:
    level = s.level if s.level is not None else math.nan
    high = s.high if s.high is not None else level
    target = s.target(high)
    use = s.rate if s.rate is not None and s.rate_low is not None and s.rate_low > 0 else None
    reason = f"Above the aim of {s.text(high)}."
    fall = s.fall_per_day
    limit = f" At most {fall:.3g} {s.unit} less a day." if fall else ""
    if s.doses and use is not None:
        verb, net = "Lower or pause the dose", use
        if fall and use > fall:
            # Without any dose it would fall faster than the tank should be asked to bear.
            net = max(fall, use - (s.dose or 0.0))
            kept = s.rate_in_words(use - net)
            verb = f"Lower the dose to {kept} a day" if net == fall else "Keep the dose"
        days = max((level - target) / net, 1.0)
        head = (
            f"{verb} until {level_text(target, s.decimals, s.unit)}: about "
            f"{days:.0f} day{'s' if days >= 1.5 else ''}{s.then_rate()}"
        )
        reason += " The tank's own use brings it down."
    elif s.doses:
        head = (
            f"Lower or pause the dose, and test again at {level_text(target, s.decimals, s.unit)}"
        )
        reason += f" {s.refusal or 'The use is not known well enough to say how long.'}"
    else:
        head = f"Nothing to add; water changes bring it to {level_text(target, s.decimals, s.unit)}"
        reason += " It is not dosed: look for what brings it in (new water, food, salt mix)."
    cautions = (*s.level_cautions(), *((LABEL_FIRST,) if s.doses else ()))
    return Decision("change", "lower", head, reason + limit, cautions)


def _at_the_edge(s: Situation) -> Decision:
    level = s.level_now if s.level_now is not None else (s.level or 0.0)
    if s.limit:
        return Decision(
            "test",
            "test",
            f"Test with a kit that reads below {s.text(level)}",
            "The kit cannot show whether it is inside the aim.",
        )
    below = s.low is not None and level < s.low
    bound = (s.low if below else s.high) or 0.0
    side = "below" if below else "above"
    also = ""
    if (
        s.behaviour == "used"
        and s.rate is not None
        and s.rate_low is not None
        and s.dose is not None
    ):
        use = s.no_use_shown()[:-1]
        if s.rate_low > 0 and s.rate_high is not None:
            span = f"{_number(s, s.rate_low)} to {s.rate_in_words(s.rate_high)}"
            use = f"With doses as stated, the use is {span} a day"
        dose = f"the dose {s.rate_in_words(s.dose)}" if s.dose > 0 else "nothing is dosed"
        also = f" {use}; {dose}."
    return Decision(
        "test",
        "test",
        f"Test again: it may lie just {side} {s.text(bound)}",
        f"The last readings leave it {side} the aim by less than their scatter.{also}",
    )


def _no_rate(s: Situation) -> Decision:
    inside = "Inside the aims. " if s.low is not None or s.high is not None else ""
    return Decision("test", "test", _capital(s.more_tests()), f"{inside}{s.refusal}".strip())


def _not_dosed(s: Situation) -> Decision:
    low = s.rate_low if s.rate_low is not None else 0.0
    quarter = s.quarter_band()
    if low <= 0:
        if quarter is None or s.worst_month() < quarter:
            return Decision("leave", "keep", "Keep: nothing is dosed", s.no_use_shown())
        return Decision("test", "test", f"Dose nothing, {s.more_tests()}", s.no_use_shown())
    if quarter is not None and s.worst_month() < quarter:
        return Decision(
            "leave",
            "keep",
            "Keep: nothing is dosed",
            f"It falls by {s.rate_in_words(s.rate or 0.0)} a day, too little to matter within a month.",
        )
    if _too_slow(s, s.rate or 0.0):
        return Decision(
            "test",
            "test",
            f"Dose nothing, {s.more_tests()}",
            f"It falls by {s.rate_in_words(s.rate or 0.0)} a day: perhaps too little to matter.",
        )
    if s.low is None and s.high is None:
        reason = (
            f"It falls by {s.rate_in_words(s.rate or 0.0)} a day. No aim is set, so whether that "
            "matters cannot be told: write one in tank.toml."
        )
        return Decision("leave", "keep", "Set an aim: nothing is dosed", reason)
    head = f"Begin to replace what is used: {s.rate_in_words(s.rate or 0.0)} a day"
    reason = "Inside the aims, but it falls and nothing is dosed."
    return Decision("change", "raise", head, reason, s.dose_cautions(True))


def _too_slow(s: Situation, rate: float) -> bool:
    """Whether a rate moves the level by less than a quarter of its band in a month."""
    quarter = s.quarter_band()
    return quarter is not None and MONTH * abs(rate) < quarter


def _use_against_dose(s: Situation) -> Decision:
    rate, low, high, dose = s.rate or 0.0, s.rate_low or 0.0, s.rate_high or 0.0, s.dose or 0.0
    quarter = s.quarter_band()
    near = dose * (1 - SMALL_GAP) <= low and high <= dose * (1 + SMALL_GAP)
    slow = quarter is not None and s.worst_month() < quarter
    if near or slow:
        reason = (
            f"Use {s.rate_in_words(rate)} a day and dose {s.rate_in_words(dose)} agree."
            if near
            else "Whatever the interval allows, a month moves it by less than a quarter of the aim."
        )
        if low <= 0:
            reason = f"{s.no_use_shown()} {reason}"
        return Decision("leave", "keep", "Keep the dose", reason)
    # A use this close to the dose would be left alone if it were known well: no reason to change.
    close = abs(rate - dose) <= SMALL_GAP * dose or _too_slow(s, rate - dose)
    if close or low <= dose <= high:
        may = "may or may not be" if low <= dose <= high else "may or may not be far enough from"
        reason = (
            f"With doses as stated, the use ({_number(s, low)} to {s.rate_in_words(high)} a day) "
            f"{may} the dose ({s.rate_in_words(dose)}): more readings decide."
        )
        if low <= 0:
            reason = (
                f"{s.no_use_shown()} The dose brings {s.rate_in_words(dose)}: more readings decide."
            )
        return Decision("test", "test", f"Keep the dose, {s.more_tests()}", reason)
    if rate > dose:
        steps = s.rise_per_day is not None and rate - dose > s.rise_per_day
        verb = f"Raise the dose{' in steps' if steps else ''}"
        head = f"{verb}: {_number(s, dose)} to {s.rate_in_words(rate)} a day"
        return Decision(
            "change",
            "raise",
            head,
            "More is used than the doses bring: use rose, or less was delivered than set.",
            s.dose_cautions(True),
        )
    if high <= 0:
        return Decision(
            "change",
            "lower",
            "Stop the dose and find out why the level rises",
            "The level rises by more than the doses bring.",
            (LABEL_FIRST,),
        )
    return Decision(
        "change",
        "lower",
        f"Lower the dose: {_number(s, dose)} to {s.rate_in_words(rate)} a day",
        "Less is used than the doses bring.",
        (LABEL_FIRST,),
    )
