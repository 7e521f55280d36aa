"""The salts of a recipe, and what is said of a stock: hydrates, what dissolves, what is assumed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.salts import LABEL_FIRST, Salt, find_salt, salts
from reef_calc.chem.solubility import ADVISED_SHARE, saturation
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed

_BY_SALINITY = ("sodium", "chloride", "sulfate")
_SEEN = 0.001


@dataclass(frozen=True)
class SaltPart:
    """One salt of a recipe.

    Attributes
    ----------
    salt : Salt
        The salt with its water of crystallisation.
    parts : float
        Parts by mass as sold (no unit).
    assay : float
        Share of the mass that is this salt (no unit).
    """

    salt: Salt
    parts: float = 1.0
    assay: float = 1.0


def salt_part(
    name: str, hydrate: int | None = None, *, parts: float = 1.0, assay: float = 1.0
) -> SaltPart:
    """Return one salt of a recipe by its name.

    Parameters
    ----------
    name : str
        Name as in ``reef_calc.chem.salts.salts()``.
    hydrate : int, optional
        Molecules of water per formula.
    parts : float, optional
        Parts by mass as sold (no unit).
    assay : float, optional
        Share of the mass that is this salt (no unit).

    Returns
    -------
    SaltPart
        The salt.

    Raises
    ------
    InputError
        If the salt is not known, its water must be stated, or the parts are not above 0.

    Examples
    --------
    >>> salt_part("Epsom salt").salt.full_formula
    'MgSO4.7H2O'
    """
    if not 0.0 < parts < math.inf:
        raise InputError("parts above 0", parts, "Leave the salt out instead.", name)
    return SaltPart(find_salt(name, hydrate), parts, assay)


def why_too_strong(
    share: float, grams_per_L: float, volume_L: float, rise: float, unit: str, asked: str
) -> str:
    """Return what to do where more is asked for than dissolves.

    Parameters
    ----------
    share : float
        Share of saturation asked for (no unit), above 1.
    grams_per_L : float
        Mass asked for (g per litre).
    volume_L : float
        Volume asked for (L).
    rise : float
        Rise asked for, in ``unit``.
    unit : str
        Its unit.
    asked : str
        What makes the rise, such as "1 mL then raises 100 L by".

    Returns
    -------
    str
        How strong it can be, and how many litres do instead.

    Examples
    --------
    >>> print(why_too_strong(1.2, 100.0, 1.0, 0.05, "dKH", "1 mL then raises 100 L by"))
    That is 120 % of what dissolves. At most 50 g/L is advised: 1 mL then raises 100 L by 0.025 dKH.
    Make 2 L with the same 100 g instead of 1 L, and dose 2 times as many mL.
    """
    weaker = share / ADVISED_SHARE
    return (
        f"That is {100 * share:.0f} % of what dissolves. At most {grams_per_L / weaker:.3g} g/L is "
        f"advised: {asked} {rise / weaker:.2g} {unit}. Make {volume_L * weaker:.2g} L with the same "
        f"{grams_per_L * volume_L:.4g} g instead of {volume_L:g} L, and dose {weaker:.2g} times as "
        "many mL."
    )


def two_digits(value: float) -> str:
    """Return a number with at least two significant digits, no exponent and a true minus sign.

    Parameters
    ----------
    value : float
        Number in any unit.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> two_digits(0.2671), two_digits(123.4), two_digits(-0.5), two_digits(0.0)
    ('0.27', '123', '−0.50', '0')
    """
    if value == 0.0:
        return "0"
    return fixed(value, max(0, 1 - math.floor(math.log10(abs(value)))))


def assumed_of_stock(parts: Sequence[SaltPart], density: float) -> tuple[str, ...]:
    """Return what was taken without being measured.

    Parameters
    ----------
    parts : sequence of SaltPart
        Salts of the recipe.
    density : float
        Density taken (kg/L).

    Returns
    -------
    tuple of str
        Sentences: volume, density, purity.

    Examples
    --------
    >>> assumed_of_stock([salt_part("potassium chloride")], 1.0)[1]
    "Density 1.00 kg/L (water's) is taken for what dissolves; the dose does not depend on it."
    """
    found = [
        "The volume is that of the finished solution. Salt put into a full litre of water makes more "
        "than a litre, and each mL is weaker.",
        f"Density {density:.2f} kg/L"
        + (" (water's)" if density == 1.0 else "")
        + " is taken for what dissolves; the dose does not depend on it.",
    ]
    for part in parts:
        if part.assay == 1.0:
            found.append(
                f"{part.salt.name} is taken as pure; type the assay of its label if it names one."
            )
    return tuple(found)


def also_adds(supplement: Supplement, wanted: str) -> tuple[Message, ...]:
    """Return what a stock brings beside the element it is made for.

    Parameters
    ----------
    supplement : Supplement
        The stock as a container that is dosed.
    wanted : str
        Element it is made for.

    Returns
    -------
    tuple of Message
        ``ALSO_ADDS``, and ``LATE`` where alkalinity of it appears only after oxidation.

    Notes
    -----
    Counted where 10 mL raise 100 L by a thousandth of sea water's level (own choice) or sea water
    has hardly any; sodium, chloride and sulfate are left to salinity and their ratio.

    Examples
    --------
    >>> from reef_calc.chem.supplements import supplement_from_table
    >>> formate = supplement_from_table("formate", {"recipe": [
    ...     {"salt": "calcium formate", "grams_per_L": 100.0}]})
    >>> print(also_adds(formate, "calcium")[0].text)
    It also brings alkalinity: 10 mL raise 100 L by 0.43 dKH. Take that off its other doses.
    """
    sea = reference_levels()
    also = []
    for name, per_mL in supplement.adds.items():
        level = sea.get(name)
        stored = 0.0 if level is None else level.meq_per_L or level.mg_per_L or 0.0
        rise = 0.1 * per_mL
        if name in (wanted, *_BY_SALINITY) or rise < _SEEN * stored:
            continue
        shown = ELEMENTS[name].display_unit
        more = float(convert(rise, ELEMENTS[name].store_unit, shown, name))
        also.append(f"{name}: 10 mL raise 100 L by {two_digits(more)} {shown}")
    found = []
    if also:
        words = f"It also brings {'; '.join(also)}. Take that off its other doses."
        found.append(Message("ALSO_ADDS", words, "qualified"))
    if supplement.lag_days > 0.0:
        found.append(
            Message(
                "LATE",
                "Its alkalinity appears about a day later, as bacteria take it up and use oxygen.",
                "qualified",
            )
        )
    return tuple(found)


def messages_of_stock(
    parts: Sequence[SaltPart], each: Sequence[float], share: float | None, coldest_C: float
) -> tuple[Message, ...]:
    """Return what to know about a stock.

    Parameters
    ----------
    parts : sequence of SaltPart
        Salts of the recipe.
    each : sequence of float
        Mass of each as sold (g per litre).
    share : float or None
        Share of saturation (no unit).
    coldest_C : float
        Coldest temperature of the container (°C).

    Returns
    -------
    tuple of Message
        What dissolves first, then hazards and hydrates.

    Examples
    --------
    >>> messages_of_stock([salt_part("bicarbonate of soda")], [50.0], 0.57, 20.0)
    ()
    """
    found = []
    if share is None:
        found.append(
            Message(
                "SOLUBILITY_NOT_KNOWN",
                "How much of this dissolves is not in the tables here. If anything stays at the "
                "bottom, the strength does not hold.",
                "qualified",
            )
        )
    elif share > ADVISED_SHARE + 1e-9:
        found.append(
            Message(
                "NEAR_SATURATION",
                f"This is {100 * share:.0f} % of what dissolves at {coldest_C:g} °C; at most "
                f"{100 * ADVISED_SHARE:.0f} % is advised (common practice). "
                f"{sum(each) * ADVISED_SHARE / share:.3g} g/L would keep that. If crystals form, do "
                "not dose: warm it, shake it, and make it weaker.",
                "qualified",
            )
        )
    carried = [
        part.salt.name
        for part in parts
        if (most := saturation(part.salt, coldest_C)) is not None and not most.tabled
    ]
    if carried:
        found.append(
            Message(
                "COLDER_THAN_TABLES",
                f"How much of {' and '.join(carried)} dissolves below 20 °C is not known here. The "
                f"figure for {coldest_C:g} °C is carried on from 20 and 25 °C: look for crystals, "
                "or keep the container warmer.",
                "qualified",
            )
        )
    found += [
        Message("HAZARD", f"{part.salt.name}: {part.salt.hazard}. {LABEL_FIRST}", "qualified")
        for part in parts
        if part.salt.hazard != "not classified"
    ]
    for part in parts:
        words = _hydrate_words(part.salt)
        if words:
            found.append(Message("LOOK_AT_THE_FORMULA", words))
    return tuple(found)


def hydrate_mistakes(salt: Salt) -> dict[str, float]:
    """Return how wrong a stock gets when another hydrate is weighed in place of this one.

    100·(share without water of the other / share of this one − 1)

    Parameters
    ----------
    salt : Salt
        The salt the recipe asks for.

    Returns
    -------
    dict of str to float
        Error of the strength in percent, by the name of the salt really weighed.

    Examples
    --------
    >>> mistakes = hydrate_mistakes(find_salt("calcium chloride", 2))
    >>> {name: round(error) for name, error in mistakes.items()}
    {'calcium chloride anhydrous': 32, 'calcium chloride hexahydrate': -33}
    """
    return {
        other.name: 100.0 * (other.anhydrous_fraction / salt.anhydrous_fraction - 1.0)
        for other in salts().values()
        if other.salt == salt.salt and other.hydrate != salt.hydrate
    }


def _hydrate_words(salt: Salt) -> str:
    found = [
        f"with {name} it gets {abs(error):.0f} % too {'strong' if error > 0 else 'weak'}"
        for name, error in hydrate_mistakes(salt).items()
    ]
    if not found:
        return ""
    return f"The recipe is for {salt.full_formula}: {'; '.join(found)}. Look at the formula on the label."
