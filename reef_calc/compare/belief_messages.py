"""What limits a belief in kits, and what would make it clearer."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence

import pandas as pd

from reef_calc.bench.lot_check import LotCheck
from reef_calc.compare.belief import KitBelief, KitsApart
from reef_calc.compare.belief_words import readings_that_decide
from reef_calc.compare.bias_together import BiasTogether
from reef_calc.compare.lot_words import capital, counted
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

_LONG_AGO_DAYS = 28
# At 99 %: a difference between standard and tank water is worth a word only when it is hardly chance.
_MATRIX = 2.576
_FAR_LEVEL = 0.2


def belief_messages(
    tank: Tank,
    beliefs: Sequence[KitBelief],
    pairs: Sequence[KitsApart],
    rows: pd.DataFrame,
    used: pd.DataFrame,
    judged: Mapping[str, tuple[str, LotCheck | None, str]],
    unit: str,
    today: dt.date,
) -> tuple[Message, ...]:
    """Return what limits a belief in kits.

    Parameters
    ----------
    tank : Tank
        The tank.
    beliefs : sequence of KitBelief
        The kits.
    pairs : sequence of KitsApart
        Every two of them.
    rows, used : pandas.DataFrame
        Readings of standards of all kits, and those that are compared (``unit``).
    judged : mapping of str to tuple
        By kit: lot, check, why it cannot be judged.
    unit : str
        Unit.
    today : datetime.date
        Present day.

    Returns
    -------
    tuple of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> empty = pd.DataFrame({"kit": [], "standard": [], "level": []})
    >>> belief_messages(example_tank(), [], [], empty, empty, {}, "dKH", dt.date(2026, 3, 1))
    ()
    """
    told: list[Message] = []
    for one in beliefs:
        if one.bias is None:
            told.append(Message("NO_STANDARD", one.refusal, "refused"))
            continue
        of_kit = used.loc[used["kit"] == one.kit, "standard"]
        told += _of_kit(
            tank, one, judged[one.kit][1], unit, today, int((of_kit == of_kit.iloc[-1]).sum())
        )
    told += [message for pair in pairs for message in _water_and_standard(pair, unit)]
    if used.empty:
        return tuple(told)
    lots = {one.kit: one.lot for one in beliefs}
    mine = rows[[lots[k] == lot for k, lot in zip(rows["kit"], rows["lot"], strict=True)]]
    others = mine[~mine["row"].isin(used["row"])]
    if len(others):
        names = ", ".join(dict.fromkeys(others["standard"]))
        told.append(Message(
            "OTHER_LEVELS", f"Standards of another level ({names}) do not enter here.", "told"
        ))  # fmt: skip
    bottles = list(dict.fromkeys(used["standard"]))
    told.append(Message(
        "SCALE", f"High and low are against {' and '.join(bottles)}, as far as what is written of "
        f"{'it' if len(bottles) == 1 else 'them'} is true.", "told",
    ))  # fmt: skip
    told.append(Message(
        "MATRIX", "A standard in purified water is not sea water. What it shows of a kit need not hold in "
        "the tank.", "qualified",
    ))  # fmt: skip
    return tuple(told)


def _of_kit(
    tank: Tank,
    one: KitBelief,
    check: LotCheck | None,
    unit: str,
    today: dt.date,
    of_last_bottle: int,
) -> list[Message]:
    told: list[Message] = []
    name = capital(one.name)
    if of_last_bottle >= one.most_readings and one.u_standard > 0:
        half = 1.96 * one.u_standard
        told.append(Message(
            "FLOOR", f"{name}: more readings of the same bottle hardly help. ± "
            f"{fixed(half, decimals_for(half))} {unit} comes from the standard itself and stays. Another "
            "bottle, weighed on its own, would narrow it.", "qualified",
        ))  # fmt: skip
    if one.last is not None:
        day = one.last.tz_convert(tank.zone).date()
        ago = (today - day).days
        if ago > _LONG_AGO_DAYS and one.per_quarter is None:
            told.append(Message(
                "DRIFT_UNKNOWN", f"{name} was last read on a standard on {day}, {ago} days ago. How far it "
                "has drifted since is not known and not in the numbers.", "qualified",
            ))  # fmt: skip
        elif one.per_quarter:
            kit_unit = one.checks.kit.unit if one.checks is not None else unit
            told.append(Message(
                "DRIFT", f"{name}: lots of this kit drift by about "
                f"{fixed(one.per_quarter, decimals_for(one.per_quarter))} {kit_unit} in 90 days. What may "
                f"have drifted since {day} is in the interval.", "told",
            ))  # fmt: skip
    for caution in check.cautions if check is not None else ():
        if caution.code not in ("NOT_SHOWN", "ODD_SLOPE"):
            told.append(Message(caution.code, f"{name}: {caution.text}", caution.kind))
    if one.checks is not None:
        if one.checks.stored.get(one.lot) is not None:
            told.append(Message(
                "AS_READ", f"{name} has a stored correction. Here it counts as read, without it.", "told"
            ))  # fmt: skip
        told.append(Message("NEXT_STANDARD", f"{name}: {one.checks.next.headline}", "told"))
    return told


def _water_and_standard(pair: KitsApart, unit: str) -> list[Message]:
    """Say when two kits differ otherwise in the tank's water than on the standard."""
    if pair.on_standard is None or pair.on_waters is None:
        return []
    value, low, high = pair.on_waters
    u = math.hypot(pair.on_standard.u, (high - low) / (2 * 1.96))
    between = value - pair.on_standard.value
    if u == 0.0 or abs(between) <= _MATRIX * u:
        return []
    decimals = decimals_for(u)
    told = (
        f"{capital(pair.other)} less {pair.one} is {fixed(value, decimals)} {unit} in the tank's water and "
        f"{fixed(pair.on_standard.value, decimals)} {unit} on the standard. That is more than chance. The "
        "standard's water is not like the tank's for one of them, so it does not tell which to believe in "
        "the tank."
    )
    return [Message("MATRIX_SHOWN", told, "qualified")]


