"""Brings foreign texts and files into a small tank of Berlin, for tests."""

from __future__ import annotations

import datetime as dt
import tempfile
from functools import cache
from pathlib import Path

from reef_calc.chem.units import convert
from reef_calc.log.foreign.outcome import Question
from reef_calc.log.foreign.understand import understand
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.tank import Tank, open_tank
from tests.folders import TANK

MESSY = Path(__file__).parents[2] / "data" / "messy"
NOW = dt.datetime(2026, 11, 28, 12, tzinfo=dt.UTC)


@cache
def berlin() -> Tank:
    folder = Path(tempfile.mkdtemp())
    (folder / "tank.toml").write_text(TANK.format(zone="Europe/Berlin"))
    (folder / "kits.toml").write_text("")
    return open_tank(folder)


def bring(
    content: str | bytes, answers: dict[str, str] | None = None, *, file: str = "log.csv"
) -> Understood:
    """What is understood of a text; the sums must agree whatever the text is."""
    data = content.encode() if isinstance(content, str) else content
    found = understand(file, data, berlin(), answers or {}, now=NOW)
    sums_agree(found)
    return found


def messy(name: str, answers: dict[str, str] | None = None) -> Understood:
    """What is understood of one of the messy files."""
    path = next(MESSY.glob(f"{name}.*"))
    return bring(path.read_bytes(), answers, file=path.name)


def sums_agree(found: Understood) -> None:
    c = found.counts
    assert c.lines == len(found.grid.rows) == c.headings + c.not_read + c.blank + c.data
    assert c.data == len(found.data_rows) == len(found.fates)
    entered = {entry.row for entry in found.entries}
    assert entered <= set(found.data_rows)
    held = {(m.row, m.column) for m in found.marks if m.said.fate in ("asked", "refused")}
    assert not any((e.row, e.column) in held or (e.row, None) in held for e in found.entries)
    for row, fate in found.fates.items():
        if fate == "read":
            assert all(m.said.fate == "read" for m in found.marks if m.row == row)


def read(found: Understood) -> list[tuple[str, str, float]]:
    """(time, element, value) of the readings, in order of the file."""
    return [(e.cells["time"], e.cells["element"], float(e.cells["value"])) for e in found.entries]


def values(found: Understood, element: str) -> list[float]:
    return [value for _, name, value in read(found) if name == element]


def level(found: Understood, at: int, unit: str) -> float:
    """One reading in another unit, by the package's units."""
    cells = found.entries[at].cells
    return convert(
        float(cells["value"]), cells["unit"], unit, cells["element"],
        salinity=35.0, temperature_C=25.0,
    )  # fmt: skip


def said(found: Understood, row: int) -> str:
    """All that is said of a row, in one text."""
    return " ".join(
        f"{m.said.fate} {m.said.reason} {m.said.repair} {m.said.likely}"
        for m in found.marks
        if m.row == row
    )


def notes(found: Understood) -> str:
    return " ".join(note.text for note in found.notes)


def asked(found: Understood, row: int) -> Question:
    """The one open question that a row waits for."""
    keys = {m.said.question for m in found.marks if m.row == row and m.said.fate == "asked"}
    assert len(keys) == 1, (row, keys)
    return next(q for q in found.questions if q.key == keys.pop())
