"""What the keeper chose to leave out: rows of this file, and all that waits for one question."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from reef_calc.errors import InputError
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Question, Said
from reef_calc.messages import Message

LEAVE = "leave out/"
ROWS = "row:leave out"
YES = "yes"


@dataclass(frozen=True)
class Chosen:
    """What is left after the keeper's own choices.

    Attributes
    ----------
    entries, marks, notes, questions : tuple
        As in ``Made``; what was left out is refused, marked as chosen.
    """

    entries: tuple[Entry, ...]
    marks: tuple[Mark, ...]
    notes: tuple[Message, ...]
    questions: tuple[Question, ...]


def left_out(
    entries: Sequence[Entry],
    marks: Sequence[Mark],
    questions: Sequence[Question],
    answers: Answers,
    rows: Iterable[int],
) -> Chosen:
    """Return entries, marks and questions after what the keeper chose to leave out.

    Parameters
    ----------
    entries : sequence of Entry
        What would be added.
    marks : sequence of Mark
        What is said.
    questions : sequence of Question
        What is asked. The answer "yes" to ``leave out/KEY`` leaves out what waits for that question.
    answers : dict of str to str
        Answers; ``row:leave out`` lists rows of this file, such as "3, 7-9".
    rows : iterable of int
        The data rows of the file, counted from 1.

    Returns
    -------
    Chosen
        Rows that are left out stay in the sums, as refused.

    Raises
    ------
    InputError
        If the list of rows cannot be read.

    Examples
    --------
    >>> entry = Entry(3, 1, "readings.csv", {})
    >>> left_out([entry], [], [], {"row:leave out": "3"}, [3]).entries
    ()
    """
    told: list[Message] = []
    done: list[Question] = []
    gone_keys: set[str] = set()
    for question in questions:
        if question.open and answers.get(LEAVE + question.key) == YES:
            gone_keys.add(question.key)
            question = replace(question, answered="left out")
        done.append(question)
    result: list[Mark] = []
    by_question: dict[str, list[int]] = {}
    for mark in marks:
        if mark.said.fate == "asked" and mark.said.question in gone_keys:
            by_question.setdefault(mark.said.question, []).append(mark.row)
            said = replace(
                mark.said, fate="refused", reason=f"{mark.said.reason} Left out as you chose.",
                chosen=True,
            )  # fmt: skip
            mark = replace(mark, said=said)
        result.append(mark)
    for key, waiting in by_question.items():
        told.append(
            Message(
                "LEFT_OUT",
                f"{len(set(waiting))} {'row is' if len(set(waiting)) == 1 else 'rows are'} left out as you "
                f"chose ({key}).",
            )
        )
    chosen = _rows(answers.get(ROWS, ""))
    rows_out = set(rows) & chosen
    if chosen - rows_out:
        told.append(
            Message(
                "NO_SUCH_ROW",
                f"Rows to leave out: {len(chosen - rows_out):,} of them hold no data.",
            )
        )
    if rows_out:
        said = Said("refused", "LEFT_OUT", "Left out as you chose.", chosen=True)
        result += [Mark(row, None, said) for row in sorted(rows_out)]
        result = [
            replace(mark, said=replace(mark.said, chosen=True)) if mark.row in rows_out else mark
            for mark in result
        ]
        listed = ", ".join(str(row) for row in sorted(rows_out)[:20])
        more = f" and {len(rows_out) - 20:,} more" if len(rows_out) > 20 else ""
        told.append(Message("LEFT_OUT", f"Rows left out as you chose: {listed}{more}."))
    kept = tuple(entry for entry in entries if entry.row not in rows_out)
    return Chosen(kept, tuple(result), tuple(told), tuple(done))


def _rows(text: str) -> set[int]:
    found: set[int] = set()
    for part in text.replace(";", ",").split(","):
        first, _, last = part.strip().replace("–", "-").partition("-")
        if not first:
            continue
        try:
            start, end = int(first), int(last or first)
        except ValueError:
            start, end = 1, 0
        if not 1 <= start <= end <= 2_000_000:
            raise InputError(
                "rows such as 3, 7-9", text, "Write their numbers as the preview shows them.",
                "Rows to leave out",
            )  # fmt: skip
        found.update(range(start, end + 1))
    return found
