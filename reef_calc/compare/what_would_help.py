"""The one thing that would make a comparison clearer."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.compare.verdict import Verdict, nearly_as_allowed
from reef_calc.messages import Message


def what_would_help(
    messages: Sequence[Message], verdict: Verdict | None, *, unit: str, allowed: float | None
) -> str:
    """Return the one thing that would make a comparison clearer.

    Parameters
    ----------
    messages : sequence of Message
        What limits it.
    verdict : Verdict or None
        Its verdict.
    unit : str
        Unit of the readings.
    allowed : float or None
        Allowed difference (unit).

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> what_would_help((), None, unit="dKH", allowed=None)
    'Say how far the two kits may differ, in dKH; then it can be told whether they do.'
    """
    there = {one.code: one for one in messages}
    settled = verdict is not None and verdict.statement in ("within", "beyond")
    if "ZERO_SPREAD" in there:
        return "Test more waters, of other levels: without scatter there is nothing to judge by."
    if "OUTLIER" in there:
        return "Test the water that does not fit once more with both kits, if some of it is left."
    if "NOT_SAME_WATER" in there:
        return "Test the same cup with both kits within an hour."
    if "STOPPING" in there and "not decided" in there["STOPPING"].text:
        return "Go on with the tests of the study as planned."
    if "COARSE" in there and not settled:
        return (
            "Test waters of other levels, between the steps of the scales, or take a kit with finer "
            "steps."
        )
    if allowed is None:
        return (
            f"Say how far the two kits may differ, in {unit}; then it can be told whether they do."
        )
    if verdict is None and "NOT_STRAIGHT" in there:
        return "Compare the waters of each level by themselves."
    if verdict is None and "TREND" in there:
        return "Test more waters, eight or more in all, with levels well apart."
    if verdict is not None and verdict.further_waters is not None:
        count = verdict.further_waters
        waters = "One further water" if count == 1 else f"About {count} further waters"
        return f"{waters} with both kits, if they go on like these."
    if verdict is not None and not settled:
        half = (verdict.high - verdict.low) / 2.0
        if not nearly_as_allowed(verdict.estimate, half, verdict.allowed):
            return "Kits that scatter less, or a larger allowed difference; more tests hardly help."
        return (
            "More tests like these would hardly settle it: the difference is about as large as what is "
            "allowed. A standard at this level tells which kit to believe."
        )
    if {"NO_ANSWER_AT", "EXTRAPOLATED"} & set(there):
        return "Mix waters of the levels you ask about in cups, and test them with both kits."
    if "RATIO_SENSITIVE" in there:
        return "Read some waters twice with each kit: how they scatter decides the line."
    return "Nothing more is needed for this question."
