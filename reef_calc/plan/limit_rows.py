"""The limits of a plan as rows: Σ coefficient · scaled amount ≤ most, each a share of its limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.plan.condensed import Condensed, days_of_their_own, scale_of, turning_days
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.safety import (
    DAYS_BETWEEN_TESTS,
    most_added,
    most_given,
    relative_of_doses,
    spread_of_level,
)

Tag = tuple[str, str]  # kind of the limit, name of the element or supplement
# A price is named for 10 % more of a limit; a level has no natural zero, so there it is a tenth of
# half the band.
SHARE_MORE = 0.1
_ZERO = 1e-12


@dataclass(frozen=True)
class LimitRows:
    """Rows ``matrix · scaled ≤ most``.

    Attributes
    ----------
    matrix : ndarray, shape (rows, supplements·phases)
        Coefficients.
    most : ndarray, shape (rows,)
        Right-hand sides.
    tags : tuple of (str, str)
        Limit that each row belongs to.
    more : ndarray, shape (rows,)
        What 10 % more of the limit adds to ``most``.
    hopeless : tuple of str
        Elements that fall too fast by themselves, and that nothing here raises.
    """

    matrix: np.ndarray
    most: np.ndarray
    tags: tuple[Tag, ...]
    more: np.ndarray
    hopeless: tuple[str, ...] = ()

    def of(self, *tags: Tag) -> np.ndarray:
        """Return which rows belong to these limits.

        Parameters
        ----------
        *tags : (str, str)
            Kind and name.

        Returns
        -------
        ndarray of bool
            One a row.
        """
        wanted = set(tags)
        return np.array([tag in wanted for tag in self.tags], dtype=bool)

    def where(self, keep: np.ndarray) -> LimitRows:
        """Return some of the rows.

        Parameters
        ----------
        keep : ndarray of bool
            One a row.

        Returns
        -------
        LimitRows
            Those rows.
        """
        tags = tuple(tag for tag, kept in zip(self.tags, keep, strict=True) if kept)
        return LimitRows(self.matrix[keep], self.most[keep], tags, self.more[keep], self.hopeless)

    def and_also(self, other: LimitRows) -> LimitRows:
        """Return these rows with others below them.

        Parameters
        ----------
        other : LimitRows
            More rows of the same unknowns.

        Returns
        -------
        LimitRows
            Both.
        """
        return LimitRows(
            np.vstack([self.matrix, other.matrix]),
            np.r_[self.most, other.most],
            self.tags + other.tags,
            np.r_[self.more, other.more],
            self.hopeless + other.hopeless,
        )


def limit_rows(condensed: Condensed, reference: np.ndarray, z: float) -> LimitRows:
    """Return the rows of rises, falls, ceilings and stocks.

    Rise: f·(C_new − C) + doses − use ≤ limit. On a day whose water change alone passes the limit the
    doses may only replace the use: which of the two holds is read from ``reference``.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    reference : ndarray, shape (elements, days + 1)
        Levels near those of the plan, each in its unit.
    z : float
        Quantile of the normal distribution kept from rises and ceilings (no unit).

    Returns
    -------
    LimitRows
        Rows that no plan may pass; giving nothing keeps all but falls.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, use=0.3, aim=8.0, rise_per_day=0.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> model = condense(PlanProblem((kh,), (soda,), 5), (0,))
    >>> rows = limit_rows(model, model.base, 1.6449)
    >>> rows.matrix.round(6), rows.most.round(6), rows.tags
    (array([[1.]]), array([1.6]), (('rise', 'alkalinity'),))
    """
    found = _Rows(condensed)
    for e in range(len(condensed.problem.elements)):
        _rises(found, e, reference, z)
        _falls(found, e, reference)
        _ceiling(found, e, z)
    _stocks(found)
    return found.gathered()


def band_rows(condensed: Condensed, rows: list[int], from_day: int) -> LimitRows:
    """Return the rows that keep levels inside their aims from a day on.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : list of int
        Index of each element that shall be inside.
    from_day : int
        First day, 1 at the earliest.

    Returns
    -------
    LimitRows
        Rows tagged ``low`` and ``high``.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, low=7.5, aim=8.0, high=8.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> band_rows(condense(PlanProblem((kh,), (soda,), 5), (0,)), [0], 5).tags
    (('high', 'alkalinity'), ('low', 'alkalinity'))
    """
    found = _Rows(condensed)
    problem = condensed.problem
    days = turning_days(problem, condensed.phases)
    days = np.unique(np.r_[days[days >= from_day], from_day, problem.days]).astype(int)
    for e in rows:
        one = problem.elements[e]
        per, base = condensed.per_amount[e, days], condensed.base[e, days]
        for kind, edge, sign in (("high", one.high, 1.0), ("low", one.low, -1.0)):
            if edge is not None:
                most = sign * (edge - base) / one.half
                found.add((kind, one.name), sign * per / one.half, most, SHARE_MORE)
    return found.gathered()


class _Rows:
    """Gathers rows; those that no amount enters are left out where they hold."""

    def __init__(self, condensed: Condensed) -> None:
        self.condensed = condensed
        self.parts: list[tuple[Tag, np.ndarray, np.ndarray, np.ndarray]] = []
        self.hopeless: list[str] = []
        self.days = days_of_their_own(condensed.problem, condensed.phases)

    def add(self, tag: Tag, matrix: np.ndarray, most: np.ndarray, more: np.ndarray | float) -> None:
        more = np.broadcast_to(np.asarray(more, dtype=float), most.shape)
        acts = np.any(np.abs(matrix) > _ZERO, axis=1)
        if tag[0] == "fall":
            if np.any(~acts & (most < -1e-9)):
                self.hopeless.append(tag[1])
            keep = acts
        else:
            # A row that no amount enters says something only where it cannot hold at all.
            keep = acts | (most < -1e-9)
        if np.any(keep):
            self.parts.append((tag, matrix[keep], most[keep], more[keep]))

    def gathered(self) -> LimitRows:
        n = self.condensed.per_amount.shape[2]
        return LimitRows(
            np.vstack([np.empty((0, n)), *(part[1] for part in self.parts)]),
            np.concatenate([np.empty(0), *(part[2] for part in self.parts)]),
            tuple(tag for tag, _, most, _ in self.parts for _ in most),
            np.concatenate([np.empty(0), *(part[3] for part in self.parts)]),
            tuple(self.hopeless),
        )


def _rises(found: _Rows, e: int, reference: np.ndarray, z: float) -> None:
    problem, one = found.condensed.problem, found.condensed.problem.elements[e]
    if not np.isfinite(one.rise_per_day):
        return
    up = one.rise_per_day
    days = found.days
    share, net_use = problem.shares()[days], _net_use(problem, e)[days]
    change = share * (one.new_water - reference[e, days])
    replaced, rising = np.maximum(net_use, 0.0), np.maximum(-net_use, 0.0)

    # On every day doses may replace the use: what holds a level is not what makes it rise. Where a
    # change leaves room there is more, less the margin for what is not known.
    always = replaced

    def free(limit: float) -> np.ndarray:
        return replaced + np.maximum(0.0, limit - rising + np.maximum(0.0, -change))

    def beside(limit: float) -> np.ndarray:
        return most_given(problem, e, free(limit), share, z) - np.maximum(0.0, change)

    doses = np.maximum(always, beside(up))
    more = (np.maximum(always, beside(up * (1 + SHARE_MORE))) - doses) / up
    # Where the change leaves room, more of it is left the higher the level already is. Which days
    # these are does not hang on what is not known, or knowing less could widen a limit.
    follows = (share > 0) & (free(up) - np.maximum(0.0, change) > always)
    matrix = found.condensed.arriving[e, days].copy()
    matrix[follows] -= (share[:, None] * found.condensed.per_amount[e, days])[follows]
    most = doses + np.where(
        follows, share * (found.condensed.base[e, days] - reference[e, days]), 0
    )
    found.add(("rise", one.name), matrix / up, most / up, more)


def _falls(found: _Rows, e: int, reference: np.ndarray) -> None:
    problem, one = found.condensed.problem, found.condensed.problem.elements[e]
    if not np.isfinite(one.fall_per_day):
        return
    down = one.fall_per_day
    days = found.days
    share = problem.shares()[days]
    # A change that passes the limit by itself is said in words: no dose should make up for it.
    follows = (share > 0) & (share * (reference[e, days] - one.new_water) <= down)
    matrix = -found.condensed.arriving[e, days]
    matrix[follows] += (share[:, None] * found.condensed.per_amount[e, days])[follows]
    taken = share * (found.condensed.base[e, days] - one.new_water)
    most = down - _net_use(problem, e)[days] - np.where(follows, taken, 0.0)
    found.add(("fall", one.name), matrix / down, most / down, SHARE_MORE)


def _net_use(problem: PlanProblem, e: int) -> np.ndarray:
    """Return the use of each day less what earlier doses still bring."""
    one = problem.elements[e]
    found = np.full(problem.days, float(one.use))
    early = np.array(one.arriving[: problem.days])
    found[: len(early)] -= early
    return found


def _ceiling(found: _Rows, e: int, z: float) -> None:
    condensed = found.condensed
    problem = condensed.problem
    one = problem.elements[e]
    if one.ceiling is None:
        return
    days = turning_days(problem, condensed.phases)
    scale = scale_of(problem, e)
    # Of what was dosed only the part since the last test is unsure: the test has seen the rest.
    relative = relative_of_doses(problem, e) * np.minimum(1.0, DAYS_BETWEEN_TESTS / days)
    spread = spread_of_level(problem, e, days)
    room = one.ceiling - condensed.base[e, days]
    doses = most_added(room, relative, spread, z)
    more = most_added(room + SHARE_MORE * one.half, relative, spread, z) - doses
    if one.aim is not None:
        # The margin below the highest level never takes a level away from its aim.
        needed = min(one.aim, one.ceiling) - condensed.base[e, days]
        doses, more = np.maximum(doses, needed), np.where(doses < needed, 0.0, more)
    matrix = condensed.per_amount[e, days]
    found.add(("ceiling", one.name), matrix / scale, doses / scale, more / scale)


def _stocks(found: _Rows) -> None:
    condensed = found.condensed
    lengths = condensed.lengths.astype(float)
    P = len(lengths)
    for j, one in enumerate(condensed.problem.supplements):
        if not np.isfinite(one.stock) or condensed.size[j] == 0.0:
            continue
        scale = stock_scale(condensed, j)
        row = np.zeros((1, condensed.per_amount.shape[2]))
        row[0, j * P : (j + 1) * P] = lengths / (condensed.size[j] * scale)
        found.add(("stock", one.name), row, np.array([one.stock / scale]), SHARE_MORE)


def stock_scale(condensed: Condensed, j: int) -> float:
    """Return the scale of the row of a container: its content, or one scaled amount if it is empty.

    Parameters
    ----------
    condensed : Condensed
        For the size of an amount.
    j : int
        Index of the supplement.

    Returns
    -------
    float
        mL (or g).

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, stock=0.0)
    >>> stock_scale(condense(PlanProblem((kh,), (soda,), 5), (0,)), 0)
    50.0
    """
    stock = condensed.problem.supplements[j].stock
    return stock if stock > 0.0 else 1.0 / float(condensed.size[j])
