"""The salts of the shelf: water of crystallisation, solubility, hazard, what to keep away."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from reef_calc.chem.formulas import molar_mass
from reef_calc.errors import InputError

LABEL_FIRST = (
    "The label and the safety data sheet in hand come first; then local rules and a qualified "
    "person. Gloves and eye protection."
)


@dataclass(frozen=True)
class Salt:
    """One salt with its water of crystallisation.

    Attributes
    ----------
    name : str
        Full name, such as "calcium chloride dihydrate".
    salt : str
        Name without the water.
    formula : str
        Formula without the water.
    hydrate : int
        Molecules of water per formula.
    other_names : tuple of str
        Other general words of the trade.
    mass_percent_20C, mass_percent_25C : float or None
        Salt without its water in a saturated solution (g per 100 g of solution).
    anhydrous_g_per_100g_water_20C, as_sold_g_per_100g_water_20C : float or None
        Saturation at 20 °C (g per 100 g of water in all, g as sold per 100 g of added water).
    solubility_status : str
        Where the saturation comes from: PUBLISHED, MEMORY or "not known".
    delayed_alkalinity : bool
        Whether the alkalinity appears only after bacteria have oxidised the salt.
    assay_note, hazard : str
        In plain words.
    hazard_status : str
        PUBLISHED or MEMORY.
    never_with : tuple of str
        What must not come into the same container.
    """

    name: str
    salt: str
    formula: str
    hydrate: int
    other_names: tuple[str, ...]
    mass_percent_20C: float | None
    mass_percent_25C: float | None
    anhydrous_g_per_100g_water_20C: float | None
    as_sold_g_per_100g_water_20C: float | None
    solubility_status: str
    delayed_alkalinity: bool
    assay_note: str
    hazard: str
    hazard_status: str
    never_with: tuple[str, ...]

    @property
    def full_formula(self) -> str:
        """Formula with the water of crystallisation."""
        return f"{self.formula}.{self.hydrate}H2O" if self.hydrate else self.formula

    @property
    def anhydrous_fraction(self) -> float:
        """Share of the mass that is salt and not water of crystallisation (no unit)."""
        return molar_mass(self.formula) / molar_mass(self.full_formula)


@cache
def salts() -> dict[str, Salt]:
    """Return the salts of the data file by their full name.

    Returns
    -------
    dict of str to Salt
        In the order of the file.

    Examples
    --------
    >>> salts()["sodium carbonate decahydrate"].full_formula
    'Na2CO3.10H2O'
    """
    path = files("reef_calc.chem") / "data" / "salts.csv"
    found = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        found[row["name"]] = Salt(
            row["name"],
            row["salt"],
            row["formula"],
            int(row["hydrate"]),
            _split(row["other_names"]),
            _optional(row["mass_percent_20C"]),
            _optional(row["mass_percent_25C"]),
            _optional(row["anhydrous_g_per_100g_water_20C"]),
            _optional(row["as_sold_g_per_100g_water_20C"]),
            row["solubility_status"],
            row["delayed_alkalinity"] == "yes",
            row["assay_note"],
            row["hazard"],
            row["hazard_status"],
            _split(row["never_with"]),
        )
    return found


def _split(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";") if part.strip())


def _optional(text: str) -> float | None:
    return float(text) if text else None


def find_salt(name: str, hydrate: int | None = None, where: str = "") -> Salt:
    """Return the one salt that a name and its water of crystallisation stand for.

    Parameters
    ----------
    name : str
        Full name, name without the water, or another general word of the trade.
    hydrate : int, optional
        Molecules of water per formula; needed where the salt is sold with different amounts.
    where : str, optional
        File and table, for the message.

    Returns
    -------
    Salt
        The salt.

    Raises
    ------
    InputError
        If the name is not known, the water must be stated, or the two contradict each other.

    Examples
    --------
    >>> find_salt("calcium chloride", 2).name
    'calcium chloride dihydrate'
    >>> find_salt("calcium chloride")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: needed the water of crystallisation of calcium chloride (0, 2 or
    6), given “nothing”. Look at the formula on the label and write hydrate = 0, 2 or 6.
    """
    word = " ".join(str(name).split()).casefold()
    named = [
        salt
        for salt in salts().values()
        if word in (salt.name, salt.salt, *(other.casefold() for other in salt.other_names))
    ]
    if not named:
        known = ", ".join(dict.fromkeys(salt.salt for salt in salts().values()))
        raise InputError(
            f"a salt of the list ({known})",
            name,
            "Write one of these, or use a label instead.",
            where,
        )
    fitting = [salt for salt in named if hydrate is None or salt.hydrate == hydrate]
    if len(fitting) == 1:
        return fitting[0]
    choices = _or([str(salt.hydrate) for salt in named])
    raise InputError(
        f"the water of crystallisation of {named[0].salt} ({choices})",
        "nothing" if hydrate is None else str(hydrate),
        f"Look at the formula on the label and write hydrate = {choices}.",
        where,
    )


def _or(words: list[str]) -> str:
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
