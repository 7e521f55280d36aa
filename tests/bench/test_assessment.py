"""Typed entries judged: numbers, slips with the likely value, and sentences for bad input."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.assessment import assess
from reef_calc.bench.corrections import Correction
from reef_calc.bench.kit_parts import Lot, Precipitant, Titrant
from reef_calc.bench.kits import Kit
from reef_calc.bench.typed_entry import entry_in_words, fields_of, raw_reading_of
from reef_calc.errors import NumberError

DAY = dt.date(2026, 3, 1)
DIRECT = Kit(
    "acid", "alkalinity", "direct titration", "dKH", repeatability_sd=0.05,
    repeatability_from="typed", sample_mL=4.0, resolution=0.14, titrant=Titrant(0.02, 1.0, ""),
)  # fmt: skip
METER = Kit("meter", "calcium", "meter", "mg/L", resolution=1.0, repeatability_sd=4.0,
            repeatability_from="typed")  # fmt: skip
BACK = Kit(
    "back", "potassium", "back titration", "mg/L", repeatability_sd=8.0, resolution=5.0,
    repeatability_from="typed", sample_mL=5.0, titrant=Titrant(0.01, 20.0, ""),
    precipitant=Precipitant(0.025, 10.0), aliquot_mL=10.0, total_mL=15.0,
)  # fmt: skip
CHART = Kit("chart", "alkalinity", "chart", "dKH", resolution=0.1,
            chart=((0.0, 0.0), (0.5, 8.0), (1.0, 16.0)))  # fmt: skip
COLOUR = Kit("card", "nitrate", "colour steps", "mg/L",
             chart=((1.0, 0.5), (2.0, 2.0), (3.0, 5.0)))  # fmt: skip


def likely(found: object) -> set[float]:
    return {slip.likely for slip in found.slips if slip.likely is not None}  # type: ignore[attr-defined]


@given(st.integers(20, 80).map(lambda n: n / 100), st.sampled_from([10.0, 0.1, 100.0]))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_slipped_point_in_the_syringe_is_named_with_what_was_meant(
    used: float, power: float
) -> None:
    """Whatever was used, the level of it is expected, and the point slipped."""
    level = assess(DIRECT, {"used": repr(used)}, day=DAY).result
    assert level is not None
    typed = f"{used * power:.10g}"
    band = (level.level * 0.93, level.level * 1.07)
    found = assess(DIRECT, {"used": typed}, day=DAY, expected=band)
    assert any(abs(one - used) < 1e-9 for one in likely(found))
    assert found.field == "used"


@given(st.integers(350, 480).filter(lambda n: str(n)[0] != str(n)[1]))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_swapped_digits_are_named_with_what_was_meant(level: int) -> None:
    text = str(level)
    typed = text[1] + text[0] + text[2]
    found = assess(METER, {"reading": typed}, day=DAY, expected=(level - 8, level + 8))
    if level - 8 <= int(typed) <= level + 8:
        assert found.slips == ()
    else:
        assert level in likely(found)


@given(st.integers(40, 95).map(lambda n: n / 100), st.integers(1, 35).map(lambda n: n / 100))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_filled_left_and_used_that_agree_are_never_doubted_as_a_syringe(
    filled: float, left: float
) -> None:
    typed = {"filled": f"{filled}", "left": f"{left}", "used": f"{filled - left:.10g}"}
    found = assess(DIRECT, typed, day=DAY)
    assert found.refusal == "" and "syringe" not in {s.code for s in found.slips}
    assert found.result is not None
    wrong = assess(DIRECT, {**typed, "used": f"{filled - left + 0.05:.10g}"}, day=DAY)
    assert wrong.result is None and "used = filled − left" in wrong.refusal
    assert any(abs(one - (filled - left)) < 1e-6 for one in likely(wrong))


def test_two_refills_add() -> None:
    found = assess(DIRECT, {"filled": "1.0", "left": "0.6", "refills": "0,8; 0.5"}, day=DAY)
    assert found.result is not None
    plain = assess(DIRECT, {"used": "1.7", "filled": "1.0", "refills": "0.7"}, day=DAY).result
    assert plain is not None and found.result.level == pytest.approx(plain.level)


@pytest.mark.parametrize(
    ("kit", "typed", "words"),
    [
        (DIRECT, {"filled": "1.0", "left": "1.4"}, "swapped"),
        (DIRECT, {"filled": "10", "left": "4.4"}, "syringe holds"),
        (DIRECT, {"filled": "1.0", "used": "1.2"}, "refill"),
        (DIRECT, {"filled": "1.0 mL", "left": "0.4"}, "Filled"),
        (DIRECT, {"used": "1,250"}, "thousands"),
        (DIRECT, {"used": "0.5", "dilution": "0.5"}, "over the sample"),
        (BACK, {"used": "17.5"}, "zero point"),
        (CHART, {"reading": "1.2"}, "Dilute"),
        (COLOUR, {"step": ">", "dilution": "0.2"}, "1 or more"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words_with_a_way_on(
    kit: Kit, typed: dict[str, str], words: str
) -> None:
    found = assess(kit, typed, day=DAY)
    assert found.result is None
    told = found.refusal + " ".join(s.sentence for s in found.slips)
    assert words in told, told


def test_a_chart_that_is_not_monotone_names_its_rows() -> None:
    bent = Kit("card", "nitrate", "colour steps", "mg/L", chart=((1, 0.5), (2, 5.0), (3, 2.0)))
    with pytest.raises(Exception, match="row"):
        fields_of(bent)


def test_an_expired_lot_has_to_be_answered() -> None:
    old = Kit("acid", "alkalinity", "meter", "dKH", lots=(Lot("A", expires=dt.date(2026, 1, 31)),))
    assert [s.code for s in assess(old, {}, day=DAY, lot="A").slips] == ["lot"]
    assert "expired" in assess(old, {"reading": "8"}, day=DAY, lot="A").slips[-1].sentence


def test_a_unit_of_another_element_has_to_be_answered() -> None:
    found = assess(METER, {"reading": "8", "unit": "dKH"}, day=DAY)
    assert "alkalinity" in found.slips[0].sentence


def test_the_expected_range_is_compared_after_the_correction() -> None:
    """A kit that reads a tenth low and is corrected must not cry wolf at every reading."""
    kit = Kit("m", "calcium", "meter", "mg/L", resolution=1.0, corrections=(
        Correction(dt.date(2026, 1, 1), "", 0.0, 1.1, 0.01, "s", "factor"),))  # fmt: skip
    found = assess(kit, {"reading": "380"}, day=DAY, expected=(410.0, 426.0))
    assert found.surprise == "" and found.slips == ()
    assert found.corrected == pytest.approx(418.0)
    assert assess(kit, {"reading": "420"}, day=DAY, expected=(410.0, 426.0)).surprise == "high"


@pytest.mark.parametrize("step", ["<", "1", "1 2", "3", ">"])
def test_a_colour_below_on_between_and_above_the_steps(step: str) -> None:
    found = assess(COLOUR, {"step": step}, day=DAY)
    assert found.result is not None
    limit = {"<": "<", ">": ">", "1 2": "between"}.get(step, "")
    assert found.result.limit == limit
    assert step in dict((v, w) for w, v in fields_of(COLOUR)[0].choices)  # noqa: C402


def test_a_falling_card_has_its_ends_the_other_way_round() -> None:
    card = Kit("card", "nitrate", "colour steps", "mg/L", chart=((1, 5.0), (2, 2.0), (3, 0.5)))
    choices = dict(fields_of(card)[0].choices)
    assert choices["above 5"] == ">" and choices["below 0.5"] == "<"


def test_a_report_states_its_uncertainty_in_two_ways() -> None:
    report = Kit("report", "calcium", "laboratory report", "mg/L")
    one = raw_reading_of(report, {"reading": "430", "u": "8", "u_kind": "expanded, k = 2 (95 %)"})
    assert one is not None and one.u == 4.0
    found = assess(report, {"reading": "430", "u": "8"}, day=DAY)
    assert found.result is not None and found.result.u == pytest.approx(8.0)


def test_too_little_typed_is_no_error() -> None:
    for kit in (DIRECT, BACK, METER, CHART, COLOUR):
        found = assess(kit, {}, day=DAY)
        assert (found.result, found.refusal) == (None, "")


def test_the_raw_entry_is_kept_as_typed() -> None:
    assert entry_in_words(DIRECT, {"filled": "1,0", "left": ".44"}) == "filled 1,0 mL; left .44 mL"
    assert entry_in_words(COLOUR, {"step": "1 2"}) == "colour 0.5 to 2"
    with pytest.raises(NumberError):
        raw_reading_of(DIRECT, {"used": "half"})
