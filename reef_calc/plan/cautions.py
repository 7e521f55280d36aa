"""The cautions that belong to a plan, each with its place and the reason it is shown."""

from __future__ import annotations

import re
from collections.abc import Sequence

from reef_calc.chem.formulas import atom_counts
from reef_calc.chem.inflow_supplement import GAS_BOTTLE
from reef_calc.chem.salts import Salt, salts
from reef_calc.chem.supplements import Supplement
from reef_calc.plan.caution_texts import (
    ALWAYS,
    ALWAYS_ROWS,
    GRAVE,
    PLACES,
    SERIOUS,
    TANK,
    WAYS_ROWS,
    Caution,
)

# Ways of working that the name of what is dosed gives away, in general words.
_NAMED = {
    "reactor": re.compile(r"\breactor\b", re.IGNORECASE),
    "acids": re.compile(r"(?<!amino )\bacid\b|muriatic|\bvinegar\b", re.IGNORECASE),
    "carbon_dosing": re.compile(
        r"\b(vinegar|alcohol|ethanol|spirit|vodka|carbon (dosing|source))\b|acetic", re.IGNORECASE
    ),
}


def cautions_for(
    supplements: Sequence[Supplement],
    *,
    limewater: bool = False,
    reactor: bool = False,
    acids: bool = False,
    carbon_dosing: bool = False,
    surprising: bool = False,
) -> tuple[Caution, ...]:
    """Return the cautions of a plan, the gravest first.

    Parameters
    ----------
    supplements : sequence of Supplement
        What the plan doses, with recipes where they are known.
    limewater : bool, optional
        Whether limewater is made or given.
    reactor : bool, optional
        Whether a calcium reactor with pressurised carbon dioxide runs.
    acids : bool, optional
        Whether acid is used, for cleaning or otherwise.
    carbon_dosing : bool, optional
        Whether alcohol or vinegar is dosed.
    surprising : bool, optional
        Whether the plan follows a value that was not expected.

    Returns
    -------
    tuple of Caution
        Gravest first; the label and the safety data sheet in hand go before all of them.

    Notes
    -----
    A reactor, an acid, alcohol or vinegar are also found by the names of what is dosed. Own wording
    of what is common practice, no source. No advice for a particular case: a poison
    centre, physician, veterinarian or electrician gives that.

    Examples
    --------
    >>> found = cautions_for([], reactor=True)
    >>> found[0].where, found[0].because
    ('emergencies', 'every plan')
    >>> any("suffocate" in one.text for one in found)
    True
    """
    ways = {
        "reactor": reactor,
        "acids": acids,
        "carbon_dosing": carbon_dosing,
        "surprising": surprising,
    }
    for way, words in _NAMED.items():
        ways[way] |= any(words.search(one.name) for one in supplements)
    ways["reactor"] |= any(GAS_BOTTLE in text for one in supplements for text in one.hazards)
    found = [
        *((rank, Caution(where, text, ALWAYS)) for rank, where, text in ALWAYS_ROWS),
        *_about_salts(supplements, limewater),
        *_about_labels(supplements),
        *(
            (rank, Caution(where, text, because))
            for way, rank, where, because, text in WAYS_ROWS
            if ways[way]
        ),
    ]
    order = sorted(found, key=lambda pair: (pair[0], PLACES.index(pair[1].where)))
    return tuple(caution for _, caution in order)


Ranked = tuple[int, Caution]


