"""Unit conversion: the project's one pint registry at the door, plain floats inside.

Proportional units go through the registry once per pair of words; the factor is kept, so that a
table of thousands of rows costs no pint operation per row. Temperature and the scales of salinity
are not proportional and are worked out explicitly.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, overload

import numpy as np

from reef_calc.chem.elements import element as find_element
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.salinity_scales import practical_salinity_from, practical_salinity_to
from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.chem.unit_words import LinearUnit, accepted_units, check_unit, linear_units
from reef_calc.errors import InputError, UnitError

if TYPE_CHECKING:
    import pint

__all__ = ["accepted_units", "check_unit", "convert", "factor_between", "registry"]


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the project's unit registry, built at its first use.

    Charge equivalents have a dimension of their own, so that dKH becomes mmol/L only through an
    explicit charge number. German degrees by definition: 1 dKH or dGH is 10 mg/L CaO; CaO counts
    two equivalents a mole.

    Returns
    -------
    pint.UnitRegistry
        The registry; it knows ``equivalent``, ``dKH`` and ``dGH`` besides pint's own units.

    Examples
    --------
    >>> registry().Quantity(1, "dKH").check("[charge_equivalent]/[volume]")
    True

    References
    ----------
    German degree of hardness: 10 mg CaO in a litre (PUBLISHED 17.848 mg/L as CaCO3).
    """
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    lime_mmol_per_L = 10.0 / molar_mass("CaO")
    units.define("equivalent = [charge_equivalent]")
    units.define(f"dKH = {2.0 * lime_mmol_per_L!r} * milliequivalent / liter")
    units.define(f"dGH = {lime_mmol_per_L!r} * millimole / liter")
    return units


def _amount(meaning: LinearUnit, counted: str) -> Any:
    """Return one of a unit as a quantity in moles or equivalents of the element."""
    units = registry()
    quantity = units.Quantity(1.0, meaning.pint_unit)
    if meaning.formula:
        quantity = quantity / units.Quantity(molar_mass(meaning.formula), "gram/mole")
    if "[substance]" in quantity.dimensionality:
        quantity = quantity * units.Quantity(meaning.counted_per_unit, f"{counted}/mole")
    return quantity


def factor_between(from_unit: LinearUnit, to_unit: LinearUnit, counted: str = "mole") -> float:
    """Return what a number in one proportional unit is multiplied by to get the other.

    Parameters
    ----------
    from_unit, to_unit : LinearUnit
        Meanings of the two words, both per volume or both per mass of water.
    counted : {"mole", "equivalent"}
        What the element is counted in.

    Returns
    -------
    float
        Factor, dimensionless.

    Raises
    ------
    UnitError
        If the two do not measure the same thing.

    Examples
    --------
    >>> nitrate = linear_units("nitrate")
    >>> round(factor_between(nitrate["mg/L NO3-N"], nitrate["mg/L NO3"]), 5)
    4.42664

    References
    ----------
    Molar masses: ``reef_calc.chem.formulas.molar_mass``.
    """
    start, end = _amount(from_unit, counted), _amount(to_unit, counted)
    if start.dimensionality != end.dimensionality:
        raise UnitError(
            f"a unit like {to_unit.pint_unit}", from_unit.pint_unit, "Use two units of one kind."
        )
    return float((start / end).to("dimensionless").magnitude)


@cache
def _plan(from_word: str, to_word: str, name: str) -> tuple[float, int]:
    """Return the factor of a pair of words and the power of density (kg/L) it needs."""
    words = linear_units(name)
    start, end = words[from_word], words[to_word]
    counted = "equivalent" if name == "alkalinity" else "mole"
    # Both are put per litre first; the water's density is what remains.
    per_mass = [meaning.pint_unit.endswith("kilogram") for meaning in (start, end)]
    start, end = (
        LinearUnit(m.pint_unit.replace("/kilogram", "/liter"), m.formula, m.counted_per_unit)
        for m in (start, end)
    )
    return factor_between(start, end, counted), int(per_mass[0]) - int(per_mass[1])


