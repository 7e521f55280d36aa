"""What to know about a plan, in sentences."""

from __future__ import annotations

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.condensed import Condensed
from reef_calc.plan.kept_limits import limits_passed
from reef_calc.plan.limit_rows import LimitRows
from reef_calc.plan.limit_words import days_text, listed, short_number
from reef_calc.plan.phases import most_a_day
from reef_calc.plan.problem import PlanProblem

_SAME = 1e-6


def plan_messages(
    condensed: Condensed,
    rows: LimitRows,
    amounts: np.ndarray,
    levels: np.ndarray,
    *,
    relaxed: dict[str, float],
    without_links: float | None,
    distance: float,
    further: tuple[Message, ...],
    unsure: bool,
) -> tuple[Message, ...]:
    """Return the messages of a plan, in order of weight.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    amounts : ndarray, shape (supplements, phases)
        mL (or g) a day as set.
    levels : ndarray, shape (elements, days + 1)
        Levels of the plan, each in its unit.
    relaxed : dict of str to float
        Falls that had to be let go, as a share of the limit.
    without_links : float or None
        Mean distance if linked supplements were set one by one (no unit).
    distance : float
        Mean distance of the plan before rounding (no unit).
    further : tuple of Message
        What other steps have to say.
    unsure : bool
        Whether room was kept below the limits.

    Returns
    -------
    tuple of Message
        Sentences with codes.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, aim=8.0)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 9), (0,))
    >>> found = plan_messages(model, limit_rows(model, model.base, 0.0), np.zeros((1, 1)), model.base,
    ...     relaxed={}, without_links=None, distance=0.0, further=(), unsure=False)
    >>> [one.code for one in found]
    ['NOTHING_TO_DOSE']
    """
    problem = condensed.problem
    found = list(further)
    found += _passed(problem, levels, condensed, amounts, {*relaxed, *rows.hopeless})
    found += _falls(problem, rows, relaxed)
    found += _changes(problem, levels)
    found += _slowed_falls(problem, rows, condensed, amounts, levels)
    if unsure:
        found += _room_kept(problem)
    found += _links(problem, without_links, distance)
    found += _same_supplements(problem, amounts)
    if not np.any(amounts > 0.0):
        found.append(Message("NOTHING_TO_DOSE", "This plan gives nothing.", "told"))
    return tuple(dict.fromkeys(found))


def _passed(
    problem: PlanProblem,
    levels: np.ndarray,
    condensed: Condensed,
    amounts: np.ndarray,
    told: set[str],
) -> list[Message]:
    """Return what the plain loop shows to be passed; ``told`` names falls that are told anyway."""
    daily = np.repeat(amounts, condensed.lengths, axis=1)
    alone = limits_passed(problem, np.zeros_like(daily), condensed.base)
    by_itself = {(one.kind, one.name): one.value for one in alone}
    found = []
    for passed in limits_passed(problem, daily, levels):
        if passed.kind == "fall" and passed.name in told:
            continue
        text = passed.words(problem)
        alone_too = by_itself.get((passed.kind, passed.name), -np.inf)
        if alone_too > passed.value * 1.005:
            unit = problem.elements[problem.element(passed.name)].unit
            text += f" Without any dose it would be {short_number(alone_too)} {unit}."
        elif alone_too >= passed.value - 1e-9:
            text += " It does so without any dose."
        found.append(Message("LIMIT_PASSED", text, "qualified"))
    return found


def _falls(problem: PlanProblem, rows: LimitRows, relaxed: dict[str, float]) -> list[Message]:
    found = []
    names = dict.fromkeys([*relaxed, *rows.hopeless])
    for name in names:
        one = problem.elements[problem.element(name)]
        limit = f"{short_number(one.fall_per_day)} {one.unit}"
        text = (
            f"{name} falls by more than {limit} a day by itself, and the limits leave no dose that "
            "would slow it enough."
        )
        found.append(Message("FALLS_BY_ITSELF", _sentence(text), "qualified"))
    return found


