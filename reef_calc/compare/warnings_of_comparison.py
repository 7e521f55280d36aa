"""What limits a comparison of two kits, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.difference import MeanDifference
from reef_calc.compare.difference_words import plain, reads_words
from reef_calc.compare.outlier import Outlier
from reef_calc.compare.pairs import SAME_WATER_HOURS, Pairs
from reef_calc.compare.trend import Trend
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for

# What touches the number itself first, then what limits it, then what is worth knowing.
ORDER = (
    "ZERO_SPREAD", "NOT_SAME_WATER", "COARSE", "OUTLIER", "STOPPING", "EXTRAPOLATED", "NO_ANSWER_AT",
    "DEGENERATE", "NOT_CONVERGED", "NEGATIVE_OR_ZERO", "TIES", "STUCK", "UNBOUNDED", "SCATTERS_MORE",
    "TREND", "NARROW_RANGE", "FEW",
    "NOT_STRAIGHT", "TWO_LEVELS", "SPREAD_GROWS", "RATIO_ASSUMED", "RATIO_SENSITIVE",
    "UNEQUAL_REPS", "DROPPED", "LEFT_OUT", "RECOVERY", "STEPS_ONLY",
)  # fmt: skip
# Limits of agreement of fewer waters are rough (common practice, no source).
FEW_FOR_LIMITS = 20


def in_order(messages: Sequence[Message]) -> tuple[Message, ...]:
    """Return messages in the order of their weight, each once.

    Parameters
    ----------
    messages : sequence of Message
        Messages.

    Returns
    -------
    tuple of Message
        Those that touch the number first.

    Examples
    --------
    >>> [one.code for one in in_order((Message("FEW", "a"), Message("COARSE", "b")))]
    ['COARSE', 'FEW']
    """
    once = list(dict.fromkeys(messages))
    place = {code: i for i, code in enumerate(ORDER)}
    return tuple(sorted(once, key=lambda one: place.get(one.code, len(ORDER))))


def of_readings(pairs: Pairs, coarse: Sequence[str], difference: MeanDifference) -> list[Message]:
    """Return what the readings themselves limit.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    coarse : sequence of str
        Kits whose steps do not average out.
    difference : MeanDifference
        Mean difference.

    Returns
    -------
    list of Message
        ZERO_SPREAD, COARSE, NOT_SAME_WATER, UNEQUAL_REPS, DROPPED, as they apply.

    Examples
    --------
    >>> from reef_calc.compare.difference import difference_of_kits
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.5,)) for i in range(6))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.5, waters)
    >>> of_readings(pairs, (), difference_of_kits(pairs))[0].text
    'All 6 differences are equal, so there is no scatter to judge by and no interval. Test waters of
    other levels.'
    """
    said = []
    if difference.no_scatter:
        said.append(
            Message(
                "ZERO_SPREAD",
                f"All {pairs.n} differences are equal, so there is no scatter to judge by and no "
                "interval. Test waters of other levels.",
                "refused",
            )
        )
    elif coarse:
        steps = {pairs.kit_a: pairs.resolution_a, pairs.kit_b: pairs.resolution_b}
        listed = " and ".join(f"{kit} ({plain(steps[kit])} {pairs.unit})" for kit in coarse)
        whose = "The steps" if len(coarse) == 1 else "The steps of both scales,"
        said.append(
            Message(
                "COARSE",
                f"{whose} of {listed} are wide beside the scatter, and these waters hardly shake "
                "them. More tests of such water would round alike, so the interval counts the steps "
                "whole."
                if len(coarse) == 1
                else f"The steps of {listed} are wide beside the scatter, and these waters hardly "
                "shake them. More tests of such water would round alike, so the interval counts the "
                "steps whole.",
                "qualified",
            )
        )
    said += _hours(pairs) + _repeats(pairs)
    if pairs.dropped:
        shown = " ".join(pairs.dropped[:5])
        rest = len(pairs.dropped) - 5
        more = f" And {rest} more like these." if rest > 0 else ""
        said.append(Message("DROPPED", f"Left out or changed: {shown}{more}", "qualified"))
    return said


def _hours(pairs: Pairs) -> list[Message]:
    late = [
        (water.hours_apart, water.name)
        for water in pairs.waters
        if water.hours_apart is not None and water.hours_apart > SAME_WATER_HOURS * (1 + 1e-9)
    ]
    if not late:
        return []
    longest, name = max(late)
    which = "One water was" if len(late) == 1 else f"{len(late)} waters were"
    worst = f"water {name}, " if len(late) > 1 else f"water {name}: "
    unit = "hours" if longest < 48 else "days"
    size = longest if longest < 48 else longest / 24.0
    return [
        Message(
            "NOT_SAME_WATER",
            f"{which} read with the two kits more than an hour apart ({worst}{plain(size, 2)} {unit}). "
            "If it changed in between, that counts as a difference of the kits.",
            "qualified",
        )
    ]


def _repeats(pairs: Pairs) -> list[Message]:
    unequal = [
        kit
        for kit, counts in (
            (pairs.kit_a, {len(water.a) for water in pairs.waters}),
            (pairs.kit_b, {len(water.b) for water in pairs.waters}),
        )
        if len(counts) > 1
    ]
    if not unequal:
        return []
    return [
        Message(
            "UNEQUAL_REPS",
            f"Not every water was read equally often with {' and '.join(unequal)}. Each water counts "
            "once, by the mean of its readings.",
        )
    ]


def of_trend(
    trend: Trend | None, pairs: Pairs, *, has_line: bool, withheld: bool = False
) -> list[Message]:
    """Return whether difference or scatter change with the level.

    Parameters
    ----------
    trend : Trend or None
        How both go with the level.
    pairs : Pairs
        Waters read with both kits.
    has_line : bool
        Whether the answer follows a line, so that a change of the difference is allowed for.
    withheld : bool, optional
        Whether a verdict is withheld for it.

    Returns
    -------
    list of Message
        TREND, SPREAD_GROWS, as they apply.

    Examples
    --------
    >>> from reef_calc.compare.trend import trend_of_differences
    >>> found = trend_of_differences([0.1, 0.3, 0.4, 0.6, 0.9], [4.0, 6.0, 8.0, 10.0, 12.0])
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, ())
    >>> of_trend(found, pairs, has_line=True)[0].text
    'The difference changes with the level: by 0.095 dKH for each dKH. The line allows for it.'
    """
    if trend is None:
        return []
    said = []
    if trend.clear:
        how = (
            "The line allows for it."
            if has_line
            else "The mean difference is that of these waters alone and does not hold at each level"
            + (", so no verdict is given." if withheld else ".")
        )
        said.append(
            Message(
                "TREND",
                f"The difference changes with the level: by {plain(trend.difference.slope, 2)} "
                f"{pairs.unit} for each {pairs.unit}. {how}",
                "told" if has_line else "qualified",
            )
        )
    if trend.spread_clear and trend.spread.slope > 0.0:
        said.append(
            Message(
                "SPREAD_GROWS",
                "The differences scatter more at higher levels. At low levels the kits agree better "
                "than one interval for all says, at high levels worse.",
                "qualified",
            )
        )
    return said


def of_outlier(
    outlier: Outlier | None, pairs: Pairs, without: MeanDifference | None
) -> list[Message]:
    """Return the water that does not fit the others, with the result without it.

    Parameters
    ----------
    outlier : Outlier or None
        The furthest water.
    pairs : Pairs
        Waters read with both kits.
    without : MeanDifference or None
        Mean difference without that water.

    Returns
    -------
    list of Message
        OUTLIER where one is named.

    Examples
    --------
    >>> of_outlier(None, Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, ()), None)
    []
    """
    if outlier is None or not outlier.named:
        return []
    water = pairs.waters[outlier.index]
    unit = pairs.unit
    decimals = max(decimals_for(max(pairs.resolution_a, pairs.resolution_b, 1e-6)), 0)
    read = (
        f"{pairs.kit_a} {plain(float(np.mean(water.a)), 6)}, {pairs.kit_b} "
        f"{plain(float(np.mean(water.b)), 6)} {unit}"
    )
    second = ""
    if without is not None:
        if without.low is not None and without.high is not None:
            decimals = max(decimals_for((without.high - without.low) / 2.0), 0)
        said = reads_words(without.mean, pairs.kit_a, pairs.kit_b, unit, decimals)
        second = f" Without it, {said} on average."
    return [
        Message(
            "OUTLIER",
            f"Water {water.name} does not fit the others ({read}); it may be misread. It counts all "
            f"the same.{second}",
            "qualified",
        )
    ]


def of_levels(
    pairs: Pairs, bias: Sequence[BiasAt], unanswered: Sequence[float], *, trend_clear: bool
) -> list[Message]:
    """Return for which levels the waters give no answer, or one that reaches beyond them.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    bias : sequence of BiasAt
        Difference at the levels asked about.
    unanswered : sequence of float
        Levels without an answer (unit).
    trend_clear : bool
        Whether the difference changes with the level.

    Returns
    -------
    list of Message
        EXTRAPOLATED, NO_ANSWER_AT, as they apply.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, (Water("1", (8.0,), (8.4,)),))
    >>> of_levels(pairs, (), [12.0], trend_clear=False)[0].text
    'These waters say nothing about 12 dKH: they were read from 8.2 to 8.2 dKH.'
    """
    said = []
    beyond = [one.level for one in bias if one.extrapolated]
    if beyond:
        said.append(
            Message(
                "EXTRAPOLATED",
                f"{_listed(beyond)} {pairs.unit} {_is_are(beyond)} outside the waters that were "
                "tested. The number there holds only if the line goes on straight, which nothing has "
                "shown, so no verdict is given.",
                "qualified",
            )
        )
    if unanswered:
        low, high = (plain(float(one), 6) for one in (pairs.means.min(), pairs.means.max()))
        why = (
            "the difference changes with the level, and these waters give no line for it"
            if trend_clear
            else f"they were read from {low} to {high} {pairs.unit}"
        )
        said.append(
            Message(
                "NO_ANSWER_AT",
                f"These waters say nothing about {_listed(unanswered)} {pairs.unit}: {why}.",
                "refused",
            )
        )
    return said


def _listed(levels: Sequence[float]) -> str:
    texts = [plain(one, 6) for one in levels]
    return texts[0] if len(texts) == 1 else ", ".join(texts[:-1]) + " and " + texts[-1]


def _is_are(levels: Sequence[float]) -> str:
    return "lies" if len(levels) == 1 else "lie"
