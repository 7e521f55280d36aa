"""The Kit checks view on small tank folders, as the bench page drives it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reef_calc import open_tank
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.kit_checks import KitChecksView
from tests.folders import STANDARDS, make_folder, reading

KITS = """
[kit.drops]
element = "alkalinity"
kind = "meter"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "typed"}
[[kit.drops.lot]]
name = "A1"
opened = 2026-01-01
expires = 2026-03-31

[kit.spare]
element = "calcium"
kind = "meter"
unit = "mg/L"

[kit.laboratory]
kind = "laboratory report"
"""
TWELVE = (
    STANDARDS + '[standard.twelve]\nelement = "alkalinity"\nvalue = 12.0\nunit = "dKH"\nu = 0.05\n'
)


class Page:
    """What the bench page does for a view."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.said: list[tuple[str, str]] = []
        self.view = KitChecksView()
        self.show()

    def show(self) -> None:
        tank = open_tank(self.folder)
        self.view.show(
            Bench(tank, "me", lambda text, kind: self.said.append((kind, text)), self.show)
        )

    def part(self, name: str) -> str:
        self.view.part.value = name
        form = self.view.form
        if name == "Correct":
            return form.advice.value + form.effect.value + form.stored.value
        return str(self.view.shown.value)


def check(day: str, value: object, standard: str = "eight", **cells: object) -> dict[str, object]:
    given: dict[str, object] = {"kit": "drops", "lot": "A1"}
    return reading(f"{day}T12:00", value, water=f"standard {standard}", **(given | cells))


def page_maker(folder: Path) -> Any:
    """What makes a page of a folder with standards read, and eleven readings of the tank."""

    def made(*rows: dict[str, object], **parts: Any) -> Page:
        tank = [
            reading(
                f"2026-03-{day:02}T18:00", f"{8.3 - 0.1 * (day % 3):.1f}", kit="drops", lot="A1"
            )
            for day in range(1, 12)
        ]
        given = {"readings": [*rows, *tank], "kits": KITS, "standards": TWELVE} | parts
        return Page(make_folder(folder, **given))

    return made


BIASED = tuple(check(f"2026-03-{day:02}", value) for day, value in ((1, 8.4), (2, 8.5), (3, 8.4)))
RIGHT = tuple(check(f"2026-03-{day:02}", value) for day, value in ((1, 8.0), (2, 8.1), (3, 8.0)))
