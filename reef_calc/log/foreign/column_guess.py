"""What one column of a foreign table is, by its heading and its cells."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units
from reef_calc.log.description import Description
from reef_calc.log.foreign.cell_forms import are_units
from reef_calc.log.foreign.columns import Role
from reef_calc.log.foreign.heading_words import (
    AVERAGE_SIGNS,
    INDEX_SIGNS,
    NOT_LEVELS,
    ROLE_WORDS,
)
from reef_calc.log.foreign.headings import (
    Heading,
    as_written,
    heading_read,
    is_dose,
    is_volume,
    role_of_words,
)
from reef_calc.log.foreign.mixed_tables import is_dosed, volume_heading
from reef_calc.log.foreign.names import element_named, suggested, wrong_friend
from reef_calc.log.foreign.plain_words import holds, plain
from reef_calc.log.foreign.unit_forms import unit_form
from reef_calc.log.foreign.waters import water_named

_NUMBER = re.compile(r"[<>~≈≤≥±+\-−(]*\s*[0-9.,·][0-9.,'·  ]*(?:e[+-]?[0-9]+)?")
_DATE = re.compile(
    r"[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}|[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2,4}"
    r"|[0-9]{1,2}\.?[ -][a-zäéûç]{3,9}\.?[ -][0-9]{2,4}|[a-zäéûç]{3,9}\.? [0-9]{1,2}, [0-9]{4}",
    re.IGNORECASE,
)
# “U (k = 2)”: an expanded uncertainty.
_COVERAGE = re.compile(r"\bk\s*=\s*[0-9]", re.IGNORECASE)
# “KH (7-9)”: what is aimed at.
_AIMS = re.compile(r"[0-9]\s*(?:-|–|—|to|bis|à|a)\s*[0-9]")
_OTHER_TANKS = (
    "tank", "aquarium", "display", "becken", "frag", "sump", "bac", "vasca", "acuario", "bak",
    "refugium", "quarantine", "reactor", "reaktor", "akwarium", "akvarium", "aquario",
)  # fmt: skip
# Stands for words that name a tank, which are no kit.
OTHER_TANK = " "
# Two levels of one element at one time are no two kits.
_MOMENTS = (
    "before,after,vorher,nachher,vor,nach,avant,après,antes,después,depois,prima,dopo,voor,na,przed,"
    "po,före,efter,før,pre,post"
)
MOMENT = " Take one such column, or none: two levels at one time become one."
_EITHER = ("test", "tests", "name", "item", "type", "bezeichnung", "nom", "nombre", "naam", "nazwa")


@dataclass(frozen=True)
class Guess:
    """What a column seems to be.

    Attributes
    ----------
    role : str
        As ``Column.role``; ``unknown`` where it has to be asked.
    element, species, unit_text, kit, water : str
        What the heading says.
    part : str
        Part of the day that the heading names, as ``Column.part``.
    beside : str
        Words beside the element that say neither kit nor water.
    note : str
        What was assumed, a sentence; empty where nothing was.
    likely : str
        Element that is offered first where the role is unknown.
    other : str
        Role it has instead where the file holds another column of its element.
    """

    role: Role
    element: str = ""
    species: str = ""
    unit_text: str = ""
    kit: str = ""
    water: str = ""
    part: str = ""
    beside: str = ""
    note: str = ""
    likely: str = ""
    other: Role | str = ""


def share_of_numbers(texts: Sequence[str]) -> float:
    """Return the share of cells that begin with a number.

    Parameters
    ----------
    texts : sequence of str
        Cells that are not empty.

    Returns
    -------
    float
        Between 0 and 1; dates count as no numbers.

    Examples
    --------
    >>> share_of_numbers(["8,3", "<0.02", "soft", "420ppm"])
    0.75
    """
    if not texts:
        return 0.0
    found = sum(bool(_NUMBER.match(text)) and not is_date(text) for text in texts)
    return found / len(texts)


def is_date(text: str) -> bool:
    """Return whether a cell looks like a date, whatever its order.

    Parameters
    ----------
    text : str
        The cell.

    Returns
    -------
    bool
        True for day, month and year.

    Examples
    --------
    >>> is_date("01.02.2026"), is_date("8.3"), is_date("5-10")
    (True, False, False)
    """
    return bool(_DATE.match(text.strip()))


def column_guess(
    heading: str, part: str, unit_row: str, texts: Sequence[str], tank: Description
) -> Guess:
    """Return what a column seems to be.

    Parameters
    ----------
    heading : str
        What stands above it; of two rows joined.
    part : str
        Lower heading where an upper one spans several columns; empty otherwise.
    unit_row : str
        Unit below the heading; empty where there is none.
    texts : sequence of str
        Some of its cells, none empty.
    tank : Description
        The tank: names of its kits and supplements.

    Returns
    -------
    Guess
        Its role and what the heading says.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> guess = column_guess("Ca (mg/L)", "", "", ["420"], example_tank())
    >>> guess.role, guess.element, guess.unit_text
    ('value', 'calcium', 'mg/L')
    >>> column_guess("moonphase", "", "", ["0.3"], example_tank()).role
    'unknown'
    """
    read = heading_read(heading)
    unit = _of_two(read.unit_text, unit_row.strip(), read.named.element)
    numeric = share_of_numbers(texts) >= 0.5
    if heading.lstrip(" (").startswith("±") or _COVERAGE.search(heading):
        return Guess("u", unit_text=unit)
    why = wrong_friend(read.words)
    if why:
        return Guess("not used", note=f"not used: {why}")
    named = _own_name(read, heading, texts, tank, unit)
    if named is not None:
        return named
    if read.named.element:
        return _of_element(read, heading, part, unit, tank, numeric or not texts)
    return _of_words(read, heading, unit, texts, numeric)


def _of_two(heading: str, below: str, element: str) -> str:
    """Return the unit below a heading; both where the heading says another one."""
    if not (heading and below and element in ELEMENTS):
        return below or heading
    first, second = unit_form(heading, element), unit_form(below, element)
    apart = first != second and {first, second} <= set(accepted_units(element))
    return f"{heading} or {below}" if apart else below


def _own_name(
    read: Heading, heading: str, texts: Sequence[str], tank: Description, unit: str
) -> Guess | None:
    """Take a heading that is the name of a kit or a supplement of this tank."""
    kits = {plain(name): name for name in tank.kits}
    supplements = {plain(name) for name in tank.supplements}
    words = plain(heading)
    if read.words in supplements and (not read.named.element or is_dose(unit)):
        return Guess("amount", unit_text=unit)
    if words in kits and not read.named.element and share_of_numbers(texts) >= 0.5:
        kit = tank.kits[kits[words]]
        if kit.element:
            note = f"the kit “{kits[words]}” of this tank, so {kit.element}"
            return Guess(
                "value", kit.element, unit_text=unit or kit.unit, kit=kits[words], note=note
            )
    return None


def _of_element(
    read: Heading, heading: str, part: str, unit: str, tank: Description, numeric: bool
) -> Guess:
    element, species, rest = read.named.element, read.named.species, read.named.rest
    if is_dose(unit) or (not unit and is_dosed(rest)):
        return Guess("amount", unit_text=unit)
    if is_volume(unit) and element in ELEMENTS:
        return Guess("unknown", unit_text=unit, likely=element)
    if rest and rest.split()[-1] in ("lot", "batch", "charge", "los", "lote", "lotto", "charge nr"):
        return Guess("lot", element)
    if not numeric:
        return Guess("note", note="it holds no numbers; its text is kept in the note")
    words = set(rest.split())
    if words & _average_words():
        return Guess("average", element, species, unit, other="unknown")
    if not read.level:
        if role_of_words(rest) == "note":
            return Guess("note", note=f"a note of {element} alone")
        return Guess(
            "not used",
            element,
            species,
            unit,
            note="not used: no level that was read",
            other="unknown",
        )
    if rest in ("u", "uncertainty"):
        return Guess("not used", note=f"not used: it speaks of {element} alone")
    water = _water_in(read.beside, tank)
    if water:
        return Guess("value", element, species, unit, water=water)
    kit = read.kit
    named_kit = {plain(name): name for name in tank.kits}.get(rest, "")
    kit = named_kit or kit
    tank_words = [word for word in read.beside.split() if word in _OTHER_TANKS]
    if tank_words and rest and not kit:
        return Guess("unknown", element, species, unit, beside=OTHER_TANK, likely=element)
    if any(plain(word) in rest.split() for word in _MOMENTS.split(",")):
        return Guess("unknown", element, species, unit, likely=element, note=MOMENT)
    if _AIMS.search(heading) and re.fullmatch("[0-9 ]+", rest):
        aims = f"the numbers in its heading are no level: taken as {element}"
        return Guess("value", element, species, unit, note=aims)
    if kit or not rest:
        return Guess("value", element, species, unit, kit=kit)
    if part.strip() and element_named(part) == "":
        return Guess("value", element, species, unit, kit=as_written(rest, part))
    beside = as_written(rest, heading)
    return Guess("unknown", element, species, unit, beside=beside, likely=element)


def _of_words(read: Heading, heading: str, unit: str, texts: Sequence[str], numeric: bool) -> Guess:
    words = read.words
    role = role_of_words(words)
    if role in ("element", "value") and sum(map(is_date, texts)) * 2 > len(texts):
        return Guess("date", note="taken as the date, by its cells")
    if heading.strip() in AVERAGE_SIGNS:
        return Guess("average")
    if heading.strip() in INDEX_SIGNS or (not role and words.split()[-1:] in (["id"], ["uuid"])):
        role = "index"
    if volume_heading(plain(heading)):
        return Guess("litres", unit_text=unit)
    if not words and is_volume(unit or heading.strip()):
        return Guess("litres", unit_text=unit or heading.strip())
    if words in _EITHER or words.split()[:1] == ["test"]:
        elements = [text for text in texts if element_named(text)]
        if len(elements) * 2 > len(texts):
            return Guess("element")
        if role in ("", "value") and not numeric:
            return Guess("kit" if "test" in words else "note", note="kept as the kit" if "test" in
                         words else "kept in the note")  # fmt: skip
    if words in ("salt", "salz", "sel", "sale", "zout", "sól"):
        return Guess("value", "salinity", unit_text=unit) if numeric else Guess("note")
    if role == "index":
        why = "a number of a list" if words.endswith("id") else "it counts the rows"
        return Guess("not used", note=f"not used: {why}" if numeric else "not used")
    if role == "amount" or (is_dose(unit) and role in ("", "supplement", "value", "date")):
        return Guess("amount", unit_text=unit)
    if role in ("litres", "volume") and texts and not any(re.search(r"\d", t) for t in texts):
        nothing = "it holds no numbers, so no volume is counted; its text is kept in the note"
        return Guess("note", note=nothing)
    if role:
        found: Role = role  # type: ignore[assignment]
        return Guess(found, unit_text=unit)
    if words in _not_levels():
        return Guess("not used", note="not used: no level that was read")
    if not texts:
        return Guess("not used")
    if sum(map(is_date, texts)) * 2 > len(texts):
        return Guess("date", note="taken as the date, by its cells")
    if numeric:
        if not heading.strip() and _counts(texts):
            return Guess("not used", note="not used: it counts the rows")
        return Guess("unknown", unit_text=unit, likely=suggested(words))
    if sum(bool(element_named(text)) for text in texts) * 2 > len(texts):
        return Guess("element", note="taken as the element, by its cells")
    if not heading.strip() and are_units(list(texts)):
        return Guess("unit", note="taken as the unit, by its cells")
    return Guess("note", note="not known; its text is kept in the note")


def _counts(texts: Sequence[str]) -> bool:
    whole = [int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 10]
    rising = all(b > a for a, b in pairwise(whole))
    return len(whole) == len(texts) > 1 and whole[0] in (0, 1) and rising


@cache
def _not_levels() -> frozenset[str]:
    return frozenset(plain(word) for word in NOT_LEVELS.split(","))


@cache
def _average_words() -> frozenset[str]:
    return frozenset(plain(word) for word in ROLE_WORDS["average"].split(","))


def _water_in(beside: str, tank: Description) -> str:
    if not beside:
        return ""
    if beside in ("new", "new water", "neu", "frisch", "new salt water", "fresh"):
        return "new water"
    found = water_named(beside, tank)
    return found if found != "tank" or holds(beside, "tank") else "tank"
