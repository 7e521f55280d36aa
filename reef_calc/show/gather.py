"""From a tank folder to one element's standing in one month: the wiring of the floors below."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, days, moment
from reef_calc.balance.between_elements import monthly_ratio
from reef_calc.balance.consumption import HISTORY_DAYS, estimate_consumption
from reef_calc.balance.moments import end_of
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import decimals_for, level_text
from reef_calc.plan.decision import Situation
from reef_calc.plan.limits import largest_rise
from reef_calc.plan.rule import decide, old_days
from reef_calc.plan.surprise import JUMP
from reef_calc.show.level_wording import level_words
from reef_calc.show.lost_rows import lost_rows, set_rate_aside
from reef_calc.show.standing import Standing
from reef_calc.show.wording import day_words

PUMP_DAYS = 60.0
KITS_DAYS = 45.0


def reviewed_elements(tank: Tank) -> tuple[str, ...]:
    """Return the elements a review speaks of: those with aims or readings, in the usual order.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    tuple of str
        Names.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> reviewed_elements(example_tank())
    ('alkalinity',)
    """
    read = set(tank.readings.loc[tank.readings["water"] == "tank", "element"])
    return tuple(name for name in ELEMENTS if name in read or name in tank.aims)


def gather(tank: Tank, element: str, month: str, *, with_cross_checks: bool = False) -> Standing:
    """Return where one element stands at the end of a month.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element of the closed list.
    month : str
        Month, text ``2026-09``.
    with_cross_checks : bool, optional
        Whether least squares and Huber are worked out beside the estimate.

    Returns
    -------
    Standing
        Everything a row or a figure needs.

    Raises
    ------
    InputError
        If the month or element is not one.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> standing = gather(example_tank(), "alkalinity", "2026-02")
    >>> standing.low, standing.high, len(standing.readings), standing.decision.group
    (7.2, 8.5, 12, 'change')
    """
    facts = ELEMENTS[element]
    zone = str(tank.zone)
    last_day = pd.Period(month, freq="M").end_time.strftime("%Y-%m-%d")
    end = end_of(tank, last_day, element)
    aim = tank.aims.get(element)
    unit = aim.unit if aim else facts.display_unit
    use, unread = None, ""
    if facts.behaviour != "state":
        use = estimate_consumption(
            tank, element, last_day, unit=unit, with_cross_checks=with_cross_checks
        )
        unread = lost_rows(tank, element, end)
        if unread:
            use = set_rate_aside(use, unread)
    readings = _marked(tank, element, unit, end, use)
    doses = one_off = None
    if use is not None:
        doses, one_off = _dose_steps(use.record.doses), _one_off(use.record.doses)
    changes = tank.water_changes
    events = tank.events
    own = events["element"].isin(["", element]) & (events["time"] < end)
    situation = _situation(tank, element, unit, end, readings, use, month, unread)
    return Standing(
        tank=tank.name,
        element=element,
        unit=unit,
        month=month,
        zone=zone,
        low=aim.low if aim else None,
        aim=aim.aim if aim else None,
        high=aim.high if aim else None,
        readings=readings,
        doses=doses if doses is not None else pd.DataFrame(columns=["start", "stop", "rate"]),
        one_off=one_off
        if one_off is not None
        else pd.DataFrame(columns=["time", "rise", "supplement"]),
        changes=changes.loc[changes["time"] < end, ["time", "fraction", "litres"]].reset_index(
            drop=True
        ),
        events=events.loc[own, ["time", "kind", "note"]].reset_index(drop=True),
        use=use,
        decision=decide(situation),
        decimals=situation.decimals,
        ratio=_ratio(tank, element, last_day) if with_cross_checks else None,
    )


def _marked(
    tank: Tank, element: str, unit: str, end: pd.Timestamp, use: ConsumptionEstimate | None
) -> pd.DataFrame:
    facts = ELEMENTS[element]
    frame = tank_readings(tank, element, unit, until=end)
    lowest, highest = (
        _in(x, facts.store_unit, unit, element) for x in (facts.lowest, facts.highest)
    )
    mark = np.full(len(frame), "used", dtype=object)
    why = frame["flag"].astype(object).to_numpy(copy=True)
    outside = (frame["level"] < lowest) | (frame["level"] > highest)
    mark[outside.to_numpy(bool)] = "left out"
    mark[frame["limit"].isin(["<", ">"]).to_numpy(bool)] = "beyond limit"
    if use is not None:
        said = use.set_aside.set_index("row")["why"].to_dict()
        for i, row in enumerate(frame["row"]):
            if row in said:
                mark[i], why[i] = "doubted", said[row]
    columns = ["row", "time", "date_only", "level", "sd", "kit", "lot", "limit", "upper", "by"]
    return frame[columns].assign(mark=mark, why=why)


def _in(value: float, start: str, unit: str, element: str) -> float:
    return float(convert(value, start, unit, element, salinity=35.0, temperature_C=25.0))


def _dose_steps(history: AdditionHistory) -> pd.DataFrame:
    """Sum the standing doses of all supplements into one line of steps; NaN where not logged."""
    steps = history.steps
    edges = sorted({*steps["start"], *steps["stop"], *(x for gap in history.gaps for x in gap)})
    rows: list[dict[str, object]] = []
    for start, stop in pairwise(edges):
        middle = (start + stop) / 2
        running = (steps["start"] < middle) & (steps["stop"] > middle)
        unknown = any(a < middle < b for a, b in history.gaps)
        rate = math.nan if unknown else float(steps.loc[running, "rate"].sum())
        rows.append({"start": moment(start), "stop": moment(stop), "rate": rate})
    return pd.DataFrame(rows, columns=["start", "stop", "rate"])


def _one_off(history: AdditionHistory) -> pd.DataFrame:
    shots = history.shots[~history.shots["standing"].astype(bool)]
    return pd.DataFrame(
        {
            "time": [moment(d) for d in shots["day"]],
            "rise": shots["rise"].to_numpy(float),
            "supplement": shots["supplement"].to_numpy(object),
        }
    )


def _decimals(tank: Tank, readings: pd.DataFrame, unit: str, element: str) -> int:
    """Decimals of the kit's step in the display unit; those of the aims without a reading."""
    aim = tank.aims.get(element)
    if readings.empty:
        numbers = (f"{x:g}" for x in (aim.low, aim.high)) if aim is not None else ()
        return max((len(n.partition(".")[2]) for n in numbers), default=1)
    kit = tank.kits.get(str(readings["kit"].iloc[-1]))
    if kit is not None and kit.resolution > 0 and kit.unit == unit:
        text = f"{kit.resolution:.6f}".rstrip("0")
        return len(text.split(".")[1])
    sd = float(readings["sd"].iloc[-1])
    return max(decimals_for(2 * sd), 0) if sd > 0 else 2


