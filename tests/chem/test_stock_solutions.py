"""Stocks, limewater, inflows: published masses, hand arithmetic, and words for what cannot be."""

from __future__ import annotations

import datetime as dt
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from reef_calc.chem.continuous_inflow import (
    exchanged_share,
    half_time_days,
    inflow_for,
    inflow_volumes,
    level_under_inflow,
    rise_by_inflow,
)
from reef_calc.chem.delayed_alkalinity import oxygen_cost
from reef_calc.chem.inflow_supplement import inflow_supplement
from reef_calc.chem.limewater import (
    demand_by_limewater,
    limewater,
    limewater_g_per_L,
    rise_by_limewater,
)
from reef_calc.chem.salt_mixtures import baked_carbonate, sea_water_magnesium
from reef_calc.chem.salts import find_salt, salts
from reef_calc.chem.shelf import SaltOnShelf, apart, recipes_from_shelf, to_buy
from reef_calc.chem.solubility import ADVISED_SHARE, saturation, share_of_saturation
from reef_calc.chem.stock_solutions import StockSolution, stock_solution
from reef_calc.chem.stock_words import hydrate_mistakes, salt_part
from reef_calc.chem.supplements import Supplement, level_rise
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from tests.trust import check_published, record_check

quick = settings(max_examples=30, deadline=None, derandomize=True)


def made(salt: str, element: str, rise: float, unit: str, **more: float) -> StockSolution:
    hydrate = more.pop("hydrate", None)
    part = salt_part(salt, None if hydrate is None else int(hydrate))
    return stock_solution(
        "stock", [part], more.pop("volume_L", 1.0), element=element, rise=rise, unit=unit, **more
    )


def grams(salt: str, element: str, rise: float, unit: str, hydrate: int | None = None) -> float:
    """What the whole litre must hold to raise 100 L by this."""
    part = salt_part(salt, hydrate)
    stock = stock_solution(
        "s", [part], 1.0, element=element, rise=rise, unit=unit, amount_mL=1000.0, litres=100.0
    )
    return stock.grams[0]


def test_masses_for_a_rise() -> None:
    check_published("D01", grams("sodium hydrogen carbonate", "alkalinity", 1.0, "dKH"))
    for part, salt in enumerate(("sodium carbonate anhydrous", "sodium hydroxide")):
        check_published("D02", grams(salt, "alkalinity", 1.0, "dKH"), part=part)
    for part, hydrate in enumerate((2, 0, 6)):
        check_published(
            "D03", grams("calcium chloride", "calcium", 10.0, "mg/L", hydrate), part=part
        )
    stock = stock_solution(
        "s", [salt_part("calcium chloride", 2)], 1.0,
        element="calcium", rise=40.0, unit="mg/L", amount_mL=1000.0, litres=250.0,
    )  # fmt: skip
    check_published("D06", stock.grams[0])


def test_magnesium_like_sea_water() -> None:
    chloride, sulfate = find_salt("magnesium chloride"), find_salt("Epsom salt")
    parts = sea_water_magnesium(chloride, sulfate)
    check_published("D05", parts[0].parts / parts[1].parts)
    stock = stock_solution(
        "magnesium", parts, 2.0, element="magnesium", rise=10.0, unit="mg/L", amount_mL=30.0
    )
    adds = stock.supplement.adds
    # Reference composition: 19352.71 mg/kg Cl and 2712.35 mg/kg SO4.
    assert adds["chloride"] / adds["sulfate"] == pytest.approx(19352.71 / 2712.35, rel=2e-4)
    weak = sea_water_magnesium(chloride, sulfate, chloride_assay=0.5)
    assert weak[0].parts == pytest.approx(2 * parts[0].parts)
    with pytest.raises(InputError, match="a magnesium chloride and a magnesium sulfate"):
        sea_water_magnesium(sulfate, chloride)


def test_baked_bicarbonate() -> None:
    check_published("D09", baked_carbonate(1.0))
    with pytest.raises(InputError, match="0 g or more"):
        baked_carbonate(-1.0)


