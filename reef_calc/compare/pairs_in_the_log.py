"""Waters of the tank that two kits read within the hour, as pairs for a comparison."""

from __future__ import annotations

import pandas as pd

from reef_calc.balance.moments import end_of
from reef_calc.balance.record import element_record
from reef_calc.balance.refusals import day_text
from reef_calc.chem.elements import element as find_element
from reef_calc.compare.kit_names import Group
from reef_calc.compare.kits_in_the_log import TwoKits, two_kits
from reef_calc.compare.log_pairs import nearest_pairs
from reef_calc.compare.pairs import SAME_WATER_HOURS, Pairs, pairs_of
from reef_calc.errors import CannotTellError
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge


def pairs_from_log(
    tank: Tank,
    element: str,
    kit_a: str,
    kit_b: str,
    *,
    lots: tuple[str | None, str | None] | None = None,
    since: str | pd.Timestamp | None = None,
    until: str | pd.Timestamp | None = None,
    unit: str | None = None,
) -> Pairs:
    """Return the waters of the tank that both kits read within an hour, levels as read.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.
    kit_a, kit_b : str
        Kits, or a kit and lot as "kit A / lot A-2"; differences are B − A.
    lots : tuple of (str or None), optional
        Lots of A and of B.
    since, until : str or pandas.Timestamp, optional
        First and last day looked at.
    unit : str, optional
        Unit of the levels; the one of the aims when not given.

    Returns
    -------
    Pairs
        One water for each two sittings, none used twice; the steps of the kits where they are in
        this unit, else 0.

    Raises
    ------
    InputError
        For an unknown element, kit, lot or day.
    CannotTellError
        If no water was read with both within an hour.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> pairs_from_log(example_tank(), "alkalinity", "drops", "strips")
    Traceback (most recent call last):
    ...
    reef_calc.errors.InputError: alkalinity: needed readings of the tank with strips, given “drops”...
    """
    facts = find_element(element)
    aim = tank.aims.get(facts.name)
    unit = unit or (aim.unit if aim else facts.display_unit)
    record = element_record(tank, facts.name, unit, end_of(tank, until, facts.name))
    start = window_edge(since, tank.zone, end=False)
    if start is not None:
        record = record.since(float((start - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1)))
    two = two_kits(tank, record, kit_a, kit_b, lots=lots, whole=True)
    return pairs_of(
        _read_together(tank, two),
        two.label_a,
        two.label_b,
        element=facts.name,
        unit=unit,
        resolution_a=_step(tank, two.a, unit),
        resolution_b=_step(tank, two.b, unit),
    )


def _read_together(tank: Tank, two: TwoKits) -> pd.DataFrame:
    record = two.record
    a, b = (record.sessions[own].reset_index(drop=True) for own in (two.of_a, two.of_b))
    index_a, index_b = nearest_pairs(
        a["day"].to_numpy(float), b["day"].to_numpy(float), SAME_WATER_HOURS / 24
    )
    if not index_a.size:
        raise CannotTellError(
            f"No water of the tank was read with both {two.label_a} and {two.label_b} within an "
            "hour. Test the same water with both, or compare them by all readings of the log."
        )
    levels = tank_readings(tank, record.element, record.unit).set_index("row")
    rows = []
    for i, j in zip(index_a, index_b, strict=True):
        time = a["time"].iloc[i]
        name = f"{day_text(time, record.zone)} {time.tz_convert(record.zone):%H:%M}"
        for frame, k, kit in ((a, i, two.label_a), (b, j, two.label_b)):
            for row in frame["rows"].iloc[k]:
                rows.append((name, kit, levels.loc[row, "level"], levels.loc[row, "time"]))
    return pd.DataFrame(rows, columns=["water", "kit", "value", "time"])


def _step(tank: Tank, group: Group, unit: str) -> float:
    kit = tank.kits.get(group[0])
    return float(kit.resolution) if kit is not None and kit.unit == unit else 0.0
