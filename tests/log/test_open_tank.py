"""A tank folder, opened: every row read, flagged or refused, and said."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from reef_calc.errors import TankFolderError
from reef_calc.log.tank import open_tank
from tests.folders import KITS, TANK, csv_text, dose, make_folder, make_tank, reading


def said(tank, *words, severity=None):
    """Return the problems that hold all words."""
    return [
        problem
        for problem in tank.problems
        if all(word in str(problem) for word in words)
        and (severity is None or problem.severity == severity)
    ]


def count(tank, file="readings.csv"):
    row = tank.counts.set_index("file").loc[file]
    assert row["read"] + row["flagged"] + row["refused"] == row["rows"]
    return tuple(int(row[name]) for name in ("rows", "read", "flagged", "refused"))


def test_good_folder_opens_without_a_refusal(tmp_path):
    tank = make_tank(
        tmp_path,
        readings=[reading("2026-02-01T20:00", 8.0, kit="drops", lot="A1")],
        additions=[dose("2026-02-01", 30)],
        water_changes=[{"time": "2026-02-02", "litres": 30, "salinity": 35}],
        events=[{"time": "2026-02-03T10:00", "kind": "corals added", "note": "two, small"}],
    )
    assert not [p for p in tank.problems if p.severity != "note"]
    assert (tank.name, tank.zone.key, tank.state) == ("Test reef", "Europe/Berlin", "settled")
    assert tank.waters[0].net_L == 300.0
    assert count(tank) == (1, 1, 0, 0)
    assert tank.readings["time"].dtype == "datetime64[ns, UTC]"
    # COMPUTED: 1 dKH = 10 mg CaO a litre = 2 · 10/56.08 meq/L
    assert tank.readings["level"][0] == pytest.approx(8.0 * 20 / 56.077, rel=1e-3)
    assert tank.readings["row"][0] == 2
    assert tank.water_changes["fraction"][0] == pytest.approx(0.1)
    assert tank.events["note"][0] == "two, small"
    assert pd.isna(tank.additions["stop"][0])
    assert bool(tank.additions["start_date_only"][0])
    assert "Test reef" in repr(tank)


def test_empty_frames_have_the_same_types(tmp_path):
    full = make_tank(
        tmp_path / "a",
        readings=[reading("2026-02-01", 8)],
        additions=[dose("2026-02-01", 3)],
        water_changes=[{"time": "2026-02-02", "litres": 3}],
        events=[{"time": "2026-02-03", "kind": "other"}],
    )
    empty = make_tank(tmp_path / "b")
    for name in ("readings", "additions", "water_changes", "events"):
        assert (getattr(full, name).dtypes == getattr(empty, name).dtypes).all()


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ({"value": "8,3"}, "value", "8.3"),
        ({"value": "<0.02"}, "value", "limit column"),
        ({"value": "8.3 dKH"}, "value", "Needed"),
        ({"value": ""}, "value", "empty"),
        ({"value": "-8.1"}, "value", "below zero"),
        ({"value": "nan"}, "value", "Needed"),
        ({"unit": "ppm"}, "unit", "mg/L"),
        ({"unit": "spoons"}, "unit", "Needed"),
        ({"unit": ""}, "unit", "empty"),
        ({"time": "13.2.2026"}, "time", "2026-02-13"),
        ({"time": "2026-10-25T02:30"}, "time", "offset"),
        ({"water": "sump"}, "water", "new water"),
        ({"water": "study X"}, "water", "LEVEL"),
        ({"element": "Ca"}, "element", "calcium"),
        ({"element": "kalk"}, "element", "calcium"),
        ({"limit": "about"}, "limit", "between"),
        ({"limit": "<", "value": "0"}, "value", "Less than zero"),
        ({"limit": "between", "upper": "7"}, "upper", "above the value"),
        ({"limit": "between"}, "upper", "above the value"),
        ({"upper": "9"}, "upper", "between"),
        ({"u": "0"}, "u", "above 0"),
        ({"u": "-0.1"}, "u", "above 0"),
        ({"salinity": "35,1"}, "salinity", "35.1"),
        ({"salinity": "-1"}, "salinity", "below zero"),
    ],
)
def test_bad_cell_refuses_its_row_and_names_it(tmp_path, cells, column, words):
    bad = reading("2026-02-13T20:00", 8.0) | cells
    tank = make_tank(tmp_path, readings=[reading("2026-02-01T20:00", 8.2), bad])
    assert count(tank) == (2, 1, 0, 1)
    (problem,) = [p for p in tank.problems if p.severity == "refused"]
    assert (problem.file, problem.row, problem.column) == ("readings.csv", 3, column)
    assert problem.text == cells.get(column, "")
    assert words in f"{problem.reason} {problem.repair}"
    assert str(problem).count("\n") == 0
    assert len(tank.raw["readings.csv"]) == 3
    assert list(tank.readings["value"]) == [8.2]


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        # Slipped digits and wrong quantities as they happen (invented data).
        ({"value": "84"}, "Perhaps 8.4"),
        ({"element": "calcium", "unit": "mg/L", "value": "48"}, "Perhaps 480"),
        ({"element": "potassium", "unit": "mg/L", "value": "40"}, "Perhaps 400"),
        ({"element": "salinity", "unit": "PSU", "value": "1.0264"}, "specific gravity"),
        ({"element": "salinity", "unit": "PSU", "value": "53.1"}, "mS/cm"),
        ({"element": "temperature", "unit": "°C", "value": "77.7"}, "°F"),
        ({"element": "temperature", "unit": "°C", "value": "250"}, "Perhaps 25"),
        ({"element": "phosphate", "unit": "mg/L", "value": "0"}, "exactly zero"),
        ({"kit": "unheard of"}, "usual scatter"),
        ({"kit": "drops", "lot": "Z9"}, "no lot Z9"),
        ({"kit": "syringe"}, "measures calcium"),
        ({"kit": "drops", "lot": "A1", "time": "2027-02-01"}, "expired"),
        ({"time": "1926-02-22"}, "long ago"),
        ({"time": "2162-02-22"}, "ahead"),
        ({"water": "standard twelve"}, "not described"),
        ({"water": "standard eight", "element": "calcium", "unit": "mg/L"}, "is for alkalinity"),
        ({"salinity": "1.026"}, "specific gravity"),
    ],
)
def test_doubtful_row_is_kept_as_it_stands_and_flagged(tmp_path, cells, words):
    row = reading("2026-02-13T20:00", "8.0") | cells
    tank = make_tank(tmp_path, readings=[row])
    assert count(tank) == (1, 0, 1, 0)
    assert words in tank.readings["flag"][0]
    assert tank.readings["value"][0] == float(row["value"])


def test_outside_marks_only_what_water_cannot_hold(tmp_path):
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-01", 84),
            reading("2026-02-02", 8.4, kit="unheard of"),
            reading("2026-02-03", 0, water="standard eight"),
            reading("2026-02-04", 0.5, limit="<"),
        ],
    )
    assert list(tank.readings["outside"]) == [True, False, False, False]


def test_limits_stay_limits(tmp_path):
    cells = {"element": "phosphate", "unit": "mg/L"}
    tank = make_tank(
        tmp_path,
        readings=[
            reading("2026-02-01", 0.02, limit="<", **cells),
            reading("2026-02-02", 0.5, limit="between", upper=1.0, **cells),
            reading("2026-02-03", 1.0, limit=">", u=0.1, **cells),
        ],
    )
    assert list(tank.readings["limit"]) == ["<", "between", ">"]
    assert tank.readings["upper_level"][1] == 1.0
    assert tank.readings["level_u"][2] == pytest.approx(0.1)
    assert np.isnan(tank.readings["upper_level"][0])


def test_laboratory_report_of_other_elements_is_listed_not_refused(tmp_path):
    rows = [
        reading("2026-02-01", 0.17, element=symbol, unit="mg/L", kit="laboratory")
        for symbol in ("Li", "Mo", "Ni")
    ]
    tank = make_tank(tmp_path, readings=rows)
    assert count(tank) == (3, 3, 0, 0)
    assert set(tank.readings["flag"]) == {"listed, not used"}
    assert said(tank, "listed, not used: 3 readings", "Li, Mo, Ni", severity="note")


def test_same_row_twice_is_counted_once_and_flagged(tmp_path):
    row = reading("2026-02-01T08:00", 8.3)
    tank = make_tank(tmp_path, readings=[row, row, row | {"replicate": "2"}])
    assert count(tank) == (3, 2, 1, 0)
    assert len(tank.readings) == 2
    assert said(tank, "row 3", "same as row 2", severity="flagged")


def test_rows_out_of_order_are_sorted_and_said(tmp_path):
    tank = make_tank(tmp_path, readings=[reading(f"2026-02-{d:02d}", 8) for d in (15, 1, 8)])
    assert list(tank.readings["row"]) == [3, 4, 2]
    assert said(tank, "order of time", "above: 3", severity="note")


def test_kit_called_na_stays_text(tmp_path):
    tank = make_tank(tmp_path, readings=[reading("2026-02-01", 8, kit="NA", note="nan")])
    assert tank.readings["kit"][0] == "NA"
    assert tank.readings["note"][0] == "nan"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_ends_of_lines_and_byte_order_mark_do_not_matter(tmp_path, end, mark):
    text = csv_text("readings.csv", [reading("2026-02-01", 8), reading("2026-02-02", 8.1)])
    data = mark + (text + "\n\n").replace("\n", end).encode()
    tank = make_tank(tmp_path, readings_csv=data)
    assert count(tank) == (2, 2, 0, 0)


def test_too_many_and_too_few_fields(tmp_path):
    header = "time,water,element,value,unit\n"
    body = (
        "2026-02-01,tank,alkalinity,8,3,dKH\n2026-02-02,tank\n2026-02-03,tank,alkalinity,8.1,dKH\n"
    )
    tank = make_tank(tmp_path, readings_csv=header + body)
    assert count(tank) == (3, 1, 0, 2)
    assert said(tank, "row 2", "decimal comma", "2026-02-01,tank,alkalinity,8,3,dKH")
    assert said(tank, "row 3", "comma left out")
    assert list(tank.readings["value"]) == [8.1]


def test_empty_row_between_is_said_and_keeps_the_numbers(tmp_path):
    text = csv_text("readings.csv", [reading("2026-02-01", 8), reading("2026-02-02", 8.1)])
    head, one, two, _ = text.split("\n")
    tank = make_tank(tmp_path, readings_csv="\n".join([head, one, ",,,", "", two, "", ""]))
    assert count(tank) == (2, 2, 0, 0)
    assert list(tank.readings["row"]) == [2, 5]
    assert said(tank, "Empty rows", "3, 4")


def test_open_quote_does_not_swallow_the_rows_below(tmp_path):
    text = csv_text("readings.csv", [reading("2026-02-01", 8), reading("2026-02-02", 8.1)])
    broken = text.replace("2026-02-01", '"2026-02-01')
    tank = make_tank(tmp_path, readings_csv=broken)
    assert count(tank) == (2, 1, 0, 1)
    assert said(tank, "row 2", "not closed")


def test_bytes_that_are_not_utf8_refuse_their_row_only(tmp_path):
    text = csv_text("readings.csv", [reading("2026-02-01", 8, note="µ"), reading("2026-02-02", 8)])
    tank = make_tank(tmp_path, readings_csv=text.encode("latin-1"))
    assert count(tank) == (2, 1, 0, 1)
    str(said(tank, "UTF-8")[0]).encode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("time,water,element,unit\n2026-02-01,tank,alkalinity,dKH\n", "column value is missing"),
        ("time;water;element;value;unit\n2026-02-01;tank;calcium;420;mg/L\n", "commas"),
        ("time,time,water,element,value,unit\n1,2,3,4,5,6\n", "twice"),
        ("", "empty"),
        (csv_text("readings.csv", [reading("2026-02-01", 8)]).encode("utf-16"), "UTF-16"),
    ],
)
def test_unreadable_table_is_refused_whole_and_the_others_load(tmp_path, content, words):
    tank = make_tank(tmp_path, readings_csv=content, additions=[dose("2026-02-01", 3)])
    rows, read, flagged, refused = count(tank)
    assert (read, flagged, refused) == (0, 0, rows)
    assert said(tank, "readings.csv", words, severity="refused")
    assert count(tank, "additions.csv") == (1, 1, 0, 0)


def test_columns_missing_or_unknown_are_said(tmp_path):
    tank = make_tank(
        tmp_path,
        readings_csv="time,water,element,value,unit,mood\n2026-02-01,tank,alkalinity,8,dKH,good\n",
    )
    assert count(tank) == (1, 1, 0, 0)
    assert said(tank, "mood", "not used")
    assert said(tank, "No column u, limit")


def test_missing_tables_are_empty_and_noted(tmp_path):
    folder = make_folder(tmp_path)
    for name in ("readings.csv", "events.csv", "kits.toml"):
        (folder / name).unlink()
    tank = open_tank(folder)
    assert tank.readings.empty
    assert len(said(tank, "There is no such file")) == 3


def test_additions_close_at_the_next_row_per_day(tmp_path):
    tank = make_tank(
        tmp_path,
        additions=[
            dose("2026-02-01T12:00", 30),
            dose("2026-02-03T12:00", 5, how="once"),
            dose("2026-02-05T12:00", "", how="not logged", unit=""),
            dose("2026-02-04T12:00", 7, supplement="part two"),
            dose("2026-02-08T12:00", 35, times="06:00;18:00"),
        ],
    )
    rows = tank.additions.set_index("row")
    change = pd.Timestamp("2026-02-08T11:00Z")
    assert rows["stop"][2] == change
    assert rows["stop"][3] == rows["start"][3]
    assert rows["stop"][4] == change
    assert pd.isna(rows["stop"][5])
    assert pd.isna(rows["stop"][6])
    assert pd.isna(rows["end"][2])
    assert np.isnan(rows["amount"][4])


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ({"amount": "-3"}, "amount", "below zero"),
        ({"amount": ""}, "amount", "empty"),
        ({"amount": "3,5"}, "amount", "3.5"),
        ({"supplement": "mystery"}, "supplement", "supplements.toml"),
        ({"unit": "drops"}, "unit", "mL"),
        ({"how": "daily"}, "how", "per day"),
        ({"end": "2026-01-01"}, "end", "not after"),
        ({"how": "once", "end": "2026-03-03"}, "end", "no end"),
        ({"times": "6:00"}, "times", "two digits"),
        ({"start": "2026-02-30"}, "start", "28 days"),
    ],
)
def test_bad_addition_is_refused(tmp_path, cells, column, words):
    tank = make_tank(tmp_path, additions=[dose("2026-02-01", "3") | cells])
    assert count(tank, "additions.csv") == (1, 0, 0, 1)
    (problem,) = [p for p in tank.problems if p.severity == "refused"]
    assert problem.column == column
    assert words in str(problem)


def test_overlapping_doses_per_day_are_refused(tmp_path):
    tank = make_tank(
        tmp_path,
        additions=[
            dose("2026-02-01", 30, end="2026-02-10"),
            dose("2026-02-05", 35),
            dose("2026-02-10", 40),
            dose("2026-02-10", 41),
            dose("2026-02-05", 35, supplement="part two"),
        ],
    )
    assert count(tank, "additions.csv") == (5, 3, 0, 2)
    assert said(tank, "row 3", "row 2", "still runs")
    assert said(tank, "row 5", "row 4", "still runs")


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"litres": "300"}, "100 %"),
        ({"litres": "450"}, "100 %"),
        ({"litres": "0"}, "above 0"),
        ({"litres": "-20"}, "above 0"),
        ({"litres": "20 %"}, "Needed"),
        ({"litres": ""}, "empty"),
    ],
)
def test_bad_water_change_is_refused(tmp_path, cells, words):
    tank = make_tank(tmp_path, water_changes=[{"time": "2026-02-01", "litres": "30"} | cells])
    assert count(tank, "water_changes.csv") == (1, 0, 0, 1)
    assert said(tank, "water_changes.csv", "row 2", words, severity="refused")


def test_water_of_the_day_counts(tmp_path):
    later = "\n[[water]]\nfrom = 2026-03-01\nnet_L = 200.0\nnet_u_L = 5\n"
    tank = make_tank(
        tmp_path,
        tank=TANK + later,
        water_changes=[
            {"time": "2026-02-28", "litres": 50},
            {"time": "2026-03-01", "litres": 50},
            {"time": "2024-03-01", "litres": 30},
        ],
    )
    rows = tank.water_changes.set_index("row")
    assert rows["fraction"][2] == pytest.approx(50 / 300)
    assert rows["fraction"][3] == pytest.approx(50 / 200)
    assert "first one is taken" in rows["flag"][4]
    assert said(tank, "salinity is not written", "35")
    assert said(tank, "air_co2_uatm", "500")


def test_kinds_of_event_are_a_closed_list(tmp_path):
    tank = make_tank(
        tmp_path,
        events=[
            {"time": "2026-02-01", "kind": "coral added"},
            {"time": "2026-02-01", "kind": "lot opened", "element": "Alkalinity"},
            {"time": "2026-02-01", "kind": "other", "element": "gold"},
        ],
    )
    assert count(tank, "events.csv") == (3, 1, 0, 2)
    assert tank.events["element"][0] == "alkalinity"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TANK.replace("300.0", "0"), "above 0"),
        (TANK.replace("300.0", "-3"), "above 0"),
        (TANK.replace("300.0", '"300"'), "without quotes"),
        (TANK.replace("{zone}", "Europe/Berln"), "Europe/Berlin"),
        (TANK.replace('zone = "{zone}"', ""), "zone"),
        (TANK.replace("[[water]]", "[[waters]]"), "net_L"),
        (TANK.replace("2025-01-01", '"1.1.2025"'), "year-month-day"),
        (TANK.replace("net_L = 300.0", "net_L = "), "line 8"),
        (TANK.replace("[tank]", "[reef]"), "tank"),
        ("tank = 5", "table"),
        (TANK.replace("net_u_L = 9.0", "net_u_L = 400.0"), "less than the net volume"),
        (TANK + "\n[[water]]\nfrom = 2025-01-01\nnet_L = 3\n", "different"),
        (b"name = \xff", "UTF-8"),
    ],
)
def test_unusable_tank_toml_is_raised(tmp_path, text, words):
    folder = make_folder(tmp_path)
    data = text if isinstance(text, bytes) else text.replace("{zone}", "Europe/Berlin").encode()
    (folder / "tank.toml").write_bytes(data)
    with pytest.raises(TankFolderError, match=words):
        open_tank(folder)


def test_no_folder_empty_folder_and_a_file(tmp_path):
    with pytest.raises(TankFolderError, match="Check the path"):
        open_tank(tmp_path / "nowhere")
    with pytest.raises(TankFolderError, match=r"tank\.toml"):
        open_tank(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(TankFolderError):
        open_tank(tmp_path / "file")


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"tank": TANK.replace("low = 7.5", "low = 9")}, ("aim.alkalinity", "low ≤ aim ≤ high")),
        ({"tank": TANK.replace('"dKH"', '"ppm"')}, ("aim.alkalinity", "ppm")),
        ({"tank": TANK + "[aim.gold]\nunit = 1"}, ("gold",)),
        ({"tank": TANK + "never_below = 410"}, ("never_below", "low is 400")),
        ({"tank": TANK + "\n[new_water]\ncalcium = 5"}, ("new_water.calcium",)),
        ({"tank": TANK + "\n[new_water]\nsalinity = -5"}, ("new_water, salinity",)),
        ({"tank": 'state = "wild"\n' + TANK}, ("state", "settled")),
        ({"kits": KITS.replace("resolution = 0.5", "resolution = ")}, ("kits.toml", "line 6")),
        ({"kits": KITS.replace("resolution = 0.5", "rez = 1")}, ("kit.drops", "rez")),
        ({"supplements": '[supplement.x]\ncolour = "blue"'}, ("supplements.toml", "supplement.x")),
        ({"standards": '[standard.x]\nelement = "calcium"'}, ("standard.x", "value")),
        ({"standards": "standard = 5"}, ("standards.toml", "[standard.NAME]")),
    ],
)
def test_smaller_faults_are_said_and_the_rest_is_computed(tmp_path, parts, words):
    tank = make_tank(tmp_path, readings=[reading("2026-02-01", 8)], **parts)
    assert said(tank, *words, severity="refused")
    assert len(tank.readings) == 1


def test_unknown_keys_are_named(tmp_path):
    tank = make_tank(tmp_path, tank="volume = 3\n" + TANK.replace("salinity", "salinty"))
    assert said(tank, "tank.toml, volume", severity="flagged")
    assert said(tank, "salinty", severity="flagged")
    assert said(tank, "salinity is not written")


def test_aims_take_usual_limits_and_say_so(tmp_path):
    aim = make_tank(tmp_path).aims["alkalinity"]
    # common practice, no source: 0.5 dKH a day, second confirmation outside 6–12 dKH
    assert (aim.rise_per_day, aim.never_below, aim.never_above) == (0.5, 6.0, 12.0)
    assert "rise_per_day" in aim.defaults
    own = make_tank(tmp_path, tank=TANK + "rise_per_day = 5\n").aims["calcium"]
    assert (own.rise_per_day, own.fall_per_day) == (5.0, 20.0)
    assert "rise_per_day" not in own.defaults


def test_new_water_and_standards(tmp_path):
    text = '\n[new_water]\nsalinity = 35\ncalcium = {value = 430, unit = "mg/L", u = 10}\n'
    tank = make_tank(tmp_path, tank=TANK + text)
    assert tank.new_water.salinity == 35.0
    assert tank.new_water.levels["calcium"].level == 430.0
    assert tank.new_water.levels["calcium"].level_u == pytest.approx(10.0)
    assert tank.standards["eight"].level == pytest.approx(8 * 20 / 56.077, rel=1e-3)


def test_water_at_needs_a_zone(tmp_path):
    tank = make_tank(tmp_path)
    with pytest.raises(ValueError, match="zone"):
        tank.water_at(pd.Timestamp("2026-02-01"))


def test_two_thousand_rows_are_read(tmp_path):
    rows = [
        reading(
            f"{2020 + i // 336}-{1 + i % 336 // 28:02d}-{1 + i % 28:02d}T20:00", 7 + i % 97 / 50
        )
        for i in range(2000)
    ]
    folder = make_folder(tmp_path, readings=rows)
    tank = open_tank(folder)
    assert count(tank) == (2000, 2000, 0, 0)
