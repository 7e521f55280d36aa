"""Columns that say how small a value can be seen, and columns of signs beside the values."""

from __future__ import annotations

import math
import re
from dataclasses import replace

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import CellNumber
from reef_calc.messages import Message

_LIMIT_HEADING = re.compile(
    r"\b(loq|lod|mdl|rl|bg|nwg|lq|ld)\b|detection|quantification|quantitation|bestimmungsgrenze"
    r"|nachweisgrenze|détection|detección|rilevabilità|detectie|wykrywalności|reporting limit",
    re.IGNORECASE,
)
_NOT_FOUND = frozenset(
    (
        "n.d.", "nd", "n.n.", "nn", "n.b.", "nb", "b.d.", "bd", "bdl", "bld", "bloq", "<loq", "<lod",
        "<", "<bg", "<nwg", "<mdl", "<rl", "<ng",
        "u.d.l.", "not_detected", "nicht_nachweisbar", "non_détecté",
    )
)  # fmt: skip
_SIGNS = {"<": "<", "≤": "<", ">": ">", "≥": ">"}


def settled_by_limit(body: Body) -> frozenset[tuple[int, int]]:
    """Return the cells that say "not found" and whose limit the report states in its own column.

    Parameters
    ----------
    body : Body
        The rows.

    Returns
    -------
    frozenset of (int, int)
        Row (from 1) and column (from 0): what was asked or refused of their text is answered.

    Examples
    --------
    >>> columns = (Column(1, "Result", "value"), Column(2, "LOQ", "limit"))
    >>> body = Body("a.csv", columns, (2,), (), {1: (CellNumber(),)}, {1: ("n.d.",), 2: ("0.5",)})
    >>> settled_by_limit(body)
    frozenset({(2, 1)})
    """
    limits = _limit_column(body)
    if limits is None:
        return frozenset()
    texts = body.texts[limits.index]
    return frozenset(
        (row, column.index)
        for column in body.having("value")
        for at, row in enumerate(body.rows)
        if _not_found(body, column, at) and not math.isnan(_limit(texts[at]))
    )


def _limit_column(body: Body) -> Column | None:
    for column in body.columns:
        if column.role in ("value", "element", "date", "time", "u"):
            continue
        if _LIMIT_HEADING.search(column.heading.replace("_", " ")):
            return column
    return None


def _not_found(body: Body, column: Column, at: int) -> bool:
    numbers = body.numbers.get(column.index)
    if numbers is None or not math.isnan(numbers[at].value):
        return False
    text = body.texts[column.index][at].casefold().replace("< ", "<")
    return "_".join(text.split()) in _NOT_FOUND


def _limit(text: str) -> float:
    try:
        value = parse_typed_number(text.strip().lstrip("<≤ "))
    except InputError:
        return math.nan
    return value if value > 0.0 else math.nan


def with_limits(body: Body) -> tuple[Body, tuple[Message, ...]]:
    """Return a body whose values that were not found are below the limit in the column of limits.

    Parameters
    ----------
    body : Body
        The rows.

    Returns
    -------
    tuple
        The body, and what was done.

    Examples
    --------
    >>> columns = (Column(1, "Result", "value"), Column(2, "LOQ", "limit"))
    >>> body = Body("a.csv", columns, (2,), (), {1: (CellNumber(),)}, {1: ("n.d.",), 2: ("0.5",)})
    >>> with_limits(body)[0].numbers[1][0].limit
    '<'
    """
    settled = settled_by_limit(body)
    column = _limit_column(body)
    if column is None or not settled:
        return body, ()
    limits = body.texts[column.index]
    numbers = dict(body.numbers)
    for one in body.having("value"):
        numbers[one.index] = tuple(
            CellNumber(
                _limit(limits[at]), "<", remark=f"written as {body.texts[one.index][at].strip()}"
            )
            if (row, one.index) in settled
            else number
            for at, (row, number) in enumerate(zip(body.rows, numbers[one.index], strict=True))
        )
    count = len(settled)
    told = Message(
        "LIMIT_OF_REPORT",
        f"{count} value{'s were' if count > 1 else ' was'} not found: kept as below the limit in "
        f"“{column.key or column.heading}”.",
    )
    return replace(body, numbers=numbers), (told,)


def with_signs(body: Body) -> tuple[Body, tuple[Message, ...]]:
    """Return a body whose values carry the signs that stand in a column of their own.

    Parameters
    ----------
    body : Body
        The rows: an element each, or with one column of values.

    Returns
    -------
    tuple
        The body, and what was done.

    Notes
    -----
    A sign beside several values of a row belongs to none for sure, so those are left as they are.

    Examples
    --------
    >>> columns = (Column(1, "Qualifier", "limit"), Column(2, "Result", "value"))
    >>> body = Body("a.csv", columns, (2,), (), {2: (CellNumber(0.5),)}, {1: ("<",), 2: ("0.5",)})
    >>> with_signs(body)[0].numbers[2][0].limit
    '<'
    """
    values = body.having("value")
    for column in body.having("limit"):
        signs = [_SIGNS.get(text.strip(), "") for text in body.texts[column.index]]
        if len(values) != 1 or not any(signs):
            continue
        index = values[0].index
        signed = tuple(
            replace(number, limit=sign) if sign and not number.limit and not math.isnan(number.value)
            else number
            for sign, number in zip(signs, body.numbers[index], strict=True)
        )  # fmt: skip
        told = Message("SIGNS", f"The signs in {column.key} are taken with {values[0].key}.")
        return replace(body, numbers=body.numbers | {index: signed}), (told,)
    return body, ()
