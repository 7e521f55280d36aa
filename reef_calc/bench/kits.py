"""What a kit is: its description in the tank folder, its scatter, its lots and its corrections."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Literal, get_args

from reef_calc.bench.chart import chart_from
from reef_calc.bench.corrections import Correction, correction_from
from reef_calc.bench.kit_parts import (
    Lot,
    Precipitant,
    Step,
    Titrant,
    count_from,
    lots_from,
    precipitant_from,
    step_from,
    titrant_from,
    volumes_from,
)
from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.elements import ELEMENTS, element
from reef_calc.chem.units import check_unit, convert

Kind = Literal[
    "direct titration",
    "back titration",
    "two titrations",
    "drop count",
    "chart",
    "colour steps",
    "meter",
    "laboratory report",
]

# One standard deviation of one reading in the element's display unit, and a share of the level.
# Common practice, no source: middle of the range a hobby kit is said to repeat to.
USUAL_SCATTER: dict[str, tuple[float, float]] = {
    "alkalinity": (0.15, 0.0),  # said to be 0.1 to 0.2 dKH
    "calcium": (10.0, 0.0),  # 5 to 15 mg/L
    "magnesium": (27.0, 0.0),  # 15 to 40 mg/L
    "potassium": (15.0, 0.0),  # 10 to 20 mg/L
    "strontium": (1.5, 0.0),  # 1 to 2 mg/L
    "iodine": (0.02, 0.0),
    "nitrate": (0.2, 0.25),  # 20 to 30 %, and never finer than the finest step
    "nitrite": (0.05, 0.0),
    "ammonia": (0.1, 0.0),
    "phosphate": (0.03, 0.0),  # 0.02 to 0.04 mg/L
    "silicate": (0.1, 0.25),
    "salinity": (0.35, 0.0),  # 0.2 to 0.5
    "temperature": (0.2, 0.0),
    "pH": (0.05, 0.0),
}
# Nothing is said about the others: a tenth of the level, from memory.
_OTHERWISE = (0.0, 0.10)


def usual_sd(name: str, level: float, unit: str) -> float:
    """Return the scatter that kits for an element usually have, as one standard deviation.

    s = √(a² + (c·level)²), a and c from ``USUAL_SCATTER`` (*common practice, no source*).

    Parameters
    ----------
    name : str
        Element.
    level : float
        Level in ``unit``.
    unit : str
        Unit of the level and of the result.

    Returns
    -------
    float
        Standard deviation of one reading in ``unit``.

    Raises
    ------
    InputError
        If the element is unknown or the unit is not one of its units.

    Notes
    -----
    For water at a salinity of 35 and 25 °C where the unit is per kilogram.

    Examples
    --------
    >>> usual_sd("calcium", 420.0, "mg/L")
    10.0
    """
    described = element(name)
    absolute, share = USUAL_SCATTER.get(described.name, _OTHERWISE)

    def to(value: float, start: str, end: str) -> float:
        return convert(value, start, end, described.name, salinity=35.0, temperature_C=25.0)

    shown = to(level, unit, described.display_unit)
    spread = math.hypot(absolute, share * shown)
    if unit == described.display_unit:
        return spread
    return abs(to(shown + spread, described.display_unit, unit) - level)


@dataclass(frozen=True)
class Kit:
    """One kit as its owner described it.

    Attributes
    ----------
    name, element, kind, unit : str
        ``element`` and ``unit`` are empty only for a laboratory report of many elements.
    resolution : float
        Smallest step of a reading in ``unit``; 0 when it was not written.
    repeatability_sd, repeatability_cv : float
        Standard deviation of one reading: constant part in ``unit``, and part per level.
    repeatability_from : {"typed", "replicates", "standard", "common practice"}
        Where it comes from.
    sample_mL, dilution, blank_mL, aliquot_mL, total_mL, hands_min, tests_left : float or None
        Volumes in mL; dilution = final volume over sample volume; minutes of work; tests left.
    sample_u_mL, aliquot_u_mL, total_u_mL : float or None
        Standard uncertainties of three of the volumes, mL.
    counted : datetime.date or None
        Day on which so many tests were left.
    titrant, precipitant : Titrant, Precipitant or None
        Solutions of a titration.
    chart : tuple of (float, float)
        Reading and level (in ``unit``), one pair a row.
    half_drop : bool or None
        True: the level lies in the middle of the last drop; False: n drops are n steps; None: not
        asked yet.
    steps : tuple of Step
        Steps in the owner's words.
    hazards : tuple of str
        Typed from the label.
    lots : tuple of Lot
    corrections : tuple of Correction
    """

    name: str
    element: str
    kind: str
    unit: str
    resolution: float = 0.0
    repeatability_sd: float = 0.0
    repeatability_cv: float = 0.0
    repeatability_from: str = "common practice"
    sample_mL: float | None = None
    sample_u_mL: float | None = None
    dilution: float | None = None
    titrant: Titrant | None = None
    blank_mL: float | None = None
    precipitant: Precipitant | None = None
    aliquot_mL: float | None = None
    aliquot_u_mL: float | None = None
    total_mL: float | None = None
    total_u_mL: float | None = None
    chart: tuple[tuple[float, float], ...] = ()
    half_drop: bool | None = None
    steps: tuple[Step, ...] = ()
    hands_min: float | None = None
    hazards: tuple[str, ...] = ()
    tests_left: float | None = None
    counted: dt.date | None = None
    lots: tuple[Lot, ...] = ()
    corrections: tuple[Correction, ...] = ()

    @property
    def sd_is_default(self) -> bool:
        """Whether the scatter is the usual one and not this kit's own."""
        return self.repeatability_from == "common practice"

    def sd(self, level: float) -> float:
        """Return the standard deviation of one reading at a level.

        s = √(sd² + (cv·level)²); where the owner wrote neither, the usual scatter of kits for the
        element (*common practice, no source*; then ``sd_is_default`` is True).

        Parameters
        ----------
        level : float
            Level in the kit's unit.

        Returns
        -------
        float
            Standard deviation in the kit's unit, without the resolution.

        Raises
        ------
        InputError
            If the kit is for many elements and has no repeatability of its own.

        Examples
        --------
        >>> kit_from_table("drops", {"element": "alkalinity", "kind": "drop count",
        ...     "unit": "dKH", "repeatability": {"sd": 0.2, "from": "typed"}}, "kits.toml").sd(8.0)
        0.2
        """
        if self.sd_is_default:
            return usual_sd(self.element, level, self.unit)
        return math.hypot(self.repeatability_sd, self.repeatability_cv * level)

    def lot(self, name: str) -> Lot | None:
        """Return the lot of a name, or None when it is not described.

        Parameters
        ----------
        name : str
            Name of the lot.

        Returns
        -------
        Lot or None
            The lot.
        """
        return next((lot for lot in self.lots if lot.name == name), None)

    def correction_at(self, time: dt.date, lot: str = "") -> Correction | None:
        """Return the correction that holds for a reading, or None when there is none.

        The latest that started on or before the day; one found with the reading's own lot goes
        before one for every lot, because another lot's standard says nothing about this one.

        Parameters
        ----------
        time : datetime.date, datetime.datetime or pandas.Timestamp
            Day of the reading in the tank's zone (of a time with a zone: its day in that zone).
        lot : str, optional
            Lot of the reading.

        Returns
        -------
        Correction or None
            The correction.

        Examples
        --------
        >>> kit = kit_from_table("drops", {"element": "alkalinity", "kind": "drop count",
        ...     "unit": "dKH", "correction": [{"from": dt.date(2026, 2, 1), "factor": 0.96}]}, "")
        >>> kit.correction_at(dt.date(2026, 2, 3)).apply(8.0)
        7.68
        """
        day = time.date() if isinstance(time, dt.datetime) else time
        held = [c for c in self.corrections if c.start <= day and c.lot in ("", lot)]
        return max(held, key=lambda c: (c.lot != "", c.start), default=None)