def test_hydrates_mixed_up() -> None:
    mistakes = hydrate_mistakes(find_salt("calcium chloride", 2))
    got = mistakes["calcium chloride anhydrous"]
    record_check("H-CaCl2", "dose: anhydrous weighed for dihydrate (%)", 32.0, got,
                 "label figures 36.11 and 27.26 % Ca", "COMPUTED")  # fmt: skip
    assert got == pytest.approx(100 * (36.11 / 27.26 - 1), abs=0.1)
    stock = made("calcium chloride", "calcium", 1.0, "mg/L", hydrate=2)
    words = next(m.text for m in stock.messages if m.code == "LOOK_AT_THE_FORMULA")
    assert "with calcium chloride anhydrous it gets 32 % too strong" in words
    assert "hexahydrate it gets 33 % too weak" in words


@quick
@given(
    st.sampled_from([s for s in salts() if "hydroxide" not in s and s != "boric acid"]),
    st.floats(0.001, 1.0), st.floats(0.4, 1.0), st.floats(1.0, 200.0),
)  # fmt: skip
def test_a_stock_does_what_it_was_made_for(
    name: str, share: float, assay: float, amount: float
) -> None:
    """Grams from a wish, then the wish again from the grams; never above saturation."""
    salt = find_salt(name)
    part = salt_part(salt.salt, salt.hydrate, assay=assay)
    element = next(
        e for e in ("alkalinity", "calcium", "magnesium", "strontium", "iodine", "nitrate",
                    "phosphate", "bromide", "potassium", "sodium")
        if Supplement(name, _adds(name)).adds.get(e, 0.0) > 0
    )  # fmt: skip
    most = saturation(salt, 20.0)
    grams_per_L = (
        share
        * (300.0 if most is None else 10 * most.mass_percent)
        / (salt.anhydrous_fraction * assay)
    )
    unit = "meq/L" if element == "alkalinity" else "mg/L"
    rise = _adds(name)[element] * assay * grams_per_L / 1000.0 * amount / 250.0
    stock = stock_solution(
        "s", [part], 3.0, element=element, rise=rise, unit=unit, amount_mL=amount, litres=250.0
    )
    assert stock.grams[0] == pytest.approx(3.0 * grams_per_L, rel=1e-9)
    back = level_rise(stock.supplement, amount, "mL", element, 250.0, unit)
    assert back == pytest.approx(rise, rel=1e-9)
    if most is not None:
        assert stock.share_of_saturation == pytest.approx(share, rel=1e-9)
        assert ("NEAR_SATURATION" in codes(stock.messages)) == (share > ADVISED_SHARE)


def _adds(name: str) -> dict[str, float]:
    from reef_calc.chem.substances import adds_per_gram

    found = find_salt(name)
    return adds_per_gram(found.salt, hydrate=found.hydrate)


def test_too_strong_says_how_strong_it_can_be_and_how_many_litres() -> None:
    with pytest.raises(InputError) as error:
        made("sodium hydrogen carbonate", "alkalinity", 0.05, "dKH", volume_L=2.0, litres=100.0)
    text = str(error.value)
    # 150 g/L against 87.3 g/L; at 60 % of that 52.4 g/L, and 2.86 times the volume.
    assert "150 g/L of sodium hydrogen carbonate" in text
    assert "That is 172 % of what dissolves. At most 52.4 g/L is advised" in text
    assert "1 mL then raises 100 L by 0.017 dKH" in text
    assert "Make 5.7 L with the same 299.6 g instead of 2 L, and dose 2.9 times as many mL." in text


