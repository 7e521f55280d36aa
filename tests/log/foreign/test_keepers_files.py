"""Logs as keepers have them, and what a careful person makes of each cell."""

from __future__ import annotations

import pytest

from tests.log.foreign.bring import asked, bring, notes, read, said, values

# Readings, doses, water changes and remarks side by side: heading of doses, heading of changes.
SIDE_BY_SIDE = [
    (
        "Date,KH,Ca,Mg,KH dosed mL,Ca added,WC L,Notes\n"
        "2026-01-05,8.1,420,1350,20,15,,\n2026-01-19,7.9,415,1340,20,15,40,fed\n",
        ("KH dosed mL", "Ca added"), "WC L", "fed",
    ),
    (
        "Datum;KH;Ca;Mg;Ca mL;KH mL;WW;Bemerkung\n"
        "05.01.2026;8,1;420;1350;30;25;;\n19.01.2026;7,9;415;1340;30;25;40 L;gereinigt\n",
        ("Ca mL", "KH mL"), "WW", "gereinigt",
    ),
    (
        "Date;KH (°dKH);Calcium (mg/L);Magnésium;Ajout KH;Changement d'eau;Remarques\n"
        "05/01/2026;8,1;420;1350;20;;\n19/01/2026;7,9;415;1340;20;40 L;nettoyage\n",
        ("Ajout KH",), "Changement d'eau", "nettoyage",
    ),
    (
        "Fecha;Hora;KH (dKH);Ca (ppm);Mg (ppm);Dosis Ca (ml);Cambio agua (L);Observaciones\n"
        "05/01/2026;20:15;8,1;420;1.350;15;;\n19/01/2026;20:30;7,9;415;1.340;15;40;coral\n",
        ("Dosis Ca (ml)",), "Cambio agua (L)", "coral",
    ),
    (
        "Data;KH;Calcio;Magnesio;Aggiunta KH;Cambio d'acqua;Note\n"
        "lun 5 gen 2026;8,1;420;1350;20;;\nlun 19 gen 2026;7,9;415;1340;20;40 L;pulito\n",
        ("Aggiunta KH",), "Cambio d'acqua", "pulito",
    ),
    (
        "Datum;Alkaliniteit;Calcium;Magnesium;Dosering KH;Water ververst;Opmerkingen\n"
        "ma 5 jan 2026;8,1;420;1350;20 ml;;\nma 19 jan 2026;7,9;415;1340;20 ml;40 l;schoon\n",
        ("Dosering KH",), "Water ververst", "schoon",
    ),
    (
        "Data;Zasadowość;Wapń;Magnez;Dawka Ca [ml];Podmiana;Uwagi\n"
        "5 sty 2026;8,1;420;1350;15;;\n19 sty 2026;7,9;415;1340;15;40 l;czyste\n",
        ("Dawka Ca [ml]",), "Podmiana", "czyste",
    ),
    (
        "Datum\tAlkalinitet\tKalcium\tMagnesium\tDos KH\tVattenbyte (l)\tAnteckningar\n"
        "2026-01-05\t8,1\t420\t1350\t20\t\t\n2026-01-19\t7,9\t415\t1340\t20\t40\trengjort\n",
        ("Dos KH",), "Vattenbyte (l)", "rengjort",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "doses", "change", "remark"), SIDE_BY_SIDE)
def test_readings_doses_and_changes_side_by_side(
    text: str, doses: tuple[str, ...], change: str, remark: str
) -> None:
    found = bring(text)
    assert found.counts.read == 2 and not any(q.open for q in found.questions)
    assert values(found, "alkalinity") == [8.1, 7.9]
    assert values(found, "calcium") == [420.0, 415.0]
    assert values(found, "magnesium") == [1350.0, 1340.0]
    assert {time[:10] for time, *_ in read(found)} == {"2026-01-05", "2026-01-19"}
    assert all((e.cells.get("note") == remark) == (e.row == 3) for e in found.entries)
    told = notes(found)
    for heading in doses:
        assert f"{heading} is not brought in with readings" in told and "additions" in told
    assert f"{change} is not brought in with readings" in told and "water changes" in told
    changes = bring(text, {"kind/file": "water changes"})
    assert [(e.row, e.cells["litres"]) for e in changes.entries] == [(3, "40")]
    assert "Nothing to do if none was" in said(changes, 2)
    for heading in doses:
        assert f"{heading} is not brought in with water changes" in notes(changes)
    dosed = bring(text, {"kind/file": "additions"})
    assert not dosed.entries and {dosed.fates[2], dosed.fates[3]} == {"asked"}
    assert {q.key[:11] for q in dosed.questions if q.open} == {"supplement/"}
    assert not any("8" in mark.said.reason for mark in dosed.marks)


