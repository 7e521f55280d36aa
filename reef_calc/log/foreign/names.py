"""The element that a text names: in a heading, or in a cell of a column of elements."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, lru_cache

from reef_calc.log.foreign.heading_words import ELEMENT_WORDS, TRACE_NAMES, WRONG_FRIENDS
from reef_calc.log.foreign.plain_words import holds, plain, without

# Symbols that headings and cells use for words or other quantities: only their names count.
_AMBIGUOUS = ("No", "At", "In", "He", "Es", "Am", "Pm", "N", "S", "C", "H", "O")
_FILL = re.compile(r"\b(total|dissolved|gesamt|gelöst|totale?|ion|ions|value|level|wert)\b")


@dataclass(frozen=True)
class Named:
    """An element that a text names.

    Attributes
    ----------
    element : str
        Element of the closed list, or the symbol of another; empty where none is named.
    species : str
        Substance that is weighed where a unit does not say it, such as ``PO4-P``; of salinity the
        scale (``SG``, ``density``, ``conductivity``).
    rest : str
        What else the text says, in plain words.
    """

    element: str = ""
    species: str = ""
    rest: str = ""


@cache
def phrases() -> dict[str, tuple[str, str]]:
    """Return the phrases that name an element.

    Returns
    -------
    dict of str to (str, str)
        Plain words to element and species.

    Examples
    --------
    >>> phrases()["po4 p"], phrases()["karbonatharte"]
    (('phosphate', 'PO4-P'), ('alkalinity', ''))
    """
    found: dict[str, tuple[str, str]] = {}
    for key, words in ELEMENT_WORDS.items():
        name, _, species = key.partition("|")
        for word in words.split(","):
            found.setdefault(plain(word), (name, species))
    for symbol, words in TRACE_NAMES.items():
        for word in words.split(","):
            found.setdefault(plain(word), (symbol, ""))
    return found


@cache
def _wrong_friends() -> dict[str, str]:
    return {plain(word): why for words, why in WRONG_FRIENDS.items() for word in words.split(",")}


@lru_cache(maxsize=4096)
def named_in(text: str) -> Named:
    """Return the element that a text names, and the rest of it.

    Parameters
    ----------
    text : str
        Text as written, without its unit.

    Returns
    -------
    Named
        Nothing where no element is named, or two are.

    Notes
    -----
    A symbol of one letter counts only as the first word: “kit B” names no boron. Nothing is taken
    that is merely similar.

    Examples
    --------
    >>> named_in("KH kit A")
    Named(element='alkalinity', species='', rest='kit a')
    >>> named_in("kit B"), named_in("Ca/Mg")
    (Named(element='', species='', rest='kit b'), Named(element='', species='', rest='ca mg'))
    """
    words = plain(text)
    known = phrases()
    listed = words.split()
    spans: list[tuple[int, int]] = []
    used: set[int] = set()
    for size in range(min(5, len(listed)), 0, -1):
        for start in range(len(listed) - size + 1):
            phrase = " ".join(listed[start : start + size])
            if phrase not in known or (len(phrase) == 1 and start):
                continue
            # A trace is named in a heading by its name; short words of it mean other things.
            if known[phrase][0] in TRACE_NAMES and (len(phrase) < 4 and len(listed) > 1):
                continue
            places = range(start, start + size)
            if used.isdisjoint(places):
                used.update(places)
                spans.append((start, start + size))
    found = [known[" ".join(listed[start:end])] for start, end in spans]
    names = {name for name, _ in found}
    if not names:
        symbol = text.strip().split()[0] if text.strip() else ""
        if _is_symbol(symbol):
            return Named(symbol, "", " ".join(listed[1:]))
    if len(names) != 1:
        return Named(rest=words)
    rest = " ".join(word for place, word in enumerate(listed) if place not in used)
    species = {species for _, species in found if species}
    if len(species) > 1:
        # Such as NO3 beside NO3-N twice told; two different substances are two meanings.
        return Named(rest=words)
    return Named(names.pop(), species.pop() if species else "", rest)


@cache
def _symbols() -> frozenset[str]:
    from periodictable import elements

    return frozenset(str(one) for one in elements if one.number > 0) - set(_AMBIGUOUS)


def _is_symbol(text: str) -> bool:
    return 0 < len(text) <= 2 and text[0].isupper() and text in _symbols()


def element_named(text: str) -> str:
    """Return the element that a cell names.

    Parameters
    ----------
    text : str
        Cell of a column of elements.

    Returns
    -------
    str
        Element of the closed list, or a chemical symbol; empty where it names none, or more than
        one.

    Examples
    --------
    >>> element_named("Ca2+"), element_named("Gesamtalkalinität"), element_named("PO4-P")
    ('calcium', 'alkalinity', 'phosphate')
    >>> element_named("Ta"), element_named("TA"), element_named("Eisen"), element_named("GH")
    ('Ta', 'alkalinity', 'Fe', '')
    """
    return _in_cell(text).element


def species_named(text: str) -> str:
    """Return the substance that a name says is weighed, beside the element.

    Parameters
    ----------
    text : str
        Cell of a column of elements, or a heading.

    Returns
    -------
    str
        Such as ``NO3-N``, where a plain mg/L would mean another substance; empty otherwise. Of
        salinity ``SG``, ``density`` or ``conductivity``.

    Examples
    --------
    >>> species_named("Nitrate-N"), species_named("NO3"), species_named("P")
    ('NO3-N', '', 'P')
    """
    return _in_cell(text).species


@lru_cache(maxsize=4096)
def _in_cell(text: str) -> Named:
    cell = text.strip()
    # In a list of elements Ta is tantalum and In is indium; as written in capitals TA is not.
    symbols = _symbols() | {"In", "S", "C"}
    as_symbol = cell in ("S", "C") or (len(cell) == 2 and cell[0].isupper() and cell[1].islower())
    if as_symbol and cell not in ("Ca", "Mg", "Sr", "Br", "Cl", "Na", "Si") and cell in symbols:
        return Named(cell)
    if wrong_friend(cell):
        return Named()
    found = named_in(cell)
    rest = found.rest
    if rest and found.element:
        # “Calcium (Ca)” or “Eisen Fe” say the same twice.
        rest = " ".join(w for w in rest.split() if w != found.element.casefold())
        rest = " ".join(_FILL.sub(" ", rest).split())
    if rest:
        return Named()
    return found


def wrong_friend(text: str) -> str:
    """Return why a heading that resembles a level is none.

    Parameters
    ----------
    text : str
        Heading without its unit.

    Returns
    -------
    str
        The reason; empty where there is none.

    Examples
    --------
    >>> wrong_friend("GH")
    'total hardness counts calcium and magnesium together and is the level of neither'
    >>> wrong_friend("KH")
    ''
    """
    words = plain(text)
    known = _wrong_friends()
    if words in known:
        return known[words]
    # A longer heading counts where the friend is named and no element beside it.
    for phrase, why in known.items():
        if holds(words, phrase) and not named_in(without(words, phrase)).element:
            return why
    return ""


def suggested(text: str) -> str:
    """Return the element that a text resembles; only ever offered, never taken.

    Parameters
    ----------
    text : str
        Text that names none.

    Returns
    -------
    str
        Element of the closed list or symbol; empty where nothing is near.

    Examples
    --------
    >>> suggested("Calcuim"), suggested("moonphase")
    ('calcium', '')
    """
    words = plain(text)
    if len(words) < 4:
        return ""
    near = get_close_matches(words, [one for one in phrases() if len(one) > 3], 1, 0.8)
    return phrases()[near[0]][0] if near else ""