def kit_from_table(name: str, table: dict[str, object], where: str) -> Kit:
    """Return the kit that a ``[kit.NAME]`` table describes.

    Parameters
    ----------
    name : str
        Name of the kit.
    table : dict
        The table as ``tomllib`` gave it.
    where : str
        File and table, for the messages.

    Returns
    -------
    Kit
        The kit.

    Raises
    ------
    InputError
        For an unknown key, a missing one, or a value that cannot be used; names the place.

    Examples
    --------
    >>> kit_from_table("strip", {"element": "nitrate", "kind": "colour steps", "unit": "mg/L"},
    ...                "kits.toml, kit.strip").sd_is_default
    True
    """
    keys = Keys(table, where)
    keys.needed("kind")
    kind = keys.choice("kind", get_args(Kind))
    measured, unit = _element_and_unit(keys, kind)
    sd, cv, origin = _repeatability(keys)
    if not unit and (sd or "resolution" in keys or "correction" in keys):
        raise keys.refuse("unit", "the unit of sd, resolution or correction", "Write the unit.")
    half_drop = keys.value("half_drop")
    if half_drop is not None and not isinstance(half_drop, bool):
        raise keys.refuse("half_drop", "true or false", "Write it without quotes.")
    tests_left, counted = count_from(keys)
    kit = Kit(
        name=name,
        element=measured,
        kind=kind,
        unit=unit,
        resolution=keys.number("resolution", at_least=0.0) or 0.0,
        repeatability_sd=sd,
        repeatability_cv=cv,
        repeatability_from=origin,
        dilution=keys.number("dilution", at_least=1.0),
        titrant=titrant_from(keys.table("titrant")),
        blank_mL=keys.number("blank_mL", at_least=0.0),
        precipitant=precipitant_from(keys.table("precipitant")),
        chart=chart_from(keys),
        half_drop=half_drop,
        steps=tuple(step_from(step) for step in keys.tables("steps")),
        hands_min=keys.number("hands_min", at_least=0.0),
        hazards=keys.texts("hazards"),
        tests_left=tests_left,
        counted=counted,
        lots=lots_from(keys),
        corrections=tuple(correction_from(one) for one in keys.tables("correction")),
        **volumes_from(keys),
    )
    keys.finish()
    return kit


