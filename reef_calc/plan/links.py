"""Supplements that are set in a fixed ratio to each other."""

from __future__ import annotations

import numpy as np

from reef_calc.plan.condensed import Condensed


def links_between(condensed: Condensed) -> np.ndarray:
    """Return the rows that keep linked supplements in their ratio: each of them is 0.

    Parameters
    ----------
    condensed : Condensed
        For sizes and phases.

    Returns
    -------
    ndarray, shape (links·phases, supplements·phases)
        Coefficients of the scaled amounts.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> a = SupplementToPlan("a", {"alkalinity": 0.01}, linked={"b": 2.0})
    >>> b = SupplementToPlan("b", {"alkalinity": 0.01})
    >>> links_between(condense(PlanProblem((kh,), (a, b), 5), (0,)))
    array([[-1. ,  0.5]])
    """
    problem = condensed.problem
    P = len(condensed.phases)
    names = [one.name for one in problem.supplements]
    found = []
    for j, one in enumerate(problem.supplements):
        for other, ratio in one.linked.items():
            k = names.index(other)
            if condensed.size[j] == 0.0 or condensed.size[k] == 0.0:
                continue
            for p in range(P):
                row = np.zeros(len(names) * P)
                row[j * P + p] = -ratio / condensed.size[j]
                row[k * P + p] = 1.0 / condensed.size[k]
                found.append(row / np.abs(row).max())
    return np.array(found) if found else np.zeros((0, len(names) * P))


def linked_groups(condensed: Condensed) -> list[list[tuple[int, float]]]:
    """Return the supplements that are set together, each with its ratio to the first of its group.

    Parameters
    ----------
    condensed : Condensed
        For supplements and sizes.

    Returns
    -------
    list of list of (int, float)
        Index and ratio (no unit); a supplement that is linked to nothing is a group of one.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> a = SupplementToPlan("a", {"alkalinity": 0.01}, linked={"b": 2.0})
    >>> b = SupplementToPlan("b", {"alkalinity": 0.01})
    >>> linked_groups(condense(PlanProblem((kh,), (a, b), 5), (0,)))
    [[(0, 1.0), (1, 2.0)]]
    """
    supplements = condensed.problem.supplements
    names = [one.name for one in supplements]
    edges: dict[int, list[tuple[int, float]]] = {j: [] for j in range(len(names))}
    for j, one in enumerate(supplements):
        for other, ratio in one.linked.items():
            k = names.index(other)
            edges[j].append((k, ratio))
            if ratio > 0.0:
                edges[k].append((j, 1.0 / ratio))
    seen: set[int] = set()
    groups = []
    for j in range(len(names)):
        if j in seen or condensed.size[j] == 0.0:
            continue
        seen.add(j)
        group = [(j, 1.0)]
        for member, own in group:
            for k, ratio in edges[member]:
                if k not in seen:
                    seen.add(k)
                    group.append((k, own * ratio))
        groups.append(group)
    return groups
