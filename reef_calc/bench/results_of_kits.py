"""One door for all kinds of kit: what was read in, a level with its uncertainty out."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping

import pandas as pd

from reef_calc.bench.chart import level_from_colour, sorted_chart
from reef_calc.bench.kits import Kit
from reef_calc.bench.models_of_kits import IN_WORDS, Inputs, Model, model_of, unit_of_input
from reef_calc.bench.readings import Limit, RawReading, TestResult, needed_reading
from reef_calc.bench.titration import undiluted
from reef_calc.bench.uncertainty import CombinedUncertainty, Quantity, propagate
from reef_calc.errors import InputError


def lot_titre_of(kit: Kit, day: dt.date, lot: str = "") -> Quantity | None:
    """Return the titre factor that holds for a day and a lot, or None when there is none.

    Parameters
    ----------
    kit : Kit
        The kit with its corrections.
    day : datetime.date
        Day of the test in the tank's zone.
    lot : str, optional
        Lot that was used.

    Returns
    -------
    Quantity or None
        Factor without unit. Corrections written as an offset or a line are none.

    Notes
    -----
    The log keeps levels as read and applies the kit's corrections itself: a level worked out with
    this factor is for showing, not for saving.

    Examples
    --------
    >>> from reef_calc.bench.corrections import Correction
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH", corrections=(
    ...     Correction(dt.date(2026, 2, 1), "A", 0.0, 0.95, 0.01, "soda", "factor"),))
    >>> lot_titre_of(kit, dt.date(2026, 3, 1), "A"), lot_titre_of(kit, dt.date(2026, 3, 1), "B")
    (Quantity(value=0.95, u=0.01, distribution='normal'), None)
    """
    found = kit.correction_at(day, lot)
    if found is None or found.form != "factor":
        return None
    return Quantity(found.slope, found.u or 0.0)


def result_of(
    kit: Kit,
    raw: RawReading,
    *,
    lot_titre: Quantity | None = None,
    blank: Quantity | None = None,
    known: Mapping[str, Quantity] | None = None,
    half_drop: bool | None = None,
) -> TestResult:
    """Return the level that a test shows, with its uncertainty and its arithmetic.

    The formula of the kit's kind, then C = C(read)·D − C(diluent)·(D − 1). u holds the kit's
    repeatability, its resolution d/√12 (twice for a syringe read at both ends), and every input that
    has an uncertainty in the kit's description or is handed in with one.

    Parameters
    ----------
    kit : Kit
        The kit as described in the tank folder.
    raw : RawReading
        What was read.
    lot_titre : Quantity, optional
        Titre factor of the lot, without unit: on the titrant of a titration, otherwise on the level
        above the blank. It was found with this very titrant, so the uncertainty of the strength on
        the label counts no more. See ``lot_titre_of``.
    blank : Quantity, optional
        What pure water reads: mL of titrant for titrations, otherwise in the kit's unit.
    known : mapping of str to Quantity, optional
        Any other input with its uncertainty, by the argument's name in ``bench.titration``
        (``sample_mL``, ``titrant_mol_per_L``, ``ratio`` …), in the unit of that name.
    half_drop : bool, optional
        For a drop count whose description does not say it.

    Returns
    -------
    TestResult
        In the kit's unit.

    Raises
    ------
    InputError
        If the description or the reading cannot be used; says the likely cause and the way on.
    UnitError
        If the unit belongs to another quantity.

    Notes
    -----
    A level not above 0 within 2u becomes "<" its upper end. A back titration past its zero point is
    refused, because it never means that none is present.

    Examples
    --------
    >>> from reef_calc.bench.kit_parts import Titrant
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH", repeatability_sd=0.05,
    ...           repeatability_from="typed", sample_mL=4.0, resolution=0.14,
    ...           titrant=Titrant(0.02, 1.0, ""))
    >>> found = result_of(kit, RawReading(filled_mL=1.0, left_mL=0.44))
    >>> round(found.level, 2), found.text
    (7.85, '7.85 ± 0.15 dKH')

    References
    ----------
    Formulas: ``bench.titration`` and ``bench.chart``; uncertainty: JCGM 100:2008.
    """
    if raw.unit and kit.kind not in ("meter", "laboratory report"):
        raise InputError(
            "no unit beside this reading",
            raw.unit,
            "A titration is read in mL, a count in drops, a card in steps.",
        )
    if not (kit.element and kit.unit):
        raise InputError(
            "a report of one element", kit.name, "Name the element and the unit of this line."
        )
    if kit.kind == "colour steps":
        if lot_titre is not None or blank is not None or known:
            raise InputError(
                "no correction handed in for a colour card",
                "one",
                "A colour says a range only: correct the level in the log instead.",
            )
        return _colour_result(kit, raw)
    if kit.resolution <= 0.0 and kit.kind == "drop count":
        raise InputError(
            "the level that one drop stands for",
            "a kit without resolution",
            f"Add a line “resolution = …” to the kit, in {kit.unit} for one drop.",
        )
    given = dict(known or {})
    if lot_titre is not None:
        given["factor"] = lot_titre
    if blank is not None:
        given["blank_mL" if kit.kind.endswith(("titration", "titrations")) else "blank"] = blank
    model = model_of(kit, raw, half_drop)
    inputs = _with_dilution(kit, raw, model.inputs)
    if lot_titre is not None and "titrant_mol_per_L" in inputs:
        given.setdefault("titrant_mol_per_L", Quantity(inputs["titrant_mol_per_L"].value))
    unknown = [name for name in given if name not in inputs]
    if unknown:
        raise InputError(
            "inputs of this kind of test: " + ", ".join(inputs), unknown[0], "Check the name."
        )
    for name in ("titrant_mL", "second_mL", "reading"):
        if name in given and not math.isclose(given[name].value, inputs[name].value):
            raise InputError(
                f"the {IN_WORDS[name]} as it was read, {inputs[name].value:g}",
                given[name].value,
                "Hand in its uncertainty with the same value: a reading is never overwritten.",
            )
    found = _combined(kit, raw, model, inputs | given)
    return _finished(kit, raw, found, _words(kit, model, inputs | given, found), inputs | given)


def _with_dilution(kit: Kit, raw: RawReading, inputs: Inputs) -> Inputs:
    return inputs | {
        "dilution": Quantity(_dilution(kit, raw)),
        "diluent_level": Quantity(raw.diluent_level),
    }


def _dilution(kit: Kit, raw: RawReading) -> float:
    dilution = raw.dilution if raw.dilution is not None else kit.dilution or 1.0
    undiluted(0.0, dilution)  # refuses a dilution below 1 before anything else is worked out
    if dilution == 1.0 and raw.diluent_level:
        raise InputError(
            "a dilution above 1 beside the level of the diluting water",
            raw.diluent_level,
            "Write the final volume over the sample, or leave the level out.",
        )
    return dilution


def _combined(kit: Kit, raw: RawReading, model: Model, inputs: Inputs) -> CombinedUncertainty:
    exact = {name: one.value for name, one in inputs.items() if one.u == 0.0}
    read = model.level(**{n: q.value for n, q in inputs.items() if n in model.inputs})
    stated = kit.kind == "laboratory report" and raw.u is not None
    scale = 0.0 if stated else kit.resolution * math.sqrt(model.scale_readings / 12.0)
    sources = {name: one for name, one in inputs.items() if one.u > 0.0} | {
        "resolution": Quantity(0.0, scale, "resolution"),
        "repeatability": Quantity(0.0, 0.0 if stated else kit.sd(read)),
    }
    # A kit without any stated scatter still gets one row, which says so with a zero.
    sources = {
        n: one for n, one in sources.items() if one.u > 0.0 or (n == "resolution" and not stated)
    }

    def level(**varied: float) -> float:
        every = exact | varied
        off = every.pop("resolution", 0.0) + every.pop("repeatability", 0.0)
        dilution, diluent = every.pop("dilution"), every.pop("diluent_level")
        return undiluted(model.level(**every) + off, dilution, diluent)

    found = propagate(level, sources)
    budget = found.budget.assign(source=[IN_WORDS[name] for name in sources])
    return CombinedUncertainty(found.value, found.u, budget)


def _words(kit: Kit, model: Model, inputs: Inputs, found: CombinedUncertainty) -> list[str]:
    words = [*model.words]
    for name, one in inputs.items():
        neutral = name in ("titrant_mL", "reading", "second_mL") or (
            one.u == 0.0 and one.value == (0.0 if "blank" in name or "diluent" in name else 1.0)
        )
        if not neutral:
            spread = f" (u {one.u:.2g})" if one.u else ""
            amount = f"{one.value:.6g} {unit_of_input(name, kit)}".strip()
            words.append(f"{IN_WORDS[name].capitalize()}: {amount}{spread}.")
    if kit.resolution <= 0.0:
        words.append(
            "The kit's resolution is not written, so the uncertainty may be too small: add it."
        )
    if kit.sd_is_default:
        words.append("The repeatability is the usual one of such kits, not this kit's own.")
    words.append(f"Level {found.value:.5g} {kit.unit}, u {found.u:.2g} {kit.unit}.")
    return words


def _finished(
    kit: Kit, raw: RawReading, found: CombinedUncertainty, words: list[str], inputs: Inputs
) -> TestResult:
    level, u = found.value, found.u
    if level <= 0.0 and kit.kind == "back titration":
        raise InputError(
            "less titrant than the precipitant alone would take",
            f"a level of {level:.3g} {kit.unit}",
            "This is past the zero point. The titrant is weak, or there was more or stronger "
            "precipitant than stated. It never means that none is present: test a standard.",
        )
    if level < -2.0 * u:
        raise InputError(
            "a reading above the blank",
            f"a level of {level:.3g} {kit.unit}",
            "The blank may be too large, or two readings were swapped: test pure water again.",
        )
    limit = raw.limit
    if level <= 0.0 and limit != ">":
        level, limit = max(level + 2.0 * u, kit.resolution * inputs["dilution"].value), "<"
        words.append(f"Nothing was seen: the level is below {level:.3g} {kit.unit}.")
    return TestResult(
        level, math.nan if limit else u, kit.unit, limit, math.nan, found.budget, tuple(words)
    )


def _colour_result(kit: Kit, raw: RawReading) -> TestResult:
    dilution = _dilution(kit, raw)

    def sample(level: float) -> float:
        return undiluted(level, dilution, raw.diluent_level)

    _, levels = sorted_chart(kit.chart)
    if raw.limit:
        end = sample(float(min(levels) if raw.limit == "<" else max(levels)))
        which = "below the lowest" if raw.limit == "<" else "above the highest"
        words = f"The colour is {which} step: {raw.limit} {end:.4g} {kit.unit}."
        return TestResult(end, math.nan, kit.unit, raw.limit, steps_in_words=(words,))
    found = level_from_colour(needed_reading(raw, "the colour step"), kit.chart, raw.second)
    level, low, high = (sample(x) for x in (found.level, found.low, found.high))
    between = raw.second is not None and raw.second != raw.reading
    middle = (found.low + found.high) / 2.0 if between else found.level
    parts = {"colour step": found.u * dilution, "repeatability": kit.sd(middle) * dilution}
    u = math.hypot(*parts.values())
    budget = pd.DataFrame(
        {
            "source": list(parts),
            "value": [sample(middle), 0.0],
            "u": list(parts.values()),
            "sensitivity": 1.0,
            "contribution": list(parts.values()),
            "share": [part**2 / u**2 for part in parts.values()],
            "distribution": ["rectangular", "normal"],
        }
    )
    words = f"The colour says {low:.4g} to {high:.4g} {kit.unit}."
    limit: Limit = "between" if between else ""
    if level <= 0.0:
        # The lowest step of the card is zero: the colour can only say "less than this".
        return TestResult(high, math.nan, kit.unit, "<", math.nan, budget, (words,))
    return TestResult(level, u, kit.unit, limit, high if between else math.nan, budget, (words,))
