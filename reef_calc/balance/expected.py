"""What the next reading should be: from use and doses, else the last readings, else what water holds."""

from __future__ import annotations

import datetime as dt
import math
from functools import lru_cache

import pandas as pd

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.expected_range import LABEL_SHARE, Expected, Question
from reef_calc.balance.last_readings import spread_of
from reef_calc.balance.moved_on import MovedOn, between_kits, moved_on
from reef_calc.balance.record import NEW_WATER_DEFAULT_U
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.chem.elements import element as find_element
from reef_calc.errors import InputError
from reef_calc.log.history import new_water_readings, replicate_sessions, tank_readings
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge
from reef_calc.numbers_in_words import decimals_for, fixed, with_interval

STANDARD_SHARE = 0.02  # MEMORY: a standard whose uncertainty is not written
SITTINGS = 6
OLDEST_DAYS = 120.0


def expected_level(
    tank: Tank,
    element: str,
    time: str | dt.date | pd.Timestamp,
    water: str = "tank",
    *,
    kit: str = "",
) -> Expected:
    """Return the range in which the next reading of an element would be no surprise.

    Tank: the level now, moved on by doses, water changes and use to the time of the reading; without
    a known use the spread of the last readings. New water: its last readings, else its label. A
    standard: as described. Otherwise what water for a reef can hold.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.
    time : str, datetime.date or pandas.Timestamp
        When the reading is taken; only older ones count. Without a zone: in the tank's.
    water : str, optional
        ``tank``, ``new water``, ``standard NAME`` or ``study NAME LEVEL``.
    kit : str, optional
        Kit it is taken with, for unit, scatter and how far kits differ; when not given, the unit of
        the aims and the kit of the last reading.

    Returns
    -------
    Expected
        Levels in its ``unit``.

    Raises
    ------
    InputError
        If the element is unknown, the time cannot be read, or the kit is for something else.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = expected_level(example_tank(), "alkalinity", "2026-02-17T18:00")
    >>> found.basis, [one.text for one in found.last]
    ('use', ['7.0 dKH', '7.2 dKH', '7.1 dKH'])
    >>> for sentence in found.words:
    ...     print(sentence)
    By the readings with drops, 7.0 ± 0.2 dKH on 15 Feb 2026.
    In the 2.0 days since, the tank used about 2.1 dKH and about 2.0 dKH was dosed.
    6.6 to 7.2 dKH would be no surprise.
    """
    facts = find_element(element)
    at = window_edge(time, tank.zone, end=False)
    if at is None:
        raise InputError("a time", "nothing", "Say when the reading is taken.", "expected_level")
    described = tank.kits.get(kit)
    if described is not None and described.element not in ("", facts.name):
        raise InputError(
            f"a kit for {facts.name}", f"{kit}, for {described.element}", "Choose another kit."
        )
    aim = tank.aims.get(facts.name)
    unit = (described.unit if described else "") or (aim.unit if aim else facts.display_unit)
    used = tank.kits.get(kit or _last_kit(tank, facts.name, water, at))
    fits = used is not None and used.element == facts.name
    asked = Question(tank, facts, water, at, unit, kit, used if fits else None)
    if water == "tank":
        return _of_tank(asked)
    if water == "new water":
        return _of_new_water(asked)
    if water.startswith("standard "):
        return _of_standard(asked, water.removeprefix("standard "))
    return asked.nothing("What this water holds is not known.")


def _last_kit(tank: Tank, element: str, water: str, at: pd.Timestamp) -> str:
    """Kit of the last reading, of this water where there is one."""
    rows = tank.readings
    own = rows[(rows["element"] == element) & (rows["time"] < at)]
    same = own[own["water"] == water]
    last = same if len(same) else own
    return str(last["kit"].iloc[-1]) if len(last) else ""


# A tank never changes once it is opened, and the bench asks for the same one again and again.
@lru_cache(maxsize=64)
def _use(
    tank: Tank, element: str, unit: str, until: pd.Timestamp | None
) -> tuple[ConsumptionEstimate | None, str]:
    """Return the estimate before a time (None: from all readings), and why there is no rate."""
    try:
        use = estimate_consumption(tank, element, until, unit=unit)
    except InputError as error:
        return None, str(error)
    if use.rate is None and use.messages:
        return use, use.messages[0].text.partition(". ")[0].rstrip(".") + "."
    return use, ""


def _of_tank(asked: Question) -> Expected:
    tank, name, unit = asked.tank, asked.facts.name, asked.unit
    if asked.facts.behaviour == "state":
        return _of_last(asked)
    own = (tank.readings["element"] == name) & (tank.readings["water"] == "tank")
    newest = tank.readings.loc[own, "time"].max()
    use, why = _use(tank, name, unit, None if asked.at > newest else asked.at)
    doubted = frozenset() if use is None else frozenset(use.set_aside["row"])
    moved = None if use is None else moved_on(tank, use, asked.at, asked.kit_name)
    if moved is None:
        return _of_last(asked, why, doubted)
    half = HALF_WIDTH * math.hypot(moved.u, asked.scatter(moved.level))
    ends = (moved.level - half, moved.level + half)
    return asked.answer(moved.level, ends, "use", _since(asked, moved, half), doubted)


