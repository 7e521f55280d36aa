"""Which of several kits to believe: what standards say of each, and what they cannot say."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from reef_calc.chem.elements import element as element_named
from reef_calc.chem.units import check_unit, convert
from reef_calc.compare.belief import Belief, KitBelief, KitsApart
from reef_calc.compare.belief_messages import belief_messages, help_words
from reef_calc.compare.belief_words import differ_words, nearer_words, on_standard_words
from reef_calc.compare.bias_together import BiasTogether, biases_together
from reef_calc.compare.kit_names import kit_label
from reef_calc.compare.lot_table import lot_table
from reef_calc.compare.lots_in_log import lots_in_log
from reef_calc.compare.standards_of_kits import (
    days_since,
    judged_lot,
    one_level,
    over_time,
    standards_in_unit,
)
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.history import tank_readings
from reef_calc.log.kit_checks import KitChecks, kit_checks
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

_RECENT = 20
_OF_WATERS = ("COARSE", "OUTLIER", "SCATTER", "FEW")
Difference = tuple[float, float, float]


def which_to_believe(
    tank: Tank,
    element: str,
    kits: Sequence[str],
    unit: str | None = None,
    *,
    lots: Mapping[str, str] | None = None,
    differences: Mapping[tuple[str, str], Difference] | None = None,
    today: dt.date | None = None,
) -> Belief:
    """Return which kit lies nearer to the standards, how far each is off, and what would tell more.

    Biases of the lots in use by generalised least squares on the bottles they share; one kit lies
    nearer when the difference and the sum of two biases both exclude 0.

    Parameters
    ----------
    tank : Tank
        The tank.
    element : str
        Element.
    kits : sequence of str
        Names of kits; two or more to compare, one to judge it alone.
    unit : str, optional
        Unit of the answer; of the tank's aim, or the element's usual one, when not given.
    lots : mapping of str to str, optional
        By kit, the lot to judge; the lot in use where not named.
    differences : mapping of (str, str) to tuple of float, optional
        By two kits, the second less the first with the ends of its 95 % interval (``unit``), as the
        whole log shows it; from waters in common where not given.
    today : datetime.date, optional
        Present day in the tank's zone; the clock's when not given.

    Returns
    -------
    Belief
        In ``unit``, as read; no stored correction is applied.

    Raises
    ------
    InputError
        If the element, the unit, a kit or a lot is unknown, or a kit is named twice.

    Notes
    -----
    Standards of one level are compared, the one most kits read. What they say holds near that level,
    and for water like the standard's. Without a standard kits only differ: none is nearer.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> which_to_believe(example_tank(), "alkalinity", ["drops"], today=dt.date(2026, 3, 1)).sentences
    ('No standard was read with drops.',)
    """
    described = element_named(element)
    aim = tank.aims.get(described.name)
    unit = check_unit(unit or (aim.unit if aim else described.display_unit), described.name)
    _check_kits(tank, described.name, kits, lots or {})
    _check_differences(differences or {}, kits, unit)
    now = dt.datetime.now(tank.zone).date() if today is None else today
    checks = {kit: _checks(tank, kit, now) for kit in kits}
    judged = {kit: judged_lot(one, (lots or {}).get(kit)) for kit, one in checks.items() if one}
    rows = pd.concat(
        [standards_in_unit(tank, one, unit) for one in checks.values() if one is not None]
        or [pd.DataFrame(columns=["kit", "lot", "level", "time", "deviation"])],
        ignore_index=True,
    )
    names = {kit: kit_label(kit, judged[kit][0] if kit in judged else "") for kit in kits}
    mine = rows[[judged[k][0] == lot for k, lot in zip(rows["kit"], rows["lot"], strict=True)]]
    used = one_level(mine, _usual_level(tank, described.name, unit))
    per_kit = {}
    for kit, one in checks.items():
        at = used[used["kit"] == kit] if len(used) else used
        level_rows = _own_level(one, at) if one is not None else None
        per_kit[kit] = (
            None if one is None or level_rows is None else over_time(tank, one, level_rows)
        )
    drifted = {
        names[kit]: _drifted(tank, checks[kit], used[used["kit"] == kit], found, unit, now)
        for kit, found in per_kit.items()
        if found is not None and len(used) and (used["kit"] == kit).any()
    }
    together = None
    if len(used):
        readings = used.assign(name=[names[kit] for kit in used["kit"]], bottle=used["standard"],
                               u=used["level_u"])  # fmt: skip
        together = biases_together(readings, drifted)
    level = float(used["level"].mean()) if len(used) else None
    beliefs = tuple(
        _belief(kit, names[kit], checks[kit], judged.get(kit), used, together, level, unit,
                per_kit[kit])
        for kit in kits
    )  # fmt: skip
    on_waters, of_waters = _on_waters(tank, described.name, unit, beliefs, differences or {})
    pairs = tuple(
        _apart(one, other, together, level, unit, on_waters.get((one.kit, other.kit)), len(kits))
        for one, other in itertools.combinations(beliefs, 2)
    )
    of_kits = [sentence for one in beliefs for sentence in one.sentences]
    sentences = tuple(dict.fromkeys([*(one.sentence for one in pairs), *of_kits]))
    return Belief(
        described.name, unit, level, beliefs, pairs, rows, sentences,
        help_words(beliefs, pairs, together, level, unit),
        belief_messages(tank, beliefs, pairs, rows, used, judged, unit, now) + of_waters,
    )  # fmt: skip


def _check_kits(tank: Tank, element: str, kits: Sequence[str], lots: Mapping[str, str]) -> None:
    of_element = [name for name, kit in tank.kits.items() if kit.element == element]
    choose = f"Choose from: {', '.join(of_element)}." if of_element else "Describe it in kits.toml."
    if not kits:
        raise InputError("one kit or more", "none", choose, "which to believe")
    read = set(tank.readings.loc[tank.readings["element"] == element, "kit"])
    for kit in kits:
        held = tank.kits.get(kit)
        if (held is None and kit not in read) or (
            held is not None and held.element not in ("", element)
        ):
            raise InputError(f"a kit for {element}", kit, choose, "which to believe")
    if len(set(kits)) < len(kits):
        raise InputError(
            "each kit once", ", ".join(kits), "Leave the second one out.", "which to believe"
        )
    for kit, lot in lots.items():
        known = {one.name for one in tank.kits[kit].lots} if kit in tank.kits else set()
        known |= set(tank.readings.loc[tank.readings["kit"] == kit, "lot"])
        if kit not in kits or lot not in known:
            raise InputError(
                f"a lot of {kit}",
                lot,
                f"Choose from: {', '.join(sorted(known))}.",
                "which to believe",
            )


def _check_differences(
    differences: Mapping[tuple[str, str], Difference], kits: Sequence[str], unit: str
) -> None:
    for pair, (value, low, high) in differences.items():
        if not set(pair) <= set(kits) or not (
            -math.inf < low < high < math.inf and low <= value <= high
        ):
            raise InputError(
                f"a difference of two of the kits with its interval ({unit})",
                f"{' and '.join(pair)}: {value:g} ({low:g} to {high:g})",
                "Give the difference, its low and its high end.", "which to believe",
            )  # fmt: skip


def _checks(tank: Tank, kit: str, today: dt.date) -> KitChecks | None:
    held = tank.kits.get(kit)
    return None if held is None or not held.unit else kit_checks(tank, kit, today)


def _usual_level(tank: Tank, element: str, unit: str) -> float | None:
    read = tank_readings(tank, element, unit)
    levels = read.loc[(read["limit"] == "") & ~read["outside"].astype(bool), "level"].tail(_RECENT)
    if len(levels):
        return float(levels.median())
    aim = tank.aims.get(element)
    if aim is None:
        return None
    return float(convert(aim.aim, aim.unit, unit, element, salinity=tank.waters[-1].salinity,
                         temperature_C=tank.waters[-1].temperature_C))  # fmt: skip


def _own_level(checks: KitChecks, used: pd.DataFrame) -> pd.DataFrame:
    """Return all lots' readings of the bottles' level that is compared, in the kit's own unit."""
    usable = checks.rows[checks.rows["aside"] == ""]
    bottles = set(used["standard"]) if len(used) else set()
    if not bottles:
        return usable.iloc[:0]
    middle = float(usable.loc[usable["standard"].isin(bottles), "level"].mean())
    return usable[(usable["level"] - middle).abs() <= 0.05 * abs(middle)]


