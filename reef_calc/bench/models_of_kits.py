"""How each kind of kit works a level out: its formula, its inputs, and the words for them."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from reef_calc.bench.chart import level_from_chart
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import RawReading, needed_reading, titrant_of
from reef_calc.bench.titration import (
    concentration_from_back_titration,
    concentration_from_titrant,
    level_from_drops,
)
from reef_calc.bench.uncertainty import Quantity
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

Inputs = dict[str, Quantity]

IN_WORDS = {
    "titrant_mL": "titrant used",
    "second_mL": "titrant of the second titration",
    "part_mmol_per_L": "the part already known",
    "titrant_mol_per_L": "strength of the titrant",
    "sample_mL": "sample volume",
    "blank_mL": "blank",
    "blank": "blank",
    "factor": "titre factor",
    "ratio": "what reacts with what",
    "precipitant_mol_per_L": "strength of the precipitant",
    "precipitant_mL": "volume of the precipitant",
    "total_mL": "filtrate in all",
    "aliquot_mL": "filtrate titrated",
    "precipitant_per_titrant": "precipitant per titrant",
    "precipitant_per_element": "precipitant per element",
    "reading": "reading",
    "dilution": "dilution",
    "diluent_level": "level of the diluting water",
    "resolution": "smallest step of the scale",
    "repeatability": "repeatability",
}


# The titrant's ratio as an input of each kind: what one mole of it takes.
_RATIO = {
    "direct titration": "ratio",
    "two titrations": "ratio",
    "back titration": "precipitant_per_titrant",
}
_DIRECT = "(titrant used − blank) · strength · titre factor · what reacts with what / sample"


def unit_of_input(name: str, kit: Kit) -> str:
    """Return the unit of an input of a kit's formula.

    Parameters
    ----------
    name : str
        Name of the input.
    kit : Kit
        The kit.

    Returns
    -------
    str
        The unit, empty for a plain number.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH")
    >>> unit_of_input("titrant_mol_per_L", kit), unit_of_input("blank", kit)
    ('mol/L', 'dKH')
    """
    for ending, unit in (("_mmol_per_L", "mmol/L"), ("_mol_per_L", "mol/L"), ("_mL", "mL")):
        if name.endswith(ending):
            return unit
    return kit.unit if name in ("reading", "blank", "diluent_level") else ""


class Model(NamedTuple):
    """A test ready to be worked out.

    Attributes
    ----------
    level : callable
        The formula: level in the kit's unit from the inputs by name, before any dilution.
    inputs : dict of str to Quantity
        What goes in, each in the unit of its name.
    scale_readings : int
        How often a scale was read.
    words : list of str
        The arithmetic up to here.
    """

    level: Callable[..., float]
    inputs: Inputs
    scale_readings: int
    words: list[str]


def model_of(kit: Kit, raw: RawReading, half_drop: bool | None = None) -> Model:
    """Return the formula and the inputs of one test.

    Parameters
    ----------
    kit : Kit
        Any kind but colour steps.
    raw : RawReading
        What was read.
    half_drop : bool, optional
        For a drop count whose description does not say it.

    Returns
    -------
    Model
        Formula, inputs, number of scale readings, words.

    Raises
    ------
    InputError
        If the description or the reading lacks something that the kind needs.

    Examples
    --------
    >>> kit = Kit("drops", "alkalinity", "drop count", "dKH", resolution=0.5, half_drop=False)
    >>> model_of(kit, RawReading(16)).words
    ['16 drops, 0.5 dKH each: 8 dKH.']
    """
    if kit.kind not in _MODELS:
        raise InputError("a kind of test with a formula", kit.kind, "Use result_of.")
    return _MODELS[kit.kind](kit, raw, half_drop)


def _kit_units_per_mol(kit: Kit, raw: RawReading) -> float:
    moles = "meq/L" if kit.element == "alkalinity" else "mmol/L"
    return 1000.0 * convert(
        1.0, moles, kit.unit, kit.element, salinity=raw.salinity, temperature_C=raw.temperature_C
    )


def _titration_inputs(kit: Kit, used: float) -> Inputs:
    titrant = kit.titrant
    if titrant is None or titrant.mol_per_L is None:
        raise InputError(
            "the strength of the titrant",
            "nothing",
            "Add titrant = { mol_per_L = … } to the kit, or describe it as a chart.",
        )
    if kit.sample_mL is None:
        raise InputError(
            "sample_mL of the kit", "nothing", "Add a line “sample_mL = …” to its description."
        )
    return {
        "titrant_mL": Quantity(used),
        "titrant_mol_per_L": Quantity(titrant.mol_per_L, titrant.u),
        "sample_mL": Quantity(kit.sample_mL, kit.sample_u_mL or 0.0),
        "blank_mL": Quantity(kit.blank_mL or 0.0),
        "factor": Quantity(1.0),
        _RATIO[kit.kind]: Quantity(titrant.ratio),
    }


def _direct(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    used, readings, words = titrant_of(raw, kit)
    inputs = _titration_inputs(kit, used)
    scale = _kit_units_per_mol(kit, raw)
    lines = [words, f"Level = {_DIRECT}, in {kit.unit}."]
    return Model(lambda **x: scale * concentration_from_titrant(**x), inputs, readings, lines)


def _back(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    used, readings, words = titrant_of(raw, kit)
    if kit.precipitant is None:
        raise InputError(
            "the precipitant", "nothing", "Add precipitant = { mol_per_L = …, mL = … } to the kit."
        )
    if (kit.total_mL is None) != (kit.aliquot_mL is None):
        raise InputError(
            "total_mL and aliquot_mL together", "one of them", "Write both, or neither."
        )
    inputs = _titration_inputs(kit, used) | {
        "precipitant_mol_per_L": Quantity(kit.precipitant.mol_per_L, kit.precipitant.u),
        "precipitant_mL": Quantity(kit.precipitant.mL, kit.precipitant.u_mL),
        "total_mL": Quantity(kit.total_mL or 1.0, kit.total_u_mL or 0.0),
        "aliquot_mL": Quantity(kit.aliquot_mL or 1.0, kit.aliquot_u_mL or 0.0),
        "precipitant_per_element": Quantity(1.0 / kit.precipitant.ratio),
    }
    scale = _kit_units_per_mol(kit, raw)
    most = scale * kit.precipitant.ratio * kit.precipitant.mol_per_L * kit.precipitant.mL
    most /= inputs["sample_mL"].value
    if used <= inputs["blank_mL"].value and not raw.limit:
        raise InputError(
            "more titrant than the blank",
            f"{used:g} mL",
            f"All the precipitant was used up: the level is above {most:.4g} {kit.unit}. Dilute the "
            "sample and test again, or write it with > as the limit.",
        )
    lines = [
        words,
        "Left over = (titrant used − blank) · strength · titre factor · precipitant per titrant · "
        "filtrate in all / filtrate titrated.",
        "Level = (precipitant · its volume − left over) / (sample · precipitant per element), in "
        f"{kit.unit}.",
        f"The kit reads at most {most:.4g} {kit.unit}; more titrant means less.",
    ]
    return Model(
        lambda **x: scale * concentration_from_back_titration(**x), inputs, readings, lines
    )


def _two(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    used, readings, words = titrant_of(raw, kit)
    inputs = _titration_inputs(kit, used)
    scale = _kit_units_per_mol(kit, raw)
    if (raw.second is None) == (raw.part is None):
        raise InputError(
            "the second titration in mL, or the part in mmol/L",
            "neither" if raw.part is None else "both",
            "Write one of them.",
        )
    if raw.part is not None:
        inputs["part_mmol_per_L"] = raw.part

        def with_part(**x: float) -> float:
            part = x.pop("part_mmol_per_L")
            return scale * (concentration_from_titrant(**x) - part / 1000.0)

        lines = [words, f"Level = {_DIRECT} − the part already known, in {kit.unit}."]
        return Model(with_part, inputs, readings, lines)
    inputs["second_mL"] = Quantity(float(raw.second or 0.0))

    def with_second(**x: float) -> float:
        second = x.pop("second_mL")
        return scale * (
            concentration_from_titrant(**x)
            - concentration_from_titrant(**x | {"titrant_mL": second})
        )

    lines = [
        words,
        f"The part alone took {raw.second:g} mL.",
        f"Level = {_DIRECT}, less the same for the part, in {kit.unit}.",
    ]
    return Model(with_second, inputs, 2 * readings, lines)


def _above_blank(level: float, scale_readings: int, words: str) -> Model:
    def corrected(*, reading: float, blank: float, factor: float) -> float:
        return factor * (reading - blank)

    inputs = {"reading": Quantity(level), "blank": Quantity(0.0), "factor": Quantity(1.0)}
    return Model(corrected, inputs, scale_readings, [words])


def _drops(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    middle = half_drop if half_drop is not None else kit.half_drop
    if middle is None:
        raise InputError(
            "half_drop, true or false",
            "nothing",
            "Read the kit's leaflet: false if 8 drops mean 8 steps, true if the change lies "
            "somewhere within the last drop and the leaflet says nothing.",
        )
    count = needed_reading(raw, "the number of drops")
    level = level_from_drops(count, kit.resolution, middle)
    less = " less half a drop" if middle else ""
    words = f"{count:g} drops{less}, {kit.resolution:g} {kit.unit} each: {level:.5g} {kit.unit}."
    return _above_blank(level, 1, words)


def _chart(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    if raw.filled_mL is not None:
        reading, readings, words = titrant_of(raw, kit)
    else:
        reading, readings, words = needed_reading(raw, "the reading on the chart"), 1, ""
    level = float(level_from_chart(reading, kit.chart))
    words = f"{words} {reading:.5g} on the chart is {level:.5g} {kit.unit}."
    return _above_blank(level, readings, words.strip())


def _meter(kit: Kit, raw: RawReading, half_drop: bool | None) -> Model:
    shown = needed_reading(raw, "the displayed value")
    level = _converted(kit, raw, shown)
    words = f"Shown: {shown:g} {raw.unit or kit.unit}."
    found = _above_blank(level, 1, words)
    if kit.kind == "laboratory report" and raw.u is not None:
        if not raw.u > 0.0:
            raise InputError(
                "a stated uncertainty above 0", raw.u, "Leave it out if the report states none."
            )
        spread = abs(_converted(kit, raw, shown + raw.u) - level)
        found.inputs["reading"] = Quantity(level, spread)
    return found


def _converted(kit: Kit, raw: RawReading, value: float) -> float:
    return convert(
        value,
        raw.unit or kit.unit,
        kit.unit,
        kit.element,
        salinity=raw.salinity,
        temperature_C=raw.temperature_C,
    )


_MODELS: dict[str, Callable[[Kit, RawReading, bool | None], Model]] = {
    "direct titration": _direct,
    "back titration": _back,
    "two titrations": _two,
    "drop count": _drops,
    "chart": _chart,
    "meter": _meter,
    "laboratory report": _meter,
}
