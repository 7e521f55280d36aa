"""Stock solutions from the salts of the shelf: grams, strength, what dissolves, the label."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.chem.elements import element as find_element
from reef_calc.chem.solubility import share_of_saturation
from reef_calc.chem.stock_words import (
    SaltPart,
    also_adds,
    assumed_of_stock,
    messages_of_stock,
    two_digits,
    why_too_strong,
)
from reef_calc.chem.substances import adds_per_gram, clashes
from reef_calc.chem.supplements import Supplement, level_rise, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed

_LIME = "calcium hydroxide"
_HOT = ("calcium chloride anhydrous", "calcium chloride dihydrate", "sodium hydroxide",
        "magnesium sulfate anhydrous")  # fmt: skip


def _figures(value: float) -> str:
    """Return a number above 0 with four figures and no power of ten."""
    text = f"{value:.4g}"
    return text if "e" not in text else fixed(value, max(0, 3 - math.floor(math.log10(value))))


@dataclass(frozen=True)
class StockSolution:
    """A stock solution, made up to a volume.

    Attributes
    ----------
    name : str
        What stands on the label.
    parts : tuple of SaltPart
        Salts of the recipe.
    grams : tuple of float
        Mass of each as sold (g) for the whole volume.
    volume_L : float
        Volume it is made up to (L).
    supplement : Supplement
        The same as a container that is dosed; every ion a mL adds.
    share_of_saturation : float or None
        1 where salt begins to stay at the bottom (no unit); None where no table is known.
    coldest_C : float
        Coldest temperature it was checked for (°C).
    element, strength : str
        What it is made for, and its strength in words.
    assumed : tuple of str
        What was taken without being measured, in sentences.
    messages : tuple of Message
        What to know, in order of weight.
    """

    name: str
    parts: tuple[SaltPart, ...]
    grams: tuple[float, ...]
    volume_L: float
    supplement: Supplement
    share_of_saturation: float | None
    coldest_C: float
    element: str
    strength: str
    assumed: tuple[str, ...]
    messages: tuple[Message, ...]

    @property
    def recipe(self) -> tuple[dict[str, object], ...]:
        """Lines as a supplement's ``recipe`` of supplements.toml holds them."""
        return tuple(
            {
                "salt": part.salt.salt,
                "hydrate": part.salt.hydrate,
                "assay": part.assay,
                "grams_per_L": grams / self.volume_L,
            }
            for part, grams in zip(self.parts, self.grams, strict=True)
        )

    def steps(self) -> tuple[str, ...]:
        """Return how it is made, step by step."""
        hot = [part.salt.name for part in self.parts if part.salt.name in _HOT]
        found = ["Gloves and eye protection on. Children, pets and food away."]
        if any("hydroxide" in part.salt.salt for part in self.parts):
            found = [
                "Goggles that close all round, gloves, long sleeves, running water within reach. "
                "Children, pets, food and acids away. A heat-proof plastic container, no metal."
            ]
        found += [
            f"Weigh {_figures(grams)} g of {part.salt.name}"
            + (f" ({100 * part.assay:.3g} % pure)." if part.assay != 1.0 else ".")
            for part, grams in zip(self.parts, self.grams, strict=True)
        ]
        found.append(
            f"Put about {0.7 * self.volume_L:.3g} L of cold purified water into the container. "
            "Stir the salt in slowly; never pour water onto the salt."
        )
        if hot:
            found.append(f"It gets hot ({', '.join(hot)}): wait until it is at room temperature.")
        found += [
            f"Fill up to {self.volume_L:.3g} L and mix until it is clear.",
            "Label it at once.",
        ]
        return tuple(found)

    def label(self, made_on: dt.date, made_by: str) -> tuple[str, ...]:
        """Return the lines of its label.

        Parameters
        ----------
        made_on : datetime.date
            Day it was made.
        made_by : str
            Who made it; may be empty, then a line is left to write on.

        Returns
        -------
        tuple of str
            Lines of plain text.
        """
        contents = ", ".join(
            f"{_figures(grams / self.volume_L)} g/L {part.salt.name}"
            for part, grams in zip(self.parts, self.grams, strict=True)
        )
        hazards = [p.salt.hazard for p in self.parts if p.salt.hazard != "not classified"]
        away = dict.fromkeys(thing for part in self.parts for thing in part.salt.never_with)
        return (
            self.name,
            contents,
            self.strength,
            f"Made on {made_on:%Y-%m-%d} by {made_by.strip() or '____________'}",
            "Hazard of the salt: " + ("; ".join(dict.fromkeys(hazards)) or "not classified"),
            "Never together with: " + (", ".join(away) or "anything else"),
            "NOT FOR DRINKING. Keep away from children, pets and food.",
        )