def test_ticks_below_a_volume_are_water_changes() -> None:
    text = "Datum;KH;WW 40 L;Notiz\n04.01.2026;8,1;x;\n11.01.2026;7,9;;\n18.01.2026;8,0;x;gut\n"
    found = bring(text)
    assert values(found, "alkalinity") == [8.1, 7.9, 8.0]
    assert "WW 40 L is not brought in with readings" in notes(found)
    changes = bring(text, {"kind/file": "water changes"})
    assert [(e.row, e.cells["litres"]) for e in changes.entries] == [(2, "40"), (4, "40")]
    assert "2 ticks" in notes(changes) and changes.fates[3] == "refused"


def test_levels_are_never_taken_as_litres() -> None:
    found = bring("Datum;KH;Ca\n13.01.2026;8,1;420\n", {"kind/file": "water changes"})
    assert not found.entries and "No column holds the litres" in said(found, 2)


def test_ticks_keep_the_word_above_them() -> None:
    found = bring("Date,KH,Skimmer cleaned,Fed,Notes\n2026-01-05,8.1,x,no,new lamp\n")
    assert found.entries[0].cells["note"] == "Skimmer cleaned: x; Fed: no; new lamp"


def test_a_water_change_without_litres_is_said_to_count_for_nothing() -> None:
    found = bring("Date,KH,Water change\n2026-01-05,8.1,yes\n2026-01-12,7.9,no\n")
    assert "no volume is counted" in notes(found)
    assert found.entries[0].cells["note"] == "Water change: yes"


def test_changes_and_doses_in_notes_are_named() -> None:
    found = bring(
        "Date,KH,Notes\n2026-01-05,8.1,water change 40 L\n2026-01-12,7.9,added 20 mL Ca\n"
        "2026-01-13,,WC 10%\n2026-01-14,8.0,tank is 400 L\n"
    )
    told = notes(found)
    assert "rows 2 and 4 seem to speak of a water change" in told
    assert "row 3 seems to speak of a dose" in told and "not counted" in told
    assert found.entries[-1].table == "events.csv" or found.entries[-1].row == 5


def test_before_and_after_are_no_kits() -> None:
    text = "Datum;KH vorher;KH nachher;Ca\n13.01.2026;7,1;8,0;420\n"
    found = bring(text)
    assert values(found, "alkalinity") == [] and values(found, "calcium") == [420.0]
    keys = {q.key for q in found.questions if q.open}
    assert keys == {"meaning/KH vorher", "meaning/KH nachher"}
    answers = {"meaning/KH vorher": "alkalinity", "meaning/KH nachher": "not used"}
    chosen = bring(text, answers)
    assert values(chosen, "alkalinity") == [7.1] and "kit" not in chosen.entries[0].cells


def test_a_column_may_be_a_dose() -> None:
    text = "Date,Alk,Kalk (L)\n2026-01-05,8.1,2\n2026-01-12,7.9,2\n"
    question = asked(bring(text), 2)
    assert {"amount", "litres", "note"} <= {choice.answer for choice in question.choices}
    chosen = bring(text, {question.key: "amount"})
    assert chosen.counts.read == 2 and "Kalk (L) is not brought in" in notes(chosen)


def test_a_dose_in_words_is_not_lost_in_silence() -> None:
    found = bring("Date,KH,Dosed\n2026-01-05,8.1,20 mL part one\n2026-01-12,7.9,\n")
    assert "Dosed is not brought in with readings" in notes(found)


@pytest.mark.parametrize(
    "text",
    [
        "Tag;Datum;KH\nMo;05.01.2026;8,1\nDi;13.01.2026;7,9\n",
        "Datum;Tag;KH\n05.01.2026;Mo;8,1\n13.01.2026;Di;7,9\n",
        "Verbrauch/Tag;Datum;KH\n0,1;05.01.2026;8,1\n0,2;13.01.2026;7,9\n",
        "Datum;KH\nMo 05.01.2026;8,1\nDi, 13.01.2026;7,9\n",
        "Datum;KH\nJanuar 2026;\n05.01.2026;8,1\n\n13.01.2026;7,9\n",
        "Datum;KH\nJanuar;\n05.01.2026;8,1\n13.01.2026;7,9\nMittelwert;8,0\n",
        "Element;05.01.2026;13.01.2026\nKH;8,1;7,9\n",
        "Mein Riff 450 L;\n;\nDatum;KH\n05.01.2026;8,1\n13.01.2026;7,9\nMin;7,9\nMax;8,1\n",
        "Datum;KH;Ziel KH;Delta KH\n05.01.2026;8,1;8;\n13.01.2026;7,9;8;-0,2\n",
    ],
)
def test_where_the_date_is(text: str) -> None:
    found = bring(text)
    assert read(found) == [("2026-01-05", "alkalinity", 8.1), ("2026-01-13", "alkalinity", 7.9)]
    assert found.counts.read == found.counts.data == 2
    assert not any(q.open for q in found.questions)


