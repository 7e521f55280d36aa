"""What is asked and told about the decimal mark of a column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from reef_calc.log.foreign.decimal_marks import shown_mark
from reef_calc.log.foreign.form_of_number import shortened
from reef_calc.log.foreign.number_forms import number_form
from reef_calc.log.foreign.outcome import Answers, CellNumber, Choice, Question, Said
from reef_calc.log.foreign.plain_words import plain
from reef_calc.log.foreign.ragged_rows import named_rows
from reef_calc.log.foreign.words_for_nothing import GRAVITY
from reef_calc.messages import Message

_WORDS = {".": "point", ",": "comma"}
_GRAVITIES = (0.99, 1.1)


def _as(text: str, decimal: str) -> str:
    ends = [f"{numeral.value(decimal):.12g}" for numeral in number_form(text).numerals]
    return " to ".join(ends)


def _fits(text: str, decimal: str) -> str:
    """Return what becomes of a number that shows its own decimal mark."""
    shown = {shown_mark(one.mark, one.grouped) for one in number_form(text).numerals}
    if shown & (set(_WORDS) - {decimal}):
        return f"{shortened(text, 24)} does not fit and is not read"
    return f"{shortened(text, 24)} is {_as(text, decimal)}"


def _assumed(texts: Sequence[str], heading: str, separator: str) -> str:
    marks = {mark for text in texts for mark in ".," if mark in text}
    if len(marks) != 1:
        return ""
    mark = marks.pop()
    # A comma parts the cells, so this spreadsheet is of a country that does not part thousands by points.
    if separator == "," and mark == ".":
        return mark
    numerals = [numeral for text in texts for numeral in number_form(text).numerals]
    low, high = _GRAVITIES
    if GRAVITY & set(plain(heading).split()) and all(
        low < numeral.value(mark) < high for numeral in numerals
    ):
        return mark
    return ""


def decimal_question(
    texts: Sequence[str],
    rows: Sequence[int],
    *,
    key: str,
    column: int,
    heading: str,
    separator: str,
    answers: Answers,
    settled: bool,
) -> Question:
    """Return the question which mark is the decimal mark of a column.

    Parameters
    ----------
    texts : sequence of str
        Different cells that do not tell.
    rows : sequence of int
        Their rows, an index from 1.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    heading, separator : str
        Heading of the column; what parts the cells of the file.
    answers : dict of str to str
        Answers so far.
    settled : bool
        Whether other cells show both marks, so that nothing may be assumed.

    Returns
    -------
    Question
        With both readings. A point in a file parted by commas, and a gravity, are assumed.

    Examples
    --------
    >>> question = decimal_question(["1,234"], [2], key="Ca", column=1, heading="Ca", separator=";",
    ...                             answers={}, settled=False)
    >>> [(choice.answer, choice.consequence) for choice in question.choices], question.open
    ([('.', '1,234 is 1234'), (',', '1,234 is 1.234')], True)
    """
    name = f"decimal/{key}"
    both = [text for text in set(texts) if _as(text, ".") != _as(text, ",")]
    different = sorted(both or set(texts), key=lambda text: (_as(text, "."), text))[:3]
    choices = tuple(
        Choice(
            mark, f"The {word} is the decimal mark",
            "; ".join(f"{shortened(text, 24)} is {_as(text, mark)}" for text in different)
            if both
            else "; ".join(_fits(text, mark) for text in different),
        )
        for mark, word in _WORDS.items()
    )  # fmt: skip
    where = named_rows([row - 1 for row in rows])
    text = (
        f"Which is the decimal mark of {key}, the point or the comma? “{shortened(different[0], 24)}” "
        f"({where}) can be read both ways."
    )
    if not both:
        text = (
            f"Which is the decimal mark of {key}, the point or the comma? In {where} one mark parts "
            "the decimals in some cells and the thousands in others."
        )
    elif settled:
        text += " Other cells of the column show both."
    given = answers.get(name, "")
    if given and given not in _WORDS:
        text = f"“{shortened(given)}” is neither. {text}"
    return Question(
        name, text, choices, tuple(rows), column,
        assumed="" if settled else _assumed(texts, heading, separator),
        answered=given if given in _WORDS else "",
    )  # fmt: skip


def waits_for_mark(text: str, question: Question) -> CellNumber:
    """Return what a cell says while the decimal mark is not known.

    Parameters
    ----------
    text : str
        The cell.
    question : Question
        As ``decimal_question`` gives it.

    Returns
    -------
    CellNumber
        Asked, with both readings.

    Examples
    --------
    >>> waits_for_mark("1,234", Question("decimal/Ca", "?")).said[0].reason
    '“1,234” is 1234 or 1.234.'
    """
    point, comma = _as(text, "."), _as(text, ",")
    reason = f"“{shortened(text)}” is {point} or {comma}."
    if point == comma:
        reason = f"“{shortened(text)}” uses its marks otherwise than other cells of the column."
    said = Said("asked", "DECIMAL_MARK", reason, "Say which is the decimal mark.", question.key)
    return CellNumber(unit=number_form(text).unit, said=(said,))


def refused_mark(text: str, decimal: str) -> CellNumber:
    """Return what is said of a cell that contradicts the decimal mark of its column.

    Parameters
    ----------
    text : str
        The cell.
    decimal : str
        Decimal mark of the column.

    Returns
    -------
    CellNumber
        Refused.

    Examples
    --------
    >>> refused_mark("8,3", ".").said[0].reason
    '“8,3” does not fit: in this column the point is the decimal mark and the comma parts thousands.'
    """
    mark, other = _WORDS[decimal], _WORDS["," if decimal == "." else "."]
    reason = (
        f"“{shortened(text)}” does not fit: in this column the {mark} is the decimal mark and the "
        f"{other} parts thousands."
    )
    return CellNumber(
        said=(Said("refused", "DECIMAL_MARK", reason, f"Write it with a {mark}, or correct it."),)
    )


def mark_notes(
    key: str,
    shown: Mapping[str, Sequence[str]],
    rows: Mapping[str, Sequence[int]],
    undecided: Sequence[str],
    decided: str,
) -> tuple[Message, ...]:
    """Return what is told of the decimal mark of a column.

    Parameters
    ----------
    key : str
        Key of the column.
    shown : dict of str to sequence of str
        Cells that show each mark as the decimal mark.
    rows : dict of str to sequence of int
        Their rows, an index from 1; needed where both marks occur.
    undecided : sequence of str
        Cells that could be read both ways and were decided by the others.
    decided : str
        The mark that decided them.

    Returns
    -------
    tuple of Message
        Codes ``DECIMAL_MARKS`` (both occur), ``DECIMAL_MARK`` and ``DECIMAL_MARK_DECIDED``.

    Examples
    --------
    >>> mark_notes("KH", {",": ["8,3"], ".": ["8.1"]}, {",": [2], ".": [3]}, [], "")[0].text
    'KH: both decimal marks occur: a comma in row 2 (“8,3”), a point ...'
    """
    found = []
    comma, point = shown[","], shown["."]
    if comma and point:
        first, second = (named_rows([row - 1 for row in rows[mark]]) for mark in ",.")
        found.append(Message(
            "DECIMAL_MARKS",
            f"{key}: both decimal marks occur: a comma in {first} (“{shortened(comma[0], 24)}”), a "
            f"point in {second} (“{shortened(point[0], 24)}”). Each is read as written.",
        ))  # fmt: skip
    elif comma:
        text = f"{key}: the comma is the decimal mark, as in “{shortened(comma[0], 24)}”."
        found.append(Message("DECIMAL_MARK", text))
    if undecided and decided:
        by = shown[decided][0]
        example = undecided[0]
        found.append(Message(
            "DECIMAL_MARK_DECIDED",
            f"{key}: “{shortened(example, 24)}” is read as {_as(example, decided)}, for the "
            f"{_WORDS[decided]} is the decimal mark in “{shortened(by, 24)}”.",
        ))  # fmt: skip
    return tuple(found)
