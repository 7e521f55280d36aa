"""How often the interval of the current rate covers the truth, and what is found falsely.

Run on demand, for example ``python coverage.py --replicates 50``; everything has a fixed seed.
The scenarios and their parameters are assumptions; the figures are COMPUTED.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from itertools import pairwise
from time import perf_counter

import numpy as np
from simulated_tank import (
    ALKALINITY,
    CALCIUM,
    DECLARED,
    INSIDE,
    OUTSIDE,
    PUMP,
    Scenario,
    Simulated,
    mixed_scenario,
    simulate,
)

from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_priors import Priors
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import balance_columns
from reef_calc.errors import CannotTellError

SEED = 51_000
CALM = Priors(gross_share=0.0, change_per_day=0.0, dose_per_day=0.0, lot_per_day=0.0)
EDGES = (0, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.97, 1.0)


def say(text: str) -> None:
    """Write one line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def fit(x: Simulated, prior: Priors = Priors()) -> CurrentRate:  # noqa: B008
    """Return the mixture's answer for a simulated series."""
    changes = [x.changed_at] if x.scenario.declared and x.changed_at is not None else []
    lots = [x.step_at] if x.scenario.declared and x.step_is_lot else []
    return current_rate(x.times, x.levels, x.log, sd=x.sd, resolution=x.resolution, prior=prior,
                        declared_changes=changes, declared_lots=lots)  # fmt: skip


def oracle(x: Simulated, after_change_only: bool = False) -> float:
    """Return the rate by least squares that knows scatter, slips, and the moment of a change."""
    use = x.scenario.element.use
    cv = float(np.hypot(x.cv, PUMP)) if x.cv else 0.0
    prior = replace(CALM, day_to_day=(cv,), day_to_day_weights=(1.0,),
                    drift=(x.scenario.drift,), drift_weights=(1.0,))  # fmt: skip
    keep = ~x.gross
    if after_change_only and x.changed_at is not None:
        keep &= x.times >= x.changed_at
    times, levels = x.times[keep], x.levels[keep]
    columns, ago = [], x.changed_at
    if ago is not None and not after_change_only:
        span = balance_columns(times, x.log, [(times[0], max(ago, times[0]))])
        columns.append(KnownColumn("less before", span.S[:, 0]))
    if x.step_at is not None:
        # One column of a step in the reading, as a lot makes it; not meaningful for a lost dose.
        columns.append(KnownColumn("step", (times >= x.step_at).astype(float)))
    try:
        return current_rate(times, levels, x.log, sd=x.sd, resolution=x.resolution, prior=prior,
                            columns=columns, rate_scale=use).rate  # fmt: skip
    except CannotTellError:
        return np.nan


def root_mean_square(values: np.ndarray) -> float:
    """Return the root of the mean square of what is known."""
    known = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(known**2))) if known.size else np.nan


def one_row(s: Scenario, replicates: int, seed: int) -> str:
    """Return the line of a scenario."""
    half, error, best, after, covered, flags, quiet, ms = ([] for _ in range(8))
    for r in range(replicates):
        x = simulate(s, np.random.default_rng([SEED, seed, r]))
        start = perf_counter()
        now = fit(x)
        ms.append(1e3 * (perf_counter() - start))
        scale = 100 / abs(x.truth)
        covered.append(now.low <= x.truth <= now.high)
        half.append((now.high - now.low) / 2 * scale)
        error.append((now.rate - x.truth) * scale)
        best.append((oracle(x) - x.truth) * scale)
        if s.change:
            after.append((oracle(x, True) - x.truth) * scale)
        flags.append((now.p_changed > 0.5, now.p_changed > 0.8, now.p_not_constant > 0.8,
                      now.p_step > 0.8, bool((now.p_gross[~x.gross] > 0.8).any()),
                      bool((now.p_gross > 0.8).any())))  # fmt: skip
        steady = now.if_nothing_changed
        if steady is not None:
            quiet.append(
                (steady.low <= x.truth <= steady.high, (steady.high - steady.low) / 2 * scale)
            )
    e, b = np.array(error), np.array(best)
    f = 100 * np.array(flags).mean(axis=0)
    ratio = root_mean_square(e) / root_mean_square(b)
    segment = "-"
    if after and np.isfinite(after).mean() > 0.8:
        told = root_mean_square(np.array(after))
        segment = f"{told:.2f}, {root_mean_square(e) / told:.2f}"
    line = "-"
    if quiet:
        c, w = np.array(quiet, dtype=float).T
        line = f"{100 * c.mean():.0f}/{np.median(w):.2f}"
    return (
        f"| {s.name} | {100 * np.mean(covered):.1f} | {np.median(half):.2f} | {e.mean():+.2f} | "
        f"{root_mean_square(e):.2f} | {root_mean_square(b):.2f} | {ratio:.2f} | "
        f"{np.median(np.abs(e)):.2f} / {np.nanmedian(np.abs(b)):.2f} | {segment} | "
        f"{f[0]:.0f} / {f[1]:.0f} | {f[2]:.0f} | {f[3]:.0f} | {f[5]:.0f} ({f[4]:.0f}) | {line} | "
        f"{np.median(ms):.1f} |"
    )