def test_no_date_is_taken_across_the_title_of_a_month() -> None:
    found = bring("Date,KH\n2026-01-05,8.1\nFebruary 2026,\n,8.0\n2026-02-19,7.9\n")
    assert ("2026-01-05", "alkalinity", 8.0) not in read(found)
    assert found.fates[4] in ("asked", "refused")


def test_date_once_and_blank_below() -> None:
    text = "Date;Element;Value;Unit\n05.01.2026;KH;8,1;dKH\n;Ca;420;mg/l\n13.01.2026;KH;7,9;dKH\n"
    assert [(time, value) for time, _, value in read(bring(text))] == [
        ("2026-01-05", 8.1), ("2026-01-05", 420.0), ("2026-01-13", 7.9),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "Datum;Zeit;pH\n13.01.2026;morgens;7,9\n13.01.2026;abends;8,3\n",
        "Datum;pH\n13.01.2026 morgens;7,9\n13.01.2026 abends;8,3\n",
        "Date;Heure;pH\n13/01/2026;matin;7,9\n13/01/2026;soir;8,3\n",
    ],
)
def test_morning_and_evening_are_two_points(text: str) -> None:
    found = bring(text)
    assert [time for time, *_ in read(found)] == ["2026-01-13T08:00", "2026-01-13T20:00"]
    assert not any("replicate" in entry.cells for entry in found.entries)
    question = next(q for q in found.questions if q.key == "part of day/evening")
    assert question.assumed == "20:00" and question.rows == (3,)
    later = bring(text, {question.key: "21:30", "part of day/morning": "none"})
    assert [time for time, *_ in read(later)] == ["2026-01-13", "2026-01-13T21:30"]
    wrong = bring(text, {question.key: "late"})
    again = next(q for q in wrong.questions if q.key == question.key)
    assert "“late” is no time of day" in again.text and not again.answered


def test_an_export_with_ids_asks_nothing() -> None:
    found = bring(
        "id,parameter_id,parameter,value,unit,created_at,updated_at,comment\n"
        "101,1,Alkalinity,8.1,dKH,2026-01-05T07:15:00Z,2026-01-05T07:15:00Z,\n"
        "103,1,Alkalinity,7.9,dKH,2026-07-12T07:15:00Z,2026-07-13T07:15:00Z,hm\n"
    )
    assert [time for time, *_ in read(found)] == ["2026-01-05T08:15", "2026-07-12T09:15"]
    assert not any(q.open for q in found.questions) and found.counts.read == 2


def test_a_column_is_read_like_those_beside_it() -> None:
    found = bring("Datum;KH;Mg\n13.01.2026;8,1;1.350\n14.01.2026;7,9;1.340\n")
    assert values(found, "magnesium") == [1350.0, 1340.0]
    question = next(q for q in found.questions if q.key == "decimal/Mg")
    assert question.assumed == "," and len(question.choices) == 2
    alone = bring("Datum;Mg\n13.01.2026;1.350\n14.01.2026;1.340\n")
    assert alone.counts.asked == 2
    other = bring("Datum;KH;Mg mg/L\n13.01.2026;8,1;1.350\n", {"decimal/Mg mg/L": "."})
    assert values(other, "magnesium") == [1.35]


def test_aims_in_a_heading_are_no_kit() -> None:
    found = bring("Date,KH (7-9),Ca (400-450),Mg (1250-1400)\n2026-01-05,8.1,420,1350\n")
    assert [value for *_, value in read(found)] == [8.1, 420.0, 1350.0]
    assert found.counts.read == 1 and not any("kit" in entry.cells for entry in found.entries)
    assert "numbers in its heading" in notes(found)


def test_a_filter_that_was_changed_is_no_water_change() -> None:
    found = bring("Date,KH,Carbon changed\n2026-01-05,8.1,1\n2026-01-12,7.9,\n")
    assert "water changes" not in notes(found) and "Carbon changed" in asked(found, 2).text


def test_a_second_column_of_kits_is_named() -> None:
    found = bring("Date,KH,Kit,Kit\n2026-01-05,8.1,x,y\n")
    assert "Kit is taken as kit; Kit (column D) is not used" in notes(found)
