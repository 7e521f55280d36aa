"""The element that a heading or a cell names, in the languages of the trade."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.headings import heading_read, role_of_words
from reef_calc.log.foreign.names import (
    element_named,
    named_in,
    species_named,
    suggested,
    wrong_friend,
)
from reef_calc.log.foreign.plain_words import plain

# Names of the elements as dictionaries give them (MEMORY), German to Danish.
LANGUAGES = [
    (
        "alkalinity",
        "Karbonathärte Alcalinité Alcalinidad Alcalinità Alkaliteit Zasadowość Alkalinitet",
    ),
    ("calcium", "Kalzium Calcium Calcio Cálcio Wapń Kalsium CA ca Ca²⁺ Ca2+"),
    ("magnesium", "Magnesium Magnésium Magnesio Magnésio Magnez MG Mg²⁺"),
    ("potassium", "Kalium Potassium Potasio Potassio Potas K k K+"),
    ("nitrate", "Nitrat Nitrates Nitrato Nitrati Nitraat Azotany NO3 NO₃ NO₃⁻ no3"),
    ("phosphate", "Phosphat Phosphates Fosfato Fosfati Fosfaat Fosforany Fosfat PO4 PO₄ PO₄³⁻"),
    ("salinity", "Salinität Salinité Salinidad Salinità Saliniteit Zasolenie Salinitet SG Dichte"),
    ("temperature", "Temp Temperatur Température Temperatura Temperatuur TEMP. temp"),
    ("iodine", "Jod Iode Yodo Iodio Jodium I"),
]


@pytest.mark.parametrize(
    ("name", "word"), [(name, word) for name, words in LANGUAGES for word in words.split()]
)
def test_every_language(name: str, word: str) -> None:
    assert element_named(word) == name
    assert heading_read(word).named.element == name


@pytest.mark.parametrize("name", list(ELEMENTS))
def test_own_names_are_known(name: str) -> None:
    assert element_named(name) == name


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("Ca (mg/L)", "calcium", "mg/L"),
        ("mg/L Ca", "calcium", "mg/L"),
        ("Ca / ppm", "calcium", "ppm"),
        ("Ca (mg·L⁻¹)", "calcium", "mg·L⁻¹"),
        ("KH [°dKH]", "alkalinity", "°dKH"),
        ("Alk_dKH", "alkalinity", "dKH"),
        ("dKH", "alkalinity", "dKH"),
        ("Alkalinity (mg/L CaCO3)", "alkalinity", "mg/L as CaCO3"),
        ("Temp. [C]", "temperature", "C"),
        ("SG 25/25", "salinity", "SG 25/25"),
        ("Leitfähigkeit mS/cm", "salinity", "mS/cm"),
        ("Iodine µg/L", "iodine", "µg/L"),
        ("Iodine μg/L", "iodine", "μg/L"),
    ],
)
def test_order_brackets_and_dots_do_not_matter(heading: str, name: str, unit: str) -> None:
    read = heading_read(heading)
    assert (read.named.element, read.unit_text, read.named.rest) == (name, unit, "")


@pytest.mark.parametrize(
    ("text", "species"),
    [
        ("NO3-N", "NO3-N"),
        ("Nitrat-N", "NO3-N"),
        ("PO4-P", "PO4-P"),
        ("P", "P"),
        ("NH4", "NH4"),
        ("Si", "Si"),
        ("SG", "SG"),
        ("PO4", ""),
        ("NO3", ""),
    ],
)
def test_the_substance_that_is_weighed_is_not_lost(text: str, species: str) -> None:
    assert species_named(text) == species


@pytest.mark.parametrize(
    "text", ["GH", "TDS", "ORP", "Redox", "CO2", "Gesamthärte", "RO TDS", "O2"]
)
def test_wrong_friends_are_no_levels(text: str) -> None:
    assert wrong_friend(text)
    assert element_named(text) == ""


@pytest.mark.parametrize("text", ["KH", "K", "P", "Temp", "TA", "Cl"])
def test_right_ones_are_no_wrong_friends(text: str) -> None:
    assert wrong_friend(text) == ""


@pytest.mark.parametrize("text", ["Ca/Mg", "N", "Total", "kit B", "NA", "Calcuim", "", "Ca ratio"])
def test_what_names_no_single_element_is_not_taken(text: str) -> None:
    assert element_named(text) in ("", "sodium" if text == "NA" else "")


def test_symbols_of_the_periodic_table() -> None:
    assert [element_named(one) for one in ("Fe", "Al", "Ta", "In", "S", "Iron", "Kupfer")] == [
        "Fe", "Al", "Ta", "In", "S", "Fe", "Cu"
    ]  # fmt: skip
    assert element_named("Ca (calcium)") == "calcium"


def test_a_slip_is_offered_and_never_taken() -> None:
    assert suggested("Magnesum") == "magnesium"
    assert named_in("Magnesum").element == ""


@pytest.mark.parametrize(
    ("heading", "role"),
    [
        ("Datum", "date"),
        ("Fecha", "date"),
        ("Test date", "date"),
        ("Uhrzeit", "time"),
        ("Charge", "lot"),
        ("Lot no.", "lot"),
        ("Bemerkungen", "note"),
        ("Einheit", "unit"),
        ("Messwert", "value"),
        ("Wasserwechsel", "litres"),
        ("Menge", "amount"),
        ("Becken", "tank"),
        ("moonphase", ""),
    ],
)
def test_roles(heading: str, role: str) -> None:
    assert role_of_words(plain(heading)) == role


@given(st.text(max_size=40))
@settings(max_examples=50, deadline=None)
def test_any_text_is_a_heading_or_a_cell(text: str) -> None:
    read = heading_read(text)
    assert (
        read.named.element == "" or read.named.element in ELEMENTS or len(read.named.element) <= 2
    )
    assert isinstance(element_named(text), str)
    assert plain(plain(text)) == plain(text)
