"""What one cell says of a date that is written without its year."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.log.foreign.clock_times import NO_CLOCK, Clock, clock_of_text
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.month_names import is_weekday, month_named
from reef_calc.log.foreign.parts_of_day import part_of_day

_NUMERIC = re.compile(r"([0-9]{1,2})\s?([./-])\s?([0-9]{1,2})(?![0-9:])\.?(.*)", re.DOTALL)
_DAY_MONTH = re.compile(
    r"([0-9]{1,2})(?:(?:st|nd|rd|th|er|e|º|ª|:e)(?![^\W\d_]))?[\s./-]*(?:(?:de|of)\s+|d['’])?"
    r"([^\W\d_]+)\.?(?![0-9])(.*)",
    re.DOTALL | re.IGNORECASE,
)
# “Feb-14” is how a spreadsheet shows a month of 2014.
_MONTH_DAY = re.compile(
    r"([^\W\d_]+)\.?\s?([0-9]{1,2})(?![0-9:])(?:st|nd|rd|th|\.)?(.*)", re.DOTALL | re.IGNORECASE
)
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Yearless:
    """A day of a month of a year that is not said.

    Attributes
    ----------
    first, second : int
        Its two numbers in the order in which they are written.
    separator : str
        What parts them; empty where the month is a word.
    month_first : bool or None
        Whether the month comes first; None where the column has to decide.
    clock : Clock
        Time of day in the same cell.
    """

    first: int
    second: int
    separator: str = ""
    month_first: bool | None = None
    clock: Clock = NO_CLOCK

    def day_and_month(self, month_first: bool) -> tuple[int, int]:
        """Return the day and the month.

        Parameters
        ----------
        month_first : bool
            What the column has decided, for numbers.

        Returns
        -------
        tuple of int
            Day, month.

        Examples
        --------
        >>> Yearless(5, 14, "/").day_and_month(True)
        (14, 5)
        """
        known = month_first if self.month_first is None else self.month_first
        return (self.second, self.first) if known else (self.first, self.second)


@lru_cache(maxsize=16_384)
def yearless_date(cell: Cell) -> Yearless | None:
    """Return a date without a year, None where the cell holds none.

    Parameters
    ----------
    cell : Cell
        A text. A number of a workbook is none: 1.1 may have been typed as 1.10.

    Returns
    -------
    Yearless or None
        Its day and month, and a time of day.

    Examples
    --------
    >>> yearless_date("1.2."), yearless_date("Feb-14")
    (Yearless(first=1, second=2, separator='.', month_first=None, clock=Clock(time=None, days=0,
    offset=None, zone='', problem='', part='')), None)
    >>> yearless_date("Sa 14 Feb 8:30").clock.time
    datetime.time(8, 30)
    """
    if not isinstance(cell, str) or len(cell) > _LONGEST:
        return None
    plain = " ".join(cell.split()).strip(" ;")
    found = _read(plain)
    word, _, rest = plain.partition(" ")
    # “Mar” is a month and a weekday.
    return _read(rest) if found is None and rest and is_weekday(word.strip(".,")) else found


def _read(plain: str) -> Yearless | None:
    found = _NUMERIC.fullmatch(plain)
    if found is not None:
        clock = _clock(found[4])
        first, second = int(found[1]), int(found[3])
        possible = 1 <= min(first, second) <= 12 and max(first, second) <= 31
        return Yearless(first, second, found[2], None, clock) if possible and clock else None
    for pattern, month_first in ((_DAY_MONTH, False), (_MONTH_DAY, True)):
        found = pattern.fullmatch(plain)
        month = month_named(found[1 if month_first else 2]) if found else 0
        if found is None or not month:
            continue
        day, clock = int(found[2 if month_first else 1]), _clock(found[3])
        if clock is None or not 1 <= day <= 31:
            return None
        numbers = (month, day) if month_first else (day, month)
        return Yearless(*numbers, "", month_first, clock)
    return None


def _clock(rest: str) -> Clock | None:
    rest = rest.strip(" .,;")
    if not rest:
        return NO_CLOCK
    if rest[:3].isdigit():
        # “2 Feb 2026” has its year.
        return None
    part = part_of_day(rest)
    clock = Clock(part=part) if part else clock_of_text(rest)
    return None if clock.problem or (clock.time is None and not part) else clock
