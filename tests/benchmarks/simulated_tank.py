"""Invented tanks with a known truth, for measuring how often an interval covers it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.water_balance import WaterEvents

Floats = NDArray[np.float64]
PUMP = 0.03


@dataclass(frozen=True)
class Element:
    """What is typical of one element (concentration, concentration per day): assumptions."""

    level: float
    use: float
    sd: float
    resolution: float
    gross: float
    new_water: float


ALKALINITY = Element(8.0, 1.0, 0.15, 0.1, 1.0, 8.5)
CALCIUM = Element(430.0, 7.0, 7.0, 5.0, 50.0, 420.0)
MAGNESIUM = Element(1350.0, 0.7, 20.0, 10.0, 120.0, 1300.0)
POTASSIUM = Element(400.0, 0.5, 10.0, 5.0, 60.0, 390.0)


@dataclass(frozen=True)
class Scenario:
    """One kind of tank and keeper; times in days, shares as fractions."""

    name: str
    element: Element = ALKALINITY
    n: int = 40
    days: float = 90.0
    cv: float = 0.0
    gross: float = 0.0
    drift: float = 0.0
    change: float = 0.0
    changed_ago: float = 0.0
    lot: float = 0.0
    unlogged: float = 0.0
    bursts: bool = False
    resolution: float | None = None
    salinity: float = 0.0
    proportional: bool = False
    declared: bool = False
    weekly: float = 0.0
    light: float = 0.0
    memory: float = 0.0
    volume: float = 1.0
    fraction: float = 1.0
    lost: float = 0.0
    by_hand: bool = False
    times: tuple[float, ...] = ()
    lot_day: float = 54.0
    unlogged_day: float = 45.5
    replicates: int = 1
    day_sd: float = 0.0


@dataclass
class Simulated:
    """One simulated series with its truth."""

    times: Floats
    levels: Floats
    log: WaterEvents
    sd: float
    resolution: float
    truth: float
    cv: float
    gross: NDArray[np.bool_]
    changed_at: float | None
    step_at: float | None
    step_is_lot: bool
    scenario: Scenario
    extra: dict[str, Any] = field(default_factory=dict)


def simulate(s: Scenario, rng: np.random.Generator) -> Simulated:
    """Return one series of a scenario."""
    e = s.element
    T, res = s.days, e.resolution if s.resolution is None else s.resolution
    times = _reading_times(s, rng)
    whole_days = int(np.ceil(T)) + 1
    use = e.use * (1 + s.cv * rng.normal(size=whole_days))
    wander = np.cumsum(s.drift * e.use * rng.normal(size=whole_days))
    pump = 1 + (PUMP * rng.normal(size=whole_days) if s.cv else np.zeros(whole_days))
    standing = e.use * (1 + 0.10 * rng.normal(size=int(T // 30) + 1))
    hand = np.sort(rng.uniform(0, T, rng.poisson(T / 14)))
    changes = np.arange(7.0, T, 7.0) - 0.5
    changed_at = T - s.changed_ago if s.change else None

    # Everything that happens, in order; readings first at equal times.
    rows: list[tuple[float, int, float]] = [(float(t), 0, 0.0) for t in times]
    rows += [(float(t), 1, 0.04 * e.level) for t in hand]
    if s.unlogged:
        rows.append((s.unlogged_day, 1, s.unlogged))
    if s.by_hand:
        moments = np.arange(0.4, T, 1.0)
        rows += [(float(t), 1, float(standing[int(t // 30)])) for t in moments]
    rows += [(float(t), 2, 0.1 * s.fraction) for t in changes]
    rows += [(float(t), 3, 0.0) for t in np.arange(0.0, T, 0.5 if s.light else 1.0)]
    if changed_at is not None:
        rows.append((changed_at, 3, 0.0))
    rows.sort(key=lambda row: (row[0], row[1]))
    level, at, seen, used = e.level, 0.0, [], np.zeros(whole_days)
    for time, kind, amount in rows:
        if time > at:
            day = int(at + 1e-9)
            rate = use[day] + wander[day]
            if changed_at is not None and at >= changed_at - 1e-9:
                rate *= 1 + s.change
            if s.proportional:
                rate *= level / e.level
            if day % 7 >= 5:
                rate *= 1 + s.weekly
            if s.light:
                rate *= 1 + s.light if (at + 1e-9) % 1.0 < 0.5 else 1 - s.light
            dose = 0.0 if s.by_hand else standing[int(at // 30)] * pump[day]
            level += (time - at) * (dose * s.volume - rate)
            used[day] += (time - at) * rate
            at = time
        if kind == 0:
            seen.append(level)
        elif kind == 1:
            level += amount * s.volume
        elif kind == 2:
            level += amount * (e.new_water - level)

    n = len(seen)
    error = _errors(s, times, n, rng)
    levels = np.array(seen) + e.sd * error
    if s.salinity:
        levels = levels * (1 + s.salinity * _remembered(times, 5.0, rng))
    if s.lot:
        levels = levels + s.lot * (times >= s.lot_day)
    gross = rng.random(n) < s.gross
    size = e.gross * (1 + 0.3 * rng.normal(size=n)) * rng.choice([-1.0, 1.0], n)
    levels = np.where(gross, levels + size, levels)
    levels = np.round(levels / res) * res if res else levels

    logged_times, logged = hand, np.full(hand.size, 0.04 * e.level)
    if s.by_hand:
        moments = np.arange(0.4, T, 1.0)
        kept = moments[rng.random(moments.size) >= s.lost]
        logged_times = np.r_[hand, kept]
        logged = np.r_[logged, standing[(kept // 30).astype(int)]]
    starts = np.arange(standing.size) * 30.0
    plain = not s.by_hand
    log = WaterEvents(
        dose_times=logged_times,
        dose_rises=logged,
        rate_starts=starts if plain else np.empty(0),
        rate_stops=np.minimum(starts + 30.0, T) if plain else np.empty(0),
        rates=standing if plain else np.empty(0),
        change_times=changes,
        change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, e.new_water),
    )
    truth = e.use * (1 + s.change)
    if s.drift or s.proportional:
        truth = float(used[int(T) - 14 : int(T)].mean())
    elif s.weekly:
        truth = e.use * (1 + 2 * s.weekly / 7)
    step_at = s.lot_day if s.lot else s.unlogged_day if s.unlogged else None
    return Simulated(times, levels, log, e.sd, res, truth, s.cv, gross, changed_at, step_at,
                     bool(s.lot), s)  # fmt: skip


def _reading_times(s: Scenario, rng: np.random.Generator) -> Floats:
    if s.times:
        return np.array(s.times)
    if s.bursts:
        starts = np.sort(rng.choice(np.arange(0, int(s.days) - 4, 5), s.n // 4, replace=False))
        times = (starts[:, None] + np.arange(4) + 0.7).ravel()
    else:
        times = np.sort(rng.uniform(0, s.days - 0.1, s.n))
    times[-1] = s.days - 0.1
    return np.repeat(times, s.replicates)


def _errors(s: Scenario, times: Floats, n: int, rng: np.random.Generator) -> Floats:
    error = rng.normal(size=n)
    if s.day_sd:
        error = error * np.sqrt(1 - s.day_sd**2)
        error = error + s.day_sd * np.repeat(rng.normal(size=n // s.replicates), s.replicates)
    if s.memory:
        for i in range(1, n):
            error[i] = s.memory * error[i - 1] + np.sqrt(1 - s.memory**2) * error[i]
    return np.asarray(error)


def _remembered(times: Floats, days: float, rng: np.random.Generator) -> Floats:
    found = rng.normal(size=times.size)
    for i in range(1, times.size):
        r = np.exp(-(times[i] - times[i - 1]) / days)
        found[i] = r * found[i - 1] + np.sqrt(1 - r * r) * found[i]
    return np.asarray(found)


def mixed_scenario(rng: np.random.Generator) -> Scenario:
    """Return one tank of a mixed population."""
    e = ALKALINITY if rng.random() < 2 / 3 else CALCIUM
    n = int(rng.integers(10, 80))
    days = float(n * rng.uniform(1.5, 3.5))
    options: dict[str, Any] = {}
    if rng.random() < 0.35:
        options["change"] = float(rng.choice([-1, 1]) * rng.uniform(0.1, 0.4))
        options["changed_ago"] = float(rng.uniform(0, days))
    if rng.random() < 0.14:
        size = float(rng.uniform(2, 12) * e.sd * rng.choice([-1, 1]))
        moment = float(rng.uniform(0, days))
        if rng.random() < 0.5:
            options |= {"lot": size, "lot_day": moment}
        else:
            options |= {"unlogged": abs(size), "unlogged_day": moment}
    cv = float(0.07 * np.exp(0.6 * rng.normal()))
    return Scenario("mixed", e, n, days, cv=cv, gross=0.03, **options)


def _change(name: str, change: float, ago: float, **more: Any) -> Scenario:
    return Scenario(name, change=change, changed_ago=ago, **more)


INSIDE = (
    Scenario("base"),
    Scenario("base n8 T21", n=8, days=21),
    Scenario("base n12 T30", n=12, days=30),
    Scenario("base n20 T60", n=20, days=60),
    Scenario("base n150 T365", n=150, days=365),
    Scenario("cv10", cv=0.1),
    Scenario("cv20", cv=0.2),
    Scenario("n12 T30 cv10", n=12, days=30, cv=0.1),
    Scenario("cv10 n150 T365", n=150, days=365, cv=0.1),
    Scenario("gross5", gross=0.05),
    Scenario("gross10", gross=0.10),
    Scenario("gross10 n150", n=150, days=365, gross=0.10),
    Scenario("gross5 n12 T30", n=12, days=30, gross=0.05),
    Scenario("drift1%", drift=0.01),
    _change("+25 30d", 0.25, 30),
    _change("+25 20d", 0.25, 20),
    _change("+25 10d", 0.25, 10),
    _change("+25 5d", 0.25, 5),
    _change("-25 30d", -0.25, 30),
    _change("-25 10d", -0.25, 10),
    _change("cv10 +25 30d", 0.25, 30, cv=0.1),
    _change("cv10 +25 10d", 0.25, 10, cv=0.1),
    _change("cv10 chg30 gross5", 0.25, 30, cv=0.1, gross=0.05),
    Scenario("lot step .5", lot=0.5),
    Scenario("unlogged 1.5", unlogged=1.5),
    Scenario("bursts", bursts=True),
    Scenario("res .5", resolution=0.5),
    Scenario("sal1%", salinity=0.01),
    Scenario("prop1", proportional=True),
    Scenario("Ca", CALCIUM),
    Scenario("Ca cv10 gross5 n80 T180", CALCIUM, 80, 180, cv=0.1, gross=0.05),
    _change("Ca +25 30d", 0.25, 30, element=CALCIUM),
    _change("Ca +25 10d", 0.25, 10, element=CALCIUM),
    Scenario("Mg n120 T365", MAGNESIUM, 120, 365),
    Scenario("K n100 T365", POTASSIUM, 100, 365),
)
DECLARED = (
    _change("declared +25 5d", 0.25, 5, declared=True),
    _change("declared cv10 +25 10d", 0.25, 10, cv=0.1, declared=True),
    _change("declared Ca +25 10d", 0.25, 10, element=CALCIUM, declared=True),
    Scenario("declared lot .5", lot=0.5, declared=True),
)
OUTSIDE = (
    Scenario("weekend +20%", cv=0.1, weekly=0.2),
    Scenario("weekend -20%", cv=0.1, weekly=-0.2),
    Scenario("const weekend +20%", weekly=0.2),
    Scenario("light 1 +-.5", cv=0.1, light=0.5),
    Scenario("const light 1 +-.5", light=0.5),
    Scenario("AR .5", cv=0.1, memory=0.5),
    Scenario("const AR .5", memory=0.5),
    Scenario("volume +10%", cv=0.1, volume=1.1),
    Scenario("volume +3%", cv=0.1, volume=1.03),
    Scenario("fraction -20%", cv=0.1, fraction=0.8),
    Scenario("fraction +20%", cv=0.1, fraction=1.2),
    Scenario("hand dosing, log whole", cv=0.1, by_hand=True),
    Scenario("hand dosing, 5% lost", cv=0.1, by_hand=True, lost=0.05),
)
