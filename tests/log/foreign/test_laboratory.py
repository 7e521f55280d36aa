"""Laboratory reports: units by mass, limits, uncertainties, samples, dates."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.example import example_tank
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.laboratory import laboratory_from
from reef_calc.log.foreign.limit_columns import settled_by_limit
from reef_calc.log.foreign.outcome import CellNumber
from reef_calc.log.foreign.report_dates import date_question, dates_above
from reef_calc.log.foreign.uncertainty_cells import uncertainty_of
from tests.log.foreign.bodies import codes_of, table, taken_by_the_tank

TANK = example_tank()
NOW = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)
HEAD = (("Element", "element"), ("Result", "value"), ("Unit", "unit"), ("U", "u"), ("LOQ", "unknown"),
        ("Reference range", "not used"))  # fmt: skip


def report(*rows: tuple[str, ...], head=HEAD, values=(1,)) -> Body:
    body = table(head, [row + ("",) * (len(head) - len(row)) for row in rows], days=[0] * len(rows))
    numbers = {i: tuple(CellNumber(_number(text)) for text in body.texts[i]) for i in values}
    return replace(body, numbers=numbers)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def test_a_report() -> None:
    body = report(
        ("Calcium", "421", "mg/L", "5 %", "0.1", "400-440"), ("Iodine", "62", "µg/L", "", "1"),
        ("Barium", "9.4", "µg/L", "0.3", "0.1"), ("Iron", "n.d.", "µg/L", "", "0.5"),
    )  # fmt: skip
    made = laboratory_from(body, TANK, {"kit/file": "the university"})
    cells = [entry.cells for entry in made.entries]
    assert [(one["element"], one["value"], one["unit"]) for one in cells] == [
        ("calcium", "421", "mg/L"), ("iodine", "62", "µg/L"), ("Ba", "9.4", "µg/L"),
        ("Fe", "0.5", "µg/L"),
    ]  # fmt: skip
    assert cells[0]["u"] == "21.05" and cells[2]["u"] == "0.3" and "u" not in cells[1]
    assert cells[3]["limit"] == "<" and "n.d." in cells[3]["note"]
    assert {one["kit"] for one in cells} == {"the university"}
    assert settled_by_limit(body) == {(5, 1)}
    codes = {note.code for note in made.notes}
    assert {"LIMIT_OF_REPORT", "REFERENCE_NOT_USED"} <= codes
    taken_by_the_tank(made, TANK)


def test_parts_per_million_are_asked() -> None:
    body = report(("Calcium", "420", "ppm"), ("Magnesium", "1300", "mg/L"))
    made = laboratory_from(body, TANK, {})
    assert [entry.cells["element"] for entry in made.entries] == ["magnesium"]
    assert codes_of(made, 2) == ["PARTS"]
    question = next(question for question in made.questions if question.key == "parts/ppm")
    # A litre of sea water of 35 at 25 °C weighs 1.0233 kg (Millero & Poisson 1981).
    assert "429.8 mg/L" in question.choices[1].consequence
    made = laboratory_from(body, TANK, {"parts/ppm": "mg/kg"})
    assert [entry.cells["unit"] for entry in made.entries] == ["mg/kg", "mg/L"]
    again = laboratory_from(body, TANK, {"parts/ppm": "mg"})
    assert codes_of(again, 2) == ["PARTS"]


def test_expanded_uncertainties() -> None:
    body = report(("Calcium", "421", "mg/L", "8"))
    assert laboratory_from(body, TANK, {}).entries[0].cells["u"] == "8"
    assert laboratory_from(body, TANK, {"coverage/U": "2"}).entries[0].cells["u"] == "4"
    head = tuple(("U (k=2)" if name == "U" else name, role) for name, role in HEAD)
    made = laboratory_from(report(("Calcium", "421", "mg/L", "8"), head=head), TANK, {})
    assert made.entries[0].cells["u"] == "4"
    head = tuple(("U, expanded" if name == "U" else name, role) for name, role in HEAD)
    made = laboratory_from(report(("Calcium", "421", "mg/L", "8 (k=2)"), head=head), TANK, {})
    assert made.entries[0].cells["u"] == "4"  # not divided twice


@pytest.mark.parametrize(
    ("text", "u"),
    [("± 5 %", 5.0), ("5%", 5.0), ("0.3", 0.3), ("±0,3", 0.3), ("0.6 (k=2)", 0.3), ("0.6, k = 2", 0.3),
     ("10 % (k=2)", 5.0), ("+/- 0.2 mg/L", 0.2), ("1e-3", 0.001), ("", math.nan), ("-", math.nan)],
)  # fmt: skip
def test_uncertainty(text: str, u: float) -> None:
    assert uncertainty_of(text, 100.0)[0] == pytest.approx(u, nan_ok=True)


@given(st.text(max_size=20), st.floats(0, 1e6))
@settings(max_examples=50, deadline=None)
def test_any_uncertainty(text: str, value: float) -> None:
    u, _ = uncertainty_of(text, value)
    assert math.isnan(u) or 0.0 < u < math.inf


def test_two_samples() -> None:
    head = (
        ("Element", "element"),
        ("Tank", "value"),
        ("RO", "value"),
        ("Bucket", "value"),
        ("Unit", "unit"),
    )
    body = report(("Calcium", "421", "0", "430", "mg/L"), head=head, values=(1, 2, 3))
    made = laboratory_from(body, TANK, {})
    assert [entry.cells["water"] for entry in made.entries] == ["tank"]
    assert "SAMPLE_LEFT_OUT" in {note.code for note in made.notes}
    made = laboratory_from(body, TANK, {"which water/Bucket": "new water"})
    assert [(e.cells["water"], e.cells["value"]) for e in made.entries] == [
        ("tank", "421"), ("new water", "430"),
    ]  # fmt: skip
    taken_by_the_tank(made, TANK)


def test_dates_are_offered_and_typed() -> None:
    lines = ["Received 12.02.2026, reported 2026-02-20", "no 4711", "version 1.2.2026.7"]
    assert [date for date, _ in dates_above(lines)][:2] == ["2026-02-20", "2026-02-12"]

    def typed(text: str):
        return date_question(lines, (3,), TANK.zone, NOW, {"date/file": text})

    assert (
        typed("12.2.2026")[1].iso == "2026-02-12" and typed("2026-02-12T10:30")[1].utc is not None
    )
    assert typed("13/2/2026")[1].iso == "2026-02-13"
    for wrong in ("3/2/2026", "soon", "2026-02-30", "2031-01-01", "31.02.2026", "\x00", "9" * 400):
        question, moment = typed(wrong)
        assert moment.iso == "" and question.open and len(question.text) > 60


CELL = st.one_of(
    st.sampled_from(["n.d.", "421", "<0.5", "ppm", "mg/L", "5 %", "Ca", "zz"]), st.text(max_size=8)
)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(*[CELL] * 6), min_size=1, max_size=4),
       st.dictionaries(st.sampled_from(["parts/ppm", "coverage/U", "kit/file"]), CELL))  # fmt: skip
def test_any_report(rows, answers) -> None:
    made = laboratory_from(report(*rows), TANK, answers)
    rows_told = {entry.row for entry in made.entries}
    assert rows_told <= set(range(2, len(rows) + 2))
