"""The sign of every slip of the hand, worked out again: true amounts in, what result_of says out.

Each slip is put into the chemistry (less sample, weaker titrant, water in the cup …), the titrant or
the colour that follows is read as the hand would read it, and the level is worked out with what the
kit's description says. Amounts: own choice, only the sign counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import get_args

import pytest

from reef_calc.bench.chart import reading_from_level
from reef_calc.bench.handling_faults import _rows, faults_that_fit
from reef_calc.bench.kit_parts import Precipitant, Titrant
from reef_calc.bench.kits import Kind, Kit
from reef_calc.bench.readings import RawReading
from reef_calc.bench.results_of_kits import result_of
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

TITRANT = Titrant(0.01, None, "one with one")
DIRECT = Kit("acid", "calcium", "direct titration", "mg/L", sample_mL=5.0, titrant=TITRANT)
TWO = replace(DIRECT, name="pair", element="magnesium", kind="two titrations")
DROPS = replace(DIRECT, name="drops", kind="drop count", resolution=1.0, half_drop=False)
BACK = Kit(
    "back", "potassium", "back titration", "mg/L", sample_mL=5.0, titrant=TITRANT,
    precipitant=Precipitant(0.025, 10.0),
)  # fmt: skip
FILTRATE = replace(BACK, name="filtrate", total_mL=15.0, aliquot_mL=10.0)
CARD = ((0.0, 0.0), (0.5, 10.0), (1.5, 40.0))
COLOUR = Kit("colour", "nitrate", "chart", "mg/L", chart=CARD)
SYRINGE = Kit("scale", "alkalinity", "chart", "dKH", chart=((0.0, 0.0), (1.0, 16.0)))
FALLING = Kit("falling", "potassium", "chart", "mg/L", chart=((0.9, 300.0), (0.4, 450.0)),
              titrant=Titrant(None, 1.0, ""))  # fmt: skip
TRUE = {"calcium": 420.0, "magnesium": 1300.0, "potassium": 400.0, "nitrate": 10.0}


@dataclass(frozen=True)
class Hands:
    """What truly went into the vial; the defaults are what the kit's description says."""

    sample_mL: float = 5.0
    sea_share: float = 1.0
    titrant: float = 1.0
    delivered: float = 1.0
    extra_mL: float = 0.0
    precipitant: float = 1.0
    precipitated: float = 1.0
    passed: float = 0.0
    cup_mL: float = 0.0
    developed: float = 1.0
    murk: float = 0.0


def mmol_per_L(element: str) -> float:
    return convert(TRUE[element], "mg/L", "mmol/L", element)


def titrant_read(hands: Hands, mmol: float) -> float:
    """Titrant (mL) as read for so many mmol at 0.01 mol/L."""
    return mmol / (0.01 * hands.titrant) / hands.delivered + hands.extra_mL + hands.murk


def mmol_in(hands: Hands, element: str) -> float:
    return mmol_per_L(element) * hands.sea_share * hands.sample_mL / 1000.0


def direct(hands: Hands) -> float:
    return result_of(DIRECT, RawReading(titrant_read(hands, mmol_in(hands, "calcium")))).level


def drops(hands: Hands) -> float:
    """So many drops as the direct titration takes, each small enough to tell the sign."""
    return result_of(DROPS, RawReading(math.ceil(direct(hands)))).level


def back(hands: Hands, kit: Kit = BACK) -> float:
    element = mmol_in(hands, "potassium")
    bound = element * hands.precipitated
    left = 0.025 * hands.precipitant * 10.0 - bound + hands.passed * bound
    total = hands.sample_mL + 10.0 + hands.cup_mL
    titrated = left if kit.aliquot_mL is None else left * kit.aliquot_mL / total
    return result_of(kit, RawReading(titrant_read(hands, titrated))).level


def filtrate(hands: Hands) -> float:
    return back(hands, FILTRATE)


