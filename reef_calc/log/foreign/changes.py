"""Water changes out of a foreign table: rows of ``water_changes.csv``."""

from __future__ import annotations

import math

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.mixed_tables import remarks_of, with_ticks_as_volumes
from reef_calc.log.foreign.outcome import Answers, Choice, Entry, Mark, Question, Said
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.volume_column import Volumes, chosen_or_told, volumes_of
from reef_calc.messages import Message

TABLE = "water_changes.csv"
SHARE_KEY = "share of"
_NET = "net volume"


def changes_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the water changes of a table.

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank they are for; its net volume makes litres of a share.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        One entry for each change whose time and litres are known. The note keeps what was written
        in another unit.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> columns = (Column(0, "date", "date"), Column(1, "change L", "litres", key="change L"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01", date_only=True),), {},
    ...     {0: ("2026-02-01",), 1: ("40L of 35 ppt",)})
    >>> changes_from(body, example_tank(), {}).entries[0].cells
    {'time': '2026-02-01', 'litres': '40', 'salinity': '35', 'note': 'written as 40L of 35 ppt'}
    """
    columns = (
        body.having("litres") or body.having("volume") or body.having("amount")
        or tuple(one for one in body.having("value") if not one.element)
    )  # fmt: skip
    if not columns:
        said = Said("refused", "NO_LITRES", "No column holds the litres.", "Say which one does.")
        return Made(marks=tuple(Mark(row, None, said) for row in body.rows))
    column, notes = columns[0], list[Message]()
    body = with_ticks_as_volumes(body, column, notes)
    read = volumes_of(body, column, answers, shares=True)
    marks, questions = list(read.marks), list(read.questions)
    notes += read.notes
    litres = list(read.litres)
    if len(columns) > 1:
        others = ", ".join(f"“{other.key}”" for other in columns[1:])
        notes.append(
            Message("ONE_VOLUME", f"“{column.key}” is taken as the litres; {others} is not used.")
        )
    shares = [
        at for at, cell in enumerate(read.cells)
        if cell.unit == "%" and not math.isnan(read.numbers[at].value)
    ]  # fmt: skip
    if shares:
        question = _share_question(shares, read, column, body, tank, answers)
        questions.append(question)
        _fill_shares(shares, litres, read, column, question, body, tank, marks, notes)
    entries: list[Entry] = []
    for at, row in enumerate(body.rows):
        time = body.times[at]
        text = body.texts[column.index][at].strip()
        if not text or read.cells[at].sides_cm:
            mixed = any(one.role == "amount" or one.element for one in body.columns)
            said = Said(
                "refused", "NO_LITRES", "How much water was changed is not written.",
                "Nothing to do if none was." if mixed else "Write the litres, or leave the row out.",
            )  # fmt: skip
            marks.append(Mark(row, column.index, said))
        elif not time.iso or math.isnan(litres[at]):
            continue
        elif _possible(litres[at], at, column, body, tank, marks):
            entries.append(_entry(at, litres[at], read, column, body, marks, notes))
    return Made(tuple(entries), tuple(marks), tuple(dict.fromkeys(notes)), tuple(questions))


def _possible(
    litres: float, at: int, column: Column, body: Body, tank: Description, marks: list[Mark]
) -> bool:
    utc = body.times[at].utc
    net = (tank.water_at(utc) if utc is not None else tank.waters[-1]).net_L
    if 0.0 < litres < net:
        return True
    if litres <= 0.0:
        said = Said(
            "refused", "NO_LITRES", f"{litres:g} L: needed litres above 0.", "Check the number."
        )
    else:
        said = Said(
            "refused", "MORE_THAN_TANK",
            f"{litres:.4g} L are all of the tank or more: it holds {net:g} L net.",
            "Check the litres and their unit, or net_L in tank.toml.",
        )  # fmt: skip
    marks.append(Mark(body.rows[at], column.index, said))
    return False


def _share_question(
    shares: list[int],
    read: Volumes,
    column: Column,
    body: Body,
    tank: Description,
    answers: Answers,
) -> Question:
    """Return the question of which volume the percentages are."""
    at = shares[0]
    utc = body.times[at].utc
    net = (tank.water_at(utc) if utc is not None else tank.waters[-1]).net_L
    percent = read.numbers[at].value

    def fits(text: str) -> bool:
        try:
            return text == _NET or parse_typed_number(text.removesuffix("L")) > 0.0
        except InputError:
            return False

    question = Question(
        f"{SHARE_KEY}/{column.key}",
        "Of which volume are the percentages? Often the name of the tank's size is meant, which is more "
        "than its water.",
        (
            Choice(
                _NET, f"The net volume of tank.toml ({net:g} L)",
                f"{percent:g} % are {percent * net / 100.0:.4g} L.",
            ),
        ),
        tuple(body.rows[at] for at in shares), column.index, "volume in L", assumed=_NET,
    )  # fmt: skip
    return chosen_or_told(question, fits, "is no volume above 0 L.", answers)


def _fill_shares(
    shares: list[int],
    litres: list[float],
    read: Volumes,
    column: Column,
    question: Question,
    body: Body,
    tank: Description,
    marks: list[Mark],
    notes: list[Message],
) -> None:
    chosen = question.answered or question.assumed
    of = math.nan if chosen == _NET else parse_typed_number(chosen.removesuffix("L"))
    used: dict[float, int] = {}
    for at in shares:
        if any(one.fate in ("asked", "refused") for one in read.numbers[at].said):
            continue
        utc = body.times[at].utc
        if utc is None:
            continue
        percent = read.numbers[at].value
        if not 0.0 < percent < 100.0:
            said = Said(
                "refused", "SHARE", f"{percent:g} % of the water cannot be changed at once.",
                "Write litres, or a share above 0 and below 100 %.",
            )  # fmt: skip
            marks.append(Mark(body.rows[at], column.index, said))
            continue
        whole = tank.water_at(utc).net_L if math.isnan(of) else of
        used[whole] = used.get(whole, 0) + 1
        litres[at] = float(f"{percent / 100.0 * whole:.12g}")
    for whole, count in used.items():
        name = (
            "net volume that tank.toml has for their day" if math.isnan(of) else "volume you typed"
        )
        notes.append(
            Message(
                "SHARE_OF",
                f"“{column.key}”: {count} percentage{'s are' if count > 1 else ' is'} taken of {whole:g} "
                f"L, the {name}.",
            )
        )


def _entry(
    at: int,
    litres: float,
    read: Volumes,
    column: Column,
    body: Body,
    marks: list[Mark],
    notes: list[Message],
) -> Entry:
    text = f"{body.texts[column.index][at].strip()} {body.text('unit', at).strip()}".strip()
    cell = read.cells[at]
    same = cell.litres == 1.0
    salinity = _salinity(at, read, column, body, marks, notes)
    remarks = remarks_of(body, at)
    remarks += [read.numbers[at].remark, "" if same and not cell.salinity else f"written as {text}"]
    cells = {
        "time": body.times[at].iso,
        "litres": number_text(litres, cell.number if same else ""),
        "salinity": salinity,
        "note": "; ".join(filter(None, remarks)),
    }
    return Entry(
        body.rows[at], column.index, TABLE, {name: text for name, text in cells.items() if text}
    )


def _salinity(
    at: int, read: Volumes, column: Column, body: Body, marks: list[Mark], notes: list[Message]
) -> str:
    """Return the practical salinity of the new water, empty where nothing usable is written."""
    cell, written, unit, index = read.cells[at], "", "", column.index
    value = math.nan
    beside = [other for other in body.having("salinity") if other.index in body.numbers]
    if cell.salinity:
        written, unit = cell.salinity, cell.salinity_unit
        value = float(written.replace(",", "."))
    elif beside:
        number = body.numbers[beside[0].index][at]
        if not any(one.fate in ("asked", "refused") for one in number.said) and not number.limit:
            value, index = number.value, beside[0].index
            written, unit = (
                body.texts[index][at],
                number.unit or beside[0].unit or beside[0].unit_text,
            )
    if math.isnan(value):
        return ""
    if unit == "g/kg" or unit.startswith(("SG ", "mS/cm", "g/cm3")):
        try:
            value = convert(value, unit, "PSU", "salinity", temperature_C=25.0)
        except InputError as error:
            said = Said(
                "flagged", "SALINITY", f"The salinity is left out: {error.needed}.", error.repair
            )
            marks.append(Mark(body.rows[at], index, said))
            return ""
        notes.append(
            Message("SALINITY_UNIT", f"Salinities in {unit} are kept as practical salinity.")
        )
        return number_text(float(f"{value:.6g}"))
    if not 0.0 <= value <= 60.0 or 1.0 < value < 1.06:
        reason = (
            f"{value:g} looks like a specific gravity, and nothing says of which temperatures."
            if 1.0 < value < 1.06
            else f"{value:g} is no salinity of water."
        )
        said = Said(
            "flagged", "SALINITY", f"{reason} The change is taken without its salinity.",
            "Write the salinity, such as 35.",
        )  # fmt: skip
        marks.append(Mark(body.rows[at], index, said))
        return ""
    if unit.casefold() in ("ppt", "‰", "promille"):
        notes.append(
            Message(
                "SALINITY_UNIT",
                f"Salinities in {unit} are taken as practical salinity, as written.",
            )
        )
    return number_text(value, written)