def _drifted(
    tank: Tank,
    checks: KitChecks | None,
    used: pd.DataFrame,
    found: object,
    unit: str,
    today: dt.date,
) -> float:
    drift = getattr(found, "per_quarter", None)
    if checks is None or drift is None:
        return 0.0
    days = days_since(
        list(used["time"]), pd.Timestamp(today, tz=tank.zone) + pd.Timedelta(hours=12)
    )
    per_unit = float((used["sd"] / checks.lot(str(used["lot"].iloc[0])).sd).mean())  # type: ignore[union-attr]
    return float(drift) * per_unit * math.sqrt(days / 90.0)


def _belief(
    kit: str,
    name: str,
    checks: KitChecks | None,
    judged: tuple[str, object, str] | None,
    used: pd.DataFrame,
    together: BiasTogether | None,
    level: float | None,
    unit: str,
    found: object,
) -> KitBelief:
    own = used[used["kit"] == kit] if len(used) else used
    if judged is None:
        why = f"{kit[:1].upper()}{kit[1:]} is not described as a kit with one unit in kits.toml, so no "
        refusal = why + "standard can be read with it."
    else:
        refusal = judged[2]
        if not refusal and own.empty:
            refusal = f"{name} was read on standards of another level only."
    lot = "" if judged is None else judged[0]
    if refusal or together is None or level is None:
        return KitBelief(kit, lot, name, checks, 0, None, None, 0.0, None, math.inf, None, None,
                         refusal, (refusal,))  # fmt: skip
    bias = together.contrast({name: 1.0})
    at = together.names.index(name)
    u_standard = math.sqrt(max(float(together.standard[at, at]), 0.0))
    recovery = None
    if level > 0:
        shares = (1 + bias.value / level, 1 + bias.low / level, 1 + bias.high / level)
        recovery = shares if shares[1] > 0 else None
    s0 = math.hypot(float(own["sd"].iloc[0]), float(own["resolution"].iloc[0]) / math.sqrt(12.0))
    u_bottle = float(np.sqrt((own["level_u"] ** 2).mean()))
    most = math.inf if u_bottle == 0 else max(1.0, math.floor((s0 / u_bottle) ** 2 + 1e-9))
    return KitBelief(
        kit, lot, name, checks, len(own), own["time"].max(), bias, u_standard, recovery, most,
        getattr(found, "history", None), getattr(found, "per_quarter", None), "",
        on_standard_words(name, bias, u_standard, unit, recovery),
    )  # fmt: skip


