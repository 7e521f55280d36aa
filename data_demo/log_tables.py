"""Turns what happened in the simulated water into rows as a person would have written them."""

from __future__ import annotations

import csv
import datetime as dt
import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo

from simulated_water import ELEMENTS, UNITS, Chance, Course, Happenings, strength

ZONE = ZoneInfo("Europe/Copenhagen")
COLUMNS: dict[str, tuple[str, ...]] = {
    "readings.csv": (
        "time",
        "water",
        "element",
        "value",
        "unit",
        "u",
        "limit",
        "upper",
        "kit",
        "lot",
        "raw",
        "replicate",
        "salinity",
        "temperature",
        "by",
        "source",
        "note",
    ),
    "additions.csv": ("start", "end", "supplement", "amount", "unit", "how", "times", "note"),
    "water_changes.csv": ("time", "litres", "salinity", "note"),
    "events.csv": ("time", "kind", "element", "refers_to", "value", "unit", "note"),
}
PHOSPHATE_LIMIT = 0.02  # mg/L, the least the invented meter shows
STEP_TOLERANCE = 0.12  # closer to a colour step than this share of it, the step itself is written
OTHER_UNITS = {"temperature": "°C", "pH": "pH"}


def at(day: dt.date | str, clock: str = "00:00") -> dt.datetime:
    """Return the UTC time of a local day and clock time."""
    text = day if isinstance(day, str) else day.isoformat()
    local = dt.datetime.fromisoformat(f"{text}T{clock}").replace(tzinfo=ZONE)
    return local.astimezone(dt.UTC)


def stamp(time: dt.datetime, date_only: bool = False) -> str:
    """Return a UTC time as written in the tables: local, with an offset in the repeated hour only."""
    local = time.astimezone(ZONE)
    if date_only:
        return local.date().isoformat()
    ambiguous = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return (local if ambiguous else local.replace(tzinfo=None)).isoformat(timespec="minutes")


def days_from(first: dt.date, last: dt.date, every: int = 1) -> list[dt.date]:
    """Return the days from the first to the last, both included."""
    return [first + dt.timedelta(n) for n in range(0, (last - first).days + 1, every)]


@dataclass(frozen=True)
class Standing:
    """A dose a day as set on a pump; ``stop`` None runs on, ``amount`` None was never written down."""

    start: dt.datetime
    stop: dt.datetime | None
    supplement: str
    amount: float | None
    times: tuple[str, ...] = ()
    note: str = ""


