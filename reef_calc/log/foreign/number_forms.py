"""One text in a column of numbers, taken apart; which decimal mark is meant is decided later."""

from __future__ import annotations

import html
import re
import unicodedata
from functools import lru_cache

from reef_calc.log.foreign.cell_forms import is_unit
from reef_calc.log.foreign.decimal_marks import Numeral, numeral_of
from reef_calc.log.foreign.form_of_number import EMPTY, NumberForm, refused, shortened, unclear
from reef_calc.log.foreign.outcome import Said
from reef_calc.log.foreign.turned_dates import turned_into_date
from reef_calc.log.foreign.words_for_nothing import (
    ABOUT,
    ABOVE,
    BELOW,
    BETWEEN,
    MISSING,
    NOT_FOUND,
    REMARKS,
    TO,
    TOO_MUCH,
)

_LONGEST = 120
_SIGNS = str.maketrans(
    dict.fromkeys("−－﹣", "-") | dict.fromkeys("’ʼ`´‘＇", "'") | {"٫": ",", "٬": "'"}
    | dict.fromkeys("\u00a0\u202f\u2009\u2007\u3000\t\n\r", " ") | {"．": ".", "，": ",", "＋": "+"}
    | {"＜": "<", "＞": ">", "∼": "~", "〜": "~", "～": "~", "≲": "≤", "≳": "≥", "⩽": "≤", "⩾": "≥"}
)  # fmt: skip
_NUM = r"(?:[0-9](?:[0-9]|[.,'](?![.,'])|(?<=[0-9]) (?=[0-9]{3}(?![0-9])))*|[.,][0-9]+)"
# Most cells: no other reading is possible.
SIMPLE = re.compile(r"-?[0-9]{1,9}(?:[.,](?:[0-9]{1,2}|[0-9]{4,9}))?")
_PLAIN = re.compile(rf"[+-]? ?{_NUM}(?:[eE][+-]?[0-9]+)?")
_DASHES = re.compile(
    rf"({_NUM}) ?(?:-|–|—|‐|‑|~|\.\.+|…|(?<= )(?:{'|'.join(TO)})(?= )) ?({_NUM})(?![0-9])(.*)"
)
_TURNED = re.compile(r"(?<=[0-9])\.\.+(?=[0-9])")
# Behind an uncertainty: percent of the value, and the k of an expanded one.
_NO_UNIT = re.compile(r"^ ?%|[ ,;(]*\bk ?= ?[0-9].*")
_UNCERTAIN = re.compile(rf"({_PLAIN.pattern}) ?([^0-9±+]{{0,20}}?) ?(?:±|\+ ?/ ?-|\+-) ?{_NUM}(.*)")
_UNIT = re.compile(r"[^\W\d_]|[°º˚%‰‱/\[(]")
_UNIT_SIGNS = re.compile(
    r"[°º˚%‰/]|\bppm\b|\bppb\b|\bppt\b|^(?:deg|grad|milli|micro|mikro)", re.IGNORECASE
)
_SECOND = re.compile(r"(?<![^\W_])(?<![-+−⁻])[0-9]")
_AT = re.compile(r"(?:at|bei|@|à|a) ?\d+(?:[.,]\d)? ?°? ?[CF]\b")
_BELOW_SIGN = re.compile(r"(?:<=|=<|<|≤|⩽)(?![<>=])")
_ABOVE_SIGN = re.compile(r"(?:>=|=>|>|≥)(?![<>=])")
_FIRM_BLANK = re.compile("(?<=[0-9])[\u00a0\u202f\u2009\u2007](?=[0-9]{3}(?![0-9]))")
_DIGIT = re.compile(r"[0-9]")
_FORMULA = re.compile(r"=(?![<>])|@|[+\-][^\W\d_]")
_POWER = re.compile("[²³¹⁰⁴⁵⁶⁷⁸⁹½¼¾^×]")
_OF_SUBSTANCE = re.compile(r"(?:as |als )?[A-Z][A-Za-z]?[A-Za-z0-9]{0,5}(?:-[A-Z])?")
_BROKEN = re.compile(r"[+-]?[0-9]+(?: ?[.,] ?)[0-9]+")