def stock_solution(
    name: str,
    parts: Sequence[SaltPart],
    volume_L: float,
    *,
    element: str,
    rise: float,
    unit: str,
    amount_mL: float = 1.0,
    litres: float = 100.0,
    coldest_C: float = 20.0,
    density_kg_per_L: float = 1.0,
) -> StockSolution:
    """Return the recipe of a stock of which so many mL raise so many litres by so much.

    grams per litre = 1000·rise·litres/(amount·what a gram of the mixture adds)

    Parameters
    ----------
    name : str
        What stands on the label.
    parts : sequence of SaltPart
        Salts with their parts by mass.
    volume_L : float
        Volume to make (L).
    element : str
        What it is made for.
    rise : float
        Wanted rise in ``unit``. For a wanted daily volume: the use of a day.
    unit : str
        Unit of the rise, per litre.
    amount_mL : float, optional
        Volume that makes this rise (mL). For a wanted daily volume: that volume.
    litres : float, optional
        Water that it raises (L). For a wanted daily volume: the net volume of the tank.
    coldest_C : float, optional
        Coldest temperature the container ever has (°C).
    density_kg_per_L : float, optional
        Density of the finished solution (kg/L), only for what dissolves; water's if not measured.

    Returns
    -------
    StockSolution
        Grams as sold, every ion a mL adds, label, cautions.

    Raises
    ------
    InputError
        If a number is not above 0, no salt adds the element, the salts fall out together, more is
        asked for than dissolves, or the salt is lime.

    Notes
    -----
    Up to 60 % of saturation nothing is said; between that and saturation the result says so.

    Examples
    --------
    >>> from reef_calc.chem.stock_words import salt_part
    >>> soda = stock_solution("soda", [salt_part("soda ash")], 2.0, element="alkalinity",
    ...     rise=0.9, unit="dKH", amount_mL=100.0, litres=300.0)
    >>> round(soda.grams[0], 1), round(soda.share_of_saturation, 2)
    (102.1, 0.29)
    >>> soda.strength
    '10 mL raise 100 L by 0.27 dKH'

    References
    ----------
    Mass balance; 60 %: *common practice, no source*.
    """
    described = find_element(element)
    for what, given in (
        ("a rise above 0", rise), ("an amount above 0 mL", amount_mL), ("water above 0 L", litres),
        ("a volume to make above 0 L", volume_L),
    ):  # fmt: skip
        if not 0.0 < given < math.inf:
            raise InputError(what, given, "Check sign and number.", name)
    if not parts:
        raise InputError("at least one salt", "none", "Choose what is on the shelf.", name)
    if any(part.salt.name == _LIME for part in parts):
        raise InputError(
            "a salt that dissolves well", _LIME, "Make limewater of it: about 1.5 g/L is all that "
            "dissolves, and it is given in place of top-off water.", name,
        )  # fmt: skip
    falling = clashes([part.salt for part in parts])
    if falling:
        raise InputError(
            "salts that stay dissolved together", "; ".join(falling), "Use two containers.", name
        )
    whole = sum(part.parts for part in parts)
    per_gram = sum(
        part.parts / whole
        * adds_per_gram(part.salt.name, hydrate=part.salt.hydrate, assay=part.assay, where=name)
        .get(described.name, 0.0)
        for part in parts
    )  # fmt: skip
    if per_gram <= 0.0:
        words = " and ".join(part.salt.name for part in parts)
        raise InputError(f"a salt that adds {described.name}", words, "Choose another salt.", name)
    stored = convert(rise, unit, described.store_unit, described.name, where=name)
    grams_per_L = 1000.0 * stored * litres / (amount_mL * per_gram)
    each = [grams_per_L * part.parts / whole for part in parts]
    dissolved = [
        (part.salt, grams * part.assay * part.salt.anhydrous_fraction)
        for part, grams in zip(parts, each, strict=True)
    ]
    share = share_of_saturation(dissolved, coldest_C, density_kg_per_L)
    if share is not None and share > 1.0 + 1e-9:
        asked = f"{amount_mL:g} mL then raise{'s' if amount_mL == 1 else ''} {litres:g} L by"
        words = " and ".join(part.salt.name for part in parts)
        raise InputError(
            f"a solution that stays clear at {coldest_C:g} °C",
            f"{grams_per_L:.3g} g/L of {words}",
            why_too_strong(share, grams_per_L, volume_L, rise, unit, asked),
            name,
        )
    table = {
        "recipe": [
            {"salt": p.salt.salt, "hydrate": p.salt.hydrate, "assay": p.assay, "grams_per_L": g}
            for p, g in zip(parts, each, strict=True)
        ]
    }
    supplement = supplement_from_table(name, table)
    per_10_mL = level_rise(supplement, 10.0, "mL", described.name, 100.0, unit)
    return StockSolution(
        name,
        tuple(parts),
        tuple(grams * volume_L for grams in each),
        volume_L,
        supplement,
        share,
        coldest_C,
        described.name,
        f"10 mL raise 100 L by {two_digits(per_10_mL)} {unit}",
        assumed_of_stock(parts, density_kg_per_L),
        (
            *also_adds(supplement, described.name),
            *messages_of_stock(parts, each, share, coldest_C),
        ),
    )
