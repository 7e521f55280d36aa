"""What a chemist would find in a log: substances, parts, limits and uncertainties of other columns."""

from __future__ import annotations

from pathlib import Path

import gsw
import pytest
from periodictable import formula

from reef_calc.log.foreign.add import add_entries
from reef_calc.log.foreign.understand import understand
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import open_tank
from tests.folders import make_folder
from tests.log.foreign.bring import NOW, asked, bring, notes, read, said

DATE = {"date/file": "2026-02-12"}


def mass(text: str) -> float:
    return float(formula(text).mass)


def one(heading: str, cell: str, answers: dict[str, str] | None = None) -> tuple[str, str]:
    found = bring(f"Datum;{heading}\n2026-02-01;{cell}\n2026-02-15;{cell}\n", answers)
    cells = found.entries[0].cells
    return cells["element"], cells["unit"]


@pytest.mark.parametrize(
    ("heading", "cell", "element", "unit"),
    [
        ("Mg mmol/l", "53", "magnesium", "mmol/L"),
        ("Mg mg/L", "1300", "magnesium", "mg/L"),
        ("Ca mg Ca/L", "420", "calcium", "mg/L"),
        ("Nitrat-Stickstoff mg/l", "1,1", "nitrate", "mg/L NO3-N"),
        ("TAN mg/L", "0,1", "ammonia", "mg/L NH3-N"),
        ("SO4-S mg/L", "905", "sulfate", "mg/L SO4-S"),
        ("I ?g/L", "60", "iodine", "µg/L"),
        ("Sr \ufffdg/L", "8000", "strontium", "µg/L"),
        ("TAC (meq/L)", "2,9", "alkalinity", "meq/L"),
    ],
)
def test_what_a_heading_weighs(heading: str, cell: str, element: str, unit: str) -> None:
    assert one(heading, cell) == (element, unit)


def test_grams_in_a_litre_are_refused_with_their_factor() -> None:
    found = bring("Datum;Mg g/L\n2026-02-01;1,30\n2026-02-15;1,31\n")
    assert not found.entries and "multiply the column by 1000" in said(found, 2)


def test_the_french_degree_is_not_taken_for_a_german_one() -> None:
    text = "Date;TAC\n2026-02-01;14,5\n2026-02-15;15\n"
    found = bring(text)
    assert not found.entries
    question = asked(found, 2)
    assert [choice.answer for choice in question.choices] == ["dKH", "meq/L", "°fH"]
    assert "multiply the column by 10" in said(bring(text, {question.key: "°fH"}), 2)
    assert bring(text, {question.key: "dKH"}).entries[0].cells["unit"] == "dKH"


def test_a_heading_and_the_row_below_that_name_two_units() -> None:
    text = "date,PO4 (mg/L),Ca\n,µg/L,mg/L\n2026-02-12,60,420\n2026-03-12,50,421\n"
    question = asked(bring(text), 3)
    assert [choice.answer for choice in question.choices] == ["mg/L", "µg/L"]
    found = bring(text, {question.key: "µg/L"})
    assert {entry.cells["unit"] for entry in found.entries if entry.column == 1} == {"µg/L"}
    same = bring("date,PO4 (ppm),KH [°dH]\n,mg/L,dKH\n2026-02-12,0.06,8\n2026-03-12,0.05,8\n")
    assert same.counts.read == 2


def test_a_substance_named_in_a_long_table_without_units() -> None:
    found = bring("date,element,value\n2026-02-12,NO3-N,1.2\n2026-02-12,Ca,420\n")
    assert [entry.cells["unit"] for entry in found.entries] == ["mg/L NO3-N", "mg/L"]


REPORT = """Probenahme;12.02.2026;;;
;;;;
Parameter;Einheit;Ergebnis;U (k=2);BG
Calcium;mg/L;421;12;0,1
Strontium;mg/L;8,1;0,3;0,01
Lithium;?g/L;180;9;1
Eisen;µg/L;<0,5;;0,4
Kupfer;µg/L;< BG;;0,3
Mangan;µg/L;n.n.;;0,1
"""


