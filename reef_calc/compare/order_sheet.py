"""The order of a study's tests: blocks of every level, codes on the cups, kits in random order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
import pandas as pd

from reef_calc.compare.study_design import Design
from reef_calc.compare.study_levels import levels_off_the_grid
from reef_calc.errors import InputError
from reef_calc.log.studies import Cup, StoredStudy, Test, check_study_name

# Letters and digits that are not mistaken for one another on a wet cup.
_LETTERS = "ACDEFHJKLMNPRTUVWXY"
_DIGITS = "23456789"
MOST_CUPS = 100


def plan_study(
    name: str,
    design: Design,
    *,
    element: str,
    unit: str,
    kit_a: str,
    kit_b: str,
    usual: float | None,
    made: dt.datetime,
    seed: int,
    resolution: float = 0.0,
    allowed: float | None = None,
    rule: str = "each pair",
) -> StoredStudy:
    """Return a study with the order of its tests and the key to its cups.

    Each block holds every level once, in random order. Both kits read a cup one after the other;
    which comes first is drawn so that each comes first in half of the cups, and replicates run
    A, B, B, A. The same seed gives the same study.

    Parameters
    ----------
    name : str
        Name of the study.
    design : Design
        Levels, waters and replicates.
    element, unit : str
        Element and unit.
    kit_a, kit_b : str
        The kits; differences are B − A.
    usual : float or None
        Usual level (unit), needed where levels are set.
    made : datetime.datetime
        Present time, with a zone.
    seed : int
        Seed of the order, a whole number (count) of 0 or more.
    resolution : float, optional
        Step of the coarser scale (unit); above 0, the levels are spread over its steps.
    allowed : float, optional
        Allowed difference (unit).
    rule : {"each pair", "four looks", "at the end"}, optional
        When it will be looked at.

    Returns
    -------
    StoredStudy
        To be stored and tested in its order.

    Raises
    ------
    InputError
        If the kits are the same, levels are set without a usual one, there are more than 100 cups,
        or a name or number cannot be used.

    Examples
    --------
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = plan_study("spring", Design((0.5, 1.0, 1.5), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=8.0, made=made, seed=7)
    >>> len(study.tests), sorted(cup.level for cup in study.cups)
    (12, [4.0, 4.0, 8.0, 8.0, 12.0, 12.0])

    References
    ----------
    Randomised blocks: *common practice, no source*.
    """
    _check(design, kit_a, kit_b, usual, made, seed)
    draw = np.random.default_rng(seed)
    levels = _levels(design, usual, resolution)
    waters = [
        (level, water, block) for block, level, water in _in_blocks(design, levels, draw)
    ]  # fmt: skip
    codes = _codes(len(waters), draw)
    a_first = draw.permutation(np.arange(len(waters)) % 2 == int(draw.integers(2)))
    cups, tests = [], []
    for code, (level, water, block), first in zip(codes, waters, a_first, strict=True):
        cups.append(Cup(code, level, water, block))
        pair = (kit_a, kit_b) if first else (kit_b, kit_a)
        for replicate in range(1, design.replicates + 1):
            order = pair if replicate % 2 else pair[::-1]
            tests += [Test(code, kit, replicate) for kit in order]
    return StoredStudy(
        check_study_name(name), element, unit, kit_a, kit_b, made, seed, rule, allowed,
        tuple(tests), tuple(sorted(cups, key=lambda cup: cup.code)), usual if design.is_line else None,
    )  # fmt: skip


def _check(
    design: Design,
    kit_a: str,
    kit_b: str,
    usual: float | None,
    made: dt.datetime,
    seed: int,
) -> None:
    if kit_a == kit_b:
        raise InputError("two different kits", kit_a, "Choose another one.", "kits of the study")
    if design.is_line and (usual is None or not 0.0 < usual < np.inf):
        raise InputError(
            "the usual level, above 0", usual, "Type the level you keep.", "usual level"
        )
    if design.n > MOST_CUPS:
        raise InputError(
            f"{MOST_CUPS} cups or fewer", design.n, "Plan fewer waters.", "design of the study"
        )
    if made.tzinfo is None:
        raise InputError("a time with its zone", made, "Use the tank's zone.", "made")
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise InputError("a whole number of 0 or more", seed, "Take any.", "seed of the order")


def _levels(design: Design, usual: float | None, resolution: float) -> list[float | None]:
    if not design.is_line or usual is None:
        return [None] * len(design.levels)
    wanted = [share * usual for share in design.levels]
    # Six digits are what is written into the log, so that both say the same.
    return [float(f"{one:.6g}") for one in levels_off_the_grid(wanted, resolution)]


def _in_blocks(
    design: Design, levels: Sequence[float | None], draw: np.random.Generator
) -> list[tuple[int, float | None, int]]:
    found = []
    for block in range(1, design.waters + 1):
        for position in draw.permutation(len(levels)):
            found.append((block, levels[int(position)], block))
    return found


def _codes(count: int, draw: np.random.Generator) -> list[str]:
    every = [letter + digit for letter in _LETTERS for digit in _DIGITS]
    return [str(code) for code in draw.choice(every, size=count, replace=False)]


def order_table(study: StoredStudy, done: Sequence[Test] = ()) -> pd.DataFrame:
    """Return the list to test from: cups and kits in their order, levels hidden.

    Parameters
    ----------
    study : StoredStudy
        The study.
    done : sequence of Test, optional
        Tests already read.

    Returns
    -------
    pandas.DataFrame
        ``number`` (from 1), ``block``, ``cup``, ``kit``, ``replicate``, ``done``.

    Examples
    --------
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = plan_study("spring", Design((1.0,), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=None, made=made, seed=7)
    >>> order_table(study, done=study.tests[:1])["done"].tolist()
    [True, False, False, False]
    """
    read = set(done)
    rows = [
        {
            "number": number,
            "block": study.cup(test.code).block,
            "cup": test.code,
            "kit": test.kit,
            "replicate": test.replicate,
            "done": test in read,
        }
        for number, test in enumerate(study.tests, start=1)
    ]
    return pd.DataFrame(rows)


def key_table(study: StoredStudy) -> pd.DataFrame:
    """Return what is in the cups, for whoever mixes them and not for whoever reads the kits.

    Parameters
    ----------
    study : StoredStudy
        The study.

    Returns
    -------
    pandas.DataFrame
        ``level`` (unit of the study, missing for water as it is), ``water``, ``cup``, ``block``; by
        level.

    Examples
    --------
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = plan_study("spring", Design((0.5, 1.5), 1), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=8.0, made=made, seed=7)
    >>> key_table(study)["level"].tolist()
    [4.0, 12.0]
    """
    rows = [
        {"level": cup.level, "water": cup.water, "cup": cup.code, "block": cup.block}
        for cup in study.cups
    ]
    return pd.DataFrame(rows).sort_values(["level", "water"], ignore_index=True)


def next_test(study: StoredStudy, done: Sequence[Test]) -> Test | None:
    """Return the test that comes next, or None when all are read.

    Parameters
    ----------
    study : StoredStudy
        The study.
    done : sequence of Test
        Tests already read.

    Returns
    -------
    Test or None
        The first of the order that is not read.

    Examples
    --------
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = plan_study("spring", Design((1.0,), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=None, made=made, seed=7)
    >>> next_test(study, study.tests[:3]) == study.tests[3], next_test(study, study.tests)
    (True, None)
    """
    read = set(done)
    return next((test for test in study.tests if test not in read), None)
