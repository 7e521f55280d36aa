"""Builds small tank folders for tests."""

from __future__ import annotations

from pathlib import Path

from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import Tank, open_tank

TANK = """
[tank]
name = "Test reef"
zone = "{zone}"

[[water]]
from = 2025-01-01
net_L = 300.0
net_u_L = 9.0
salinity = 35.0
temperature_C = 25.0
air_co2_uatm = 500.0

[aim.alkalinity]
unit = "dKH"
low = 7.5
aim = 8.0
high = 8.5

[aim.calcium]
unit = "mg/L"
low = 400
aim = 420
high = 440
"""
KITS = """
[kit.drops]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.5
repeatability = {sd = 0.2, from = "typed"}
[[kit.drops.lot]]
name = "A1"
opened = 2026-01-01
expires = 2026-12-31
[[kit.drops.correction]]
from = 2026-02-10
lot = "A1"
factor = 0.95
u = 0.01

[kit.syringe]
element = "calcium"
kind = "direct titration"
unit = "mg/L"
resolution = 5

[kit.laboratory]
kind = "laboratory report"
"""
SUPPLEMENTS = """
[supplement."part one"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}

[supplement."part two"]
label = {amount = 10, unit = "mL", litres = 100, raises = {calcium = "4 mg/L"}}
"""
STANDARDS = """
[standard.eight]
element = "alkalinity"
value = 8.0
unit = "dKH"
u = 0.05
made = 2026-01-01
"""


def make_folder(
    path: Path,
    *,
    readings: list[dict[str, object]] | None = None,
    additions: list[dict[str, object]] | None = None,
    water_changes: list[dict[str, object]] | None = None,
    events: list[dict[str, object]] | None = None,
    zone: str = "Europe/Berlin",
    tank: str = TANK,
    kits: str = KITS,
    supplements: str = SUPPLEMENTS,
    standards: str = STANDARDS,
    **files: str | bytes,
) -> Path:
    """Return a folder with the four TOML files and the tables; rows are dicts by column.

    ``files`` replaces a table by its text or bytes, such as ``readings_csv=b"…"``.
    """
    path.mkdir(parents=True, exist_ok=True)
    texts: dict[str, str | bytes] = {
        "tank.toml": tank.replace("{zone}", zone),
        "kits.toml": kits,
        "supplements.toml": supplements,
        "standards.toml": standards,
    }
    tables = {
        "readings.csv": readings,
        "additions.csv": additions,
        "water_changes.csv": water_changes,
        "events.csv": events,
    }
    for file, rows in tables.items():
        texts[file] = csv_text(file, rows or [])
    for name, content in files.items():
        texts[name.replace("_csv", ".csv").replace("_toml", ".toml")] = content
    for file, text in texts.items():
        data = text.encode() if isinstance(text, str) else text
        (path / file).write_bytes(data)
    return path


def make_tank(path: Path, **parts: object) -> Tank:
    """Return the opened tank of ``make_folder``."""
    return open_tank(make_folder(path, **parts))  # type: ignore[arg-type]


def csv_text(file: str, rows: list[dict[str, object]]) -> str:
    """Return CSV text with all columns of a table; columns a row does not name are empty."""
    unknown = {name for row in rows for name in row} - set(COLUMNS[file])
    if unknown:
        raise ValueError(f"no column {unknown} in {file}")
    lines = [",".join(COLUMNS[file])]
    lines += [",".join(_cell(row.get(name, "")) for name in COLUMNS[file]) for row in rows]
    return "\n".join(lines) + "\n"


def reading(time: str, value: object, **cells: object) -> dict[str, object]:
    """Return a row of readings.csv: alkalinity of the tank in dKH unless told otherwise."""
    return {
        "time": time, "water": "tank", "element": "alkalinity", "value": value, "unit": "dKH",
    } | cells  # fmt: skip


def dose(start: str, amount: object, **cells: object) -> dict[str, object]:
    """Return a row of additions.csv: mL per day of part one unless told otherwise."""
    return {
        "start": start, "supplement": "part one", "amount": amount, "unit": "mL", "how": "per day",
    } | cells  # fmt: skip


def _cell(value: object) -> str:
    text = str(value)
    return '"' + text.replace('"', '""') + '"' if any(c in text for c in ',"\n\r') else text
