"""What the columns of a foreign table mean, and what its rows are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import get_args

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units, check_unit
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.foreign.column_guess import MOMENT, OTHER_TANK, Guess, column_guess
from reef_calc.log.foreign.columns import Column, Role, with_keys
from reef_calc.log.foreign.grid import column_letter
from reef_calc.log.foreign.kinds_of_file import kind_of_file
from reef_calc.log.foreign.layout import Layout
from reef_calc.log.foreign.mixed_tables import OTHER_KINDS
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.parts_in_headings import part_in_heading
from reef_calc.log.foreign.plain_numbers import first_numbers
from reef_calc.log.foreign.seen_together import seen_together
from reef_calc.log.foreign.unit_texts import unit_of_text, with_species
from reef_calc.messages import Message

ROLES: tuple[str, ...] = get_args(Role)


@dataclass(frozen=True)
class Meanings:
    """What the columns of a table mean.

    Attributes
    ----------
    columns : tuple of Column
        Each with its key.
    kind : str
        What the rows are: readings, laboratory report, logger, additions, water changes or volumes.
    notes : tuple of Message
        What was assumed, a sentence each.
    questions : tuple of Question
        What has to be asked, or rests on an assumption.
    """

    columns: tuple[Column, ...]
    kind: str
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


def column_meanings(
    layout: Layout,
    samples: Mapping[int, Sequence[str]],
    tank: Description,
    answers: Answers,
    *,
    rows: int = 0,
) -> Meanings:
    """Return what the columns of a table mean.

    Parameters
    ----------
    layout : Layout
        Headings, units and columns of the table.
    samples : dict of int to sequence of str
        Up to 200 cells of each column (index from 0) that are not empty, from all over the file.
    tank : Description
        The tank: names of its kits and supplements.
    answers : dict of str to str
        Answers so far: ``role/KEY``, ``element/KEY``, ``unit/KEY``, ``kit/KEY``, ``lot/KEY``,
        ``water/KEY`` and ``meaning/KEY`` for a column, ``kind/file`` for the rows.
    rows : int, optional
        Number of data rows.

    Returns
    -------
    Meanings
        Columns with what is known of them. One that cannot be known has the role ``unknown`` and a
        question ``meaning/KEY``.

    Notes
    -----
    A heading that merely resembles an element is never taken for it, only offered first.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> layout = Layout(headings=("Datum", "KH [°dKH]"), columns=(0, 1))
    >>> found = column_meanings(layout, {0: ["01.02.2026"], 1: ["8,3"]}, example_tank(), {}, rows=1)
    >>> [(c.role, c.element, c.unit) for c in found.columns], found.kind
    ([('date', '', ''), ('value', 'alkalinity', 'dKH')], 'readings')
    """
    bare = with_keys(
        tuple(Column(i, _at(layout.headings, i).strip(), "unknown") for i in layout.columns)
    )
    guesses = {
        column.index: column_guess(
            column.heading, _at(layout.parts, column.index), _at(layout.unit_texts, column.index),
            samples.get(column.index, ()), tank,
        )
        for column in bare
    }  # fmt: skip
    notes: list[Message] = []
    questions: list[Question] = []
    letters = {c.index: c.heading if len(c.heading) == 1 else "" for c in bare}
    guesses = {index: _in_part(guess) for index, guess in guesses.items()}
    guesses = _kept_apart(seen_together(guesses, letters), bare, notes)
    columns = []
    for column in bare:
        texts = samples.get(column.index, ())
        guess = _answered(column, guesses[column.index], texts, answers, notes, questions)
        guesses[column.index] = guess
        columns.append(_filled(column, guess, texts, answers, notes, questions))
    kind = kind_of_file(columns, samples, rows, answers)
    if kind.question is not None:
        questions.append(kind.question)
    return Meanings(
        _for_kind(columns, kind.kind), kind.kind, (*notes, *kind.notes), tuple(questions)
    )


def _at(texts: Sequence[str], index: int) -> str:
    return texts[index] if index < len(texts) else ""


def _in_part(guess: Guess) -> Guess:
    """Tell a part of the day from the name of a kit."""
    part = part_in_heading(guess.kit or guess.beside) if guess.element else ""
    if not part or guess.role not in ("value", "unknown"):
        return guess
    return replace(guess, role="value", part=part, kit="", beside="", note="", likely="")


def _kept_apart(
    guesses: dict[int, Guess], columns: Sequence[Column], notes: list[Message]
) -> dict[int, Guess]:
    """Keep columns of one element apart: the words in which their headings differ are their kits."""
    groups: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for index, guess in guesses.items():
        if guess.role == "value" and guess.element:
            groups[(guess.element, guess.water, guess.part)].append(index)
        elif guess.role == "unknown" and guess.element and guess.beside.strip():
            groups[(guess.element, "", "")].append(index)
    found = dict(guesses)
    keys = {column.index: column.key for column in columns}
    for (element, _, _), group in groups.items():
        group.sort()
        sure = [index for index in group if guesses[index].role == "value"]
        # Two headings that differ by a word each tell kits apart; one odd word alone may mean anything.
        if len(group) < 2 or (len(sure) < len(group) and any(not guesses[i].kit for i in sure)):
            group = sure
        if len(group) < 2:
            continue
        kits = {index: guesses[index].kit or guesses[index].beside for index in group}
        if len(set(kits.values())) < len(kits):
            units = {i: with_species(guesses[i].unit_text, guesses[i].species) for i in group}
            by_unit = len(set(units.values())) == len(units) and not any(kits.values())
            other = {i: units[i] if by_unit else f"column {column_letter(i)}" for i in group}
            doubled = [kit for kit in kits.values() if list(kits.values()).count(kit) > 1]
            kits = {i: " ".join(filter(None, (kit, other[i]))) if kit in doubled else kit
                    for i, kit in kits.items()}  # fmt: skip
        for index, kit in kits.items():
            found[index] = replace(guesses[index], role="value", kit=kit, beside="")
        said = ", ".join(f"{keys[i]} (kit “{kit}”)" if kit else keys[i] for i, kit in kits.items())
        notes.append(Message("KEPT_APART", f"All {element}, kept apart: {said}."))
    return found


def _answered(
    column: Column, guess: Guess, texts: Sequence[str], answers: Answers,
    notes: list[Message], questions: list[Question],
) -> Guess:  # fmt: skip
    """Ask what a column is where that is unknown, and let the keeper's answers overrule."""
    meaning = f"meaning/{column.key}"
    given, role = answers.get(meaning, ""), answers.get(f"role/{column.key}", "")
    element = answers.get(f"element/{column.key}", "")
    if guess.role == "unknown" or given:
        answer = "" if _meant(given, guess) is None else given
        if not role:
            questions.append(_meaning(column, guess, texts, given, answer))
        if answer:
            guess = _meant(answer, guess) or guess
    elif guess.note and not role:
        notes.append(Message("COLUMN", f"{column.key}: {guess.note}."))
    if role:
        if role not in ROLES:
            notes.append(_not_used(column, role, "no part a column can have"))
        else:
            known: Role = role  # type: ignore[assignment]
            guess = replace(guess, role=known, note="", kit=guess.kit or guess.beside.strip())
            if known == "value" and not element and not guess.element:
                element = guess.likely
    if element:
        named = element if element in ELEMENTS else element_named(element)
        if not named:
            notes.append(_not_used(column, element, "no element that is known"))
        else:
            species = guess.species if named == guess.element else ""
            guess = replace(guess, element=named, species=species)
    return guess


