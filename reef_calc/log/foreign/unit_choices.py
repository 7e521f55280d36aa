"""Units that can be read in more than one way, and the readings that are offered."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units
from reef_calc.log.foreign.unit_forms import repair_of
from reef_calc.log.foreign.units_by_range import POSSIBLE

_SG = tuple(one.unit for one in POSSIBLE["salinity"] if one.unit.startswith("SG"))
_DENSITY = tuple(one.unit for one in POSSIBLE["salinity"] if one.unit.startswith("g/cm3"))
_PER_THOUSAND = (
    "ppt", "‰", "promille", "per mille", "o/oo", "parts per thousand", "pro mille", "s", "0/00",
)  # fmt: skip
_GRAVITY = (
    "sg",
    "s.g.",
    "s.g",
    "s g",
    "specific gravity",
    "spec. gravity",
    "gravity",
    "d",
    "rel. density",
)
_HALF = (
    "1 mmol/L of CaCO3 is 2 mmol/L of alkalinity: double the column and write mmol/L alkalinity."
)
_TENTH = "1 % is 10 parts in a thousand: multiply the column by 10 and write PSU."


@dataclass(frozen=True)
class Offered:
    """Readings of a unit that are offered.

    Attributes
    ----------
    text : str
        Why it is asked; empty for the usual words.
    units : tuple of str
        Unit words, the most usual first.
    assumed : str
        The one that holds until another is chosen; empty where none does.
    refused : dict of str to str
        Readings that cannot be kept, with the repair.
    example : float
        Number for the consequences where the file has none, in the unit as written.
    """

    text: str
    units: tuple[str, ...]
    assumed: str = ""
    refused: Mapping[str, str] = field(default_factory=dict)
    example: float = 100.0


def offered_for(form: str, element: str, middle: float) -> Offered | None:
    """Return the readings of a unit that has more than one, or of which only the numbers tell.

    Parameters
    ----------
    form : str
        As ``unit_form`` gives it.
    element : str
        Element of the closed list, or the symbol of another.
    middle : float
        Median of the numbers, in the unit as written; NaN where there is none.

    Returns
    -------
    Offered or None
        None where the unit is clear, or unknown.

    Examples
    --------
    >>> offered_for("ppm NO3-N", "nitrate", 2.0).units
    ('mg/L NO3-N', 'mg/kg NO3-N')
    >>> offered_for("mg/L", "nitrate", 2.0) is None
    True
    """
    head, _, species = form.partition(" ")
    tail = f" {species}" if species else ""
    if element not in ELEMENTS:
        if head in ("ppm", "ppb"):
            mass = "mg" if head == "ppm" else "µg"
            return Offered("", (f"{mass}/L", f"{mass}/kg"), f"{mass}/L")
        return None
    if element == "alkalinity":
        return _of_alkalinity(form, head, species)
    if element == "salinity":
        return _of_salinity(form, middle)
    if element == "temperature":
        if form in (
            "°",
            "deg",
            "grad",
            "degrees",
            "degree",
            "grados",
            "gradi",
            "stopnie",
            "grader",
        ):
            sure = "°C" if 5.0 <= middle <= 40.0 else "°F" if 55.0 <= middle <= 104.0 else ""
            return Offered("", ("°C", "°F"), sure, example=25.0)
        return None
    if head in ("ppm", "ppb"):
        mass = "mg" if head == "ppm" else "µg"
        units = tuple(f"{mass}/{below}{tail}" for below in ("L", "kg"))
        return Offered("", units, units[0]) if set(units) <= set(accepted_units(element)) else None
    return _of_species(form, element, middle)


def _of_alkalinity(form: str, head: str, species: str) -> Offered | None:
    if head == "ppm":
        if species in ("as CaCO3", "caco3"):
            return Offered("", ("mg/L as CaCO3",), "mg/L as CaCO3")
        if species in ("as HCO3", "hco3"):
            return Offered("", ("mg/L as HCO3",), "mg/L as HCO3")
        return Offered(
            "ppm does not say of what. Is it counted as CaCO3?",
            ("mg/L as CaCO3", "mg/L as HCO3"),
            example=145.0,
        )
    if form == "tac":
        return Offered(
            "TAC is counted in °fH by most, in dKH by some.",
            ("dKH", "meq/L"),
            refused={"°fH": repair_of("°fh", "alkalinity")},
            example=8.0,
        )
    if form == "mg/L":
        return Offered(
            "mg/L does not say of what. Is it counted as CaCO3?",
            ("mg/L as CaCO3", "mg/L as HCO3"),
            example=145.0,
        )
    if form == "mmol/L":
        return Offered(
            "mmol/L may count alkalinity, or CaCO3, which is half.",
            ("mmol/L alkalinity",),
            refused={"mmol/L of CaCO3": _HALF},
            example=2.9,
        )
    return None


def _of_salinity(form: str, middle: float) -> Offered | None:
    if form in _PER_THOUSAND:
        return Offered("", ("PSU", "g/kg"), "PSU", example=35.0)
    if form in ("%", "pct", "percent"):
        return Offered("", ("PSU",), refused={"%": _TENTH}, example=35.0)
    if form == "g/L":
        return Offered(
            "g/L is no scale of salinity that is kept; instruments that say so mostly mean PSU.",
            ("PSU", "g/kg"),
            example=35.0,
        )
    if form in _GRAVITY:
        return Offered(
            "a specific gravity needs both temperatures, as on the instrument.",
            (*_SG, *_DENSITY),
            example=1.0264,
        )
    if form in ("g/cm3", "g/ml", "g/mL", "g/cc", "kg/L", "g/cm 3", "kg/l"):
        return Offered("a density needs its temperature.", _DENSITY, example=1.0234)
    if form == "density":
        return Offered(
            "a density needs its temperature; a specific gravity needs two.",
            (*_DENSITY, *_SG),
            example=1.0234,
        )
    if form == "conductivity":
        sure = "mS/cm at 25 °C" if 3.0 <= middle <= 75.0 else ""
        refused = {} if sure else {"µS/cm": "1000 µS/cm is 1 mS/cm: divide the column by 1000."}
        return Offered(
            "a conductivity without unit.", ("mS/cm at 25 °C",), sure, refused, example=53.0
        )
    return None


def _of_species(form: str, element: str, middle: float) -> Offered | None:
    """Offer milligrams and micrograms where only the substance is written."""
    words = [word for word in accepted_units(element) if word.startswith(("mg/L ", "µg/L "))]
    units = tuple(word for word in words if word.partition(" ")[2].casefold() == form.casefold())
    if not units:
        return None
    # Phosphorus and silicon stand in either; a nitrate of some µg/L no kit shows.
    few = {"phosphate": 1.0, "silicate": 3.0}.get(element, math.inf)
    return Offered("", units, units[0] if few == math.inf or middle < few else "")
