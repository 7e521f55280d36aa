"""What a gram of a salt adds to the water, the mass for a wanted rise, and what falls out."""

from __future__ import annotations

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.formulas import atom_counts, molar_mass
from reef_calc.chem.salts import Salt, find_salt
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

# Strong ions count their charge whatever the pH; what is left over is carried by carbonate, borate,
# hydroxide or an organic acid that is oxidised: alkalinity. Phosphate counts one at the zero level.
_CHARGES = {
    "Na": 1, "K": 1, "Ca": 2, "Mg": 2, "Sr": 2, "Cl": -1, "Br": -1, "I": -1, "F": -1,
    "N": -1, "S": -2, "P": -1,
}  # fmt: skip

# The atom that stands for each element: one in each of its species.
_ATOMS = {
    "calcium": "Ca", "magnesium": "Mg", "potassium": "K", "strontium": "Sr", "iodine": "I",
    "nitrate": "N", "phosphate": "P", "boron": "B", "bromide": "Br", "fluoride": "F",
    "sulfate": "S", "chloride": "Cl", "sodium": "Na",
}  # fmt: skip

_FALLS_OUT = (
    ("carbonate", ("Ca", "Mg", "Sr"), "carbonate falls out with calcium, magnesium or strontium"),
    ("hydroxide", ("Ca", "Mg", "Sr"), "hydroxide falls out with calcium, magnesium or strontium"),
    ("sulfate", ("Ca", "Sr"), "sulfate falls out with calcium or strontium"),
    ("phosphate", ("Ca", "Mg", "Sr"), "phosphate falls out with calcium, magnesium or strontium"),
)


def _checked_assay(assay: float, where: str) -> float:
    # A hydrate that has lost some of its water holds a little more than its formula says.
    if isinstance(assay, bool) or not isinstance(assay, int | float) or not 0.3 <= assay <= 1.05:
        raise InputError(
            "an assay between 0.3 and 1.05 (share of the mass that is the salt)",
            assay,
            "97 % is written 0.97.",
            where,
        )
    return float(assay)


def adds_per_gram(
    salt: str, *, hydrate: int | None = None, assay: float = 1.0, where: str = ""
) -> dict[str, float]:
    """Return what one gram of a salt as sold adds to the water, for every element of the list.

    amount = assay·1000·n·M(species)/M(salt with its water); alkalinity by the balance of the
    strong ions, assay·1000·(Na + K + 2Ca + 2Mg + 2Sr − Cl − Br − I − F − N − 2S − P)/M.

    Parameters
    ----------
    salt : str
        Name as in ``reef_calc.chem.salts.salts()``, with or without the water.
    hydrate : int, optional
        Molecules of water per formula.
    assay : float
        Share of the mass that is this salt (no unit, 0.3–1.05).
    where : str, optional
        File and table, for the message.

    Returns
    -------
    dict of str to float
        mg per gram (alkalinity: meq per gram) by element; only what is added.

    Raises
    ------
    InputError
        If the salt, its water or the assay cannot be used.

    Notes
    -----
    Impurities are not counted. Formate and acetate give their alkalinity after oxidation only.

    Examples
    --------
    >>> adds = adds_per_gram("calcium chloride", hydrate=2)
    >>> round(adds["calcium"], 2), round(adds["chloride"], 2)
    (272.62, 482.29)
    >>> round(adds_per_gram("soda ash")["alkalinity"], 3)
    18.87

    References
    ----------
    Alkalinity from strong ions: Wolf-Gladrow et al. (2007), Marine Chemistry 106, 287, eq. 32
    (equation number from memory).
    """
    found = find_salt(salt, hydrate, where)
    share = 1000.0 * _checked_assay(assay, where) / molar_mass(found.full_formula)
    atoms = atom_counts(found.formula)
    adds = {"alkalinity": share * sum(_CHARGES.get(atom, 0) * n for atom, n in atoms.items())}
    for name, atom in _ATOMS.items():
        adds[name] = share * atoms.get(atom, 0.0) * molar_mass(ELEMENTS[name].species)
    return {name: amount for name, amount in adds.items() if abs(amount) > 1e-9}


def mass_for(
    salt: str,
    element: str,
    rise: float,
    unit: str,
    net_L: float,
    *,
    hydrate: int | None = None,
    assay: float = 1.0,
    where: str = "",
) -> float:
    """Return the mass of a salt that raises an element by so much.

    m = rise·V/(what a gram adds)

    Parameters
    ----------
    salt : str
        Name as in ``reef_calc.chem.salts.salts()``.
    element : str
        Element to raise.
    rise : float
        Wanted rise in ``unit``, 0 or more.
    unit : str
        Unit of the rise, per litre.
    net_L : float
        Net volume of water (L), above 0.
    hydrate : int, optional
        Molecules of water per formula.
    assay : float
        Share of the mass that is this salt (no unit).
    where : str, optional
        Place of the input, for messages.

    Returns
    -------
    float
        Grams as sold. This is arithmetic only: how fast a level may rise is another question.

    Raises
    ------
    InputError
        If the salt does not add this element, or a number is negative or zero where it cannot be.

    Examples
    --------
    >>> round(mass_for("sodium hydrogen carbonate", "alkalinity", 1.0, "dKH", 100.0), 3)
    2.996

    References
    ----------
    Molar masses as in ``reef_calc.chem.formulas.molar_mass``.
    """
    name = find_element(element, where).name
    per_gram = adds_per_gram(salt, hydrate=hydrate, assay=assay, where=where).get(name, 0.0)
    if per_gram <= 0.0:
        raise InputError(f"a salt that adds {name}", salt, "Choose another salt.", where)
    if not (rise >= 0.0 and 0.0 < net_L < float("inf")):
        raise InputError(
            "a rise of 0 or more and a net volume above 0 L",
            f"{rise!r} {unit}, {net_L!r} L",
            "To lower a level, change water.",
            where,
        )
    return convert(rise, unit, ELEMENTS[name].store_unit, name, where=where) * net_L / per_gram


def clashes(names: list[Salt]) -> tuple[str, ...]:
    """Return why salts must not be dissolved in one container; nothing if they may.

    Parameters
    ----------
    names : list of Salt
        What goes into the container.

    Returns
    -------
    tuple of str
        One sentence for each thing that falls out; empty if none is known.

    Notes
    -----
    Covers what falls out among the salts of the list; ``Salt.never_with`` names the rest in words.

    Examples
    --------
    >>> clashes([find_salt("calcium chloride", 2), find_salt("soda ash")])
    ('carbonate falls out with calcium, magnesium or strontium',)

    References
    ----------
    *Common practice, no source.*
    """

    def meet(anion: str, partners: tuple[str, ...]) -> bool:
        # Metal and anion of one and the same salt, such as lime, are dissolved as far as they go.
        return any(
            anion in one.salt
            and one.salt != other.salt
            and set(partners).intersection(atom_counts(other.formula))
            for one in names
            for other in names
        )

    return tuple(sentence for anion, partners, sentence in _FALLS_OUT if meet(anion, partners))
