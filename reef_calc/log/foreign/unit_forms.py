"""Spellings of units brought to one form, and units that cannot be kept as they are written."""

from __future__ import annotations

import re
from functools import lru_cache

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units, check_unit
from reef_calc.errors import InputError
from reef_calc.log.foreign.names import phrases
from reef_calc.log.foreign.plain_words import plain

_SIGNS = str.maketrans(
    {"μ": "µ", "²": "2", "³": "3", "⁻": "-", "−": "-", "–": "-", "¹": "1", "º": "°", "˚": "°"}
    | {"·": " ", "∙": " ", "*": " ", "_": " ", "\u00a0": " ", "\u202f": " ", "℃": "°c", "℉": "°f"}
    | {"‰": "ppt", "\u2009": " "} | {chr(0x2080 + digit): str(digit) for digit in range(10)}
)  # fmt: skip
_PREFIX = {
    "milligrams": "mg", "milligram": "mg", "milligramm": "mg", "milligramme": "mg",
    "micrograms": "µg", "microgram": "µg", "mikrogramm": "µg", "microgramme": "µg", "mcg": "µg",
    "ug": "µg", "mgr": "mg", "umol": "µmol", "micromol": "µmol", "ueq": "µeq", "mval": "meq",
    "milliequivalent": "meq", "milliequivalents": "meq", "mekv": "meq", "mmole": "mmol",
    "millimol": "mmol", "uval": "µeq", "µval": "µeq",
}  # fmt: skip
_BELOW = {
    "l": "L", "lt": "L", "ltr": "L", "litre": "L", "liter": "L", "litro": "L", "dm3": "L",
    "kg": "kg", "kilogram": "kg", "kilogramm": "kg",
}  # fmt: skip
# A thousand litres hold a thousand times as much.
_IN_A_THOUSANDTH = {"mg": "µg", "g": "mg", "mol": "mmol", "mmol": "µmol", "eq": "meq", "meq": "µeq"}
# Prefix, species between, slash or "per", litre or kilogram, species behind.
_RATIO = re.compile(
    r"([a-zµ]+)\s*([a-z][a-z0-9-]*?)?\s*(?:/|\bper\b|\bpro\b|\bpar\b|\bpor\b)\s*([a-z]+3?)\b(.*)"
)
_POWER = re.compile(r"([a-zµ]+)\s*([a-z][a-z0-9-]*)?\s+(l|ltr|litre|liter|kg|dm)\s*-\s*[13]\b(.*)")
_JOINED = re.compile(r"(mg|µg|ug|mmol|µmol|meq)(l|kg)\s*-\s*1\b(.*)")
_PARTS = re.compile(r"(ppm|ppb)\b(.*)")
_LOST = re.compile(r"^[?\ufffd](?=g\b|mol\b|eq\b)")
# Written without element: what it is there.
_PLAIN = {
    "alkalinity": {
        "dkh": "dKH", "°dkh": "dKH", "kh": "dKH", "°kh": "dKH", "°dh": "dKH", "dh": "dKH",
        "°d": "dKH", "grad kh": "dKH", "deg kh": "dKH", "degrees kh": "dKH", "grad dh": "dKH",
        "°dh kh": "dKH", "odkh": "dKH", "kh°": "dKH", "degree kh": "dKH",
        "meq": "meq/L", "mval": "meq/L", "sbv": "meq/L", "caco3": "mg/L as CaCO3",
    },
    "temperature": {
        "c": "°C", "°c": "°C", "deg c": "°C", "degc": "°C", "celsius": "°C", "grad c": "°C",
        "grad celsius": "°C", "degrees celsius": "°C", "° c": "°C", "degree c": "°C",
        "degrees c": "°C", "deg celsius": "°C", "° celsius": "°C", "°celsius": "°C",
        "f": "°F", "°f": "°F", "deg f": "°F", "degf": "°F", "fahrenheit": "°F", "° f": "°F",
        "degrees fahrenheit": "°F", "degrees f": "°F", "grad fahrenheit": "°F",
    },
    "salinity": {
        "psu": "PSU", "pss": "PSU", "pss-78": "PSU", "pss78": "PSU", "practical salinity": "PSU",
        "ms": "mS/cm at 25 °C", "ms/cm": "mS/cm at 25 °C", "ms cm-1": "mS/cm at 25 °C",
        "g/kg": "g/kg", "g kg-1": "g/kg",
    },
    "pH": dict.fromkeys(
        ("", "ph", "-", "ph units", "units", "unit", "none", "1", "ph unit", "nbs", "ph nbs",
         "n/a", "su", "s.u.", "standard units"), "pH",
    ),
}  # fmt: skip
# Factor to a word that can be kept: a value is never changed, so the keeper has to.
_REPAIRS: dict[str, dict[str, str]] = {
    "alkalinity": dict.fromkeys(
        ("°fh", "fh", "°th", "th", "tac", "°f", "°tac", "grad fh", "french degrees", "f°", "fgh"),
        "1 °fH is 10 mg/L as CaCO3: multiply the column by 10 and write mg/L as CaCO3.",
    )
    | dict.fromkeys(
        ("°e", "°eh", "°clark", "clark", "°clarke"),
        "1 English degree is 14.25 mg/L as CaCO3: multiply the column and write mg/L as CaCO3.",
    )
    | dict.fromkeys(
        ("gpg", "grains/gallon", "grains per gallon"),
        "1 grain in a US gallon is 17.12 mg/L as CaCO3: multiply the column and write mg/L as CaCO3.",
    ),
    "salinity": dict.fromkeys(
        ("µs/cm", "us/cm", "µs", "us"), "1000 µS/cm is 1 mS/cm: divide the column by 1000."
    )
    | {"s/m": "1 S/m is 10 mS/cm: multiply the column by 10 and write mS/cm."}
    | dict.fromkeys(("kg/m3", "g/l density"), "1000 kg/m³ is 1 g/cm³: divide the column by 1000."),
    "temperature": {
        "k": "0 °C is 273.15 K: subtract 273.15 and write °C.",
        "kelvin": "0 °C is 273.15 K: subtract 273.15 and write °C.",
    },
}  # fmt: skip
_SMALLER = {
    "g": "1 g/{per} is 1000 mg/{per}: multiply the column by 1000.",
    "ng": "1000 ng/{per} is 1 µg/{per}: divide the column by 1000.",
    "kg": "1 kg/{per} is 1,000,000 mg/{per}: write mg/{per}.",
    "mol": "1 mol/{per} is 1000 mmol/{per}: multiply the column by 1000.",
    "nmol": "1000 nmol/{per} is 1 µmol/{per}: divide the column by 1000.",
}


