"""What is said of a new supplement once readings have told how much of it arrives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from reef_calc.balance.additions import moment
from reef_calc.balance.refusals import day_text
from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval

if TYPE_CHECKING:
    from reef_calc.plan.did_it_work import ChangeOutcome

_CLOSE = 0.2
_LONGEST_WAIT = 28


def not_enough(
    supplement: str,
    before: np.ndarray,
    after: np.ndarray,
    first: float,
    zone: str,
    fewest: int,
    shortest: float,
) -> Message | None:
    """Return the refusal for too few readings before or after the first dose.

    Parameters
    ----------
    supplement : str
        The new supplement.
    before, after : array, shape (n,)
        Day numbers of the sittings before and after its first dose.
    first : float
        Day number of that dose (days).
    zone : str
        IANA zone.
    fewest : int
        Least number of sittings on either side.
    shortest : float
        Least span on either side (days).

    Returns
    -------
    Message or None
        None where there is enough.

    Examples
    --------
    >>> few = not_enough("soda", np.arange(0.0, 14.0, 2.0), np.array([15.0, 17.0]), 14.0, "UTC", 4, 7)
    >>> print(few.text)
    Too few readings since the first dose of soda (15 Jan 1970): 2. 2 more, the last on 22 Jan 1970 or
    later, would do.
    """
    day = day_text(moment(first), zone)
    if before.size < fewest or first - before[0] < shortest:
        seen = f"{before.size} over {first - before[0]:.0f} days" if before.size else "none"
        return Message(
            "TOO_FEW_BEFORE",
            f"Too few readings before the first dose of {supplement} ({day}): {seen}. {fewest} over "
            f"{shortest:g} days are the least, and no later reading can make up for them.",
            "refused",
        )
    if after.size < fewest or after[-1] - first < shortest:
        more = max(fewest - after.size, 1)
        last = float(after[-1]) if after.size else first
        by = day_text(moment(max(first + shortest, last + 2.0 * more)), zone)
        return Message(
            "TOO_FEW",
            f"Too few readings since the first dose of {supplement} ({day}): "
            f"{after.size or 'none'}. {more} more, the last on {by} or later, would do.",
            "refused",
        )
    return None


def decision_words(outcome: ChangeOutcome, last: float) -> tuple[Message, ...]:
    """Return what the readings say, and what to do about it.

    Parameters
    ----------
    outcome : ChangeOutcome
        With its share delivered.
    last : float
        Day number of the last reading (days).

    Returns
    -------
    tuple of Message
        The decision first.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.plan.did_it_work import ChangeOutcome
    >>> since = pd.Timestamp("2026-03-01", tz="UTC")
    >>> less = ChangeOutcome("soda", "alkalinity", "dKH", "UTC", since, 9, 9, (1.0, 0.9, 1.1),
    ...     (1.2, 1.1, 1.3), (0.8, 0.7, 0.9), 1.0, "less", ())
    >>> print(decision_words(less, 20600.0)[0].text)
    soda brings 80 ± 10 % of what is stated, if the tank's own use did not change. Measure the pump
    into a cylinder first, then look at salt, water of crystallisation and assay of the recipe, or at
    the age of the bottle. Meanwhile plan the dose anew: it follows the readings.
    """
    if outcome.delivered is None:
        return ()
    share, low, high = outcome.delivered
    percent = f"{with_interval(100 * share, 100 * low, 100 * high)} %"
    name = outcome.supplement
    if outcome.decision == "cannot tell":
        return (_cannot_tell(outcome, percent, last),)
    head = f"{name} brings {percent} of what is stated, if the tank's own use did not change."
    if outcome.decision == "as stated":
        if low <= 1.0 <= high:
            return (Message("BRINGS_AS_STATED", f"{head} That fits."),)
        return (
            Message(
                "BRINGS_AS_STATED",
                f"{head} A use that changed by less than a tenth would explain the difference, "
                "so no fault is shown.",
            ),
        )
    causes = (
        "Measure the pump into a cylinder first, then look at salt, water of crystallisation and "
        "assay of the recipe, or at the age of the bottle."
    )
    meanwhile = "Meanwhile plan the dose anew: it follows the readings."
    if outcome.decision == "less":
        return (Message("BRINGS_LESS", f"{head} {causes} {meanwhile}", "qualified"),)
    return (
        Message(
            "BRINGS_MORE",
            f"{head} {causes} {meanwhile}",
            "qualified",
        ),
    )


def _cannot_tell(outcome: ChangeOutcome, percent: str, last: float) -> Message:
    _, low, high = outcome.delivered or (math.nan,) * 3
    half = (high - low) / 2
    before = outcome.use_before
    text = (
        f"Cannot tell yet how much of {outcome.supplement} arrives: {percent} of what is stated "
        "would all fit."
    )
    if before and outcome.dose and (before[2] - before[1]) / 2 > _CLOSE * outcome.dose:
        return Message(
            "CANNOT_TELL",
            f"{text} The use before the change is not known well enough, and later readings help "
            "little. The pump run into a cylinder, and a spiked sample, would tell.",
            "refused",
        )
    since = last - (outcome.since.timestamp() / 86400.0)
    # With the same cadence the error of a slope falls with the time to the power of 3/2.
    more = since * ((half / _CLOSE) ** (2 / 3) - 1) if math.isfinite(half) else _LONGEST_WAIT
    wait = min(_LONGEST_WAIT, max(4, math.ceil(more)))
    return Message(
        "CANNOT_TELL",
        f"{text} Tests as often as now until {day_text(moment(last + wait), outcome.zone)} may tell.",
        "refused",
    )


def what_it_rests_on(outcome: ChangeOutcome) -> tuple[Message, ...]:
    """Return what the answer takes for granted.

    Parameters
    ----------
    outcome : ChangeOutcome
        With its uses before and after.

    Returns
    -------
    tuple of Message
        The uses before and after; what a changed use would look like.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.plan.did_it_work import ChangeOutcome
    >>> since = pd.Timestamp("2026-03-01", tz="UTC")
    >>> less = ChangeOutcome("soda", "alkalinity", "dKH", "UTC", since, 9, 9, (1.0, 0.9, 1.1),
    ...     (1.2, 1.1, 1.3), (0.8, 0.7, 0.9), 1.0, "less", ())
    >>> for message in what_it_rests_on(less):
    ...     print(message.text)
    With every dose taken as stated, the use was 1.00 ± 0.10 dKH a day before and is 1.20 ± 0.10 since:
    what is missing of a dose looks like use.
    A use that rose by a tenth in those weeks would look the same as 10 % less delivered. What was
    dosed before is taken as stated.
    """
    if outcome.use_before is None or outcome.use_after is None:
        return ()
    before, after = (with_interval(*use) for use in (outcome.use_before, outcome.use_after))
    found = [
        Message(
            "USE_BEFORE_AND_AFTER",
            f"With every dose taken as stated, the use was {before} {outcome.unit} a day before and "
            f"is {after} since: what is missing of a dose looks like use.",
        )
    ]
    tenth = outcome.tenth_of_use
    if tenth is not None:
        found.append(
            Message(
                "IF_USE_CHANGED",
                f"A use that rose by a tenth in those weeks would look the same as {100 * tenth:.0f} "
                "% less delivered. What was dosed before is taken as stated.",
                "qualified",
            )
        )
    return tuple(found)


def about_the_window(doubted: int, declared: Sequence[float], zone: str) -> tuple[Message, ...]:
    """Return what happened in the weeks that are compared.

    Parameters
    ----------
    doubted : int
        Number of readings left out as doubtful.
    declared : sequence of float
        Day numbers of changes that events.csv names (days).
    zone : str
        IANA zone.

    Returns
    -------
    tuple of Message
        None where nothing happened.

    Examples
    --------
    >>> about_the_window(0, [], "UTC")
    ()
    """
    found = []
    if declared:
        named = ", ".join(day_text(moment(day), zone) for day in declared)
        found.append(
            Message(
                "USE_MAY_HAVE_CHANGED",
                f"events.csv names something that changes the use ({named}): then this cannot tell "
                "the supplement from the use.",
                "qualified",
            )
        )
    if doubted:
        found.append(
            Message(
                "READINGS_LEFT_OUT",
                f"{doubted} doubted reading{'s' if doubted != 1 else ''} of the history "
                f"{'are' if doubted != 1 else 'is'} not used here.",
                "qualified",
            )
        )
    return tuple(found)