def _meant(answer: str, guess: Guess) -> Guess | None:
    """Return the guess as an answer to ``meaning`` makes it; None where it is no answer to that."""
    if answer == "value" and guess.other == "value":
        return replace(guess, role="value", note="")
    if answer in ROLES and answer not in ("value", "unknown"):
        role: Role = answer  # type: ignore[assignment]
        return replace(guess, role=role, note="")
    named = answer if answer in ELEMENTS else element_named(answer)
    if not named or not answer:
        return None
    species = guess.species if named == guess.element else ""
    kit = guess.kit or guess.beside.strip()
    return replace(guess, role="value", element=named, species=species, kit=kit, note="")


def _meaning(
    column: Column, guess: Guess, texts: Sequence[str], given: str, answer: str
) -> Question:
    numbers = first_numbers(texts)
    low, high = (min(numbers), max(numbers)) if numbers else (0.0, 0.0)
    span = f"{low:g} to {high:g} become" if low < high else f"{low:g} becomes one of the"
    text = f"What is “{column.heading or column.key}”?"
    if numbers:
        text += (
            f" Its numbers run from {low:g} to {high:g}." if low < high else f" It holds {low:g}."
        )
    else:
        span = "Its numbers become"
    if guess.beside == OTHER_TANK:
        text = f"“{column.heading}” names a tank. Is it this one, or another that is not used here?"
    elif guess.likely:
        text += f" Perhaps {guess.likely}?{MOMENT if guess.note == MOMENT else ''}"
    if given and not answer:
        text += f" “{given[:40]}” is no answer to that."
    names = dict.fromkeys(([guess.likely] if guess.likely else []) + list(ELEMENTS))
    values = Choice("value", "The value of each row", f"{span} levels of what each row names.")
    choices = (
        *((values,) if guess.other == "value" else ()),
        *(Choice(name, f"{name} of this tank", f"{span} levels of {name}.") for name in names),
        *OTHER_KINDS,
        Choice("note", "A note", "Its text is kept in the note of each row."),
        Choice("not used", "Not used", "Nothing of it is brought in."),
    )
    return Question(f"meaning/{column.key}", text, choices, (), column.index, answered=answer)


