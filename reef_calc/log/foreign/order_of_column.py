"""The order of day, month and year in a column of dates: one for all its rows, or none."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.log.foreign.date_forms import shortened
from reef_calc.log.foreign.date_orders import (
    ORDER_WORDS,
    ORDERS,
    Ordered,
    consequence,
    day_in_order,
    days_in_order,
    fits,
    kind_of,
)
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.rows_in_words import in_words
from reef_calc.messages import Message

# A log that is kept goes back this many years at most before its order is doubted.
_YEARS_BACK = 15


@dataclass(frozen=True)
class Decision:
    """The order of a column.

    Attributes
    ----------
    order : str
        ``day first``, ``month first`` or ``year first``; empty where it is not known.
    notes : tuple of Message
        What decided it.
    question : Question or None
        What is asked.
    refusal : str
        Why no order can be right; empty otherwise.
    """

    order: str = ""
    notes: tuple[Message, ...] = ()
    question: Question | None = None
    refusal: str = ""


def decide_order(
    found: Sequence[Ordered],
    *,
    key: str,
    column: int,
    heading: str,
    today: dt.date,
    answers: Answers,
) -> Decision:
    """Return the order of day, month and year that a column has.

    Parameters
    ----------
    found : sequence of Ordered
        Rows whose dates have to be put in order.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    heading : str
        Name of the column in messages.
    today : datetime.date
        The present day.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Decision
        The one order that fits all rows, what is assumed, what is asked, or why none fits.

    Examples
    --------
    >>> from reef_calc.log.foreign.date_forms import Written
    >>> rows = [Ordered(2, "3/2/2026", Written(parts=(3, 2, 2026), separator="/")),
    ...     Ordered(3, "3/16/2026", Written(parts=(3, 16, 2026), separator="/"))]
    >>> decide_order(rows, key="date", column=0, heading="date", today=dt.date(2026, 4, 1),
    ...     answers={}).order
    'month first'
    """
    # A row that fits no order at all is refused by itself and has no vote.
    kinds: dict[tuple[object, ...], Ordered] = {}
    for one in found:
        kinds.setdefault(kind_of(one), one)
    kinds = {
        kind: one
        for kind, one in kinds.items()
        if any(fits(one.written, order) for order in ORDERS)
    }
    voting = [one for one in found if kind_of(one) in kinds]
    if not voting:
        return Decision("day first")
    distinct = list(kinds.values())
    fitting = [o for o in ORDERS if all(fits(one.written, o) for one in distinct)]
    name = f"day or month/{key}"
    given = answers.get(name, "")
    if not fitting:
        return _contradiction(voting, distinct, name, column, heading, given, today)
    if len(fitting) == 1:
        note = _settled(distinct, fitting[0], heading)
        other = _not_so(given, fitting[0], heading)
        return Decision(fitting[0], (note, *other))
    choices = tuple(_choice(order, voting, today) for order in fitting)
    rows = tuple(one.row for one in voting)
    assumed = ""
    if all(one.written.separator == "." for one in distinct) and "day first" in fitting:
        doubted = _strange(distinct, "day first", today) and any(
            not _strange(distinct, order, today) for order in fitting
        )
        assumed = "" if doubted else "day first"
    answered = given if given in fitting else ""
    first = shortened(distinct[0].text)
    text = f"In which order are day, month and year in {heading}, such as “{first}”?"
    if given and not answered:
        text = f"“{shortened(given)}” is not one of the answers. {text}"
    question = Question(name, text, choices, rows, column, assumed=assumed, answered=answered)
    notes: tuple[Message, ...] = ()
    if assumed and not answered:
        one = distinct[0]
        words = day_in_order(one, "day first")
        notes = (
            Message(
                "DATE_ORDER",
                f"{heading}: dates with dots are read day first: “{shortened(one.text)}” is {words}.",
            ),
        )
    elif answered:
        notes = (Message("DATE_ORDER", f"{heading}: {ORDER_WORDS[answered]}, as you chose."),)
    return Decision(answered or assumed, notes, question)


def _settled(distinct: Sequence[Ordered], order: str, heading: str) -> Message:
    for one in distinct:
        ways = [o for o in ORDERS if fits(one.written, o)]
        if ways == [order]:
            why = f"row {one.row}, “{shortened(one.text)}”, fits no other order"
            return Message("DATE_ORDER", f"{heading}: {ORDER_WORDS[order]}; {why}.")
    return Message("DATE_ORDER", f"{heading}: {ORDER_WORDS[order]}; no other order fits all rows.")


def _not_so(given: str, order: str, heading: str) -> tuple[Message, ...]:
    if not given or given == order:
        return ()
    text = f"{heading}: “{shortened(given)}” was answered, but only {order} fits this file."
    return (Message("ORDER_NOT_SO", text),)


def _contradiction(
    voting: Sequence[Ordered],
    distinct: Sequence[Ordered],
    name: str,
    column: int,
    heading: str,
    given: str,
    today: dt.date,
) -> Decision:
    first, second = _opposed(distinct)
    rows = tuple(one.row for one in voting)
    sides = [o for o in ORDERS if any(fits(one.written, o) for one in distinct)]
    choices = []
    for order in sides:
        good = [one for one in voting if fits(one.written, order)]
        lost = len(voting) - len(good)
        words = f"{lost} {'row is' if lost == 1 else 'rows are'} refused. "
        choices.append(
            Choice(order, ORDER_WORDS[order].capitalize(), words + consequence(good, order, today))
        )
    question = Question(
        name,
        f"The dates in {heading} contradict each other. Which order do they have?",
        tuple(choices), rows, column, answered=given if given in sides else "",
    )  # fmt: skip
    if question.answered:
        note = Message("DATE_ORDER", f"{heading}: {ORDER_WORDS[given]}, as you chose.")
        return Decision(given, (note,), question)
    return Decision(
        question=question,
        refusal=f"The dates in {heading} contradict each other: {_only(first)}; {_only(second)}. "
        "One column has one order. Correct the file, or choose the order: the other rows are refused.",
    )


def _opposed(distinct: Sequence[Ordered]) -> tuple[Ordered, Ordered]:
    # Two rows that share no order; where every two share one, the pair that shares fewest.
    kinds: dict[frozenset[str], Ordered] = {}
    for one in distinct:
        kinds.setdefault(frozenset(o for o in ORDERS if fits(one.written, o)), one)
    pairs = [(a, b) for a in kinds for b in kinds if a != b]
    a, b = min(pairs, key=lambda pair: (len(pair[0] & pair[1]), kinds[pair[0]].row))
    first, second = sorted((kinds[a], kinds[b]), key=lambda one: one.row)
    return first, second


def _only(one: Ordered) -> str:
    ways = [ORDER_WORDS[order].replace(", ", "/") for order in ORDERS if fits(one.written, order)]
    return f"row {one.row}, “{shortened(one.text)}”, can only be {in_words(ways, 'or')}"


def _strange(distinct: Sequence[Ordered], order: str, today: dt.date) -> bool:
    days = days_in_order(distinct, order)
    return (
        len(days) < len(distinct)
        or max(days) > today
        or min(days).year < today.year - _YEARS_BACK
    )  # fmt: skip


def _choice(order: str, found: Sequence[Ordered], today: dt.date) -> Choice:
    return Choice(order, ORDER_WORDS[order].capitalize(), consequence(found, order, today))
