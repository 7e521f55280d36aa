"""The cautions that do not hang on a salt: what every plan needs, and what ways of working do.

Own wording of common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

PLACES = (
    "emergencies", "making up", "dosing", "electricity", "containers", "animals", "disposal",
)  # fmt: skip
# Grave: can maim or kill a person within minutes. Then what can harm people, then the tank.
GRAVE, SERIOUS, TANK = 0, 1, 2
ALWAYS = "every plan"


@dataclass(frozen=True)
class Caution:
    """One caution.

    Attributes
    ----------
    where : str
        One of ``PLACES``.
    text : str
        What to do, in plain words.
    because : str
        What in the plan calls for it.
    """

    where: str
    text: str
    because: str


# How grave, where, and the caution.
ALWAYS_ROWS: tuple[tuple[int, str, str], ...] = (
    (
        GRAVE,
        "emergencies",
        "Swallowed, or splashed into an eye: rinse an eye with running water at once, do not "
        "make anyone vomit, and call the poison centre or the emergency number with the label "
        "in hand. Write both numbers by the tank before you start.",
    ),
    (
        GRAVE,
        "electricity",
        "Unplug pumps, heaters and lights before hands go into the water. Drip loops on every "
        "cable, sockets above the water line, a residual-current device on the supply. Tingling, "
        "a tripped device or a wet plug: hands out, power off at the board with dry hands, and an "
        "electrician.",
    ),
    (
        SERIOUS,
        "making up",
        "The label and the safety data sheet in hand decide, also against what stands here. "
        "Gloves and eye protection, also for the reagents of test kits. Never mix what is not "
        "meant to be mixed.",
    ),
    (
        SERIOUS,
        "containers",
        "Label every container: what, how strong, made when, hazard. Never a bottle or cup for "
        "food or drink; closed, upright, out of reach of children and pets, apart from food.",
    ),
    (
        SERIOUS,
        "containers",
        "Acid for cleaning, vinegar too: gloves and goggles, acid slowly into water, pump or heater "
        "unplugged and out of the tank, then rinsed well. Never with bleach, which gives off "
        "chlorine, nor with hydroxide.",
    ),
    (
        SERIOUS,
        "animals",
        "Some soft corals carry strong poisons: gloves and goggles, no wet work with open cuts, "
        "and never scrub, scrape dry, boil or bake rock with them on it. Unwell afterwards, or a "
        "wound that reddens: see a doctor and say what you handled.",
    ),
    (
        SERIOUS,
        "disposal",
        "Dispose of leftovers and reagents as the label and the local rules say; ask the local "
        "collection point if in doubt. None of this is for drinking water.",
    ),
    (
        TANK,
        "dosing",
        "Stay with the tank for the first dose of a new amount or container, and look at pump, "
        "hose and animals again within hours.",
    ),
    (
        TANK,
        "dosing",
        "Cloudy water, or a crust on heaters and pumps: stop dosing first, then test.",
    ),
    (
        TANK,
        "animals",
        "Animals that suffer, or die without a clear reason: stop dosing, and ask a veterinarian "
        "who knows fish or invertebrates.",
    ),
)

# On which way of working, how grave, where, why, and the caution.
WAYS_ROWS: tuple[tuple[str, int, str, str, str], ...] = (
    (
        "reactor", GRAVE, "making up", "calcium reactor",
        "Carbon dioxide in a closed room can suffocate without warning: air the room and "
        "cupboard, and leave at once when breath or head feels odd. Bottle upright and chained, "
        "valve shut for carrying, regulator made for the gas and checked for leaks; a qualified "
        "person for anything wrong with bottle or regulator.",
    ),
    (
        "reactor", TANK, "dosing", "calcium reactor",
        "A stuck gas valve lowers pH in the whole tank: look at bubbles, flow and pH every day.",
    ),
    (
        "acids", GRAVE, "making up", "acid",
        "Acid slowly into water, never water into acid; goggles, gloves, fresh air. Never with "
        "bleach, which gives off chlorine, nor with hydroxide, nor with sulfides.",
    ),
    (
        "acids", SERIOUS, "disposal", "acid",
        "Clean pumps and heaters with acid unplugged and outside the tank, rinse them well, and "
        "let nothing of it reach the animals.",
    ),
    (
        "carbon_dosing", GRAVE, "containers", "alcohol or vinegar",
        "Alcohol burns, its vapour too: closed, cool, away from flames, heaters and sparks, and "
        "locked away from children.",
    ),
    (
        "carbon_dosing", TANK, "dosing", "alcohol or vinegar",
        "It takes oxygen, most at night: begin small, raise slowly, air the water strongly. "
        "Vinegar lowers alkalinity before bacteria bring it back: do not correct that dip.",
    ),
    (
        "surprising", TANK, "dosing", "a value that was not expected",
        "Test again before you correct, with another kit or a standard if there is one. Until "
        "then give at most half of the computed correction.",
    ),
)  # fmt: skip