def _filled(
    column: Column, guess: Guess, texts: Sequence[str], answers: Answers,
    notes: list[Message], questions: list[Question],
) -> Column:  # fmt: skip
    key = column.key
    value = guess.role == "value"
    unit_text = with_species(guess.unit_text, guess.species) if value else guess.unit_text
    filled = replace(
        column,
        role=guess.role,
        element=guess.element if value or guess.role == "lot" else "",
        unit_text=unit_text,
        kit=answers.get(f"kit/{key}", guess.kit) if value else "",
        lot=answers.get(f"lot/{key}", "") if value else "",
        water=answers.get(f"water/{key}", guess.water) if value else "",
        part=guess.part if value else "",
    )
    if not value or not filled.element:
        return filled
    wanted = answers.get(f"unit/{key}", "")
    if wanted:
        try:
            unit = check_unit(wanted, filled.element) if filled.element in ELEMENTS else wanted
            return replace(filled, unit=unit)
        except InputError:
            listed = ", ".join(accepted_units(filled.element)[:4])
            notes.append(_not_used(column, wanted, f"no unit of {filled.element} ({listed}, …)"))
    if unit_text:
        read = unit_of_text(
            unit_text,
            filled.element,
            key=key,
            answers=answers,
            rows=(),
            values=first_numbers(texts),
        )
        notes += [read.note] if read.note else []
        if read.question is not None:
            questions.append(replace(read.question, column=column.index))
        filled = replace(filled, unit=read.unit)
    return filled


def _not_used(column: Column, given: str, why: str) -> Message:
    text = f"{column.key}: the answer “{given[:40]}” is {why}, and is not used."
    return Message("ANSWER_NOT_USED", text, "qualified")


def _for_kind(columns: Sequence[Column], kind: str) -> tuple[Column, ...]:
    """Turn salinity into that of the new water where the rows are water changes."""
    if kind != "water changes":
        return tuple(columns)
    return tuple(
        replace(column, role="salinity")
        if column.role == "value" and column.element == "salinity"
        else column
        for column in columns
    )
