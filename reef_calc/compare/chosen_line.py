"""Which line, if any, these waters allow between two kits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from reef_calc.compare.bias_at import BiasAt, bias_at
from reef_calc.compare.fitted_line import Line, Method
from reef_calc.compare.identifiability import FEWEST_WATERS, Identifiability, identifiability
from reef_calc.compare.known_levels import UNLIKELY, KnownLevels, known_levels
from reef_calc.compare.line_between import line_between
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.repeatability import Repeatability, error_ratio
from reef_calc.compare.trend import Trend
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import Message

Wanted = Literal[
    "auto", "difference", "known levels", "deming", "weighted deming", "york", "ols",
    "passing bablok",
]  # fmt: skip
WANTED: tuple[Wanted, ...] = (
    "auto", "difference", "known levels", "deming", "weighted deming", "york", "ols",
    "passing bablok",
)  # fmt: skip
_METHODS: dict[str, Method] = {
    "deming": "deming", "weighted deming": "weighted_deming", "york": "york", "ols": "ols",
    "passing bablok": "passing_bablok",
}  # fmt: skip
# Gain in the logarithm of the likelihood from which a scatter is taken as a share of the level.
_CLEAR_GAIN = 2.0


@dataclass(frozen=True)
class ChosenLine:
    """What the answer rests on.

    Attributes
    ----------
    method : str
        ``difference`` where there is no line; else the kind of line.
    line : Line or None
        B on A; None without a line and with known levels.
    known : KnownLevels or None
        What waters of known level say; also where they are too few for the answer to rest on them.
    gate : Identifiability or None
        Whether the waters differ enough for a line of B on A; None with fewer than three.
    error_ratio : float or None
        Variance of one reading of A over that of B that was used (ratio; of their shares of the level
        for a weighted line); None where none is needed.
    ratio_assumed : bool
        Whether equal scatter was assumed for want of anything better.
    messages : tuple of Message
        Why there is no line, or what limits it.
    """

    method: str
    line: Line | None
    known: KnownLevels | None
    gate: Identifiability | None
    error_ratio: float | None
    ratio_assumed: bool
    messages: tuple[Message, ...]

    @property
    def bent(self) -> bool:
        """Whether the difference does not follow the line that known levels give."""
        if self.method != "known levels" or self.known is None:
            return False
        fits = self.known.lack_of_fit
        return any(
            one.subject == "difference" and one.probability < UNLIKELY / len(fits) for one in fits
        )

    def bias_at(self, levels: Sequence[float]) -> tuple[BiasAt, ...]:
        """Return B − A at levels from the line.

        Parameters
        ----------
        levels : sequence of float
            Levels (unit of the levels).

        Returns
        -------
        tuple of BiasAt
            One for each level; empty without a line.
        """
        if self.method == "known levels" and self.known is not None:
            return self.known.bias_at(levels)
        return () if self.line is None else bias_at(self.line, levels)


def choose_line(
    pairs: Pairs,
    *,
    method: Wanted = "auto",
    given_ratio: float | None = None,
    scatter_a: Repeatability | None = None,
    scatter_b: Repeatability | None = None,
    trend: Trend | None = None,
    confidence: float = 0.95,
) -> ChosenLine:
    """Return the line that the waters allow, or the reasons for none.

    Known levels first; else, where the waters differ enough, Deming's line with the error ratio from
    repeats or typed scatter, weighted where the scatter grows with the level; any other on request.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    method : str, optional
        ``auto``, or what is wanted; where the waters do not allow it, there is none.
    given_ratio : float, optional
        Variance of one reading of A over that of B (ratio).
    scatter_a, scatter_b : Repeatability, optional
        Scatter of the kits.
    trend : Trend, optional
        How the scatter of the differences goes with the level.
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    ChosenLine
        Line or none, with the messages.

    Raises
    ------
    InputError
        If the method is unknown, or York's line is wanted without the scatter of both kits.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0 + 0.1 * (i % 3),), (8.3,)) for i in range(9))
    >>> choose_line(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)).method
    'difference'
    """
    if method not in WANTED:
        raise InputError("one of " + ", ".join(WANTED), method, "Choose one of them.", "method")
    shares = [float(np.mean([1.0 / len(one) for one in read])) for read in _readings(pairs)]
    gate = None
    if pairs.n >= 3:
        variances = [
            None if one is None else one.sd**2 * share
            for one, share in zip((scatter_a, scatter_b), shares, strict=True)
        ]
        gate = identifiability(
            pairs.a, pairs.b, unit=pairs.unit, variance_x=variances[0], variance_y=variances[1],
            confidence=confidence,
        )  # fmt: skip
    found = ChosenLine("difference", None, _known(pairs, confidence), gate, None, False, ())
    if method == "difference":
        return found
    if method in ("auto", "known levels"):
        of_known = _with_known(pairs, found, asked=method == "known levels")
        if of_known is not None:
            return of_known
    if gate is None or not gate.may_draw_line:
        said = _two_waters(pairs) if gate is None else gate.messages
        return _with(found, messages=_named(said, pairs))
    return _fitted(pairs, found, method, given_ratio, scatter_a, scatter_b, trend, confidence)


def _named(messages: tuple[Message, ...], pairs: Pairs) -> tuple[Message, ...]:
    """Return messages that speak of kit A and kit B with the names of the kits."""
    names = {"A": pairs.kit_a, "B": pairs.kit_b}
    return tuple(
        replace(one, text=re.sub(r"\b[Kk]it ([AB])\b", lambda found: names[found[1]], one.text))
        for one in messages
    )


def _readings(pairs: Pairs) -> tuple[list[tuple[float, ...]], list[tuple[float, ...]]]:
    return [water.a for water in pairs.waters], [water.b for water in pairs.waters]


def _with(found: ChosenLine, **parts: object) -> ChosenLine:
    return ChosenLine(**{**vars(found), **parts})


def _known(pairs: Pairs, confidence: float) -> KnownLevels | None:
    known = pairs.nominal[np.isfinite(pairs.nominal)]
    if known.size < 3 or np.ptp(known) == 0.0:
        return None
    return known_levels(pairs, confidence=confidence)


def _with_known(pairs: Pairs, found: ChosenLine, *, asked: bool) -> ChosenLine | None:
    count = int(np.isfinite(pairs.nominal).sum())
    if found.known is not None and count >= FEWEST_WATERS:
        return _with(found, method="known levels", messages=found.known.messages)
    if not asked:
        return None
    said = Message(
        "FEW",
        f"{count} waters of known level are too few; {FEWEST_WATERS} are needed, of different levels."
        if count != 1
        else f"One water of known level is too few; {FEWEST_WATERS} are needed, of different levels.",
        "qualified",
    )
    return _with(found, messages=(said,))


def _two_waters(pairs: Pairs) -> tuple[Message, ...]:
    return (
        Message(
            "FEW",
            f"{pairs.n} waters can only say how far apart the kits read on these, and that roughly.",
            "qualified",
        ),
    )


def _fitted(
    pairs: Pairs,
    found: ChosenLine,
    method: Wanted,
    given_ratio: float | None,
    scatter_a: Repeatability | None,
    scatter_b: Repeatability | None,
    trend: Trend | None,
    confidence: float,
) -> ChosenLine:
    if method in ("auto", "known levels"):
        grows = _scatter_grows(scatter_a, scatter_b, trend)
        method = "weighted deming" if grows and _positive(pairs) else "deming"
    ratio, assumed = None, False
    if method in ("deming", "weighted deming"):
        ratio, assumed = _ratio(given_ratio, scatter_a, scatter_b, method)
    try:
        line = line_between(
            pairs,
            _METHODS[method],
            error_ratio=ratio,
            sd_a=None if scatter_a is None else scatter_a.sd,
            sd_b=None if scatter_b is None else scatter_b.sd,
            confidence=confidence,
        )
    except NoLineError as error:
        return _with(found, messages=_named((error.message,), pairs))
    except CannotTellError as error:
        return _with(found, messages=(Message("DEGENERATE", str(error), "refused"),))
    said = _named(line.messages, pairs)
    if assumed:
        said += (
            Message(
                "RATIO_ASSUMED",
                f"How {pairs.kit_a} and {pairs.kit_b} scatter is not known, so the line takes it that "
                "both scatter alike. Read some waters twice with each kit, or type their "
                "repeatability.",
                "qualified",
            ),
        )
    return _with(
        found, method=method, line=line, error_ratio=ratio, ratio_assumed=assumed, messages=said
    )


def _positive(pairs: Pairs) -> bool:
    return bool(min(pairs.a.min(), pairs.b.min()) > 0.0)


def _scatter_grows(a: Repeatability | None, b: Repeatability | None, trend: Trend | None) -> bool:
    gains = [one.favours_share for one in (a, b) if one is not None]
    known = [gain for gain in gains if gain is not None]
    if known:
        return sum(known) > _CLEAR_GAIN
    return trend is not None and trend.spread_clear and trend.spread.slope > 0.0


def _ratio(
    given: float | None, a: Repeatability | None, b: Repeatability | None, method: Wanted
) -> tuple[float, bool]:
    """Return the error ratio of one reading, and whether it had to be assumed."""
    if given is not None:
        return given, False
    if a is None or b is None or b.sd <= 0.0:
        return 1.0, True
    cv_a, cv_b = a.coefficient_of_variation, b.coefficient_of_variation
    if method == "weighted deming" and cv_a and cv_b:
        return (cv_a / cv_b) ** 2, False
    return error_ratio(a, b).ratio, False