def _since(asked: Question, moved: MovedOn, half: float) -> list[str]:
    unit, U = asked.unit, 2 * moved.start_u
    level = with_interval(moved.start, moved.start - U, moved.start + U)
    day = day_text(moved.since, str(asked.tank.zone))
    words = [f"By the readings with {moved.kit or 'no kit named'}, {level} {unit} on {day}."]
    if moved.kits_differ:
        words.append("Two kits may differ; that is allowed for.")
    if moved.days < 0.1:
        return words
    decimals = max(decimals_for(half), 0)

    def amount(value: float) -> str:
        shown = fixed(abs(value), decimals)
        return f"about {shown} {unit}" if float(shown) else "next to nothing"

    did = "the tank used" if asked.facts.behaviour == "used" else "it fell by itself by"
    if moved.used < 0:
        did = "it rose by itself by"
    parts = [f"In the {moved.days:.1f} days since, {did} {amount(moved.used)}"]
    if math.isnan(moved.dosed):
        parts.append("what was dosed was not logged")
    elif moved.dosed:
        parts.append(f"{amount(moved.dosed)} was dosed")
    if moved.changes:
        times = {1: "once", 2: "twice"}.get(moved.changes, f"{moved.changes} times")
        parts.append(f"water was changed {times}")
    return [*words, ", ".join(parts[:-1]) + " and " * (len(parts) > 1) + parts[-1] + "."]


def _of_last(asked: Question, why: str = "", doubted: frozenset[int] = frozenset()) -> Expected:
    """From the spread of the last sittings; without any, what water can hold."""
    read = tank_readings if asked.water == "tank" else new_water_readings
    until = asked.at - pd.Timedelta(microseconds=1)
    frame = read(asked.tank, asked.facts.name, asked.unit, until=until)
    frame = frame[~frame["outside"].astype(bool) & ~frame["row"].isin(doubted)]
    sittings = replicate_sessions(frame.tail(4 * SITTINGS).reset_index(drop=True))
    recent = sittings[sittings["time"] > asked.at - pd.Timedelta(days=OLDEST_DAYS)]
    used = recent.tail(SITTINGS) if len(recent) else sittings.tail(1)
    if used.empty:
        return asked.nothing(f"No reading of {asked.facts.name} in this water yet.")
    low, high = asked.possible()
    limit, read_as = used["limit"], used["corrected"]
    lows = read_as.where(limit != "<", low).to_numpy(float)
    highs = read_as.mask(limit == ">", high).mask(limit == "between", used["corrected_upper"])
    level = float((lows + highs.to_numpy(float)).mean() / 2)
    usual = math.hypot(asked.scatter(level), asked.wobble(level))
    ends = spread_of(lows, highs.to_numpy(float), usual)
    days = (asked.at - used["time"].iloc[-1]) / pd.Timedelta(days=1)
    old = f"{days:.0f} day{'' if round(days) == 1 else 's'} old"
    told = f"From the last {len(used)} sittings alone, the newest {old}."
    if len(used) == 1:
        told = f"From the last reading alone, {old}."
    words = [why, told] if why else [told]
    plain = not limit.isin(["<", ">"]).any()
    return asked.answer(level if plain else None, ends, "last readings", words, doubted)


def _of_new_water(asked: Question) -> Expected:
    found = _of_last(asked)
    name, stated = asked.facts.name, asked.tank.new_water
    if found.basis == "last readings":
        return found
    label = stated.levels.get(name)
    if label is not None:
        level = asked.to(label.value, label.unit)
        u = asked.width(label.value, label.u, label.unit) if label.u else _label_u(asked, level)
    elif name == "salinity" and stated.salinity is not None:
        level = asked.to(stated.salinity, "PSU")
        u = asked.wobble(level)
    else:
        return found
    half = HALF_WIDTH * math.hypot(u, asked.scatter(level))
    words = [f"Not tested yet; the label says {level:.4g} {asked.unit}."]
    return asked.answer(level, (level - half, level + half), "label", words)


def _label_u(asked: Question, level: float) -> float:
    if asked.facts.name in NEW_WATER_DEFAULT_U:
        u, unit = NEW_WATER_DEFAULT_U[asked.facts.name]
        return asked.width(0.0, u, unit)
    return LABEL_SHARE * abs(level)


def _of_standard(asked: Question, name: str) -> Expected:
    standard = asked.tank.standards.get(name)
    if standard is None or standard.element != asked.facts.name:
        why = "is not described" if standard is None else f"is for {standard.element}"
        return asked.nothing(f"The standard {name} {why} in standards.toml.")
    level = asked.to(standard.value, standard.unit)
    u = STANDARD_SHARE * abs(level)
    if standard.u is not None:
        u = asked.width(standard.value, standard.u, standard.unit)
    stated = with_interval(level, level - 2 * u, level + 2 * u)
    words = [f"The standard {name} holds {stated} {asked.unit}."]
    if standard.u is None:
        words.append("Its uncertainty is not written: two per cent is taken.")
    day = asked.at.tz_convert(asked.tank.zone)
    kit_u = 0.0
    if asked.kit is None or asked.kit.correction_at(day) is None:
        kit_u = between_kits(asked.facts.name, level, asked.unit)
        words.append("An error of the kit's own is allowed for; the reading is there to tell it.")
    half = HALF_WIDTH * math.hypot(u, kit_u, asked.scatter(level))
    return asked.answer(level, (level - half, level + half), "standard", words)
