"""Salts and supplements: the tables, worked examples, round trips, refusals."""

from __future__ import annotations

import csv
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.formulas import atom_counts, molar_mass
from reef_calc.chem.salts import find_salt, salts
from reef_calc.chem.substances import adds_per_gram, clashes, mass_for
from reef_calc.chem.supplements import Supplement, level_rise, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.errors import InputError, NumberError, UnitError
from tests.trust import DATA

COLUMNS = {
    "alk_meq_L": "alkalinity", "Ca_mgL": "calcium", "Mg_mgL": "magnesium", "K_mgL": "potassium",
    "Sr_mgL": "strontium", "Na_mgL": "sodium", "Cl_mgL": "chloride", "SO4_mgL": "sulfate",
    "NO3_mgL": "nitrate", "PO4_mgL": "phosphate", "I_mgL": "iodine", "Br_mgL": "bromide",
    "B_mgL": "boron",
}  # fmt: skip


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _name(row: dict[str, str]) -> str:
    return row.get("name", row.get("salt", "")).replace("(anh.)", "anhydrous")


@pytest.mark.parametrize("row", _rows("supplements_per_gram.csv"), ids=_name)
def test_grams_against_the_table(row: dict[str, str]) -> None:
    """COMPUTED table: one gram in 100 L, so a mg per gram is 100 times the rise; last digit."""
    adds = adds_per_gram(_name(row))
    salt = find_salt(_name(row))
    assert molar_mass(salt.full_formula) == pytest.approx(float(row["M"]), abs=6e-4)
    assert salt.anhydrous_fraction == pytest.approx(float(row["anhydrous_fraction"]), abs=6e-5)
    for column, element in COLUMNS.items():
        got = adds.get(element, 0.0) / 100.0
        assert got == pytest.approx(float(row[column]), abs=6e-5), element
    dkh = convert(adds.get("alkalinity", 0.0) / 100.0, "meq/L", "dKH", "alkalinity")
    assert dkh == pytest.approx(float(row["alk_dKH"]), abs=6e-5)


@pytest.mark.parametrize("row", _rows("salts_solubility_hazard.csv"), ids=_name)
def test_shelf_against_the_table(row: dict[str, str]) -> None:
    """Molar mass and saturation of the second table (status words as in its columns)."""
    water = row["formula"].partition(".")[2].removesuffix("H2O")
    salt = find_salt(_name(row), int(water or 1) if "." in row["formula"] else 0)
    assert molar_mass(salt.full_formula) == pytest.approx(float(row["M"]), abs=6e-4)
    wanted = float(row["g_anhydrous_per_100g_water_20C"].split("-")[0])
    assert salt.anhydrous_g_per_100g_water_20C == pytest.approx(wanted)
    assert salt.hazard


def test_saturation_is_the_same_however_it_is_stated() -> None:
    """g per 100 g water = 100·w/(100 − w), w in mass per cent."""
    for salt in salts().values():
        w, grams = salt.mass_percent_20C, salt.anhydrous_g_per_100g_water_20C
        if w is not None:
            assert grams == pytest.approx(100 * w / (100 - w), rel=0.035), salt.name


def test_saturation_of_hydrates_follows_from_that_of_the_salt() -> None:
    """g as sold per 100 g added water = 100·w/(f·(100+w) − w), f the anhydrous share."""
    for salt in salts().values():
        w, sold = salt.anhydrous_g_per_100g_water_20C, salt.as_sold_g_per_100g_water_20C
        if w is not None and sold is not None:
            share = salt.anhydrous_fraction
            assert sold == pytest.approx(100 * w / (share * (100 + w) - w), rel=0.03), salt.name


# Worked by hand with the molar masses of another package (COMPUTED), tolerance 0.3 %.
EXAMPLES = [
    ("sodium bicarbonate", 0, 1.0, "alkalinity", 1.3, "dKH", 380.0, 14.80),
    ("sodium carbonate", 0, 1.0, "alkalinity", 1.3, "dKH", 380.0, 9.34),
    ("washing soda", 10, 1.0, "alkalinity", 1.3, "dKH", 380.0, 25.21),
    ("calcium chloride", 2, 0.96, "calcium", 45.0, "mg/L", 305.67, 52.6),
    ("calcium chloride", 0, 0.94, "calcium", 45.0, "mg/L", 305.67, 40.5),
    ("magnesium chloride", 6, 1.0, "magnesium", 110.0 * 0.9, "mg/L", 620.0, 513.4),
    ("magnesium sulfate", 7, 1.0, "magnesium", 110.0 * 0.1, "mg/L", 620.0, 69.2),
    ("potassium chloride", 0, 1.0, "potassium", 40.0, "mg/L", 450.0, 34.3),
]


