"""One shared offset for a joined history: columns, coverage, and a rate that gets better."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.kit_steps import new_water_share, steps_between_kits
from reef_calc.balance.record import element_record
from reef_calc.balance.steady_use import KnownColumn, steady_use
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.log.joins import Join
from reef_calc.log.joins_file import add_join
from reef_calc.log.tank import open_tank
from tests.balance.joined_tanks import CHANGE_DAY, joined_folder, stored
from tests.tank_cases import MACHINE_WORDS, ONE_OF_MANY

UNTIL = pd.Timestamp("2026-12-31", tz="UTC")


def columns_of(tank: object) -> list[KnownColumn]:
    return element_record(tank, "alkalinity", "dKH", UNTIL).offset_columns()  # type: ignore[arg-type]


# --- Nothing changes without joins --------------------------------------------------------------


@pytest.mark.parametrize(
    "join",
    [
        Join("calcium", CHANGE_DAY, "kit B", "", "kit A", "", 9, 4, "mg/L", "study", "old kit"),
        Join("alkalinity", CHANGE_DAY, "kit Z", "", "kit A", "", 1, 1, "dKH", "study", "old kit"),
    ],
    ids=["another element", "a kit that was never read"],
)
def test_a_join_that_does_not_bear_on_the_readings_changes_no_digit(
    tmp_path: Path, join: Join
) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(7), overlap=2)
    before = estimate_consumption(open_tank(folder), "alkalinity")
    add_join(folder, join)
    after = estimate_consumption(open_tank(folder), "alkalinity")
    assert (after.rate, after.low, after.high) == (before.rate, before.low, before.high)
    assert after.against_dose == before.against_dose
    pd.testing.assert_frame_equal(after.months, before.months, check_exact=True)
    pd.testing.assert_frame_equal(after.budget, before.budget, check_exact=True)
    new = [m for m in after.messages if m not in before.messages]
    assert [m.code for m in new] == ([] if join.element == "calcium" else ["JOIN_UNUSED"])


# --- Columns ------------------------------------------------------------------------------------


def test_the_column_is_the_old_readings_less_their_new_water(tmp_path: Path) -> None:
    tank = stored(joined_folder(tmp_path, np.random.default_rng(1)), 0.5, 0.1)
    record = element_record(tank, "alkalinity", "dKH", UNTIL)
    [column] = record.offset_columns()
    of_a = (record.sessions["kit"] == "kit A").to_numpy(float)
    by_a = np.array([g == ("kit A", "") for g in record.new_water.by_change])
    wn = new_water_share(record.balance(), record.events, by_a)
    assert 0 < by_a.sum() < by_a.size
    np.testing.assert_allclose(column.values, -(of_a - wn), atol=1e-15)
    assert (column.centre, column.u) == (0.5, 0.1)


@pytest.mark.parametrize("read_by", ["old kit", "new kit", "kit in use"])
def test_without_noise_the_truth_comes_back_whichever_kit_read_the_new_water(read_by: str) -> None:
    """A closed loop: levels on two scales, new water on the scale that read it."""
    t, turn, higher, use = np.arange(0.0, 60.1, 2.0), 30.0, 0.5, 1.2
    changes = np.arange(3.5, 60, 7.0)
    fraction = np.full(changes.size, 0.1)
    truth = balance_columns(t, WaterEvents(
        rate_starts=[0.0], rate_stops=[60.0], rates=[1.0],
        change_times=changes, change_fractions=fraction, change_levels=np.full(changes.size, 8.0),
    ))  # fmt: skip
    levels = 8 * truth.G + truth.D - use * truth.H + higher * (t >= turn)
    by_b = {"old kit": changes < 0, "new kit": changes >= 0, "kit in use": changes >= turn}[read_by]
    as_read = WaterEvents(
        rate_starts=[0.0], rate_stops=[60.0], rates=[1.0], change_times=changes,
        change_fractions=fraction, change_levels=8.0 + higher * by_b,
    )  # fmt: skip
    balance = balance_columns(t, as_read)
    old = (t < turn) - new_water_share(balance, as_read, ~by_b)
    fit = steady_use(t, levels, as_read, sd=0.15, columns=[KnownColumn("join", -old, 0.0, 50.0)])
    # On the scale of the new kit: the truth moved up as a whole, and the same use.
    assert fit.factor("join")[0] == pytest.approx(higher, abs=1e-3)
    assert fit.rate == pytest.approx(use, abs=1e-4)


def test_a_replacement_whose_kit_reads_the_new_water_looks_like_an_unlogged_dose() -> None:
    """1 − Wn from the change on is G/G_u: only overlap or a standard tells the two apart."""
    t, u = np.arange(0.0, 60.1, 2.0), 30.0
    changes = np.arange(3.5, 60, 7.0)
    log = WaterEvents(
        change_times=changes, change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, 8.0),
    )  # fmt: skip
    balance = balance_columns(t, log)
    wn = new_water_share(balance, log, changes > u)
    late = t >= u
    at_u = balance.G[t == u]
    np.testing.assert_allclose(1 - wn[late], balance.G[late] / at_u, atol=1e-12)
    assert (1 - wn)[-1] == pytest.approx(0.59049, abs=1e-12)


def test_a_chain_of_replacements_moves_the_oldest_by_all_of_them(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(3))
    lines = (folder / "readings.csv").read_text().splitlines()
    third = [line.replace("kit B", "kit C") if "2026-05-1" in line else line for line in lines]
    (folder / "readings.csv").write_text("\n".join(third) + "\n")
    add_join(folder, replace(stored(folder, 0.5, 0.1).joins[0], start=dt.date(2026, 5, 10),
                             kit="kit C", relative_to_kit="kit B", mean=-0.2, u=0.05))  # fmt: skip
    tank = open_tank(folder)
    near, far = steps_between_kits(element_record(tank, "alkalinity", "dKH", UNTIL))
    assert (near.far, near.beyond) == (("kit B", ""), (("kit B", ""), ("kit A", "")))
    assert (far.far, far.beyond) == (("kit A", ""), (("kit A", ""),))
    assert (near.column.centre, far.column.centre) == (-0.2, 0.5)
    joined = estimate_consumption(tank, "alkalinity").joined
    assert joined is not None
    a, b = joined.of("kit A", ""), joined.of("kit B", "")
    assert a is not None
    assert b is not None
    assert a.shift == pytest.approx(sum(j.difference for j in joined.joins))
    assert a.half > b.half


def test_a_stored_correction_is_not_counted_twice(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(4))
    kits = (folder / "kits.toml").read_text()
    more = '[[kit."kit B".correction]]\nfrom = 2026-01-01\noffset = -0.4\nu = 0.05\n'
    (folder / "kits.toml").write_text(kits + more)
    [column] = columns_of(stored(folder, 0.5, 0.1))
    assert column.centre == pytest.approx(0.1)


# --- Shared against independent ------------------------------------------------------------------


def test_one_shared_offset_covers_and_independent_noise_does_not() -> None:
    """Constant use, 60 days, old readings corrected by an estimate with u = 2 SDs.

    Own simulations gave .62 without an uncertainty, .61 as noise and .95 shared (COMPUTED).
    """
    rng = np.random.default_rng(20260504)
    t, s, u, n = np.arange(0.0, 60.1, 2.5), 0.15, 0.3, 200
    old = (t < 30).astype(float)
    log = WaterEvents(rate_starts=[0.0], rate_stops=[61.0], rates=[1.0])
    balance = balance_columns(t, log)
    options = {"sd": s, "day_to_day": [0.0], "weights": [1.0], "balance": balance}
    shared = KnownColumn("join", old, 0.0, u)
    as_noise = np.where(old > 0, 1 + (u / s) ** 2, 1.0)
    covered, widths = np.zeros(3), np.zeros(3)
    for _ in range(n):
        y = 8 + s * rng.standard_normal(t.size) + old * u * rng.standard_normal()
        fits = (
            steady_use(t, y, log, **options),
            steady_use(t, y, log, noise=as_noise, **options),
            steady_use(t, y, log, columns=[shared], **options),
        )
        covered += [fit.low <= 1.0 <= fit.high for fit in fits]
        widths += [fit.high - fit.low for fit in fits]
    nothing, independent, one = covered / n
    assert nothing < 0.75
    assert independent < 0.75
    assert one > 0.91
    # The noise costs width and buys nothing.
    assert widths[1] > widths[0]


def test_the_join_makes_the_rate_after_the_change_better(tmp_path: Path) -> None:
    """Two weeks after the change; without a kit's name the log knows nothing of it."""
    errors: dict[str, list[float]] = {"none": [], "joined": [], "known": []}
    halves: dict[str, list[float]] = {"none": [], "joined": [], "known": []}
    for seed in range(6):
        folder = joined_folder(
            tmp_path / str(seed), np.random.default_rng(seed), higher=0.6, length=70.0
        )
        readings = (folder / "readings.csv").read_text()
        (folder / "readings.csv").write_text(readings.replace("kit B", "kit A"))
        unknown = estimate_consumption(open_tank(folder), "alkalinity")
        (folder / "readings.csv").write_text(readings)
        joined = estimate_consumption(stored(folder, 0.6, 0.08), "alkalinity")
        (folder / "joins.toml").unlink()
        known = estimate_consumption(stored(folder, 0.6, 0.001), "alkalinity")
        for name, use in (("none", unknown), ("joined", joined), ("known", known)):
            assert use.rate is not None
            assert use.against_dose is not None
            errors[name].append(abs(use.rate - 1.0))
            halves[name].append((use.against_dose[1] - use.against_dose[0]) / 2)
    assert np.mean(errors["joined"]) <= np.mean(errors["none"]) * 1.02
    assert np.mean(halves["joined"]) < 0.95 * np.mean(halves["none"])
    # To know it exactly is worth hardly more here: the new water was read with both kits.
    assert np.mean(halves["known"]) == pytest.approx(np.mean(halves["joined"]), rel=0.05)


