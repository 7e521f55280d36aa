"""How the waters of a study are mixed: cup by cup, from one water, a solution and thinning water."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.bench.spikes import spike_mL_for
from reef_calc.bench.standards import StandardWater
from reef_calc.bench.weighing import check_above_zero, check_not_negative
from reef_calc.chem.salts import LABEL_FIRST
from reef_calc.compare.difference_words import plain
from reef_calc.errors import InputError
from reef_calc.log.studies import StoredStudy

# Less than this is not measured well with a syringe (common practice, no source).
_LEAST_mL = 0.1


@dataclass(frozen=True)
class CupMix:
    """What goes into one cup.

    Attributes
    ----------
    code : str
        What stands on the cup.
    level : float or None
        Level it comes to (unit of the study); None for the water as it is.
    water_mL, thinning_mL, solution_mL : float
        Volumes (mL) of the water, of thinning water, and of the solution; they add up to the cup.
    sentence : str
        What to do.
    """

    code: str
    level: float | None
    water_mL: float
    thinning_mL: float
    solution_mL: float
    sentence: str


def cups_to_mix(
    study: StoredStudy,
    *,
    water_level: float,
    cup_mL: float,
    solution: StandardWater | None = None,
    thinning_level: float = 0.0,
) -> tuple[tuple[CupMix, ...], tuple[str, ...]]:
    """Return what goes into each cup of a study, and the cautions.

    Above the water: Vs = Vw·rise/(Cs − Cw − rise), scaled to the cup. Below: a share
    (C − Ct)/(Cw − Ct) of the water, filled up with thinning water of level Ct.

    Parameters
    ----------
    study : StoredStudy
        The study.
    water_level : float
        Level of the water that all cups are mixed from, above 0 (unit of the study).
    cup_mL : float
        Volume of each cup (mL), enough for all its tests.
    solution : StandardWater, optional
        Solution for the levels above the water, in the unit of the study.
    thinning_level : float, optional
        Level of the thinning water (unit of the study), below the lowest cup.

    Returns
    -------
    tuple of CupMix
        By level; cups of one level are mixed each for itself.
    tuple of str
        Cautions.

    Raises
    ------
    InputError
        If a level lies above the water and there is no solution, or below the thinning water, the
        units differ, or a volume is too small to be measured.

    Notes
    -----
    What the water itself holds need not be known well for the difference of two kits: both read the
    same cup. Each kit's own recovery needs the steps between the levels, not the lowest level.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> from reef_calc.log.studies import Cup, Test
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "nitrate", "mg/L", "A", "B", made, 1, "each pair", None,
    ...     (Test("K7", "A", 1),), (Cup("K7", 12.0, 1, 1), Cup("C2", 4.0, 1, 1)))
    >>> cups, cautions = cups_to_mix(study, water_level=8.0, cup_mL=100.0,
    ...     solution=stated_stock("nitrate", 1000.0, "mg/L", 5.0))
    >>> [cup.sentence for cup in cups]
    ['Cup C2, 4 mg/L: 50 mL of the water, 50 mL of thinning water.',
     'Cup K7, 12 mg/L: 99.6 mL of the water, 0.403 mL of the solution.']

    References
    ----------
    Mass balance; no source needed.
    """
    check_above_zero("the level of the water", water_level)
    check_above_zero("the volume of a cup (mL)", cup_mL)
    check_not_negative("the level of the thinning water", thinning_level)
    if solution is not None and (solution.element, solution.unit) != (study.element, study.unit):
        raise InputError(
            f"a solution of {study.element} in {study.unit}",
            f"{solution.element} in {solution.unit}",
            "State its level in the unit of the study.",
            "solution",
        )
    mixed = [
        _cup(cup.code, cup.level, study.unit, water_level, cup_mL, solution, thinning_level)
        for cup in sorted(study.cups, key=lambda one: (one.level or 0.0, one.water))
    ]
    cautions = [
        "Whoever mixes the cups does not read the kits, or turns the key face down meanwhile.",
        "Tested water goes nowhere near the tank.",
    ]
    if any(one.solution_mL for one in mixed):
        cautions = [*(solution.cautions if solution is not None else (LABEL_FIRST,)), *cautions]
    if any(one.thinning_mL for one in mixed):
        cautions.insert(
            0,
            "Thin with water of the same salinity that holds none of the element. Purified water "
            "alone makes another water of it, and a kit may read that differently.",
        )
    return tuple(mixed), tuple(dict.fromkeys(cautions))


def _cup(
    code: str,
    level: float | None,
    unit: str,
    water_level: float,
    cup_mL: float,
    solution: StandardWater | None,
    thinning_level: float,
) -> CupMix:
    where = f"cup {code}"
    water, thinning, added = cup_mL, 0.0, 0.0
    if level is not None and level > water_level:
        if solution is None:
            raise InputError(
                "a solution for the levels above the water",
                f"{plain(level)} {unit} from water of {plain(water_level)} {unit}",
                "State a solution of known strength.",
                where,
            )
        ratio = spike_mL_for(level - water_level, water_level, solution, 1.0)
        added = cup_mL * ratio / (1.0 + ratio)
        water = cup_mL - added
        _measurable(added, where, "Take larger cups or a weaker solution.")
    elif level is not None and level < water_level:
        if not thinning_level < level:
            raise InputError(
                f"thinning water below {plain(level)} {unit}",
                f"{plain(thinning_level)} {unit}",
                "Thin with water that holds less of the element.",
                where,
            )
        water = cup_mL * (level - thinning_level) / (water_level - thinning_level)
        thinning = cup_mL - water
        _measurable(min(water, thinning), where, "Take larger cups or another water.")
    parts = [f"{plain(water, 3)} mL of the water"]
    parts += [f"{plain(thinning, 3)} mL of thinning water"] if thinning else []
    parts += [f"{plain(added, 3)} mL of the solution"] if added else []
    name = "as it is" if level is None else f"{plain(level, 6)} {unit}"
    return CupMix(
        code, level, water, thinning, added, f"Cup {code}, {name}: {', '.join(parts)}."
    )  # fmt: skip


def _measurable(volume_mL: float, where: str, repair: str) -> None:
    if volume_mL < _LEAST_mL:
        raise InputError(
            f"parts of {_LEAST_mL:g} mL or more", f"{plain(volume_mL, 2)} mL", repair, where
        )