def test_a_report_with_a_column_of_uncertainties_and_one_of_limits() -> None:
    found = bring(REPORT, DATE)
    cells = {entry.cells["element"]: entry.cells for entry in found.entries}
    assert {name: one.get("u", "") for name, one in cells.items()} == {
        "calcium": "6", "strontium": "0.15", "Li": "4.5", "Fe": "", "Cu": "", "Mn": "",
    }  # fmt: skip
    assert {name: cells[name]["value"] for name in ("Fe", "Cu", "Mn")} == {
        "Fe": "0.5", "Cu": "0.3", "Mn": "0.1",
    }  # fmt: skip
    assert all(cells[name]["limit"] == "<" for name in ("Fe", "Cu", "Mn"))
    assert cells["Li"]["unit"] == "µg/L"
    assert not [question for question in found.questions if question.open]


def test_a_coverage_of_95_percent_is_no_percentage() -> None:
    found = bring("Sampled 2026-02-12\nElement,mg/L,± (95 %)\nCa,421,12\nMg,1310,40\n", DATE)
    assert [entry.cells["u"] for entry in found.entries] == ["6", "20"]
    found = bring("Sampled 2026-02-12\nElement,Result,± %\nCa mg/L,400,3\nLi µg/L,200,5\n", DATE)
    assert [(one.cells["unit"], one.cells["u"]) for one in found.entries] == [
        ("mg/L", "12"), ("µg/L", "10"),
    ]  # fmt: skip


def test_two_samples_in_one_report_are_asked_by_their_water() -> None:
    text = (
        "Sampled 2026-02-12\nElement,Unit,Sample A,Sample B\nCa,mg/L,421,419\nMg,mg/L,1310,1305\n"
    )
    found = bring(text, DATE)
    keys = [question.key for question in found.questions if question.open]
    assert keys == ["which water/Sample A", "which water/Sample B"]
    found = bring(text, DATE | {keys[0]: "tank", keys[1]: "new water"})
    assert [entry.cells["water"] for entry in found.entries].count("new water") == 2


def test_the_k_of_a_report_is_no_potassium() -> None:
    text = (
        "date,element,value,unit,k,expanded uncertainty\n"
        "2026-02-12,Ca,421,mg/L,2,12\n2026-02-12,Mg,1310,mg/L,2,40\n"
    )
    assert {element for _, element, _ in read(bring(text))} == {"calcium", "magnesium"}
    found = bring(text, {"meaning/k": "not used"})
    assert [entry.cells["u"] for entry in found.entries] == ["6", "20"]


def test_limits_and_signs_of_a_dated_list() -> None:
    text = (
        "date,element,sign,value,unit,LOQ\n"
        "2026-02-12,Fe,<,0.5,µg/L,0.5\n2026-02-12,Zn,,n.d.,µg/L,0.2\n2026-02-12,Mg,,1310,mg/L,1\n"
    ).replace("sign", "qualifier")
    cells = [entry.cells for entry in bring(text).entries]
    assert [(one["value"], one.get("limit", "")) for one in cells] == [
        ("0.5", "<"), ("0.2", "<"), ("1310", ""),
    ]  # fmt: skip


def test_uncertainties_beside_each_column() -> None:
    found = bring(
        "date,Ca mg/L,± Ca,Mg mg/L,± Mg\n2026-02-12,421,12,1310,40\n2026-03-12,425,12,1320,\n"
    )
    assert [entry.cells.get("u") for entry in found.entries] == ["12", "40", "12", None]
    assert "± Mg is taken as the uncertainty of Mg mg/L." in notes(found)
    found = bring("date,Ca mg/L,Mg mg/L,LOQ\n2026-02-12,421,1310,0.5\n2026-03-12,425,1320,0.5\n")
    assert "LOQ is not used" in notes(found)


def test_volumes_with_their_unit_in_a_column_of_its_own() -> None:
    text = "date,water change,unit\n2026-01-01,10,gal\n2026-01-08,15,%\n2026-01-09,15,L\n"
    found = bring(text, {"which gallon/water change": "US"})
    assert [entry.cells["litres"] for entry in found.entries] == ["37.85411784", "45", "15"]
    assert found.entries[0].cells["note"] == "written as 10 gal"


def test_a_heading_of_a_dose_per_day_is_no_date() -> None:
    found = bring("Date,Product,mL per day\n2026-02-01,part one,20\n2026-02-08,part one,25\n")
    assert found.kind == "additions"


