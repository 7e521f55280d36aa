"""Why the aims cannot be met in time: an irreducible set of limits, and what would do."""

from __future__ import annotations

from typing import Any

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import accepted_units, convert
from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows, Tag, band_rows, stock_scale
from reef_calc.plan.limit_words import (
    amount_text,
    days_text,
    limit_in_words,
    listed,
    rounded_down,
    rounded_up,
    short_number,
)
from reef_calc.plan.limits import MOST_PER_DAY, TIMES_USUAL
from reef_calc.plan.linear import feasible, least
from reef_calc.plan.links import links_between
from reef_calc.plan.no_dose import no_dose_can
from reef_calc.plan.phases import highest_amounts, most_a_day
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.solved import Conflict, Limit

# The keeper's own limits and stocks are named before those that protect the animals.
_ORDER = ("low", "high", "most a day", "stock", "ceiling", "rise", "fall")
_PRICED = 1e-9
# A limit that would have to be more times as large is no offer, nor a level this share away.
_TOO_MUCH = 20.0
_TOO_FAR = 0.25


def find_conflict(
    condensed: Condensed,
    limits: LimitRows,
    wanted: list[int],
    by_day: int,
    *,
    days_needed: int | None = None,
    relaxed: tuple[Tag, ...] = (),
) -> Conflict | None:
    """Return the limits and aims that cannot all be kept, with what would do.

    One slack for each limit, in shares of it; those with a price are the candidates; one after the
    other is dropped, and for good where the rest still cannot be kept. What is left is irreducible.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    limits : LimitRows
        Limits.
    wanted : list of int
        Index of each element that shall be inside its aims.
    by_day : int
        From this day on.
    days_needed : int, optional
        Days in which it could be done, where known.
    relaxed : tuple of (str, str), optional
        Aims that are left out, because an earlier conflict told of them.

    Returns
    -------
    Conflict or None
        None where all of them can be kept.

    Notes
    -----
    Such sets are not unique: a limit named here stands in the way, which does not make it the cause.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, 0.3, low=8.9, aim=9.0, high=9.1, rise_per_day=0.5)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 10), (0, 3))
    >>> found = find_conflict(model, limit_rows(model, model.base, 0.0), [0], 3, days_needed=4)
    >>> found.words
    'Within 3 days these cannot all be kept: alkalinity should be at least 8.9 dKH and alkalinity may
    rise by 0.5 dKH a day. Allow 4 days; or accept alkalinity at 8.5 dKH instead of 8.9 dKH; or let
    alkalinity rise by 0.64 dKH a day instead of 0.5 dKH (this limit protects the animals: rather wait).
    The plan keeps the limits and comes as near as they allow.'
    """
    problem = condensed.problem
    for e in wanted:
        alone = no_dose_can(condensed, e, by_day)
        if alone is not None and (alone.limits[0].kind, alone.limits[0].name) not in relaxed:
            return alone
    rows = _with_amounts(condensed, limits).and_also(band_rows(condensed, wanted, max(by_day, 1)))
    rows = _without(rows, relaxed)
    member = _irreducible(condensed, rows)
    if not any(kind in ("low", "high") for kind, _ in member):
        return None
    member.sort(key=lambda tag: _ORDER.index(tag[0]))
    offers = []
    if days_needed is not None and days_needed > by_day:
        offers.append(f"allow {days_text(days_needed)}")
    for tag in member:
        own = _own_slack(condensed, rows, tag)
        offer = _offer(condensed, tag, own) if own is not None else None
        if offer:
            offers.append(offer)
    named = tuple(Limit(*tag, limit_in_words(problem, *tag), True) for tag in member)
    if len(named) == 1:
        start = f"Within {days_text(by_day)} this cannot be kept: {named[0].words}."
    else:
        clauses = listed([one.words for one in named])
        start = f"Within {days_text(by_day)} these cannot all be kept: {clauses}."
    if offers:
        options = "; or ".join(offers)
        middle = f"{options[0].upper()}{options[1:]}."
    else:
        middle = "No one of them alone would do."
    end = "The plan keeps the limits and comes as near as they allow."
    return Conflict(named, tuple(offers), f"{start} {middle} {end}")


def _with_amounts(condensed: Condensed, limits: LimitRows) -> LimitRows:
    """Return the limits with the largest amounts a day as rows, so that they can be given slack."""
    P = len(condensed.phases)
    high = highest_amounts(condensed)
    matrix, most, tags = [], [], []
    for j, one in enumerate(condensed.problem.supplements):
        for p in range(P):
            i = j * P + p
            if condensed.size[j] == 0.0 or not np.isfinite(high[i]):
                continue
            row = np.zeros(len(high))
            row[i] = 1.0 / high[i] if high[i] > 0 else 1.0
            matrix.append(row)
            most.append(1.0 if high[i] > 0 else 0.0)
            tags.append(("most a day", one.name))
    extra = LimitRows(
        np.array(matrix).reshape(len(most), len(high)),
        np.array(most),
        tuple(tags),
        np.zeros(len(most)),
    )
    return limits.and_also(extra)


