"""Reading every join of ``joins.toml``, and refusing what would tell one difference twice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reef_calc.errors import InputError
from reef_calc.log.joins import FILE, Join, join_from_table
from reef_calc.log.problems import Problem
from reef_calc.log.tank_toml import refusal


def joins_from_document(document: dict[str, Any], problems: list[Problem]) -> tuple[Join, ...]:
    """Return the joins of a file, the oldest first.

    Parameters
    ----------
    document : dict
        The whole file as ``tomllib`` gave it.
    problems : list of Problem
        What was refused or flagged is added here.

    Returns
    -------
    tuple of Join
        All that can be used. One that would tell a difference a second time is refused.

    Examples
    --------
    >>> joins_from_document({}, [])
    ()
    """
    found: list[tuple[Join, str]] = []
    tables = document.get("join", [])
    if not isinstance(tables, list):
        error = InputError("a list of tables", tables, "Head each one with [[join]].", FILE)
        problems.append(refusal(error, FILE, "join"))
        tables = []
    for number, table in enumerate(tables, start=1):
        place = f"join {number}"
        try:
            found.append((join_from_table(table, f"{FILE}, {place}"), place))
        except InputError as error:
            problems.append(refusal(error, FILE, place))
    for other in document:
        if other != "join":
            problems.append(
                Problem(
                    FILE, None, other, "", "flagged", "This key is not known and is not used.",
                    "Head each table with [[join]].",
                )
            )  # fmt: skip
    found.sort(key=lambda one: one[0].start)
    kept: list[Join] = []
    for join, place in found:
        try:
            _refuse_second(join, kept, place)
        except InputError as error:
            problems.append(refusal(error, FILE, place))
        else:
            kept.append(join)
    return tuple(kept)


def _refuse_second(join: Join, before: Sequence[Join], place: str) -> None:
    """Refuse a join of two kits that earlier joins already lead from one to the other."""
    reached = {(join.kit, join.lot)}
    while True:
        more = {
            side
            for one in before
            if one.element == join.element
            for here, side in ((_new(one), _old(one)), (_old(one), _new(one)))
            if here in reached and side not in reached
        }
        if not more:
            break
        reached |= more
    if _old(join) in reached:
        raise InputError(
            "one way from each kit to another",
            f"{join.relative_to_kit} and {join.kit}, {join.element}, joined already",
            "Take out one of the joins: together they would say one difference twice.",
            f"{FILE}, {place}",
        )


def _new(join: Join) -> tuple[str, str]:
    return join.kit, join.lot


def _old(join: Join) -> tuple[str, str]:
    return join.relative_to_kit, join.relative_to_lot