def _situation(
    tank: Tank,
    element: str,
    unit: str,
    end: pd.Timestamp,
    readings: pd.DataFrame,
    use: ConsumptionEstimate | None,
    month: str,
    unread: str,
) -> Situation:
    facts, aim = ELEMENTS[element], tank.aims.get(element)
    month_name = f"{pd.Period(month, freq='M').start_time:%B}"
    base: dict[str, Any] = {
        "element": element,
        "unit": unit,
        "behaviour": facts.behaviour,
        "decimals": _decimals(tank, readings, unit, element),
        "month_name": month_name,
    }
    if aim is not None:
        for name in ("low", "aim", "high", "never_below", "never_above"):
            base[name] = getattr(aim, name)
        base["rise_per_day"], base["fall_per_day"] = aim.rise_per_day, aim.fall_per_day
        most = largest_rise(element, unit)
        if aim.rise_per_day is not None and aim.rise_per_day > most * (1 + 1e-6):
            base |= {"rise_per_day": most, "rise_written": aim.rise_per_day}
    believed = readings[readings["mark"].isin(["used", "beyond limit"])]
    if len(readings) and readings["mark"].iloc[-1] in ("doubted", "left out"):
        read = readings.iloc[-1]
        number = level_text(float(read["level"]), int(base["decimals"]), unit)
        base["doubted"] = f"{number} on {day_words(read['time'], str(tank.zone))}"
    if believed.empty:
        return Situation(**base)
    last = believed.iloc[-1]
    base |= {
        "level": float(last["level"]) if last["limit"] != "between" else _middle(last),
        "level_sd": float(last["sd"]),
        "limit": last["limit"] if last["limit"] in ("<", ">") else "",
        "level_age": float(days(_today(tank, end)) - days(last["time"])),
    }
    if last["limit"]:
        decimals = _decimals(tank, readings, unit, element)
        words = level_words(float(last["level"]), decimals, str(last["limit"]), last["upper"])
        base["last_words"] = f"{words} {unit}"
    base |= _before(believed, old_days(element))
    if use is not None:
        refusal = next((m.text for m in use.messages if m.kind == "refused"), "")
        base |= {
            "rate": use.rate,
            "rate_low": use.against_dose[0] if use.against_dose else use.low,
            "rate_high": use.against_dose[1] if use.against_dose else use.high,
            "refusal": refusal,
            "unread": unread,
            "kits_differ": _kits_differ(readings, use),
            "what_helps": use.what_helps,
            "level_now": use.level_now[0] if use.level_now and not last["limit"] else None,
            "level_u": use.level_now[1] if use.level_now and not last["limit"] else None,
            "dose": use.dose_now,
            "doses": use.dose_now is None or use.dose_now > 0,
            "pump_measured": _pump_measured(tank, element, end),
            "expected": use.expected_last,
            "jump": _in(*JUMP[element], unit, element) if element in JUMP else None,
        }
    return Situation(**base)