@overload
def convert(
    value: float, from_unit: str, to_unit: str, element: str, *,
    density_kg_per_L: float | None = ..., salinity: float | None = ...,
    temperature_C: float | None = ..., where: str = ...,
) -> float: ...  # fmt: skip
@overload
def convert(
    value: np.ndarray, from_unit: str, to_unit: str, element: str, *,
    density_kg_per_L: float | None = ..., salinity: float | None = ...,
    temperature_C: float | None = ..., where: str = ...,
) -> np.ndarray: ...  # fmt: skip
def convert(
    value: float | np.ndarray,
    from_unit: str,
    to_unit: str,
    element: str,
    *,
    density_kg_per_L: float | None = None,
    salinity: float | None = None,
    temperature_C: float | None = None,
    where: str = "",
) -> float | np.ndarray:
    """Return a level in another unit of the same element.

    level·M(from)⁻¹·n(from) = level'·M(to)⁻¹·n(to), times or divided by the density of the water
    where one unit is per kilogram and the other per litre.

    Parameters
    ----------
    value : float or numpy.ndarray
        Level in ``from_unit``, any shape; not-a-number stays so.
    from_unit, to_unit : str
        Words of ``accepted_units(element)``.
    element : str
        Element of the closed list.
    density_kg_per_L : float, optional
        Density of the water (kg/L); only used between per-kilogram and per-litre units.
    salinity : float, optional
        Practical salinity of the water (no unit), to work the density out.
    temperature_C : float, optional
        Temperature of the water when its volume counts (°C), to work the density out.
    where : str, optional
        File, row and column, for messages.

    Returns
    -------
    float or numpy.ndarray
        Level in ``to_unit``; a float for a float.

    Raises
    ------
    UnitError
        If a word is not accepted for the element.
    InputError
        If the element is unknown, a density is needed and not given, or a salinity lies outside
        the range its scale is valid for.

    Notes
    -----
    ``mS/cm`` is conductivity at 25 °C, as a meter with temperature compensation shows it; for
    another temperature use ``seawater.salinity_from_conductivity``.

    Examples
    --------
    >>> round(convert(8.0, "dKH", "meq/L", "alkalinity"), 4)
    2.8532
    >>> round(convert(8.0, "dKH", "µmol/kg", "alkalinity", salinity=35.0, temperature_C=25.0), 1)
    2788.1
    >>> convert(77.0, "°F", "°C", "temperature")
    25.0

    References
    ----------
    Molar masses from CIAAW 2021 standard atomic weights; density from TEOS-10.
    """
    start, end = check_unit(from_unit, element, where), check_unit(to_unit, element, where)
    if start == end:
        return value
    name = find_element(element).name
    if name == "temperature":
        return (value - 32.0) / 1.8 if start == "°F" else value * 1.8 + 32.0
    if name == "salinity":
        return _salinity(value, start, end, where)
    factor, density_power = _plan(start, end, name)
    if density_power:
        density = _density(density_kg_per_L, salinity, temperature_C, f"{start} to {end}", where)
        factor *= density**density_power
    return value * factor


def _density(
    density: float | None, salinity: float | None, temperature: float | None, pair: str, where: str
) -> float:
    if density is None and salinity is not None and temperature is not None:
        density = _density_of(float(salinity), float(temperature))
    if density is None:
        raise InputError(
            f"the density of the water, or its salinity and temperature, for {pair}",
            "nothing",
            "A kilogram of sea water is not a litre (2.3 % apart): write the salinity.",
            where,
        )
    if not 0.9 < density < 1.3:
        raise InputError("a density of water in kg/L", density, "Sea water has about 1.023.", where)
    return density


@lru_cache(maxsize=4096)
def _density_of(salinity: float, temperature: float) -> float:
    return float(density_kg_per_L(salinity, temperature))


def _salinity(value: Any, start: str, end: str, where: str) -> Any:
    """Go through practical salinity, the one scale that all others are defined against."""
    try:
        return practical_salinity_to(practical_salinity_from(value, start), end)
    except InputError as error:
        raise InputError(error.needed, error.given, error.repair, where or error.where) from error