def _on_waters(
    tank: Tank,
    element: str,
    unit: str,
    beliefs: Sequence[KitBelief],
    given: Mapping[tuple[str, str], Difference],
) -> tuple[dict[tuple[str, str], tuple[Difference, int]], tuple[Message, ...]]:
    found: dict[tuple[str, str], tuple[Difference, int]] = {}
    try:
        read = lots_in_log(tank, element, unit, by="lot").readings
    except CannotTellError:
        read = None
    table = None
    if read is not None:
        names = [one.name for one in beliefs]
        own = read[read["lot"].isin(names) & ~read["water"].str.startswith("standard ")]
        if len(own) and own.groupby("water")["lot"].nunique().max() > 1:
            table = lot_table(own, by="lot", unit=unit)
    for one, other in itertools.combinations(beliefs, 2):
        if (one.kit, other.kit) in given:
            found[one.kit, other.kit] = (given[one.kit, other.kit], 0)
        elif (other.kit, one.kit) in given:
            value, low, high = given[other.kit, one.kit]
            found[one.kit, other.kit] = ((-value, -high, -low), 0)
        elif table is not None:
            row = table.pair(one.name, other.name)
            if row is not None and math.isfinite(row["half"]) and row["shared"]:
                values = (float(row["difference"]), float(row["low"]), float(row["high"]))
                found[one.kit, other.kit] = (values, int(row["shared"]))
    if table is None or all(waters == 0 for _, waters in found.values()):
        return found, ()
    return found, tuple(one for one in table.messages if one.code in _OF_WATERS)


def _apart(
    one: KitBelief,
    other: KitBelief,
    together: BiasTogether | None,
    level: float | None,
    unit: str,
    on_waters: tuple[Difference, int] | None,
    count: int,
) -> KitsApart:
    difference, waters = on_waters if on_waters is not None else (None, 0)
    if (
        one.bias is not None
        and other.bias is not None
        and together is not None
        and level is not None
    ):
        share = 1.0 - 0.05 / (count * (count - 1) / 2)
        apart = together.contrast({other.name: 1.0, one.name: -1.0}, level=share)
        both = together.contrast({other.name: 1.0, one.name: 1.0}, level=share)
        nearer, said = nearer_words(one, other, apart, both, level, unit)
        return KitsApart(one.name, other.name, apart, difference, waters, nearer, said)
    if difference is None:
        said = (
            f"How far {one.name} and {other.name} lie apart cannot be told: no water was read with both "
            "within an hour."
        )
    else:
        said = differ_words(one.name, other.name, difference, unit, waters)
    without = [kit.name for kit in (one, other) if kit.bias is None]
    said += f" {_none_nearer(without)}"
    return KitsApart(one.name, other.name, None, difference, waters, "", said)


def _none_nearer(without: Sequence[str]) -> str:
    who = without[0] if len(without) == 1 else f"{without[0]} or {without[1]}"
    return f"No usable standard speaks for {who}, so neither can be called nearer to the truth."
