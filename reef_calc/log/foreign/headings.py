"""A heading taken apart: the unit in it, the element, and what else it says."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from reef_calc.log.foreign.heading_words import (
    FILLERS,
    INDEX_WORDS,
    KIT_WORDS,
    NOT_LEVELS,
    ROLE_WORDS,
)
from reef_calc.log.foreign.names import Named, named_in
from reef_calc.log.foreign.plain_words import holds, plain, without

_LITRE = r"(?:l|lt|ltr|litre|liter|litro|kg|dm3|dm³)"
_MASS = r"(?:[mµμun?\ufffd]|mc)?(?:g|mol|eq|val)|milligrams?|micrograms?|milligramm|mikrogramm"
# Longest first; a unit is never part of a word.
_UNIT = re.compile(
    rf"""(?<![^\W_])(?<![0-9])(?:
    (?:{_MASS})\s*(?P<between>(?!(?:{_MASS})\s*/)[a-z][a-z0-9₀-₉]*(?:-[a-z])?)?\s*(?:/|\bper\b|\bpro\b|\bpar\b|\bpor\b)\s*{_LITRE}\b
    |(?:{_MASS})\s*[·.]?\s*{_LITRE}\s*(?:-1|⁻¹)
    |sg\s*\d\d(?:[.,]\d)?\s*°?[cf]?\s*/\s*\d{{1,2}}(?:[.,]\d)?\s*°?[cf]?|g\s*/\s*(?:cm3|cm³|ml|cc)|kg\s*/\s*(?:l|m3|m³)
    |[mµμu]?s\s*/\s*c?m|ppm|ppb|ppt|psu|‰|%
    |°\s*d?kh|dkh|°\s*d(?:h|\b)|grad\s+[dk]h|°\s*fh?|fh\b|dh\b|°\s*th|°\s*c\b|°\s*k\b|deg(?:rees)?\s+[cf]\b|deg[cf]\b|celsius|fahrenheit
    |mval|meq|[0-9]*m[lL]\s*/\s*(?:d|day|tag|jour|día|dia|giorno|dag)\b|m[lL]\b|milliliters?|millilitres?
    |litres?|liters?|litri|litros|gal(?:lons?)?\b|tropfen|gramm?\b|grams\b
    )(?![^\W\d_])""",
    re.IGNORECASE | re.VERBOSE,
)
_DOSE = re.compile(r"m[lL]\b|milli|tropfen|gram|m[lL]\s*/")
_VOLUME = re.compile(r"lit|gal", re.IGNORECASE)
# One letter in brackets or at the end, where the element says what it must be.
_LETTER_UNIT = re.compile(r"(?:[(\[/,_ ]\s*)(°?[cfl]|ml|g|l|d|drops)\s*[)\]]?\s*$", re.IGNORECASE)
_AS = re.compile(r"\b(?:(?:as|als|en|como|come|in) )?(caco3|hco3)\b")


@dataclass(frozen=True)
class Heading:
    """A heading taken apart.

    Attributes
    ----------
    unit_text : str
        Unit as written; empty where there is none.
    words : str
        The rest of the heading in plain words.
    named : Named
        Element in it; its rest without words that say nothing more.
    level : bool
        Whether nothing beside the element says that the numbers are no levels.
    kit : str
        What it was read with, in the words of the heading.
    beside : str
        All plain words beside the element.
    """

    unit_text: str
    words: str
    named: Named
    level: bool = True
    kit: str = ""
    beside: str = ""


# “WaterTemp” are two words.
_TOGETHER = re.compile("(?<=[a-z]{3})(?=[A-Z][a-z]{2})")


@cache
def _set_of(words: str) -> frozenset[str]:
    return frozenset(plain(word) for word in words.split(","))


def heading_read(text: str) -> Heading:
    """Return a heading taken apart.

    Parameters
    ----------
    text : str
        Heading as written.

    Returns
    -------
    Heading
        Its parts; case, accents, dots, brackets, underscores and the order do not matter.

    Examples
    --------
    >>> heading_read("KH [°dKH]").unit_text, heading_read("mg/L Ca").named.element
    ('°dKH', 'calcium')
    >>> heading_read("PO4-P (ppb)").named.species, heading_read("KH - lab").kit
    ('PO4-P', 'lab')
    >>> heading_read("Alk target").level
    False
    """
    apart = _TOGETHER.sub(" ", text)
    if apart != text and not named_in(unit_in(text)[1]).element:
        text = apart
    unit, rest = unit_in(text)
    words = plain(rest)
    found = _AS.search(words)
    if found and unit:
        unit = f"{unit} as {found[1].replace('caco3', 'CaCO3').replace('hco3', 'HCO3')}"
        words = " ".join(words.replace(found[0], " ").split())
        rest = words
    named = named_in(rest)
    if not named.element and not words and unit:
        # The heading is a unit that only one element has.
        named = _only(unit)
    if not named.element:
        letter = _LETTER_UNIT.search(text) if not unit else None
        if letter:
            unit, words = letter[1], plain(text[: letter.start()])
        return Heading(unit, words, named)
    if named.element in ("temperature", "alkalinity") and not unit:
        letter = re.search(r"\b(c|f)\b", named.rest) if named.element == "temperature" else None
        if letter:
            unit = letter[1].upper()
            named = Named(named.element, named.species, without(named.rest, letter[1]))
    rest_words = _without_fillers(named.rest)
    level = not any(holds(rest_words, one) for one in _set_of(NOT_LEVELS))
    kits = _set_of(KIT_WORDS)
    kit = ""
    if rest_words and level:
        first = rest_words.split()[0]
        if first in kits or rest_words in kits or rest_words.split()[-1] in kits:
            kit = _as_written(rest_words, text)
    parts = Named(named.element, named.species, rest_words)
    return Heading(unit, words, parts, level, kit, named.rest)


def unit_in(text: str) -> tuple[str, str]:
    """Return the unit that stands in a text, and the text without it.

    Parameters
    ----------
    text : str
        Heading, or name of an element.

    Returns
    -------
    tuple of str
        Unit as written, empty where there is none; the rest.

    Examples
    --------
    >>> unit_in("Ca mg/L")[0], unit_in("Mg mmol/L")[0]
    ('mg/L', 'mmol/L')
    """
    found = _UNIT.search(text)
    if found is None:
        return "", text
    between = found.groupdict().get("between") or ""
    unit = found[0].strip()
    if between and between.casefold() not in ("as", "in"):
        unit = unit.replace(between, "", 1)
    rest = f"{text[: found.start()]} {between} {text[found.end() :]}"
    return " ".join(unit.split()), rest


def _only(unit: str) -> Named:
    plain_unit = unit.casefold().replace("°", "").replace(" ", "")
    if plain_unit in ("dkh", "kh"):
        return Named("alkalinity")
    if plain_unit == "psu" or plain_unit.startswith("sg") or plain_unit == "ms/cm":
        return Named("salinity")
    if plain_unit in ("c", "f", "degc", "degf", "celsius", "fahrenheit") and unit not in "CcFf":
        return Named("temperature")
    return Named()


def _without_fillers(words: str) -> str:
    kits = _set_of(KIT_WORDS)
    if words in kits:
        return words
    kept = [word for word in words.split() if word not in _set_of(FILLERS)]
    # “kit A test” keeps its kit; “test” alone says nothing.
    return " ".join(kept)


def _as_written(words: str, text: str) -> str:
    """Return plain words as the heading spells them, where they stand there in one piece."""
    pattern = r"[\W_]+".join(map(re.escape, words.split()))
    found = re.search(pattern, text, re.IGNORECASE)
    return found[0] if found else words


def as_written(words: str, text: str) -> str:
    """Return plain words as a heading spells them.

    Parameters
    ----------
    words : str
        Plain words of the heading.
    text : str
        The heading.

    Returns
    -------
    str
        As spelled there; the words themselves where accents or other words lie between.

    Examples
    --------
    >>> as_written("kit a", "KH (Kit A)")
    'Kit A'
    """
    return _as_written(words, text)


@cache
def _roles() -> dict[str, str]:
    found = {plain(word): "index" for word in INDEX_WORDS.split(",")}
    for role, words in reversed(ROLE_WORDS.items()):
        found |= {plain(word): role for word in words.split(",")}
    # Signs without a letter leave no word.
    return {word: role for word, role in found.items() if word}


def role_of_words(words: str) -> str:
    """Return what a heading without element says its column is.

    Parameters
    ----------
    words : str
        Plain words, without the unit.

    Returns
    -------
    str
        A role of ``Column``, or ``index``; empty where no word decides it, or two words say
        different things.

    Examples
    --------
    >>> role_of_words("datum"), role_of_words("lot no"), role_of_words("moon phase")
    ('date', 'lot', '')
    """
    known = _roles()
    if words in known:
        return known[words]
    tried = _without_fillers(words)
    if tried in known:
        return known[tried]
    listed = tried.split()
    # Carbon and filters are changed too.
    found = [known[one] for one in listed if one in known and len(one) > 2 and one != "changed"]
    # A date or an amount stays one whatever else is said; other words have to agree.
    for strong in ("average", "date", "note", "lot", "litres", "unit"):
        if strong in found:
            return strong
    return found[0] if len(set(found)) == 1 and len(found) == len(listed) else ""


def is_dose(unit: str) -> bool:
    """Return whether a unit measures what is dosed.

    Parameters
    ----------
    unit : str
        Unit as written.

    Returns
    -------
    bool
        True for millilitres, grams and drops.

    Examples
    --------
    >>> is_dose("mL/day"), is_dose("mg/L")
    (True, False)
    """
    return bool(_DOSE.match(unit))


def is_volume(unit: str) -> bool:
    """Return whether a unit measures volumes of water.

    Parameters
    ----------
    unit : str
        Unit as written.

    Returns
    -------
    bool
        True for litres and gallons.

    Examples
    --------
    >>> is_volume("litres"), is_volume("mL")
    (True, False)
    """
    return bool(_VOLUME.match(unit)) or unit in ("L", "l")
