"""Whether doses are given once or every day, and doses that would count twice."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Sequence

from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.dose import Dose
from reef_calc.log.foreign.outcome import Answers, Choice, Mark, Question, Said

KEY = "how/file"


def how_question(
    doses: Sequence[Dose], body: Body, rows: tuple[int, ...], answers: Answers
) -> Question:
    """Return the question whether doses were given once or every day from then on.

    Parameters
    ----------
    doses : sequence of Dose
        Doses that do not say.
    body : Body
        Their rows.
    rows : tuple of int
        Their rows as a spreadsheet counts, from 1.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        With the sum for a week of the supplement that has most rows. Where every dose has an end
        after its start, every day is assumed.

    Examples
    --------
    >>> how_question([], Body("a.csv", (), (), ()), (), {}).open
    True
    """
    given = answers.get(KEY, "")
    text = "Was each amount given once, or every day from then on?"
    if given and given not in ("once", "per day"):
        text += f" The answer “{given[:60]}” is neither."
        given = ""
    once, daily = _sums_of_a_week(doses, body)
    choices = (
        Choice("per day", "Every day, until the next row of this supplement", daily),
        Choice("once", "Once, at that time", once),
    )
    lasting = bool(doses) and all(_lasts(dose, body) for dose in doses)
    return Question(
        KEY, text, choices, rows, None, assumed="per day" if lasting else "", answered=given
    )


def once_at_a_time(doses: Sequence[Dose], body: Body, marks: list[Mark]) -> list[Dose]:
    """Return the doses that the tank's log takes together, and mark those it would refuse.

    Parameters
    ----------
    doses : sequence of Dose
        Doses whose supplement, how and time are known.
    body : Body
        Their rows.
    marks : list of Mark
        Marks; what is refused is added.

    Returns
    -------
    list of Dose
        No two doses per day of a supplement run at once, no end before its start.

    Examples
    --------
    >>> once_at_a_time([], Body("a.csv", (), (), ()), [])
    []
    """
    running: dict[str, tuple[dt.datetime, dt.datetime | None, int]] = {}
    refused: set[int] = set()

    def start_of(dose: Dose) -> dt.datetime:
        return body.times[dose.at].utc or dt.datetime.max.replace(tzinfo=dt.UTC)

    for dose in sorted(doses, key=lambda dose: (start_of(dose), dose.at)):
        start, end = start_of(dose), body.ends[dose.at].utc if body.ends else None
        row = body.rows[dose.at]
        said = None
        if dose.how == "once" and end is not None and end != start:
            said = Said(
                "refused", "ONCE_HAS_NO_END", "A single dose has no end.",
                "Say that it is per day, or empty the end.",
            )  # fmt: skip
        elif dose.how != "once" and end is not None and end <= start:
            said = Said(
                "refused",
                "END_BEFORE_START",
                "The end is not after the start.",
                "Check both times.",
            )
        elif dose.how == "per day" and dose.supplement in running:
            began, until, first = running[dose.supplement]
            if start == began or (until is not None and until > start):
                said = Said(
                    "refused", "TWO_AT_ONCE",
                    f"The dose per day of “{dose.supplement}” in row {first} still runs at this time, "
                    "so two would count at once.",
                    "Add the two amounts up, or say that they were given once.",
                )  # fmt: skip
        if said is not None:
            marks.append(Mark(row, dose.column.index, said))
            refused.add(id(dose))
        elif dose.how == "per day":
            running[dose.supplement] = (start, end, row)
    return [dose for dose in doses if id(dose) not in refused]


def _lasts(dose: Dose, body: Body) -> bool:
    start = body.times[dose.at].utc
    end = body.ends[dose.at].utc if body.ends else None
    return start is not None and end is not None and end > start


def _sums_of_a_week(doses: Sequence[Dose], body: Body) -> tuple[str, str]:
    by_name: dict[str, list[Dose]] = defaultdict(list)
    for dose in doses:
        if not math.isnan(dose.number.value) and body.times[dose.at].utc is not None:
            by_name[dose.supplement].append(dose)
    if not by_name:
        return "", ""
    name, group = max(by_name.items(), key=lambda pair: len(pair[1]))
    times = sorted(time for dose in group if (time := body.times[dose.at].utc) is not None)
    amounts = [dose.number.value * dose.cell.factor * dose.cell.doses for dose in group]
    unit = next((dose.unit for dose in group if dose.unit), "")
    days = (times[-1] - times[0]).total_seconds() / 86400.0
    mean, total = sum(amounts) / len(amounts), sum(amounts)
    daily = f"“{name}”: {_text(mean * 7.0, unit)} a week on average."
    if len(times) < 2 or days <= 0.0:
        return f"“{name}”: {_text(total, unit)} in all.", daily
    # The last dose stands for as long as the others do on average.
    weekly = total / (days * len(times) / (len(times) - 1)) * 7.0
    return f"“{name}”: {_text(weekly, unit)} a week on average, {_text(total, unit)} in all.", daily


def _text(amount: float, unit: str) -> str:
    return f"{amount:.4g} {unit}".strip()
