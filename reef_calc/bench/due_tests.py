"""Which test is due today, by how often it has been made."""

from __future__ import annotations

import itertools
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

_DAYS_LOOKED_AT = 8


@dataclass(frozen=True)
class Due:
    """How long ago something was tested, and how often it is.

    Attributes
    ----------
    ago, every : int or None
        Days since the last reading, and usual days between two; None where there are too few
        readings to tell.
    """

    ago: int | None = None
    every: int | None = None

    @property
    def today(self) -> bool:
        """Whether as many days have gone by as usually lie between two readings."""
        return self.ago is not None and self.every is not None and self.ago >= self.every

    @property
    def in_words(self) -> str:
        """Such as "last 3 days ago, usually every 2 days"."""
        if self.ago is None:
            return "never read yet"
        last = {0: "last today", 1: "last yesterday"}.get(self.ago, f"last {self.ago} days ago")
        if self.every is None:
            return last
        return f"{last}, usually every {'day' if self.every == 1 else f'{self.every} days'}"


def due_test(days: Sequence[int], today: int) -> Due:
    """Return how long ago something was read and the usual days between two readings.

    every = middle of the gaps between the last eight days with a reading; due when ago ≥ every

    Parameters
    ----------
    days : sequence of int
        Days with a reading as numbers, in any order; several on one day count once, and days after
        today are passed over.
    today : int
        Number of the day that is asked for.

    Returns
    -------
    Due
        Days; nothing is due without three days with a reading.

    Examples
    --------
    >>> due_test([0, 3, 6, 10], 14)
    Due(ago=4, every=3)
    >>> due_test([0, 3, 6, 10], 14).today, due_test([10], 14).today
    (True, False)

    References
    ----------
    *Own rule, no source.* The plan of readings in the monthly review asks more of them.
    """
    read = sorted({day for day in days if day <= today})
    if not read:
        return Due()
    seen = read[-_DAYS_LOOKED_AT:]
    gaps = [after - before for before, after in itertools.pairwise(seen)]
    every = round(statistics.median_low(gaps)) if len(gaps) >= 2 else None
    return Due(today - read[-1], every)
