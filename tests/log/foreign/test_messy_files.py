"""Thirty messy files and what a careful person makes of each; written from that, not from the code."""

from __future__ import annotations

import datetime as dt

import pytest

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.log.folder import start_tank
from reef_calc.log.foreign.add import add_entries
from reef_calc.log.tank import open_tank
from tests.log.foreign.bring import NOW, asked, bring, level, messy, notes, read, said, values


def test_m01_european_export() -> None:
    found = messy("M01")
    assert read(found) == [
        ("2026-02-01", "alkalinity", 8.3), ("2026-02-01", "calcium", 420.0),
        ("2026-02-13", "alkalinity", 8.1), ("2026-02-13", "calcium", 415.5),
    ]  # fmt: skip
    assert found.counts.read == 2
    told = notes(found).lower()
    assert "semicolon" in told and "comma" in told and "day" in told


def test_m02_decimal_comma_in_a_comma_file() -> None:
    found = messy("M02")
    assert found.entries == () and found.counts.refused == 2
    for words in ("2", "3 fields", "decimal comma", "semicolons"):
        assert words in found.refusal


def test_m03_both_decimal_marks() -> None:
    found = messy("M03")
    assert values(found, "alkalinity") == [8.3, 8.1, 8.0]
    told = next(n.text for n in found.notes if "mark" in n.text.lower() and "row" in n.text)
    assert "3" in told


def test_m05_the_column_decides_the_order() -> None:
    found = messy("M05")
    assert [time for time, *_ in read(found)] == ["2026-03-02", "2026-03-09", "2026-03-16"]
    assert "3/16/2026" in notes(found) or "row 4" in notes(found)


def test_m07_dates_that_contradict_each_other() -> None:
    found = messy("M07")
    assert found.entries == () and found.counts.refused == 2
    for words in ("13/02/2026", "02/14/2026", "2", "3"):
        assert words in found.refusal


def test_m10_serial_numbers() -> None:
    found = messy("M10")
    times = [time for time, *_ in read(found)]
    # Whole numbers are days; half a day is noon (day 0 is 30 December 1899).
    assert [t[:10] for t in times] == ["2026-02-01", "2026-02-02", "2026-02-04"]
    assert times[1].startswith("2026-02-02T12:00")
    assert "1899-12-30" in notes(found) or "day number" in notes(found).lower()


def test_m11_the_1904_date_system() -> None:
    found = messy("M11")
    assert [time[:10] for time, *_ in read(found)] == ["2026-02-01", "2026-02-08"]
    assert "1904" in notes(found)


def test_m12_days_that_do_not_exist() -> None:
    found = messy("M12")
    assert read(found) == [("2026-02-28", "alkalinity", 8.4)]
    assert found.fates == {2: "read", 3: "refused", 4: "refused"}
    assert "28 days" in said(found, 3) and "30 days" in said(found, 4)


def test_m14_the_repeated_and_the_missing_hour() -> None:
    found = messy("M14")
    assert found.fates[2] == found.fates[3] == "asked"
    question = asked(found, 3)
    assert len(question.choices) >= 2
    assert found.fates[4] == "flagged"
    only = [e.cells for e in found.entries if e.row == 4]
    assert [c["value"] for c in only] == ["8.05"]
    apart = next(c for c in question.choices if "hour apart" in c.label + c.consequence)
    again = messy("M14", {question.key: apart.answer})
    first, second = (dt.datetime.fromisoformat(e.cells["time"]) for e in again.entries[:2])
    assert second - first == dt.timedelta(hours=1)


def test_m15_date_and_twelve_hour_time() -> None:
    found = messy("M15")
    times = [time for time, *_ in read(found)]
    assert times[0].startswith("2026-02-01T00:15") and times[1].startswith("2026-02-01T12:15")
    assert times[2] == "2026-02-02"
    assert "4" in notes(found) and "time" in notes(found).lower()


def test_m16_units_in_the_cells() -> None:
    found = messy("M16")
    first = {e.row: e for e in found.entries}
    assert set(first) == {2, 3, 4}
    assert first[2].cells["unit"] == "dKH" and first[2].cells["value"] == "8.3"
    assert level(found, 1, "dKH") == pytest.approx(8.131, abs=0.001)
    assert first[4].cells["unit"] == "mg/L" and float(first[4].cells["value"]) == 420.0
    question = asked(found, 5)
    caco3 = next(c for c in question.choices if "CaCO3" in c.answer + c.label)
    assert "8.12" in caco3.label + caco3.consequence
    again = messy("M16", {question.key: caco3.answer})
    assert level(again, 3, "dKH") == pytest.approx(8.124, abs=0.001)


