"""The bench day: proven optima, every order tried, the checker, kits turned into chains."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.kit_parts import Step
from reef_calc.bench.kits import Kit
from reef_calc.bench.shortest_timetable import earliest_starts, shortest_timetable
from reef_calc.bench.timetable import (
    BenchTest,
    bench_test_from_kit,
    faults_of_timetable,
    order_search,
)
from reef_calc.errors import InputError

A = [BenchTest("a", (2, 3), ((10, 12),)), BenchTest("b", (4, 2), ((5, 8),)), BenchTest("c", (3,))]
B = [
    BenchTest("a", (2, 2, 2), ((6, 7), (6, 7))),
    BenchTest("b", (3, 3), ((4, 6),)),
    BenchTest("c", (1, 2), ((15, 20),)),
    BenchTest("d", (4,)),
]
C = [BenchTest(name, (1, 4), ((5, 6),)) for name in "abc"]


@pytest.mark.parametrize(("tests", "best"), [(A, 16), (B, 20), (C, 20)], ids="ABC")
def test_proven_optimum(tests: list[BenchTest], best: float) -> None:
    """A: b spans 11 between a's steps, 2 + 11 + 3. C: by hand as well. COMPUTED."""
    found = shortest_timetable(tests, seconds=10.0)
    assert found.end == best
    assert found.is_shortest
    assert faults_of_timetable(tests, found.starts) == ()
    assert found.in_words == f"All is done after {best} min. No order ends sooner."
    rough = order_search(tests)
    assert faults_of_timetable(tests, rough.starts) == ()
    assert best <= rough.end <= sum(test.shortest for test in tests)


def test_the_one_order_of_b() -> None:
    """The single optimal order, from which the earliest starts follow. COMPUTED."""
    order = [(2, 0), (0, 0), (1, 0), (3, 0), (0, 1), (1, 1), (2, 1), (0, 2)]
    starts = earliest_starts(B, order)
    assert starts == ((1, 10, 18), (3, 12), (0, 16), (6,))


def all_orders(tests: list[BenchTest]) -> list[tuple[tuple[int, int], ...]]:
    chains = [[(i, k) for k in range(len(test.hands))] for i, test in enumerate(tests)]
    labels = [i for i, chain in enumerate(chains) for _ in chain]
    orders = []
    for one in set(itertools.permutations(labels)):
        ahead = [iter(chain) for chain in chains]
        orders.append(tuple(next(ahead[i]) for i in one))
    return orders


def test_counts_of_a() -> None:
    """A has 30 orders of work, 7 of them impossible; the best ends at 16, the next at 17. COMPUTED."""
    starts = [earliest_starts(A, order) for order in all_orders(A)]
    possible = [one for one in starts if one is not None]
    ends = sorted(
        {max(s + h for test, times in zip(A, one, strict=True)
             for s, h in zip(times, test.hands, strict=True)) for one in possible}
    )  # fmt: skip
    assert (len(starts), len(starts) - len(possible)) == (30, 7)
    assert ends[:2] == [16, 17]


chains = st.lists(
    st.tuples(
        st.lists(st.integers(1, 4), min_size=1, max_size=3),
        st.integers(1, 9),
        st.integers(0, 3),
    ),
    min_size=2,
    max_size=3,
)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(chains)
def test_against_every_order(drawn: list[tuple[list[int], int, int]]) -> None:
    """The programme finds what trying every order of work finds."""
    tests = [
        BenchTest(str(i), tuple(hands), ((low, low + width),) * (len(hands) - 1))
        for i, (hands, low, width) in enumerate(drawn)
    ]
    if sum(len(test.hands) for test in tests) > 7:
        tests = tests[:2]
    ends = []
    for order in all_orders(tests):
        starts = earliest_starts(tests, order)
        if starts is not None:
            assert faults_of_timetable(tests, starts) == ()
            ends.append(max(times[-1] + test.hands[-1]
                            for test, times in zip(tests, starts, strict=True)))  # fmt: skip
    found = shortest_timetable(tests, seconds=10.0)
    assert found.end == min(ends)
    assert faults_of_timetable(tests, found.starts) == ()
    assert found.at_least <= found.end <= order_search(tests).end


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.floats(0.5, 4), st.floats(0.5, 4), st.floats(0, 15), st.floats(0, 4)),
                min_size=1, max_size=9))  # fmt: skip
