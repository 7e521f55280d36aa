"""The closed list of unit words, element by element, and what to say about every other word."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from reef_calc.chem.elements import ELEMENTS, element
from reef_calc.errors import UnitError


@dataclass(frozen=True)
class LinearUnit:
    """What a unit word of a dissolved element means.

    Attributes
    ----------
    pint_unit : str
        Unit as the registry of ``reef_calc.chem.units`` knows it.
    formula : str
        Substance that is weighed; empty for units that count moles or equivalents.
    counted_per_unit : float
        Amount of the element (mol; for alkalinity, eq) in one mole of the substance or in one
        mole as typed.
    """

    pint_unit: str
    formula: str = ""
    counted_per_unit: float = 1.0


# Species in which each element is written: label in the unit word -> substance that is weighed.
_SPECIES: dict[str, dict[str, str]] = {
    "calcium": {"Ca": "Ca", "as CaCO3": "CaCO3"},
    "magnesium": {"Mg": "Mg", "as CaCO3": "CaCO3"},
    "nitrate": {"NO3": "NO3", "NO3-N": "N"},
    "nitrite": {"NO2": "NO2", "NO2-N": "N"},
    "ammonia": {"NH3": "NH3", "NH4": "NH4", "NH3-N": "N", "NH4-N": "N"},
    "phosphate": {"PO4": "PO4", "PO4-P": "P", "P": "P"},
    "silicate": {"SiO2": "SiO2", "SiO2-Si": "Si", "Si": "Si"},
    "boron": {"B": "B", "H3BO3": "H3BO3"},
    "sulfate": {"SO4": "SO4", "SO4-S": "S", "S": "S"},
}

_MASSES = {
    "mg/L": "milligram/liter",
    "µg/L": "microgram/liter",
    "mg/kg": "milligram/kilogram",
    "µg/kg": "microgram/kilogram",
}
_MOLES = {
    "mmol/L": "millimole/liter",
    "µmol/L": "micromole/liter",
    "mmol/kg": "millimole/kilogram",
    "µmol/kg": "micromole/kilogram",
}

# Laboratories state total alkalinity as µmol/kg and mean equivalents (Dickson et al. 2007, SOP 3b);
# per litre the trade also counts CaCO3 in mmol/L, which is half, so that word is not in the list.
_ALKALINITY: dict[str, LinearUnit] = {
    "dKH": LinearUnit("dKH"),
    "meq/L": LinearUnit("milliequivalent/liter"),
    "µeq/L": LinearUnit("microequivalent/liter"),
    "mmol/L alkalinity": LinearUnit("millimole/liter"),
    "mg/L as CaCO3": LinearUnit("milligram/liter", "CaCO3", 2.0),
    "mg/L as HCO3": LinearUnit("milligram/liter", "HCO3", 1.0),
    "meq/kg": LinearUnit("milliequivalent/kilogram"),
    "µeq/kg": LinearUnit("microequivalent/kilogram"),
    "mmol/kg": LinearUnit("millimole/kilogram"),
    "µmol/kg": LinearUnit("micromole/kilogram"),
}

_STATE_UNITS: dict[str, tuple[str, ...]] = {
    "salinity": (
        "PSU", "g/kg", "mS/cm at 25 °C", "SG 20/20", "SG 25/25", "SG 60F/60F", "SG 15/15",
        "SG 25/20", "SG 25/60F", "SG 20/4", "SG 25/4", "g/cm3 at 20 °C", "g/cm3 at 25 °C",
    ),
    "temperature": ("°C", "°F"),
    "pH": ("pH",),
}  # fmt: skip

_ALIASES = {
    "mg/L CaCO3": "mg/L as CaCO3", "mg/L HCO3": "mg/L as HCO3",
    "psu": "PSU", "mS/cm": "mS/cm at 25 °C", "mS/cm at 25°C": "mS/cm at 25 °C",
    "g/cm3 at 20°C": "g/cm3 at 20 °C", "g/cm3 at 25°C": "g/cm3 at 25 °C",
    "C": "°C", "degC": "°C", "F": "°F", "degF": "°F", "ph": "pH", "PH": "pH",
}  # fmt: skip

_SAME_CHARACTERS = str.maketrans(
    {"μ": "µ", "\u00a0": " ", "\u202f": " ", "℃": "°C", "℉": "°F", "³": "3", "º": "°"}
    | {chr(0x2080 + digit): str(digit) for digit in range(10)}
)


@cache
def linear_units(name: str) -> dict[str, LinearUnit]:
    """Return the words that are proportional to the amount of one element, with their meaning.

    Parameters
    ----------
    name : str
        Element of the closed list.

    Returns
    -------
    dict of str to LinearUnit
        Canonical word and meaning; empty for salinity, temperature and pH.

    Raises
    ------
    InputError
        If there is no such element.

    Examples
    --------
    >>> linear_units("nitrate")["mg/L NO3-N"].formula
    'N'
    """
    described = element(name)
    if described.name == "alkalinity":
        return _ALKALINITY
    if not described.species:
        return {}
    labels = {"": described.species} | _SPECIES.get(name, {described.species: described.species})
    words = {
        f"{mass} {label}".strip(): LinearUnit(pint_unit, formula)
        for label, formula in labels.items()
        for mass, pint_unit in _MASSES.items()
    }
    return words | {mole: LinearUnit(pint_unit) for mole, pint_unit in _MOLES.items()}


def accepted_units(name: str) -> tuple[str, ...]:
    """Return the unit words that are accepted for one element, the usual one first.

    Parameters
    ----------
    name : str
        Element of the closed list.

    Returns
    -------
    tuple of str
        Canonical words.

    Raises
    ------
    InputError
        If there is no such element.

    Examples
    --------
    >>> accepted_units("temperature")
    ('°C', '°F')
    >>> accepted_units("alkalinity")[:2]
    ('dKH', 'meq/L')
    """
    described = element(name).name
    return _STATE_UNITS.get(described) or tuple(linear_units(described))


@lru_cache(maxsize=4096)
def _known_word(word: str, name: str) -> str | None:
    """Return the canonical word of the list that is meant, if there is one."""
    tidy = " ".join(word.translate(_SAME_CHARACTERS).split())
    tidy = re.sub(r" ?([/-]) ?", r"\1", tidy)
    tidy = re.sub(r"^u(?=g/|mol/|eq/)", "µ", tidy)
    tidy = re.sub(r"(?<=/)l(?= |$)", "L", tidy)
    if re.match(r"sg ?[0-9]", tidy, re.IGNORECASE):
        tidy = "SG " + tidy[2:].strip().upper().replace("°", "").replace("C", "")
    elif tidy.casefold() in ("dkh", "°dkh"):
        tidy = "dKH"
    tidy = _ALIASES.get(tidy, tidy)
    accepted = accepted_units(name)
    return next((one for one in (tidy, tidy.replace(" as ", " ")) if one in accepted), None)


def check_unit(word: str, name: str, where: str = "") -> str:
    """Return the canonical form of a unit word, or refuse it with the words that are accepted.

    Both micro signs and a plain ``u``, ``l`` and ``L``, subscripts and missing spaces around the
    slash are the same word. Nothing else is guessed.

    Parameters
    ----------
    word : str
        Unit as typed.
    name : str
        Element of the closed list.
    where : str, optional
        File, row and column, for the message.

    Returns
    -------
    str
        A word of ``accepted_units(name)``.

    Raises
    ------
    UnitError
        If the word is not in the element's list; the text says why and what to write.
    InputError
        If there is no such element.

    Examples
    --------
    >>> check_unit("ug/l P", "phosphate")
    'µg/L P'
    >>> check_unit("ppm", "calcium")
    Traceback (most recent call last):
        ...
    reef_calc.errors.UnitError: needed a unit of calcium (mg/L, µg/L, mg/kg, µg/kg, mg/L Ca,
    µg/L Ca, mg/kg Ca, µg/kg Ca, mg/L as CaCO3, µg/L as CaCO3, mg/kg as CaCO3, µg/kg as CaCO3,
    mmol/L, µmol/L, mmol/kg, µmol/kg), given “ppm”. “ppm” means mg/L to some and mg/kg to
    others, 2.3 % apart in sea water: look at the label and write mg/L or mg/kg.
    """
    described = element(name, where).name
    known = _known_word(word, described) if isinstance(word, str) else None
    if known is not None:
        return known
    listed = ", ".join(accepted_units(described))
    raise UnitError(
        f"a unit of {described} ({listed})", word, _why_refused(str(word).strip(), described), where
    )


def _why_refused(word: str, name: str) -> str:
    """Say why a word is not taken and what to write instead."""
    usual = element(name).display_unit
    small = word.casefold().replace("°", "")
    if not word:
        return f"The unit is empty: write one in every row, such as {usual}."
    if re.match(r"[-+−]?[0-9]", word):
        return "Write the unit alone; the number belongs in the value column."
    if re.match(r"pp[mb]\b", small):
        mass, species = ("mg" if small.startswith("ppm") else "µg"), word[3:].rstrip()
        if name == "alkalinity":
            return f"“{word}” does not say what is weighed: if CaCO3 is meant, write mg/L as CaCO3."
        return (
            f"“{word}” means {mass}/L to some and {mass}/kg to others, 2.3 % apart in sea water: "
            f"look at the label and write {mass}/L{species} or {mass}/kg{species}."
        )
    if small in ("ppt", "‰", "%", "pct"):
        if name == "salinity":
            return f"“{word}” is read in two ways: write PSU, or g/kg for absolute salinity."
        return f"“{word}” may be parts per thousand or per million million: write {usual}."
    if small in ("dgh", "gh"):
        return (
            "Total hardness counts calcium and magnesium together: it is the level of neither. "
            f"Write {usual}."
        )
    if small in ("dh", "d", "kh", "h"):
        if name == "alkalinity":
            return f"“{word}” does not say whether carbonate or total hardness is meant: write dKH."
        return f"“{word}” is a hardness: write {usual}."
    if name == "alkalinity" and re.match(r"[mµμu]?mol/l", small):
        return (
            "1 mmol/L of CaCO3 is 2 mmol/L of alkalinity: write mmol/L alkalinity, or meq/L, "
            "once the label or report says which is meant."
        )
    if small == "sg" or small.startswith(("sg ", "specific")):
        return "Write both reference temperatures as on the instrument, such as SG 25/25."
    for known in accepted_units(name):
        if known.casefold().replace("°", "") == small:
            return f"Capitals matter: M means a million, m a thousandth. Write {known}."
    others = [other for other in ELEMENTS if other != name and _known_word(word, other)]
    if others:
        return f"“{word}” is a unit of {', '.join(others[:3])}, not of {name}: write {usual}."
    return f"Write one of these words, such as {usual}."
