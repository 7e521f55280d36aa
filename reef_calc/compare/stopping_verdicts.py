"""Verdicts of studies that may be stopped early: where they stand, and what follows from looking often."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from reef_calc.compare.allowed import Allowed
from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.chance_to_say import chance_to_say, chance_words
from reef_calc.compare.difference_words import percent_words, reads_words
from reef_calc.compare.level_verdicts import Basis, level_decimals, verdict_at
from reef_calc.compare.stopping import Look, Rule, look_at, looks
from reef_calc.compare.verdict import Verdict, verdict
from reef_calc.errors import CannotTellError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for


def stopping_verdict(
    basis: Basis, allowed: Allowed, planned: int, rule: Rule
) -> tuple[tuple[Verdict, ...], Look | None, tuple[Message, ...]]:
    """Return the verdicts of a study that may be stopped early, and where it stands.

    For a mean difference every look that was due is made again in order; for a line the look that is
    due now.

    Parameters
    ----------
    basis : Basis
        Differences at the levels.
    allowed : Allowed
        Allowed difference.
    planned : int
        Number of waters at most.
    rule : {"each pair", "four looks", "at the end"}
        When it is looked at.

    Returns
    -------
    tuple of Verdict
        One a level; "cannot tell" while the study goes on.
    Look or None
        Where it stands, for a mean difference.
    tuple of Message
        STOPPING: what follows from looking often.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.0 + 0.1 * (i % 2),)) for i in range(9))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> basis = Basis(pairs, (BiasAt(8.0, 0.044, 0.0176, 0.004, 0.085, False),), 8, 1, 0.0, 0.95)
    >>> found, look, messages = stopping_verdict(basis, Allowed(0.3), 20, "each pair")
    >>> found[0].statement, look.decided_at
    ('within', 6)
    """
    schedule = looks(planned, rule)
    last = schedule[-1][1]
    if basis.fitted == 1 and basis.bias:
        return _of_mean(basis, allowed, planned, rule, last)
    n = basis.pairs.n
    due = last if n >= planned else dict(schedule).get(n)
    ahead = next((number for number, _ in schedule if number > n), None)
    if due is not None:
        now = tuple(verdict_at(basis, one, allowed, due) for one in basis.bias)
        decided = all(one.statement in ("within", "beyond") for one in now)
        if n >= planned or (decided and now):
            final = tuple(verdict_at(basis, one, allowed, last) for one in basis.bias)
            early = n < planned
            return final, None, _ended(n, planned, last, early=early)
    waiting = tuple(_waiting(basis, one, allowed, last, ahead) for one in basis.bias)
    return waiting, None, (_goes_on(n, planned, ""),)


def _of_mean(
    basis: Basis, allowed: Allowed, planned: int, rule: Rule, last: float
) -> tuple[tuple[Verdict, ...], Look | None, tuple[Message, ...]]:
    pairs = basis.pairs
    size = float(max(np.abs(pairs.a).max(), np.abs(pairs.b).max()))
    # A share of the level allows another difference at each level, and each is looked at for itself.
    limits = [allowed.at(one.level) for one in basis.bias]
    found_at = [
        look_at(
            list(pairs.differences), limit, planned, rule=rule,
            u_not_averaged=basis.u_not_averaged, size=size,
        )
        for limit in limits
    ]  # fmt: skip
    # The study is as far as its slowest level.
    slowest = max(range(len(limits)), key=lambda i: found_at[i].decided_at or planned + 1)
    found, limit = found_at[slowest], limits[slowest]
    n = found.n
    if not found.over:
        sd = float(pairs.differences.std(ddof=1))
        chance = chance_to_say(
            "within", limit, planned, sd=sd, so_far=list(pairs.differences), rule=rule,
            u_not_averaged=basis.u_not_averaged,
        )  # fmt: skip
        words = (
            f" If the kits read alike, the chance is {chance_words(chance)} that {planned} waters "
            "will show that they agree."
        )
        waiting = tuple(
            _waiting(basis, each, allowed, last, found.next_look) for each in basis.bias
        )
        return waiting, found, (_goes_on(n, planned, words),)
    if found.estimate is None or found.low is None or found.high is None:
        return (), found, ()
    used = found.decided_at or min(n, planned)
    told = tuple(
        _told(basis, one.level, limit, at_level)
        for one, limit, at_level in zip(basis.bias, limits, found_at, strict=True)
    )
    messages = _ended(used, planned, found.confidence, early=found.stopped_early)
    if n > used:
        rest = n - used
        which = "water after it counts" if rest == 1 else f"{rest} waters after it count"
        messages += (
            Message(
                "STOPPING",
                f"The verdict fell at water {used}. The {which} in the numbers, not in the verdict.",
            ),
        )
    return told, found, messages


def _told(basis: Basis, level: float, limit: float, found: Look) -> Verdict:
    if found.estimate is None or found.low is None or found.high is None:
        raise CannotTellError("Without scatter there is no interval to judge by.")
    pairs = basis.pairs
    return verdict(
        found.estimate,
        found.low,
        found.high,
        limit,
        kit_a=pairs.kit_a,
        kit_b=pairs.kit_b,
        unit=pairs.unit,
        level=level,
        level_decimals=level_decimals(level, pairs),
        near=True,
        confidence=found.confidence,
    )


def _waiting(
    basis: Basis, one: BiasAt, allowed: Allowed, confidence: float, ahead: int | None
) -> Verdict:
    now = verdict_at(basis, one, allowed, confidence)
    n = basis.pairs.n
    count = None if ahead is None else ahead - n
    following = ""
    if count is not None:
        following = " The next look is after " + (
            "one further water." if count == 1 else f"{count} further waters."
        )
    decimals = max(decimals_for(max((now.high - now.low) / 2.0, 1e-9)), 0)
    pairs = basis.pairs
    so_far = reads_words(one.bias, pairs.kit_a, pairs.kit_b, pairs.unit, decimals)
    waters = "1 water" if n == 1 else f"{n} waters"
    sentence = f"Not decided after {waters}; so far {so_far}.{following}"
    return replace(now, statement="cannot tell", further_waters=count, sentence=sentence)


def _goes_on(n: int, planned: int, chance: str) -> Message:
    return Message("STOPPING", f"Water {n} of at most {planned}: not decided.{chance}", "qualified")


def _ended(used: int, planned: int, confidence: float, *, early: bool) -> tuple[Message, ...]:
    if not early:
        return (
            (
                Message(
                    "STOPPING",
                    f"The study ended with water {used} as planned. Because it was looked at on the way, "
                    f"its interval is the one of {percent_words(confidence)}.",
                ),
            )
            if not math.isclose(confidence, 0.95)
            else ()
        )
    return (
        Message(
            "STOPPING",
            f"Stopped early, at water {used} of {planned}. The interval is that of the last look, "
            f"{percent_words(confidence)}. A difference that stops a study early is on average put "
            "too large.",
            "qualified",
        ),
    )