def _prefix(words: tuple[str, ...]) -> re.Pattern[str]:
    longest = sorted(words, key=len, reverse=True)
    return re.compile(rf"(?:{'|'.join(map(re.escape, longest))})(?=[ 0-9.,])[ .]*", re.IGNORECASE)


_BELOW_WORD, _ABOVE_WORD = _prefix(BELOW), _prefix(ABOVE)
_ABOUT_WORD, _BETWEEN_WORD = _prefix(ABOUT), _prefix(BETWEEN)


@lru_cache(maxsize=65536)
def number_form(text: str) -> NumberForm:
    """Return what a text in a column of numbers is.

    Parameters
    ----------
    text : str
        Text of a cell.

    Returns
    -------
    NumberForm
        Numbers still in both readings.

    Examples
    --------
    >>> [number_form(text).kind for text in ("8,3", "< 0,02", "5-10", "n.d.", "HI", "k.A.", "soft")]
    ['number', '<', 'between', 'not found', 'too much', 'missing', 'refused']
    >>> number_form("2,9 meq/l").unit, number_form("~8").remark
    ('meq/l', 'written as ~8')
    """
    if SIMPLE.fullmatch(text):
        mark = "," if "," in text else "." if "." in text else ""
        value = float(text.replace(",", "."))
        return NumberForm("number", (Numeral(value, value, mark),))
    if len(text) > _LONGEST:
        return refused(text, "NOT_A_NUMBER", "is a text, no number")
    plain = text.strip()
    if _FORMULA.match(plain):
        why = "is a formula or a command. It was not run"
        return refused(text, "FORMULA", why, "Write the number that it gives.")
    plain = _plain_signs(plain)
    if not plain:
        return EMPTY
    nothing = _nothing(plain)
    if nothing is None and not _DIGIT.search(plain):
        return refused(plain, "NOT_A_NUMBER", "is no number")
    return nothing or turned_into_date(plain) or _number(plain, text)


def _plain_signs(text: str) -> str:
    if not text.isascii():
        # A blank that may not break is set between groups only; a plain one may part two readings.
        text = _FIRM_BLANK.sub("'", text).translate(_SIGNS)
        text = re.sub("(?<=[0-9])[·∙⋅](?=[0-9])", ".", text)
        text = "".join(
            str(unicodedata.decimal(sign)) if sign.isdecimal() and not sign.isascii() else sign
            for sign in text
        )
    if "&" in text:
        text = html.unescape(text)
    return " ".join(text.lstrip("'").split()) if " " in text or text[:1] == "'" else text


def _nothing(plain: str) -> NumberForm | None:
    word = plain.casefold()
    bare = word.strip(" .()[]{}") or word
    if bare[:1].isdigit():
        return None
    if word in MISSING or bare in MISSING:
        return NumberForm("missing")
    below = word[:1] in "<≤" and bare.lstrip("<≤ ").strip(" .()[]")
    if word in ("<", "≤", "<=") or bare in NOT_FOUND or (below and below in NOT_FOUND):
        return NumberForm("not found", remark=f"written as {plain}")
    if word in (">", "≥", ">=") or bare in TOO_MUCH or word.lstrip("> ") in TOO_MUCH:
        return NumberForm("too much", remark=f"written as {plain}")
    return None