def _without(rows: LimitRows, tags: tuple[Tag, ...] | list[Tag]) -> LimitRows:
    return rows.where(~rows.of(*tags))


def _bounds(condensed: Condensed) -> tuple[np.ndarray, np.ndarray]:
    """Largest amounts stand in rows here; what moves nothing stays at 0."""
    P = len(condensed.phases)
    return np.zeros(len(condensed.size) * P), np.repeat(
        np.where(condensed.size > 0.0, np.inf, 0.0), P
    )


def _feasible(condensed: Condensed, rows: LimitRows) -> bool:
    links = links_between(condensed)
    return feasible(rows.matrix, rows.most, *_bounds(condensed), links if len(links) else None)


def _slacks(condensed: Condensed, rows: LimitRows, free: list[Tag]) -> Any:
    """Least sum of slacks, one for each free limit."""
    low, high = _bounds(condensed)
    place = {tag: i for i, tag in enumerate(free)}
    extra = np.zeros((len(rows.most), len(free)))
    for i, tag in enumerate(rows.tags):
        if tag in place:
            extra[i, place[tag]] = -1.0
    links = links_between(condensed)
    return least(
        np.r_[np.zeros(len(low)), np.ones(len(free))],
        np.hstack([rows.matrix, extra]),
        rows.most,
        np.r_[low, np.zeros(len(free))],
        np.r_[high, np.full(len(free), np.inf)],
        np.hstack([links, np.zeros((len(links), len(free)))]) if len(links) else None,
    )


def _irreducible(condensed: Condensed, rows: LimitRows) -> list[Tag]:
    everything = list(dict.fromkeys(rows.tags))
    if not everything:
        return []
    answer = _slacks(condensed, rows, everything)
    if answer is None or answer.fun < 1e-7:
        return []
    priced = -answer.ineqlin.marginals > _PRICED
    candidates = list(dict.fromkeys(tag for tag, one in zip(rows.tags, priced, strict=True) if one))
    others = tuple(tag for tag in everything if tag not in candidates)
    if _feasible(condensed, _without(rows, others)):
        candidates, others = everything, ()
    # Limits that protect the animals are tried first, so that a stock or an aim stays named.
    dropped = list(others)
    for tag in sorted(candidates, key=lambda one: -_ORDER.index(one[0])):
        if not _feasible(condensed, _without(rows, (*dropped, tag))):
            dropped.append(tag)
    return [tag for tag in candidates if tag not in dropped]


def _own_slack(condensed: Condensed, rows: LimitRows, tag: Tag) -> float | None:
    """How much of one limit alone would do, in shares of it; None if it does not help alone."""
    answer = _slacks(condensed, rows, [tag])
    return float(answer.fun) if answer is not None else None


def _offer(condensed: Condensed, tag: Tag, slack: float) -> str:
    """Return what one limit would have to be, in words; empty where that is no offer."""
    problem = condensed.problem
    kind, name = tag
    if slack > _TOO_MUCH and kind != "stock":
        return ""
    if kind in ("most a day", "stock"):
        j = [one.name for one in problem.supplements].index(name)
        one = problem.supplements[j]
        if kind == "stock":
            more = slack * stock_scale(condensed, j)
            return f"have {amount_text(one, rounded_up(more))} more of {name}"
        now = most_a_day(one)
        most = now * (1 + slack) if now > 0 else slack / float(condensed.size[j])
        return f"give {amount_text(one, rounded_up(most))} of {name} a day, if that can be"
    element = problem.elements[problem.element(name)]
    unit = element.unit
    if kind in ("low", "high"):
        edge = float((element.low if kind == "low" else element.high) or 0.0)
        by = slack * element.half * (-1 if kind == "low" else 1)
        if abs(by) > _TOO_FAR * abs(edge):
            return ""
        nearest = rounded_down(edge + by) if kind == "low" else rounded_up(edge + by, 3)
        return f"accept {name} at {short_number(nearest)} {unit} instead of {short_number(edge)} {unit}"
    if kind == "ceiling":
        return ""
    limit = element.rise_per_day if kind == "rise" else element.fall_per_day
    needed = rounded_up(limit * (1 + slack))
    if needed > _most_a_day(element):
        return ""
    return (
        f"let {name} {kind} by {short_number(needed)} {unit} a day instead of {short_number(limit)} "
        f"{unit} (this limit protects the animals: rather wait)"
    )


def _most_a_day(element: ElementToPlan) -> float:
    """Return the change a day beyond which nothing is ever offered."""
    most = MOST_PER_DAY.get(element.name)
    if most is None or element.unit not in accepted_units(element.name):
        return TIMES_USUAL * min(element.rise_per_day, element.fall_per_day)
    usual_unit = ELEMENTS[element.name].display_unit
    if usual_unit == element.unit:
        return most
    return float(
        convert(most, usual_unit, element.unit, element.name, salinity=35.0, temperature_C=25.0)
    )
