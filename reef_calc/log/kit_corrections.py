"""Storing a kit's correction in kits.toml, and what it would do to the readings."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pandas as pd
import tomlkit

from reef_calc.bench.corrections import Correction, correction_from, keys_of_correction
from reef_calc.bench.kits import Kit
from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml
from reef_calc.log.history import tank_readings
from reef_calc.log.standard_rows import lot_remark
from reef_calc.log.tank import Tank

_FILE = "kits.toml"


def kit_history(tank: Tank, kit: Kit, lot: str | None = None) -> pd.DataFrame:
    """Return the tank's readings with one kit, as read and as corrected.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit : Kit
        A kit with one element and one unit.
    lot : str, optional
        One lot only; all when not given.

    Returns
    -------
    pandas.DataFrame
        As ``tank_readings`` in the kit's unit, and ``lot_remark``: what to know of the lot.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> len(kit_history(tank, tank.kits["drops"]))
    12
    """
    found = tank_readings(tank, kit.element, kit.unit)
    found = found[found["kit"] == kit.name]
    if lot is not None:
        found = found[found["lot"] == lot]
    days = found["time"].dt.tz_convert(tank.zone).dt.date
    remarks = [lot_remark(kit, one, day) for one, day in zip(found["lot"], days, strict=True)]
    return found.assign(lot_remark=remarks).reset_index(drop=True)


def aim_for_kit(tank: Tank, kit: Kit) -> tuple[float, float, float] | None:
    """Return low end, aim and high end of a kit's element in the kit's unit.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit : Kit
        A kit with one element and one unit.

    Returns
    -------
    (float, float, float) or None
        In the kit's unit; None where the tank has no aim for the element.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> aim_for_kit(tank, tank.kits["drops"])
    (7.2, 8.0, 8.5)
    """
    aim = tank.aims.get(kit.element)
    if aim is None:
        return None
    water = tank.waters[-1]

    def to(level: float) -> float:
        return convert(
            level, aim.unit, kit.unit, kit.element, salinity=water.salinity,
            temperature_C=water.temperature_C,
        )  # fmt: skip

    return to(aim.low), to(aim.aim), to(aim.high)


def with_correction(tank: Tank, kit_name: str, correction: Correction) -> Tank:
    """Return the tank as it would be read with one more correction; nothing is written.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit_name : str
        Name of a described kit.
    correction : Correction
        The correction, as it would be stored.

    Returns
    -------
    Tank
        The same tank with that kit changed.

    Raises
    ------
    InputError
        If it cannot be stored: a number that cannot be used, or another correction that begins on
        the same day for the same lot.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> fixed = Correction(dt.date(2026, 2, 1), "", -0.2, 1.0, 0.1, "eight", "offset")
    >>> after = kit_history(with_correction(tank, "drops", fixed), tank.kits["drops"])
    >>> after[["level", "corrected", "corrected_u"]].tail(1).round(2).values.tolist()
    [[7.0, 6.8, 0.1]]
    """
    kit = tank.kits[kit_name]
    stored = _checked(kit, correction)
    changed = dataclasses.replace(kit, corrections=(*kit.corrections, stored))
    return dataclasses.replace(tank, kits=tank.kits | {kit_name: changed})


def store_correction(folder: str | Path, kit: Kit, correction: Correction) -> None:
    r"""Write a correction into kits.toml as ``[[kit.NAME.correction]]``; open the tank to see it.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    kit : Kit
        The kit as kits.toml describes it.
    correction : Correction
        The correction; offsets in the kit's unit.

    Raises
    ------
    InputError
        If it cannot be used, another one begins on the same day for the same lot, or the file cannot
        be written. Nothing is written then.

    Examples
    --------
    >>> import datetime as dt, tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> text = '[kit.drops]\nelement = "alkalinity"\nkind = "meter"\nunit = "dKH"\n'
    >>> _ = (place / "kits.toml").write_text(text)
    >>> store_correction(place, open_tank(place).kits["drops"],
    ...                  Correction(dt.date(2026, 2, 1), "", -0.2, 1.0, 0.1, "eight", "offset"))
    >>> open_tank(place).kits["drops"].corrections[0].apply(8.0)
    7.8
    """
    keys = keys_of_correction(_checked(kit, correction))

    def change(document: tomlkit.TOMLDocument) -> None:
        described = document.get("kit", {}).get(kit.name)
        if described is None:
            raise InputError("a kit of kits.toml", kit.name, "It is gone: read again.", _FILE)
        # The file may have changed since the page read it.
        _refuse_same(kit.name, correction, described.get("correction", ()))
        entry = tomlkit.table()
        for key, value in keys.items():
            entry.add(key, value)
        if "correction" not in described:
            described.append("correction", tomlkit.aot())
        described["correction"].append(entry)

    edit_toml(folder, _FILE, change)


def _checked(kit: Kit, correction: Correction) -> Correction:
    """Return the correction as it is read back from the file."""
    if correction.lot and kit.lots and kit.lot(correction.lot) is None:
        raise InputError("a lot of kits.toml", correction.lot, "Describe the lot there first.")
    held = [{"from": one.start, "lot": one.lot} for one in kit.corrections]
    _refuse_same(kit.name, correction, held)
    return correction_from(Keys(keys_of_correction(correction), "correction"))


def _refuse_same(kit_name: str, correction: Correction, held: object) -> None:
    for one in held if isinstance(held, list | tuple) else ():
        if str(one.get("from")) == str(correction.start) and one.get("lot", "") == correction.lot:
            raise InputError(
                "one correction a day and lot",
                f"a second from {correction.start}",
                f"Take the first out of kits.toml, below [[kit.{kit_name}.correction]], or begin on "
                "another day.",
                _FILE,
            )