@lru_cache(maxsize=4096)
def unit_form(text: str, element: str) -> str:
    """Return the usual spelling of a unit as written, without deciding what it means.

    Parameters
    ----------
    text : str
        Unit as written, in any spelling.
    element : str
        Element of the closed list, or the symbol of another.

    Returns
    -------
    str
        A word of ``accepted_units(element)`` where it is one; otherwise a form such as ``ppm PO4``,
        in small letters.

    Examples
    --------
    >>> unit_form("mval/l", "alkalinity"), unit_form("µg PO4-P/l", "phosphate")
    ('meq/L', 'µg/L PO4-P')
    >>> unit_form("Deg F", "temperature"), unit_form("PPM", "calcium")
    ('°F', 'ppm')
    """
    tidy = " ".join(text.translate(_SIGNS).strip(" .,;:()[]{}<>\t\"'").split())
    # A µ that was lost on the way stands as a question mark.
    tidy = _LOST.sub("µ", tidy)
    if element in ELEMENTS:
        try:
            return check_unit(tidy, element)
        except InputError:
            pass
    # Capitals matter in this one: mm would be a length.
    if tidy in ("mM", "µM", "uM"):
        tidy = f"{tidy[0].replace('u', 'µ')}mol/L"
    small = tidy.casefold().replace("μ", "µ").replace("° ", "°")
    small = re.sub(r"^(in|en|als|as) ", "", small)
    known = _PLAIN.get(element, {}).get(small)
    if known:
        return known
    parts = _PARTS.fullmatch(small)
    if parts:
        return f"{parts[1]}{_species(parts[2], element)}"
    ratio = _RATIO.fullmatch(small) or _POWER.fullmatch(small)
    joined = _JOINED.fullmatch(small)
    if joined:
        above, between, below, behind = joined[1], "", joined[2], joined[3]
    elif ratio:
        above, between, below, behind = ratio[1], ratio[2] or "", ratio[3], ratio[4]
    else:
        return small
    above = _PREFIX.get(above, above)
    below = "L" if below == "dm" else _BELOW.get(below, _BELOW.get(below.rstrip("s"), below))
    if below == "m3" and above in _IN_A_THOUSANDTH:
        above, below = _IN_A_THOUSANDTH[above], "L"
    form = f"{above}/{below}{_species(between + ' ' + behind, element)}"
    if element in ELEMENTS:
        try:
            return check_unit(form, element)
        except InputError:
            pass
    return form


def _species(text: str, element: str) -> str:
    words = text.strip(" .()[]").removeprefix("as ").removeprefix("als ").strip()
    if not words:
        return ""
    if words == "n":
        words = {"nitrate": "no3-n", "nitrite": "no2-n", "ammonia": "nh3-n"}.get(element, words)
    if element in ELEMENTS:
        for word in accepted_units(element):
            species = word.partition(" ")[2]
            if word.startswith("mg/L") and species.casefold().removeprefix("as ") == words:
                return f" {species}"
    named, weighed = phrases().get(plain(words), ("", ""))
    if named == element:
        return f" {weighed}" if weighed else ""
    return f" {words}"


def repair_of(form: str, element: str) -> str:
    """Return by what factor a unit goes over into one that can be kept.

    Parameters
    ----------
    form : str
        As ``unit_form`` gives it.
    element : str
        Element of the closed list, or a symbol.

    Returns
    -------
    str
        A sentence; empty where the factor is not known.

    Examples
    --------
    >>> repair_of("°fh", "alkalinity")
    '1 °fH is 10 mg/L as CaCO3: multiply the column by 10 and write mg/L as CaCO3.'
    >>> repair_of("g/L", "chloride")
    '1 g/L is 1000 mg/L: multiply the column by 1000.'

    References
    ----------
    French degree 10 mg/L, English degree 1 grain (64.799 mg) in an imperial gallon, 14.25 mg/L, and
    a grain in a US gallon 17.12 mg/L, all as CaCO3 (MEMORY).
    """
    known = _REPAIRS.get(element, {}).get(form)
    if known:
        return known
    above, slash, below = form.partition("/")
    below, _, species = below.partition(" ")
    if slash and below in ("L", "kg") and above in _SMALLER and element not in (
        "salinity", "temperature", "pH", "alkalinity",
    ):  # fmt: skip
        return _SMALLER[above].format(per=f"{below} {species}".strip())
    return ""
