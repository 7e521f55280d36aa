"""Speed of what a person waits for: reading a folder, pictures, a plan. Run on demand."""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

from reef_calc.balance.expected import expected_level
from reef_calc.chem.units import convert
from reef_calc.log.tank import open_tank
from reef_calc.plan.dose_plan import dose_plan
from reef_calc.plan.from_tank import tank_question
from reef_calc.plan.solver import solve_plan
from reef_calc.show.gather import gather
from reef_calc.show.lanes import element_html
from reef_calc.show.panels.plan_main import plan_html
from reef_calc.show.plan_results import ph_of_plan, plan_results

DEMO = Path(__file__).resolve().parents[2] / "data_demo" / "classroom_reef"


def best_of(words: str, work: object, times: int = 5) -> None:
    """Write the shortest of several runs."""
    found = []
    for _ in range(times):
        start = perf_counter()
        work()  # type: ignore[operator]
        found.append(perf_counter() - start)
    sys.stdout.write(f"{words}: {1000 * min(found):.1f} ms\n")
    sys.stdout.flush()


def main() -> None:
    """Measure on the demonstration tank."""
    best_of("a year of the demonstration tank, opened", lambda: open_tank(DEMO))
    tank = open_tank(DEMO)
    convert(8.0, "dKH", "meq/L", "alkalinity")
    best_of(
        "1,000 conversions",
        lambda: [convert(7.0 + i * 1e-4, "dKH", "meq/L", "alkalinity") for i in range(1000)],
    )
    standing = gather(tank, "alkalinity", "2026-09", with_cross_checks=True)
    best_of("one element drawn", lambda: element_html(standing))
    best_of("an expected level", lambda: expected_level(tank, "calcium", "2026-10-02T15:00"))
    question = tank_question(tank, 30)
    best_of("a plan's question", lambda: tank_question(tank, 30))
    best_of("a plan solved, 30 days", lambda: solve_plan(question.problem))
    far = tank_question(tank, 90)
    best_of("a plan solved, 90 days", lambda: solve_plan(far.problem))
    plan = dose_plan(tank, question)
    results = plan_results(tank, question, plan)
    best_of("a plan's page drawn", lambda: plan_html(results))
    best_of("pH of a plan", lambda: ph_of_plan(results))
    best_of(
        "a changed field to the new page",
        lambda: plan_html(plan_results(tank, q := tank_question(tank, 30), dose_plan(tank, q))),
    )


if __name__ == "__main__":
    main()
