"""What readings say of a new supplement: simulated tanks with a known truth, no source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reef_calc.balance.additions import AdditionHistory
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from reef_calc.plan.did_it_work import ChangeOutcome, did_it_work, outcome_of
from tests.balance.simulated import START, doses, read, record, truth
from tests.folders import SUPPLEMENTS, dose, make_tank, reading

CHANGE = 42.0
Steps = list[tuple[float, float, float]]


def both(old: Steps, new: Steps, *, lag: float = 0.0) -> AdditionHistory:
    """Doses of an old and of a new supplement in one log."""
    first = doses(steps=old, supplement="old")
    second = doses(steps=new, supplement="new", lag=lag)
    return AdditionHistory(
        pd.concat([first.steps, second.steps], ignore_index=True), first.shots, ()
    )


def outcome(
    seed: int, share: float, *, fade: bool = False, lag: float = 0.0, every: float = 2.0
) -> ChangeOutcome:
    rng = np.random.default_rng(seed)
    times = np.arange(0.0, 84.0 + every, every) + 0.25
    old: Steps = [(-5.0, CHANGE, 1.0)]
    new: Steps = [(CHANGE, 95.0, 1.0)]
    if fade:
        old = [(-5.0, CHANGE, 1.0)] + [(CHANGE + i, CHANGE + i + 1, 1 - i / 7) for i in range(7)]
        new = [(CHANGE + i, CHANGE + i + 1, i / 7) for i in range(1, 7)] + [(CHANGE + 7, 95.0, 1.0)]
    told = both(old, new, lag=lag)
    given = both(old, [(a, b, rate * share) for a, b, rate in new], lag=lag)
    levels, _ = truth(times, given, np.ones_like, rng)
    return outcome_of(record(times, read(levels, rng), told), "new")


@pytest.mark.parametrize(("share", "fade", "lag"), [
    (1.0, False, 0.0), (0.75, False, 0.0), (0.8, True, 0.0), (1.25, True, 1.0),
])  # fmt: skip
def test_the_share_is_covered(share: float, fade: bool, lag: float) -> None:
    found = [outcome(seed, share, fade=fade, lag=lag) for seed in range(14)]
    inside = [c.delivered[1] <= share <= c.delivered[2] for c in found if c.delivered]
    assert len(inside) == 14
    assert sum(inside) >= 12
    middle = np.mean([c.delivered[0] for c in found if c.delivered])
    assert middle == pytest.approx(share, abs=0.05)
    decisions = [c.decision for c in found]
    wrong = {"as stated": {"less", "more"}, "less": {"more", "as stated"}, "more": {"less"}}
    truth_word = "as stated" if share == 1.0 else "less" if share < 1.0 else "more"
    assert sum(word in wrong[truth_word] for word in decisions) <= 2


def test_less_delivered_looks_like_more_use() -> None:
    """k' = d − dC/dt = k + (1 − share)·d: an own derivation, checked on the tank."""
    found = [outcome(seed, 0.7) for seed in range(5)]
    before = np.mean([c.use_before[0] for c in found if c.use_before])
    after = np.mean([c.use_after[0] for c in found if c.use_after])
    assert before == pytest.approx(1.0, abs=0.06)
    assert after == pytest.approx(1.3, abs=0.06)


def test_without_scatter_the_share_is_exact() -> None:
    times = np.arange(0.0, 85.0, 3.0)
    told = both([(-5.0, CHANGE, 1.0)], [(CHANGE, 95.0, 1.2)])
    given = both([(-5.0, CHANGE, 1.0)], [(CHANGE, 95.0, 1.2 * 0.9)])
    levels, _ = truth(times, given, np.ones_like, np.random.default_rng(1), cv=0.0)
    found = outcome_of(record(times, levels, told), "new")
    assert found.delivered is not None
    assert found.delivered[0] == pytest.approx(0.9, abs=1e-6)
    assert found.dose == pytest.approx(1.2)
    assert found.tenth_of_use == pytest.approx(0.1 / 1.2, abs=1e-6)


def test_the_words_name_what_is_taken_for_granted() -> None:
    found = next(c for c in (outcome(s, 0.7) for s in range(9)) if c.decision == "less")
    assert codes(found.messages) == ("BRINGS_LESS", "USE_BEFORE_AND_AFTER", "IF_USE_CHANGED")
    assert "if the tank's own use did not change" in found.messages[0].text
    assert "Measure the pump into a cylinder first" in found.messages[0].text
    assert "10 % less delivered" in found.messages[2].text