def _number(plain: str, text: str) -> NumberForm:
    """Return the form of what is a number, with whatever stands around it."""
    whole = _PLAIN.fullmatch(plain)
    if whole:
        return _of_numerals("number", (plain,), "", "", plain)
    rest, kind, doubted = plain, "", False
    inner = re.fullmatch(r"([^\d(]{2,40}?)[ :]*\(?([<≤].*?)\)?", rest)
    if inner and inner[1].casefold().strip(" .") in NOT_FOUND:
        rest = inner[2]
    if rest[:1] in "([{" and rest[-1:] in ")]}":
        rest, doubted = rest[1:-1].strip(), True
    stripped = rest.rstrip("?*!†‡^ ").strip()
    doubted, rest = doubted or stripped != rest, stripped
    while rest[:1] in "~≈≃≅?":
        rest, doubted = rest[1:].lstrip(), True
        if not rest:
            break
    about = _ABOUT_WORD.match(rest)
    if about:
        rest, doubted = rest[about.end() :], True
    rest, kind = _limit(rest)
    if not kind:
        between = _between(rest, plain, doubted)
        if between is not None:
            return between
        uncertain = _UNCERTAIN.fullmatch(rest)
        if uncertain:
            unit = (uncertain[2] or _NO_UNIT.sub("", uncertain[3])).strip()
            said = Said("read", "UNCERTAINTY_IN_CELL",
                        f"“{shortened(plain)}”: what stands behind ± is its uncertainty.")  # fmt: skip
            return _of_numerals("number", (uncertain[1],), unit, f"written as {plain}", plain, said)
    found = _PLAIN.match(rest)
    if found is None:
        return _named(plain, rest)
    number, behind = found[0].strip(), rest[found.end() :].strip()
    if behind and not behind[0].isdigit():
        number = number.rstrip(",.'")
    if behind in ("-", "−", "<", ">", "+", "≤", "≥") and not kind:
        return _sign_behind(plain, number, behind)
    if re.match(r"[eE][+-]?\d", behind) or _POWER.match(behind):
        return refused(plain, "NOT_A_NUMBER", "cannot be read as one number")
    return _with_rest(kind or "number", number, behind, doubted, plain)


def _limit(rest: str) -> tuple[str, str]:
    for sign, word, kind in ((_BELOW_SIGN, _BELOW_WORD, "<"), (_ABOVE_SIGN, _ABOVE_WORD, ">")):
        found = sign.match(rest) or word.match(rest)
        if found:
            return rest[found.end() :].lstrip(), kind
    return rest, ""


def _between(rest: str, plain: str, doubted: bool) -> NumberForm | None:
    word = _BETWEEN_WORD.match(rest)
    found = _DASHES.fullmatch(_TURNED.sub(" … ", rest[word.end() :] if word else rest))
    if found is None:
        return None
    unit = found[3].strip()
    if _SECOND.search(unit) or re.match("[-–/.:,]", unit):
        return refused(plain, "NOT_A_NUMBER", "cannot be read as one number or one interval")
    ends = numeral_of(found[1]), numeral_of(found[2])
    if None in ends:
        return refused(plain, "NOT_A_NUMBER", "cannot be read as an interval")
    form = _of_numerals("between", (found[1], found[2]), unit, "", plain)
    return _doubted(form, plain) if doubted else form


def _with_rest(kind: str, number: str, behind: str, doubted: bool, plain: str) -> NumberForm:
    if not behind:
        form = _of_numerals(kind, (number,), "", "", plain)
        return _doubted(form, plain) if doubted else form
    if behind[:1].isdigit() or re.match("[.,'] ?[0-9]", behind):
        if _BROKEN.fullmatch(plain):
            return refused(plain, "BLANK_INSIDE", "has a blank inside", "Write it without blanks.")
        return refused(plain, "TWO_NUMBERS", "holds more than one number", "Keep one to a cell.")
    unit = behind.strip(" ,;:")
    tail = re.fullmatch(r"(\S+)[ ,]+(.+)", unit)
    if tail and is_unit(tail[1]) and _says_more(tail[2]):
        return _doubted(_of_numerals(kind, (number,), tail[1], "", plain), plain)
    bare = unit[1:-1].strip() if unit[:1] in "[(" and unit[-1:] in "])" else unit
    first = bare.split()[0] if bare.split() else ""
    is_remark = bare.casefold() in REMARKS or first.casefold().strip(".,") in REMARKS
    known = is_unit(bare) or is_unit(first) or bool(_UNIT_SIGNS.search(first))
    one_word = len(bare.split()) == 1 and unit == bare and len(bare) <= 20
    if _SECOND.search(_AT.sub("", bare)) and not (unit != bare and not known):
        return refused(plain, "TWO_NUMBERS", "holds more than one number", "Keep one to a cell.")
    if _UNIT.match(bare) and len(bare) <= 20 and not is_remark and (known or one_word):
        form = _of_numerals(kind, (number,), bare, "", plain)
        return _doubted(form, plain) if doubted else form
    if re.match(r"[^\W\d_]|[(\[]", behind.lstrip(" ,;:-–")):
        return _doubted(_of_numerals(kind, (number,), "", "", plain), plain)
    return refused(plain, "NOT_A_NUMBER", "cannot be read as one number")


