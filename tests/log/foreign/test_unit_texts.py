"""Units as people write them, assumed from numbers, and asked."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units
from reef_calc.chem.units import convert
from reef_calc.log.foreign.unit_texts import UnitRead, assumed_unit, unit_of_text, with_species
from reef_calc.log.foreign.units_by_range import POSSIBLE


def read(text: str, name: str, values: tuple[float, ...] = (), **answers: str) -> UnitRead:
    given = {key.replace("__", "/"): answer for key, answer in answers.items()}
    return unit_of_text(text, name, key="X", answers=given, rows=(2, 3), values=values)


def guess(name: str, *values: float, answer: str = "") -> UnitRead:
    answers = {"unit/X": answer} if answer else {}
    return assumed_unit(name, values, key="X", column=1, answers=answers, rows=(2,))


@pytest.mark.parametrize(
    ("text", "name", "unit"),
    [
        ("mg/l", "calcium", "mg/L"),
        ("MG/L", "calcium", "mg/L"),
        ("mg per litre", "calcium", "mg/L"),
        ("mg·L⁻¹", "calcium", "mg/L"),
        ("mg L-1", "calcium", "mg/L"),
        ("milligrams/litre", "calcium", "mg/L"),
        ("µg/L P", "phosphate", "µg/L P"),
        ("μg/l p", "phosphate", "µg/L P"),
        ("ug PO4-P/l", "phosphate", "µg/L PO4-P"),
        ("mg/l N", "nitrate", "mg/L NO3-N"),
        ("mg/L as N", "nitrate", "mg/L NO3-N"),
        ("meq/l", "alkalinity", "meq/L"),
        ("MEQ/L", "alkalinity", "meq/L"),
        ("mval/l", "alkalinity", "meq/L"),
        ("°dH", "alkalinity", "dKH"),
        ("°KH", "alkalinity", "dKH"),
        ("dkh", "alkalinity", "dKH"),
        ("mg/l CaCO3", "alkalinity", "mg/L as CaCO3"),
        ("µmol/kg", "alkalinity", "µmol/kg"),
        ("PSU", "salinity", "PSU"),
        ("mS/cm", "salinity", "mS/cm at 25 °C"),
        ("SG 25/25", "salinity", "SG 25/25"),
        ("deg F", "temperature", "°F"),
        ("Grad Celsius", "temperature", "°C"),
        ("", "pH", "pH"),
        ("-", "pH", "pH"),
    ],
)
def test_clear_units(text: str, name: str, unit: str) -> None:
    found = read(text, name)
    assert (found.unit, found.question, found.said) == (unit, None, None)


@pytest.mark.parametrize(
    ("text", "name", "assumed", "other"),
    [
        ("ppm", "calcium", "mg/L", "mg/kg"),
        ("PPB", "iodine", "µg/L", "µg/kg"),
        ("ppb PO4-P", "phosphate", "µg/L PO4-P", "µg/kg PO4-P"),
        ("ppt", "salinity", "PSU", "g/kg"),
        ("‰", "salinity", "PSU", "g/kg"),
    ],
)
def test_assumed_units_offer_the_other(text: str, name: str, assumed: str, other: str) -> None:
    found = read(text, name)
    assert found.unit == assumed and found.said is None and found.note is not None
    assert found.question is not None and found.question.assumed == assumed
    assert [choice.answer for choice in found.question.choices] == [assumed, other]
    assert read(text, name, **{f"unit {text}__X": other}).unit == other


def test_ppm_of_alkalinity_is_asked_with_its_consequence() -> None:
    found = read("ppm", "alkalinity", (145.0,))
    assert found.unit == "" and found.said is not None and found.said.fate == "asked"
    assert found.question is not None and found.question.open
    # 145 mg/L over 17.848 mg/L CaCO3 a degree (encyclopaedia article on hardness degrees).
    assert found.question.choices[0].consequence == "145 mg/L as CaCO3 = 8.124 dKH"
    assert abs(145.0 / 17.848 - 8.124) < 5e-4
    assert read("ppm", "alkalinity", **{"unit ppm__X": "mg/L as CaCO3"}).unit == "mg/L as CaCO3"


def test_millimoles_of_alkalinity_may_be_carbonate() -> None:
    assert read("mmol/l", "alkalinity").said is not None
    half = read("mmol/l", "alkalinity", **{"unit mmol/l__X": "mmol/L of CaCO3"})
    assert half.unit == "" and half.said is not None and half.said.fate == "refused"
    assert "double" in half.said.repair


@pytest.mark.parametrize(
    ("text", "name", "words"),
    [
        ("°fH", "alkalinity", "10 mg/L as CaCO3"),
        ("µS/cm", "salinity", "divide the column by 1000"),
        ("g/L", "chloride", "multiply the column by 1000"),
        ("K", "temperature", "273.15"),
    ],
)
def test_what_cannot_be_kept_says_its_factor(text: str, name: str, words: str) -> None:
    found = read(text, name)
    assert found.unit == "" and found.said is not None and found.said.fate == "refused"
    assert words in found.said.repair


def test_gravity_asks_its_temperatures() -> None:
    found = read("SG", "salinity", (1.0264,))
    assert found.question is not None and found.question.open
    by_answer = {one.answer: one.consequence for one in found.question.choices}
    assert by_answer["SG 25/25"] == "1.0264 SG 25/25 = 35.03 PSU"


def test_an_unknown_unit_is_asked_and_a_typed_one_taken() -> None:
    found = read("parsec", "calcium")
    assert found.said is not None and found.said.fate == "asked"
    assert read("parsec", "calcium", **{"unit parsec__X": "mg/kg"}).unit == "mg/kg"
    again = read("parsec", "calcium", **{"unit parsec__X": "furlong"})
    assert again.unit == "" and again.question is not None
    assert "“furlong” is none of them" in again.question.text


@pytest.mark.parametrize(
    ("name", "values", "unit"),
    [
        ("alkalinity", (8.3, 8.1), "dKH"),
        ("calcium", (420.0, 415.5), "mg/L"),
        ("calcium", (420.0, 48.0, 430.0), "mg/L"),
        ("magnesium", (1300.0,), "mg/L"),
        ("nitrate", (5.0,), "mg/L"),
        ("phosphate", (0.02, 0.3), "mg/L"),
        ("phosphate", (0.0, 0.0), "mg/L"),
        ("salinity", (35.0, 34.5), "PSU"),
        ("temperature", (25.4, 25.0), "°C"),
        ("temperature", (77.7,), "°F"),
        ("pH", (8.1,), "pH"),
    ],
)
def test_units_by_range(name: str, values: tuple[float, ...], unit: str) -> None:
    found = guess(name, *values)
    assert (found.unit, found.said) == (unit, None)
    assert name == "pH" or (found.note is not None and unit in found.note.text)


@pytest.mark.parametrize(
    ("name", "value", "offered"),
    [
        ("alkalinity", 2.9, {"dKH", "meq/L"}),
        ("alkalinity", 145.0, {"mg/L as CaCO3", "mg/L as HCO3"}),
        ("alkalinity", 2400.0, {"µmol/kg", "µeq/L"}),
        ("phosphate", 22.0, {"µg/L", "µg/L P"}),
        ("salinity", 1.0264, {"SG 25/25", "SG 20/20"}),
        ("salinity", 53.1, {"mS/cm at 25 °C"}),
        ("calcium", 1050.0, {"mg/L as CaCO3"}),
        ("iodine", 60.0, {"µg/L"}),
        ("Fe", 3.0, {"mg/L", "µg/L"}),
    ],
)
def test_units_that_are_asked(name: str, value: float, offered: set[str]) -> None:
    found = guess(name, value)
    assert found.unit == "" and found.said is not None and found.said.fate == "asked"
    assert found.question is not None and found.question.open
    assert offered <= {choice.answer for choice in found.question.choices}
    answer = sorted(offered)[0]
    assert guess(name, value, answer=answer).unit == answer


def test_an_answer_overrules_what_seems_clear() -> None:
    assert guess("alkalinity", 8.3, answer="meq/L").unit == "meq/L"
    assert guess("alkalinity", 8.3, answer="nonsense").unit == "dKH"


def test_nitrogen_is_offered_beside_nitrate() -> None:
    question = guess("nitrate", 5.0).question
    assert question is not None
    # 62.004/14.007 = 4.4266 (CIAAW 2021).
    assert question.choices[1].consequence == "5 mg/L NO3-N = 22.13 mg/L NO3"


def test_every_possible_unit_is_accepted_and_its_range_possible() -> None:
    for name, units in POSSIBLE.items():
        for one in units:
            assert one.unit in accepted_units(name)
            # Wide on purpose at the upper end: a scale of salinity ends before its column does.
            if name == "pH" or one.unit.startswith(("SG", "g/cm3")):
                continue
            low, high = (
                convert(end, one.unit, ELEMENTS[name].store_unit, name, salinity=35.0, temperature_C=25.0)
                for end in (one.low, one.high)
            )  # fmt: skip
            assert math.isfinite(low) and low < high


def test_species_join_only_masses() -> None:
    assert with_species("mg/L", "NO3-N") == "mg/L NO3-N"
    assert with_species("µmol/L", "NO3-N") == "µmol/L"
    assert with_species("mg/L NO3", "NO3-N") == "mg/L NO3"


@given(
    st.text(max_size=20),
    st.sampled_from([*ELEMENTS, "Fe"]),
    st.lists(st.floats(allow_nan=True, allow_infinity=True), max_size=5),
    st.text(max_size=10),
)
@settings(max_examples=50, deadline=None)
def test_any_text_and_any_numbers_end_somewhere(
    text: str, name: str, values: list[float], answer: str
) -> None:
    answers = {f"unit {text.strip()}/X": answer, "unit/X": answer}
    for found in (
        unit_of_text(text, name, key="X", answers=answers, rows=(2,), values=values),
        assumed_unit(name, values, key="X", column=0, answers=answers, rows=(2,)),
    ):
        assert bool(found.unit) != bool(found.said)
        assert not found.unit or name == "Fe" or found.unit in accepted_units(name)
        assert found.said is None or found.said.fate == "refused" or found.question is not None
