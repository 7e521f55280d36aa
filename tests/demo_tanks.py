"""The invented tanks and their reviews, opened and worked out once for all test modules."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.review import MonthReview, review_month

DEMO = Path(__file__).resolve().parents[1] / "data_demo"


@cache
def demo_tank(name: str = "classroom_reef") -> Tank:
    """An invented tank; estimates are kept by the opened tank, so one tank serves everybody."""
    return open_tank(DEMO / name)


@cache
def demo_review(name: str, month: str) -> MonthReview:
    """Its review of one month, without cross-checks."""
    return review_month(demo_tank(name), month)
