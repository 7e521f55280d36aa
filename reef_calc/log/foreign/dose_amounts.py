"""One cell of a dose, taken apart: how often, how much, in which unit, and how."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.log.foreign.dose_words import (
    AMOUNT_UNITS,
    EVERY_DAYS,
    EVERY_OTHER,
    HOW_WORDS,
    OUNCES,
    PER_DAY,
    PER_WEEK,
    SPOONS,
    TIMES,
    TWICE,
)
from reef_calc.log.foreign.outcome import Said

_EVERY_DAYS = re.compile(EVERY_DAYS)
_EVERY_OTHER = re.compile(EVERY_OTHER)
_PER_DAY = re.compile(PER_DAY)
_PER_WEEK = re.compile(PER_WEEK)
_TWICE = re.compile(rf"\b({'|'.join(TWICE)})\b")
_BEFORE = re.compile(rf"(\d{{1,3}}){TIMES}(?=\D|\d)(.*)", re.DOTALL)
_AFTER = re.compile(rf"(.*?)\s*(?<![\d.,])(\d{{1,3}}){TIMES}", re.DOTALL)
_LAST = re.compile(rf"(.*?){TIMES}(\d{{1,3}})", re.DOTALL)
_NUMBER_UNIT = re.compile(
    r"([~≈≤≥<>ca.±\s]*[-+−]?\s*[\d.,'’\s–-]*\d\s*\??)\s*([^\d].*)?", re.DOTALL
)
_LONGEST = 120
_WORD = re.compile(r"[^\W\d_]+")
_SAME = str.maketrans({"\u00a0": " ", "\u202f": " ", "μ": "µ", "×": "x"})


@dataclass(frozen=True, slots=True)
class DoseCell:
    """What one cell says of a dose.

    Attributes
    ----------
    number : str
        The number in it, as text; empty where there is none.
    doses : int
        How many such doses: 2 for "2 x 10 mL".
    unit : str
        mL, L, g, kg or drops; empty where the cell does not say.
    factor : float
        What the number is multiplied with to be in that unit.
    how : str
        ``per day``, ``once``, ``not logged``; empty where the cell does not say.
    days : int
        Days that the doses are for: 1, or 7 for a week.
    said : Said or None
        Why it cannot be read.
    """

    number: str = ""
    doses: int = 1
    unit: str = ""
    factor: float = 1.0
    how: str = ""
    days: int = 1
    said: Said | None = None

    @property
    def plain(self) -> bool:
        """Whether the amount is what is written, without a sum or a division."""
        return self.doses == 1 and self.days == 1 and self.factor == 1.0


@lru_cache(maxsize=65536)
def dose_cell(text: str) -> DoseCell:
    """Return what a cell says of a dose.

    Parameters
    ----------
    text : str
        Text of the cell.

    Returns
    -------
    DoseCell
        Its number still as text: which decimal mark it has is decided for its whole column.

    Examples
    --------
    >>> found = dose_cell("2 x 10 mL")
    >>> found.doses, found.number, found.unit
    (2, '10', 'mL')
    >>> found = dose_cell("3 mL every 2 days")
    >>> found.number, found.how, found.days
    ('3', 'per day', 2)
    >>> dose_cell("1 teaspoon").said.code
    'SPOON'
    """
    if len(text) > _LONGEST:
        return DoseCell(said=_unreadable(text))
    plain = _plain(text)
    if not plain:
        return DoseCell()
    if plain in HOW_WORDS and HOW_WORDS[plain] == "not logged":
        return DoseCell(how="not logged")
    spoon = _spoon(plain, text)
    if spoon is not None:
        return DoseCell(said=spoon)
    how, doses, days, rest = _rhythm(plain)
    before, after = _BEFORE.fullmatch(rest), _AFTER.fullmatch(rest) or _LAST.fullmatch(rest)
    if before and before[2].strip():
        doses, rest = doses * int(before[1]), before[2]
    elif after and after[1].strip():
        doses, rest = doses * int(after[2]), after[1]
    found = _NUMBER_UNIT.fullmatch(rest.strip(" ,;:"))
    if found is None or doses == 0 or days == 0:
        return DoseCell(said=_unreadable(text))
    word = (found[2] or "").strip(" .()[]")
    unit, factor = AMOUNT_UNITS.get(word, ("", 1.0))
    if word and not unit:
        return DoseCell(said=_unreadable(text))
    return DoseCell(found[1].strip(), doses, unit, factor, how, days)


@lru_cache(maxsize=4096)
def rhythm_of(text: str) -> tuple[str, int, int]:
    """Return how often a text says that something is dosed.

    Parameters
    ----------
    text : str
        Text of a cell or heading.

    Returns
    -------
    tuple
        ``per day``, ``once``, ``not logged`` or empty; how many doses; in how many days.

    Examples
    --------
    >>> rhythm_of("täglich"), rhythm_of("manual"), rhythm_of("3x per week"), rhythm_of("Ca mL")
    (('per day', 1, 1), ('once', 1, 1), ('per day', 3, 7), ('', 1, 1))
    """
    plain = _plain(text[:_LONGEST])
    if plain in HOW_WORDS:
        return HOW_WORDS[plain], 1, 1
    how, doses, days, rest = _rhythm(plain)
    if how:
        counted = re.search(rf"(\d{{1,3}}){TIMES}", rest)
        doses *= int(counted[1]) if counted else 1
    return (how, max(doses, 1), max(days, 1)) if how else ("", 1, 1)


def without_rhythm(text: str) -> str:
    """Return a text without what it says of how often.

    Parameters
    ----------
    text : str
        Text of a heading.

    Returns
    -------
    str
        The rest, its capitals kept.

    Examples
    --------
    >>> without_rhythm("Part one per day")
    'Part one'
    """
    for pattern in (_EVERY_OTHER, _EVERY_DAYS, _PER_WEEK, _PER_DAY):
        text = re.sub(pattern.pattern, " ", text, flags=re.IGNORECASE)
    return " ".join(text.split())


def _plain(text: str) -> str:
    return " ".join(text.casefold().translate(_SAME).split())


def _rhythm(plain: str) -> tuple[str, int, int, str]:
    """Return how, number of doses, days they are for, and the rest of the text."""
    doses, days, how = 1, 1, ""
    every = _EVERY_DAYS.search(plain)
    for pattern, found_days in (
        (_EVERY_OTHER, 2),
        (_EVERY_DAYS, int(every[1]) if every else 1),
        (_PER_WEEK, 7),
        (_PER_DAY, 1),
    ):
        if pattern.search(plain):
            how, days = "per day", found_days
            plain = pattern.sub(" ", plain)
            break
    if how:
        twice = _TWICE.search(plain)
        if twice:
            doses = TWICE[twice[1]]
            plain = _TWICE.sub(" ", plain)
    else:
        for word, meant in (("einmalig", "once"), ("once", "once"), ("einmal", "once")):
            if re.search(rf"\b{word}\b", plain):
                how, plain = meant, re.sub(rf"\b{word}\b", " ", plain)
                break
    return how, doses, days, " ".join(plain.split())


def _spoon(plain: str, text: str) -> Said | None:
    words = set(_WORD.findall(plain))
    found = words & SPOONS
    if found:
        word = sorted(found)[0]
        return Said(
            "refused", "SPOON",
            f"“{text.strip()[:60]}”: a {word} is no measure, it holds more or less each time.",
            "Weigh or measure one and write g or mL.",
        )  # fmt: skip
    if words & OUNCES:
        return Said(
            "refused", "OUNCE",
            f"“{text.strip()[:60]}”: an ounce may be a weight, or one of two volumes.",
            "Write g or mL.",
        )  # fmt: skip
    return None


def _unreadable(text: str) -> Said:
    return Said(
        "refused", "DOSE_UNREADABLE", f"“{text.strip()[:60]}” cannot be read as a dose.",
        "Write a number with mL, L, g or drops, such as 2 x 10 mL.",
    )  # fmt: skip
