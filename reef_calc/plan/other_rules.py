"""The rule of decision for what is not dosed by use: nutrients and properties of the water."""

from __future__ import annotations

import math

from reef_calc.numbers_in_words import rate_text
from reef_calc.plan.decision import MONTH, Decision, Situation


def decide_net(s: Situation, where: str) -> Decision:
    """Return what to do about a net sum of feeding, uptake and export; it rises or falls.

    Parameters
    ----------
    s : Situation
        Level, aims and rate; a positive rate falls.
    where : {"", "below", "above"}
        Side of the aims that the level lies on.

    Returns
    -------
    Decision
        Find out why, where it is outside or leaves the aims within a month; else keep.

    Examples
    --------
    >>> rising = Situation("nitrate", "mg/L", "net", level=9, low=2, high=10, rate=-0.1,
    ...     rate_low=-0.12, rate_high=-0.08)
    >>> decide_net(rising, "").headline
    'Find out why it rises'
    """
    level = s.level if s.level is not None else math.nan
    clear = s.rate_low is not None and s.rate_high is not None and s.rate_low * s.rate_high > 0
    moves = ""
    if clear and s.rate is not None:
        word = "falls" if s.rate > 0 else "rises"
        low, high = (MONTH * (x or 0.0) for x in (s.rate_low, s.rate_high))
        moves = f" It {word} by {rate_text(abs(s.rate) * MONTH, low, high, s.unit)} a month."
    if where == "above":
        return Decision(
            "change",
            "look",
            "Find out why it is high"
            if not clear or (s.rate or 0) > 0
            else "Find out why it rises",
            f"Above the aim of {s.text(s.high or 0.0)}.{moves} Feeding, export, dead matter and "
            "source water are the usual places to look.",
        )
    if where == "below":
        return Decision(
            "change",
            "look",
            "Find out why it is low",
            f"Below the aim of {s.text(s.low or 0.0)}.{moves} Feeding less or exporting more than "
            "before fits.",
        )
    if clear and s.rate is not None:
        edge = s.low if s.rate > 0 else s.high
        fastest = min(abs(s.rate_low or 0.0), abs(s.rate_high or 0.0))
        if edge is not None and fastest > 0 and abs(edge - level) / fastest < MONTH:
            word = "falls" if s.rate > 0 else "rises"
            return Decision(
                "change",
                "look",
                f"Find out why it {word}",
                f"Inside the aim, but at this pace it leaves within a month.{moves}",
            )
    inside = "Inside the aims." if s.low is not None or s.high is not None else "No aim is set."
    return Decision(
        "leave",
        "keep",
        "Keep as it is",
        f"{inside} {s.refusal}" if s.rate is None and s.refusal else f"{inside}{moves}",
    )


def decide_state(s: Situation, where: str) -> Decision:
    """Return what to do about a property of the water, such as salinity.

    Parameters
    ----------
    s : Situation
        Level and aims.
    where : {"", "below", "above"}
        Side of the aims that the level lies on.

    Returns
    -------
    Decision
        Bring it back slowly, or keep.

    Examples
    --------
    >>> salt = Situation("salinity", "PSU", "state", level=33.2, low=34, aim=35, high=36,
    ...     rise_per_day=1.0)
    >>> decide_state(salt, "below").headline
    'Bring it back from 33.2 PSU to 35.0 PSU, at most 1 PSU a day'
    """
    level = s.level if s.level is not None else math.nan
    if not where:
        inside = s.low is not None or s.high is not None
        reason = "Inside the aims." if inside else "No aim is set."
        return Decision("leave", "keep", "Keep as it is", reason)
    bound = s.low if where == "below" else s.high
    step = s.rise_per_day if where == "below" else s.fall_per_day
    pace = f", at most {step:.3g} {s.unit} a day" if step else ", slowly"
    head = f"Bring it back from {s.text(level)} to {s.text(s.target(bound or level))}{pace}"
    reason = f"{'Below' if where == 'below' else 'Above'} the aim of {s.text(bound or 0.0)}."
    cautions = (
        "Check the meter first with a standard; animals bear slow changes only.",
        *s.level_cautions(),
    )
    return Decision("change", "raise" if where == "below" else "lower", head, reason, cautions)
