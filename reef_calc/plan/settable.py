"""From exact amounts to those that can be set, phase after phase."""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows
from reef_calc.plan.limit_words import amount_text
from reef_calc.plan.links import linked_groups
from reef_calc.plan.nearby_settings import better_nearby
from reef_calc.plan.ordered_aims import Solution, solve_near
from reef_calc.plan.problem import PlanProblem, SupplementToPlan
from reef_calc.plan.rounding import MANY_DOSES, best_neighbours, doses_for, neighbours

# From this share of a day's amount on one step is too coarse to follow the use.
COARSE_STEP = 0.1
_NEARLY = 1e-9


def settable(
    condensed: Condensed,
    rows: LimitRows,
    exact: Solution,
    high: np.ndarray,
    dead: float,
    let_go: Collection[str] = (),
) -> tuple[np.ndarray, np.ndarray, tuple[Message, ...]]:
    """Return amounts a day in whole steps, the number of doses, and what was lost.

    Phase after phase: round, fix, solve the rest again, so that later phases repair what rounding
    took from earlier ones; in the last phase both neighbours of every amount are compared.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    exact : Solution
        The amounts before rounding.
    high : ndarray, shape (supplements·phases,)
        Largest scaled amounts a day.
    dead : float
        Dead band, a share of half a band (no unit).
    let_go : collection of str, optional
        Elements that fall too fast whatever is done: no step is too coarse because of them.

    Returns
    -------
    tuple of (ndarray, ndarray, tuple of Message)
        Amounts (mL or g a day) and doses a day, both of shape (supplements, phases), and messages.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.ordered_aims import solve_in_order
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.4, aim=8.0)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.03}, step=1.0)
    >>> model = condense(PlanProblem((kh,), (soda,), 30), (0, 15))
    >>> rows, high = limit_rows(model, model.base, 0.0), np.full(2, np.inf)
    >>> found = solve_in_order(model, rows, np.zeros(2), high, dead=0.0)
    >>> settable(model, rows, found, high, 0.0)[0]
    array([[13., 14.]])
    """
    supplements = condensed.problem.supplements
    P = len(condensed.phases)
    if not any(one.step > 0.0 for one in supplements):
        return _answer(condensed, exact.scaled, ())
    groups = linked_groups(condensed)
    scaled = exact.scaled.copy()
    low, top = np.zeros_like(scaled), high.copy()
    notes: tuple[Message, ...] = ()
    # Aims are wishes: only limits decide whether a rounded amount may stand.
    limits = _only_limits(rows, let_go)
    for p in range(P):
        places = [tuple(j * P + p for j, _ in group) for group in groups]
        choices = [_choices(condensed, group, scaled, high, p) for group in groups]
        if p == P - 1:
            best = best_neighbours(condensed, limits, scaled, places, choices, dead)
            if best is None:
                # A fall that is a step too fast does less harm than a rise or a level too high.
                limits = _without_falls(limits)
                best = best_neighbours(condensed, limits, scaled, places, choices, dead)
                notes += (_LOST,)
            if best is None:
                best = _put(scaled, places, [some[0] for some in choices])
            else:
                alone = [at[0] for at in places if len(at) == 1]
                best = better_nearby(condensed, limits, best, alone, high, dead)
            scaled = _fine_ones_again(condensed, limits, best, low, top, dead)
            continue
        nearest = [
            some[int(np.argmin([float(np.abs(one - scaled[list(at)]).sum()) for one in some]))]
            for some, at in zip(choices, places, strict=True)
        ]
        for amounts in (nearest, [some[0] for some in choices], [some[-1] for some in choices]):
            tried = _put(scaled, places, amounts)
            fixed = [i for at in places for i in at]
            new_low, new_top = low.copy(), top.copy()
            for i in fixed:
                if supplements[i // P].step > 0.0:
                    new_low[i] = new_top[i] = tried[i]
            answer = solve_near(condensed, limits, new_low, new_top, exact.scaled, dead=dead)
            if answer is not None:
                scaled, low, top = answer, new_low, new_top
                break
        else:
            scaled = _put(scaled, places, [some[0] for some in choices])
            for at in places:
                low[list(at)] = top[list(at)] = scaled[list(at)]
    return _answer(condensed, scaled, notes)


_LOST = Message(
    "STEPS_TOO_COARSE",
    "The pump steps are too coarse to keep every limit: look at the levels, and dilute the stock.",
    "qualified",
)


def coarse_steps(
    condensed: Condensed, amounts: np.ndarray, doses: np.ndarray, exact: np.ndarray
) -> tuple[Message, ...]:
    """Return a message for each supplement whose step is a large share of a day's amount.

    Parameters
    ----------
    condensed : Condensed
        Supplements.
    amounts : ndarray, shape (supplements, phases)
        mL (or g) a day as set.
    doses : ndarray of int, shape (supplements, phases)
        Doses a day.
    exact : ndarray, shape (supplements, phases)
        mL (or g) a day before rounding.

    Returns
    -------
    tuple of Message
        At most one a supplement.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0)
    >>> strong = SupplementToPlan("strong stock", {"alkalinity": 0.5}, step=1.0)
    >>> model = condense(PlanProblem((kh,), (strong,), 9), (0,))
    >>> coarse_steps(model, np.ones((1, 1)), np.ones((1, 1), int), np.array([[1.4]]))[0].text
    'One step of strong stock (1 mL) is 71 % of its 1.4 mL a day: dilute it 8 times and give 8 times
    as much, or dose on single days by hand.'
    """
    found = []
    for j, one in enumerate(condensed.problem.supplements):
        given = exact[j][exact[j] > _NEARLY]
        if one.step <= 0.0 or not len(given):
            continue
        p = len(exact[j]) - 1 if exact[j][-1] > _NEARLY else int(np.argmin(exact[j]))
        amount = float(exact[j][p] if exact[j][p] > _NEARLY else given.min())
        n = max(int(doses[j][p]), 1)
        grain = one.step * n
        if n >= MANY_DOSES:
            # Other numbers of doses lie between.
            below, above = neighbours(one, amount, math.inf)
            grain = max(above - below, one.step)
        if grain <= COARSE_STEP * amount * (1 + _NEARLY):
            continue
        thinner = math.ceil(grain / (COARSE_STEP * amount) - 1e-6)
        step = f"One step of {one.name} ({amount_text(one, grain)})"
        if n >= MANY_DOSES:
            step = f"From one setting of {one.name} to the next ({amount_text(one, grain)})"
            other = "give fewer, larger doses if its limits allow them"
        elif amount < grain:
            every = max(2, round(grain / amount))
            other = f"give one step every {every} days"
        else:
            other = "dose on single days by hand"
        found.append(
            Message(
                "COARSE_STEP",
                f"{step} is {100 * grain / amount:.0f} % of its "
                f"{amount_text(one, amount)} a day: dilute it {thinner} times and give {thinner} times "
                f"as much, or {other}.",
                "qualified",
            )
        )
    return tuple(found)


def _only_limits(rows: LimitRows, let_go: Collection[str]) -> LimitRows:
    kept = [
        kind not in ("low", "high") and not (kind == "fall" and name in let_go)
        for kind, name in rows.tags
    ]
    return rows.where(np.array(kept, dtype=bool))


def _without_falls(rows: LimitRows) -> LimitRows:
    return rows.where(np.array([kind != "fall" for kind, _ in rows.tags], dtype=bool))


def _choices(
    condensed: Condensed,
    group: list[tuple[int, float]],
    scaled: np.ndarray,
    high: np.ndarray,
    p: int,
) -> tuple[np.ndarray, ...]:
    """Return the settings of a group nearest to what it should be: first the one with none above."""
    P = len(condensed.phases)
    supplements, size = condensed.problem.supplements, condensed.size
    first = group[0][0]

    def around(j: int, amount: float) -> tuple[float, float]:
        return neighbours(supplements[j], amount, float(high[j * P + p] / size[j]))

    below, above = around(first, float(scaled[first * P + p] / size[first]))
    under = [around(j, below * ratio)[0] for j, ratio in group]
    # What one of them cannot give, the others leave too.
    least = around(first, min(x / r for x, (_, r) in zip(under, group, strict=True)))[0]
    found = [[around(j, least * ratio)[0] for j, ratio in group]]
    if len(group) > 1:
        found += [[_nearer(around(j, x * r), x * r) for j, r in group] for x in (below, above)]
    else:
        found.append([above])
    # One that its own largest amount holds back would leave the others without their share of it.
    kept = found[:1]
    for amounts in found[1:]:
        apart = [abs(x - amounts[0] * r) for x, (_, r) in zip(amounts, group, strict=True)]
        if amounts not in kept and all(
            off <= _grain(supplements[j], amounts[i]) / 2 * (1 + 1e-6)
            for i, ((j, _), off) in enumerate(zip(group, apart, strict=True))
        ):
            kept.append(amounts)
    return tuple(np.array(amounts) * size[[j for j, _ in group]] for amounts in kept)


def _nearer(both: tuple[float, float], amount: float) -> float:
    below, above = both
    return above if above - amount < amount - below else below


def _grain(supplement: SupplementToPlan, amount: float) -> float:
    """Return by how much the amount of a day changes with one step of each dose."""
    return max(supplement.step * max(doses_for(supplement, amount), 1), _NEARLY * amount)


def _put(
    scaled: np.ndarray, places: list[tuple[int, ...]], amounts: list[np.ndarray]
) -> np.ndarray:
    found = scaled.copy()
    for at, values in zip(places, amounts, strict=True):
        found[list(at)] = values
    return found


def _fine_ones_again(
    condensed: Condensed,
    limits: LimitRows,
    scaled: np.ndarray,
    low: np.ndarray,
    top: np.ndarray,
    dead: float,
) -> np.ndarray:
    """Solve again for the last amounts of supplements without a step, the others being set."""
    P = len(condensed.phases)
    steps = np.repeat([one.step > 0.0 for one in condensed.problem.supplements], P)
    if np.all(steps) or not np.any(scaled[~steps] > _NEARLY):
        return scaled
    low, top = np.where(steps, scaled, low), np.where(steps, scaled, top)
    answer = solve_near(condensed, limits, low, top, scaled, dead=dead)
    return scaled if answer is None else answer


def _answer(
    condensed: Condensed, scaled: np.ndarray, notes: tuple[Message, ...]
) -> tuple[np.ndarray, np.ndarray, tuple[Message, ...]]:
    amounts = condensed.amounts(np.maximum(scaled, 0.0))
    supplements = condensed.problem.supplements
    for j, one in enumerate(supplements):
        if one.step > 0.0:
            # Whole steps to the last digit, whatever the scaling left behind.
            amounts[j] = np.round(amounts[j] / one.step) * one.step
        amounts[j][amounts[j] < _NEARLY * max(1.0, float(amounts[j].max(initial=0.0)))] = 0.0
    return amounts, doses_a_day(condensed.problem, amounts), notes


def doses_a_day(problem: PlanProblem, amounts: np.ndarray) -> np.ndarray:
    """Return the number of equal doses of each amount.

    Parameters
    ----------
    problem : PlanProblem
        Supplements.
    amounts : ndarray, shape (supplements, phases)
        mL (or g) a day.

    Returns
    -------
    ndarray of int, shape (supplements, phases)
        Doses a day; 0 for nothing.

    Examples
    --------
    >>> from reef_calc.plan.problem import SupplementToPlan
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=20.0)
    >>> doses_a_day(PlanProblem((), (soda,), 5), np.array([[80.0, 30.0, 0.0]]))
    array([[4, 2, 0]])
    """
    found = np.zeros(amounts.shape, dtype=int)
    for j, one in enumerate(problem.supplements):
        found[j] = [doses_for(one, float(amount)) for amount in amounts[j]]
    return found
