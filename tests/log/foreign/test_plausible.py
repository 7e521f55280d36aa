"""Doubtful readings of a foreign table: planted faults are named, honest histories are left alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.foreign.outcome import Mark
from reef_calc.log.foreign.plausible import Series, doubts
from reef_calc.log.foreign.taken_as import taken_as
from tests.log.foreign.columns_of_tanks import HONEST, column, honest_levels, honest_tank
from tests.trust import check_published


def said(*series: Series) -> dict[tuple[int, int | None], tuple[str, str]]:
    """Return code and likely value by row and column."""
    return {(m.row, m.column): (m.said.code, m.said.likely) for m in doubts(series)}


def only(*series: Series) -> Mark:
    """Return the one mark there is."""
    (mark,) = doubts(series)
    return mark


def test_slipped_and_exchanged_digits_name_what_is_likely() -> None:
    found = said(
        column([480, 48, 470, 740], "calcium", at=1),
        column([8.4, 84, 8.2, 8.1], at=2),
        column([400, 40, 395, 390], "potassium", at=3),
    )
    assert found == {
        (3, 1): ("SLIPPED_DIGITS", "480"),
        (3, 2): ("SLIPPED_DIGITS", "8.4"),
        (3, 3): ("SLIPPED_DIGITS", "400"),
        (5, 1): ("EXCHANGED_DIGITS", "470"),
    }


def test_another_quantity_is_named() -> None:
    found = doubts(
        [
            column([35.0, 1.0264, 53.1, 35], "salinity", at=1),
            column([25.4, 77.7, 25.3, 250], "temperature", at=2),
        ]
    )
    words = [(m.row, m.said.code, m.said.likely) for m in found]
    assert words == [
        (3, "WRONG_QUANTITY", "35"),
        (3, "WRONG_QUANTITY", "25.4"),
        (4, "WRONG_QUANTITY", "35"),
        (5, "SLIPPED_DIGITS", "25"),
    ]
    assert "specific gravity or a density" in found[0].said.reason
    assert "mS/cm" in found[2].said.reason and "exchanged: 35.1" in found[2].said.reason
    assert all(m.said.fate == "flagged" for m in found)


def test_other_quantities_are_worked_out_as_published() -> None:
    def one(element: str, unit: str, number: float, word: str) -> float:
        taken = {t.word: t.levels for t in taken_as(np.array([number]), element, unit)}
        return float(taken[word][0])

    check_published("U01", one("alkalinity", "dKH", 1.0, "meq/L"))
    check_published("U03", 1 / one("alkalinity", "dKH", 1.0, "mg/L as CaCO3"))
    check_published("U08", one("nitrate", "mg/L", 1.0, "mg/L NO3-N"))
    check_published("S21", one("salinity", "PSU", 1.0264, "SG 25/25"))
    check_published("S07", one("salinity", "mS/cm at 25 °C", 35.0, "PSU"))
    assert one("temperature", "°C", 212.0, "°F") == pytest.approx(100.0)  # definition


@pytest.mark.parametrize(
    ("element", "values", "code", "likely"),
    [
        ("alkalinity", [8.1, 8.2, 145, 8.0], "WRONG_QUANTITY", "8.1"),
        ("alkalinity", [8.3, 8.2, 0.83, 8.3], "SLIPPED_DIGITS", "8.3"),
        ("alkalinity", [145.0], "WRONG_QUANTITY", "8.12"),
        ("calcium", [420, 421, 4220, 422], "SLIPPED_DIGITS", "422"),
        ("calcium", [420, 421, 1050, 422], "WRONG_QUANTITY", "420"),
        ("calcium", [280, 285, 282, 279, 2800, 281], "SLIPPED_DIGITS", "280"),
        ("phosphate", [0.07, 0.06, 22, 0.065], "WRONG_QUANTITY", "0.067"),
        ("nitrate", [5, 50, 5.1], "SLIPPED_DIGITS", "5"),
        ("nitrate", [5, 5.1, 1.13, 4.9, 5.0], "WRONG_QUANTITY", "5.0"),
    ],
)
def test_one_bad_value(element: str, values: list[float], code: str, likely: str) -> None:
    mark = only(column(values, element))
    assert mark.said.code == code
    assert float(mark.said.likely) == pytest.approx(float(likely), rel=0.01)


def test_gravities_are_compared_by_what_is_dissolved() -> None:
    values = [1.0264, 1.026, 35.0, 1.0262, 1026, 1.264, 0.0264]
    found = said(column(values, "salinity", "SG 25/25"))
    assert {row: likely for (row, _), (_, likely) in found.items()} == {
        4: "1.0264", 6: "1.026", 7: "1.0264", 8: "1.0264",
    }  # fmt: skip


def test_a_unit_that_is_switched_names_the_first_row_and_the_factor() -> None:
    marks = doubts([column([8.1, 8.2, 8.0, 8.1, 2.9, 2.9, 2.8, 2.9])])
    assert [m.row for m in marks] == [6, 7, 8, 9]
    assert marks[0].said.reason.startswith("From row 6 on, 4 numbers look like meq/L")
    assert "2.8 times" in marks[0].said.reason
    nitrate = only(column([10, 10.2, 9.9, 10.1, 2.27, 2.25, 2.3, 2.24], "nitrate"))
    assert nitrate.row == 6 and nitrate.said.likely == ""
    assert "4.4" in nitrate.said.reason and "nitrate-nitrogen" in nitrate.said.reason


def test_a_whole_column_in_another_unit_is_told_as_one() -> None:
    marks = doubts([column([145, 144, 146, 143])])
    assert {m.said.code for m in marks} == {"WHOLE_COLUMN"} and len(marks) == 4
    assert "4 numbers" in marks[0].said.reason


def test_exchanged_and_shifted_columns() -> None:
    row = said(
        column([420, 1310, 430], "calcium", at=1), column([1300, 425, 1300], "magnesium", at=2)
    )
    assert row == {(3, 1): ("EXCHANGED_COLUMNS", "425"), (3, 2): ("EXCHANGED_COLUMNS", "1310")}
    whole = doubts(
        [
            column([1300, 1310, 1290], "calcium", at=1, key="Ca"),
            column([420, 425, 430], "magnesium", at=2, key="Mg"),
        ]
    )
    assert len(whole) == 6 and whole[0].said.reason.startswith("In 3 rows")
    warm = said(
        column([35, 25.4, 35.1, 34.9], "salinity", at=1),
        column([25.2, 35, 25.3, 25.1], "temperature", at=2),
    )
    assert set(warm) == {(3, 1), (3, 2)}
    shifted = said(
        column([8.1, 5, 8.2, 8.1], at=1),
        column([420, 8.1, 430, 425], "calcium", at=2),
        column([1300, 425, 1300, 1310], "magnesium", at=3),
    )
    assert {code for code, _ in shifted.values()} == {"SHIFTED_COLUMNS"}


def test_readings_that_were_not_read() -> None:
    read = np.array([8.0, 8.1, 8.3, 8.2, 7.9, 7.8, 8.4, 8.5, 8.1])
    twice = only(
        column(read, at=1, key="KH"), column(np.round(read / 2.80385, 2), unit="meq/L", at=2)
    )
    assert twice.said.code == "WORKED_OUT" and "“KH”" in twice.said.reason
    copied = only(column([*read, *[8.2] * 14, *read]))
    assert (copied.said.code, copied.row) == ("COPIED_DOWN", 11)


@pytest.mark.parametrize(
    ("element", "values"),
    [
        ("alkalinity", [8.1, 8.0, 5.0, 5.1, 6, 7, 8]),
        ("alkalinity", [8.1, 8, 7, 6, 5, 4, 3, 2.9]),
        ("alkalinity", [8.3, 8.2, 8.3, 3.8, 4.5, 5.2, 6, 7, 8]),
        ("alkalinity", [4.6, 4.7, 4.6, 4.8]),
        ("calcium", [420, 421, 441, 440, 442]),
        ("calcium", [280, 281, 279]),
        ("salinity", [35, 35, 33, 33, 35]),
        ("nitrate", [2, 2.1, 40, 41, 39]),
        ("nitrate", [2, 5, 12, 25, 40]),
        ("nitrate", [250, 290, 320, 350]),
        ("phosphate", [22, 25, 24]),
        ("alkalinity", [np.nan] * 5),
        ("alkalinity", [0.0, -8.1, np.inf, np.nan]),
        ("alkalinity", [8.2] * 30),
        ("alkalinity", []),
    ],
)
def test_what_may_be_real_is_left_alone(element: str, values: list[float]) -> None:
    assert doubts([column(values, element)]) == ()


def test_limits_standards_and_other_elements_are_not_judged() -> None:
    assert doubts([column([0.03, 0.02, 300, 0.02], "phosphate", limits=("", "<", ">", ""))]) == ()
    assert doubts([column([8, 80, 8], water="standard eight")]) == ()
    assert (
        doubts([Series(1, "Li", "Li", "µg/L", (2, 3), np.arange(2.0), np.ones(2), ("", ""))]) == ()
    )
    assert len(doubts([column([8, 80, 8.1], water="new water")])) == 1


def test_rows_may_stand_in_any_order_of_time() -> None:
    shuffled = Series(
        1, "KH", "alkalinity", "dKH", (2, 3, 4, 5), np.array([21.0, 0, 14, 7]),
        np.array([2.9, 8.1, 8.0, 8.2]), ("",) * 4,
    )  # fmt: skip
    assert said(shuffled) == {(2, 1): ("WRONG_QUANTITY", "8.1")}


def test_honest_histories_are_seldom_flagged() -> None:
    random = np.random.default_rng(7)
    readings = flagged = 0
    for _ in range(60):
        tank = honest_tank(random)
        readings += sum(int(np.isfinite(one.values).sum()) for one in tank)
        flagged += len(doubts(tank))
    assert readings > 20_000 and flagged < readings / 1000


@pytest.mark.parametrize("factor", [0.1, 10.0, 100.0])
@pytest.mark.parametrize("element", [e for e in HONEST if e not in ("nitrate", "phosphate")])
def test_every_planted_point_is_found(element: str, factor: float) -> None:
    random = np.random.default_rng(11)
    for _ in range(8):
        values = honest_levels(element, 40, random)
        at = int(random.integers(0, 40))
        true = values[at]
        values[at] = float(f"{true * factor:.6g}")
        found = said(column(values.tolist(), element))
        assert float(found[(at + 2, 1)][1]) == pytest.approx(true, rel=0.02)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=4, max_size=4),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(["alkalinity", "nitrate", "salinity", "pH"]),
    st.sampled_from(["", "SG 25/25", "°F", "meq/L"]),
)
def test_any_numbers_give_flags_and_nothing_else(
    columns: list[list[float]], element: str, unit: str
) -> None:
    fitting = {"salinity": "SG 25/25", "alkalinity": "meq/L"}.get(element, "")
    unit = unit if unit == fitting else ""
    series = [column(v, element, unit, at=i) for i, v in enumerate(columns)]
    for mark in doubts(series):
        assert mark.said.fate == "flagged" and mark.said.reason and mark.said.repair
        assert "nan" not in mark.said.reason.lower().split()
