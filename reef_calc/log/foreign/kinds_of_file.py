"""What the rows of a foreign file are: readings, a logger's, doses, water changes or volumes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.messages import Message

KEY = "kind/file"
KINDS = {
    "readings": "Each number becomes a reading.",
    "laboratory report": "One sample of water: each row is one element.",
    "logger": "Each day is thinned to its minimum, mean and maximum.",
    "additions": "Each row is a dose.",
    "water changes": "Each row is a water change.",
    "volumes": "Nothing is added; the net volume belongs into tank.toml.",
}
_LOGGED = ("pH", "temperature", "salinity")
# More than four rows a day no keeper tests by hand for long.
_MANY_A_DAY, _FEW_A_DAY, _MANY_ROWS = 4.0, 1.5, 500


@dataclass(frozen=True)
class KindOfFile:
    """What the rows of a file are.

    Attributes
    ----------
    kind : str
        A key of ``KINDS``.
    notes : tuple of Message
        What is not brought in because of it.
    question : Question or None
        Asked where it could be otherwise.
    """

    kind: str
    notes: tuple[Message, ...] = ()
    question: Question | None = None


def kind_of_file(
    columns: Sequence[Column], samples: Mapping[int, Sequence[str]], rows: int, answers: Answers
) -> KindOfFile:
    """Return what the rows of a file are.

    Parameters
    ----------
    columns : sequence of Column
        Its columns.
    samples : dict of int to sequence of str
        Some cells of each column (index from 0), evenly from all over the file.
    rows : int
        Number of data rows.
    answers : dict of str to str
        Answers so far; ``kind/file`` overrules.

    Returns
    -------
    KindOfFile
        The kind, with a question where several would fit.

    Examples
    --------
    >>> columns = (Column(0, "Date", "date"), Column(1, "Litres", "litres"))
    >>> kind_of_file(columns, {}, 4, {}).kind
    'water changes'
    """
    roles: set[str] = {column.role for column in columns}
    elements = {column.element for column in columns if column.role == "value" and column.element}
    kind, unclear = _kind(roles, elements, columns, samples, rows)
    given = answers.get(KEY, "")
    answered = given if given in KINDS else ""
    chosen = answered or kind
    notes = []
    if given and not answered:
        text = f"“{given[:40]}” is no kind of file and is not used."
        notes.append(Message("ANSWER_NOT_USED", text, "qualified"))
    other = [
        (column.key or column.heading, "water changes" if column.role == "litres" else "additions")
        for column in columns
        if column.role in ("litres", "amount", "supplement", "how", "end")
    ]
    if chosen in ("readings", "logger", "laboratory report"):
        for key, as_kind in other:
            text = (
                f"{key} is not brought in with readings: bring the file in once more as {as_kind}."
            )
            notes.append(Message("OTHER_KIND", text))
        unclear = unclear or bool(other)
    for key, as_kind in other:
        if chosen in ("additions", "water changes") and as_kind != chosen and elements:
            text = (
                f"{key} is not brought in with {chosen}: bring the file in once more as {as_kind}."
            )
            notes.append(Message("OTHER_KIND", text))
    if elements and chosen in ("additions", "water changes") and elements != {"salinity"}:
        text = f"Levels are not brought in with {chosen}: bring the file in once more as readings."
        notes.append(Message("OTHER_KIND", text))
    question = None
    if unclear or given:
        choices = tuple(Choice(one, one, words) for one, words in KINDS.items())
        text = f"What are the rows of this file? They are taken as {kind}."
        question = Question(KEY, text, choices, assumed=kind, answered=answered)
    return KindOfFile(chosen, tuple(notes), question)


def _kind(
    roles: set[str],
    elements: set[str],
    columns: Sequence[Column],
    samples: Mapping[int, Sequence[str]],
    rows: int,
) -> tuple[str, bool]:
    """Return the kind and whether another one is about as likely."""
    values = "value" in roles
    if not elements:
        # A plain value beside a supplement or a volume is its amount.
        if "amount" in roles or ("supplement" in roles and values):
            return "additions", "litres" in roles
        if "litres" in roles:
            return "water changes", False
        if "volume" in roles:
            return ("volumes", False) if "date" not in roles else ("water changes", True)
    elif "litres" in roles and elements <= {"salinity"}:
        return "water changes", False
    if "element" in roles and values and "date" not in roles:
        return "laboratory report", False
    if elements and elements <= set(_LOGGED) and "element" not in roles:
        a_day = _rows_a_day(columns, samples, rows)
        if a_day > _MANY_A_DAY and rows > _MANY_A_DAY:
            return "logger", a_day < 2 * _MANY_A_DAY or rows < 2 * _MANY_A_DAY
        if rows > _MANY_ROWS:
            return ("readings", True) if a_day < _FEW_A_DAY else ("logger", True)
    return "readings", False


def _rows_a_day(
    columns: Sequence[Column], samples: Mapping[int, Sequence[str]], rows: int
) -> float:
    dates = [column.index for column in columns if column.role == "date"]
    texts = samples.get(dates[0], ()) if dates else ()
    if not texts:
        return 0.0
    # Every so many rows a cell was taken, so that the days in between are seen as well.
    step = max(1, rows // 200)
    return len(texts) * step / len({_day(text) for text in texts})


def _day(text: str) -> str:
    number = text.replace(".", "", 1)
    if number.isdigit() and len(text) >= 4 and "-" not in text:
        whole = float(text)
        # Seconds since 1970, or the days that spreadsheets count.
        return str(int(whole // 86400 if whole > 1e8 else whole))
    return text.replace("T", " ").strip().rsplit(" ", 1)[0] if ":" in text else text
