"""Speed of the lines between two kits, and how often their intervals cover the true difference.

Run on demand, for example ``python comparison.py --replicates 400``; everything has a fixed seed.
The scenarios are assumptions; the figures are COMPUTED.
"""

from __future__ import annotations

import argparse
import math
import resource
import sys
from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter

import numpy as np
from scipy.special import stdtrit

from reef_calc.compare.bias_at import bias_at
from reef_calc.compare.identifiability import identifiability
from reef_calc.compare.jackknife import Floats
from reef_calc.compare.lines import deming_line, ols_line, weighted_deming_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.passing_bablok import passing_bablok_line

SEED = 62_000
WATERS = 15
# The kits' true line: kit B shows 5 % more of every step and agrees at 8.
SLOPE, AGREE = 1.05, 8.0


@dataclass(frozen=True)
class Scenario:
    """Waters, scatter of both kits (SD, or share of the level), steps, and the level asked for."""

    name: str
    low: float
    high: float
    sd_a: float
    sd_b: float
    at: float
    share: bool = False
    step_a: float = 0.1
    step_b: float = 0.1

    def study(self, random: np.random.Generator) -> tuple[Floats, Floats]:
        """Return what both kits read."""
        level = random.uniform(self.low, self.high, WATERS)
        other = AGREE + SLOPE * (level - AGREE)
        scale_a, scale_b = (level, other) if self.share else (1.0, 1.0)
        a = level + random.normal(0, 1, WATERS) * self.sd_a * scale_a
        b = other + random.normal(0, 1, WATERS) * self.sd_b * scale_b
        return np.round(a / self.step_a) * self.step_a, np.round(b / self.step_b) * self.step_b

    @property
    def ratio(self) -> float:
        """Error variance of A over that of B, rounding included where it is no share."""
        steps = (0.0, 0.0) if self.share else (self.step_a**2 / 12, self.step_b**2 / 12)
        return (self.sd_a**2 + steps[0]) / (self.sd_b**2 + steps[1])


SCENARIOS = (
    Scenario("stable tank, at its level", 7.7, 8.3, 0.10, 0.20, 8.0),
    Scenario("stable tank, 2 above it", 7.7, 8.3, 0.10, 0.20, 10.0),
    Scenario("coarse noisy kit A, 2 above", 7.0, 9.0, 0.50, 0.15, 10.0, step_a=0.5),
    Scenario("wide range, at 12", 4.0, 14.0, 0.15, 0.15, 12.0),
    Scenario("wide, CV 2 % and 5 %, at 6", 4.0, 14.0, 0.02, 0.05, 6.0, share=True),
    Scenario("wide, both read to 0.5, at 12", 4.0, 14.0, 0.10, 0.10, 12.0, step_a=0.5, step_b=0.5),
)


def say(text: str) -> None:
    """Write one line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def mean_difference(x: Floats, y: Floats) -> tuple[float, float, float]:
    """Return the mean difference with its t-interval."""
    d = y - x
    half = stdtrit(len(d) - 1, 0.975) * d.std(ddof=1) / math.sqrt(len(d))
    return d.mean(), d.mean() - half, d.mean() + half


def methods(scenario: Scenario) -> dict[str, Callable[[Floats, Floats], tuple]]:
    """Return the ways to a bias at the scenario's level, each with its interval."""
    ratio, step_a, step_b = scenario.ratio, scenario.step_a, scenario.step_b

    def at(line: object) -> tuple[float, float, float]:
        found = bias_at(line, [scenario.at])[0]  # type: ignore[arg-type]
        return found.bias, found.low, found.high

    return {
        "mean difference": mean_difference,
        "least squares": lambda x, y: at(ols_line(x, y)),
        "Deming, right ratio": lambda x, y: at(deming_line(x, y, error_ratio=ratio)),
        "Deming, ratio 1": lambda x, y: at(deming_line(x, y, error_ratio=1.0)),
        "weighted Deming": lambda x, y: at(weighted_deming_line(x, y, error_ratio=ratio)),
        "median of slopes": lambda x, y: at(
            passing_bablok_line(x, y, resolution_x=step_a, resolution_y=step_b, most_ties=1.0)
        ),
    }


def coverage(replicates: int) -> None:
    """Print median error, coverage and median half-width of every method, and how often it speaks."""
    say(f"\n{WATERS} waters, {replicates} studies each: median error / coverage / median half-width"
        " (share of studies without a line)")  # fmt: skip
    for number, scenario in enumerate(SCENARIOS):
        random = np.random.default_rng(SEED + number)
        studies = [scenario.study(random) for _ in range(replicates)]
        true = (SLOPE - 1.0) * (scenario.at - AGREE)
        opened = [identifiability(x, y, unit="dKH").may_draw_line for x, y in studies]
        say(f"{scenario.name} (gate open in {100 * np.mean(opened):.0f} %)")
        for name, method in methods(scenario).items():
            found = []
            for x, y in studies:
                try:
                    found.append(method(x, y))
                except NoLineError:
                    continue
            if not found:
                say(f"    {name:20} none")
                continue
            bias, low, high = np.array(found).T
            none = 100 * (1 - len(found) / replicates)
            say(f"    {name:20} {np.median(bias) - true:+.3f} / "
                f"{np.mean((low <= true) & (true <= high)):.3f} / "
                f"{np.median((high - low) / 2):.3f}   ({none:.0f} %)")  # fmt: skip


def locked_on_steps(replicates: int) -> None:
    """Print what the median of slopes finds when both kits are read to 0.5."""
    random = np.random.default_rng(SEED + 100)
    found = []
    for _ in range(replicates):
        x, y = SCENARIOS[-1].study(random)
        found.append(passing_bablok_line(x, y, resolution_x=0.5, resolution_y=0.5, most_ties=1.0))
    slopes = np.array([line.slope for line in found])
    covers = [line.slope_low <= SLOPE <= line.slope_high for line in found]
    say(f"\nread to 0.5: slope exactly 1 in {100 * np.mean(slopes == 1.0):.0f} % of studies, median "
        f"{np.median(slopes):.3f} (true {SLOPE}), its interval covers in {np.mean(covers):.3f}")  # fmt: skip


def speeds() -> None:
    """Print how long each line takes, as shares of one line of 2,000 waters."""
    random = np.random.default_rng(SEED)
    level = random.uniform(4, 14, 2000)
    x = np.round(level + random.normal(0, 0.1, 2000), 2)
    y = np.round(SLOPE * level + random.normal(0, 0.1, 2000), 2)
    few = x[:40], y[:40]
    works: dict[str, Callable[[], object]] = {
        "median of slopes, 2,000 waters": lambda: passing_bablok_line(
            x, y, resolution_x=0.01, resolution_y=0.01
        ),
        "median of slopes, 40": lambda: passing_bablok_line(*few),
        "Deming with its jackknife, 40": lambda: deming_line(*few, error_ratio=1.0),
        "weighted Deming with its jackknife, 40": lambda: weighted_deming_line(
            *few, error_ratio=1.0
        ),
        "gate, 40": lambda: identifiability(*few, unit="dKH"),
    }
    for name, work in works.items():
        best = math.inf
        for _ in range(3):
            start = perf_counter()
            work()
            best = min(best, perf_counter() - start)
        say(f"{name}: {1000 * best:.2f} ms")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    say(f"largest memory of the whole run: {peak:.0f} MB")


def main() -> None:
    """Run everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--replicates", type=int, default=400)
    replicates = parser.parse_args().replicates
    speeds()
    coverage(replicates)
    locked_on_steps(replicates)


if __name__ == "__main__":
    main()