def test_eighty_grams_of_bicarbonate_stay_dissolved_only_in_the_warm() -> None:
    rise = 0.0267
    warm = made("sodium hydrogen carbonate", "alkalinity", rise, "dKH")
    assert warm.share_of_saturation == pytest.approx(0.916, abs=0.002)
    near = next(m for m in warm.messages if m.code == "NEAR_SATURATION")
    assert "92 % of what dissolves at 20 °C; at most 60 % is advised" in near.text
    with pytest.raises(InputError, match="stays clear at 12 °C"):
        made("sodium hydrogen carbonate", "alkalinity", rise, "dKH", coldest_C=12.0)
    cool = made("sodium hydrogen carbonate", "alkalinity", 0.01, "dKH", coldest_C=12.0)
    assert "COLDER_THAN_TABLES" in codes(cool.messages)
    assert "below 20 °C is not known here" in next(
        m.text for m in cool.messages if m.code == "COLDER_THAN_TABLES"
    )


@pytest.mark.parametrize(
    ("salt", "grams_per_100_g_water"),
    # At 10 °C, handbook values, MEMORY.
    [("soda ash", 12.5), ("sodium hydrogen carbonate", 8.15), ("potassium nitrate", 21.0),
     ("sodium sulfate anhydrous", 9.0), ("magnesium sulfate anhydrous", 30.0)],
)  # fmt: skip
def test_what_is_advised_in_the_cold_really_dissolves(
    salt: str, grams_per_100_g_water: float
) -> None:
    really = 100 * grams_per_100_g_water / (100 + grams_per_100_g_water)
    guessed = saturation(find_salt(salt), 10.0)
    assert guessed is not None
    assert ADVISED_SHARE * guessed.mass_percent < 0.7 * really
    assert not guessed.tabled


def test_what_no_container_may_hold() -> None:
    with pytest.raises(InputError, match="carbonate falls out"):
        stock_solution(
            "both", [salt_part("calcium chloride", 2), salt_part("soda ash")], 1.0,
            element="calcium", rise=1.0, unit="mg/L",
        )  # fmt: skip
    with pytest.raises(InputError, match="Make limewater of it"):
        made("slaked lime", "alkalinity", 0.001, "dKH")
    with pytest.raises(InputError, match="a salt that adds calcium"):
        made("soda ash", "calcium", 1.0, "mg/L")
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(InputError, match="a rise above 0"):
            made("soda ash", "alkalinity", bad, "dKH")
    with pytest.raises(InputError, match="a temperature of 2 to 40"):
        made("soda ash", "alkalinity", 0.01, "dKH", coldest_C=-5.0)
    unknown = made("potassium sulfate", "potassium", 1.0, "mg/L")
    assert codes(unknown.messages) == ("SOLUBILITY_NOT_KNOWN",)


def test_the_label_and_the_steps() -> None:
    stock = stock_solution(
        "calcium", [salt_part("calcium chloride", 2, assay=0.97)], 5.0,
        element="calcium", rise=5.0, unit="mg/L", amount_mL=20.0,
    )  # fmt: skip
    hazard = next(m.text for m in stock.messages if m.code == "HAZARD")
    assert hazard.startswith("calcium chloride dihydrate: serious eye irritation (H319). The label")
    label = stock.label(dt.date(2026, 3, 1), "")
    assert label[0] == "calcium"
    assert label[2] == "10 mL raise 100 L by 2.5 mg/L"
    assert label[3] == "Made on 2026-03-01 by ____________"
    assert "serious eye irritation (H319)" in label[4]
    assert "carbonate" in label[5]
    assert label[6].startswith("NOT FOR DRINKING")
    steps = " ".join(stock.steps())
    assert "never pour water onto the salt" in steps
    assert "It gets hot" in steps
    assert "(97 % pure)" in steps
    assert stock.recipe[0]["grams_per_L"] == pytest.approx(stock.grams[0] / 5.0)
    assert "volume is that of the finished solution" in stock.assumed[0]


