"""How often the interval of a kit difference from one history covers the truth.

Run on demand, for example ``python kit_difference.py --replicates 50``; everything has a fixed seed.
Scenarios and their parameters are assumptions; the figures are COMPUTED.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace

import numpy as np

from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.compare.difference_column import kit_difference
from reef_calc.compare.difference_mixture import difference_with_events
from reef_calc.compare.log_pairs import log_pairs

SEED = 64_000
SD, STEP, TRUTH, DAYS = 0.15, 0.1, 0.3, 60
S0 = float(np.hypot(SD, STEP / 12**0.5))
EVERY_2_DAYS = tuple(np.arange(0.4, DAYS, 2.0))
WEEKLY = tuple(np.arange(0.4, DAYS, 7.0))


@dataclass(frozen=True)
class Scenario:
    """A tank and when its two kits are read; times in days, levels in dKH."""

    name: str
    a: tuple[float, ...] = EVERY_2_DAYS
    b: tuple[float, ...] = ()
    cv: float = 0.1
    dosing: str = "steady"
    change: float = 0.0
    change_day: float = 30.0
    gross: float = 0.0
    unlogged: float = 0.0
    unlogged_day: float = 30.0
    sd_factor: float = 1.0
    new_water_with_b: bool = False


def spread(n: int, later: float = 0.004) -> tuple[float, ...]:
    """Return times of n readings of B, each soon after one of A."""
    near = np.linspace(2, len(EVERY_2_DAYS) - 3, n).astype(int)
    return tuple(np.array(EVERY_2_DAYS)[near] + later)


SIX = spread(6, 1.0)
CLUSTER = tuple(np.linspace(30.6, 42.4, 6))
BEFORE = tuple(t for t in EVERY_2_DAYS if t < 30)
AFTER = tuple(t for t in EVERY_2_DAYS if t > 30)
SCHEDULES = (
    Scenario("steady, 1 B", b=spread(1)),
    Scenario("steady, 3 B within minutes", b=spread(3)),
    Scenario("steady, 5 B", b=spread(5)),
    Scenario("steady, 10 B", b=spread(10)),
    Scenario("5 B half a day later", b=spread(5, 0.5)),
    Scenario("one dose a day, A before, 5 B 12 h later", b=spread(5, 0.5), dosing="daily"),
    Scenario("80 % dosed and weekly correction, 5 B 12 h later", b=spread(5, 0.5), dosing="short"),
    Scenario("weekly and weekly, 3.5 d apart", WEEKLY, tuple(np.array(WEEKLY[:-1]) + 3.5)),
    Scenario(
        "weekly and weekly, 80 % dosed", WEEKLY, tuple(np.array(WEEKLY[:-1]) + 3.5), dosing="short"
    ),
    Scenario(
        "weekly and weekly, cv 0.2", WEEKLY, tuple(np.array(WEEKLY[:-1]) + 3.5), cv=0.2
    ),
)  # fmt: skip
EVENTS = (
    Scenario("between A, nothing else", b=SIX),
    Scenario("between A, use +25 %", b=SIX, change=0.25),
    Scenario("between A, 5 % slips of 1.0", b=SIX, gross=0.05),
    Scenario("between A, unlogged dose 1.0", b=SIX, unlogged=1.0),
    Scenario("between A, true SD 1.5 times", b=SIX, sd_factor=1.5),
    Scenario("between A, true SD 2 times", b=SIX, sd_factor=2.0),
    Scenario("one 12-day cluster", b=CLUSTER),
    Scenario("cluster, use +25 % at its start", b=CLUSTER, change=0.25),
    Scenario("cluster, unlogged dose the day before", b=CLUSTER, unlogged=1.0, unlogged_day=29.5),
    Scenario("cluster, unlogged dose just before it", b=CLUSTER, unlogged=1.0, unlogged_day=30.5),
    Scenario("B in place of A", BEFORE, AFTER),
    Scenario("B in place of A, new water with B", BEFORE, AFTER, new_water_with_b=True),
    Scenario("B in place of A, use +25 % that day", BEFORE, AFTER, change=0.25),
    Scenario("B in place of A, unlogged dose that day", BEFORE, AFTER, unlogged=1.0,
             unlogged_day=29.5),
)  # fmt: skip


def simulate(
    s: Scenario, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray, np.ndarray, WaterEvents, np.ndarray]:
    """Return times, levels, whose they are, the log, and whose new water B read."""
    t = np.r_[s.a, s.b]
    of_b = np.r_[np.zeros(len(s.a), bool), np.ones(len(s.b), bool)]
    order = np.argsort(t, kind="stable")
    t, of_b = t[order], of_b[order]
    edges = np.unique(np.r_[np.arange(DAYS + 1.0), s.change_day])
    start, stop = edges[:-1], edges[1:]
    daily = 1 + s.cv * rng.normal(size=DAYS + 1)
    use = daily[np.floor(start + 1e-9).astype(int)]
    use = use * np.where(start >= s.change_day - 1e-9, 1 + s.change, 1.0)
    share = {"steady": 1.0, "daily": 0.0, "short": 0.8}[s.dosing]
    shots = np.empty(0)
    sizes = np.empty(0)
    if s.dosing == "daily":
        shots, sizes = np.arange(0.6, DAYS, 1.0), np.ones(DAYS)
    if s.dosing == "short":
        # The weekly correction goes in an hour after the reading of A.
        shots = np.arange(0.45, DAYS, 7.0)
        sizes = np.full(shots.size, 1.4)
    changes = np.arange(3.3, DAYS, 7.0)
    with_b = s.new_water_with_b & (changes > 30.0)
    log = WaterEvents(
        dose_times=shots, dose_rises=sizes, rate_starts=[0.0], rate_stops=[float(DAYS)],
        rates=[share], change_times=changes, change_fractions=np.full(changes.size, 0.1),
        change_levels=8.0 + TRUTH * with_b,
    )  # fmt: skip
    happened = WaterEvents(
        dose_times=np.r_[shots, s.unlogged_day], dose_rises=np.r_[sizes, s.unlogged],
        rate_starts=start, rate_stops=stop, rates=share - use, change_times=changes,
        change_fractions=log.change_fractions, change_levels=np.full(changes.size, 8.0),
    )  # fmt: skip
    c = balance_columns(t, happened)
    y = 8.0 * c.G + c.D + TRUTH * of_b + s.sd_factor * SD * rng.normal(size=t.size)
    slips = rng.random(t.size) < s.gross
    y = y + slips * rng.choice([-1.0, 1.0], t.size)
    return t, np.round(y / STEP) * STEP, of_b, log, with_b


def one_row(s: Scenario, replicates: int, seed: int) -> str:
    """Return the line of a scenario: bias, coverage and median half-width of four answers."""
    found: dict[str, list[tuple[float, bool, float]]] = {
        name: [] for name in ("as read", "corrected", "single", "mixture")
    }
    worth = []
    for r in range(replicates):
        t, y, b, log, with_b = simulate(s, np.random.default_rng([SEED, seed, r]))
        one = kit_difference(t, y, b, log, sd_a=S0, new_water_with_b=with_b)
        many, _ = difference_with_events(t, y, b, log, sd_a=S0, new_water_with_b=with_b)
        pairs = log_pairs(balance_columns(t, log), y, one.use, ~b, b, S0)
        plain = log_pairs(balance_columns(t, log), y, 0.0, ~b, b, 1e9)
        plain = replace(plain, movement=np.zeros(plain.n))
        for name, x in (
            ("as read", plain.uncorrected), ("corrected", pairs.corrected),
            ("single", one), ("mixture", many),
        ):  # fmt: skip
            if x is not None:
                half = (x.high - x.low) / 2
                found[name].append((x.difference - TRUTH, x.low <= TRUTH <= x.high, half))
        worth.append(many.worth)
    cells = []
    for rows in found.values():
        if len(rows) < replicates / 2:
            cells.append("-")
            continue
        bias, cover, half = np.array(rows, dtype=float).T
        cells.append(f"{bias.mean():+.3f} / {cover.mean():.3f} / {np.median(half):.3f}")
    return f"| {s.name} | {np.median(worth):.1f} | " + " | ".join(cells) + " |"


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--replicates", type=int, default=50)
    parser.add_argument("--only", default="", help="part of a scenario's name")
    asked = parser.parse_args()
    sys.stdout.write(
        "| tank and schedule | worth in pairs | pairs as read | pairs corrected | one steady use | "
        "mixture |\n" + "|---" * 6 + "|\n"
    )
    for i, s in enumerate((*SCHEDULES, *EVENTS)):
        if asked.only in s.name:
            sys.stdout.write(one_row(s, asked.replicates, i) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
