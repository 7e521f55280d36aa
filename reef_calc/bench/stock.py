"""What is left of each kit, until when it lasts, and by which day to buy the next one."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.bench.kit_parts import Lot
from reef_calc.bench.kits import Kit
from reef_calc.errors import InputError

# Days between buying and having it on the shelf (common practice, no source).
AHEAD_DAYS = 14
_RECENT_DAYS, _LONG_DAYS = 91, 365
_FEWEST = 4
# So many usual gaps without a test, and at least so many days: the kit is not in use (own rule).
_IDLE_GAPS, _IDLE_DAYS = 4, 60


@dataclass(frozen=True)
class Cadence:
    """How often a kit is used.

    Attributes
    ----------
    days_per_test, sd : float
        Mean and standard deviation of the days between two tests with it.
    gaps : int
        Number of gaps they were found from.
    """

    days_per_test: float
    sd: float
    gaps: int

    def days_for(self, tests: int) -> tuple[float, float]:
        """Return how long a number of tests lasts.

        n·g ± t·√(n·s² + n²·s²/k), for n tests with k gaps of mean g and standard deviation s

        Parameters
        ----------
        tests : int
            Number of tests n.

        Returns
        -------
        (float, float)
            Days, and half-width of their 95 % interval (days).
        """
        # A day is as fine as the log's gaps are.
        variance = self.sd**2 + 1.0 / 12.0
        spread = math.sqrt(variance * tests * (1.0 + tests / self.gaps))
        return tests * self.days_per_test, float(stats.t.ppf(0.975, self.gaps - 1)) * spread


@dataclass(frozen=True)
class KitStock:
    """What is left of one kit.

    Attributes
    ----------
    kit : Kit
        The kit.
    left : int or None
        Number of tests left today; None where that is not known.
    unsure : int
        Number of tests made on the day of the count, which may be in the count or not.
    since : int
        Number of tests after that day.
    last_used : datetime.date or None
        Day of the last test.
    cadence : Cadence or None
        How often it is used; None where too few tests tell.
    runs_out, soonest : datetime.date or None
        Day of the last test that is left, and the early end of its 95 % interval.
    lot : Lot or None
        Lot in use.
    expires : datetime.date or None
        Last day of the longest-lasting lot in use or unopened; None where one has no day.
    buy_by : datetime.date or None
        Day to buy by; None where none is known.
    reason : {"empty", "expires", ""}
        What makes that day.
    unknown : tuple of str
        What is not known, and what would tell; sentences.
    """

    kit: Kit
    left: int | None = None
    unsure: int = 0
    since: int = 0
    last_used: dt.date | None = None
    cadence: Cadence | None = None
    runs_out: dt.date | None = None
    soonest: dt.date | None = None
    lot: Lot | None = None
    expires: dt.date | None = None
    buy_by: dt.date | None = None
    reason: str = ""
    unknown: tuple[str, ...] = ()


def cadence_of(days: Sequence[dt.date]) -> Cadence | None:
    """Return how often a kit is used at present.

    From the 13 weeks before its last test, or from the year before where those hold too few.

    Parameters
    ----------
    days : sequence of datetime.date
        Day of each test, in any order; two tests on one day are two.

    Returns
    -------
    Cadence or None
        Days between tests; None with fewer than four tests in a year, or all on one day.

    Examples
    --------
    >>> cadence_of([dt.date(2026, 1, day) for day in (1, 8, 15, 22)])
    Cadence(days_per_test=7.0, sd=0.0, gaps=3)
    """
    numbers = np.sort(np.array([day.toordinal() for day in days], dtype=float))
    for span in (_RECENT_DAYS, _LONG_DAYS):
        seen = numbers[numbers > numbers[-1] - span] if numbers.size else numbers
        if seen.size >= _FEWEST and seen[-1] > seen[0]:
            gaps = np.diff(seen)
            return Cadence(float(gaps.mean()), float(gaps.std(ddof=1)), len(gaps))
    return None


def stock_of_kit(
    kit: Kit,
    days: Sequence[dt.date],
    lots: Sequence[str],
    today: dt.date,
    *,
    ahead_days: float = AHEAD_DAYS,
) -> KitStock:
    """Return what is left of a kit, and by which day to buy the next one.

    left = counted − tests after the day of the count; buy by the soonest of empty and expired, less
    the days that buying takes

    Parameters
    ----------
    kit : Kit
        The kit, with what was counted.
    days : sequence of datetime.date, shape (n,)
        Day of each test with it in the tank's zone, whatever water was tested.
    lots : sequence of str, shape (n,)
        Lot of each test; empty where not written.
    today : datetime.date
        The day that is asked for.
    ahead_days : float, optional
        Days between buying and having it.

    Returns
    -------
    KitStock
        Days and numbers; ``unknown`` says what is missing.

    Raises
    ------
    InputError
        If the days and lots differ in number, or ``ahead_days`` is negative.

    Notes
    -----
    A test that was made and not written into the log is not seen. ``soonest`` takes the use to go on
    as it did; a test that is overdue is taken to be made today.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH", tests_left=10, counted=dt.date(2026, 1, 8))
    >>> days = [dt.date(2026, 1, day) for day in (1, 8, 15, 22)]
    >>> found = stock_of_kit(kit, days, [""] * 4, dt.date(2026, 1, 23))
    >>> found.left, found.unsure, found.runs_out.isoformat(), found.buy_by.isoformat()
    (8, 1, '2026-03-19', '2026-02-21')
    """
    if len(days) != len(lots):
        raise InputError("a lot for each day", f"{len(days)}, {len(lots)}", "Fill in empty texts.")
    if not 0.0 <= ahead_days < 3650.0:
        raise InputError("0 days or more for buying", ahead_days, "Write how long it takes.")
    order = sorted(range(len(days)), key=lambda i: days[i])
    used, last_lot = [days[i] for i in order], (lots[order[-1]] if order else "")
    unknown: list[str] = []
    left, unsure, since = _left(kit, used, unknown)
    cadence = cadence_of(used)
    last = used[-1] if used else None
    idle = _is_idle(last, cadence, today)
    runs_out, soonest = None, None
    if left is not None and cadence is not None and last is not None and not idle:
        runs_out, soonest = _empty_on(left, unsure, cadence, last, today)
    elif left == 0:
        runs_out = soonest = today
    elif idle:
        unknown.append("It is not in use now, so no day to run out is told.")
    elif left is not None:
        unknown.append(f"Fewer than {_FEWEST} tests in a year: too few to tell how long it lasts.")
    lot, expires = _lots(kit, last_lot, today, unknown)
    ends = [
        (day, why) for day, why in ((soonest, "empty"), (expires, "expires")) if day is not None
    ]
    first, reason = min(ends, default=(None, ""))
    buy_by = None if first is None or idle else first - dt.timedelta(days=math.ceil(ahead_days))
    return KitStock(
        kit, left, unsure, since, last, cadence, runs_out, soonest, lot, expires, buy_by,
        reason if buy_by else "", tuple(unknown),
    )  # fmt: skip


def _left(kit: Kit, used: Sequence[dt.date], unknown: list[str]) -> tuple[int | None, int, int]:
    if kit.tests_left is None:
        unknown.append("Never counted: count the tests left once.")
        return None, 0, 0
    if kit.counted is None:
        unknown.append(
            f"{kit.tests_left:g} tests were counted, but no day stands beside it: count again."
        )
        return None, 0, 0
    since = sum(day > kit.counted for day in used)
    unsure = sum(day == kit.counted for day in used)
    left = math.floor(kit.tests_left) - since
    if left < 0:
        unknown.append(
            f"{since} tests were made since {kit.tests_left:g} were counted: count again."
        )
        return None, 0, since
    return left, min(unsure, left), since


def _is_idle(last: dt.date | None, cadence: Cadence | None, today: dt.date) -> bool:
    if last is None:
        return False
    usual = cadence.days_per_test if cadence else 0.0
    return (today - last).days > max(_IDLE_DAYS, _IDLE_GAPS * usual)


def _empty_on(
    left: int, unsure: int, cadence: Cadence, last: dt.date, today: dt.date
) -> tuple[dt.date, dt.date]:
    due = last + dt.timedelta(days=round(cadence.days_per_test))
    start = max(due, today)
    found = []
    for tests, early in ((left, 0.0), (left - unsure, 1.0)):
        days, half = cadence.days_for(max(tests - 1, 0))
        days = days - early * half if tests > 0 else 0.0
        begin = start if tests > 0 else today
        # Beyond a century a date means nothing.
        found.append(max(begin + dt.timedelta(days=min(round(days), 36500)), today))
    return found[0], found[1]


def _lots(
    kit: Kit, last_lot: str, today: dt.date, unknown: list[str]
) -> tuple[Lot | None, dt.date | None]:
    """Return the lot in use, and the last day that it or an unopened one may be used."""
    if last_lot and kit.lot(last_lot) is None:
        unknown.append(f"Lot {last_lot}, read last, is not described in kits.toml.")
        return Lot(last_lot), None
    opened = [lot for lot in kit.lots if lot.opened is not None and lot.opened <= today]
    in_use = kit.lot(last_lot) or max(opened, key=lambda lot: lot.opened or today, default=None)
    spare = [lot for lot in kit.lots if lot.opened is None or lot.opened > today]
    lots = [lot for lot in (in_use, *spare) if lot is not None]
    if not lots:
        unknown.append("No lot is described, so its expiry is not known.")
    elif any(lot.expires is None for lot in lots):
        unknown.append("A lot has no expiry written.")
        return in_use, None
    return in_use, max((lot.expires for lot in lots if lot.expires is not None), default=None)


def who_tested(people: Sequence[str], days: Sequence[dt.date], kits: Sequence[str]) -> pd.DataFrame:
    """Return how many readings each person made.

    Parameters
    ----------
    people : sequence of str, shape (n,)
        Who read; empty where not written.
    days : sequence of datetime.date, shape (n,)
        Day of each reading.
    kits : sequence of str, shape (n,)
        Kit of each reading; empty where not written.

    Returns
    -------
    pandas.DataFrame
        ``by``, ``readings``, ``days``, ``kits`` (counts) and ``last``; most readings first.

    Examples
    --------
    >>> day = dt.date(2026, 2, 1)
    >>> who_tested(["AB", "AB", ""], [day] * 3, ["acid", "acid", "drops"])["readings"].tolist()
    [2, 1]
    """
    table = pd.DataFrame({"by": list(people), "day": list(days), "kit": list(kits)})
    grouped = table.groupby("by", sort=True)
    found = pd.DataFrame(
        {
            "readings": grouped.size(),
            "days": grouped["day"].nunique(),
            "kits": grouped["kit"].agg(lambda one: len(set(one) - {""})),
            "last": grouped["day"].max(),
        }
    )
    return found.reset_index().sort_values(
        "readings", ascending=False, kind="stable", ignore_index=True
    )
