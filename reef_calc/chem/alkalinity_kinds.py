"""What carries the alkalinity of a supplement: bicarbonate, carbonate, hydroxide, borate, or later.

The same rise of alkalinity moves pH by very different amounts, because each carrier brings a
different amount of carbon with it.
"""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.chem.salts import salts
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Supplement

KINDS = ("bicarbonate", "carbonate", "hydroxide", "borate", "delayed")
# Inorganic carbon that comes with one equivalent, by the formulas of the anions; an organic acid
# brings none at once, and neither does its alkalinity count yet.
CARBON_PER_EQUIVALENT = {
    "bicarbonate": 1.0,
    "carbonate": 0.5,
    "hydroxide": 0.0,
    "borate": 0.0,
}


@dataclass(frozen=True)
class AlkalinityShares:
    """What one mL (or gram) adds to the carbonate system, by carrier.

    Attributes
    ----------
    meq : dict of str to float
        Alkalinity of each kind (meq); only what is there.
    calcium_mg : float
        Calcium that comes along (mg).
    boron_mg : float
        Boron that comes along (mg).
    """

    meq: dict[str, float]
    calcium_mg: float
    boron_mg: float

    @property
    def at_once_meq(self) -> float:
        """Alkalinity that is there as soon as it is mixed (meq)."""
        return sum(amount for kind, amount in self.meq.items() if kind != "delayed")

    @property
    def carbon_mmol(self) -> float:
        """Inorganic carbon that comes along at once (mmol)."""
        return sum(
            amount * CARBON_PER_EQUIVALENT[kind]
            for kind, amount in self.meq.items()
            if kind != "delayed"
        )


def alkalinity_shares(supplement: Supplement) -> AlkalinityShares | None:
    """Return what carries the alkalinity of a supplement.

    Parameters
    ----------
    supplement : Supplement
        With its recipe.

    Returns
    -------
    AlkalinityShares or None
        By carrier (meq per mL or gram); None where alkalinity is added and only a label is known.

    Examples
    --------
    >>> from reef_calc.chem.supplements import supplement_from_table
    >>> both = supplement_from_table("both", {"recipe": [
    ...     {"salt": "sodium hydrogen carbonate", "grams_per_L": 42.0},
    ...     {"salt": "soda ash", "hydrate": 0, "grams_per_L": 53.0}]})
    >>> {kind: round(meq, 3) for kind, meq in alkalinity_shares(both).meq.items()}
    {'bicarbonate': 0.5, 'carbonate': 1.0}
    """
    calcium = supplement.adds.get("calcium", 0.0)
    boron = supplement.adds.get("boron", 0.0)
    if not supplement.recipe:
        if supplement.adds.get("alkalinity", 0.0) != 0.0:
            return None
        return AlkalinityShares({}, calcium, boron)
    meq: dict[str, float] = {}
    for line in supplement.recipe:
        per_gram = adds_per_gram(line.salt, hydrate=line.hydrate, assay=line.assay)
        amount = per_gram.get("alkalinity", 0.0) * line.grams_per_L / 1000.0
        if amount:
            kind = _carrier(line.salt)
            meq[kind] = meq.get(kind, 0.0) + amount
    return AlkalinityShares(meq, calcium, boron)


def _carrier(salt: str) -> str:
    """Return what carries the alkalinity of a salt of the list."""
    found = salts()[salt]
    if found.delayed_alkalinity:
        return "delayed"
    for word, kind in (("hydrogen carbonate", "bicarbonate"), ("carbonate", "carbonate"),
                       ("hydroxide", "hydroxide")):  # fmt: skip
        if word in found.salt:
            return kind
    return "borate"


def alkalinity_kind(supplement: Supplement) -> str:
    """Return which kind of alkalinity a supplement adds.

    Parameters
    ----------
    supplement : Supplement
        What is dosed.

    Returns
    -------
    str
        "none", "bicarbonate", "carbonate", "hydroxide", "borate", "delayed", "mixed", or
        "not known" where alkalinity is added and only a label is known.

    Examples
    --------
    >>> alkalinity_kind(Supplement("bottle", {"alkalinity": 1.0}))
    'not known'
    >>> alkalinity_kind(Supplement("calcium", {"calcium": 35.0}))
    'none'
    """
    shares = alkalinity_shares(supplement)
    if shares is None:
        return "not known"
    kinds = [kind for kind, amount in shares.meq.items() if amount > 0.0]
    if not kinds:
        return "none"
    return kinds[0] if len(kinds) == 1 else "mixed"