def _kits_differ(readings: pd.DataFrame, use: ConsumptionEstimate) -> bool:
    """Return whether kits or lots that are known to differ were both in use lately."""
    lately = readings[readings["time"] > use.until - pd.Timedelta(days=KITS_DAYS)]
    several = len(set(zip(lately["kit"], lately["lot"], strict=True))) > 1
    return several and any(m.code == "LOT_CHANGED" for m in use.messages)


def _ratio(tank: Tank, element: str, last_day: str) -> pd.DataFrame | None:
    """Calcium used per alkalinity used, month by month; None for other elements or without any."""
    if element not in ("alkalinity", "calcium"):
        return None
    calcium = estimate_consumption(tank, "calcium", last_day, unit="mg/L")
    found = monthly_ratio(calcium, estimate_consumption(tank, "alkalinity", last_day))
    return found if len(found) else None


def _present() -> pd.Timestamp:
    return pd.Timestamp.now("UTC")


def _today(tank: Tank, end: pd.Timestamp) -> pd.Timestamp:
    """Return the end of the month, or the present (the last row at least) while it still runs."""
    rows = [t["time"].max() for t in (tank.readings, tank.water_changes, tank.events) if len(t)]
    return min(end, max(_present(), *rows))


def _before(believed: pd.DataFrame, old: float) -> dict[str, object]:
    """Return the reading before the last sitting, and whether there is none that is not old."""
    last = believed.iloc[-1]
    since = last["time"] - pd.Timedelta(days=old)
    same_sitting = last["time"] - pd.Timedelta(hours=1)
    recent = believed[(believed["time"] >= since) & (believed["limit"] == "")]
    earlier = recent[recent["time"] < same_sitting]
    return {
        "previous": float(earlier["level"].iloc[-1]) if len(earlier) else None,
        "single": len(believed[believed["time"] >= since]) == 1,
    }


def _middle(row: pd.Series) -> float:
    return (float(row["level"]) + float(row["upper"])) / 2


def _pump_measured(tank: Tank, element: str, end: pd.Timestamp) -> bool:
    """Return whether the pump of this element was measured lately; another pump answers nothing."""
    events = tank.events[tank.events["kind"] == "pump measured"]
    recent = (events["time"] < end) & (events["time"] > end - pd.Timedelta(days=PUMP_DAYS))
    for event in events[recent].itertuples():
        supplement = tank.supplements.get(str(event.refers_to))
        brings = supplement is not None and bool(supplement.adds.get(element))
        if brings or event.element == element or not (event.element or event.refers_to):
            return True
    return False


__all__ = ["HISTORY_DAYS", "gather", "reviewed_elements"]