def test_m17_a_row_of_units() -> None:
    found = messy("M17")
    assert found.counts.data == 1 and found.counts.headings == 2
    phosphate = next(i for i, e in enumerate(found.entries) if e.cells["element"] == "phosphate")
    assert float(found.entries[phosphate].cells["value"]) == 22.0
    assert level(found, phosphate, "mg/L") == pytest.approx(0.0675, abs=0.0001)


def test_m19_below_the_limit() -> None:
    found = messy("M19")
    below = [e.cells for e in found.entries if e.cells.get("limit") == "<"]
    assert [c["time"] for c in below] == ["2026-02-01", "2026-02-15"]
    assert all(float(c["value"]) == 0.02 for c in below)
    assert asked(found, 5).typed
    assert found.fates[6] == "flagged" and "zero" in said(found, 6)
    again = messy("M19", {asked(found, 5).key: "0.02"})
    assert [e.cells["limit"] for e in again.entries if e.row == 5] == ["<"]


def test_m20_over_range_and_vague() -> None:
    found = messy("M20")
    cells = {e.row: e.cells for e in found.entries}
    assert cells[2]["limit"] == ">" and float(cells[2]["value"]) == 50.0
    assert cells[3]["limit"] == "between"
    assert (float(cells[3]["value"]), float(cells[3]["upper"])) == (5.0, 10.0)
    assert float(cells[4]["value"]) == 8.0 and "~8" in cells[4]["note"]
    assert float(cells[6]["value"]) == 8.3 and "8.3?" in cells[6]["note"]
    assert found.fates[4] == found.fates[6] == "flagged"
    assert 5 not in cells and found.fates[5] in ("asked", "refused") and "HI" in said(found, 5)


def test_m22_sentinels_and_negatives() -> None:
    found = messy("M22")
    assert values(found, "alkalinity") == [8.3]
    assert found.fates[3] == "asked" and "missing" in said(found, 3).lower()
    waiting = [q for q in found.questions if q.open]
    assert len(waiting) == 2 and all(q.rows == (3,) and len(q.choices) >= 2 for q in waiting)
    assert found.fates[4] == "refused" and "below zero" in said(found, 4)
    assert values(found, "calcium") == [420.0, 0.0]
    assert "flagged" in said(found, 4)


def test_m23_the_same_row_twice() -> None:
    found = messy("M23")
    assert len(found.entries) == 2
    assert "flagged" in (found.fates[2], found.fates[3])


def test_m24_replicates() -> None:
    found = messy("M24")
    assert values(found, "alkalinity") == [8.1, 8.3, 8.2, 7.6]
    assert [e.cells.get("replicate") for e in found.entries] == ["1", "2", "3", None]
    assert "replicate" in notes(found).lower()


def test_m25_out_of_order_and_years_that_slipped() -> None:
    found = messy("M25")
    assert found.fates == {2: "read", 3: "read", 4: "flagged", 5: "flagged", 6: "asked"}
    assert "2026-02-08" in said(found, 4) and "2026-02-22" in said(found, 5)
    question = asked(found, 6)
    assert len(question.choices) >= 2
    assert "2026-03-01" in str(question.choices) or "1 Mar" in str(question.choices)


def test_m26_two_kits_and_two_tanks() -> None:
    found = messy("M26")
    assert set(found.fates.values()) == {"asked"}
    question = asked(found, 2)
    assert {c.answer for c in question.choices} >= {"1", "2"}
    again = messy("M26", {question.key: "1"})
    assert [(e.cells["kit"], e.cells["value"]) for e in again.entries] == [
        ("A", "8.1"), ("B", "8.5"), ("A", "7.8"), ("B", "7.9"),
    ]  # fmt: skip
    assert again.counts.refused == 1 and "other tank" in said(again, 6).lower()
    a = [float(e.cells["value"]) for e in again.entries if e.cells["kit"] == "A"]
    assert (a[0] - a[1]) / 7 == pytest.approx(0.043, abs=0.0005)


def test_m27_wide_layout_and_other_names() -> None:
    found = messy("M27")
    assert len(found.entries) == 6
    assert [e.row for e in found.entries].count(2) == 5
    at = next(i for i, e in enumerate(found.entries) if e.cells["element"] == "phosphate")
    assert found.entries[at].cells["unit"] == "µg/L PO4-P"
    assert level(found, at, "mg/L") == pytest.approx(0.0675, abs=0.0001)
    assert values(found, "nitrate") == [5.0]


