"""The plan itself: what the tank needs and gets, what to set, where it leads, the doses of a day."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.show.panels.plan_reactor import NAME, flow_words
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_answer import plan_answer_html
from reef_calc.show.plan_containers import full_container_words, kept_words
from reef_calc.show.plan_doses_figure import doses_of, doses_of_a_day_html
from reef_calc.show.plan_forecast_figure import forecast_html
from reef_calc.show.plan_forecast_reads import LevelsAhead
from reef_calc.show.plan_lane import short_date
from reef_calc.show.plan_results import PlanResults, cautions_of_plan
from reef_calc.show.plan_safety import cautions_html
from reef_calc.show.plan_tables import needs_html
from reef_calc.show.tables import folded
from reef_calc.show.wording import escape


class PlanMainView(PlanView):
    """What to set from the first day, why, and where it leads."""

    def __init__(self) -> None:
        self.box = widgets.HTML()

    def show(self, planning: Planning) -> None:
        """Show the plan.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        results = planning.results
        self.box.value = "" if results is None else plan_html(results)


def plan_html(results: PlanResults) -> str:
    """Return the plan as a page: answer, forecast, need and supply, doses of a day, cautions.

    Parameters
    ----------
    results : PlanResults
        The plan with where it leads.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    shown = LevelsAhead(
        results.ahead, plan.start, plan.solved.phases, results.unchanged, results.tests
    )
    own = set(plan.solved.messages)
    others = tuple(message for message in plan.messages if message not in own)
    answer = plan_answer_html(
        plan.solved,
        plan.start,
        tests=results.tests,
        messages=others,
        tank=plan.tank,
        kept=kept_words(plan),
        lasts=full_container_words(plan),
        ahead=results.ahead,
    )
    tests = "".join(f"<li>{escape(test.words)}</li>" for test in results.tests.values())
    needs = needs_html(plan.problem, results.unchanged, u_use_alone=results.u_use_alone)
    dosing = cautions_html(cautions_of_plan(results), where="dosing")
    return (
        f'<div class="rc" data-view="Plan">{answer}{_reactor(results)}'
        f"<h2>Where it leads</h2>{forecast_html(shown, width=None)}"
        f"<h3>When to test next</h3><ul>{tests}</ul>"
        f"<h2>What the tank needs and gets now</h2>{needs}"
        f"<h2>The doses of a day</h2>{_days_html(results)}"
        f"{folded('Before the first dose', dosing)}</div>"
    )


def _reactor(results: PlanResults) -> str:
    own = results.plan.settings
    flows = own.loc[own["container"] == NAME, ["date_from", "per_day"]]
    said = [
        f"From {row.date_from.day} {row.date_from:%B}: {flow_words(float(row.per_day))}"
        for row in flows.itertuples()
        if row.per_day > 0.0
    ]
    return "".join(f"<p>{escape(text)}</p>" for text in said)


def _days_html(results: PlanResults) -> str:
    """Return the doses of a day, one picture for each phase; all but the last are folded."""
    table = results.plan.table
    if table.empty:
        return "<p>No doses.</p>"
    found = []
    order = list(results.every)
    phases = list(table.groupby(["date_from", "date_to"], sort=True))
    for number, ((first, last), rows) in enumerate(phases):
        words = f"{short_date(last)} {last.year}"
        if first != last:
            words = f"{short_date(first)} to {words}"
        picture = doses_of_a_day_html(doses_of(rows), width=None, order=order)
        if number < len(phases) - 1:
            found.append(folded(f"Correction, {words}", picture))
        else:
            found.append(f"<h3>From {words}</h3>{picture}")
    return "".join(found)