@dataclass
class TankLog:
    """The tables of one tank while they are being written."""

    folder: Path
    net_L: float
    stop: dt.datetime
    chance: Chance
    delivered_over_set: dict[str, float] = field(default_factory=dict)
    happenings: Happenings = field(default_factory=Happenings)
    rows: dict[str, list[tuple[dt.datetime, dict[str, str]]]] = field(
        default_factory=lambda: {name: [] for name in COLUMNS}
    )

    def __post_init__(self) -> None:
        self.kits = tomllib.loads((self.folder / "kits.toml").read_text("utf-8"))["kit"]
        shelf = tomllib.loads((self.folder / "supplements.toml").read_text("utf-8"))["supplement"]
        self.rise_per_mL = {name: strength(one, self.net_L) for name, one in shelf.items()}

    def write(self, table: str, moment: dt.datetime, /, **cells: str) -> None:
        """Add a row to a table; empty columns stay empty."""
        self.rows[table].append((moment, cells))

    def standing(self, dose: Standing) -> None:
        """Set a pump, and write it down."""
        self.write(
            "additions.csv",
            dose.start,
            start=stamp(dose.start),
            end=stamp(dose.stop) if dose.stop else "",
            supplement=dose.supplement,
            amount="" if dose.amount is None else f"{dose.amount:g}",
            unit="" if dose.amount is None else "mL",
            how="not logged" if dose.amount is None else "per day",
            times=";".join(dose.times),
            note=dose.note,
        )
        if dose.amount is None:
            return
        stop = dose.stop or self.stop
        a_day = self.rise_per_mL[dose.supplement] * dose.amount
        share = self.delivered_over_set.get(dose.supplement, 1.0)
        if not dose.times:
            self.happenings.steady.append((dose.start, stop, a_day, a_day * share))
            return
        shot = a_day / len(dose.times)
        for day in days_from(dose.start.astimezone(ZONE).date(), stop.astimezone(ZONE).date()):
            for clock in dose.times:
                if dose.start <= at(day, clock) < stop:
                    self.happenings.doses.append((at(day, clock), shot, shot * share))

    def by_hand(
        self,
        time: dt.datetime,
        supplement: str,
        amount: float,
        note: str = "",
        date_only: bool = False,
        written: bool = True,
    ) -> None:
        """Dose once by hand; ``written`` False leaves no row behind."""
        rise = self.rise_per_mL[supplement] * amount
        self.happenings.doses.append((time, rise * written, rise))
        if written:
            self.write(
                "additions.csv",
                time,
                start=stamp(time, date_only),
                supplement=supplement,
                amount=f"{amount:g}",
                unit="mL",
                how="once",
                note=note,
            )

    def read(
        self,
        time: dt.datetime,
        element: str,
        level: float,
        kit: str,
        *,
        water: str = "tank",
        lot: str = "",
        bias: float = 0.0,
        typed_wrong_by: float = 0.0,
        replicate: str = "",
        by: str = "",
        note: str = "",
        date_only: bool = False,
    ) -> None:
        """Test a water with a kit, and write down what it showed on the kit's own grid."""
        described = self.kits[kit]
        scatter = described["repeatability"]
        sd = math.hypot(scatter.get("sd", 0.0), scatter.get("cv", 0.0) * level)
        shown = level + bias + self.chance.normal(sd)
        cells = {"element": element, "kit": kit, "lot": lot, "water": water}
        cells |= {"replicate": replicate, "by": by}
        cells["unit"] = OTHER_UNITS.get(element) or UNITS[ELEMENTS.index(element)]
        if described["kind"] == "colour steps":
            cells |= _against_steps(shown, [step for _, step in described["chart"]])
        else:
            resolution = described["resolution"]
            decimals = max(0, -math.floor(math.log10(resolution)))
            counted = round(shown / resolution)
            cells["value"] = f"{counted * resolution + typed_wrong_by:.{decimals}f}"
            if described["kind"] == "drop count":
                cells["raw"] = str(counted)
            if described["kind"] == "laboratory report":
                cells["u"] = f"{sd:g}"
            if element == "phosphate" and counted * resolution < PHOSPHATE_LIMIT:
                cells |= {"value": f"{PHOSPHATE_LIMIT:.2f}", "limit": "<"}
        self.write("readings.csv", time, time=stamp(time, date_only), note=note, **cells)

    def save(self, folder: Path) -> None:
        """Write the four tables in order of time."""
        for name, columns in COLUMNS.items():
            with (folder / name).open("w", encoding="utf-8", newline="") as file:
                out = csv.DictWriter(file, columns, restval="", lineterminator="\n")
                out.writeheader()
                out.writerows(cells for _, cells in sorted(self.rows[name], key=lambda r: r[0]))


def _against_steps(shown: float, steps: list[float]) -> dict[str, str]:
    nearest = min(steps, key=lambda step: abs(math.log(max(shown, 0.01) / step)))
    if abs(shown / nearest - 1.0) <= STEP_TOLERANCE:
        return {"value": f"{nearest:g}"}
    if shown < steps[0]:
        return {"value": f"{steps[0]:g}", "limit": "<"}
    if shown > steps[-1]:
        return {"value": f"{steps[-1]:g}", "limit": ">"}
    lower = max(step for step in steps if step < shown)
    upper = min(step for step in steps if step > shown)
    return {"value": f"{lower:g}", "limit": "between", "upper": f"{upper:g}"}


@dataclass(frozen=True)
class Story:
    """One finished tank: its log, its true course and what else is true about it."""

    log: TankLog
    course: Course
    start: dt.datetime
    stop: dt.datetime
    facts: str