def _element_and_unit(keys: Keys, kind: str) -> tuple[str, str]:
    many = kind == "laboratory report"
    for key in () if many else ("element", "unit"):
        keys.needed(key)
    measured = keys.text("element")
    if measured:
        measured = element(measured, f"{keys.where}, element").name
    unit = keys.text("unit")
    if unit and measured:
        unit = check_unit(unit, measured, f"{keys.where}, unit")
    if not many and not (measured and unit):
        raise keys.refuse("unit", "an element and its unit", "Write what the kit measures.")
    if measured and not unit:
        unit = ELEMENTS[measured].display_unit
    return measured, unit


def _repeatability(keys: Keys) -> tuple[float, float, str]:
    given = keys.table("repeatability")
    if given is None:
        return 0.0, 0.0, "common practice"
    sd, cv = given.number("sd", above=0.0), given.number("cv", above=0.0)
    origin = given.choice("from", ("typed", "replicates", "standard"), "typed")
    given.finish()
    if sd is None and cv is None:
        raise keys.refuse(
            "repeatability", "sd (in the kit's unit) or cv (a share of the level)", "Write one."
        )
    if cv is not None and cv >= 1.0:
        raise given.refuse("cv", "a share below 1", "Five per cent is written 0.05.")
    return sd or 0.0, cv or 0.0, origin