def test_order_search_never_breaks_a_wait(drawn: list[tuple[float, float, float, float]]) -> None:
    tests = [
        BenchTest(str(i), (first, second), ((low, low + width),))
        for i, (first, second, low, width) in enumerate(drawn)
    ]
    found = order_search(tests)
    assert faults_of_timetable(tests, found.starts) == ()
    assert found.at_least - 1e-9 <= found.end <= sum(test.shortest for test in tests) + 1e-6
    assert found == order_search(tests)


def test_checker_sees_each_fault() -> None:
    good = order_search(A).starts
    assert faults_of_timetable(A, good) == ()
    late = (good[0][0], good[0][1] + 50.0)
    assert "allowed are 10 to 12" in faults_of_timetable(A, (late, *good[1:]))[0]
    together = ((0.0,), (1.0,))
    two = [BenchTest("x", (2,)), BenchTest("y", (2,))]
    assert faults_of_timetable(two, together) == (
        "x, step 1 and y, step 1 need the hands at the same time.",
    )
    assert faults_of_timetable(two, ((-1.0,), (2.0,)))[0].startswith("x, step 1: starts at")
    assert faults_of_timetable(two, ((0.0,),)) == ("A step has no start.",)


def test_what_is_left_to_gain_is_said() -> None:
    rough = order_search(C)
    assert rough.in_words.endswith("at most 9 min longer than the best possible order.")
    short = shortest_timetable(C, seconds=1e-6)
    assert faults_of_timetable(C, short.starts) == ()
    assert 15 <= short.at_least <= 20 <= short.end


def test_table_of_the_day() -> None:
    table = shortest_timetable(A).summary
    assert table.start.is_monotonic_increasing
    assert table.test.tolist()[0] == "a"
    first = table.iloc[0]
    assert (first.earliest_next, first.latest_next) == (12.0, 14.0)


def test_a_kit_becomes_a_chain() -> None:
    """Waits that follow each other add up; a wait at either end gets a step beside it."""
    kit = Kit("drops", "nitrate", "colour steps", "mg/L", hands_min=4.0, steps=(
        Step("", (1.0, 2.0)), Step("Fill"), Step("Shake", (3.0, 4.0)), Step("", (1.0, 1.0)),
    ))  # fmt: skip
    chain = bench_test_from_kit(kit)
    assert chain.hands == (1.0, 2.0, 1.0)
    assert chain.waits == ((1.0, 2.0), (4.0, 5.0))
    assert chain.texts == ("Start", "Fill. Shake", "Read the result")
    bare = bench_test_from_kit(Kit("probe", "pH", "meter", "pH", hands_min=1.0))
    assert (bare.hands, bare.texts) == ((1.0,), ("Test",))


def test_refusals() -> None:
    with pytest.raises(InputError, match="tests with different names"):
        order_search([])
    with pytest.raises(InputError, match="Number tests that are done twice"):
        shortest_timetable([C[0], C[0]])
    with pytest.raises(InputError, match="seconds above 0"):
        shortest_timetable(C, seconds=0.0)
    with pytest.raises(InputError, match="one wait"):
        BenchTest("x", (1, 2))
    with pytest.raises(InputError, match="one wait"):
        BenchTest("x", (1, 2), ((5, 3),))
    with pytest.raises(InputError, match="hands_min"):
        bench_test_from_kit(Kit("probe", "pH", "meter", "pH"))
