"""Lots, kits or readers that met on a water, found in the log of a tank."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
import pandas as pd

from reef_calc.bench.kits import Kit, usual_sd
from reef_calc.chem.elements import element as element_named
from reef_calc.chem.units import check_unit, convert
from reef_calc.compare.kit_names import kit_label
from reef_calc.compare.lot_group import LotTable
from reef_calc.compare.lot_table import lot_table
from reef_calc.compare.lot_words import capital, counted
from reef_calc.compare.pairs import SAME_WATER_HOURS
from reef_calc.compare.sittings import Movement, with_waters
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.history import new_water_readings, tank_readings
from reef_calc.log.study_rows import AS_IT_IS
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

By = Literal["lot", "kit", "person"]
_ROOM_TEMPERATURE_C = 25.0
_KEEPS_DAYS = 30
_COPIED = (
    "row", "time", "date_only", "water", "kit", "lot", "by", "replicate", "limit", "outside",
)  # fmt: skip


@dataclass(frozen=True)
class LotsInLog:
    """What the log says about lots, kits or readers.

    Attributes
    ----------
    element : str
        Element.
    readings : pandas.DataFrame
        What was used: ``row`` of readings.csv, ``time`` (UTC), ``water``, the column ``by``,
        ``level``, ``sd``, ``resolution``, ``moved`` (unit of the table).
    table : LotTable
        The table.
    left_out : tuple of str
        What was not used, and why, in sentences.
    messages : tuple of Message
        What to know of these readings; what limits the table stands in the table.
    """

    element: str
    readings: pd.DataFrame
    table: LotTable
    left_out: tuple[str, ...]
    messages: tuple[Message, ...]


def lots_in_log(
    tank: Tank,
    element: str,
    unit: str | None = None,
    *,
    by: By = "lot",
    kit: str | None = None,
    hours: float = SAME_WATER_HOURS,
    movement: Movement | None = None,
    planned: tuple[str, str] | None = None,
) -> LotsInLog:
    """Return how lots, kits or readers of one element differ on the waters they have in common.

    A water is one sitting at the tank or the new water (``hours`` from its first reading, nothing
    dosed or changed in between), one bottle of a standard however often it was read, or one water
    of a study (a cup of its list). Readers are compared with the same kit and lot only.

    Parameters
    ----------
    tank : Tank
        The tank.
    element : str
        Element.
    unit : str, optional
        Unit of the table; of the tank's aim, or the element's usual one, when not given.
    by : {"lot", "kit", "person"}, optional
        What is compared.
    kit : str, optional
        One kit only.
    hours : float, optional
        How far readings of one water may lie apart (hours).
    movement : callable, optional
        Change of the tank's level from one time to another, and its standard uncertainty, in
        ``unit``: it is taken off, and widens the reading's scatter. Needed beyond one hour.
    planned : tuple of str, optional
        One pair chosen before the readings were seen, as named in the table.

    Returns
    -------
    LotsInLog
        Levels as read, in ``unit``; no stored correction is applied.

    Raises
    ------
    InputError
        If the element, the unit or the kit is unknown, or waters move and nothing says by how much.
    CannotTellError
        If no water was read with two.

    Notes
    -----
    A standard counts as one water for as long as its bottle lasts; what it loses in that time goes
    into the differences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> lots_in_log(example_tank(), "alkalinity", by="kit")
    Traceback (most recent call last):
        ...
    reef_calc.errors.CannotTellError: No water of this log was read with two kits. Test the same
    water with both, within an hour.
    """
    described = element_named(element)
    aim = tank.aims.get(described.name)
    unit = check_unit(unit or (aim.unit if aim else described.display_unit), described.name)
    if by not in get_args(By):
        raise InputError(" or ".join(get_args(By)), by, "Say what is compared.", "lots in the log")
    if kit is not None and kit not in set(tank.kits) | set(tank.readings["kit"]):
        raise InputError(
            "a kit of this tank", kit, "Choose from: " + ", ".join(tank.kits) + ".",
            "lots in the log",
        )  # fmt: skip
    if not 0.0 < hours < math.inf:
        raise InputError("hours above 0", hours, "Write 1 for one hour.", "lots in the log")
    if movement is None and hours > SAME_WATER_HOURS:
        raise InputError(
            "readings of one water within an hour, or what the water moved by in between",
            f"{hours:g} hours", "Give the movement of the level, or keep to one hour.",
            "lots in the log",
        )  # fmt: skip
    left_out: list[str] = []
    rows = _rows(tank, described.name, unit, kit, left_out)
    rows = rows.assign(lot_read=rows["lot"], water=_cups(tank, rows))
    rows = _labelled(tank, rows, by, kit, left_out)
    no_hour = rows["water"].isin(["tank", "new water"]) & rows["date_only"].astype(bool)
    _say(
        left_out, rows[no_hour], "without an hour, so what else was read of that water is not known"
    )
    rows = rows[~no_hour]
    if len(rows):
        rows = with_waters(tank, rows, described.name, unit, by, hours=hours, movement=movement)
        _say(left_out, rows[rows["lost"]], "where nothing says how far the level had moved")
        rows = rows[~rows["lost"]]
        if by == "person":
            rows["water"] = [
                f"{water}, {kit_label(of_kit, lot)}"
                for water, of_kit, lot in zip(rows["water"], rows["kit"], rows["lot"], strict=True)
            ]
    if rows.empty or rows.groupby("water")[by].nunique().max() < 2:
        word = {"person": "readers with the same kit and lot"}.get(by, f"{by}s")
        why = " ".join(left_out)
        raise CannotTellError(
            f"No water of this log was read with two {word}. Test the same water with both, within an "
            f"hour. {why}".strip()
        )
    kept = ["row", "time", "water", by, "level", "sd", "resolution", "moved"]
    rows = rows.sort_values("time", kind="stable").reset_index(drop=True)
    table = lot_table(rows[kept], by=by, unit=unit, planned=planned)
    told = _messages(tank, rows[rows.groupby("water")[by].transform("nunique") > 1], by)
    return LotsInLog(described.name, rows[kept], table, tuple(left_out), told)


def _messages(tank: Tank, rows: pd.DataFrame, by: str) -> tuple[Message, ...]:
    told: list[Message] = []
    if by == "kit":
        for kit, of_kit in rows.groupby("kit", sort=False):
            lots = list(dict.fromkeys(lot for lot in of_kit["lot"] if lot))
            if len(lots) > 1:
                told.append(Message(
                    "LOTS_MIXED", f"{capital(str(kit))} stands here for its lots {' and '.join(lots)} "
                    "together. Lots of one kit may differ: compare by lot too.", "qualified",
                ))  # fmt: skip
    if by == "person":
        told.append(Message(
            "SEEN", "Who saw the other's reading first reads nearer to it. The table cannot know that.",
            "qualified",
        ))  # fmt: skip
    bottles = rows[rows["water"].str.startswith("standard ")]
    for bottle, of_bottle in bottles.groupby("water", sort=False):
        first, last = (one.tz_convert(tank.zone).date() for one in of_bottle["time"].iloc[[0, -1]])
        if (last - first).days > _KEEPS_DAYS:
            told.append(Message(
                "KEPT_STANDARD", f"The {bottle} counts as the same water from {first} to {last}. What "
                "it lost or took up in that time is in the differences.", "qualified",
            ))  # fmt: skip
    zone = tank.zone
    corrected = [
        str(kit) for kit, of_kit in rows.groupby("kit", sort=False)
        if kit in tank.kits and any(
            tank.kits[str(kit)].correction_at(when.tz_convert(zone), str(lot))
            for when, lot in zip(of_kit["time"], of_kit["lot_read"], strict=True)
        )
    ]  # fmt: skip
    if corrected:
        told.append(Message(
            "AS_READ", f"Levels are as read: the stored correction of {', '.join(corrected)} is not "
            "applied here.", "told",
        ))  # fmt: skip
    return tuple(told)


def _rows(
    tank: Tank, element: str, unit: str, kit: str | None, left_out: list[str]
) -> pd.DataFrame:
    others = tank.readings
    others = others[
        (others["element"] == element)
        & (others["water"].str.startswith("standard ") | others["water"].str.startswith("study "))
    ]
    made = [_set_water(tank, row, unit) for row in others.itertuples(index=False)]
    frames = [tank_readings(tank, element, unit), new_water_readings(tank, element, unit)]
    keep = [*_COPIED, "level", "sd", "resolution"]
    rows = pd.concat(
        [frame[keep] for frame in [*frames, pd.DataFrame(made, columns=keep)] if len(frame)]
        or [pd.DataFrame(columns=keep)],
        ignore_index=True,
    )
    if kit is not None:
        rows = rows[rows["kit"] == kit]
    reasons = {
        "with a limit (< or >) and no number": rows["limit"] != "",
        "outside what water for a reef holds": rows["outside"].astype(bool),
        "without a kit": rows["kit"] == "",
    }
    used = pd.Series(True, index=rows.index)
    for reason, bad in reasons.items():
        _say(left_out, rows[used & bad], reason)
        used &= ~bad
    rows = rows[used].copy()
    for i in rows.index[~(rows["sd"] > 0)]:
        rows.loc[i, "sd"] = rows.loc[i, "resolution"] / math.sqrt(12.0)
    none = ~(np.isfinite(rows["level"].astype(float)) & (rows["sd"].astype(float) > 0))
    _say(left_out, rows[none], "without a level or a scatter")
    return rows[~none]


def _set_water(tank: Tank, row: Any, unit: str) -> dict[str, Any]:
    """Return a reading of a standard or a study: at the row's own salinity, never the tank's."""
    store = element_named(row.element).store_unit
    described: Kit | None = tank.kits.get(row.kit)
    if described is not None and described.element not in ("", row.element):
        described = None

    def to(value: float, start: str, end: str) -> float:
        return value if start == end else convert(
            value, start, end, row.element,
            salinity=None if math.isnan(row.salinity) else row.salinity,
            temperature_C=_ROOM_TEMPERATURE_C if math.isnan(row.temperature) else row.temperature,
        )  # fmt: skip

    found = {name: getattr(row, name) for name in _COPIED}
    try:
        level = to(row.level, store, unit)
        own = described.unit if described is not None and described.unit else unit
        read = to(row.level, store, own)
        sd = described.sd(read) if described is not None and described.unit else None
        if sd is None:
            sd = usual_sd(row.element, read, own)
        step = described.resolution if described is not None else 0.0
        return found | {
            "level": level,
            "sd": abs(to(read + sd, own, unit) - level),
            "resolution": abs(to(read + step, own, unit) - level) if step else 0.0,
        }
    except InputError:
        return found | {"level": math.nan, "sd": math.nan, "resolution": 0.0}


def _cups(tank: Tank, rows: pd.DataFrame) -> list[str]:
    """Return the waters with the cup of a study: several cups may hold one level."""
    found = []
    for row in rows.itertuples(index=False):
        name = str(row.water)
        if name.startswith("study "):
            code, mark, _ = str(row.replicate).partition("/")
            if mark:
                name = f"{name}, cup {code}"
            elif name.endswith(f" {AS_IT_IS}"):
                name = f"{name}, {row.time.tz_convert(tank.zone).date()}"
        found.append(name)
    return found


def _labelled(
    tank: Tank, rows: pd.DataFrame, by: str, kit: str | None, left_out: list[str]
) -> pd.DataFrame:
    if by == "kit":
        return rows
    if by == "person":
        _say(left_out, rows[rows["by"] == ""], "without a name of who read them")
        rows = rows[rows["by"] != ""]
        return rows.assign(person=rows["by"])
    with_lots = {name for name, one in tank.kits.items() if one.lots} | set(
        rows.loc[rows["lot"] != "", "kit"]
    )
    unknown = (rows["lot"] == "") & rows["kit"].isin(with_lots)
    _say(left_out, rows[unknown], "without a lot, though the kit has lots")
    rows = rows[~unknown]
    names = [
        lot if lot and kit is not None else kit_label(of_kit, lot)
        for of_kit, lot in zip(rows["kit"], rows["lot"], strict=True)
    ]
    return rows.assign(lot=pd.Series(names, index=rows.index, dtype=object))


def _say(left_out: list[str], rows: pd.DataFrame, reason: str) -> None:
    if len(rows):
        numbers = ", ".join(str(int(row)) for row in rows["row"].head(5))
        more = " and more" if len(rows) > 5 else ""
        left_out.append(
            f"Left out: {counted(len(rows), 'reading')} {reason} "
            f"(row{'s' if len(rows) > 1 else ''} {numbers}{more} of readings.csv)."
        )
