"""What a person types at the bench for each kind of kit, and the raw reading it makes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from reef_calc.bench.chart import sorted_chart
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import Limit, RawReading
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.unit_words import accepted_units
from reef_calc.errors import InputError

Typed = Mapping[str, str]
NumberOf = Callable[[str], float | None]
ONE_SD = "one standard deviation"
EXPANDED = "expanded, k = 2 (95 %)"
_LIMITS = (("exactly this", ""), ("less than this", "<"), ("more than this", ">"))


@dataclass(frozen=True)
class Field:
    """One thing to type or to choose.

    Attributes
    ----------
    name : str
        Key of the typed texts.
    label : str
        What is asked for.
    unit : str
        Unit beside it; empty for a plain number or a text.
    hint : str
        What to do, for a tooltip.
    choices : tuple of (str, str)
        Words and value of each choice; empty: typed freely.
    """

    name: str
    label: str
    unit: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()


def fields_of(kit: Kit) -> tuple[Field, ...]:
    """Return what a kind of kit asks for, in the order of the hands.

    Parameters
    ----------
    kit : Kit
        The kit.

    Returns
    -------
    tuple of Field
        Without what is common to all kinds (dilution, salinity, note).

    Examples
    --------
    >>> [field.label for field in fields_of(Kit("acid", "alkalinity", "direct titration", "dKH"))]
    ['Filled', 'Left', 'Used', 'Refilled']
    >>> [field.label for field in fields_of(Kit("probe", "pH", "meter", "pH"))]
    ['Display', 'Unit', 'It is']
    """
    if kit.kind in ("direct titration", "back titration", "two titrations"):
        found = [
            Field("filled", "Filled", "mL", "What the syringe showed before the first drop"),
            Field("left", "Left", "mL", "What the syringe shows now, read at the same edge"),
            Field("used", "Used", "mL", "Instead of filled and left, or as a check beside them"),
            Field("refills", "Refilled", "mL", "Drawn up again in between; several with ; between"),
        ]
        if kit.kind == "two titrations":
            found.append(Field("second", "Second, used", "mL", "Titrant of the second titration"))
        return tuple(found)
    if kit.kind == "drop count":
        drops = Field(
            "reading", "Drops", "", "Drops up to and with the one that changed the colour"
        )
        return (drops,) if kit.half_drop is not None else (drops, _HALF_DROP)
    if kit.kind == "chart":
        return (
            Field("reading", "Scale shows", "", "What the syringe or scale shows at the end"),
            Field("limit", "Level is", "", "For a scale that ended before the colour", _LIMITS),
        )
    if kit.kind == "colour steps":
        return (Field("step", "Colour", "", "The step it matches, or between two", _steps(kit)),)
    if kit.kind == "meter":
        return (
            Field("reading", "Display", "", "What the instrument shows, with all its digits"),
            Field("unit", "Unit", "", "Unit on the display", _units(kit.element, kit.unit)),
            Field("limit", "It is", "", "Whether the display shows the end of its range", _LIMITS),
        )
    found = [Field("reading", "Level", "", "As printed in the report")]
    if not kit.element:
        names = tuple((name, name) for name in ELEMENTS)
        found.insert(0, Field("element", "Element", "", "Line of the report", names))
    found += [
        Field("unit", "Unit", "", "As printed in the report", _units(kit.element, kit.unit)),
        Field("limit", "It is", "", "A report writes < for what it could not find", _LIMITS),
        Field("u", "Uncertainty", "", "As the laboratory states it; empty where it does not"),
        Field("u_kind", "stated as", "", "", ((ONE_SD, ONE_SD), (EXPANDED, EXPANDED))),
    ]
    return tuple(found)


_HALF_DROP = Field(
    "half_drop",
    "Its instructions say",
    "",
    "Write half_drop into kits.toml and this is asked no more",
    (("not chosen", ""), ("n drops are n steps", "no"), ("the middle of the last drop", "yes")),
)


def _steps(kit: Kit) -> tuple[tuple[str, str], ...]:
    rows = sorted(kit.chart)
    if not rows:
        return (("not chosen", ""),)
    sorted_chart(kit.chart)  # refuses one that is not monotone, naming its rows
    rising = rows[0][1] <= rows[-1][1]
    low, high = ("<", ">") if rising else (">", "<")
    words = {"<": "below", ">": "above"}
    found = [("not chosen", ""), (f"{words[low]} {rows[0][1]:g}", low)]
    for i, (step, level) in enumerate(rows):
        found.append((f"{level:g}", f"{step:g}"))
        if i + 1 < len(rows):
            found.append((f"{level:g} to {rows[i + 1][1]:g}", f"{step:g} {rows[i + 1][0]:g}"))
    return (*found, (f"{words[high]} {rows[-1][1]:g}", high))


def _units(element: str, first: str) -> tuple[tuple[str, str], ...]:
    units = [first, *accepted_units(element)] if element else sorted(
        {unit for name in ELEMENTS for unit in accepted_units(name)}
    )  # fmt: skip
    return tuple((unit, unit) for unit in dict.fromkeys(units) if unit)


def kit_for(kit: Kit, typed: Typed) -> Kit:
    """Return the kit, with element and unit of the line where it is a report of many elements.

    Parameters
    ----------
    kit : Kit
        The kit.
    typed : mapping of str to str
        What was typed, by field.

    Returns
    -------
    Kit
        With an element and a unit.

    Examples
    --------
    >>> report = Kit("report", "", "laboratory report", "")
    >>> kit_for(report, {"element": "calcium", "unit": "mg/kg"}).element
    'calcium'
    """
    if kit.element:
        return kit
    element = typed.get("element", "")
    unit = ELEMENTS[element].display_unit if element else ""
    return replace(kit, element=element, unit=unit)


def raw_reading_of(kit: Kit, typed: Typed) -> RawReading | None:
    """Return the raw reading that the typed texts make, or None while too little is typed.

    Parameters
    ----------
    kit : Kit
        The kit, with its element.
    typed : mapping of str to str
        What was typed, by field.

    Returns
    -------
    RawReading or None
        Nothing is worked out yet.

    Raises
    ------
    InputError
        If a text is not a number; names the field.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH")
    >>> raw = raw_reading_of(kit, {"filled": "1,0", "left": "0.44"})
    >>> raw.filled_mL, raw.left_mL
    (1.0, 0.44)
    >>> raw_reading_of(kit, {"filled": "1.0"}) is None
    True
    """
    labels = {field.name: field.label for field in fields_of(kit)}
    labels |= {"dilution": "Diluted", "diluent": "Diluting water", "salinity": "Salinity",
               "temperature": "Temperature"}  # fmt: skip

    def number(name: str) -> float | None:
        text = typed.get(name, "").strip()
        return parse_typed_number(text, labels.get(name, name)) if text else None

    dilution, diluent = number("dilution"), number("diluent")
    common = RawReading(
        dilution=dilution,
        diluent_level=diluent or 0.0,
        salinity=number("salinity"),
        temperature_C=number("temperature"),
    )
    if "filled" in labels:
        return _titrated(kit, typed, common, number)
    if "step" in labels:
        return _coloured(typed, common)
    reading = number("reading")
    if reading is None:
        return None
    limit: Limit = {"<": "<", ">": ">"}.get(typed.get("limit", ""), "")  # type: ignore[assignment]
    u = number("u")
    if u is not None and typed.get("u_kind") == EXPANDED:
        u /= 2.0
    unit = typed.get("unit", "") if "unit" in labels else ""
    own = "" if unit == kit.unit else unit
    return replace(common, reading=reading, limit=limit, u=u, unit=own)


def _titrated(kit: Kit, typed: Typed, common: RawReading, read: NumberOf) -> RawReading | None:
    refills = tuple(
        parse_typed_number(text, "Refilled")
        for text in re.split(r"[;\s]+", typed.get("refills", "").strip())
        if text
    )
    filled, left, used, second = (read(n) for n in ("filled", "left", "used", "second"))
    both = filled is not None and left is not None
    if used is None and not both:
        return None
    if kit.kind == "two titrations" and second is None:
        return None
    return replace(
        common, filled_mL=filled, left_mL=left, reading=used, refills_mL=refills, second=second
    )


def _coloured(typed: Typed, common: RawReading) -> RawReading | None:
    chosen = typed.get("step", "")
    if not chosen:
        return None
    if chosen in ("<", ">"):
        return replace(common, limit="<" if chosen == "<" else ">")
    first, _, second = chosen.partition(" ")
    return replace(common, reading=float(first), second=float(second) if second else None)


def half_drop_of(typed: Typed) -> bool | None:
    """Return how the kit's instructions count the last drop, or None while not answered.

    Parameters
    ----------
    typed : mapping of str to str
        What was typed, by field.

    Returns
    -------
    bool or None
        True: the middle of the last drop.

    Examples
    --------
    >>> half_drop_of({"half_drop": "yes"}), half_drop_of({})
    (True, None)
    """
    return {"yes": True, "no": False}.get(typed.get("half_drop", ""))


def main_field(kit: Kit, typed: Typed) -> str:
    """Return the field whose text is the reading itself: where a slip of typing would sit.

    Parameters
    ----------
    kit : Kit
        The kit.
    typed : mapping of str to str
        What was typed, by field.

    Returns
    -------
    str
        Name of a field.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH")
    >>> main_field(kit, {"filled": "1", "left": "0.4"}), main_field(kit, {"used": "0.6"})
    ('left', 'used')
    """
    if kit.kind == "colour steps":
        return "step"
    if kit.kind not in ("direct titration", "back titration", "two titrations"):
        return "reading"
    return "used" if typed.get("used", "").strip() else "left"


def entry_in_words(kit: Kit, typed: Typed) -> str:
    """Return the raw entry as one text, for the column ``raw`` of the log.

    Parameters
    ----------
    kit : Kit
        The kit.
    typed : mapping of str to str
        What was typed, by field.

    Returns
    -------
    str
        As typed, field by field.

    Raises
    ------
    InputError
        If nothing was typed.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH")
    >>> entry_in_words(kit, {"filled": "1,0", "left": "0.44", "dilution": "2"})
    'filled 1,0 mL; left 0.44 mL; diluted 2 times'
    """
    found = []
    for field in fields_of(kit):
        text = typed.get(field.name, "").strip()
        if not text or field.name in ("element", "u_kind"):
            continue
        words = {value: words for words, value in field.choices}.get(text, text)
        found.append(f"{field.label.lower()} {words} {field.unit}".strip())
    if not found:
        raise InputError("what was read", "nothing", "Type what the kit shows.", kit.name)
    if typed.get("dilution", "").strip():
        found.append(f"diluted {typed['dilution'].strip()} times")
    return "; ".join(found)
