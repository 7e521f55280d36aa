"""A volume as people write it: litres, gallons, cubic metres, a share, the sides of a tank."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said

# Litres of one unit. The gallons and the inch are exact by definition (NIST Handbook 44, appendix C;
# UK Units of Measurement Regulations 1995).
US_GALLON_L, IMPERIAL_GALLON_L, INCH_CM = 3.785411784, 4.54609, 2.54
GALLONS = {"US": US_GALLON_L, "imperial": IMPERIAL_GALLON_L}
GALLON_KEY = "which gallon"
_LITRES: dict[str, float] = {
    word: litres
    for litres, words in {
        1.0: (
            "l", "ltr", "ltrs", "lt", "lts", "liter", "liters", "litre", "litres", "litro", "litros",
            "litri", "litr", "litry", "litrów", "dm3", "dm³",
        ),
        0.001: ("ml", "milliliter", "milliliters", "millilitre", "millilitres", "cm3", "cm³", "cc"),
        100.0: ("hl",),
        1000.0: ("m3", "m³", "cbm", "kubikmeter", "cubic metre", "cubic metres", "cubic meters"),
        US_GALLON_L: (
            "us gal", "us gals", "us gallon", "us gallons", "gal us", "gallons us", "gal (us)",
            "gallons (us)", "usg", "us. gal", "us-gallonen",
        ),
        IMPERIAL_GALLON_L: (
            "imp gal", "imp. gal", "uk gal", "uk gallon", "uk gallons", "imperial gallon",
            "imperial gallons", "imperial gal", "gal uk", "gal imp", "gal (imp)", "gal (uk)",
            "gallons (uk)", "gallons (imp)", "gallons (imperial)", "imp gallons", "imp gallon",
        ),
    }.items()
    for word in words
}  # fmt: skip
_GALLONS = frozenset(
    ("gal", "gals", "gallon", "gallons", "gallonen", "gallone", "galones", "galloni")
)
_SHARE = frozenset(("%", "percent", "per cent", "prozent", "pct", "pour cent", "por ciento"))
_SIDE_CM = {"mm": 0.1, "cm": 1.0, "m": 100.0, "in": INCH_CM, "inch": INCH_CM, "inches": INCH_CM,
            '"': INCH_CM, "″": INCH_CM, "zoll": INCH_CM}  # fmt: skip
_LONGEST = 120
_NUMBER = r"[-+−~≈<>≤≥]?\s*\d[\d.,'’ ]*(?:\s?[-–]\s?\d[\d.,]*)?\??"
_CELL = re.compile(rf"(?:ca\.?|approx\.?|about|circa|etwa)?\s*({_NUMBER})\s*([^\d].*)?", re.DOTALL)
_SIDES = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*(\D{0,8}?)\s*[x*]\s*(\d+(?:[.,]\d+)?)\s*(\D{0,8}?)\s*[x*]\s*"
    r"(\d+(?:[.,]\d+)?)\s*(\D{0,8})"
)
_SALINITY_UNIT = r"(?:ppt|psu|‰|g/kg|pss|promille|sal|sg)"
# After a mere comma or bracket only a number with its unit is a salinity: "30,5" is one number.
_SALINITY = re.compile(
    r"(?:\s*(?:\bof\b|\bat\b|@|\bbei\b|\bmit\b|\bà\b|\ba\b|\bde\b|\bcon\b|\bavec\b|\bmet\b)\s*"
    rf"(\d+(?:[.,]\d+)?)\s*({_SALINITY_UNIT})?"
    rf"|\s*(?:[,;]\s|\()\s*(\d+(?:[.,]\d+)?)\s*({_SALINITY_UNIT})\)?)$"
)
_UNIT_WORDS = "|".join(sorted(map(re.escape, [*_LITRES, *_GALLONS]), key=len, reverse=True))
_IN_TEXT = re.compile(rf"(?<![\w.,])(\d[\d.,]*)\s*({_UNIT_WORDS})(?![\w%])")


@dataclass(frozen=True, slots=True)
class VolumeCell:
    """What one cell says of a volume.

    Attributes
    ----------
    number : str
        The number in it, as text; empty where there is none.
    unit : str
        ``L`` (any unit that is a fixed number of litres), ``gallon`` (which one is not said), ``%``;
        empty where the cell does not say.
    litres : float
        Litres of one unit; NaN for a gallon, a share and no unit.
    sides_cm : tuple of float
        Three sides in cm; empty where it is no product of sides.
    salinity, salinity_unit : str
        Salinity that stands beside the volume, and its unit.
    said : Said or None
        Why it cannot be read.
    """

    number: str = ""
    unit: str = ""
    litres: float = math.nan
    sides_cm: tuple[float, ...] = ()
    salinity: str = ""
    salinity_unit: str = ""
    said: Said | None = None

    @property
    def gross_L(self) -> float:
        """Product of the three sides (L); NaN where there are none."""
        return math.prod(self.sides_cm) / 1000.0 if self.sides_cm else math.nan


@lru_cache(maxsize=65536)
def read_volume(text: str) -> VolumeCell:
    """Return what a cell says of a volume.

    Parameters
    ----------
    text : str
        Text of the cell.

    Returns
    -------
    VolumeCell
        The number still as text: its decimal mark is decided for its whole column.

    Examples
    --------
    >>> read_volume("100 gal").unit, read_volume("0.4 m³").litres
    ('gallon', 1000.0)
    >>> round(read_volume("75 x 50 x 50 cm").gross_L, 3)
    187.5
    >>> found = read_volume("40L of 35 ppt")
    >>> found.number, found.unit, found.salinity
    ('40', 'L', '35')
    """
    plain = " ".join(text[:_LONGEST].casefold().replace("×", "x").replace("\u00a0", " ").split())
    if not plain:
        return VolumeCell()
    sides = _SIDES.fullmatch(plain)
    if sides:
        units = [word.strip(" .") for word in sides.group(2, 4, 6) if word.strip(" .")]
        if all(word in _SIDE_CM for word in units):
            # A unit behind the last side holds for all of them.
            last = units[-1] if units else "cm"
            words = [word.strip(" .") or last for word in sides.group(2, 4, 6)]
            lengths = [float(side.replace(",", ".")) for side in sides.group(1, 3, 5)]
            cm = tuple(a * _SIDE_CM[word] for a, word in zip(lengths, words, strict=True))
            return VolumeCell(sides_cm=cm)
    salinity = _SALINITY.search(plain)
    found = _CELL.fullmatch(plain[: salinity.start()] if salinity else plain)
    if found:
        cell = _with_unit(found[1].strip(), (found[2] or "").strip(" .[]"))
        if cell is not None:
            if not salinity:
                return cell
            return VolumeCell(
                cell.number,
                cell.unit,
                cell.litres,
                (),
                salinity[1] or salinity[3],
                salinity[2] or salinity[4] or "",
            )
    said = Said(
        "refused", "NO_VOLUME", f"“{text.strip()[:60]}” is no volume.",
        "Write litres as a number, such as 40.",
    )  # fmt: skip
    return VolumeCell(said=said)


def volume_in_text(text: str) -> VolumeCell:
    """Return the one volume that a line above a table names.

    Parameters
    ----------
    text : str
        The line.

    Returns
    -------
    VolumeCell
        Empty where there is none, or more than one.

    Examples
    --------
    >>> volume_in_text("Tank 3, 420 L").number, volume_in_text("420 L, sump 80 L").number
    ('420', '')
    """
    plain = " ".join(text[:_LONGEST].casefold().split())
    inside = set(_IN_TEXT.findall(plain))
    if len(inside) != 1:
        return VolumeCell()
    number, word = inside.pop()
    return _with_unit(number.rstrip(".,"), word) or VolumeCell()


def unit_of_heading(heading: str) -> str:
    """Return the unit of volume in a heading.

    Parameters
    ----------
    heading : str
        Such as "Water change (gal)".

    Returns
    -------
    str
        A text that stands for the unit in a cell, such as "l" or "us gal"; empty where none stands.

    Examples
    --------
    >>> unit_of_heading("Water change (gal)"), unit_of_heading("Change %"), unit_of_heading("WC")
    ('gal', '%', '')
    """
    plain = " ".join(re.sub(r"[()\[\],:_]", " ", heading.casefold().replace("%", " % ")).split())
    words = plain.split()
    for length in (2, 1):
        for at in range(len(words) - length + 1):
            word = " ".join(words[at : at + length])
            if word in _LITRES or word in _GALLONS or word in _SHARE:
                return word
    return ""


def gallon_question(
    key: str, gallons: list[float], rows: tuple[int, ...], column: int | None, answers: Answers
) -> Question:
    """Return the question which gallon is meant.

    Parameters
    ----------
    key : str
        Key of the column.
    gallons : list of float
        Volumes in the file, in gallons (US or imperial).
    rows : tuple of int
        Their rows, from 1.
    column : int or None
        Column, counted from 0.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        Open until it is answered with US or imperial.

    Examples
    --------
    >>> found = gallon_question("volume", [100.0], (3,), 1, {})
    >>> [choice.consequence for choice in found.choices]
    ['100 gallons are 378.5 L.', '100 gallons are 454.6 L.']
    """
    largest = max(gallons, default=1.0)
    word = "gallon is" if largest == 1.0 else "gallons are"
    choices = tuple(
        Choice(
            name,
            f"{name} gallons ({litres:.3f} L)",
            f"{largest:g} {word} {largest * litres:.1f} L.",
        )
        for name, litres in GALLONS.items()
    )
    question_key = f"{GALLON_KEY}/{key}"
    given = answers.get(question_key, "")
    text = "Which gallon is meant?"
    if given and given not in GALLONS:
        text += f" The answer “{given[:60]}” is neither."
        given = ""
    return Question(question_key, text, choices, rows, column, answered=given)


def _with_unit(number: str, word: str) -> VolumeCell | None:
    if word in _LITRES:
        return VolumeCell(number, "L", _LITRES[word])
    if word in _GALLONS:
        return VolumeCell(number, "gallon")
    if word in _SHARE:
        return VolumeCell(number, "%")
    return VolumeCell(number) if not word else None
