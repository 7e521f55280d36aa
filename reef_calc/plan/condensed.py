"""Levels as straight-line functions of the amounts a day of each phase."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.recursion import delayed, levels_day_by_day, responses

# An element acts late only where its supplement must be oxidised first.
ACTS_LATE = "alkalinity"


@dataclass(frozen=True)
class Condensed:
    """The recursion solved once: level = base + Σ per_amount · amount.

    Amounts are scaled: one means one day's largest rise (or half a band) of the element that the
    supplement moves most, so that every number of the programme is a share of a limit.

    Attributes
    ----------
    problem : PlanProblem
        The question.
    phases : tuple of int
        First day of each phase.
    size : ndarray, shape (supplements,)
        Scaled amount of one mL (or gram); 0 for what moves nothing that is planned.
    base : ndarray, shape (elements, days + 1)
        Levels without any dose.
    per_amount : ndarray, shape (elements, days + 1, supplements·phases)
        Rise of a level for one scaled amount a day in a phase.
    arriving : ndarray, shape (elements, days, supplements·phases)
        The part of it that reaches the water on that day.
    """

    problem: PlanProblem
    phases: tuple[int, ...]
    size: np.ndarray
    base: np.ndarray
    per_amount: np.ndarray
    arriving: np.ndarray

    @property
    def lengths(self) -> np.ndarray:
        """Days of each phase."""
        return np.diff((*self.phases, self.problem.days))

    def levels(self, scaled: np.ndarray) -> np.ndarray:
        """Return the levels for scaled amounts.

        Parameters
        ----------
        scaled : ndarray, shape (supplements·phases,)
            Scaled amounts a day.

        Returns
        -------
        ndarray, shape (elements, days + 1)
            Levels in each element's unit.
        """
        return self.base + self.per_amount @ scaled

    def amounts(self, scaled: np.ndarray) -> np.ndarray:
        """Return amounts a day from scaled ones.

        Parameters
        ----------
        scaled : ndarray, shape (supplements·phases,)
            Scaled amounts a day.

        Returns
        -------
        ndarray, shape (supplements, phases)
            mL (or g) a day.
        """
        found = scaled.reshape(len(self.size), len(self.phases))
        return np.divide(
            found, self.size[:, None], out=np.zeros_like(found), where=self.size[:, None] > 0
        )

    def scaled(self, amounts: np.ndarray) -> np.ndarray:
        """Return scaled amounts.

        Parameters
        ----------
        amounts : ndarray, shape (supplements, phases)
            mL (or g) a day.

        Returns
        -------
        ndarray, shape (supplements·phases,)
            Scaled amounts a day.
        """
        return (amounts * self.size[:, None]).ravel()


def condense(problem: PlanProblem, phases: tuple[int, ...]) -> Condensed:
    """Return the levels as functions of the amounts of each phase.

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements and water changes.
    phases : tuple of int
        First day of each phase, the first 0.

    Returns
    -------
    Condensed
        Base levels and responses.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.3, aim=8.0, rise_per_day=0.5)
    >>> found = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 2), (0,))
    >>> found.levels(found.scaled(np.array([[30.0]]))).round(6)
    array([[8., 8., 8.]])
    """
    effects = problem.effects()
    J, P, H = len(problem.supplements), len(phases), problem.days
    size = amount_sizes(problem)
    scaled = np.divide(effects, size, out=np.zeros_like(effects), where=size > 0)
    g = responses(problem, phases)
    inside = _inside(phases, H)
    per = np.einsum("ej,pd->edjp", scaled, g)
    arriving = np.einsum("ej,pd->edjp", scaled, inside)
    for e, element in enumerate(problem.elements):
        if element.name != ACTS_LATE:
            continue
        for j, one in enumerate(problem.supplements):
            if one.lag_days > 0.0:
                per[e, :, j, :] = scaled[e, j] * responses(problem, phases, one.lag_days).T
                late = np.array([delayed(row, one.lag_days) for row in inside])
                arriving[e, :, j, :] = scaled[e, j] * late.T
    E = len(problem.elements)
    base = levels_day_by_day(problem, np.zeros((J, H)))
    return Condensed(
        problem, phases, size, base, per.reshape(E, H + 1, J * P), arriving.reshape(E, H, J * P)
    )


def amount_sizes(problem: PlanProblem) -> np.ndarray:
    """Return how large one mL of each supplement is, in shares of the limit it uses up first.

    Parameters
    ----------
    problem : PlanProblem
        Elements and supplements.

    Returns
    -------
    ndarray, shape (supplements,)
        max |effect| / (largest rise a day, or half of the band), per mL (or gram).

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, aim=8.0, rise_per_day=0.5)
    >>> amount_sizes(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 2))
    array([0.02])
    """
    scales = np.array([1.0 / scale_of(problem, e) for e in range(len(problem.elements))])
    effects = np.abs(problem.effects())
    if not len(scales):
        return np.zeros(len(problem.supplements))
    found = np.max(effects * scales[:, None], axis=0)
    # One that moves nothing planned is still set where another is linked to it.
    names = [one.name for one in problem.supplements]
    for j, one in enumerate(problem.supplements):
        for other, ratio in one.linked.items():
            k = names.index(other)
            if found[k] == 0.0 and ratio > 0.0:
                found[k] = found[j] / ratio
            elif found[j] == 0.0:
                found[j] = found[k] * ratio
    return found


def scale_of(problem: PlanProblem, row: int) -> float:
    """Return the scale of an element's changes: its largest rise, else half of its band.

    Parameters
    ----------
    problem : PlanProblem
        Elements.
    row : int
        Index of the element.

    Returns
    -------
    float
        Unit of the level; infinite for what is only reported.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> scale_of(PlanProblem((ElementToPlan("sodium", "mg/L", 10800.0),), (), 1), 0)
    inf
    """
    one = problem.elements[row]
    if one.aim is not None or one.ceiling is not None:
        return one.rise_per_day if np.isfinite(one.rise_per_day) else one.half
    return min(one.rise_per_day, one.fall_per_day)


def turning_days(problem: PlanProblem, phases: tuple[int, ...]) -> np.ndarray:
    """Return the days between which every level runs straight, the last day included.

    Parameters
    ----------
    problem : PlanProblem
        Water changes and delays.
    phases : tuple of int
        First day of each phase.

    Returns
    -------
    ndarray of int
        Days from 1 on at which a level can be highest or lowest.

    Examples
    --------
    >>> turning_days(PlanProblem((), (), 9, (0.0,) * 6 + (0.1,) + (0.0,) * 2), (0, 2))
    array([1, 2, 6, 7, 9])
    """
    found = {1, problem.days, *phases}
    for day in np.flatnonzero(problem.shares() > 0):
        found |= {int(day), int(day) + 1}
    for lag in {one.lag_days for one in problem.supplements if one.lag_days > 0.0}:
        found |= {first + int(lag) + more for first in phases for more in (0, 1, 2)}
    early = max((len(one.arriving) for one in problem.elements), default=0)
    found |= set(range(1, early + 1))
    return np.array(sorted(day for day in found if 1 <= day <= problem.days))


def days_of_their_own(problem: PlanProblem, phases: tuple[int, ...]) -> np.ndarray:
    """Return one day for every way in which a day can differ from the one before.

    Parameters
    ----------
    problem : PlanProblem
        Water changes and delays.
    phases : tuple of int
        First day of each phase.

    Returns
    -------
    ndarray of int
        Days from 0 on; what a day adds is the same on all days between two of them.

    Examples
    --------
    >>> days_of_their_own(PlanProblem((), (), 9, (0.0,) * 6 + (0.1,) + (0.0,) * 2), (0, 2))
    array([0, 2, 6])
    """
    starts = set(phases)
    for lag in {one.lag_days for one in problem.supplements if one.lag_days > 0.0}:
        starts |= {first + int(lag) + more for first in phases for more in (0, 1)}
    starts |= set(range(max((len(one.arriving) for one in problem.elements), default=0) + 1))
    changed = problem.shares() > 0
    found = set(np.flatnonzero(changed).tolist())
    bounds = [*sorted(day for day in starts if day < problem.days), problem.days]
    for first, last in itertools.pairwise(bounds):
        plain = np.flatnonzero(~changed[first:last])
        if len(plain):
            found.add(first + int(plain[0]))
    return np.array(sorted(found))


def _inside(phases: tuple[int, ...], days: int) -> np.ndarray:
    found = np.zeros((len(phases), days))
    for p, (first, last) in enumerate(zip(phases, (*phases[1:], days), strict=True)):
        found[p, first:last] = 1.0
    return found