def two(first: Hands, second: Hands) -> float:
    part, whole = mmol_in(second, "calcium"), mmol_in(first, "magnesium")
    whole += mmol_in(first, "calcium")
    raw = RawReading(titrant_read(first, whole), second=titrant_read(second, part))
    return result_of(TWO, raw).level


def colour(hands: Hands) -> float:
    """1 mL of reagent in the vial; the chart was made with 5 mL of sample in a dry one."""
    in_vial = hands.sea_share * hands.sample_mL / (hands.sample_mL + 1.0 + hands.cup_mL)
    seen = 10.0 * in_vial / (5.0 / 6.0) * hands.developed
    return result_of(COLOUR, RawReading(reading_from_level(seen, CARD) + 0.1 * hands.murk)).level


SIMULATED = {
    "direct titration": (DIRECT, direct),
    "drop count": (DROPS, drops),
    "back titration": (BACK, back),
    "back titration of a filtrate": (FILTRATE, filtrate),
    "colour": (COLOUR, colour),
}
SLIPS = {
    "Air stood in the sample syringe": Hands(sample_mL=4.7),
    "More sample was taken": Hands(sample_mL=5.3),
    "Air left the tip": Hands(delivered=0.93),
    "Titrant was added past": Hands(extra_mL=0.2),
    "The titration was stopped before": Hands(extra_mL=-0.2),
    "The titrant is weaker": Hands(titrant=0.95),
    "The precipitant is weaker": Hands(precipitant=0.97),
    "Precipitate passed": Hands(passed=0.05),
    "Fresh water was left in the sample": Hands(sea_share=0.95),
    "The cup or vial was wet": Hands(cup_mL=0.5),
    "The sample stood open": Hands(sea_share=1.05),
    "The sample was cloudy": Hands(murk=0.2),
}
# Signs that only hold for some kinds: colour and precipitate develop with time, titrations may go
# either way.
SLOW = {
    "The colour was read before": ("colour", Hands(developed=0.9)),
    "The colour was read too late": ("colour", Hands(developed=1.1)),
    "A waiting time was cut short": ("colour", Hands(developed=0.9)),
    "A powder was not shaken": ("colour", Hands(developed=0.9)),
    "There is nitrite": ("colour", Hands(developed=1.1)),
    "A waiting time": ("back titration", Hands(precipitated=0.95)),
    "A waiting": ("back titration of a filtrate", Hands(precipitated=0.95)),
}
CASES = [(kind, start, hands) for kind in SIMULATED for start, hands in SLIPS.items()]
CASES += [(kind, start, hands) for start, (kind, hands) in SLOW.items()]


def fits(kit: Kit | str, direction, start: str) -> list[str]:
    """Which signs the table gives a fault that fits."""
    return [f.sends for f in faults_that_fit(kit, direction) if f.words.startswith(start)]


@pytest.mark.parametrize("kind", SIMULATED)
def test_the_simulation_without_a_slip_finds_the_truth(kind) -> None:
    kit, level = SIMULATED[kind]
    assert level(Hands()) == pytest.approx(TRUE[kit.element], rel=1e-9)


def test_two_titrations_without_a_slip_find_the_truth() -> None:
    assert two(Hands(), Hands()) == pytest.approx(TRUE["magnesium"], rel=1e-9)


@pytest.mark.parametrize(("kind", "start", "hands"), CASES)
def test_the_sign_of_a_slip_follows_from_the_formula(kind, start, hands) -> None:
    kit, level = SIMULATED[kind]
    moved = level(hands) - TRUE[kit.element]
    expected = {"high": moved > 1e-6, "low": moved < -1e-6}
    for direction, fitting in expected.items():
        assert fits(kit, direction, start) == ([direction] if fitting else [])


