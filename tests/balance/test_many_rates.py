"""Many series at once against one at a time."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import linregress

from reef_calc.balance.many_fits import least_squares_rates
from reef_calc.balance.many_rates import many_rates
from reef_calc.balance.mixture_priors import Priors
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import InputError
from tests.balance.mixture_cases import CALM, a_tank


def as_frame(name: str, seed: int, n: int) -> pd.DataFrame:
    times, levels, log = a_tank(seed, n)
    c = balance_columns(times, log)
    return pd.DataFrame(
        {
            "series": name, "time": times, "level": levels, "sd": 0.15, "resolution": 0.1,
            "g": c.g, "h": c.h, "d": c.d, "p": c.p,
        }
    )  # fmt: skip


def tanks() -> pd.DataFrame:
    sizes = {"north": 25, "south": 18, "nursery": 40, "new": 2}
    frames = [as_frame(name, seed, n) for seed, (name, n) in enumerate(sizes.items())]
    return pd.concat(frames, ignore_index=True)


def one_of(frame: pd.DataFrame, name: str) -> pd.DataFrame:
    return frame[frame["series"] == name]


def test_the_mixture_of_each_is_that_of_one() -> None:
    frame = tanks()
    found = many_rates(frame).set_index("series")
    times, levels, log = a_tank(0, 25)
    # Doses kept the scale of the use up there, as a schedule cannot here: the same scale for both.
    now = current_rate(times, levels, WaterEvents(), sd=0.15, resolution=0.1,
                       balance=balance_columns(times, log))  # fmt: skip
    assert found.loc["north", ["rate", "low", "high"]].tolist() == pytest.approx(
        [now.rate, now.low, now.high], rel=1e-9
    )
    assert found.loc["north", "p_not_constant"] == pytest.approx(now.p_not_constant, abs=1e-9)
    assert found.loc["new", "why_not"] == "fewer than 3 readings"
    assert np.isnan(found.loc["new", "rate"])


@pytest.mark.parametrize("how", ["mixture", "one walk", "least squares"])
def test_a_partition_gives_the_rows_of_the_whole(how: str) -> None:
    frame = tanks()
    whole = many_rates(frame, how=how)  # type: ignore[arg-type]
    parts = pd.concat(
        [many_rates(one_of(frame, name), how=how) for name in whole["series"]],  # type: ignore[arg-type]
        ignore_index=True,
    )
    pd.testing.assert_frame_equal(whole, parts)
    mixed = many_rates(frame.sort_values("time"), how=how).set_index("series")  # type: ignore[arg-type]
    pd.testing.assert_frame_equal(mixed.loc[whole["series"]].reset_index(), whole)


def test_processes_give_the_same_rows() -> None:
    frame = tanks()
    pd.testing.assert_frame_equal(many_rates(frame, processes=2), many_rates(frame))


def test_one_walk_is_the_single_component() -> None:
    frame = tanks()
    found = many_rates(frame, how="one walk").set_index("series")
    slopes = many_rates(frame, how="least squares").set_index("series")
    one = Priors(day_to_day=(0.1,), day_to_day_weights=(1.0,), **CALM)  # type: ignore[arg-type]
    for seed, (name, n) in enumerate([("north", 25), ("south", 18), ("nursery", 40)]):
        times, levels, log = a_tank(seed, n)
        now = current_rate(times, levels, log, sd=0.15, resolution=0.1, prior=one,
                           rate_scale=abs(slopes.loc[name, "rate"]))  # fmt: skip
        assert found.loc[name, ["rate", "low", "high"]].tolist() == pytest.approx(
            [now.rate, now.low, now.high], rel=1e-8
        )


def test_least_squares_is_that_of_a_library() -> None:
    rng = np.random.default_rng(5)
    times = np.sort(rng.uniform(0, 30, 12))
    levels = 1350 - 0.7 * times + rng.normal(0, 0.01, 12)
    step = np.diff(times, prepend=times[0])[:, None]
    fit = least_squares_rates(levels[:, None], np.ones((12, 1)), step, np.zeros((12, 1)))
    line = linregress(times, levels)
    assert fit.rate[0] == pytest.approx(-line.slope, rel=1e-11)
    # t(0.975, 10) = 2.228139 (any printed table of the t distribution)
    assert (fit.high - fit.low)[0] / 2 == pytest.approx(2.2281388520 * line.stderr, rel=1e-9)


def test_unlike_readings_are_weighted() -> None:
    frame = one_of(tanks(), "north").copy()
    frame.loc[frame.index[5], "level"] += 50
    frame.loc[frame.index[5], "sd"] = 1e6
    less = frame.drop(index=frame.index[5])
    less_intervals = balance_columns(less["time"].to_numpy(), a_tank(0, 25)[2])
    less = less.assign(g=less_intervals.g, h=less_intervals.h, d=less_intervals.d,
                       p=less_intervals.p)  # fmt: skip
    for how in ("one walk", "least squares"):
        a = many_rates(frame, how=how)  # type: ignore[arg-type]
        b = many_rates(less, how=how)  # type: ignore[arg-type]
        assert a["rate"].iloc[0] == pytest.approx(b["rate"].iloc[0], rel=1e-5)


def test_it_says_what_is_missing() -> None:
    frame = tanks()
    with pytest.raises(InputError, match="without g"):
        many_rates(frame.drop(columns="g"))
    with pytest.raises(InputError, match="a name for each series"):
        many_rates(frame.assign(series=frame["series"].where(frame.index != 3)))
    with pytest.raises(InputError, match="row 3"):
        many_rates(frame.assign(level=frame["level"].where(frame.index != 3)))
    with pytest.raises(InputError, match="do not decrease"):
        many_rates(frame.iloc[::-1])
    with pytest.raises(InputError, match="least squares"):
        many_rates(frame, how="median")  # type: ignore[arg-type]


def test_no_readings_give_no_rows_but_all_columns() -> None:
    empty = many_rates(tanks().iloc[:0])
    assert len(empty) == 0
    assert list(empty.columns) == list(many_rates(tanks()).columns)
    assert empty.dtypes.drop("series").equals(many_rates(tanks()).dtypes.drop("series"))


def test_all_readings_at_one_time_are_refused_in_words() -> None:
    frame = one_of(tanks(), "north").assign(time=0.0, g=1.0, h=0.0, d=0.0, p=0.0)
    for how in ("mixture", "one walk", "least squares"):
        found = many_rates(frame, how=how)  # type: ignore[arg-type]
        assert np.isnan(found["rate"].iloc[0])
        assert found["why_not"].iloc[0]


def test_dask_runs_it_unchanged() -> None:
    """Partitions by series under ``map_partitions`` give the same rows as one frame."""
    pytest.importorskip("pyarrow")
    dd = pytest.importorskip("dask.dataframe")
    frame = tanks().sort_values("series", kind="stable", ignore_index=True)
    alone = many_rates(frame, how="mixture")
    frame["series"] = frame["series"].astype(object)
    parts = dd.from_map(
        lambda name: one_of(frame, name), sorted(set(frame["series"])), meta=frame.iloc[:0]
    )
    found = parts.map_partitions(many_rates, meta=alone.iloc[:0]).compute(scheduler="synchronous")
    pd.testing.assert_frame_equal(
        found.sort_values("series").reset_index(drop=True),
        alone.sort_values("series").reset_index(drop=True),
        check_dtype=False,
    )
