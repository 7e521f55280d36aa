"""Which salts make a standard for which element, how pure they are and how they are kept dry."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.chem.elements import element
from reef_calc.chem.salts import Salt, find_salt
from reef_calc.errors import InputError


@dataclass(frozen=True)
class StandardSalt:
    """A salt for test water.

    Attributes
    ----------
    salt : Salt
        The salt with its water of crystallisation.
    half_width : float
        Usual half-width of its purity (share of the mass; *common practice, no source*).
    drying : str
        How to treat it before weighing (from memory).
    """

    salt: Salt
    half_width: float
    drying: str


_COOL = "cooled in a closed jar."
_DRAWS_WATER = (
    "Take it from a jar that was kept closed. It draws water and cannot be dried at home."
)
_KEEPS_WATER = "Do not heat it: it loses water and is then stronger. Use a fresh, closed jar."
_OTHERWISE = (0.02, "Do not heat it; use a fresh, closed jar.")
# Half-width of the purity (common practice, no source) and how to treat the salt (from memory).
_CARE: dict[str, tuple[float, str]] = {
    "sodium carbonate anhydrous": (
        0.005, f"Use it dried: two hours at 250 °C, {_COOL} Damp powder gives weak water.",
    ),
    "sodium hydrogen carbonate": (
        0.005,
        "Dry it over a drying agent in a closed jar. Never heat it: heat makes it carbonate, which "
        "is stronger.",
    ),
    "calcium chloride dihydrate": (0.02, _DRAWS_WATER),
    "calcium chloride anhydrous": (0.05, _DRAWS_WATER),
    "calcium chloride hexahydrate": (0.02, _DRAWS_WATER),
    "magnesium chloride hexahydrate": (0.02, _DRAWS_WATER),
    "magnesium sulfate heptahydrate": (0.01, _KEEPS_WATER),
    "magnesium sulfate anhydrous": (0.02, _DRAWS_WATER),
    "potassium chloride": (0.005, f"Use it dried: two hours at 110 °C, {_COOL}"),
    "potassium nitrate": (
        0.005, f"Use it dried: one day at 105 °C in clean glass, never on paper, {_COOL}",
    ),
    "sodium nitrate": (
        0.005, f"Use it dried: one day at 105 °C in clean glass, never on paper, {_COOL}",
    ),
    "potassium dihydrogen phosphate": (0.005, f"Use it dried: one hour at 105 °C, {_COOL}"),
    "sodium chloride": (0.005, f"Use it dried: two hours at 140 °C, {_COOL}"),
    "potassium iodide": (0.01, "Use a fresh, dark, closed bottle of white crystals; do not heat it."),
    "strontium chloride hexahydrate": (0.02, _KEEPS_WATER),
}  # fmt: skip
# Left out: salts that give alkalinity late or burn; boron, whose salts are not for households.
_FITTING: dict[str, tuple[str, ...]] = {
    "alkalinity": ("sodium carbonate anhydrous", "sodium hydrogen carbonate"),
    "calcium": (
        "calcium chloride dihydrate", "calcium chloride anhydrous", "calcium chloride hexahydrate",
    ),
    "magnesium": (
        "magnesium chloride hexahydrate", "magnesium sulfate heptahydrate",
        "magnesium sulfate anhydrous",
    ),
    "potassium": ("potassium chloride", "potassium sulfate"),
    "strontium": ("strontium chloride hexahydrate", "strontium chloride anhydrous"),
    "iodine": ("potassium iodide",),
    "nitrate": ("potassium nitrate", "sodium nitrate"),
    "phosphate": ("potassium dihydrogen phosphate",),
    "bromide": ("potassium bromide",),
    "sulfate": ("sodium sulfate anhydrous", "magnesium sulfate heptahydrate", "potassium sulfate"),
    "chloride": ("sodium chloride",),
    "sodium": ("sodium chloride",),
}  # fmt: skip


def elements_with_salts() -> tuple[str, ...]:
    """Return the elements that test water can be made for.

    Returns
    -------
    tuple of str
        Names of the closed list.

    Examples
    --------
    >>> elements_with_salts()[:3]
    ('alkalinity', 'calcium', 'magnesium')
    """
    return tuple(_FITTING)


def standard_salts(name: str) -> tuple[StandardSalt, ...]:
    """Return the salts that make test water for an element, the usual one first.

    Parameters
    ----------
    name : str
        Element.

    Returns
    -------
    tuple of StandardSalt
        The salts.

    Raises
    ------
    InputError
        If the element is unknown, or no salt of the list fits it.

    Examples
    --------
    >>> [one.salt.name for one in standard_salts("alkalinity")]
    ['sodium carbonate anhydrous', 'sodium hydrogen carbonate']

    References
    ----------
    *Common practice, no source*; the usual ones are those of the handbook stocks.
    """
    described = element(name)
    if described.name not in _FITTING:
        raise InputError(
            "an element that a salt of the list makes test water for (" + ", ".join(_FITTING) + ")",
            described.name,
            "Use a bought standard and write its level, unit and u into standards.toml.",
        )
    return tuple(care_of(find_salt(salt)) for salt in _FITTING[described.name])


def care_of(salt: Salt) -> StandardSalt:
    """Return a salt with its usual purity and how it is kept dry.

    Parameters
    ----------
    salt : Salt
        Any salt of the list.

    Returns
    -------
    StandardSalt
        The salt with both.

    Examples
    --------
    >>> care_of(find_salt("potassium chloride")).half_width
    0.005
    """
    half_width, drying = _CARE.get(salt.name, _OTHERWISE)
    return StandardSalt(salt, half_width, drying)


def dissolves_g_per_L(salt: Salt) -> float | None:
    """Return how much of a salt certainly dissolves in a litre, as far as the tables know.

    10·w/(share without water); w is the smaller of g per 100 g of saturated solution at 20 and 25 °C.

    Parameters
    ----------
    salt : Salt
        The salt.

    Returns
    -------
    float or None
        Grams as sold per litre of solution; None where the tables do not know.

    Notes
    -----
    For purified water. A saturated solution is denser than water, so a little more dissolves.

    Examples
    --------
    >>> round(dissolves_g_per_L(find_salt("potassium nitrate")))
    242

    References
    ----------
    Saturation: as ``Salt.solubility_status`` says.
    """
    known = [one for one in (salt.mass_percent_20C, salt.mass_percent_25C) if one is not None]
    if salt.anhydrous_g_per_100g_water_20C is not None:
        dissolved = salt.anhydrous_g_per_100g_water_20C
        known.append(100.0 * dissolved / (100.0 + dissolved))
    return 10.0 * min(known) / salt.anhydrous_fraction if known else None


def check_dissolves(salt: Salt, grams: float, volume_mL: float) -> None:
    """Refuse more of a salt than certainly dissolves.

    Parameters
    ----------
    salt : Salt
        The salt.
    grams : float
        Mass as sold (g).
    volume_mL : float
        Volume of the solution (mL).

    Raises
    ------
    InputError
        If more is asked for than the tables know to dissolve.

    Examples
    --------
    >>> check_dissolves(find_salt("potassium nitrate"), 10.0, 100.0)
    """
    most = dissolves_g_per_L(salt)
    if most is not None and grams > most * volume_mL / 1000.0:
        raise InputError(
            f"no more {salt.name} than certainly dissolves ({most:.3g} g in a litre at 20 °C)",
            f"{grams / volume_mL * 1000:.3g} g in a litre",
            "Choose a lower level, or another salt.",
        )
