"""What has to be confirmed or repaired before any advice: jumps, single readings, unread rows."""

from __future__ import annotations

from reef_calc.plan.decision import LABEL_FIRST, Decision, Situation

NOTHING_YET = f"Dose nothing on this reading alone. {LABEL_FIRST}"
TEST_TODAY = "Test again today, with a second kit or a standard"


def confirm_first(s: Situation, where: str) -> Decision | None:
    """Return the request to test again before a reading is acted on.

    Parameters
    ----------
    s : Situation
        Level, expectation and the reading before.
    where : {"", "below", "above", "edge"}
        Side of the aims that the level lies on.

    Returns
    -------
    Decision or None
        None where the reading may be acted on.

    Notes
    -----
    *Common practice, no source*: no correction on one reading alone.

    Examples
    --------
    >>> crash = Situation("alkalinity", "dKH", "used", level=5.5, low=7, high=8.5, previous=8.0,
    ...     jump=0.5)
    >>> confirm_first(crash, "below").reason
    'The last reading, 5.5 dKH, is far from the one before, 8.0 dKH. A slip, a kit or the tank: ...'
    """
    outside = where in ("below", "above")
    reason = _off_course(s) or (_unconfirmed(s) if outside else "")
    if not reason:
        return None
    return Decision("test", "test", TEST_TODAY, reason, (NOTHING_YET,) if where else ())


def doubted_last(s: Situation) -> Decision | None:
    """Return the request to test again where the last reading of all is doubted.

    Parameters
    ----------
    s : Situation
        The last reading in words where it is doubted or left out.

    Returns
    -------
    Decision or None
        None where the last reading is believed.

    Examples
    --------
    >>> s = Situation("alkalinity", "dKH", "used", level=8.0, doubted="5.0 dKH on 10 Apr 2026")
    >>> doubted_last(s).headline
    'Test again today, with a second kit or a standard'
    """
    if not s.doubted:
        return None
    reason = (
        f"The last reading, {s.doubted}, does not fit and is not used. A slip, a kit or the tank: one "
        "more test tells."
    )
    return Decision("test", "test", TEST_TODAY, reason, (NOTHING_YET,))


def repair_first(s: Situation) -> Decision | None:
    """Return the request to repair rows of the log that could not be read.

    Parameters
    ----------
    s : Situation
        The rows in words.

    Returns
    -------
    Decision or None
        None where every row that matters was read.

    Examples
    --------
    >>> s = Situation("alkalinity", "dKH", "used", level=8.0, unread="additions.csv, row 2",
    ...     refusal="A dose is missing.")
    >>> repair_first(s).headline
    'Repair additions.csv, row 2, then look again'
    """
    if not s.unread:
        return None
    return Decision("test", "look", f"Repair {s.unread}, then look again", s.refusal)


def _off_course(s: Situation) -> str:
    if s.expected is None or s.level is None or s.jump is None:
        return ""
    low, high = s.expected
    beyond = max(low - s.level, s.level - high)
    if beyond <= 0 or abs(s.level - (low + high) / 2) <= s.jump:
        return ""
    return (
        f"The last reading, {s.text(s.level)}, is far from what doses and use lead to expect "
        f"({s.text(low)} to {s.text(high)}). A slip, a kit or the tank: one more test tells."
    )


def _unconfirmed(s: Situation) -> str:
    if s.level is None:
        return ""
    if s.single:
        return (
            f"One reading alone says {s.text(s.level)}. A slip would look the same: a second one "
            "tells."
        )
    if s.expected is not None or s.previous is None or s.jump is None:
        return ""
    if abs(s.level - s.previous) <= s.jump:
        return ""
    return (
        f"The last reading, {s.text(s.level)}, is far from the one before, {s.text(s.previous)}. "
        "A slip, a kit or the tank: one more test tells."
    )
