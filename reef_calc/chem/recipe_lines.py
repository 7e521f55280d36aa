"""Reading a recipe: the salts of one container, what a mL of it adds, and what to mind."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.chem.salts import Salt, find_salt
from reef_calc.chem.substances import adds_per_gram, clashes
from reef_calc.chem.toml_values import number_in, only_keys, table_in
from reef_calc.errors import InputError


@dataclass(frozen=True)
class RecipeLine:
    """One salt of a recipe.

    Attributes
    ----------
    salt : str
        Full name as in ``reef_calc.chem.salts.salts()``, such as "calcium chloride dihydrate".
    hydrate : int
        Number of waters in its formula.
    assay : float
        Share of the mass that is this salt (no unit).
    grams_per_L : float
        Grams as sold, made up to one litre (g/L).
    """

    salt: str
    hydrate: int
    assay: float
    grams_per_L: float


@dataclass(frozen=True)
class ReadRecipe:
    """What a recipe comes to.

    Attributes
    ----------
    lines : tuple of RecipeLine
        The salts in the order written.
    adds : dict of str to float
        What one mL adds, by element (mg; alkalinity: meq).
    dissolved_salt_mg : float
        Dissolved salt that one mL brings (mg).
    delayed : bool
        Whether alkalinity of it appears only after oxidation.
    hazards : tuple of str
        Hazards of its salts, in plain words.
    """

    lines: tuple[RecipeLine, ...]
    adds: dict[str, float]
    dissolved_salt_mg: float
    delayed: bool
    hazards: tuple[str, ...]


def read_recipe(recipe: object, where: str = "") -> ReadRecipe:
    """Return what the ``recipe`` list of a supplement comes to.

    Σ grams per litre × what a gram adds / 1000

    Parameters
    ----------
    recipe : list of dict
        Each with ``salt``, ``hydrate``, ``assay`` (1 when not written) and ``grams_per_L`` (g/L).
    where : str, optional
        File and table, for messages.

    Returns
    -------
    ReadRecipe
        Strength in mg or meq per mL, and the salts.

    Raises
    ------
    InputError
        For an unknown key or salt, a value that cannot be, or salts that fall out together.

    Examples
    --------
    >>> soda = read_recipe([{"salt": "soda ash", "hydrate": 0, "grams_per_L": 60.0}])
    >>> soda.lines[0].salt, round(soda.adds["alkalinity"], 3)
    ('sodium carbonate anhydrous', 1.132)
    """
    if not isinstance(recipe, list) or not recipe:
        raise InputError(
            "a list of salts", recipe, "Write recipe = [{ salt = “…”, grams_per_L = … }].", where
        )
    adds: dict[str, float] = {}
    dissolved = 0.0
    lines: list[RecipeLine] = []
    found: list[Salt] = []
    for number, row in enumerate(recipe, start=1):
        place = f"{where} line {number}"
        line = table_in(row, place)
        only_keys(line, ("salt", "hydrate", "assay", "grams_per_L"), place)
        hydrate = line.get("hydrate")
        if hydrate is not None and (isinstance(hydrate, bool) or not isinstance(hydrate, int)):
            raise InputError("a whole number of waters", hydrate, "Write hydrate = 2.", place)
        salt = find_salt(line.get("salt", ""), hydrate, place)
        assay = number_in(line, "assay", place) if "assay" in line else 1.0
        grams = number_in(line, "grams_per_L", place)
        per_gram = adds_per_gram(salt.name, hydrate=salt.hydrate, assay=assay, where=place)
        for name, amount in per_gram.items():
            adds[name] = adds.get(name, 0.0) + amount * grams / 1000.0
        dissolved += grams * assay * salt.anhydrous_fraction
        found.append(salt)
        lines.append(RecipeLine(salt.name, salt.hydrate, assay, grams))
    falling = clashes(found)
    if falling:
        raise InputError(
            "salts that stay dissolved together", "; ".join(falling), "Use two containers.", where
        )
    return ReadRecipe(
        tuple(lines),
        adds,
        dissolved,
        any(salt.delayed_alkalinity for salt in found),
        tuple(f"{s.name}: {s.hazard}" for s in found if s.hazard != "not classified"),
    )
