"""Writing a join of two kits into ``joins.toml``, and taking one out."""

from __future__ import annotations

from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml
from reef_calc.log.joins import FILE, Join
from reef_calc.numbers_in_words import decimals_for

_HEAD = (
    "Kits and lots that took over from one another. Readings stay as they were read;",
    "the difference is taken into account wherever the history is worked with.",
)


def add_join(folder: str | Path, join: Join) -> None:
    """Add a join to ``joins.toml``; everything else in the file stays. Open the tank again then.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    join : Join
        The join; mean and u are rounded by u.

    Raises
    ------
    InputError
        If it cannot be used, tells a difference a second time, or the file cannot be changed.
        Nothing is written then.

    Examples
    --------
    >>> import datetime as dt
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> add_join(place, Join("alkalinity", dt.date(2026, 5, 4), "kit B", "", "kit A", "", 0.3127,
    ...     0.0893, "dKH", "study", "kit in use"))
    >>> open_tank(place).joins[0].mean
    0.313
    """

    def change(document: tomlkit.TOMLDocument) -> None:
        if not document.body:
            for line in _HEAD:
                document.add(tomlkit.comment(line))
        held = document.setdefault("join", tomlkit.aot())
        held.append(_table(join))

    edit_toml(folder, FILE, change)


def remove_join(folder: str | Path, join: Join) -> None:
    """Take a join out of ``joins.toml``; the file before is kept in ``.previous``.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    join : Join
        As the opened tank holds it.

    Raises
    ------
    InputError
        If there is no such join, or the file cannot be changed. Nothing is written then.

    Examples
    --------
    >>> import datetime as dt
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> add_join(place, Join("calcium", dt.date(2026, 5, 4), "kit D", "", "kit C", "", None, None,
    ...     "mg/L", "log", "old kit"))
    >>> remove_join(place, open_tank(place).joins[0])
    >>> open_tank(place).joins
    ()
    """
    wanted = (join.element, join.start, join.kit, join.lot, join.relative_to_kit)

    def change(document: tomlkit.TOMLDocument) -> None:
        held = document.get("join", [])
        for i, one in enumerate(held):
            day = one.get("from")
            key = (
                str(one.get("element")), str(day), str(one.get("kit")), str(one.get("lot", "")),
                str(one.get("relative_to_kit")), str(one.get("relative_to_lot", "")),
            )  # fmt: skip
            if key == (
                join.element, join.start.isoformat(), join.kit, join.lot, join.relative_to_kit,
                join.relative_to_lot,
            ):  # fmt: skip
                del held[i]
                if not held:
                    del document["join"]
                return
        raise InputError(
            "a join of the file", " ".join(str(part) for part in wanted), "Read the folder again.",
            FILE,
        )  # fmt: skip

    edit_toml(folder, FILE, change)


def _table(join: Join) -> tomlkit.items.Table:
    table = tomlkit.table()
    table["element"] = join.element
    table["from"] = join.start
    table["kit"] = join.kit
    if join.lot:
        table["lot"] = join.lot
    table["relative_to_kit"] = join.relative_to_kit
    if join.relative_to_lot:
        table["relative_to_lot"] = join.relative_to_lot
    if join.mean is not None and join.u is not None:
        decimals = decimals_for(join.u) + 1 if join.u > 0 else 6
        table["mean"] = round(join.mean, decimals)
        table["mean"].comment("the new one less the old one, levels as read")
        table["u"] = round(join.u, decimals)
        table["u"].comment("one standard uncertainty")
    table["unit"] = join.unit
    table["source"] = join.source
    table["new_water_scale"] = join.new_water_scale
    if join.note:
        table["note"] = " ".join(join.note.split())
    return table