def test_what_the_shelf_allows() -> None:
    shelf = [
        SaltOnShelf(find_salt("sodium hydrogen carbonate"), 600.0),
        SaltOnShelf(find_salt("sodium hydrogen carbonate"), 400.0),
        SaltOnShelf(find_salt("soda ash"), 250.0, 0.99),
        SaltOnShelf(find_salt("slaked lime"), 100.0),
        SaltOnShelf(find_salt("borax"), 100.0),
        SaltOnShelf(find_salt("magnesium chloride"), 800.0),
        SaltOnShelf(find_salt("Epsom salt"), 50.0),
    ]
    found = recipes_from_shelf(shelf, "alkalinity", 0.5, "dKH", 300.0, mL_per_day=60.0)
    # 0.5 dKH in 300 L: 4.494 g of bicarbonate a day, 2.864 g of soda of 99 %.
    assert [round(r.days, 1) for r in found.recipes] == [222.5, 87.3]
    assert found.recipes[1].mL_per_day == pytest.approx(60.0)
    assert found.recipes[0].stock.share_of_saturation == pytest.approx(ADVISED_SHARE)
    assert set(found.left_out) == {"calcium hydroxide", "sodium tetraborate decahydrate"}
    assert "not for households" in found.left_out["sodium tetraborate decahydrate"]
    pair = recipes_from_shelf(shelf, "magnesium", 1.0, "mg/L", 300.0, mL_per_day=20.0)
    names = [[p.salt.salt for p in r.stock.parts] for r in pair.recipes]
    assert ["magnesium chloride", "magnesium sulfate"] in names
    both = next(r for r in pair.recipes if len(r.stock.parts) == 2)
    # The sulfate runs out first: 50 g of it go with 399 g of the chloride.
    assert both.litres * both.stock.grams[1] == pytest.approx(50.0)
    assert "never in one container" in apart([found.recipes[0].stock, both.stock])[0]
    missing = to_buy(both.stock, [])
    assert missing == pytest.approx(
        dict(zip([p.salt.name for p in both.stock.parts], both.stock.grams, strict=True))
    )
    assert to_buy(both.stock, [SaltOnShelf(p.salt, 1e5) for p in both.stock.parts]) == {}
    with pytest.raises(InputError, match="a use a day above 0"):
        recipes_from_shelf(shelf, "alkalinity", 0.0, "dKH", 300.0, mL_per_day=60.0)


def test_limewater_strength() -> None:
    check_published(
        "D08",
        rise_by_limewater(1.0, 100.0, 1.5, "mg/L", "calcium") * 100.0,
        rise_by_limewater(1.0, 1.0, 1.5, "meq/L"),
        rise_by_limewater(1.0, 100.0, 1.5, "dKH"),
    )
    record_check(
        "L-40", "limewater: g per 100 g of water at 20 and 40 °C", (0.165, 0.141),
        (limewater_g_per_L(20.0) / 9.982, limewater_g_per_L(40.0) / 9.922),
        "0.165 to 0.141: published, source not at hand", "PUBLISHED",
    )  # fmt: skip
    assert limewater_g_per_L(20.0) / 9.982 == pytest.approx(0.165, abs=5e-4)
    assert limewater_g_per_L(40.0) / 9.922 == pytest.approx(0.141, abs=5e-4)
    # 0.176 g per 100 g at 10 °C: MEMORY.
    assert limewater_g_per_L(10.0) / 9.997 == pytest.approx(0.176, rel=0.02)
    warmer = [limewater_g_per_L(t) for t in np.linspace(5, 40, 60)]
    assert np.all(np.diff(warmer) < 0)
    with pytest.raises(InputError, match="5 to 40 °C"):
        limewater_g_per_L(60.0)


def test_limewater_as_a_supplement() -> None:
    lime = limewater(evaporation_L_per_day=4.0, temperature_C=25.0)
    assert lime.limits == {"mL_per_day": 4000.0}
    assert any("H318" in hazard for hazard in lime.hazards)
    half = demand_by_limewater(lime, 0.7, "dKH", 300.0)
    given = half.litres_per_day * 1000.0
    assert level_rise(lime, given, "mL", "alkalinity", 300.0, "dKH") == pytest.approx(0.7)
    milk = pytest.raises(InputError, match="The rest lies at the bottom")
    with milk:
        limewater(evaporation_L_per_day=4.0, g_per_L=8.0)
    with pytest.raises(InputError, match="an evaporation above 0"):
        limewater(evaporation_L_per_day=0.0)
    strong = limewater(evaporation_L_per_day=4.0, g_per_L=1.65, temperature_C=35.0)
    assert "more than clear limewater holds" in " ".join(strong.assumed)