def test_the_levels_are_those_worked_out_by_hand(tmp_path: Path) -> None:
    """Atomic masses from periodictable; density and practical salinity from gsw."""
    folder = make_folder(tmp_path / "tank", zone="UTC")
    text = (
        "date;KH meq/L;Ca mmol/L;Mg mg/kg;NO3-N mg/L;P µg/L;Si µg/L;SO4-S mg/L;NH4 mg/L;Temp °F\n"
        "2026-02-01;2.9;10.5;1280;1.2;20;120;905;0.05;77\n"
        "2026-02-08;2.8;10.6;1281;1.3;22;125;906;0.06;78\n"
    )
    found = understand("a.csv", text.encode(), open_tank(folder), {}, now=NOW)
    add_entries(folder, file="a.csv", content=text.encode(), entries=found.entries, name="a")
    rows = open_tank(folder).readings
    first = rows[rows["time"] < "2026-02-05"].set_index("element")["level"]
    # The tank of the folder: salinity 35 at 25 °C. SA of practical salinity 35 is 35.16504 g/kg.
    kg_per_L = float(gsw.rho(35.16504, 25.0, 0.0)) / 1000.0
    expected = {
        "calcium": 10.5 * mass("Ca"),
        "magnesium": 1280.0 * kg_per_L,
        "nitrate": 1.2 * mass("NO3") / mass("N"),
        "phosphate": 0.020 * mass("PO4") / mass("P"),
        "silicate": 0.120 * mass("SiO2") / mass("Si"),
        "sulfate": 905.0 * mass("SO4") / mass("S"),
        "ammonia": 0.05 * mass("NH3") / mass("NH4"),
        "temperature": 25.0,
    }
    for element, level in expected.items():
        assert first[element] == pytest.approx(level, rel=5e-4), element


def test_a_lot_beside_its_kit_and_a_correction_from_its_date(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", zone="UTC")
    text = "Date,KH Drops,KH drops lot,Ca (syringe)\n2026-02-01,8.1,A1,420\n2026-02-20,8.1,A1,425\n"
    found = understand("a.csv", text.encode(), open_tank(folder), {}, now=NOW)
    lots = [(one.cells["kit"], one.cells.get("lot")) for one in found.entries]
    assert lots == [("drops", "A1"), ("syringe", None)] * 2
    assert not any("note" in one.cells for one in found.entries)
    add_entries(folder, file="a.csv", content=text.encode(), entries=found.entries, name="a")
    # The lot is corrected by 0.95 from 10 February on.
    levels = tank_readings(open_tank(folder), "alkalinity", "dKH")["corrected"].tolist()
    assert levels == pytest.approx([8.1, 8.1 * 0.95])


def test_a_lot_of_one_of_two_kits_stays_in_the_note() -> None:
    text = "Date,KH kit A,KH kit B,KH lot\n2026-02-01,8.1,8.3,77\n2026-02-20,8.1,8.2,77\n"
    found = bring(text)
    assert all("lot" not in one.cells and one.cells["note"].endswith("77") for one in found.entries)
    assert "does not say which column of alkalinity" in notes(found)


def test_a_logger_whose_days_barely_swing_says_that_only_means_are_kept() -> None:
    lines = [
        f"2026-02-0{1 + i // 48}T{i % 48 // 2:02d}:{i % 2 * 30:02d},{77 + i % 2 * 0.1}"
        for i in range(192)
    ]
    found = bring("time,Temp (°F)\n" + "\n".join(lines) + "\n")
    assert found.kind == "logger" and len(found.entries) == 4
    assert "thinned to 4 days, of each its mean." in notes(found)


def test_a_column_of_one_element_beside_a_long_list_is_no_uncertainty() -> None:
    found = bring(
        "date,element,value,unit,Ca\n2026-02-12,Mg,1310,mg/L,420\n2026-02-13,Mg,1311,mg/L,421\n"
    )
    assert {column.heading: column.role for column in found.columns}["Ca"] == "value"
    assert not any("u" in entry.cells for entry in found.entries)
    found = bring(
        "date,element,value,unit,U\n2026-02-12,Mg,1310,mg/L,40\n2026-02-13,Mg,1311,mg/L,40\n"
    )
    assert [entry.cells["u"] for entry in found.entries] == ["40", "40"]
