"""The salt a supplement brings into the water, and what of it stays there."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.supplements import Supplement

# Where the alkalinity is not named by a recipe, and in the sum of salt: alkalinity in balance with
# air is nearly all bicarbonate, whatever it was dosed as.
CARRIER = "HCO3"
# What skeletons and life take up again is no residue.
TAKEN_UP = ("calcium", "strontium", "nitrate", "phosphate", "ammonia", "nitrite", "silicate")
_NOT_SALT = ("alkalinity",)
_CHARGES = {
    "calcium": (2, "Ca"), "magnesium": (2, "Mg"), "strontium": (2, "Sr"), "potassium": (1, "K"),
    "sodium": (1, "Na"), "chloride": (-1, "Cl"), "sulfate": (-2, "SO4"), "nitrate": (-1, "NO3"),
    "bromide": (-1, "Br"), "fluoride": (-1, "F"), "iodine": (-1, "I"), "phosphate": (-1, "PO4"),
}  # fmt: skip


@dataclass(frozen=True)
class SaltBrought:
    """Salt for one mL (or gram) of a supplement.

    Attributes
    ----------
    whole_mg : float
        All of it once it is in balance with air (mg).
    left_mg : float
        What stays when calcium, strontium, nutrients and alkalinity are taken up again (mg).
    assumed : str
        What was taken because only a label is known, in words; empty otherwise.
    """

    whole_mg: float
    left_mg: float
    assumed: str


def salt_brought(supplement: Supplement) -> SaltBrought:
    """Return the salt one mL or gram brings, and what of it is left over.

    whole = Σ ions + alkalinity·M(HCO3); left = whole without calcium, strontium, nutrients and
    alkalinity: sodium, chloride, sulfate, magnesium, potassium and the rest.

    Parameters
    ----------
    supplement : Supplement
        Strengths in mg or meq per mL or gram.

    Returns
    -------
    SaltBrought
        In mg per mL (or gram).

    Notes
    -----
    A label tells the wanted element alone. What carries it is then taken as sodium with alkalinity
    and chloride with metals, and said. Skeletons take next to no magnesium: all of it counts as left.

    Examples
    --------
    >>> soda = Supplement("soda", {"alkalinity": 1.0, "sodium": 22.99}, recipe=())
    >>> round(salt_brought(soda).whole_mg, 2), round(salt_brought(soda).left_mg, 2)
    (84.01, 22.99)
    >>> salt_brought(Supplement("bottle", {"calcium": 40.078})).assumed
    'Only a label is known of bottle: 70.9 mg of chloride a mL is assumed beside it.'
    """
    adds = dict(supplement.adds)
    alkalinity = adds.get("alkalinity", 0.0)
    assumed = ""
    if not supplement.recipe:
        # mg·z/M is meq: what the named ions leave unbalanced is carried by sodium or by chloride.
        net = -alkalinity + sum(
            adds.get(name, 0.0) * charge / molar_mass(formula)
            for name, (charge, formula) in _CHARGES.items()
        )
        other = "chloride" if net > 0 else "sodium"
        amount = abs(net) * molar_mass("Cl" if net > 0 else "Na")
        if amount > 0.01 * sum(abs(x) for x in adds.values()):
            adds[other] = adds.get(other, 0.0) + amount
            assumed = (
                f"Only a label is known of {supplement.name}: {amount:.3g} mg of {other} a "
                f"{supplement.unit} is assumed beside it."
            )
    ions = {name: mg for name, mg in adds.items() if name not in _NOT_SALT}
    whole = sum(ions.values()) + alkalinity * molar_mass(CARRIER)
    left = sum(mg for name, mg in ions.items() if name not in TAKEN_UP)
    return SaltBrought(whole, left, assumed)
