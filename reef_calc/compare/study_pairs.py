"""The readings of a study in the log, as pairs of the two kits."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.chem.units import convert
from reef_calc.compare.difference_words import plain
from reef_calc.compare.kit_names import split_name
from reef_calc.compare.pairs import ON_GRID, Pairs, pairs_of
from reef_calc.errors import InputError
from reef_calc.log.studies import FOLDER, StoredStudy, Test
from reef_calc.log.study_files import stored_studies
from reef_calc.log.tank import Tank

# Where more of a kit's readings than this lie off its steps, they are worked out and not read off.
_WORKED_OUT = 0.2


def studies_in_log(tank: Tank) -> tuple[str, ...]:
    """Return the names of the studies that readings of the log belong to.

    Parameters
    ----------
    tank : Tank
        The tank.

    Returns
    -------
    tuple of str
        In the order of their first reading.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> studies_in_log(example_tank())
    ()
    """
    waters = tank.readings["water"]
    return tuple(dict.fromkeys(_parts(one)[0] for one in waters[waters.str.startswith("study ")]))


def finished_tests(tank: Tank, study: StoredStudy) -> tuple[Test, ...]:
    """Return the tests of a study that the log has readings of, in the order of the study.

    Parameters
    ----------
    tank : Tank
        The tank.
    study : StoredStudy
        The study.

    Returns
    -------
    tuple of Test
        Those that are read.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> finished_tests(example_tank(), StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1,
    ...     "each pair", None, (Test("K7", "A", 1),), ()))
    ()
    """
    rows = _rows(tank, study.name)
    kits = (study.kit_a, study.kit_b)
    read = {(row.replicate, _label(tank, row, kits)) for row in rows.itertuples()}
    return tuple(one for one in study.tests if (f"{one.code}/{one.replicate}", one.kit) in read)


def pairs_from_study(
    tank: Tank, name: str, kit_a: str | None = None, kit_b: str | None = None
) -> Pairs:
    """Return the pairs of a study that is written in the log.

    Readings are taken as read, without stored corrections. A water is a cup of the study's list;
    without a list all readings of one level are one water.

    Parameters
    ----------
    tank : Tank
        The tank.
    name : str
        Name of the study.
    kit_a, kit_b : str, optional
        The kits; those of the stored study when not given. Differences are B − A.

    Returns
    -------
    Pairs
        In the unit of the study, or of the first reading without a stored study; waters in the order
        of the study; what could not be used stands in ``dropped``.

    Raises
    ------
    InputError
        If the log has no reading of the study, its kits are not known, or no water was read with
        both.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> pairs_from_study(example_tank(), "spring")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: readings.csv: needed readings of the study spring, given “none”.
    Write them with the water “study spring LEVEL”.
    """
    rows = _rows(tank, name)
    if rows.empty:
        raise InputError(
            f"readings of the study {name}",
            "none",
            f"Write them with the water “study {name} LEVEL”.",
            "readings.csv",
        )
    stored, problems = stored_studies(tank.folder)
    study = next((one for one in stored if one.name == name), None)
    kits = _kits(rows, study, kit_a, kit_b)
    element = study.element if study is not None else str(rows["element"].iloc[0])
    unit = study.unit if study is not None else str(rows["unit"].iloc[0])
    said = [
        f"{one.file} cannot be read ({one.reason} {one.repair}), so all readings of one level count "
        "as one water."
        for one in problems
        if study is None and one.file.casefold() == f"{FOLDER}/{name}.toml".casefold()
    ]
    found = [
        _reading(row, study, element, unit, _label(tank, row, kits), said)
        for row in rows.itertuples()
    ]
    table = pd.DataFrame([one for one in found if one is not None])
    if table.empty:
        raise InputError(
            f"readings of the study {name} that can be compared", "; ".join(said),
            "Write what the kits read.", "readings.csv",
        )  # fmt: skip
    if study is not None:
        place = {cup: i for i, cup in enumerate(dict.fromkeys(t.code for t in study.tests))}
        order = table["water"].map(lambda one: place.get(one, len(place)))
        table = table.iloc[np.argsort(order.to_numpy(), kind="stable")]
    steps = [_step(tank, kit, unit, element, table, said) for kit in kits]
    pairs = pairs_of(
        table, *kits, element=element, unit=unit, resolution_a=steps[0], resolution_b=steps[1]
    )
    return Pairs(**{**vars(pairs), "dropped": (*said, *pairs.dropped)})


def _parts(water: str) -> tuple[str, str]:
    """Return name and level of ``study NAME LEVEL``."""
    name, _, level = water.removeprefix("study ").strip().rpartition(" ")
    return " ".join(name.split()), level


def _rows(tank: Tank, name: str) -> pd.DataFrame:
    waters = tank.readings["water"]
    mine = [one.startswith("study ") and _parts(one)[0] == name for one in waters]
    return tank.readings[np.array(mine, dtype=bool)]


def _label(tank: Tank, row: Any, kits: tuple[str, str]) -> str:
    """Return which of two kits, or lots, a reading is of; its own kit where it is of neither."""
    named = [(name, *split_name(name, frozenset(tank.kits))) for name in kits]
    for name, kit, lot in sorted(named, key=lambda one: one[2] is None):
        if kit == row.kit and lot in (None, row.lot):
            return name
    return str(row.kit)


def _kits(
    rows: pd.DataFrame, study: StoredStudy | None, kit_a: str | None, kit_b: str | None
) -> tuple[str, str]:
    if study is not None:
        return kit_a or study.kit_a, kit_b or study.kit_b
    named = list(dict.fromkeys(kit for kit in rows["kit"] if kit))
    if kit_a is None and kit_b is None and len(named) == 2:
        return named[0], named[1]
    if kit_a is None or kit_b is None:
        raise InputError(
            "the two kits to compare",
            ", ".join(named) or "no kit is named",
            "Choose two, or write the kit of each reading.",
            "kits of the study",
        )
    return kit_a, kit_b


def _reading(
    row: Any, study: StoredStudy | None, element: str, unit: str, kit: str, said: list[str]
) -> dict[str, Any] | None:
    where = f"Row {row.row} of readings.csv"
    if row.element != element:
        said.append(f"{where} is of {row.element}, and the study is of {element}.")
        return None
    if row.limit:
        said.append(f"{where} lies beyond the scale or between two steps and cannot be compared.")
        return None
    if not row.kit:
        said.append(f"{where} names no kit.")
        return None
    value = row.value
    if row.unit != unit:
        salinity = None if math.isnan(row.salinity) else row.salinity
        warmth = 25.0 if math.isnan(row.temperature) else row.temperature
        value = convert(value, row.unit, unit, element, salinity=salinity, temperature_C=warmth)
    _, level = _parts(row.water)
    code = row.replicate.partition("/")[0]
    cup = None if study is None else next((c for c in study.cups if c.code == code), None)
    nominal: float | None = None
    if cup is not None:
        nominal = cup.level
    else:
        try:
            nominal = float(level)
        except ValueError:
            nominal = None
        if study is not None:
            said.append(f"{where} names no cup of the study, so it counts by its level {level}.")
    return {
        "water": level if cup is None else cup.code,
        "kit": kit,
        "value": value,
        "nominal": math.nan if nominal is None or not math.isfinite(nominal) else nominal,
        "time": row.time,
    }


def _step(
    tank: Tank, kit: str, unit: str, element: str, table: pd.DataFrame, said: list[str]
) -> float:
    """Return the step of a kit in the unit of the study; 0 where its readings do not lie on it."""
    described = tank.kits.get(split_name(kit, frozenset(tank.kits))[0])
    if described is None or described.resolution <= 0.0:
        said.append(f"The step of {kit} is not written in kits.toml; it is left out of account.")
        return 0.0
    step = described.resolution
    if described.unit != unit:
        middle = float(table["value"].median())
        own = convert(middle, unit, described.unit, element, salinity=35.0, temperature_C=25.0)
        step *= middle / own if own else 1.0
    counts = table.loc[table["kit"] == kit, "value"].to_numpy(float) / step
    off = np.abs(counts - np.round(counts)) > ON_GRID
    if off.size and off.mean() > _WORKED_OUT:
        said.append(
            f"The readings of {kit} do not lie on its steps of {plain(step)} {unit}. They are taken "
            "as they are, and its steps are left out of account."
        )
        return 0.0
    return step