def _changes(problem: PlanProblem, levels: np.ndarray) -> list[Message]:
    found = []
    share = problem.shares()
    for e, one in enumerate(problem.elements):
        moves = share * (one.new_water - levels[e, :-1])
        for verb, limit, size in (
            ("raises", one.rise_per_day, moves), ("lowers", one.fall_per_day, -moves)
        ):  # fmt: skip
            days = np.flatnonzero(size > limit * (1 + 1e-9))
            if not len(days):
                continue
            worst = float(size[days].max())
            first = int(days[0])
            when = "on the first day" if first == 0 else f"first after {days_text(first)}"
            text = (
                f"A water change alone {verb} {one.name} by {short_number(worst)} {one.unit}, more than "
                f"the {short_number(limit)} {one.unit} a day that are allowed ({when}). "
                "Make it smaller, or bring the new water nearer to the tank."
            )
            found.append(Message("CHANGE_TOO_LARGE", text, "qualified"))
    return found


def _slowed_falls(
    problem: PlanProblem,
    rows: LimitRows,
    condensed: Condensed,
    amounts: np.ndarray,
    levels: np.ndarray,
) -> list[Message]:
    slack = rows.most - rows.matrix @ condensed.scaled(amounts)
    found = []
    for name in dict.fromkeys(tag[1] for tag in rows.tags if tag[0] == "fall"):
        one = problem.elements[problem.element(name)]
        below = float(levels[problem.element(name)].min())
        if one.aim is None or one.start <= one.aim or below < one.aim - one.half / 2:
            continue
        if np.any(slack[rows.of(("fall", name))] < 0.02):
            text = (
                f"{name} is above its aim and would fall faster than {short_number(one.fall_per_day)} "
                f"{one.unit} a day by use alone: the doses only slow that fall."
            )
            found.append(Message("FALL_SLOWED", _sentence(text)))
    return found


def _room_kept(problem: PlanProblem) -> list[Message]:
    names = [
        one.name
        for one in problem.elements
        if one.aim is not None
        and (np.isfinite(one.rise_per_day) or one.ceiling is not None)
        and (one.u_use > 0.0 or one.u_day > 0.0 or one.u_start > 0.0)
    ]
    if not names:
        return []
    text = (
        f"Use, strength and volume are not known exactly: for {listed(names)} room is kept below the "
        "largest rise and the highest level, so that each holds with about 95 %."
    )
    return [Message("ROOM_KEPT", text)]


def _links(problem: PlanProblem, without_links: float | None, distance: float) -> list[Message]:
    if without_links is None or distance - without_links < 0.005:
        return []
    pairs = listed(
        sorted(
            {" and ".join((one.name, other)) for one in problem.supplements for other in one.linked}
        )
    )
    text = (
        f"Setting {pairs} in a fixed ratio has a price: the mean distance from the aims is "
        f"{short_number(distance)} half-bands instead of {short_number(without_links)}."
    )
    return [Message("LINKED", text)]


def _same_supplements(problem: PlanProblem, amounts: np.ndarray) -> list[Message]:
    """Name pairs that do the same, where one of them is used."""
    aimed = [e for e, one in enumerate(problem.elements) if one.aim is not None]
    effects = problem.effects()[aimed]
    found = []
    for j, one in enumerate(problem.supplements):
        for k in range(j + 1, len(problem.supplements)):
            other = problem.supplements[k]
            a, b = effects[:, j], effects[:, k]
            if not (np.any(a) and np.any(b) and np.any(amounts[[j, k]] > 0.0)):
                continue
            if most_a_day(one) == 0.0 or most_a_day(other) == 0.0:
                continue
            along = a / np.linalg.norm(a) - b / np.linalg.norm(b)
            leaves = one.residue / np.linalg.norm(a) - other.residue / np.linalg.norm(b)
            worst = max(one.residue, other.residue) / np.linalg.norm(a)
            if np.abs(along).max() < _SAME and abs(leaves) <= _SAME * worst:
                text = (
                    f"{one.name} and {other.name} do the same; {one.name} is used first because it is "
                    "listed first."
                )
                found.append(Message("DO_THE_SAME", text))
    return found


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"
