"""Histories that the tests of the mixture share, and dense Gaussian algebra to hold it against."""

from __future__ import annotations

import numpy as np

from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_priors import CHANGE, DOSE, GROSS, LOT
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.water_balance import WaterEvents, balance_columns

SCATTER = np.resize([0.10, -0.05, 0.0, -0.10, 0.05, 0.0, 0.15, -0.15], 31)
DAYS = np.arange(0, 61, 2.0)
CHANGES = np.arange(3.5, 60, 7)
LOG = WaterEvents(
    rate_starts=[0.0],
    rate_stops=[60.0],
    rates=[1.0],
    change_times=CHANGES,
    change_fractions=np.full(CHANGES.size, 0.1),
    change_levels=np.full(CHANGES.size, 8.0),
)
KIT = {"sd": 0.15, "resolution": 0.1}
CALM = {
    "drift": (0.0,),
    "drift_weights": (1.0,),
    "gross_share": 0.0,
    "change_per_day": 0.0,
    "dose_per_day": 0.0,
    "lot_per_day": 0.0,
}
ALL_PATHS = {"kept": 10**6, "worst_kept": 1e9}


def base(faster_from: float = 60.0, later: float = 1.25) -> np.ndarray:
    c = balance_columns(DAYS, LOG, [(0, faster_from), (faster_from, 60)])
    return 8 * c.G + c.D - c.S @ [1.0, later] + SCATTER


def fit(levels: np.ndarray, **options: object) -> CurrentRate:
    return current_rate(DAYS, levels, LOG, **KIT, **options)  # type: ignore[arg-type]


def a_tank(seed: int, n: int = 25) -> tuple[np.ndarray, np.ndarray, WaterEvents]:
    rng = np.random.default_rng(seed)
    times = np.sort(rng.uniform(0, 2.5 * n, n))
    log = WaterEvents(
        dose_times=rng.uniform(0, 2.5 * n, 4),
        dose_rises=rng.uniform(0.1, 0.6, 4),
        rate_starts=[0.0],
        rate_stops=[2.5 * n],
        rates=[0.9],
        change_times=np.arange(3.0, 2.5 * n, 7),
        change_fractions=np.full(len(np.arange(3.0, 2.5 * n, 7)), 0.1),
        change_levels=np.full(len(np.arange(3.0, 2.5 * n, 7)), 8.3),
    )
    levels = 8 + 0.2 * np.cumsum(rng.normal(size=n)) / np.sqrt(n) + rng.normal(0, 0.15, n)
    if seed % 2:
        levels[n // 2 :] += 1.0
    return times, levels, log


def dense(now: CurrentRate, component: int, *, use_at: int = -1) -> tuple[float, float, float]:
    """Mean, scale of the use and S of one component, from one big covariance of all readings."""
    q, prior, events = now.series, now.prior, now.mixture.events
    n = q.times.size
    mean, cov = q.start()
    cv, mu, _ = prior.grid()
    root = events.roots[component]
    rho = q.use**2
    own = events.component == component
    seen, use = q.observation(), np.zeros(mean.size)
    use[1] = 1.0
    F = [np.eye(mean.size) for _ in range(n)]
    Q = [np.zeros((mean.size, mean.size)) for _ in range(n)]
    R = q.noise.copy()
    tau = prior.change_size**2 * rho
    for i in range(1, n):
        F[i][0, :2] = q.g[i], -q.h[i]
        h, d = q.h[i], q.apart[i]
        shape = np.array([[h * h / 3, -h / 2], [-h / 2, 1.0]])
        Q[i][:2, :2] += mu[root] ** 2 * rho * d * shape
        Q[i][0, 0] += cv[root] ** 2 * rho * q.p[i]
    for i, branch in zip(events.reading[own], events.branch[own], strict=True):
        h = q.h[i]
        if branch == GROSS:
            R[i] += prior.gross_sds**2
        if branch == CHANGE:
            Q[i][:2, :2] += tau * np.array([[h * h / 3, -h / 2], [-h / 2, 1.0]])
        if branch == DOSE:
            Q[i][0, 0] += prior.dose_sds**2
        if branch == LOT:
            Q[i][2, 2] += prior.lot_sds**2
    means, joint = [mean], np.zeros((n, n, mean.size, mean.size))
    joint[0, 0] = cov
    for i in range(1, n):
        step = F[i] @ means[-1]
        step[0] += q.d[i]
        means.append(step)
        for j in range(i):
            joint[i, j] = F[i] @ joint[i - 1, j]
            joint[j, i] = joint[i, j].T
        joint[i, i] = F[i] @ joint[i - 1, i - 1] @ F[i].T + Q[i]
    V = np.einsum("id,ijde,je->ij", seen, joint, seen) + np.diag(R)
    e = q.y - np.einsum("id,id->i", seen, np.array(means))
    with_use = np.einsum("d,jde,je->j", use, joint[use_at], seen)
    solved = np.linalg.solve(V, e)
    S = prior.sd_worth + e @ solved
    b = means[use_at][1] + with_use @ solved
    variance = joint[use_at, use_at][1, 1] - with_use @ np.linalg.solve(V, with_use)
    return b, np.sqrt(variance * S / now.degrees_of_freedom), S
