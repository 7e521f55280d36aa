"""What a study of the log says, judged by its own rule."""

from __future__ import annotations

from reef_calc.compare.comparison import Comparison, compare_pairs
from reef_calc.compare.study_design import AWAY
from reef_calc.compare.study_pairs import pairs_from_study
from reef_calc.errors import InputError
from reef_calc.log.studies import StoredStudy
from reef_calc.log.tank import Tank


def compare_study(
    tank: Tank, study: StoredStudy, *, sd_a: float | None = None, sd_b: float | None = None
) -> Comparison:
    """Return what the readings of a study say, at the bound that looking often needs.

    Parameters
    ----------
    tank : Tank
        The tank.
    study : StoredStudy
        The study; with set levels it answers at the usual one and at 25 % below and above it.
    sd_a, sd_b : float, optional
        Typed standard deviation of one reading of each kit (unit of the study).

    Returns
    -------
    Comparison
        With a verdict where the study has an allowed difference.

    Raises
    ------
    InputError
        If no water was read with both kits yet, or only one.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.studies import Cup, Test
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1, "each pair", 0.3,
    ...     (Test("K7", "A", 1), Test("K7", "B", 1)), (Cup("K7", 8.2, 1, 1),))
    >>> compare_study(example_tank(), study)
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: readings.csv: needed readings of the study spring, given “none”.
    Write them with the water “study spring LEVEL”.
    """
    pairs = pairs_from_study(tank, study.name, study.kit_a, study.kit_b)
    if pairs.n < 2:
        raise InputError(
            "two waters read with both kits",
            "one so far",
            "Go on with the list of the study.",
            f"study {study.name}",
        )
    usual = study.usual
    levels = () if usual is None else tuple(usual * one for one in (1 - AWAY, 1.0, 1 + AWAY))
    return compare_pairs(
        pairs,
        allowed=study.allowed,
        levels=levels,
        sd_a=sd_a,
        sd_b=sd_b,
        planned=None if study.allowed is None else max(len(study.cups), 2),
        rule=study.rule,  # type: ignore[arg-type]
    )
