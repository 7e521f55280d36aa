"""What the salts on the shelf allow: recipes, litres of stock, days it lasts, what to buy."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reef_calc.chem.elements import element as find_element
from reef_calc.chem.salt_mixtures import sea_water_magnesium
from reef_calc.chem.salts import Salt, find_salt
from reef_calc.chem.solubility import ADVISED_SHARE, share_of_saturation
from reef_calc.chem.stock_solutions import StockSolution, stock_solution
from reef_calc.chem.stock_words import SaltPart
from reef_calc.chem.substances import adds_per_gram, clashes
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

_NOT_FOR_HOUSEHOLDS = "not for households"
_LIME = "calcium hydroxide"


@dataclass(frozen=True)
class SaltOnShelf:
    """A jar on the shelf.

    Attributes
    ----------
    salt : Salt
        The salt with its water of crystallisation.
    grams : float
        How much is left (g).
    assay : float
        Share of the mass that is this salt (no unit).
    """

    salt: Salt
    grams: float
    assay: float = 1.0


@dataclass(frozen=True)
class ShelfRecipe:
    """One stock that the shelf allows for an element.

    Attributes
    ----------
    stock : StockSolution
        Recipe of one litre.
    litres : float
        How many litres the jars make (L).
    mL_per_day : float
        What a day takes of it (mL).
    days : float
        How long the jars last (days).
    """

    stock: StockSolution
    litres: float
    mL_per_day: float
    days: float


@dataclass(frozen=True)
class ShelfAnswer:
    """What the shelf allows for one element.

    Attributes
    ----------
    element : str
        The element.
    recipes : tuple of ShelfRecipe
        What brings the element alone first, then what brings others too, caustic ones last; of a
        kind the longest lasting first.
    left_out : dict of str to str
        Why a salt that would add the element is left out, by its name.
    """

    element: str
    recipes: tuple[ShelfRecipe, ...]
    left_out: dict[str, str]


def recipes_from_shelf(
    shelf: Sequence[SaltOnShelf],
    element: str,
    use_per_day: float,
    unit: str,
    net_L: float,
    *,
    mL_per_day: float,
    coldest_C: float = 20.0,
) -> ShelfAnswer:
    """Return which stocks the jars on the shelf allow for an element, and how long they last.

    Each salt by itself; magnesium chloride and sulfate also together, in sea water's proportion.
    A salt that does not dissolve well enough for the wanted daily volume gets as many more mL.

    Parameters
    ----------
    shelf : sequence of SaltOnShelf
        Jars.
    element : str
        Element that is used up.
    use_per_day : float
        Use in ``unit`` a day, above 0.
    unit : str
        Unit of the use, per litre.
    net_L : float
        Net volume (L).
    mL_per_day : float
        Wanted daily volume (mL).
    coldest_C : float, optional
        Coldest temperature the container ever has (°C).

    Returns
    -------
    ShelfAnswer
        Recipes of one litre, with litres, mL a day and days; and what was left out and why.

    Raises
    ------
    InputError
        If a number is not above 0, or the element is not known.

    Notes
    -----
    Stays under 60 % of saturation. What a jar holds counts as far as its assay says.

    Examples
    --------
    >>> shelf = [SaltOnShelf(find_salt("bicarbonate of soda"), 500.0)]
    >>> found = recipes_from_shelf(shelf, "alkalinity", 0.5, "dKH", 300.0, mL_per_day=50.0)
    >>> best = found.recipes[0]
    >>> round(best.mL_per_day), round(best.litres, 1), round(best.days)  # 50 mL would be too strong
    (86, 9.5, 111)

    References
    ----------
    Mass balance; 60 %: *common practice, no source*.
    """
    described = find_element(element)
    for what, given in (
        ("a use a day above 0", use_per_day), ("a net volume above 0 L", net_L),
        ("a daily volume above 0 mL", mL_per_day),
    ):  # fmt: skip
        if not 0.0 < given < math.inf:
            raise InputError(what, given, "Check sign and number.", described.name)
    merged = _merged(shelf)
    fitting, left_out = [], {}
    for jar in merged:
        adds = adds_per_gram(jar.salt.name, hydrate=jar.salt.hydrate, assay=jar.assay)
        if adds.get(described.name, 0.0) <= 0.0:
            continue
        if jar.salt.name == _LIME:
            left_out[jar.salt.name] = "It hardly dissolves: give it as limewater."
        elif _NOT_FOR_HOUSEHOLDS in jar.salt.hazard:
            left_out[jar.salt.name] = f"{jar.salt.hazard[:1].upper()}{jar.salt.hazard[1:]}."
        else:
            fitting.append(jar)
    choices: list[list[SaltPart]] = [[SaltPart(jar.salt, 1.0, jar.assay)] for jar in fitting]
    if described.name == "magnesium":
        choices += _pairs(fitting)
    found = []
    for parts in choices:
        try:
            found.append(
                _recipe(
                    parts, merged, described.name, use_per_day, unit, net_L, mL_per_day, coldest_C
                )
            )
        except InputError as error:
            left_out[" + ".join(part.salt.name for part in parts)] = str(error)
    found.sort(key=lambda one: (_last_resort(one.stock), -one.days))
    return ShelfAnswer(described.name, tuple(found), left_out)


def _last_resort(stock: StockSolution) -> int:
    """Return 2 for what burns, 1 for what brings other elements than the wanted one, else 0."""
    if any("hydroxide" in part.salt.salt for part in stock.parts):
        return 2
    return int(any(message.code == "ALSO_ADDS" for message in stock.messages))


def _merged(shelf: Sequence[SaltOnShelf]) -> list[SaltOnShelf]:
    """Jars of one salt and assay count as one."""
    found: dict[tuple[str, float], float] = {}
    for jar in shelf:
        if not 0.0 < jar.grams < math.inf:
            raise InputError("grams above 0", jar.grams, "Leave an empty jar out.", jar.salt.name)
        key = (jar.salt.name, jar.assay)
        found[key] = found.get(key, 0.0) + jar.grams
    return [SaltOnShelf(find_salt(name), g, assay) for (name, assay), g in found.items()]


def _recipe(
    parts: list[SaltPart], shelf: list[SaltOnShelf], element: str, use: float, unit: str,
    net_L: float, wanted_mL: float, coldest_C: float,
) -> ShelfRecipe:  # fmt: skip
    name = f"{element} from " + " and ".join(part.salt.name for part in parts)
    whole = sum(part.parts for part in parts)
    adds = sum(
        part.parts / whole
        * adds_per_gram(part.salt.name, hydrate=part.salt.hydrate, assay=part.assay)[element]
        for part in parts
    )  # fmt: skip
    a_day_g = convert(use, unit, find_element(element).store_unit, element) * net_L / adds
    dissolved = [
        (p.salt, 1000.0 * p.parts / whole * p.assay * p.salt.anhydrous_fraction) for p in parts
    ]
    per_kg_in_a_litre = share_of_saturation(dissolved, coldest_C)
    most_g_per_L = (
        math.inf if per_kg_in_a_litre is None else 1000.0 * ADVISED_SHARE / per_kg_in_a_litre
    )
    grams_per_L = min(1000.0 * a_day_g / wanted_mL, most_g_per_L)
    a_day_mL = 1000.0 * a_day_g / grams_per_L
    stock = stock_solution(
        name, parts, 1.0, element=element, rise=use, unit=unit, amount_mL=a_day_mL, litres=net_L,
        coldest_C=coldest_C,
    )  # fmt: skip
    litres = min(_grams_of(shelf, p) / g for p, g in zip(stock.parts, stock.grams, strict=True))
    return ShelfRecipe(stock, litres, a_day_mL, 1000.0 * litres / a_day_mL)


def _grams_of(shelf: Iterable[SaltOnShelf], part: SaltPart) -> float:
    return sum(
        jar.grams for jar in shelf if jar.salt.name == part.salt.name and jar.assay == part.assay
    )


def _pairs(jars: list[SaltOnShelf]) -> list[list[SaltPart]]:
    return [
        list(sea_water_magnesium(a.salt, b.salt, a.assay, b.assay))
        for a in jars
        for b in jars
        if a.salt.salt == "magnesium chloride" and b.salt.salt == "magnesium sulfate"
    ]


def to_buy(stock: StockSolution, shelf: Sequence[SaltOnShelf]) -> dict[str, float]:
    """Return what is missing on the shelf for a stock.

    Parameters
    ----------
    stock : StockSolution
        Recipe of the whole volume.
    shelf : sequence of SaltOnShelf
        Jars; only those of the recipe's assay count.

    Returns
    -------
    dict of str to float
        Grams as sold by the name of the salt; empty where everything is there.

    Examples
    --------
    >>> from reef_calc.chem.stock_words import salt_part
    >>> stock = stock_solution("potassium", [salt_part("potassium chloride")], 1.0,
    ...     element="potassium", rise=1.0, unit="mg/L", amount_mL=1.0)
    >>> {name: round(g) for name, g in to_buy(stock, []).items()}
    {'potassium chloride': 191}
    """
    missing = {
        part.salt.name: grams - _grams_of(shelf, part)
        for part, grams in zip(stock.parts, stock.grams, strict=True)
    }
    return {name: grams for name, grams in missing.items() if grams > 0.0}


def apart(stocks: Sequence[StockSolution]) -> tuple[str, ...]:
    """Return which stocks must never meet undiluted, in words.

    Parameters
    ----------
    stocks : sequence of StockSolution
        All that is to be dosed.

    Returns
    -------
    tuple of str
        One sentence a pair; empty where nothing falls out.

    Examples
    --------
    >>> apart([])
    ()
    """
    found = []
    for i, one in enumerate(stocks):
        for other in stocks[i + 1 :]:
            why = clashes([part.salt for stock in (one, other) for part in stock.parts])
            if why:
                found.append(
                    f"{one.name} and {other.name}: never in one container, hose or spoon, and dosed "
                    f"at least 30 minutes apart ({why[0]})."
                )
    return tuple(found)
