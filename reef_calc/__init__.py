"""A workbench for reef-tank water tests: from a vial to a number, a rate, a plan and a page.

>>> import reef_calc as rc
>>> sorted(rc.__all__)[:2]
['add_log', 'compare_kits']
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "open_tank": "reef_calc.log.tank",
    "start_tank": "reef_calc.log.folder",
    "understand_log": "reef_calc.log.foreign.from_a_file",
    "add_log": "reef_calc.log.foreign.from_a_file",
    "estimate_consumption": "reef_calc.balance.consumption",
    "plan_doses": "reef_calc.plan.dose_plan",
    "compare_kits": "reef_calc.compare.kits",
    "review_month": "reef_calc.show.review",
    "review_html": "reef_calc.show.review",
}
__all__ = list(_HOMES)
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """Load a part of the package when it is first asked for."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"reef_calc has no {name!r}; it has: {', '.join(__all__)}")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