# --- What is said --------------------------------------------------------------------------------


def said(tank: object) -> dict[str, str]:
    use = estimate_consumption(tank, "alkalinity")  # type: ignore[arg-type]
    texts = {m.code: m.text for m in use.messages}
    for text in texts.values():
        assert not MACHINE_WORDS.search(text)
        assert not ONE_OF_MANY.search(text)
        assert "e+0" not in text
        assert "e-0" not in text
    return texts


def test_overlap_settles_the_difference_and_nothing_is_assumed(tmp_path: Path) -> None:
    tank = stored(joined_folder(tmp_path, np.random.default_rng(1), overlap=5))
    texts = said(tank)
    assert "JOIN_ONE_SIDED" not in texts
    assert "LOT_CHANGED" not in texts
    assert texts["JOINED"].startswith("Readings with kit A are taken to the scale of kit B: +0.")
    joined = estimate_consumption(tank, "alkalinity").joined
    assert joined is not None
    [join] = joined.joins
    assert join.overlap == 5
    assert join.low < 0.5 < join.high
    assert join.half < 0.22  # about 1.2 SDs


def test_without_overlap_the_assumption_is_said(tmp_path: Path) -> None:
    texts = said(stored(joined_folder(tmp_path, np.random.default_rng(2))))
    assert "between 28 Apr 2026 and 30 Apr 2026" in texts["JOIN_ONE_SIDED"]


