"""Answers that do not fit the file: said in words, so that none is passed over in silence."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import Answers, Question
from reef_calc.messages import Message

_LONGEST = 40
_OF_COLUMN = "meaning/"


def unused_answers(
    answers: Answers,
    questions: Sequence[Question],
    columns: Sequence[Column],
    shown: Sequence[Question],
) -> tuple[Message, ...]:
    """Return a message for each answer that was given to a question of this file and is not used.

    Parameters
    ----------
    answers : dict of str to str
        Answers so far, typed or remembered.
    questions : sequence of Question
        Questions of the file with these answers.
    columns : sequence of Column
        Its columns.
    shown : sequence of Question
        Those questions that the keeper sees; a word in any other is not seen.

    Returns
    -------
    tuple of Message
        Not of what the question itself says already, nor of answers to what this file does not ask.

    Examples
    --------
    >>> asked = Question("which kit/A", "Which kit is “A”?", ())
    >>> unused_answers({"which kit/A": "old kit"}, [asked], [], [asked])[0].text
    'The answer “old kit” to which kit/A does not fit and is not used.'
    """
    by_key = {question.key: question for question in questions}
    headings = {_OF_COLUMN + column.key for column in columns}
    seen = {question.key for question in shown}
    told = []
    for key, answer in answers.items():
        question = by_key.get(key)
        given = answer[:_LONGEST]
        if not given.strip() or (question is None and key not in headings):
            continue
        told_there = question is not None and key in seen and f"“{given}" in question.text
        if question is None or not (question.answered or told_there):
            words = f"The answer “{given}” to {key} does not fit and is not used."
            told.append(Message("ANSWER_NOT_USED", words, "qualified"))
    return tuple(told)
