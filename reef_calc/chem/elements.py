"""The closed list of what a reef tank is tested for, with the unit each is stored in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reef_calc.errors import InputError

Behaviour = Literal["used", "net", "state"]


@dataclass(frozen=True)
class Element:
    """One thing that is tested for.

    Attributes
    ----------
    name : str
        The trade's word, as written in the tank folder.
    species : str
        Chemical formula that a plain mg/L means; empty where mass has no meaning.
    store_unit : str
        Unit that levels are kept in; a word of ``reef_calc.chem.units``.
    display_unit : str
        Unit shown when the tank's aims name none.
    behaviour : {"used", "net", "state"}
        ``used``: corals take it up and it is dosed. ``net``: the sum of feeding, uptake and export,
        said to rise or fall. ``state``: a property of the water without a use per day.
    scales_with_salinity : bool
        Whether the level follows salinity when water evaporates or is diluted.
    lowest, highest : float
        Range in store units that water in or for a reef tank can hold (*common practice, no source*;
        wide on purpose: outside it a reading is flagged, never changed).
    """

    name: str
    species: str
    store_unit: str
    display_unit: str
    behaviour: Behaviour
    scales_with_salinity: bool
    lowest: float
    highest: float


_ROWS: tuple[Element, ...] = (
    Element("alkalinity", "", "meq/L", "dKH", "used", False, 0.35, 8.0),
    Element("calcium", "Ca", "mg/L", "mg/L", "used", True, 100.0, 900.0),
    Element("magnesium", "Mg", "mg/L", "mg/L", "used", True, 300.0, 2500.0),
    Element("potassium", "K", "mg/L", "mg/L", "used", True, 100.0, 800.0),
    Element("strontium", "Sr", "mg/L", "mg/L", "used", True, 0.0, 40.0),
    Element("iodine", "I", "mg/L", "mg/L", "used", False, 0.0, 2.0),
    Element("nitrate", "NO3", "mg/L", "mg/L", "net", False, 0.0, 300.0),
    Element("nitrite", "NO2", "mg/L", "mg/L", "net", False, 0.0, 50.0),
    Element("ammonia", "NH3", "mg/L", "mg/L", "net", False, 0.0, 20.0),
    Element("phosphate", "PO4", "mg/L", "mg/L", "net", False, 0.0, 10.0),
    Element("silicate", "SiO2", "mg/L", "mg/L", "net", False, 0.0, 50.0),
    Element("boron", "B", "mg/L", "mg/L", "used", True, 0.0, 30.0),
    Element("bromide", "Br", "mg/L", "mg/L", "used", True, 0.0, 200.0),
    Element("fluoride", "F", "mg/L", "mg/L", "used", True, 0.0, 20.0),
    Element("sulfate", "SO4", "mg/L", "mg/L", "used", True, 500.0, 6000.0),
    Element("chloride", "Cl", "mg/L", "mg/L", "used", True, 5000.0, 40000.0),
    Element("sodium", "Na", "mg/L", "mg/L", "used", True, 3000.0, 20000.0),
    Element("salinity", "", "PSU", "PSU", "state", False, 5.0, 50.0),
    Element("temperature", "", "°C", "°C", "state", False, 5.0, 40.0),
    Element("pH", "", "pH", "pH", "state", False, 6.0, 10.0),
)

ELEMENTS: dict[str, Element] = {row.name: row for row in _ROWS}


def element(name: str, where: str = "") -> Element:
    """Return the description of one element of the closed list.

    Parameters
    ----------
    name : str
        Name as in the tank folder; capitals do not matter.
    where : str, optional
        Place of the text, for the message.

    Returns
    -------
    Element
        The description.

    Raises
    ------
    InputError
        If the name is not in the list.

    Examples
    --------
    >>> element("Calcium").store_unit
    'mg/L'
    """
    found = ELEMENTS.get(name.strip()) or {k.lower(): v for k, v in ELEMENTS.items()}.get(
        name.strip().lower()
    )
    if found is None:
        raise InputError(
            "the name of an element (" + ", ".join(ELEMENTS) + ")",
            name,
            "Write one of these names.",
            where,
        )
    return found
