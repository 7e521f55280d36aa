"""Whether the tank answers to doses as stated: simulated tanks with a known truth, no source."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from reef_calc.balance.strength_check import StrengthCheck, strength_check
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from tests.balance.simulated import START, doses, read, record, truth

NAME = "hand dose"
Steps = list[tuple[float, float, float]]
CONSTANT: Steps = [(-5.0, 95.0, 1.0)]
PAUSED: Steps = [(-5.0, 30.0, 1.0), (34.0, 60.0, 1.0), (64.0, 95.0, 1.0)]
FOLLOWING: Steps = [(-5.0, 52.0, 1.0), (52.0, 95.0, 1.25)]


def checked(
    seed: int,
    steps: Steps,
    factor: float,
    use: Callable[[np.ndarray], np.ndarray] = np.ones_like,
    net_L: float = 400.0,
) -> StrengthCheck:
    rng = np.random.default_rng(seed)
    times = np.sort(np.r_[0.0, rng.uniform(0, 90, 38), 90.0])
    given = doses(steps=[(a, b, rate * factor) for a, b, rate in steps])
    levels, _ = truth(times, given, use, rng)
    return strength_check(record(times, read(levels, rng), doses(steps=steps)), NAME, net_L)


@pytest.mark.parametrize("factor", [0.8, 1.0, 1.25])
def test_the_factor_is_covered_where_doses_paused(factor: float) -> None:
    found = [checked(seed, PAUSED, factor) for seed in range(25)]
    assert sum(c.low <= factor <= c.high for c in found) >= 22
    assert np.mean([c.factor for c in found]) == pytest.approx(factor, abs=0.05)
    differing = sum(c.decision == "differs" for c in found)
    assert differing <= 3 if factor == 1.0 else differing >= 12


def test_a_constant_dose_tells_nothing() -> None:
    for factor in (0.8, 1.0):
        check = checked(3, CONSTANT, factor)
        assert check.decision == "cannot tell"
        assert check.dose_varied == pytest.approx(0.0, abs=1e-9)
        assert codes(check.messages) == ("STRENGTH_NOT_TOLD",)
        assert "the dose never varied enough" in check.messages[0].text
        assert "L," not in check.messages[0].text  # no number is shown


def test_a_dose_that_follows_the_use_is_not_taken_for_an_answer() -> None:
    """Use rises by a quarter, the keeper follows a week later: nothing is wrong with the strength."""
    for seed in range(12):
        check = checked(seed, FOLLOWING, 1.0, lambda d: np.where(d < START + 45, 1.0, 1.25))
        assert check.decision == "cannot tell"


def test_what_is_said() -> None:
    fits = StrengthCheck(NAME, 1.0, 0.9, 1.1, 400.0, "as stated", 0.3, ())
    assert fits.volume_L == pytest.approx((400.0, 363.636364, 444.444444))
    weak = next(c for c in (checked(s, PAUSED, 0.7) for s in range(9)) if c.decision == "differs")
    text = weak.messages[0].text
    assert codes(weak.messages) == ("STRENGTH_DIFFERS", "MAINTENANCE_NEEDS_NO_VOLUME")
    assert "as if it held" in text
    assert "and not 400 L" in text
    assert "% of what is stated" in text
    assert "do not depend on the volume" in weak.messages[1].text
    right = next(c for c in (checked(s, PAUSED, 1.0) for s in range(9)) if c.low < 1 < c.high)
    assert codes(right.messages)[0] == "STRENGTH_AS_STATED"
    assert "Stated are 400 L, which fits." in right.messages[0].text


def test_the_factor_does_not_depend_on_the_volume_written_down() -> None:
    one, other = checked(1, PAUSED, 1.0), checked(1, PAUSED, 1.0, net_L=200.0)
    assert one.factor == other.factor
    assert one.volume_L[0] == pytest.approx(2 * other.volume_L[0])


def test_volume_is_unbounded_where_the_factor_may_be_nothing() -> None:
    check = StrengthCheck(NAME, 0.5, -0.1, 1.1, 400.0, "cannot tell", 0.0, ())
    assert check.volume_L[2] == float("inf")


def test_what_is_refused() -> None:
    log = record(np.arange(0.0, 30.0, 2.0), np.full(15, 8.0), doses(steps=CONSTANT))
    with pytest.raises(CannotTellError, match="No powder was given"):
        strength_check(log, "powder", 400.0)
    with pytest.raises(InputError, match="net volume above 0"):
        strength_check(log, NAME, 0.0)
    short = record(np.arange(0.0, 10.0, 2.0), np.full(5, 8.0), doses(steps=CONSTANT))
    with pytest.raises(CannotTellError, match="5 readings cannot tell"):
        strength_check(short, NAME, 400.0)
