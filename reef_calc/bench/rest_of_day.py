"""A bench day under way: what has been done stands, the rest is shifted or put in a new order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reef_calc.bench.timetable import BenchTest, Starts, Timetable, faults_of_timetable
from reef_calc.errors import InputError

_NEARLY = 1e-6  # minutes
_TOLD_FROM = 1 / 12  # minutes; five seconds, what pressing a button costs
_ROUNDS = 8

Place = tuple[int, int]  # test and step, both from 0


@dataclass(frozen=True)
class DaySoFar:
    """What has been done of the day's tests; all times in minutes from the start of the day.

    Attributes
    ----------
    tests : tuple of BenchTest
        The tests as described.
    begun, ended : tuple of tuple of float
        When the steps of each test began and ended, as far as done (minutes).
    """

    tests: tuple[BenchTest, ...]
    begun: Starts
    ended: Starts

    @classmethod
    def at_the_start(cls, tests: Sequence[BenchTest]) -> DaySoFar:
        """Return the day before its first step.

        Parameters
        ----------
        tests : sequence of BenchTest
            The tests of the day.

        Returns
        -------
        DaySoFar
            Nothing begun.
        """
        nothing: Starts = ((),) * len(tests)
        return cls(tuple(tests), nothing, nothing)

    @property
    def in_hand(self) -> Place | None:
        """Test and step (from 0) that has begun and not ended, or None."""
        for i, (begun, ended) in enumerate(zip(self.begun, self.ended, strict=True)):
            if len(begun) > len(ended):
                return i, len(ended)
        return None

    @property
    def to_do(self) -> tuple[Place, ...]:
        """Test and step (from 0) of every step not yet begun."""
        return tuple(
            (i, k)
            for i, test in enumerate(self.tests)
            for k in range(len(self.begun[i]), len(test.hands))
        )

    @property
    def is_done(self) -> bool:
        """Whether every step has ended."""
        return not self.to_do and self.in_hand is None

    def begin(self, test: int, minute: float) -> DaySoFar:
        """Return the day with the next step of a test begun.

        Parameters
        ----------
        test : int
            Index of the test.
        minute : float
            When, in minutes from the start of the day.

        Returns
        -------
        DaySoFar
            The day from then on.

        Raises
        ------
        InputError
            If another step is in hand or the test has no step left.
        """
        if self.in_hand is not None or len(self.begun[test]) == len(self.tests[test].hands):
            raise InputError(
                "a test with a step left and free hands",
                self.tests[test].name,
                "End the step first.",
            )
        return replace(self, begun=_with(self.begun, test, minute))

    def finish(self, minute: float) -> DaySoFar:
        """Return the day with the step in hand ended.

        Parameters
        ----------
        minute : float
            When, in minutes from the start of the day.

        Returns
        -------
        DaySoFar
            The day from then on.

        Raises
        ------
        InputError
            If no step is in hand.
        """
        if self.in_hand is None:
            raise InputError("a step that has begun", "none", "Begin one first.")
        i, k = self.in_hand
        return replace(self, ended=_with(self.ended, i, max(minute, self.begun[i][k])))

    @property
    def broken(self) -> tuple[str, ...]:
        """One sentence for each wait that was shorter or longer than its test allows."""
        return tuple(
            _fault_words(test, k, begun[k] - self.ended[i][k - 1], "began")
            for i, (test, begun) in enumerate(zip(self.tests, self.begun, strict=True))
            for k in range(1, len(begun))
            if _outside(test.waits[k - 1], begun[k] - self.ended[i][k - 1])
        )


@dataclass(frozen=True)
class RestOfDay:
    """The day as it went, and what is still to do.

    Attributes
    ----------
    timetable : Timetable
        All steps: done ones as they went, the others as planned (minutes).
    cannot : tuple of str
        One sentence for each longest wait that one pair of hands cannot keep any more.
    faults : tuple of str
        What the independent check found wrong; empty when the timetable can be shown.
    """

    timetable: Timetable
    cannot: tuple[str, ...]
    faults: tuple[str, ...]


def rest_of_day(day: DaySoFar, now: float, planned: Starts) -> RestOfDay:
    """Return the rest of a bench day, planned anew around what has been done.

    The order planned is kept and shifted: the earliest starts s ≥ now with least ≤ wait ≤ most. Where
    a longest wait would be broken, the steps concerned are moved forward, and the order is taken
    that breaks the waits by the fewest minutes and then ends soonest.

    Parameters
    ----------
    day : DaySoFar
        What has been done.
    now : float
        Present time (minutes from the start of the day).
    planned : tuple of tuple of float
        Starts of the last plan, whose order is kept where it can be (minutes).

    Returns
    -------
    RestOfDay
        Minutes.

    Raises
    ------
    InputError
        If the present time is no number of 0 or more.

    Examples
    --------
    >>> day = DaySoFar.at_the_start([BenchTest("a", (2, 3), ((10, 12),)), BenchTest("c", (3,))])
    >>> day = day.begin(0, 0.0).finish(4.0)  # planned were 2 minutes
    >>> rest_of_day(day, 4.0, ((0.0, 12.0), (2.0,))).timetable.starts
    ((0.0, 14.0), (4.0,))

    References
    ----------
    Longest paths (Bellman 1958, Ford 1956; from memory); moving steps forward is our own rule.
    """
    if not 0 <= now < math.inf:
        raise InputError("a time of 0 or more", now, "Give minutes from the start.", "rest_of_day")
    free, ended = now, day.ended
    if day.in_hand is not None:
        i, k = day.in_hand
        free = max(now, day.begun[i][k] + day.tests[i].hands[k])
        ended = _with(ended, i, free)
    order = sorted(day.to_do, key=lambda place: (planned[place[0]][place[1]], place))
    best = _timed(day.tests, ended, order, free)
    for _ in range(_ROUNDS):
        if not best[0]:
            break
        tried = [_timed(day.tests, ended, one, free) for one in _moved_forward(best)]
        better = min(tried, key=_cost, default=best)
        if _cost(better) >= _cost(best):
            break
        best = better
    return _joined(day, ended, free, best)


Timed = tuple[dict[Place, float], dict[Place, float], list[Place]]  # minutes late, starts, order


def _cost(timed: Timed) -> tuple[float, float]:
    late, starts, _ = timed
    return round(sum(late.values()), 6), round(sum(starts.values()), 6)


def _timed(tests: Sequence[BenchTest], ended: Starts, order: list[Place], free: float) -> Timed:
    """Earliest starts in an order; a longest wait that it cannot keep is let go and counted."""
    let_go: set[Place] = set()
    while True:
        starts, breaker = _earliest(tests, ended, order, free, let_go)
        if breaker is None:
            break
        let_go.add(breaker)
    late = {}
    for i, k in let_go:
        before = ended[i][k - 1] if k == len(ended[i]) else starts[i, k - 1] + tests[i].hands[k - 1]
        over = starts[i, k] - before - tests[i].waits[k - 1][1]
        if over > _NEARLY:
            late[i, k] = over
    return late, starts, order


def _earliest(
    tests: Sequence[BenchTest], ended: Starts, order: list[Place], free: float, let_go: set[Place]
) -> tuple[dict[Place, float], Place | None]:
    """Push starts up until all holds, or name the step whose longest wait cannot hold."""
    starts = dict.fromkeys(order, free)
    pushed: dict[Place, int] = {}
    while True:
        changed = False
        hands = free
        for i, k in order:
            least = hands
            if k and k == len(ended[i]):
                least = max(least, ended[i][k - 1] + tests[i].waits[k - 1][0])
            elif k:
                least = max(
                    least, starts[i, k - 1] + tests[i].hands[k - 1] + tests[i].waits[k - 1][0]
                )
            if least > starts[i, k] + _NEARLY / 10:
                starts[i, k], changed = least, True
            hands = starts[i, k] + tests[i].hands[k]
        for i, k in order:
            if not k or (i, k) in let_go:
                continue
            most = tests[i].waits[k - 1][1]
            if k == len(ended[i]):
                if starts[i, k] > ended[i][k - 1] + most + _NEARLY:
                    return starts, (i, k)
                continue
            least = starts[i, k] - most - tests[i].hands[k - 1]
            if least > starts[i, k - 1] + _NEARLY:
                # More rounds than steps: the two chase each other and never meet.
                pushed[i, k] = pushed.get((i, k), 0) + 1
                if pushed[i, k] > len(order) + 1:
                    return starts, (i, k)
                starts[i, k - 1], changed = least, True
        if not changed:
            return starts, None


def _moved_forward(timed: Timed) -> list[list[Place]]:
    """Orders in which a step that comes too late stands earlier, not before its own test's steps."""
    late, _, order = timed
    orders = []
    for i, k in late:
        at = order.index((i, k))
        first = max((order.index((i, j)) + 1 for j in range(k) if (i, j) in order), default=0)
        rest = [place for place in order if place != (i, k)]
        orders += [[*rest[:new], (i, k), *rest[new:]] for new in range(first, at)]
        # A test not yet begun may wait until the other ones are through.
        others = [place for place in order if place[0] != i]
        orders += [others + [place for place in order if place[0] == i]] if k else []
    return orders


