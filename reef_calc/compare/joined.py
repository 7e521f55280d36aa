"""A history across a change of kit, on the scale of the kit in use."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.balance.about_joins import signed
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.joined_scale import JoinedScale
from reef_calc.balance.kit_joins import group_name
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import decimals_for, fixed


@dataclass(frozen=True, eq=False)
class JoinedHistory:
    """The readings of one element on one scale.

    Attributes
    ----------
    element, unit, zone : str
        Element, unit of every level, IANA zone.
    in_use : str
        The kit whose scale it is.
    scale : JoinedScale
        How every other kit's readings are moved, and the joins behind it.
    table : pandas.DataFrame
        One row a sitting: ``time`` (UTC), ``level`` (as read, after stored corrections), ``kit``,
        ``lot``, ``shift`` and ``half`` (unit; 0 for the kit in use, NaN where nothing joins a kit
        to it), ``shown`` (level + shift), ``strip`` (name of what moves as one; empty for the kit
        in use), ``rows``.
    sentences : tuple of str
        How the old readings are shown and what that does not touch.
    messages : tuple of Message
        What the estimate says of the joins.
    aims : str
        The question whether the aims move; empty where there is nothing to ask.
    """

    element: str
    unit: str
    zone: str
    in_use: str
    scale: JoinedScale
    table: pd.DataFrame
    sentences: tuple[str, ...]
    messages: tuple[str, ...]
    aims: str


def joined_history(
    tank: Tank,
    element: str,
    until: str | pd.Timestamp | None = None,
    *,
    unit: str | None = None,
) -> JoinedHistory:
    """Return the readings of an element on the scale of the kit in use, by the stored joins.

    Each old reading is moved by the difference that the stored joins and all readings give together.
    What is not known of it is one error for the whole strip, never a scatter of single readings.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up or moves by itself.
    until : str or pandas.Timestamp, optional
        Last day; the last reading when not given.
    unit : str, optional
        Unit of the levels; the one of the aims when not given.

    Returns
    -------
    JoinedHistory
        Readings, shifts, sentences.

    Raises
    ------
    InputError
        If no join of this element is stored.
    CannotTellError
        If the readings are too few for a balance.

    Notes
    -----
    One constant offset a join: a difference that grows with the level is not joined.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> joined_history(example_tank(), "alkalinity")
    Traceback (most recent call last):
    ...
    reef_calc.errors.InputError: joins.toml: needed a stored join of two alkalinity kits, given “none”...
    """
    use = estimate_consumption(tank, element, until, unit=unit)
    if use.record is None or not use.record.joins:
        raise InputError(
            f"a stored join of two {use.element} kits",
            "none",
            "Store which kit took over from which, and from when.",
            "joins.toml",
        )
    if use.joined is None:
        raise CannotTellError(
            f"The {use.element} history cannot be joined yet. "
            + " ".join(m.text for m in use.messages if m.kind == "refused")
        )
    table = _table(use, use.joined)
    told = [m.text for m in use.messages if m.code.startswith("JOIN") and m.code != "JOINED"]
    return JoinedHistory(
        use.element,
        use.unit,
        use.zone,
        group_name(use.joined.in_use),
        use.joined,
        table,
        tuple(_shown_sentences(use, use.joined, table)),
        tuple(told),
        aims_question(tank, use, use.joined),
    )


def _table(use: ConsumptionEstimate, scale: JoinedScale) -> pd.DataFrame:
    s = use.record.sessions
    rows = []
    for kit, lot in zip(s["kit"], s["lot"], strict=True):
        moved = scale.of(kit, lot)
        if (kit, lot) == scale.in_use:
            rows.append((0.0, 0.0, ""))
        elif moved is None:
            rows.append((np.nan, np.nan, group_name((kit, lot))))
        else:
            rows.append((moved.shift, moved.half, group_name((kit, lot))))
    added = pd.DataFrame(rows, columns=["shift", "half", "strip"], index=s.index)
    table = s[["time", "level", "kit", "lot", "rows"]].join(added)
    return table.assign(shown=table["level"] + table["shift"])


def _shown_sentences(
    use: ConsumptionEstimate, scale: JoinedScale, table: pd.DataFrame
) -> list[str]:
    own = table.loc[table["strip"] == "", "time"]
    said = []
    for moved in scale.moved:
        name = group_name(moved.group)
        times = table.loc[table["strip"] == name, "time"]
        before = bool(len(times) and len(own) and times.max() < own.min())
        what = (
            f"History with {name}, before {day_text(own.min(), use.zone)}, is"
            if before
            else f"Readings with {name} are"
        )
        which = "It" if before else "They"
        its = "its" if before else "their"
        said.append(
            f"{what} shown on the scale of {group_name(scale.in_use)} "
            f"({signed(moved.shift, moved.half)} ± {fixed(moved.half, decimals_for(moved.half))} "
            f"{use.unit}). {which} may be wrong by that much as a whole; {its} shape is not affected."
        )
    lost = list(dict.fromkeys(table.loc[table["shift"].isna(), "strip"]))
    if lost:
        said.append(
            f"Readings with {' and '.join(lost)} are too old to be joined; they are shown as read."
        )
    return said


def aims_question(tank: Tank, use: ConsumptionEstimate, scale: JoinedScale) -> str:
    """Return the question whether aims that were set with the old kit move to the new one's scale.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    use : ConsumptionEstimate
        The estimate.
    scale : JoinedScale
        Scale of the kit in use.

    Returns
    -------
    str
        Empty without aims, or where the difference cannot be told from 0.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.joined_scale import Moved
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> scale = JoinedScale(("kit B", ""), (), (Moved(("kit A", ""), 0.3, 0.1),))
    >>> print(aims_question(tank, use, scale))
    Were your aims (7.2 to 8.5 dKH) set with kit A? The same water reads 7.5 to 8.8 dKH with kit B.
    Move them in tank.toml if you mean the same water; nothing was changed.
    """
    aim = tank.aims.get(use.element)
    newest = next((one for one in reversed(scale.moved) if one.by_join), None)
    if aim is None or newest is None or aim.unit != use.unit or abs(newest.shift) <= newest.half:
        return ""
    typed = max(len(f"{x:g}".partition(".")[2]) for x in (aim.low, aim.high))
    places = max(decimals_for(newest.half), typed)

    def ends(low: float, high: float, decimals: int) -> str:
        return f"{fixed(low, decimals)} to {fixed(high, decimals)} {use.unit}"

    moved = ends(aim.low + newest.shift, aim.high + newest.shift, places)
    return (
        f"Were your aims ({ends(aim.low, aim.high, typed)}) set with {group_name(newest.group)}? The "
        f"same water reads {moved} with {group_name(scale.in_use)}. Move them in tank.toml if you "
        "mean the same water; nothing was changed."
    )
