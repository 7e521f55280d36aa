"""Water changes and tables of volumes: litres, gallons, shares, sides."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.example import example_tank
from reef_calc.log.foreign.changes import changes_from
from reef_calc.log.foreign.volume_cells import IMPERIAL_GALLON_L, US_GALLON_L, read_volume
from reef_calc.log.foreign.volumes import volumes_from
from tests.log.foreign.bodies import codes_of, table, taken_by_the_tank, told_of

TANK = example_tank()


def change(*texts: str, heading: str = "WC", answers: dict[str, str] | None = None):
    body = table((("date", "date"), (heading, "litres")), [("", text) for text in texts])
    return changes_from(body, TANK, answers or {})


def test_gallons() -> None:
    # A US gallon is 231 cubic inches of 2.54 cm (NIST Handbook 44, appendix C); the imperial gallon
    # is 4.54609 dm3 (UK Units of Measurement Regulations 1995).
    assert pytest.approx(231 * 2.54**3 / 1000, rel=1e-12) == US_GALLON_L
    assert IMPERIAL_GALLON_L == 4.54609


def test_litres_shares_and_salinity() -> None:
    made = change("40 L", "30,5", "20 %", "40L of 35 ppt", "0.04 m³")
    assert [entry.cells["litres"] for entry in made.entries] == ["40", "30.5", "60", "40", "40"]
    assert made.entries[3].cells["salinity"] == "35"
    assert made.entries[2].cells["note"] == "written as 20 %"
    assert "300 L" in next(note.text for note in made.notes if note.code == "SHARE_OF")
    assert {question.key: question.assumed for question in made.questions} == {
        "unit of volumes/WC": "L", "share of/WC": "net volume",
    }  # fmt: skip
    taken_by_the_tank(made, TANK)
    typed = change("20 %", answers={"share of/WC": "350 L"})
    assert typed.entries[0].cells["litres"] == "70"


def test_gallons_are_asked() -> None:
    made = change("10 gal", "5 us gal")
    assert [entry.cells["litres"] for entry in made.entries] == ["18.92705892"]
    assert [choice.consequence for choice in made.questions[0].choices] == [
        "10 gallons are 37.9 L.", "10 gallons are 45.5 L.",
    ]  # fmt: skip
    made = change("10 gal", answers={"which gallon/WC": "imperial"})
    assert made.entries[0].cells["litres"] == "45.4609"
    taken_by_the_tank(made, TANK)


def test_unit_of_the_column() -> None:
    assert change("40", "30").questions[0].open and change("40").entries == ()
    assert change("40", heading="Liter").entries[0].cells["litres"] == "40"
    assert change("10", heading="Change %").entries[0].cells["litres"] == "30"
    asked = change("40", answers={"unit of volumes/WC": "US gallons"})
    assert asked.entries[0].cells["litres"] == "151.41647136"


@pytest.mark.parametrize(
    ("text", "code"),
    [("", "NO_LITRES"), ("yes", "NO_VOLUME"), ("0 L", "NO_LITRES"), ("-5 L", "NO_LITRES"),
     ("300 L", "MORE_THAN_TANK"), ("100 %", "SHARE"), ("0 %", "SHARE"), ("75 x 50 x 50 cm", "NO_LITRES"),
     ("<40 L", "NO_SINGLE_VOLUME"), ("30-40 L", "NO_SINGLE_VOLUME")],
)  # fmt: skip
def test_refused(text: str, code: str) -> None:
    made = change(text)
    assert made.entries == () and code in codes_of(made, 2)


def test_a_gravity_is_no_salinity() -> None:
    body = table(
        (("date", "date"), ("L", "litres"), ("S", "salinity")), [("", "40", "1.026")], numbers=[2]
    )
    made = changes_from(body, TANK, {})
    assert "salinity" not in made.entries[0].cells and codes_of(made, 2) == ["SALINITY"]


def test_table_of_volumes() -> None:
    texts = ["380 L", "100 gal", "0", "", "-200", "0.38", "75 x 50 x 50 cm"]
    body = table(
        (("tank", "tank"), ("volume", "volume")), [(str(i), t) for i, t in enumerate(texts)]
    )
    made = volumes_from(body, TANK, {})
    said = {mark.row: mark.said for mark in made.marks}
    assert made.entries == () and "net_L" in made.notes[0].text
    assert [said[row].fate for row in range(2, 9)] == [
        "read", "asked", "refused", "refused", "refused", "flagged", "asked",
    ]  # fmt: skip
    assert "No dose can be worked out" in said[4].reason and said[7].likely == "380 L"
    assert "187.5 L gross" in next(q.text for q in made.questions if q.key == "row:net volume/8")
    gallon = next(question for question in made.questions if question.key == "which gallon/volume")
    assert [choice.consequence for choice in gallon.choices] == [
        "100 gallons are 378.5 L.", "100 gallons are 454.6 L.",
    ]  # fmt: skip
    answers = {"which gallon/volume": "US", "row:net volume/8": "160"}
    said = {mark.row: mark.said for mark in volumes_from(body, TANK, answers).marks}
    assert said[3].reason == "378.5 L." and said[8].fate == "read"
    again = volumes_from(body, TANK, {"row:net volume/8": "500"})
    assert "no volume from 0 to 187.5 L" in next(
        q.text for q in again.questions if q.open and "row" in q.key
    )


@pytest.mark.parametrize(
    ("text", "gross"),
    [("75x50x50", 187.5), ("750 x 500 x 500 mm", 187.5), ("30 x 12 x 12 in", 70.7921),
     ("30\" x 12\" x 12\"", 70.7921), ("1,2 m × 0,5 m × 0,5 m", 300.0)],
)  # fmt: skip
def test_sides(text: str, gross: float) -> None:
    assert read_volume(text).gross_L == pytest.approx(gross, abs=1e-4)


TEXT = st.one_of(
    st.text(max_size=15),
    st.lists(st.sampled_from(["40", "L", "gal", "%", "x", "of 35 ppt", "-", "1.5", "m3", "<", "cm"]),
             max_size=6).map(" ".join),
)  # fmt: skip


KEYS = st.sampled_from(["which gallon/WC", "unit of volumes/WC", "share of/WC"])


@settings(max_examples=50, deadline=None)
@given(st.lists(TEXT, min_size=1, max_size=5), st.dictionaries(KEYS, TEXT))
def test_any_text(texts, answers) -> None:
    made = change(*texts, answers=answers)
    taken_by_the_tank(made, TANK)
    assert told_of(made) == set(range(2, len(texts) + 2))
    body = table((("tank", "tank"), ("WC", "volume")), [("", text) for text in texts])
    assert told_of(volumes_from(body, TANK, answers)) == set(range(2, len(texts) + 2))
