"""The shortest bench day by mixed integer programming, with a bound on what is still to gain."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from reef_calc.bench.timetable import (
    BenchTest,
    Starts,
    Timetable,
    faults_of_timetable,
    order_search,
)
from reef_calc.errors import InputError

# Minutes; the solver keeps its rows to about a ten-thousandth of the whole.
_PROVEN = 1e-3

Row = tuple[list[tuple[int, float]], float]  # Σ coefficient·unknown ≥ number


def shortest_timetable(
    tests: Sequence[BenchTest], *, seconds: float = 2.0, gap: float = 0.0, seed: int = 0
) -> Timetable:
    """Return the shortest timetable found in the time given, with a bound on what is left to gain.

    Unknowns: starts, end, one yes-or-no for each pair of steps of different tests:
    s_b ≥ s_a + h_a − M(1 − y), s_a ≥ s_b + h_b − M·y; waits inside their ends; M from the order
    search, which also stands in where nothing better is found in time.

    Parameters
    ----------
    tests : sequence of BenchTest
        The tests of the day.
    seconds : float, optional
        Longest time to search (seconds).
    gap : float, optional
        Stop within this share of the bound (no unit); 0 proves the shortest.
    seed : int, optional
        Seed of the order search.

    Returns
    -------
    Timetable
        Checked by ``faults_of_timetable``; minutes.

    Raises
    ------
    InputError
        If there is no test, two have one name, or the time is not above 0.

    Examples
    --------
    >>> three = [BenchTest(name, (1, 4), ((5, 6),)) for name in "abc"]
    >>> order_search(three).end, shortest_timetable(three).end
    (24.0, 20.0)

    References
    ----------
    Disjunctive model of one machine with time lags: *common practice, no source*; solver HiGHS.
    """
    if not (seconds > 0 and 0 <= gap < 1):
        raise InputError(
            "seconds above 0 and a gap between 0 and 1", (seconds, gap), "Take 2 and 0."
        )
    first = order_search(tests, seed=seed)
    if first.is_shortest:
        return first
    chains = first.tests
    steps = [(i, k) for i, test in enumerate(chains) for k in range(len(test.hands))]
    number = {step: j for j, step in enumerate(steps)}
    pairs = [(a, b) for a, b in itertools.combinations(steps, 2) if a[0] != b[0]]
    n = len(steps)
    choice = {pair: n + 1 + j for j, pair in enumerate(pairs)}
    rows = _rows(chains, number, choice, first.end)
    matrix = coo_array(
        (
            [c for row, _ in rows for _, c in row],
            (
                [i for i, (row, _) in enumerate(rows) for _ in row],
                [j for row, _ in rows for j, _ in row],
            ),
        ),
        shape=(len(rows), n + 1 + len(pairs)),
    ).tocsr()
    cost = np.zeros(n + 1 + len(pairs))
    cost[n] = 1.0
    low = np.zeros_like(cost)
    high = np.r_[np.full(n + 1, first.end), np.ones(len(pairs))]
    low[n] = first.at_least
    found = milp(
        cost,
        constraints=LinearConstraint(matrix, [least for _, least in rows], np.inf),
        integrality=np.r_[np.zeros(n + 1), np.ones(len(pairs))],
        bounds=Bounds(low, high),
        options={"time_limit": seconds, "mip_rel_gap": gap},
    )
    # Status 1 is the time limit; the solver may then have neither a solution nor a bound.
    bound = first.at_least
    if found.mip_dual_bound is not None and math.isfinite(found.mip_dual_bound):
        bound = max(bound, float(found.mip_dual_bound))
    best, end = first.starts, first.end
    if found.x is not None:
        # Only the order is the solver's: starts worked out from it are exact sums of the minutes.
        order = sorted(range(n), key=lambda j: found.x[j] + 0.5 * _hands(chains, steps[j]))
        starts = earliest_starts(chains, [steps[j] for j in order])
        if starts is not None and not faults_of_timetable(chains, starts):
            last = max(
                s + h
                for test, times in zip(chains, starts, strict=True)
                for s, h in zip(times, test.hands, strict=True)
            )
            if last < end:
                best, end = starts, last
    if end - bound <= _PROVEN:
        bound = end
    return Timetable(chains, best, end, min(bound, end))


def _hands(tests: Sequence[BenchTest], step: tuple[int, int]) -> float:
    return tests[step[0]].hands[step[1]]


def _rows(
    tests: Sequence[BenchTest],
    number: dict[tuple[int, int], int],
    choice: dict[tuple[tuple[int, int], tuple[int, int]], int],
    M: float,
) -> list[Row]:
    n = len(number)
    rows: list[Row] = []
    for i, test in enumerate(tests):
        last = number[i, len(test.hands) - 1]
        rows.append(([(n, 1.0), (last, -1.0)], test.hands[-1]))
        for k, (low, high) in enumerate(test.waits):
            now, then, h = number[i, k], number[i, k + 1], test.hands[k]
            rows.append(([(then, 1.0), (now, -1.0)], h + low))
            rows.append(([(then, -1.0), (now, 1.0)], -h - high))
    for (a, b), y in choice.items():
        ja, jb = number[a], number[b]
        rows.append(([(jb, 1.0), (ja, -1.0), (y, -M)], _hands(tests, a) - M))
        rows.append(([(ja, 1.0), (jb, -1.0), (y, M)], _hands(tests, b)))
        # A step before b is before what follows b; what comes before a step before b is before b.
        after, before = (b[0], b[1] + 1), (a[0], a[1] - 1)
        if (a, after) in choice:
            rows.append(([(choice[a, after], 1.0), (y, -1.0)], 0.0))
        if (before, b) in choice:
            rows.append(([(choice[before, b], 1.0), (y, -1.0)], 0.0))
    return rows


def earliest_starts(tests: Sequence[BenchTest], order: Sequence[tuple[int, int]]) -> Starts | None:
    """Return the earliest starts of all steps in a given order of work, or None if it cannot be.

    Longest paths: s_next ≥ s + h in the order, h + least ≤ s_{k+1} − s_k ≤ h + most in each test.

    Parameters
    ----------
    tests : sequence of BenchTest
        The tests.
    order : sequence of (int, int)
        Test and step (both an index from 0) in the order of work, all of them.

    Returns
    -------
    tuple of tuple of float or None
        Start of each step of each test (minutes).

    Examples
    --------
    >>> earliest_starts([BenchTest("a", (2, 3), ((10, 12),)), BenchTest("c", (3,))],
    ...                 [(0, 0), (1, 0), (0, 1)])
    ((0.0, 12.0), (2.0,))

    References
    ----------
    Bellman (1958) and Ford (1956), longest path form; from memory.
    """
    place = {step: j for j, step in enumerate(order)}
    edges = [
        (j, j + 1, _hands(tests, order[j])) for j in range(len(order) - 1)
    ]  # fmt: skip
    for i, test in enumerate(tests):
        for k, (low, high) in enumerate(test.waits):
            now, then = place[i, k], place[i, k + 1]
            edges += [(now, then, test.hands[k] + low), (then, now, -test.hands[k] - high)]
    start = [0.0] * len(order)
    for _ in range(len(order) + 1):
        changed = False
        for source, target, weight in edges:
            if start[source] + weight > start[target] + 1e-9:
                start[target], changed = start[source] + weight, True
        if not changed:
            return tuple(
                tuple(start[place[i, k]] for k in range(len(test.hands)))
                for i, test in enumerate(tests)
            )
    return None