@pytest.mark.parametrize(
    ("salt", "hydrate", "assay", "element", "rise", "unit", "litres", "grams"), EXAMPLES
)
def test_worked_examples(
    salt: str, hydrate: int, assay: float, element: str, rise: float, unit: str, litres: float,
    grams: float,
) -> None:  # fmt: skip
    got = mass_for(salt, element, rise, unit, litres, hydrate=hydrate, assay=assay)
    assert got == pytest.approx(grams, rel=3e-3)


@pytest.mark.parametrize("name", salts())
def test_mass_and_rise_close_their_loop(name: str) -> None:
    for element, per_gram in adds_per_gram(name, assay=0.9).items():
        if per_gram > 0:
            unit = ELEMENTS[element].store_unit
            assert mass_for(name, element, per_gram / 100, unit, 100.0, assay=0.9) == pytest.approx(
                1
            )


@pytest.mark.parametrize("name", salts())
def test_charges_balance_and_mass_is_kept(name: str) -> None:
    """What is added never weighs more than the salt, save for the oxygen of its anions."""
    adds = adds_per_gram(name)
    assert sum(amount for element, amount in adds.items() if element != "alkalinity") <= 1000.1
    assert adds.get("alkalinity", 0.0) >= 0.0


def test_names_hydrates_and_assays_are_asked_for() -> None:
    with pytest.raises(InputError, match="0, 2 or 6"):
        find_salt("calcium chloride", 3)
    with pytest.raises(InputError, match="of the list"):
        adds_per_gram("kitchen salt")
    with pytest.raises(InputError, match=r"97 % is written 0\.97"):
        adds_per_gram("sodium chloride", assay=97)
    with pytest.raises(InputError, match="adds calcium"):
        mass_for("sodium chloride", "calcium", 10.0, "mg/L", 100.0)
    with pytest.raises(InputError, match="change water"):
        mass_for("potassium chloride", "potassium", -10.0, "mg/L", 100.0)


@pytest.mark.parametrize("text", ["", "Xx", "CaCl2..2H2O", "ca", "Ca(OH"])
def test_not_a_formula(text: str) -> None:
    with pytest.raises(InputError, match="chemical formula"):
        molar_mass(text)


def test_the_point_of_a_hydrate_is_no_decimal_point() -> None:
    assert atom_counts("CaCl2.2H2O") == {"Ca": 1, "Cl": 2, "H": 4, "O": 2}


def test_what_falls_out() -> None:
    together = [find_salt("calcium chloride", 2), find_salt("magnesium sulfate", 7)]
    assert clashes(together) == ("sulfate falls out with calcium or strontium",)
    # Ca(OH)2: 1.7 g/L and no more, so lye and calcium chloride never stand in one container.
    caustic = [find_salt("sodium hydroxide"), find_salt("calcium chloride", 2)]
    assert clashes(caustic) == ("hydroxide falls out with calcium, magnesium or strontium",)
    magnesium = [find_salt("magnesium chloride"), find_salt("magnesium sulfate", 7)]
    assert clashes(magnesium) == ()
    for salt in salts().values():
        assert clashes([salt]) == ()


# --- supplements -------------------------------------------------------------------------------

SODA = {"recipe": [{"salt": "sodium hydrogen carbonate", "grams_per_L": 80.0}]}
LABEL = {
    "label": {"amount": 10.0, "unit": "mL", "litres": 100.0, "raises": {"alkalinity": "0.5 dKH"}}
}


def test_recipe_against_a_worked_example() -> None:
    """80 g bicarbonate in 1 L: 0.9523 meq/mL; 1 mL lifts 100 L by 0.0267 dKH (COMPUTED)."""
    stock = supplement_from_table("soda", SODA)
    assert stock.adds["alkalinity"] == pytest.approx(0.9523, rel=3e-4)
    rise = level_rise(stock, 1.0, "mL", "alkalinity", 100.0, "dKH")
    assert rise == pytest.approx(0.0267, abs=5e-5)
    assert level_rise(stock, 0.001, "L", "alkalinity", 100.0, "dKH") == pytest.approx(rise)
    assert level_rise(stock, 1.0, "mL", "calcium", 100.0, "mg/L") == 0.0
    assert stock.dissolved_salt_mg == pytest.approx(80.0)


def test_label_gives_back_what_it_promises() -> None:
    stock = supplement_from_table("blend", LABEL)
    rise = level_rise(stock, 10.0, "mL", "alkalinity", 100.0, "dKH")
    assert rise == pytest.approx(0.5, rel=1e-12)
    assert len(stock.assumed) == 2
    assert stock.dissolved_salt_mg is None


def test_dry_label_counts_grams() -> None:
    table = {
        "label": {"amount": 2.0, "unit": "g", "litres": 100.0, "raises": {"calcium": "5 mg/L"}}
    }
    dry = supplement_from_table("flakes", table)
    assert (dry.unit, dry.adds) == ("g", {"calcium": 250.0})
    assert level_rise(dry, 0.002, "kg", "calcium", 100.0, "mg/L") == pytest.approx(5.0)


