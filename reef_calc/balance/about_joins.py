"""Sentences about a history that was joined across kits: its scale, and what it does to the use."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.balance.history_fit import fit_record
from reef_calc.balance.joined_scale import JoinedScale, JoinFound
from reef_calc.balance.kit_joins import Group, group_name
from reef_calc.balance.rate_now import NowFit
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import MEASURED_SD_WORTH, SteadyUse
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

# A share of the use's interval, in variance, from which a join is what limits it.
LIMITS = 0.25
SURPRISING_SDS = 2.5
AROUND_DAYS = 60.0


def about_joins(
    tank: Tank, fit: NowFit, e: ConsumptionEstimate, steady: SteadyUse
) -> list[Message]:
    """Return what is said of stored joins beside a rate.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    fit : NowFit
        The fitted record.
    e : ConsumptionEstimate
        The estimate, with ``joined``.
    steady : SteadyUse
        Fit of the window since the last believed change.

    Returns
    -------
    list of Message
        JOINED, JOIN_USE, JOIN_ONE_SIDED, JOIN_DISAGREES, JOIN_UNUSED; none without joins.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> use = estimate_consumption(example_tank(), "alkalinity")
    >>> [m.code for m in use.messages if m.code.startswith("JOIN")]
    []
    """
    used = {join.stored for join in fit.record.joins}
    found = [
        Message(
            "JOIN_UNUSED",
            f"The join of {group_name((one.kit, one.lot))} and "
            f"{group_name((one.relative_to_kit, one.relative_to_lot))} in joins.toml is not used: "
            f"one of them has no {one.element} readings here, or both are joined already.",
            "qualified",
        )
        for one in tank.joins
        if one.element == e.element and one not in used
    ]
    if e.joined is None:
        return found
    found += [Message("JOINED", text) for text in scale_sentences(e.joined, e.unit)]
    for join in e.joined.joins:
        found += _one_sided(fit, join) + (_disagrees(fit, join, e.unit) or _step_there(e, join))
    return found + _on_the_use(fit, e, steady, e.joined)


def scale_sentences(joined: JoinedScale, unit: str) -> list[str]:
    """Return, for each other kit, how its readings are taken to the scale of the kit in use.

    Parameters
    ----------
    joined : JoinedScale
        Scale of the kit in use.
    unit : str
        Unit of the levels.

    Returns
    -------
    list of str
        Sentences.

    Examples
    --------
    >>> from reef_calc.balance.joined_scale import Moved
    >>> moved = (Moved(("kit A", ""), 0.302, 0.171),)
    >>> print(scale_sentences(JoinedScale(("kit B", ""), (), moved), "dKH")[0])
    Readings with kit A are taken to the scale of kit B: +0.30 ± 0.17 dKH. They may be wrong by that
    much as a whole; their shape is not affected.
    """
    return [
        f"Readings with {group_name(one.group)} are taken to the scale of "
        f"{group_name(joined.in_use)}: {signed(one.shift, one.half)} ± "
        f"{fixed(one.half, decimals_for(one.half))} {unit}. They may be wrong by that much as a "
        "whole; their shape is not affected."
        for one in joined.moved
        if one.by_join
    ]


def signed(value: float, half: float) -> str:
    """Return a difference with its sign, to the decimals of its uncertainty.

    Parameters
    ----------
    value, half : float
        Difference and half its interval, one unit.

    Returns
    -------
    str
        Such as "+0.30"; no sign where it rounds to 0.

    Examples
    --------
    >>> signed(0.302, 0.171), signed(-0.004, 0.2)
    ('+0.30', '0.00')
    """
    text = fixed(abs(value), decimals_for(half))
    if not text.strip("0."):
        return text
    return f"{'+' if value > 0 else '−'}{text}"


def _one_sided(fit: NowFit, join: JoinFound) -> list[Message]:
    if join.overlap or join.u is not None:
        return []
    s, zone = fit.record.sessions, fit.record.zone
    groups: list[Group] = list(zip(s["kit"], s["lot"], strict=True))
    both = [(t, g) for t, g in zip(s["time"], groups, strict=True) if g in (join.new, join.old)]
    turn = next(((a[0], b[0]) for a, b in pairwise(both) if a[1] != b[1]), None)
    if turn is None:
        return []
    first, last = (day_text(t, zone) for t in turn)
    between = f"on {first}" if first == last else f"between {first} and {last}"
    return [
        Message(
            "JOIN_ONE_SIDED",
            f"{group_name(join.new)} and {group_name(join.old)} were never in use together. Their "
            f"difference holds only if nothing unlogged was added or changed {between}. A few tests "
            "with both would settle it.",
            "qualified",
        )
    ]


def _disagrees(fit: NowFit, join: JoinFound, unit: str) -> list[Message]:
    """Say so where the log alone, around the change, tells another difference than what was stored."""
    if join.expected is None or join.u is None:
        return []
    alone = _log_alone(fit, join)
    if alone is None:
        return []
    middle, half = alone
    stated = HALF_WIDTH * join.u
    if abs(middle - join.expected) <= SURPRISING_SDS * math.hypot(join.u, half / HALF_WIDTH):
        return []
    return [
        Message(
            "JOIN_DISAGREES",
            f"Stored was that {group_name(join.new)} reads {signed(join.expected, stated)} ± "
            f"{fixed(stated, decimals_for(stated))} {unit} against {group_name(join.old)}; the "
            f"tank's readings alone say {signed(middle, half)} ± "
            f"{fixed(half, decimals_for(half))}. An unlogged dose at the change would do that, and so "
            "would a wrong difference: test one water with both kits, or a standard.",
            "qualified",
        )
    ]


def _log_alone(fit: NowFit, join: JoinFound) -> tuple[float, float] | None:
    """Return the difference, and half its interval, from the readings around the change alone."""
    record = fit.record
    at = float(days(join.start))
    near = np.abs(record.sessions["day"].to_numpy(float) - at) <= AROUND_DAYS
    asked = next(one for one in record.joins if (one.new, one.old) == (join.new, join.old))
    others = tuple(replace(one, mean=None, u=None) if one is asked else one for one in record.joins)
    around = replace(record, sessions=record.sessions[near].reset_index(drop=True), joins=others)
    both = set(zip(around.sessions["kit"], around.sessions["lot"], strict=True))
    if not {join.new, join.old} <= both:
        return None
    try:
        steady, _, _ = fit_record(around, MEASURED_SD_WORTH)
    except CannotTellError:
        return None
    middle, low, high = steady.factor(asked.name)
    return middle, (high - low) / 2


def _step_there(e: ConsumptionEstimate, join: JoinFound) -> list[Message]:
    """Say so where the level steps at the change of kits even with their difference taken out."""
    day = pd.Timedelta(days=1)
    steps = [
        f
        for f in e.findings
        if f.kind == "level step"
        and f.decision != "rejected"
        and f.start - day <= join.start <= f.stop + day
    ]
    if not steps:
        return []
    return [
        Message(
            "JOIN_DISAGREES",
            f"The level steps where {group_name(join.new)} took over, even with the kits' difference "
            "taken out. An unlogged dose would do that, and so would a wrong difference: test one "
            "water with both kits, or a standard.",
            "qualified",
        )
    ]


def _on_the_use(
    fit: NowFit, e: ConsumptionEstimate, steady: SteadyUse, joined: JoinedScale
) -> list[Message]:
    """Say how much of the use's interval the joins make, or that they hardly touch it."""
    names = [join.name for join in fit.record.joins if join.name in steady.names]
    if e.rate is None or e.low is None or e.high is None or e.rate <= 0 or not joined.joins:
        return []
    size = joins_on_use(steady, names)
    half = (e.high - e.low) / 2
    percent = 100 * size / e.rate
    days = [day_text(join.start, e.zone) for join in sorted(joined.joins, key=lambda j: j.start)]
    changed = " and ".join(dict.fromkeys(days))
    head = f"The kit changed on {changed}."
    if size**2 > LIMITS * half**2:
        helps = (
            f" until the new water has been read with {group_name(joined.in_use)}"
            if joined.in_use not in fit.record.new_water.by_change
            and len(fit.record.new_water.levels)
            else ""
        )
        return [
            Message(
                "JOIN_USE",
                f"{head} The use is not known better than ± {_percent(100 * half / e.rate)} of its "
                f"value{helps}; the kits' difference alone makes ± {_percent(percent)}.",
                "qualified",
            )
        ]
    if percent < 0.1:
        return [
            Message(
                "JOIN_USE", f"{head} That moves the use per day by less than 0.1 % of its value."
            )
        ]
    return [
        Message(
            "JOIN_USE",
            f"{head} What is not known of the kits' difference moves the use per day by no more than "
            f"{_percent(percent)} of its value.",
        )
    ]


def joins_on_use(steady: SteadyUse, names: list[str]) -> float:
    """Return half the 95 % interval that joins alone bring to the use.

    1.96·√(c′·S⁻¹·c) with S the covariance of the joins' factors and c theirs with the use.

    Parameters
    ----------
    steady : SteadyUse
        A fit with the joins among its factors.
    names : list of str
        Names of the joins.

    Returns
    -------
    float
        Unit per day.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> V = np.array([[[1, 0, 0], [0, 0.04, 0.03], [0, 0.03, 0.09]]])
    >>> fit = S(names=("start", "use", "join B and A"), weights=np.ones(1), covariances=V)
    >>> round(joins_on_use(fit, ["join B and A"]), 3)  # 1.96 × 0.03 / 0.3
    0.196
    """
    if not names:
        return 0.0
    at = [steady.names.index(name) for name in names]
    V = np.einsum("m,mij->ij", steady.weights, steady.covariances)
    c = V[1, at]
    return float(HALF_WIDTH * math.sqrt(max(c @ np.linalg.solve(V[np.ix_(at, at)], c), 0.0)))


def _percent(value: float) -> str:
    return f"{value:.0f} %" if value >= 10 else f"{math.ceil(10 * value - 1e-9) / 10:.1f} %"
