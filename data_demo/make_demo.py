"""Writes the invented demo: the tables of two school tanks, and the truth they were drawn from.

``python data_demo/make_demo.py`` rewrites the tables in place, byte for byte;
``python data_demo/make_demo.py FOLDER`` writes a complete copy into another folder. The TOML files of
the tanks are written by hand and only copied. The school, the tanks, the people, the kits and the
numbers are all invented.
"""

from __future__ import annotations

import datetime as dt
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from display_year import CALCIUM_PUMP, SEED, display
from log_tables import ZONE, Story, at
from nursery_months import nursery
from simulated_water import ELEMENTS, UNITS

HERE = Path(__file__).resolve().parent
TANKS: dict[str, Callable[[Path], Story]] = {"classroom_reef": display, "nursery": nursery}
DIGITS = {"dKH": 4, "mg/L": 5, "PSU": 3}
TRUTH_HEAD = f"""\
# What is true about the invented demo, written by make_demo.py. Nothing here was ever measured.
#
# use_by_month and use_last_days: what was really taken up per day, as change of the level in the net
#   volume, mean over the local calendar month or over the days before the end; without what water
#   changes did; below zero where the level rises. Day-to-day variation is in it.
# seen_by_month and seen_last_days: use plus set dose minus delivered dose, which is what readings and
#   a log of set doses can show while a pump that delivers {CALCIUM_PUMP} of what is set is not known
#   about. Only given where it differs from the use.
# level_month_end: level at local midnight after the last day, topped off.

seed = {SEED}
"""


def _months(story: Story) -> list[tuple[str, dt.datetime, dt.datetime]]:
    day = story.start.astimezone(ZONE).date()
    months = []
    while at(day) < story.stop:
        following = (day.replace(day=1) + dt.timedelta(32)).replace(day=1)
        months.append((f"{day:%Y-%m}", at(day), at(following)))
        day = following
    return months


def _table(rates: dict[str, float], digits: int) -> str:
    return "{ " + ", ".join(f'"{key}" = {rate:.{digits}f}' for key, rate in rates.items()) + " }"


def truth_of(name: str, story: Story) -> str:
    """Return the part of ``truth.toml`` that belongs to one tank."""
    course, months = story.course, _months(story)
    spans = {month: (begin, end) for month, begin, end in months}
    last = {str(n): (story.stop - dt.timedelta(days=n), story.stop) for n in (90, 30, 14)}
    lines = [story.facts]
    tested = {cells["element"] for _, cells in story.log.rows["readings.csv"]}
    for element, unit in zip(ELEMENTS, UNITS, strict=True):
        if element not in tested:
            continue
        digits = DIGITS[unit]

        def use(span: tuple[dt.datetime, dt.datetime], element: str = element) -> float:
            return course.mean_rate(course.used, *span, element)

        def seen(span: tuple[dt.datetime, dt.datetime], element: str = element) -> float:
            short = course.mean_rate(course.set - course.delivered, *span, element)
            return use(span, element) + short

        lines.append(f'[{name}.{element}]\nunit = "{unit}"')
        if element != "salinity":
            for key, over in (("by_month", spans), ("last_days", last)):
                rates = {k: use(span) for k, span in over.items()}
                lines.append(f"use_{key} = {_table(rates, digits)}")
                if element == "calcium" and story.log.delivered_over_set:
                    rates = {k: seen(span) for k, span in over.items()}
                    lines.append(f"seen_{key} = {_table(rates, digits)}")
        column = ELEMENTS.index(element)
        ends = {month: course.before[course.index(end), column] for month, _, end in months}
        lines.append(f"level_month_end = {_table(ends, min(digits, 4))}\n")
    return "\n".join(lines)


def make(target: Path) -> None:
    """Write the demo into a folder: both tanks and ``truth.toml``."""
    parts = [TRUTH_HEAD]
    for name, live in TANKS.items():
        source, folder = HERE / name, target / name
        folder.mkdir(parents=True, exist_ok=True)
        if folder.resolve() != source:
            for path in sorted(source.glob("*.toml")):
                shutil.copyfile(path, folder / path.name)
        story = live(source)
        story.log.save(folder)
        parts.append(truth_of(name, story))
    (target / "truth.toml").write_text("\n".join(parts), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