def table(scenarios: tuple[Scenario, ...], replicates: int, seed: int, only: str) -> None:
    """Print one line for each scenario."""
    say("| scenario | cov % | half % | bias % | RMSE % | oracle RMSE % | ratio | median error / oracle | "
        "after the change only: RMSE, ratio | P(changed) >.5 / >.8 % | not constant >.8 % | "
        "step >.8 % | gross >.8 % (false) | if nothing changed: cov/half | ms |")  # fmt: skip
    say("|" + "---|" * 15)
    for i, s in enumerate(scenarios):
        if only in s.name:
            say(one_row(s, replicates, seed + i))


def reliability(replicates: int) -> None:
    """Print how often what was said came true in a mixed population."""
    said: dict[str, list[float]] = {k: [] for k in ("change", "not constant", "step", "gross")}
    true: dict[str, list[bool]] = {k: [] for k in said}
    covered, half, ages = [], [], []
    for r in range(replicates):
        rng = np.random.default_rng([SEED, 9000, r])
        x = simulate(mixed_scenario(rng), rng)
        now = fit(x)
        changed = x.changed_at is not None
        for kind, p, happened in (
            ("change", now.p_changed, changed),
            ("not constant", now.p_not_constant, changed),
            ("step", now.p_step, x.step_at is not None),
        ):
            said[kind].append(p)
            true[kind].append(happened)
        said["gross"].extend(now.p_gross)
        true["gross"].extend(x.gross)
        covered.append(now.low <= x.truth <= now.high)
        half.append((now.high - now.low) / 2 / x.truth * 100)
        ages.append(x.scenario.changed_ago if changed else np.inf)
    c, a = np.array(covered), np.array(ages)
    say(f"\nmixed population, {replicates} series: coverage {100 * c.mean():.1f} % "
        f"({100 * c[np.isinf(a)].mean():.1f} without, {100 * c[np.isfinite(a)].mean():.1f} with a "
        f"change), median half-width {np.median(half):.1f} %")  # fmt: skip
    for low, high in ((0, 5), (5, 10), (10, 20), (20, 40), (40, 1e9)):
        k = (a >= low) & (a < high) & np.isfinite(a)
        if k.any():
            say(f"  changed {low:g}-{high:g} d ago: {100 * c[k].mean():.0f} % of {k.sum()}")
    say("| said | " + " | ".join(f"{k}: n, mean said, happened" for k in said) + " |")
    for low, high in pairwise(EDGES):
        cells = []
        for kind in said:
            p, t = np.array(said[kind]), np.array(true[kind])
            k = (p >= low) & (p < high) if high < 1 else p >= low
            cells.append(f"{k.sum()}, {p[k].mean():.3f}, {t[k].mean():.3f}" if k.any() else "0")
        say(f"| {low:.2f}-{high:.2f} | " + " | ".join(cells) + " |")


def delays(replicates: int) -> None:
    """Print after how many days a change is found when the series is fitted at every reading."""
    say("\n| case | P>.5: median / 90 % (days) | found | P>.8: median / 90 % | found |")
    for name, element, cv, change in (
        ("alk +25", ALKALINITY, 0.0, 0.25),
        ("alk cv10 +25", ALKALINITY, 0.1, 0.25),
        ("alk cv10 -25", ALKALINITY, 0.1, -0.25),
        ("alk cv10 +10", ALKALINITY, 0.1, 0.10),
        ("Ca cv10 +25", CALCIUM, 0.1, 0.25),
    ):
        times = tuple(np.linspace(2.25, 90, 40) - 0.1)
        s = Scenario(name, element, cv=cv, change=change, changed_ago=40.0, times=times)
        found: dict[float, list[float]] = {0.5: [], 0.8: []}
        for r in range(replicates):
            x = simulate(s, np.random.default_rng([SEED, 9500, r]))
            waiting = [0.5, 0.8]
            for i in np.flatnonzero(x.times > 50.0):
                if not waiting:
                    break
                now = current_rate(x.times[: i + 1], x.levels[: i + 1], x.log, sd=x.sd,
                                   resolution=x.resolution)  # fmt: skip
                for p in [p for p in waiting if now.p_changed > p]:
                    found[p].append(x.times[i] - 50.0)
                    waiting.remove(p)
        cells = [
            f"{np.median(d):.1f} / {np.quantile(d, 0.9):.1f} | {len(d)} of {replicates}"
            if d
            else "- | 0"
            for d in found.values()
        ]
        say(f"| {name} | " + " | ".join(cells) + " |")


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--replicates", type=int, default=50)
    parser.add_argument("--only", default="", help="part of a scenario's name")
    parser.add_argument("--parts", default="inside,declared,outside,mixed,delay")
    asked = parser.parse_args()
    parts = asked.parts.split(",")
    for part, scenarios, seed in (
        ("inside", INSIDE, 0), ("declared", DECLARED, 100), ("outside", OUTSIDE, 200)
    ):  # fmt: skip
        if part in parts:
            say(f"\n{part}, {asked.replicates} replicates")
            table(scenarios, asked.replicates, seed, asked.only)
    if "mixed" in parts:
        reliability(5 * asked.replicates)
    if "delay" in parts:
        delays(max(10, asked.replicates // 4))


if __name__ == "__main__":
    main()
