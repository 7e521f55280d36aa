"""Speed of the current rate and of many series: run on demand, ratios in one run."""

from __future__ import annotations

import argparse
import sys
from time import perf_counter

import numpy as np
import pandas as pd

from reef_calc.balance.many_fits import least_squares_rates, walk_rates
from reef_calc.balance.many_rates import many_rates
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.water_balance import WaterEvents, balance_columns


def say(text: str) -> None:
    """Write one line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def best_of(work: object, times: int = 5) -> float:
    """Return the shortest of several runs (seconds)."""
    found = []
    for _ in range(times):
        start = perf_counter()
        work()  # type: ignore[operator]
        found.append(perf_counter() - start)
    return min(found)


def tank(n: int, days: float, seed: int) -> tuple[np.ndarray, np.ndarray, WaterEvents]:
    """Return times (d), levels (dKH) and log of one invented tank."""
    rng = np.random.default_rng(seed)
    changes = np.arange(3.5, days, 7)
    log = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[days],
        rates=[1.0],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, 8.0),
    )
    return np.linspace(0, days, n), 8 + rng.normal(0, 0.15, n), log


def main() -> None:
    """Print times."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--series", type=int, default=10_000)
    parser.add_argument("--mixtures", type=int, default=200)
    parser.add_argument("--processes", type=int, default=1)
    asked = parser.parse_args()
    for n, days in ((10, 21), (40, 90), (150, 365), (500, 1200), (2000, 4800)):
        t, y, log = tank(n, days, 1)
        c = balance_columns(t, log)

        def run(t=t, y=y, log=log, c=c):
            return current_rate(t, y, log, sd=0.15, resolution=0.1, balance=c)

        now = run()
        say(
            f"mixture, {n} readings: {1e3 * best_of(run):.1f} ms, with history "
            f"{1e3 * best_of(lambda run=run: run().history, 2):.1f} ms, rate {now.rate:.4f}"
        )
    n, m = 500, asked.series
    rng = np.random.default_rng(2)
    t, _, log = tank(n, 1200, 2)
    c = balance_columns(t, log)
    g, h, d, p = (np.repeat(x[:, None], m, axis=1) for x in (c.g, c.h, c.d, c.p))
    level = 8 + rng.normal(0, 0.15, (n, m))

    def sums() -> None:
        for a, b in ((g, g), (g, h), (h, h), (g, level), (h, level)):
            np.einsum("ij,ij->j", a, b)

    def slopes() -> None:
        for at in range(0, m, 5000):
            part = slice(at, at + 5000)
            least_squares_rates(level[:, part], g[:, part], h[:, part], d[:, part])

    bare, closed = best_of(sums, 3), best_of(slopes, 3)
    say(
        f"{m} x {n}: bare sums {bare:.3f} s, least squares {closed:.3f} s, ratio {closed / bare:.2f}"
    )
    one = np.ones_like(level)
    s0, scale = np.full(m, 0.15), np.ones(m)
    say(
        f"{m} x {n}: one walk {best_of(lambda: walk_rates(level, g, h, d, p, one, s0, scale), 2):.2f} s"
    )
    frames = []
    for i in range(asked.mixtures):
        t, y, log = tank(150, 365, i)
        c = balance_columns(t, log)
        frames.append(
            pd.DataFrame(
                {
                    "series": i,
                    "time": t,
                    "level": y,
                    "sd": 0.15,
                    "resolution": 0.1,
                    "g": c.g,
                    "h": c.h,
                    "d": c.d,
                    "p": c.p,
                }
            )
        )
    frame = pd.concat(frames, ignore_index=True)
    spent = best_of(lambda: many_rates(frame, processes=asked.processes), 1)
    say(
        f"mixture, {asked.mixtures} series x 150 with {asked.processes} processes: {spent:.2f} s, "
        f"{1e3 * spent / asked.mixtures:.1f} ms a series"
    )


if __name__ == "__main__":
    main()
