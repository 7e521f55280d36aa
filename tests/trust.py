"""The record of published checks, and the page tests/TRUST.md that is written from it."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

DATA = Path(__file__).parent / "data"
PAGE = Path(__file__).parent / "TRUST.md"

Numbers = float | Sequence[float]


@dataclass(frozen=True)
class PublishedCheck:
    """One row of ``data/published_checks.csv``, its texts as printed there."""

    id: str
    topic: str
    inputs: str
    expected: str
    tolerance: str
    status: str
    source: str

    @property
    def numbers(self) -> tuple[float, ...]:
        """The expected numbers; several are parted by a bar or by a slash between blanks."""
        parts = re.split(r" \| | / ", self.expected)
        return tuple(float(part.split()[0]) for part in parts)


@dataclass(frozen=True)
class _Record:
    id: str
    topic: str
    expected: tuple[float, ...]
    got: tuple[float, ...]
    source: str
    status: str


_records: dict[str, _Record] = {}


@cache
def published_checks() -> dict[str, PublishedCheck]:
    """Return the rows of the data file by their id."""
    with (DATA / "published_checks.csv").open(encoding="utf-8", newline="") as file:
        rows = [PublishedCheck(**row) for row in csv.DictReader(file)]
    return {row.id: row for row in rows}


def record_check(
    id: str, topic: str, expected: Numbers, got: Numbers, source: str, status: str
) -> None:
    """Keep one check for the page; a group's name stands before the colon of the topic."""
    record = _Record(id, topic, _tuple(expected), _tuple(got), source, status)
    if len(record.expected) != len(record.got):
        raise ValueError(f"{id}: {len(record.expected)} numbers expected, {len(record.got)} got")
    _records[id] = record


def check_published(id: str, *got: float, part: int | None = None) -> None:
    """Compare with the row of that id at its own tolerance, and record it.

    The tolerance is absolute, or relative where the row writes %; ``exact`` is to 12 digits.
    """
    row = published_checks()[id]
    expected = row.numbers if part is None else (row.numbers[part],)
    record_check(id, f"{row.topic}: {row.inputs}", expected, got, row.source, row.status)
    first = row.tolerance.split()[0]
    if row.tolerance == "exact":
        assert got == pytest.approx(expected, rel=1e-12, abs=0)
    elif row.tolerance.endswith("%"):
        assert got == pytest.approx(expected, rel=float(first) / 100, abs=0)
    else:
        assert got == pytest.approx(expected, rel=0, abs=float(first))


def recorded_count() -> int:
    """Return how many checks this run has recorded."""
    return len(_records)


def handed_over() -> list[dict[str, Any]]:
    """Return the record in plain values, for the process that gathers them."""
    return [asdict(record) for record in _records.values()]


def take_over(records: list[dict[str, Any]]) -> None:
    """Add what another process has recorded."""
    for one in records:
        kept = {key: tuple(v) if isinstance(v, list) else v for key, v in one.items()}
        _records[str(one["id"])] = _Record(**kept)


def digits_reached(expected: Numbers, got: Numbers) -> int:
    """Return to how many significant digits all the numbers agree (at most 12)."""
    worst = 12.0
    for wanted, found in zip(_tuple(expected), _tuple(got), strict=True):
        difference = abs(found - wanted)
        if difference:
            worst = min(worst, -math.log10(difference / (abs(wanted) or 1.0)))
    return max(0, math.floor(worst))


def write_page() -> None:
    """Write tests/TRUST.md from this run's record; nothing of an older page is kept."""
    groups: dict[str, list[_Record]] = {}
    for record in sorted(_records.values(), key=lambda one: one.id):
        groups.setdefault(record.topic.split(":")[0], []).append(record)
    lines = [
        "# Should you trust this?",
        "",
        f"{len(_records)} published checks ran, and every one agreed within its tolerance. The",
        "whole run of the tests writes this page; do not edit it by hand.",
        "",
        "PUBLISHED: the number is printed in the source. COMPUTED: it was worked out with the",
        "named reference library or by hand. MEMORY: it was remembered, and should be looked up.",
        "Digits: significant digits to which the result and the expected number agree, at most 12;",
        "fewer than the source prints is normal where the source has rounded.",
    ]
    for topic in sorted(groups):
        lines += ["", f"## {topic.capitalize()}", ""]
        lines += ["| id | check | expected | got | digits | status | source |"]
        lines += ["|---|---|---|---|---|---|---|"]
        for one in groups[topic]:
            cells = (
                one.id,
                one.topic.partition(":")[2].strip() or one.topic,
                " / ".join(f"{number:.12g}" for number in one.expected),
                " / ".join(f"{number:.8g}" for number in one.got),
                str(digits_reached(one.expected, one.got)),
                one.status,
                one.source,
            )
            lines.append("| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |")
    PAGE.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _tuple(numbers: Numbers) -> tuple[float, ...]:
    if isinstance(numbers, Sequence):
        return tuple(float(number) for number in numbers)
    return (float(numbers),)