@quick
@given(
    st.floats(5, 12), st.floats(6, 40), st.floats(0.1, 50.0), st.floats(0.0, 40.0),
    st.floats(-0.5, 2.0),
)  # fmt: skip
def test_inflow_against_an_integrator(
    level: float, inflow: float, flow: float, days: float, use: float
) -> None:
    got = level_under_inflow(level, inflow, flow, 300.0, days, use_per_day=use)
    solved = solve_ivp(
        lambda _, c: flow / 300.0 * (inflow - c) - use, (0.0, days), [level], rtol=1e-9, atol=1e-9
    )
    assert got == pytest.approx(solved.y[0, -1], abs=1e-6)


def test_inflow_by_hand() -> None:
    assert exchanged_share(0.0576 * 500, 500) == pytest.approx(0.05597, abs=5e-6)
    # Half of the way at the half time, whatever the levels.
    t = half_time_days(7.0, 210.0)
    assert level_under_inflow(4.0, 10.0, 7.0, 210.0, t) == pytest.approx(7.0)
    assert inflow_for(rise_by_inflow(12.0, 30.0, 8.0, 400.0), 30.0, 8.0, 400.0) == pytest.approx(12)
    assert inflow_volumes(40.0, 10.0) == pytest.approx(math.log(4.0))
    for level, wanted, inflow in ((40.0, 10.0, 10.0), (40.0, 50.0, 0.0), (40.0, 5.0, 8.0)):
        with pytest.raises(CannotTellError, match="must lie between"):
            inflow_volumes(level, wanted, inflow)
    with pytest.raises(CannotTellError, match="cannot raise a tank"):
        inflow_for(1.0, 8.0, 8.0, 400.0)
    with pytest.raises(InputError, match="a flow above 0"):
        half_time_days(0.0, 400.0)


def test_a_reactor_as_a_supplement_settles_on_the_level_of_the_tank() -> None:
    """Solved again and again with the level it ends at, it ends at that of the mixed tank."""
    use, flow, net = 1.0, 43.2, 500.0
    level = 8.0
    for _ in range(60):
        reactor = inflow_supplement(
            "reactor", {"alkalinity": (28.0, "dKH")}, {"alkalinity": (level, "dKH")}
        )
        rise = level_rise(reactor, flow, "L", "alkalinity", net, "dKH")
        level += 3.0 * (rise - use)
    ends = level_under_inflow(8.0, 28.0, flow, net, math.inf, use_per_day=use)
    assert level == pytest.approx(ends, rel=1e-6)


def test_a_reactor_takes_away_what_it_holds_less_of() -> None:
    reactor = inflow_supplement(
        "reactor",
        {"alkalinity": (28.0, "dKH"), "calcium": (560.0, "mg/L"), "magnesium": (1250.0, "mg/L")},
        {"alkalinity": (8.0, "dKH"), "calcium": (420.0, "mg/L"), "magnesium": (1300.0, "mg/L")},
    )
    assert reactor.adds["calcium"] == pytest.approx(0.14)
    assert reactor.adds["magnesium"] == pytest.approx(-0.05)
    assert any("suffocates" in hazard for hazard in reactor.hazards)
    with pytest.raises(InputError, match="the tank's level of calcium"):
        inflow_supplement("reactor", {"calcium": (560.0, "mg/L")}, {})


