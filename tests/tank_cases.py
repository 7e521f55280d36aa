"""Small invented tanks for tests of the review: what a keeper may type, and what a tank may do."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pandas as pd

from tests.folders import TANK, dose, reading

LIMITS = TANK.replace(
    "high = 8.5",
    "high = 8.5\nrise_per_day = 0.5\nfall_per_day = 0.5\nnever_below = 6.0\nnever_above = 12.0",
)
NO_AIMS = TANK.split("[aim.alkalinity]")[0]


def flat(i: int) -> float:
    """Return 8.0 dKH with a repeating scatter of 0.1."""
    return 8.0 + 0.1 * ((i * 7) % 3 - 1)


def at(level: float) -> Callable[[int], float]:
    """Return a level with the scatter of ``flat``."""
    return lambda i: level + flat(i) - 8.0


def series(
    n: int = 16,
    start: str = "2026-03-01",
    step: float = 2,
    level: Callable[[int], float] = flat,
    **cells: object,
) -> list[dict[str, object]]:
    """Return rows of readings, every ``step`` days at 18:00."""
    first = pd.Timestamp(start)
    given: dict[str, object] = {"kit": "drops", "lot": "A1"} | cells
    return [
        reading(f"{first + pd.Timedelta(days=step * i):%Y-%m-%d}T18:00", f"{level(i):.2f}", **given)
        for i in range(n)
    ]


def changes(n: int = 5, start: str = "2026-03-03", litres: float = 30) -> list[dict[str, object]]:
    """Return weekly rows of water changes."""
    first = pd.Timestamp(start)
    return [
        {"time": f"{first + pd.Timedelta(days=7 * i):%Y-%m-%d}T12:00", "litres": litres}
        for i in range(n)
    ]


def quiet(**parts: Any) -> dict[str, Any]:
    """Return the parts of a quiet tank in March 2026, some of them replaced."""
    given = {
        "readings": series(),
        "additions": [dose("2026-02-20", "60")],
        "water_changes": changes(),
        "tank": LIMITS,
    }
    return given | parts


# A bare word of the machine: not a number, not a sentence.
MACHINE_WORDS = re.compile(
    r"(?<![A-Za-z])(nan|NaN|None|inf|NaT|<NA>|Traceback|Timestamp)(?![A-Za-z])"
)
ONE_OF_MANY = re.compile(r"(?<![\d.])1 (readings|days|lines|doses|rows|elements)\b")


def words_of(page: str) -> str:
    """Return the words of a page, a line for each piece of text."""
    body = re.sub(r"<style.*?</style>", "", page, flags=re.DOTALL)
    body = re.sub(r"</(p|li|h\d|tr|th|td|caption|summary|span|b|text|title)>", "\n", body)
    return html.unescape(re.sub(r"<[^>]+>", "", body))
