"""A wait between two steps of a test: still to go, over, or too long."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import Literal

from reef_calc.errors import InputError

Code = Literal["waiting", "ready", "late"]


@dataclass(frozen=True)
class WaitState:
    """Where a wait stands.

    Attributes
    ----------
    code : {"waiting", "ready", "late"}
        Before the shortest wait, after it, after the longest one.
    sentence : str
        The same in words, with what is left or over.
    """

    code: Code
    sentence: str


def steady_seconds() -> float:
    """Return the seconds of a clock that never goes back and that nobody can set.

    Returns
    -------
    float
        Seconds from an arbitrary beginning. Where the system has such a clock it goes on while
        the machine sleeps with its lid closed, since the chemistry goes on too.

    Examples
    --------
    >>> before = steady_seconds()
    >>> steady_seconds() >= before
    True
    """
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if clock is None else time.clock_gettime(clock)


def minutes_and_seconds(seconds: float) -> str:
    """Return whole seconds as a clock shows them.

    Parameters
    ----------
    seconds : float
        Time (seconds), 0 or more; parts of a second are left off.

    Returns
    -------
    str
        Such as ``4:32``, or ``1:04:32`` from an hour on.

    Raises
    ------
    InputError
        If it is below zero or no number.

    Examples
    --------
    >>> minutes_and_seconds(272.9), minutes_and_seconds(3872)
    ('4:32', '1:04:32')
    """
    if not 0 <= seconds < math.inf:
        raise InputError("seconds of 0 or more", seconds, "Give a time that has passed.")
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def wait_state(elapsed_s: float, shortest_s: float, longest_s: float | None = None) -> WaitState:
    """Return where a wait stands: still to go, over, or past its longest.

    waiting: t < shortest; ready: shortest ≤ t ≤ longest; late: t > longest. What is left to wait is
    rounded up and what is left to act is rounded down, so that nobody acts too early or too late.

    Parameters
    ----------
    elapsed_s : float
        Seconds since the wait began, t.
    shortest_s : float
        Shortest wait (seconds).
    longest_s : float, optional
        Longest wait (seconds); None when it has no end.

    Returns
    -------
    WaitState
        Code and sentence.

    Raises
    ------
    InputError
        If the waits are not 0 ≤ shortest ≤ longest, or the time is no number.

    Examples
    --------
    >>> wait_state(28, 300, 380).sentence
    '4:32 to go'
    >>> wait_state(300, 300, 380).sentence
    'Read now, at the latest in 1:20'
    >>> wait_state(390, 300, 380).sentence
    'Too late by 0:10: what is read now may mislead'
    >>> wait_state(312, 300).sentence
    'Ready since 0:12'

    References
    ----------
    Definition of the task; no source needed.
    """
    end = math.inf if longest_s is None else longest_s
    finite = math.isfinite(shortest_s) and (longest_s is None or math.isfinite(longest_s))
    if not (finite and 0 <= shortest_s <= end and math.isfinite(elapsed_s)):
        raise InputError(
            "a shortest wait from 0 up and a longest one not below it",
            (elapsed_s, shortest_s, longest_s),
            "Check the two waits.",
        )
    if elapsed_s < shortest_s:
        return WaitState(
            "waiting", f"{minutes_and_seconds(math.ceil(shortest_s - elapsed_s))} to go"
        )
    if longest_s is None:
        return WaitState("ready", f"Ready since {minutes_and_seconds(elapsed_s - shortest_s)}")
    if elapsed_s <= longest_s:
        left = minutes_and_seconds(longest_s - elapsed_s)
        return WaitState("ready", f"Read now, at the latest in {left}")
    over = minutes_and_seconds(elapsed_s - longest_s)
    return WaitState("late", f"Too late by {over}: what is read now may mislead")