def test_oxygen_of_delayed_alkalinity() -> None:
    formate, acetate = oxygen_cost("calcium formate", 1.0), oxygen_cost("calcium acetate", 1.0)
    # 0.35665 mmol/L × ½ × 31.998 and × 2 × 31.998.
    assert formate.oxygen_mg_per_L == pytest.approx(5.706, abs=0.002)
    assert acetate.oxygen_mg_per_L == pytest.approx(22.824, abs=0.005)
    assert formate.carbon_dioxide_mmol_per_L == 0.0
    assert acetate.carbon_dioxide_mmol_per_L == pytest.approx(0.35665, abs=1e-5)
    # Sea water of 35 at 25 °C holds about 6.75 mg/L: MEMORY.
    assert formate.oxygen_mg_per_L / formate.of_saturated == pytest.approx(6.75, abs=0.03)
    with pytest.raises(InputError, match="takes no oxygen"):
        oxygen_cost("soda ash", 1.0)


def test_shares_of_several_salts_add_up() -> None:
    salt = find_salt("potassium chloride")
    one = share_of_saturation([(salt, 50.0)], 20.0)
    assert one is not None
    assert share_of_saturation([(salt, 20.0), (salt, 30.0)], 20.0) == pytest.approx(one)
    assert share_of_saturation([(salt, 50.0)], 20.0, 1.25) == pytest.approx(one / 1.25)
    with pytest.raises(InputError, match="a density"):
        share_of_saturation([(salt, 50.0)], 20.0, 1250.0)


def test_what_a_stock_brings_beside_is_said() -> None:
    formate = stock_solution(
        "formate", [salt_part("calcium formate")], 1.0, element="calcium", rise=10.0, unit="mg/L",
        amount_mL=35.0,
    )  # fmt: skip
    said = {m.code: m.text for m in formate.messages}
    # 2 meq of alkalinity for each 40.078 mg of calcium: 0.1399 dKH for each mg/L.
    per_10_mL = 10.0 * 10.0 / 35.0 * 2.0 / 40.078 / 0.356652
    assert f"alkalinity: 10 mL raise 100 L by {per_10_mL:.2f} dKH" in said["ALSO_ADDS"]
    assert "later" in said["LATE"]
    iodide = stock_solution(
        "iodide", [salt_part("potassium iodide")], 1.0, element="iodine", rise=0.01, unit="mg/L"
    )
    assert "ALSO_ADDS" not in codes(iodide.messages)  # a little potassium that no kit sees
    nitrate = stock_solution(
        "nitrate", [salt_part("saltpetre")], 1.0, element="nitrate", rise=1.0, unit="mg/L",
        amount_mL=10.0,
    )  # fmt: skip
    assert "potassium: 10 mL raise 100 L by 0.63 mg/L" in nitrate.messages[0].text


def test_the_shelf_puts_lye_last_and_hazard_codes_stay_as_written() -> None:
    jars = [
        SaltOnShelf(find_salt(name), 500.0)
        for name in ("caustic soda", "soda ash", "calcium formate", "borax")
    ]
    jars.append(SaltOnShelf(find_salt("calcium chloride", 2), 500.0))
    found = recipes_from_shelf(jars, "alkalinity", 0.5, "dKH", 300.0, mL_per_day=50.0)
    names = [one.stock.parts[0].salt.salt for one in found.recipes]
    assert names == ["sodium carbonate", "calcium formate", "sodium hydroxide"]
    assert "(H360FD)" in found.left_out["sodium tetraborate decahydrate"]
    calcium = recipes_from_shelf(jars, "calcium", 4.0, "mg/L", 300.0, mL_per_day=50.0)
    assert calcium.recipes[0].stock.parts[0].salt.salt == "calcium chloride"


def test_steps_of_lye_and_of_much_stock() -> None:
    lye = stock_solution(
        "lye", [salt_part("caustic soda")], 500.0, element="alkalinity", rise=0.1, unit="dKH"
    )
    steps = " ".join(lye.steps())
    assert "close all round" in steps and "no metal" in steps
    # 142.6 g/L: 0.1 dKH in 100 L by a mL is 3.5665 meq, of 39.997 mg each.
    weighed = re.search(r"Weigh (\S+) g of sodium hydroxide", steps)
    assert weighed and float(weighed[1]) == pytest.approx(0.356650 * 100 * 39.997 * 50, rel=1e-3)
    assert "350 L" in steps and "e+" not in steps
