"""Whether a plan keeps its limits: read from the levels of the plain day-by-day loop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.plan.limit_words import amount_text, days_text, short_number
from reef_calc.plan.phases import most_a_day
from reef_calc.plan.problem import PlanProblem

# In shares of a limit; far below what a kit can see.
_NEARLY = 1e-5


@dataclass(frozen=True)
class PassedLimit:
    """A limit that a plan passes.

    Attributes
    ----------
    kind, name : str
        Kind of the limit, element or supplement.
    day : int
        First day on which it is passed.
    value, limit : float
        Change a day, level or amount, and its limit, both in the unit of the element or supplement.
    """

    kind: str
    name: str
    day: int
    value: float
    limit: float

    def words(self, problem: PlanProblem) -> str:
        """Return the sentence that says so.

        Parameters
        ----------
        problem : PlanProblem
            For units.

        Returns
        -------
        str
            One sentence.
        """
        if self.kind in ("most a day", "stock"):
            one = next(s for s in problem.supplements if s.name == self.name)
            have, may = amount_text(one, self.value), amount_text(one, self.limit)
            return f"The plan needs {have} of {self.name}, and there are only {may}."
        unit = problem.elements[problem.element(self.name)].unit
        value, limit = short_number(self.value), short_number(self.limit)
        if value == limit:
            # Two numbers that read the same would make no sense of the sentence.
            value = f"a little more than {limit}"
        verb = {"rise": "rises by", "fall": "falls by", "ceiling": "reaches"}[self.kind]
        a_day = "" if self.kind == "ceiling" else " in a day"
        when = "on the first day" if self.day == 0 else f"first after {days_text(self.day)}"
        return (
            f"{self.name[0].upper()}{self.name[1:]} {verb} {value} {unit}{a_day}, {when}; {limit} {unit} "
            "is the limit."
        )


def limits_passed(
    problem: PlanProblem, daily: np.ndarray, levels: np.ndarray
) -> tuple[PassedLimit, ...]:
    """Return the limits that amounts and levels pass, each once with its worst value.

    A day whose water change alone passes the largest rise is judged by what doses add to the use; a
    level that is too high without any dose is judged by whether anything is added to it.

    Parameters
    ----------
    problem : PlanProblem
        Limits.
    daily : ndarray, shape (supplements, days)
        Amounts a day (mL or g).
    levels : ndarray, shape (elements, days + 1)
        Levels of the plain day-by-day loop, each in its unit.

    Returns
    -------
    tuple of PassedLimit
        Empty where everything is kept.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, rise_per_day=0.5)
    >>> one = PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 2)
    >>> limits_passed(one, np.array([[40.0, 60.0]]), np.array([[7.0, 7.4, 8.0]]))[0].words(one)
    'Alkalinity rises by 0.6 dKH in a day, first after 1 day; 0.5 dKH is the limit.'
    """
    found = []
    share = problem.shares()
    for e, one in enumerate(problem.elements):
        rise = np.diff(levels[e])
        change = share * (one.new_water - levels[e, :-1])
        rest = rise - change
        up = one.rise_per_day
        over = np.where(change > up, rest, rise) - np.where(change > up, 0.0, up)
        found += _worst("rise", one.name, over, rise, up, up)
        down = one.fall_per_day
        over = np.where(-change > down, -rest, -rise) - down
        found += _worst("fall", one.name, over, -rise, down, down)
        if one.ceiling is not None:
            over = levels[e, 1:] - one.ceiling
            over = np.where(rise <= 0.0, np.minimum(over, 0.0), over)
            found += _worst("ceiling", one.name, over, levels[e, 1:], one.ceiling, one.half)
    for j, one_supplement in enumerate(problem.supplements):
        most = most_a_day(one_supplement)
        found += _worst("most a day", one_supplement.name, daily[j] - most, daily[j], most, most)
        total, stock = np.array([daily[j].sum()]), one_supplement.stock
        found += _worst("stock", one_supplement.name, total - stock, total, stock, stock)
    return tuple(found)


def _worst(
    kind: str, name: str, over: np.ndarray, value: np.ndarray, limit: float, scale: float
) -> list[PassedLimit]:
    if not np.isfinite(limit):
        return []
    days = np.flatnonzero(over > _NEARLY * scale + 1e-12)
    if not len(days):
        return []
    worst = days[int(np.argmax(over[days]))]
    return [PassedLimit(kind, name, int(days[0]), float(value[worst]), float(limit))]