def test_a_stored_difference_that_the_log_contradicts_is_doubted(tmp_path: Path) -> None:
    for seed in (5, 8, 9):
        folder = joined_folder(tmp_path / str(seed), np.random.default_rng(seed))
        wrong = said(stored(folder, -0.8, 0.1))["JOIN_DISAGREES"]
        assert "reads −0.8 ± 0.2 dKH against kit A" in wrong or "The level steps" in wrong
        (folder / "joins.toml").unlink()
        assert "JOIN_DISAGREES" not in said(stored(folder, 0.5, 0.1))


def test_what_the_difference_leaves_open_in_the_use_is_a_number(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(6), cv=0.0)
    texts = said(stored(folder, 0.5, 0.05))
    assert texts["JOIN_USE"].startswith("The kit changed on 30 Apr 2026.")
    percent = float(texts["JOIN_USE"].split("no more than ")[1].split(" %")[0])
    (folder / "joins.toml").unlink()
    sure, unsure = (
        steady_half(folder, u) for u in (1e-4, 0.05)
    )  # fmt: skip
    # What it adds in quadrature is no more than that share of a use of about 1.
    assert np.sqrt(max(unsure**2 - sure**2, 0.0)) <= percent / 100 + 0.002


def steady_half(folder: Path, u: float) -> float:
    use = estimate_consumption(stored(folder, 0.5, u), "alkalinity")
    (folder / "joins.toml").unlink()
    assert use.against_dose is not None
    return (use.against_dose[1] - use.against_dose[0]) / 2