def help_words(
    beliefs: Sequence[KitBelief],
    pairs: Sequence[KitsApart],
    together: BiasTogether | None,
    level: float | None,
    unit: str,
) -> str:
    """Return what would make it clearer.

    Parameters
    ----------
    beliefs : sequence of KitBelief
        The kits.
    pairs : sequence of KitsApart
        Every two of them.
    together : BiasTogether or None
        Their biases.
    level : float or None
        Level of the standards (``unit``).
    unit : str
        Unit.

    Returns
    -------
    str
        One or two sentences; empty where nothing is missing.

    Examples
    --------
    >>> help_words([], [], None, None, "dKH")
    ''
    """
    without = [one.name for one in beliefs if one.bias is None]
    if without:
        near = (
            "near the level you keep"
            if level is None
            else f"of {fixed(level, _decimals(level))} {unit}"
        )
        same = "the same standard" if len(beliefs) > 1 else "a standard"
        return f"Read {same} {near}, three times on different days, with {' and '.join(without)}."
    for pair in pairs:
        if pair.nearer or together is None or pair.on_standard is None:
            continue
        one, other = (next(b for b in beliefs if b.name == name) for name in (pair.one, pair.other))
        needed = []
        for sign in (-1.0, 1.0):
            weights = {other.name: 1.0, one.name: sign}
            contrast = together.contrast(weights)
            w = [weights.get(name, 0.0) for name in together.names]
            stays = math.sqrt(max(float(pd.Series(w) @ together.standard @ pd.Series(w)), 0.0))
            needed.append(readings_that_decide(contrast, stays, min(one.readings, other.readings)))
        more = [n for n in needed if n]
        if None in needed or not more:
            return (
                f"If {one.name} and {other.name} lie as they seem to, more readings of the same bottle will "
                "not tell which is nearer. Another bottle, weighed on its own, may."
            )
        return (
            f"If {one.name} and {other.name} lie as they seem to, {counted(max(more), 'further reading')} of "
            "the standard with each would tell which is nearer."
        )
    return ""


def _decimals(level: float) -> int:
    return 1 if level < 50 else 0