@pytest.mark.parametrize("start", SLIPS)
def test_in_two_titrations_a_slip_in_the_second_acts_the_other_way(start) -> None:
    hands = SLIPS[start]
    one_alone = [f for d in ("high", "low") for f in faults_that_fit(TWO, d)
                 if f.words.startswith(start) and "titration)" in f.words]  # fmt: skip
    if not one_alone:  # what both share: the same bottle, the same water
        moved = two(hands, hands) - TRUE["magnesium"]
        for direction, fitting in {"high": moved > 1e-6, "low": moved < -1e-6}.items():
            assert fits(TWO, direction, start) == ([direction] if fitting else [])
        return
    assert len(one_alone) == 2
    for fault in one_alone:
        good = Hands()
        moved = two(hands, good) if "(in the first" in fault.words else two(good, hands)
        assert (moved > TRUE["magnesium"]) == (fault.sends == "high")


@pytest.mark.parametrize("kit", [DIRECT, FILTRATE])
def test_another_edge_of_the_plunger_may_send_it_either_way(kit) -> None:
    """0.02 mL between the edges, wrong at the start or at the end."""
    used = 5.0
    level = result_of(kit, RawReading(filled_mL=10.0, left_mL=10.0 - used)).level
    signs = {
        math.copysign(1, result_of(kit, RawReading(filled_mL=a, left_mL=b)).level - level)
        for a, b in ((10.02, 5.0), (10.0, 5.02))
    }
    assert signs == {1.0, -1.0}
    for direction in ("high", "low"):
        assert fits(kit, direction, "The plunger") == ["either"]


def test_the_table_is_closed_and_whole() -> None:
    rows = _rows()
    assert len(rows) == 22  # 21 slips, one of them told apart by its direction
    assert len({row["words"] for row in rows}) == 22
    for row in rows:
        signs = [row[kind] for kind in ("direct", "drops", "back", "back_filtrate", "colour")]
        assert set(signs) <= {"high", "low", "either", "none"}
        assert set(signs) != {"none"}
        assert row["one_of_two"] in ("yes", "no")
        assert row["words"].endswith(".") and row["check"].endswith(".")
        assert len(row["words"]) < 90 and len(row["check"]) < 95
    told = {f.words for kind in get_args(Kind) for d in ("high", "low")
            for f in faults_that_fit(kind, d)}  # fmt: skip
    assert {row["words"] for row in rows} <= told


def test_a_chart_counts_as_what_it_is_read_from() -> None:
    assert fits(SYRINGE, "high", "The titrant is weaker") == ["high"]
    assert fits(FALLING, "low", "The titrant is weaker") == ["low"]
    assert fits(COLOUR, "high", "The titrant is weaker") == []
    # A falling chart of potassium without a word of titrant: syringe and turbidity are both possible.
    unsaid = replace(FALLING, titrant=None)
    assert fits(unsaid, "low", "The titrant is weaker") == ["low"]
    assert fits(unsaid, "high", "The colour was read too late") == ["high"]


def test_nitrite_is_told_for_nitrate_alone() -> None:
    for kit, expected in (
        (COLOUR, ["high"]),
        (replace(COLOUR, element="phosphate"), []),
        ("colour steps", ["high"]),
    ):
        assert fits(kit, "high", "There is nitrite") == expected


def test_probes_and_reports_have_no_handling_faults() -> None:
    for kit in (Kit("probe", "pH", "meter", "pH"), Kit("lab", "", "laboratory report", "")):
        assert faults_that_fit(kit, "high") == faults_that_fit(kit, "low") == ()
    assert faults_that_fit(Kit("photo", "phosphate", "meter", "mg/L"), "high")


@pytest.mark.parametrize(("kit", "direction"), [("titration", "high"), ("meter", "sideways")])
def test_other_words_are_refused(kit, direction) -> None:
    with pytest.raises(InputError):
        faults_that_fit(kit, direction)


def test_the_table_comes_with_the_package() -> None:
    assert (files("reef_calc.bench") / "data" / "handling_faults.csv").is_file()
