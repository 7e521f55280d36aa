"""What the settings table says of containers: those that stay as they are, how long each lasts."""

from __future__ import annotations

import math
from typing import Any

from reef_calc.plan.dose_plan import DosePlan
from reef_calc.show.plan_lane import short_date
from reef_calc.show.plan_words import plain_amount
from reef_calc.show.times import records


def kept_words(plan: DosePlan) -> dict[str, str]:
    """Return the containers that stay as they are, with their amount a day.

    Parameters
    ----------
    plan : DosePlan
        The plan.

    Returns
    -------
    dict of str to str
        Such as "18 mL", by container.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.plan.dose_plan import plan_doses
    >>> kept_words(plan_doses(example_tank(), 14))
    {}
    """
    return {
        name: plain_amount(plan.set_now[name], supplement.unit)
        for name, supplement in plan.kept.items()
    }


def full_container_words(plan: DosePlan) -> dict[str, str]:
    """Return how long a full container lasts under the plan.

    Parameters
    ----------
    plan : DosePlan
        The plan.

    Returns
    -------
    dict of str to str
        Such as "if full, 5 L: 29 days, to 28 Oct", by container.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.plan.dose_plan import plan_doses
    >>> list(full_container_words(plan_doses(example_tank(), 14)))
    ['part one']
    """
    return {str(row.container): _words(row, plan.start.year) for row in records(plan.totals)}


def _words(row: Any, year: int) -> str:
    if not row.total > 0.0:
        return "not used"
    if not (math.isfinite(row.container_L) and math.isfinite(row.lasts_days)):
        return "size of the container not written"
    until = "" if row.runs_out is None else f", empty on {short_date(row.runs_out)}"
    if until and row.runs_out.year != year:
        until += f" {row.runs_out.year}"
    days = f"{row.lasts_days:.0f} day{'' if row.lasts_days == 1 else 's'}"
    return f"if full, {row.container_L:g} L: {days}{until}"
