"""Every caution appears where its condition is met, and only there."""

from __future__ import annotations

import pytest

from reef_calc.chem.inflow_supplement import inflow_supplement
from reef_calc.chem.salts import salts
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.plan.caution_texts import ALWAYS, PLACES
from reef_calc.plan.cautions import Caution, cautions_for


def stock(*names: str) -> Supplement:
    """A container with a little of each salt."""
    recipe = [
        {"salt": salts()[name].salt, "hydrate": salts()[name].hydrate, "grams_per_L": 1.0}
        for name in names
    ]
    return supplement_from_table(names[0], {"recipe": recipe})


def texts(found: tuple[Caution, ...], where: str = "") -> str:
    """All texts of one place in one string."""
    return " ".join(one.text for one in found if where in ("", one.where))


def test_every_plan() -> None:
    found = cautions_for([])
    assert {one.because for one in found} == {ALWAYS}
    assert found[0].where == "emergencies"
    for words, where in (
        ("poison centre", "emergencies"),
        ("Unplug", "electricity"),
        ("residual-current", "electricity"),
        ("Drip loops", "electricity"),
        ("electrician", "electricity"),
        ("safety data sheet", "making up"),
        ("test kits", "making up"),
        ("Label every container", "containers"),
        ("children and pets", "containers"),
        ("goggles", "animals"),
        ("see a doctor", "animals"),
        ("veterinarian", "animals"),
        ("bleach", "containers"),
        ("local rules", "disposal"),
        ("drinking water", "disposal"),
        ("first dose", "dosing"),
        ("stop dosing first", "dosing"),
    ):
        assert words in texts(found, where), words


@pytest.mark.parametrize(
    ("salt", "words"),
    [
        (
            "sodium hydroxide",
            ("slowly into plenty of cold water", "aluminium", "with acid", "dust"),
        ),
        ("calcium hydroxide", ("clear part only", "never water onto the solid", "dust")),
        ("sodium carbonate anhydrous", ("dust", "foams")),
        ("sodium hydrogen carbonate", ("foams",)),
        ("calcium chloride dihydrate", ("slowly into cold water",)),
        ("calcium formate", ("use oxygen", "close-fitting goggles")),
        ("calcium acetate anhydrous", ("use oxygen",)),
        ("strontium chloride hexahydrate", ("close-fitting goggles",)),
        ("potassium nitrate", ("feeds fire", "who can buy", "Swallowing some grams")),
        ("sodium nitrate", ("feeds fire", "who can buy")),
        ("potassium iodide", ("decimal point", "poisonous vapour")),
        ("potassium bromide", ("poisonous vapour",)),
        ("potassium dihydrogen phosphate", ("decimal point",)),
        ("boric acid", ("not for households",)),
        ("sodium tetraborate decahydrate", ("not for households",)),
    ],
)
def test_what_a_salt_calls_for(salt: str, words: tuple[str, ...]) -> None:
    found = cautions_for([stock(salt)])
    for word in words:
        (one,) = [one for one in found if word in one.text]
        assert one.because == salt
        assert word not in texts(cautions_for([stock("sodium chloride")]))


def test_hazardous_salts_all_have_their_caution() -> None:
    """No salt that the list calls hazardous passes with the general cautions only."""
    general = {one.text for one in cautions_for([stock("sodium chloride")])}
    for name, salt in salts().items():
        own = {one.text for one in cautions_for([stock(name)])} - general
        assert bool(own) or salt.hazard == "not classified", name


def test_limewater_without_a_recipe() -> None:
    assert "Limewater" in texts(cautions_for([], limewater=True))
    both = cautions_for([stock("calcium hydroxide")], limewater=True)
    assert sum("Limewater" in one.text for one in both) == 1


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ("reactor", ("suffocate", "regulator", "air the room")),
        ("acids", ("never water into acid", "bleach", "hydroxide", "outside the tank")),
        ("carbon_dosing", ("burns", "takes oxygen", "lowers alkalinity before")),
        ("surprising", ("Test again", "half of the computed correction")),
    ],
)
def test_ways_of_working(way: str, words: tuple[str, ...]) -> None:
    found, without = texts(cautions_for([], **{way: True})), texts(cautions_for([]))
    for word in words:
        assert word in found
    assert found != without


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Calcium reactor", "suffocate"),
        ("vinegar 5 %", "burns"),
        ("Ethanol", "burns"),
        ("hydrochloric acid", "never water into acid"),
        ("white vinegar", "never water into acid"),
    ],
)
def test_a_name_gives_the_way_of_working_away(name: str, words: str) -> None:
    assert words in texts(cautions_for([Supplement(name, {"calcium": 1.0})]))


def test_a_reactor_by_its_gas_bottle_and_names_that_mean_nothing() -> None:
    inflow = inflow_supplement(
        "effluent", {"alkalinity": (28.0, "dKH")}, {"alkalinity": (8.0, "dKH")}
    )
    assert "suffocate" in texts(cautions_for([inflow]))
    for name in ("amino acid", "placid", "reactors' friend", "alcoholic"):
        found = texts(cautions_for([Supplement(name, {"calcium": 1.0})]))
        assert not any(w in found for w in ("suffocate", "Alcohol burns", "never water into acid"))


def test_a_hydrate_that_cools_is_not_said_to_get_hot() -> None:
    cool = texts(cautions_for([stock("calcium chloride hexahydrate")]))
    assert "gets hot" not in cool and "It irritates eyes" in cool
    assert "gets hot" in texts(cautions_for([stock("calcium chloride anhydrous")]))


def test_two_containers_and_labels() -> None:
    one, other = stock("sodium carbonate anhydrous"), stock("calcium chloride dihydrate")
    assert "together" not in texts(cautions_for([one]), "containers")
    assert "Never pour two containers" in texts(cautions_for([one, other]), "containers")
    bottle = Supplement("bottle", {"alkalinity": 1.0})
    assert "treat it as caustic" in texts(cautions_for([bottle]))
    assert "treat it as caustic" not in texts(cautions_for([Supplement("b", {"calcium": 1.0})]))


def test_gravest_first_and_no_two_alike() -> None:
    everything = [stock(name) for name in salts()]
    found = cautions_for(
        everything, limewater=True, reactor=True, acids=True, carbon_dosing=True, surprising=True
    )
    assert {one.where for one in found} == set(PLACES)
    assert len({(one.where, one.text) for one in found}) == len(found)
    order = [one.text for one in found]
    blinding = next(i for i, text in enumerate(order) if "blinds" in text)
    oxygen = next(i for i, text in enumerate(order) if "takes oxygen" in text)
    assert blinding < oxygen
    for one in found:
        assert one.text.endswith(".") and one.because
