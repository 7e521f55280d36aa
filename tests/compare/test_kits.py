"""Two kits of the demonstration tank by the one call of the face."""

from __future__ import annotations

from pathlib import Path

import pytest

import reef_calc as rc
from reef_calc.errors import InputError
from reef_calc.messages import codes

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"


@pytest.fixture(scope="module")
def tank():
    return rc.open_tank(DEMO)


def test_both_ways_hold_the_truth(tank) -> None:
    """Kit B was made to read 0.40 dKH high, lot A-2 of kit A 0.05 high."""
    found = rc.compare_kits(tank, "alkalinity", "kit A", "kit B", allowed=1.0)
    assert found.summary["way"].tolist() == ["from the log", "side by side"]
    assert (found.summary["low"] < 0.35).all()
    assert (found.summary["high"] > 0.35).all()
    assert found.side_by_side is not None
    assert found.side_by_side.verdict is not None
    assert "Kit B reads" in found.sentence


def test_lots_that_were_never_read_together(tank) -> None:
    found = rc.compare_kits(tank, "alkalinity", "kit A / lot A-1", "kit A / lot A-2")
    assert found.side_by_side is None
    assert "NOT_SIDE_BY_SIDE" in codes(found.messages)
    assert found.from_log.low < 0.30 < found.from_log.high


def test_the_same_kit_twice(tank) -> None:
    with pytest.raises(InputError):
        rc.compare_kits(tank, "alkalinity", "kit A", "kit A")