def _joined(day: DaySoFar, ended: Starts, free: float, timed: Timed) -> RestOfDay:
    late, planned, _ = timed
    tests, starts = [], []
    for i, test in enumerate(day.tests):
        begun = day.begun[i]
        times = begun + tuple(planned[i, k] for k in range(len(begun), len(test.hands)))
        hands = (
            tuple(e - b for b, e in zip(begun, ended[i], strict=True)) + test.hands[len(begun) :]
        )
        waits = []
        for k, (least, most) in enumerate(test.waits, start=1):
            waited = max(times[k] - times[k - 1] - hands[k - 1], 0.0)
            if k < len(begun):
                least = most = waited
            waits.append((least, max(most, waited) if (i, k) in late else most))
        tests.append(replace(test, hands=hands, waits=tuple(waits)))
        starts.append(times)
    end = max(s + t.hands[-1] for t, (*_, s) in zip(tests, starts, strict=True))
    whole = tuple(starts)
    faults = faults_of_timetable(tests, whole)
    if any(start < free - _NEARLY for start in planned.values()):
        faults += ("A step is planned before the hands are free.",)
    cannot = tuple(
        _fault_words(day.tests[i], k, day.tests[i].waits[k - 1][1] + over, "can begin")
        for (i, k), over in sorted(late.items())
        if over > _TOLD_FROM
    )
    return RestOfDay(Timetable(tuple(tests), whole, end, free), cannot, faults)


def _with(times: Starts, test: int, minute: float) -> Starts:
    return tuple((*own, minute) if i == test else own for i, own in enumerate(times))


def _outside(limits: tuple[float, float], waited: float) -> bool:
    return waited < limits[0] - _TOLD_FROM or waited > limits[1] + _TOLD_FROM


def _fault_words(test: BenchTest, k: int, waited: float, verb: str) -> str:
    least, most = test.waits[k - 1]
    what = f" ({test.texts[k]})" if test.texts else ""
    side = f"longest is {most:g}" if waited > most else f"shortest is {least:g}"
    return (
        f"{test.name}, step {k + 1}{what}: {verb} {waited:.1f} min after step {k}, the {side}. "
        "What is read then may mislead."
    )
