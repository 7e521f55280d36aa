"""Two kits on the same waters: the whole chain from pairs to a verdict in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from reef_calc.compare.allowed import Allowed
from reef_calc.compare.answer_at_levels import basis_of, furthest_water, of_ratio
from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.chosen_line import ChosenLine, Wanted, choose_line
from reef_calc.compare.coarse_steps import coarse_kits, steps_variance
from reef_calc.compare.comparison_table import summary_table
from reef_calc.compare.difference import MeanDifference, difference_of_kits
from reef_calc.compare.difference_words import percent_words, reads_words, span_words
from reef_calc.compare.identifiability import FEWEST_WATERS
from reef_calc.compare.level_verdicts import (
    Basis,
    level_decimals,
    together,
    verdicts_at,
)
from reef_calc.compare.limits_of_agreement import LimitsOfAgreement, limits_of_kits
from reef_calc.compare.outlier import Outlier
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.repeatability import Repeatability, repeatability_of_kits
from reef_calc.compare.stopping import Look, Rule
from reef_calc.compare.stopping_verdicts import stopping_verdict
from reef_calc.compare.trend import Trend, trend_of_kits
from reef_calc.compare.verdict import Verdict
from reef_calc.compare.warnings_of_comparison import (
    FEW_FOR_LIMITS,
    in_order,
    of_levels,
    of_outlier,
    of_readings,
    of_trend,
)
from reef_calc.compare.what_would_help import what_would_help
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed


@dataclass(frozen=True)
class Comparison:
    """What pairs of readings say about two kits; differences are B − A.

    Attributes
    ----------
    pairs : Pairs
        The waters.
    confidence : float
        Confidence of the intervals (share).
    scatter_a, scatter_b : Repeatability or None
        Scatter of the kits, from repeats or typed.
    difference : MeanDifference
        Mean difference (unit of the pairs).
    percent : MeanDifference or None
        The same in per cent of the level; None where a reading is not above 0.
    limits : LimitsOfAgreement or None
        Between which single differences lie; None without scatter.
    trend : Trend or None
        How difference and scatter go with the level; None with fewer than three waters.
    chosen : ChosenLine
        The line, or the reasons for none, and what the answer rests on.
    coarse : tuple of str
        Kits whose steps do not average out.
    bias : tuple of BiasAt
        Difference at each level asked about that is answered; at the level of the waters where none
        was asked about.
    allowed : Allowed
        Allowed difference.
    verdicts : tuple of Verdict
        One a level; none without an allowed difference, beyond the waters, or without scatter.
    verdict : Verdict or None
        All of them in one.
    look : Look or None
        Where a study stands that may be stopped early.
    outlier : Outlier or None
        The furthest water from what the answer rests on.
    without : Comparison or None
        The second result, without a water that does not fit.
    messages : tuple of Message
        What limits it, the weightiest first.
    what_would_help : str
        The one thing that would make it clearer.
    """

    pairs: Pairs
    confidence: float
    scatter_a: Repeatability | None
    scatter_b: Repeatability | None
    difference: MeanDifference
    percent: MeanDifference | None
    limits: LimitsOfAgreement | None
    trend: Trend | None
    chosen: ChosenLine
    coarse: tuple[str, ...]
    bias: tuple[BiasAt, ...]
    allowed: Allowed
    verdicts: tuple[Verdict, ...]
    verdict: Verdict | None
    look: Look | None
    outlier: Outlier | None
    without: Comparison | None
    messages: tuple[Message, ...]
    what_would_help: str

    @property
    def sentence(self) -> str:
        """The verdict, or how far the kits read apart where there is none."""
        if self.verdict is not None:
            return self.verdict.sentence
        pairs = self.pairs
        if not self.bias:
            decimals = level_decimals(self.difference.mean, pairs)
            said = reads_words(self.difference.mean, pairs.kit_a, pairs.kit_b, pairs.unit, decimals)
            why = "The difference bends with the level, so no" if self.chosen.bent else "No"
            return f"{said} on these {pairs.n} waters. {why} interval can be given."
        return " ".join(self._at(one) for one in self.bias)

    @property
    def summary(self) -> pd.DataFrame:
        """All numbers, one a row."""
        return summary_table(self)

    def _at(self, one: BiasAt) -> str:
        pairs = self.pairs
        decimals = max(decimals_for(max((one.high - one.low) / 2.0, 1e-9)), 0)
        said = reads_words(one.bias, pairs.kit_a, pairs.kit_b, pairs.unit, decimals)
        near = "near" if self.chosen.method == "difference" else "at"
        level = fixed(one.level, level_decimals(one.level, pairs))
        return (
            f"{said} {near} {level} {pairs.unit} ({percent_words(self.confidence)}: "
            f"{span_words(one.low, one.high, decimals)})."
        )


def compare_pairs(
    pairs: Pairs,
    *,
    allowed: float | None = None,
    allowed_percent: float | None = None,
    levels: Sequence[float] = (),
    method: Wanted = "auto",
    error_ratio: float | None = None,
    sd_a: float | None = None,
    sd_b: float | None = None,
    planned: int | None = None,
    rule: Rule = "each pair",
    confidence: float = 0.95,
) -> Comparison:
    """Return how two kits differ on the same waters, with a verdict where a difference is allowed.

    The mean difference always; a line only where known levels or the range of the waters give one.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits, two or more, in the order they were read.
    allowed, allowed_percent : float, optional
        How far the kits may differ: in the unit of the pairs, or in per cent of the level. Without
        one there are numbers and no verdict.
    levels : sequence of float, optional
        Levels of interest (unit of the pairs); that of the waters when not given.
    method : str, optional
        ``auto``, ``difference``, ``known levels``, ``deming``, ``weighted deming``, ``york``, ``ols``
        or ``passing bablok``; no line is drawn where the waters do not allow one.
    error_ratio : float, optional
        Variance of one reading of A over that of B (ratio); from repeats or the typed scatter when not
        given.
    sd_a, sd_b : float, optional
        Typed standard deviation of one reading of each kit (unit of the pairs).
    planned : int, optional
        Number of waters at most, for a study that may be stopped early.
    rule : {"each pair", "four looks", "at the end"}, optional
        When such a study is looked at.
    confidence : float, optional
        Confidence of the intervals (share).

    Returns
    -------
    Comparison
        Everything with its messages.

    Raises
    ------
    InputError
        If there are fewer than two waters, or an option cannot be used.

    Notes
    -----
    Nothing is left out because it does not fit: such a water is named, and a second result without
    it stands beside the first.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> read = [(7.6, 7.9), (8.0, 8.2), (7.8, 8.2), (8.2, 8.4), (7.9, 8.3), (8.1, 8.3), (7.7, 8.1),
    ...         (8.0, 8.4), (7.9, 8.1), (8.1, 8.4)]
    >>> waters = tuple(Water(str(i + 1), (a,), (b,)) for i, (a, b) in enumerate(read))
    >>> pairs = Pairs("alkalinity", "dKH", "drops", "syringe", 0.1, 0.1, waters)
    >>> compare_pairs(pairs, allowed=0.5).sentence
    'syringe reads 0.30 dKH above drops near 8.1 dKH (95 %: 0.23 to 0.37 above). They agree within the
    0.5 dKH allowed.'

    References
    ----------
    Bland and Altman 1986, Lancet i, 307; Linnet 1999, Clinical Chemistry 45, 882; own simulation.
    """
    limit = Allowed(allowed, allowed_percent)
    if planned is not None and not limit.given:
        raise InputError(
            "an allowed difference for a study that may be stopped early",
            "none",
            "Type how far the kits may differ.",
            "allowed difference",
        )
    asked = tuple(_level(one) for one in levels)
    scatter = repeatability_of_kits(pairs, sd_a=sd_a, sd_b=sd_b, confidence=confidence)
    coarse = coarse_kits(pairs, scatter)
    variance = steps_variance(pairs) if coarse else 0.0
    difference = difference_of_kits(pairs, not_averaged=variance, confidence=confidence)
    trend = _trend(pairs, confidence)
    chosen = choose_line(
        pairs, method=method, given_ratio=error_ratio, scatter_a=scatter[0], scatter_b=scatter[1],
        trend=trend, confidence=confidence,
    )  # fmt: skip
    trend_clear = trend is not None and trend.clear
    basis, unanswered = basis_of(
        pairs, chosen, difference, asked, variance, trend_clear, confidence
    )
    of_line = chosen.method != "difference"
    withheld = not of_line and trend is not None and not _holds_everywhere(trend, limit)
    few = pairs.n < FEWEST_WATERS and not of_line
    too_soon = planned is not None and few and _set_levels(pairs)
    verdicts, look, said_of_looks = (
        ((), None, _too_soon(pairs.n, planned) if too_soon else ())
        if withheld or too_soon
        else _verdicts(basis, limit, planned, rule)
    )
    outlier = furthest_water(pairs, chosen)
    without = None
    if outlier is not None and outlier.named and pairs.n > 3:
        rest = pairs.waters[: outlier.index] + pairs.waters[outlier.index + 1 :]
        without = compare_pairs(
            Pairs(**{**vars(pairs), "waters": rest, "dropped": ()}), allowed=allowed,
            allowed_percent=allowed_percent, levels=levels, method=method,
            error_ratio=error_ratio, sd_a=sd_a, sd_b=sd_b, confidence=confidence,
        )  # fmt: skip
    messages = in_order(
        [
            *of_readings(pairs, coarse, difference),
            *of_trend(trend, pairs, has_line=of_line, withheld=withheld),
            *of_outlier(outlier, pairs, None if without is None else without.difference),
            *of_levels(pairs, basis.bias, unanswered, trend_clear=trend_clear and not of_line),
            *_of_few(pairs, chosen),
            *of_ratio(pairs, chosen, basis.bias, limit),
            *chosen.messages,
            *said_of_looks,
        ]
    )
    verdict = together(verdicts, pairs.unit)
    given = limit.absolute if limit.percent is None else limit.percent
    return Comparison(
        pairs, confidence, *scatter, difference, _percent(pairs, variance, confidence),
        None if difference.no_scatter else limits_of_kits(pairs, confidence=confidence), trend,
        chosen, coarse, basis.bias, limit, verdicts, verdict, look, outlier, without, messages,
        what_would_help(messages, verdict, unit=pairs.unit, allowed=given),
    )  # fmt: skip


def _level(given: float) -> float:
    level = float(given)
    if not math.isfinite(level):
        raise InputError("a level", given, "Type the level you keep.", "levels of interest")
    return level


def _percent(pairs: Pairs, variance: float, confidence: float) -> MeanDifference | None:
    if min(min(water.a + water.b) for water in pairs.waters) <= 0.0:
        return None
    share = 100.0 / float(pairs.means.mean())
    return difference_of_kits(
        pairs, scale="percent", not_averaged=variance * share**2, confidence=confidence
    )


def _holds_everywhere(trend: Trend, allowed: Allowed) -> bool:
    """Return whether a clear trend leaves the difference on one side of what is allowed."""
    if not (allowed.given and trend.clear):
        return True
    ends = (trend.lowest, trend.highest)
    return len({abs(trend.difference.at(one)) < allowed.at(one) for one in ends}) == 1


def _set_levels(pairs: Pairs) -> bool:
    return len({water.nominal for water in pairs.waters if water.nominal is not None}) > 1


def _too_soon(n: int, planned: int | None) -> tuple[Message, ...]:
    return (
        Message(
            "STOPPING",
            f"Water {n} of at most {planned}: not decided. Set levels are judged from the eighth "
            "water on.",
            "qualified",
        ),
    )


def _trend(pairs: Pairs, confidence: float) -> Trend | None:
    if pairs.n < 3:
        return None
    try:
        return trend_of_kits(pairs, confidence=confidence)
    except CannotTellError:
        return None


def _verdicts(
    basis: Basis, allowed: Allowed, planned: int | None, rule: Rule
) -> tuple[tuple[Verdict, ...], Look | None, tuple[Message, ...]]:
    inside = tuple(one for one in basis.bias if not one.extrapolated)
    if not allowed.given or not inside:
        return (), None, ()
    within = Basis(**{**vars(basis), "bias": inside})
    if planned is None:
        return verdicts_at(within, allowed), None, ()
    return stopping_verdict(within, allowed, planned, rule)


def _of_few(pairs: Pairs, chosen: ChosenLine) -> list[Message]:
    if pairs.n >= FEW_FOR_LIMITS or any(one.code == "FEW" for one in chosen.messages):
        return []
    return [
        Message(
            "FEW",
            f"Between which limits single differences lie is only roughly known from {pairs.n} "
            "waters; the mean difference is not touched by that.",
        )
    ]