def test_delayed_alkalinity_is_said() -> None:
    table = {"recipe": [{"salt": "calcium formate", "grams_per_L": 100.0}]}
    stock = supplement_from_table("slow", table)
    assert stock.lag_days == 1.0
    assert any("lag_days" in sentence for sentence in stock.assumed)
    assert any("eye damage" in hazard for hazard in stock.hazards)


WRONG: list[tuple[dict[str, Any], str]] = [
    ({}, "recipe or a label"),
    (SODA | LABEL, "recipe or a label"),
    (SODA | {"strenght_u": 0.02}, "Is “strength_u” meant"),
    (SODA | {"strength_u": "0.02"}, "without quotes"),
    (SODA | {"strength_u": -0.1}, "0 or more"),
    (SODA | {"delivered_over_set": 0.94}, "table of keys"),
    (SODA | {"delivered_over_set": {"value": 94.0, "u": 1.0}}, "94 % is 0.94"),
    (SODA | {"delivered_over_set": {"value": 0.94}}, "the key u"),
    (SODA | {"limits": {"mL_a_day": 3.0}}, "Is “mL_per_day” meant"),
    (SODA | {"container_L": 0}, "above 0"),
    (SODA | {"container_L": 10**400}, "a number"),
    (SODA | {"keep_apart": "calcium"}, "list of texts"),
    ({"recipe": []}, "list of salts"),
    ({"recipe": [{"salt": "calcium chloride", "grams_per_L": 80.0}]}, "0, 2 or 6"),
    ({"recipe": [{"salt": "soda ash", "gramms_per_L": 80.0}]}, "Is “grams_per_L” meant"),
    ({"recipe": [{"salt": "soda ash", "hydrate": 0.5, "grams_per_L": 80.0}]}, "whole number"),
    ({"recipe": [{"salt": "soda ash", "grams_per_L": float("nan")}]}, "a number"),
    (
        {"recipe": [{"salt": "soda ash", "grams_per_L": 9}, {"salt": "strontium chloride",
         "hydrate": 6, "grams_per_L": 9}]},
        "falls out",
    ),
    ({"label": LABEL["label"] | {"unit": "drops"}}, "how many make 1 mL"),
    ({"label": LABEL["label"] | {"unit": "teaspoon"}}, "weigh or measure"),
    ({"label": LABEL["label"] | {"raises": {}}}, "what it raises"),
    ({"label": LABEL["label"] | {"raises": {"alkalinity": 0.5}}}, "a number and a unit"),
    ({"label": LABEL["label"] | {"raises": {"alkalinity": "0,5 dKH"}}}, "write 0.5"),
    ({"label": LABEL["label"] | {"raises": {"calcium": "0.5 dKH"}}}, "unit of alkalinity"),
    ({"label": LABEL["label"] | {"raises": {"alk": "0.5 dKH"}}}, "name of an element"),
    ({"label": LABEL["label"] | {"raises": {"pH": "0.5 pH"}}}, "added in an amount"),
    ({"label": LABEL["label"] | {"raises": {"alkalinity": "-0.5 dKH"}}}, "rise above 0"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "words"), WRONG, ids=[words for _, words in WRONG])
def test_wrong_tables_say_what_and_where(table: dict[str, Any], words: str) -> None:
    with pytest.raises((InputError, NumberError, UnitError)) as caught:
        supplement_from_table("mix", table, "supplements.toml")
    assert words in str(caught.value)
    assert str(caught.value).startswith("supplements.toml, supplement.mix")


@pytest.mark.parametrize(
    ("unit", "words"),
    [("drops", "1 mL"), ("spoon", "weigh"), ("g", "a mL is not a gram"), ("oz", "one of these")],
)
def test_units_of_an_amount(unit: str, words: str) -> None:
    with pytest.raises(UnitError, match=words):
        level_rise(Supplement("x", {"calcium": 1.0}), 1.0, unit, "calcium", 100.0, "mg/L")


@pytest.mark.parametrize(("amount", "litres"), [(-1.0, 100.0), (1.0, 0.0), (float("nan"), 100.0)])
def test_impossible_amounts(amount: float, litres: float) -> None:
    with pytest.raises(InputError):
        level_rise(Supplement("x", {"calcium": 1.0}), amount, "mL", "calcium", litres, "mg/L")


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.floats(0.01, 500.0), st.floats(10.0, 1e5), st.floats(0.1, 10.0))
def test_a_rise_scales(amount: float, litres: float, factor: float) -> None:
    stock = Supplement("x", {"calcium": 35.0})
    once = level_rise(stock, amount, "mL", "calcium", litres, "mg/L")
    both = level_rise(stock, amount * factor, "mL", "calcium", litres * factor, "mg/L")
    assert both == pytest.approx(once, rel=1e-12)