def test_too_few_readings_are_refused_with_what_would_do() -> None:
    times = np.r_[np.arange(0.0, 43.0, 3.0), 44.0, 46.0]
    log = record(times, np.full(times.size, 8.0), both([(-5.0, 42.5, 1.0)], [(42.5, 95.0, 1.0)]))
    found = outcome_of(log, "new")
    assert found.decision == "cannot tell"
    assert found.delivered is None
    assert codes(found.messages) == ("TOO_FEW",)
    # 46 is 17 February 2026; 2 more, two days apart.
    assert "2. 2 more, the last on 21 Feb 2026 or later, would do." in found.messages[0].text
    late = outcome_of(record(times + 40, np.full(times.size, 8.0), log.doses), "new")
    assert codes(late.messages) == ("TOO_FEW_BEFORE",)
    assert "no later reading can make up" in late.messages[0].text


def test_scattered_readings_cannot_tell() -> None:
    short = np.r_[np.arange(0.0, 43.0, 6.0), 43.0, 45.0, 47.0, 50.0]
    rng = np.random.default_rng(5)
    told = both([(-5.0, CHANGE, 0.1)], [(CHANGE, 95.0, 0.1)])
    levels, _ = truth(short, told, lambda d: 0.1 * np.ones_like(d), rng)
    vague = outcome_of(record(short, read(levels, rng), told), "new")
    assert vague.decision == "cannot tell"
    assert vague.messages[0].code == "CANNOT_TELL"
    assert vague.messages[0].kind == "refused"


def test_a_supplement_that_was_never_given() -> None:
    log = record(np.arange(0.0, 30.0, 2.0), np.full(15, 8.0), both([(-5.0, 40.0, 1.0)], []))
    with pytest.raises(CannotTellError, match="No new in the log for alkalinity"):
        outcome_of(log, "new")
    with pytest.raises(CannotTellError, match="was dosed before"):
        outcome_of(log, "old", start=START + 20.0)
    again = replace(log, doses=both([], [(-60.0, -50.0, 1.0), (20.0, 40.0, 1.0)]))
    assert outcome_of(again, "new", start=START + 20.0).since.isoformat().startswith("2026-01-22")


NEW = (
    SUPPLEMENTS
    + """
[supplement."part three"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
"""
)


def test_from_a_tank_folder(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    level, rows = 8.0, []
    for day in range(63):
        if day % 3 == 0:
            stamp = pd.Timestamp("2026-01-02T18:00") + pd.Timedelta(days=day)
            rows.append(reading(f"{stamp:%Y-%m-%dT%H:%M}", round(level + 0.05 * rng.normal(), 1)))
        level += (1.0 if day < 42 else 0.75) - 1.0  # the new one brings three quarters
    tank = make_tank(
        tmp_path / "tank",
        readings=rows,
        additions=[
            dose("2026-01-01", 60, end="2026-02-13"),
            dose("2026-02-13", 60, supplement="part three"),
        ],
        supplements=NEW,
    )
    found = did_it_work(tank, "alkalinity", "part three")
    assert found.delivered is not None
    assert found.delivered[1] < 0.75 < found.delivered[2]
    assert found.decision == "less"
    assert found.unit == "dKH"
    again = did_it_work(tank, "alkalinity", "part three", since="2026-02-13")
    assert again.decision == "less"
    assert "BRINGS_LESS" in codes(again.messages)
    with pytest.raises(InputError, match="a supplement of supplements"):
        did_it_work(tank, "alkalinity", "part four")
    with pytest.raises(InputError, match="a day such as"):
        did_it_work(tank, "alkalinity", "part three", since="13.2.2026")


def test_a_use_that_drifts_a_little_is_not_called_a_fault() -> None:
    """The use rises by 7 % on the day of the change; what is stated arrives."""
    found = []
    for seed in range(6):
        rng = np.random.default_rng(seed)
        times = np.arange(0.25, 84.0, 2.0)
        told = both([(-5.0, CHANGE, 1.0)], [(CHANGE, 95.0, 1.0)])
        use = lambda day: np.where(day < START + CHANGE, 1.0, 1.07)  # noqa: E731
        levels, _ = truth(times, told, use, rng)
        found.append(outcome_of(record(times, read(levels, rng), told), "new"))
    assert {one.decision for one in found} == {"as stated"}
    assert any("would explain the difference" in one.messages[0].text for one in found)
