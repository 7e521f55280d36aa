"""The bench day: tests with hands-on steps and waits, and an order for one pair of hands."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.errors import InputError

_ROUNDING = 1e-9  # minutes; of sums of floats.
_NEARLY = 1e-6  # minutes; far below anything a person can keep.
_ALL_ORDERS_UP_TO = 6
_TRIES = 400


@dataclass(frozen=True)
class BenchTest:
    """One test as a chain of steps for the hands with waits between them.

    Attributes
    ----------
    name : str
        Name of the test.
    hands : tuple of float
        Minutes of work of each step; hand-over from one test to the next belongs to it.
    waits : tuple of (float, float)
        Least and most minutes from the end of a step to the start of the next.
    texts : tuple of str
        What each step is, in the owner's words; empty where not written.
    """

    name: str
    hands: tuple[float, ...]
    waits: tuple[tuple[float, float], ...] = ()
    texts: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        fits = len(self.hands) >= 1 and len(self.waits) == len(self.hands) - 1
        fits = fits and (not self.texts or len(self.texts) == len(self.hands))
        fits = fits and all(0 <= h < math.inf for h in self.hands)
        if not (fits and all(0 <= low <= high < math.inf for low, high in self.waits)):
            raise InputError(
                "steps with minutes of work, and one wait [least, most] between two of them",
                f"{self.name}: {self.hands}, {self.waits}",
                "Write the minutes; where a wait has no upper end write the longest you accept.",
            )

    @property
    def shortest(self) -> float:
        """Minutes from first step to last when nothing else is done."""
        return sum(self.hands) + sum(low for low, _ in self.waits)


Starts = tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Timetable:
    """An order of all steps.

    Attributes
    ----------
    tests : tuple of BenchTest
        The tests.
    starts : tuple of tuple of float
        Start of each step of each test (minutes from the beginning).
    end, at_least : float
        When the last step ends, and the time that no order can beat (minutes).
    """

    tests: tuple[BenchTest, ...]
    starts: Starts
    end: float
    at_least: float

    @property
    def is_shortest(self) -> bool:
        """Whether no order can end sooner."""
        return self.end <= self.at_least + _NEARLY

    @property
    def in_words(self) -> str:
        """How long it takes, and how much better another order could be."""
        minutes = f"{round(self.end, 1):g}"
        if self.is_shortest:
            return f"All is done after {minutes} min. No order ends sooner."
        more = math.ceil(self.end - self.at_least - _NEARLY)
        return (
            f"All is done after {minutes} min. That is at most {more} min longer than the best "
            "possible order."
        )

    @property
    def summary(self) -> pd.DataFrame:
        """One row a step in the order of work: start, end (minutes), test, step, text, wait after.

        ``earliest_next`` and ``latest_next`` are when the next step of the same test may start.
        """
        rows = []
        for test, starts in zip(self.tests, self.starts, strict=True):
            for k, (start, minutes) in enumerate(zip(starts, test.hands, strict=True)):
                low, high = test.waits[k] if k < len(test.waits) else (math.nan, math.nan)
                text = test.texts[k] if test.texts else ""
                end = start + minutes
                rows.append((start, end, test.name, k + 1, text, end + low, end + high))
        columns = ["start", "end", "test", "step", "text", "earliest_next", "latest_next"]
        return pd.DataFrame(rows, columns=columns).sort_values(["start", "end"], ignore_index=True)


def bench_test_from_kit(kit: Kit) -> BenchTest:
    """Return the chain of a kit's steps; its minutes of work are shared equally among the steps.

    Parameters
    ----------
    kit : Kit
        A kit with ``hands_min``; steps without a wait between them are one piece of work.

    Returns
    -------
    BenchTest
        Minutes.

    Raises
    ------
    InputError
        If the kit does not say how many minutes of work it takes.

    Notes
    -----
    Where a kit begins or ends with a wait, a step to start or to read is put there.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Step
    >>> kit = Kit("strip", "nitrate", "colour steps", "mg/L", hands_min=3.0,
    ...           steps=(Step("Dip"), Step("Lay flat", (1.0, 2.0)), Step("Compare")))
    >>> bench_test_from_kit(kit)
    BenchTest(name='strip', hands=(2.0, 1.0), waits=((1.0, 2.0),), texts=('Dip. Lay flat', 'Compare'))

    References
    ----------
    *Own choice, no source.*
    """
    if kit.hands_min is None:
        raise InputError(
            "the minutes of work of the kit (hands_min)", kit.name,
            "Time one test with a watch, waits left out, and write hands_min.",
        )  # fmt: skip
    works: list[list[str]] = [[]]
    waits: list[tuple[float, float]] = []
    for step in kit.steps:
        if step.do:
            works[-1].append(step.do)
        if step.wait_min is not None:
            low, high = step.wait_min
            if waits and not works[-1]:
                waits[-1] = (waits[-1][0] + low, waits[-1][1] + high)
            else:
                waits.append((low, high))
                works.append([])
    named = [list(work) for work in works]
    if not named[0]:
        named[0] = ["Start" if waits else "Test"]
    if not named[-1]:
        named[-1] = ["Read the result"]
    share = kit.hands_min / sum(len(work) for work in named)
    hands = tuple(share * len(work) for work in named)
    return BenchTest(kit.name, hands, tuple(waits), tuple(". ".join(work) for work in named))


def faults_of_timetable(tests: Sequence[BenchTest], starts: Starts) -> tuple[str, ...]:
    """Return what is wrong with a timetable, checked step by step and apart from any search.

    Parameters
    ----------
    tests : sequence of BenchTest
        The tests.
    starts : tuple of tuple of float
        Start of each step of each test (minutes).

    Returns
    -------
    tuple of str
        One sentence a fault; empty when every wait is kept and the hands do one thing at a time.

    Examples
    --------
    >>> faults_of_timetable([BenchTest("a", (2, 1), ((5, 6),))], ((0.0, 9.0),))
    ('a, step 2: starts 7 min after step 1, allowed are 5 to 6.',)

    References
    ----------
    Definition of the task; no source needed.
    """
    faults = []
    busy: list[tuple[float, float, str]] = []
    if [len(one) for one in starts] != [len(test.hands) for test in tests]:
        return ("A step has no start.",)
    for test, times in zip(tests, starts, strict=True):
        for k, start in enumerate(times):
            busy.append((start, start + test.hands[k], f"{test.name}, step {k + 1}"))
            if not (math.isfinite(start) and start >= -_NEARLY):
                faults.append(f"{test.name}, step {k + 1}: starts at {start:g} min.")
            if k:
                waited = start - times[k - 1] - test.hands[k - 1]
                low, high = test.waits[k - 1]
                if not low - _NEARLY <= waited <= high + _NEARLY:
                    faults.append(
                        f"{test.name}, step {k + 1}: starts {waited:g} min after step {k}, "
                        f"allowed are {low:g} to {high:g}."
                    )
    for (begin, end, name), (other_begin, other_end, other) in itertools.combinations(busy, 2):
        if begin < other_end - _NEARLY and other_begin < end - _NEARLY:
            faults.append(f"{name} and {other} need the hands at the same time.")
    return tuple(faults)


def order_search(tests: Sequence[BenchTest], *, seed: int = 0) -> Timetable:
    """Return a good timetable at once: tests put in one by one, each as early as it fits.

    All orders of up to six tests; else from "longest first" 400 tries that move one test.

    Parameters
    ----------
    tests : sequence of BenchTest
        The tests of the day.
    seed : int, optional
        Seed of the tries.

    Returns
    -------
    Timetable
        Within some per cent of the shortest; ``at_least`` is the larger of all work and the
        longest test (minutes).

    Raises
    ------
    InputError
        If there is no test, or two have one name.

    Examples
    --------
    >>> order_search([BenchTest("a", (2, 3), ((10, 12),)), BenchTest("c", (3,))]).end
    15.0

    References
    ----------
    *Own heuristic, no source.*
    """
    chains = tuple(tests)
    names = [test.name for test in chains]
    if not chains or len(set(names)) < len(names):
        raise InputError("tests with different names", names, "Number tests that are done twice.")
    n = len(chains)
    bound = max(sum(sum(t.hands) for t in chains), max(t.shortest for t in chains))
    if n <= _ALL_ORDERS_UP_TO:
        best = min(
            (_inserted(chains, order) for order in itertools.permutations(range(n))), key=_end
        )
        return Timetable(chains, best[1], best[0], bound)
    random_numbers = random.Random(seed)
    order = sorted(range(n), key=lambda i: -chains[i].shortest)
    best = _inserted(chains, order)
    for _ in range(_TRIES):
        if best[0] <= bound + _NEARLY:
            break
        moved = list(order)
        moved.insert(random_numbers.randrange(n), moved.pop(random_numbers.randrange(n)))
        found = _inserted(chains, moved)
        if found[0] <= best[0]:
            best, order = found, moved
    return Timetable(chains, best[1], best[0], bound)


def _end(found: tuple[float, Starts]) -> float:
    return found[0]


def _inserted(tests: Sequence[BenchTest], order: Sequence[int]) -> tuple[float, Starts]:
    busy: list[tuple[float, float]] = []
    starts: list[tuple[float, ...]] = [()] * len(tests)
    for i in order:
        starts[i] = _earliest_fit(tests[i], busy)
        busy += [(s, s + h) for s, h in zip(starts[i], tests[i].hands, strict=True)]
        busy.sort()
    return max(end for _, end in busy), tuple(starts)


def _earliest_fit(test: BenchTest, busy: list[tuple[float, float]]) -> tuple[float, ...]:
    """Earliest starts of a chain in the gaps: backwards which starts can be finished, then on."""
    edges = [0.0, *(edge for interval in busy for edge in interval), math.inf]
    gaps = list(zip(edges[::2], edges[1::2], strict=True))
    allowed = [[(a, b - h) for a, b in gaps if b - h >= a - _ROUNDING] for h in test.hands]
    for k in range(len(test.waits) - 1, -1, -1):
        (low, high), h = test.waits[k], test.hands[k]
        reach = [(a - h - high, b - h - low) for a, b in allowed[k + 1]]
        allowed[k] = [
            (max(a, c), min(b, d))
            for a, b in allowed[k] for c, d in reach
            if max(a, c) <= min(b, d) + _ROUNDING
        ]  # fmt: skip
    starts = [min(a for a, _ in allowed[0])]
    for k, (low, high) in enumerate(test.waits):
        first, last = starts[k] + test.hands[k] + low, starts[k] + test.hands[k] + high
        starts.append(
            min(max(a, first) for a, b in allowed[k + 1]
                if max(a, first) <= min(b, last) + _ROUNDING)
        )  # fmt: skip
    return tuple(float(start) for start in starts)