def test_m28_a_merged_header() -> None:
    found = messy("M28")
    got = {(e.cells["element"], e.cells["kit"]): [] for e in found.entries}
    for e in found.entries:
        got[(e.cells["element"], e.cells["kit"])].append(float(e.cells["value"]))
    assert got == {
        ("alkalinity", "kit A"): [8.1, 7.9], ("alkalinity", "kit B"): [8.5, 8.2],
        ("calcium", "kit A"): [420.0], ("calcium", "kit B"): [430.0, 425.0],
    }  # fmt: skip
    assert not any("nnamed" in c.heading for c in found.columns)


def test_m29_averages_and_foot_notes() -> None:
    found = messy("M29")
    assert values(found, "alkalinity") == [8.3, 8.1]
    assert [row for row, _ in found.not_read] == [5, 6]


def test_m30_lines_above_the_header() -> None:
    found = messy("M30")
    assert found.heading_rows == (4,)
    assert values(found, "alkalinity") == [8.3, 8.1]
    assert "420 L" in notes(found)


def test_m31_utf16() -> None:
    found = messy("M31")
    assert found.columns[0].heading == "date"
    assert values(found, "alkalinity") == [8.3]
    assert "\U0001f41f" in found.entries[0].cells["note"] or "ok" in found.entries[0].cells["note"]
    assert found.entries[0].cells["note"] == found.grid.rows[1][2]


def test_m32_a_windows_code_page() -> None:
    found = messy("M32")
    units = {e.cells["element"]: e.cells["unit"] for e in found.entries}
    assert units["temperature"] == "°C" and units["phosphate"] == "µg/L"
    greek = bring("Datum;PO4 μg/l\n01.02.2026;22\n")
    latin = bring("Datum;PO4 µg/l\n01.02.2026;22\n")
    assert greek.entries[0].cells == latin.entries[0].cells


def test_m34_slipped_digits() -> None:
    found = messy("M34")
    assert values(found, "calcium") == [480.0, 48.0, 470.0, 740.0]
    assert values(found, "alkalinity") == [8.4, 84.0, 8.2, 8.1]
    assert values(found, "potassium") == [400.0, 40.0, 395.0, 390.0]
    row = said(found, 3)
    assert "480" in row and "8.4" in row and "400" in row
    assert "470" in said(found, 5)
    assert found.fates == {2: "read", 3: "flagged", 4: "read", 5: "flagged"}


def test_m36_tank_volumes() -> None:
    found = messy("M36")
    assert found.kind == "volumes" and found.entries == ()
    assert found.fates[2] == "read"
    gallons = asked(found, 3)
    told = " ".join(c.label + c.consequence for c in gallons.choices)
    assert "378.5" in told and "454.6" in told
    assert found.fates[4] == found.fates[5] == found.fates[6] == "refused"
    assert found.fates[7] == "flagged" and "380" in said(found, 7)
    assert "187.5" in said(found, 8) and "net" in said(found, 8)


def test_m38_too_little_data(tmp_path) -> None:
    found = messy("M38")
    assert len(found.entries) == 1
    folder = start_tank(tmp_path / "reef", "Reef", 300.0, "Europe/Berlin")
    add_entries(folder, file="M38.csv", content=b"x", entries=found.entries, name="log", now=NOW)
    use = estimate_consumption(open_tank(folder), "alkalinity", "2026-02-02")
    assert use.rate is None and use.messages
    for text in ("", "date,KH\n", "\n\n"):
        try:
            empty = bring(text)
        except ValueError as error:
            assert "empty" in str(error).lower() or "row" in str(error).lower()
        else:
            assert empty.entries == () and empty.refusal


def test_m39_the_wrong_quantity() -> None:
    found = messy("M39")
    assert values(found, "salinity") == [35.0, 1.0264, 53.1, 35.0]
    assert values(found, "temperature") == [25.4, 77.7, 25.3, 250.0]
    assert "gravity" in said(found, 3) and "°F" in said(found, 3)
    assert "25.4" in said(found, 3)
    assert "mS/cm" in said(found, 4)
    assert "25" in said(found, 5) and found.fates[5] == "flagged"


def test_m40_odd_ends_of_files() -> None:
    found = messy("M40")
    assert values(found, "alkalinity") == [8.3, 8.1]
    noted = [e.cells["note"] for e in found.entries]
    assert noted[0].split() == ["moved", "rock"] and noted[1] == "=1+1"
    assert found.counts.blank == 1


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n"])
@pytest.mark.parametrize("separator", [";", "\t", ","])
def test_m40_any_line_end_and_separator(end: str, separator: str) -> None:
    rows = [["date", "KH", "note"], ["2026-02-01", "8.3", "moved"], ["2026-02-08", "8.1", "=1+1"]]
    found = bring(end.join(separator.join(row) for row in rows) + end)
    assert values(found, "alkalinity") == [8.3, 8.1]
    assert found.entries[1].cells["note"] == "=1+1"