def _about_salts(supplements: Sequence[Supplement], limewater: bool) -> list[Ranked]:
    """Return what the salts of the recipes call for."""
    shelf = {line.salt: salts()[line.salt] for one in supplements for line in one.recipe}
    present = list(shelf.values())
    if limewater and "calcium hydroxide" not in shelf:
        present.append(salts()["calcium hydroxide"])
    found: list[Ranked] = []

    def add(rank: int, where: str, text: str, those: list[Salt]) -> None:
        if those:
            found.append((rank, Caution(where, text, ", ".join(salt.name for salt in those))))

    def called(*words: str) -> list[Salt]:
        return [salt for salt in present if any(word in salt.salt for word in words)]

    caustic = called("hydroxide")
    lye, lime = called("sodium hydroxide"), called("calcium hydroxide")
    nitrates, boron = (
        [salt for salt in present if atom in atom_counts(salt.formula)] for atom in ("N", "B")
    )
    add(
        GRAVE,
        "making up",
        "Caustic: it blinds and burns. Goggles that close all round, gloves, long sleeves, running "
        "water within reach, nobody else near. The solid slowly into plenty of cold water while "
        "stirring; never water onto the solid.",
        caustic,
    )
    add(
        GRAVE,
        "making up",
        "It gets very hot when dissolving and eats aluminium, zinc and tin, giving off hydrogen gas "
        "that burns: heat-proof plastic only, small portions, let it cool before it is closed.",
        lye,
    )
    add(
        GRAVE,
        "containers",
        "Never together with acid: heat and spray. Never with ammonium salts either, which give off "
        "ammonia.",
        caustic,
    )
    add(
        SERIOUS,
        "dosing",
        "Hydroxide moves pH the most of all: slowly, into strong flow, on a pump or drip that cannot "
        "stick open, with no more in reach of it than the tank could bear at once.",
        caustic,
    )
    add(
        SERIOUS,
        "making up",
        "Limewater looks like water and is caustic. Let it settle, give the clear part only, and "
        "close it: air makes it weaker.",
        lime,
    )
    dusty = [*caustic, *(s for s in called("carbonate") if "hydrogen" not in s.salt)]
    add(
        SERIOUS,
        "making up",
        "The dust irritates eyes and airways: weigh it out of the wind, pour low and slowly, do not "
        "breathe it in.",
        dusty,
    )
    add(
        SERIOUS,
        "making up",
        "It gets hot when it dissolves and irritates eyes: gloves and eye protection, the salt slowly "
        "into cold water, an open container until it has cooled.",
        [salt for salt in called("calcium chloride") if salt.hydrate < 6],
    )
    add(
        SERIOUS,
        "making up",
        "It can damage eyes lastingly: close-fitting goggles and gloves.",
        called("strontium chloride", "calcium formate"),
    )
    add(
        SERIOUS,
        "making up",
        "It irritates eyes: gloves and eye protection.",
        [
            salt
            for salt in present
            if salt.salt in ("calcium acetate", "potassium bromide", "sodium nitrate")
            or salt.name == "calcium chloride hexahydrate"
        ],
    )
    add(
        SERIOUS,
        "making up",
        "An oxidiser that feeds fire: away from heat, paper, wood, alcohol, sugar, sulfur and other "
        "powders.",
        nitrates,
    )
    add(
        SERIOUS,
        "disposal",
        "Local rules may limit who can buy and keep it, and how it is thrown away: ask before you "
        "order.",
        nitrates,
    )
    add(
        GRAVE,
        "making up",
        "It may damage fertility and an unborn child and is not for households: leave it to a "
        "qualified person.",
        boron,
    )
    add(
        SERIOUS,
        "making up",
        "So little of it is needed that a slip of the decimal point is a gross overdose. Weigh a stock, "
        "dilute it, and have a second person work it out.",
        called("iodide", "phosphate"),
    )
    add(
        SERIOUS,
        "containers",
        "Acids and oxidisers set free a poisonous vapour from it: keep them apart.",
        called("iodide", "bromide"),
    )
    add(
        SERIOUS,
        "containers",
        "Swallowing some grams of it is dangerous: keep it from children and pets.",
        called("potassium"),
    )
    add(
        TANK,
        "dosing",
        "Bacteria turn it into alkalinity later and use oxygen for it: strong aeration, also at "
        "night, and no catching up when the level does not rise at once.",
        [salt for salt in present if salt.delayed_alkalinity],
    )
    add(
        SERIOUS,
        "making up",
        "With acid it foams and gives off carbon dioxide: keep the two apart.",
        called("carbonate"),
    )
    return found


def _about_labels(supplements: Sequence[Supplement]) -> list[Ranked]:
    """Return what unknown contents and more than one container call for."""
    found: list[Ranked] = []
    unknown = [one for one in supplements if not one.recipe]
    raising = [one.name for one in unknown if one.adds.get("alkalinity", 0.0) > 0.0]
    if raising:
        text = (
            "What it is made of is not written: treat it as caustic (goggles, gloves) until its "
            "safety data sheet says otherwise."
        )
        found.append((SERIOUS, Caution("making up", text, ", ".join(raising))))
    others = [one.name for one in unknown if one.name not in raising]
    if others:
        text = (
            "What it is made of is not written: read its safety data sheet before the first dose."
        )
        found.append((SERIOUS, Caution("making up", text, ", ".join(others))))
    if len(supplements) > 1:
        names = ", ".join(one.name for one in supplements)
        text = (
            "Never pour two containers, their rinsings or their hoses together, and never let two run "
            "in at the same place. Keep to the times of the plan: half an hour, and strong flow, "
            "between those that fall out together."
        )
        found.append((SERIOUS, Caution("containers", text, names)))
    if supplements:
        text = (
            "Fix every hose against slipping and siphoning, its end above the water, and keep within "
            "reach of a pump no more than the tank could bear if it all ran in."
        )
        because = ", ".join(one.name for one in supplements)
        found.append((TANK, Caution("dosing", text, because)))
    return found
