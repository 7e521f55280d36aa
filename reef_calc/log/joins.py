"""Joins of two kits or lots: how much higher the newer one reads, as ``joins.toml`` says it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.elements import element
from reef_calc.chem.units import check_unit

FILE = "joins.toml"
SOURCES = ("study", "log")
NEW_WATER_SCALES = ("old kit", "new kit", "kit in use")


@dataclass(frozen=True)
class Join:
    """One kit or lot that took over from another.

    Attributes
    ----------
    element : str
        Element that both measure.
    start : datetime.date
        Day from which the new one is in use.
    kit, lot : str
        The new one; without a lot, the lot of it that was read first from that day on.
    relative_to_kit, relative_to_lot : str
        The old one; without a lot, the lot of it that was read last before that day.
    mean, u : float or None
        How much higher the new one reads, levels as read, and the standard uncertainty of that
        (``unit``); None where only the tank's own readings tell.
    unit : str
        Unit of both.
    source : {"study", "log"}
        ``study``: readings that do not stand in the tank's history. ``log``: the readings of the
        tank tell, and nothing else does.
    new_water_scale : {"old kit", "new kit", "kit in use"}
        Whose scale the level of the new water is on.
    note : str
        The keeper's words.
    """

    element: str
    start: dt.date
    kit: str
    lot: str
    relative_to_kit: str
    relative_to_lot: str
    mean: float | None
    u: float | None
    unit: str
    source: str
    new_water_scale: str
    note: str = ""


def join_from_table(table: object, where: str) -> Join:
    """Return the join that a ``[[join]]`` table describes.

    Parameters
    ----------
    table : object
        The table as ``tomllib`` gave it.
    where : str
        File and table, for the messages.

    Returns
    -------
    Join
        The join.

    Raises
    ------
    InputError
        For an unknown key, a missing one, a value that cannot be used, a difference from the log
        (its readings count already), or one without its uncertainty.

    Examples
    --------
    >>> found = join_from_table({"element": "alkalinity", "from": "2026-05-04", "kit": "kit B",
    ...     "relative_to_kit": "kit A", "mean": 0.3, "u": 0.09, "unit": "dKH", "source": "study",
    ...     "new_water_scale": "kit in use"}, "joins.toml, join 1")
    >>> found.mean, found.start.isoformat()
    (0.3, '2026-05-04')
    """
    keys = Keys(table, where)
    for key in ("element", "from", "kit", "relative_to_kit", "source", "new_water_scale"):
        keys.needed(key)
    measured = element(keys.text("element"), f"{where}, element")
    start = keys.day("from")
    if start is None:
        raise keys.refuse("from", "a date", "Write it as 2026-02-13.")
    source = keys.choice("source", SOURCES)
    scale = keys.choice("new_water_scale", NEW_WATER_SCALES)
    sides = [keys.text(key) for key in ("kit", "lot", "relative_to_kit", "relative_to_lot")]
    kit, lot, old, old_lot = sides
    if not (kit and old):
        raise keys.refuse("kit", "the names of both kits", "Write them as in the readings.")
    if kit == old and (lot == old_lot or not (lot and old_lot)):
        raise keys.refuse(
            "relative_to_kit", "another kit, or two lots by name", "Write what it took over from."
        )
    unit = check_unit(keys.text("unit") or measured.display_unit, measured.name)
    mean, u = keys.number("mean"), keys.number("u", above=0.0)
    if source == "log" and (mean is not None or u is not None):
        raise keys.refuse(
            "mean" if mean is not None else "u",
            "no difference where the source is the log",
            "Leave out mean and u: the tank's readings count already, and would count twice.",
        )
    if source == "study":
        for key in ("mean", "u", "unit"):
            keys.needed(key)
    note = keys.text("note")
    keys.finish()
    return Join(
        measured.name, start, kit, lot, old, old_lot, mean, u, unit, source, scale, note
    )  # fmt: skip