def _says_more(tail: str) -> bool:
    if tail[:1] == "(":
        return not _OF_SUBSTANCE.fullmatch(tail.strip("()")) and not _AT.fullmatch(tail.strip("()"))
    return any(word.strip(".,!?").casefold() in REMARKS for word in tail.split())


def _sign_behind(plain: str, number: str, sign: str) -> NumberForm:
    if sign in "-−":
        meant = (f"-{number}", f"{number} below zero"), (number, f"the number {number}")
        return unclear(plain, "SIGN_BEHIND", "has its minus behind the number", *meant)
    if sign == "+":
        return _doubted(_of_numerals(">", (number,), "", "", plain), plain)
    meant = (f"<{number}", f"below {number}"), (f">{number}", f"above {number}")
    return unclear(plain, "SIGN_BEHIND", f"has its {sign} behind the number", *meant)


def _named(plain: str, rest: str) -> NumberForm:
    found = re.fullmatch(r"([^\W\d_][^\W_]{0,11}(?: [^\W\d_]{1,11})?)[ :=]+(.+)", rest)
    if found and found[2][:1] in "0123456789<>~≤≥.,+-":
        inner = _number(found[2], found[2])
        if inner.kind in ("number", "<", ">", "between"):
            return _doubted(_renamed(inner, found[1]), plain)
    if any(sign.isdigit() for sign in plain):
        return refused(plain, "NOT_A_NUMBER", "cannot be read as one number")
    return refused(plain, "NOT_A_NUMBER", "is no number")


def _renamed(form: NumberForm, name: str) -> NumberForm:
    return NumberForm(form.kind, form.numerals, form.unit, form.remark, form.said, (), name)


def _doubted(form: NumberForm, plain: str) -> NumberForm:
    if form.kind not in ("number", "<", ">", "between"):
        return form
    said = Said(
        "flagged", "DOUBT_MARK", f"“{shortened(plain)}”: more than the number stands there.",
        "The number is taken; how it was written is kept in the note.",
    )  # fmt: skip
    remark = f"written as {shortened(plain, 100)}"
    return NumberForm(form.kind, form.numerals, form.unit, remark, said, (), form.name)


def _of_numerals(
    kind: str,
    written: tuple[str, ...],
    unit: str,
    remark: str,
    plain: str,
    said: Said | None = None,
) -> NumberForm:
    numerals = [numeral_of(text.replace("+ ", "+").replace("- ", "-")) for text in written]
    if any(numeral is None for numeral in numerals):
        digits = sum(sign.isdigit() for sign in plain)
        if digits > 20 or re.search(r"[eE][+-]?\d{2,}", plain):
            return refused(plain, "TOO_LARGE", "is beyond any number that is measured")
        if " " in plain and re.search(r"\d [.,]|[.,] \d", plain):
            return refused(plain, "BLANK_INSIDE", "has a blank inside", "Write it without blanks.")
        why = "has marks between its digits that make no number"
        return refused(plain, "NOT_A_NUMBER", why)
    known = tuple(numeral for numeral in numerals if numeral is not None)
    if len(written) == 1 and re.match(r"[+-]?\d{3} \d{3}", written[0]):
        return refused(plain, "TWO_NUMBERS", "may be one number or two", "Write one, unparted.")
    form = NumberForm(kind, known, unit, remark, said)
    if kind == "between" and all(n.clear for n in known) and known[0].point >= known[1].point:
        low, high = written[1], written[0]
        if known[0].point == known[1].point:
            return unclear(plain, "INTERVAL", "has twice the same end", (low, f"the number {low}"))
        meant = (f"{low}-{high}", f"between {low} and {high}")
        return unclear(plain, "INTERVAL", "goes downwards", meant)
    return form
