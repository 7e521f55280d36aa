"""The difference of two kits from a tank's log: truth inside, words that hold, and when it refuses."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from reef_calc.compare.from_the_log import LogDifference, difference_from_log
from reef_calc.compare.pairs_in_the_log import pairs_from_log
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from tests.compare.two_kit_tanks import ABOVE, BETWEEN, EVERY_2, KITS, tank_of
from tests.demo_tanks import DEMO, demo_tank
from tests.folders import dose, reading
from tests.tank_cases import MACHINE_WORDS, ONE_OF_MANY

TRUTH = tomllib.loads((DEMO / "truth.toml").read_text(encoding="utf-8"))["classroom_reef"]


def between(tank: object, **options: object) -> LogDifference:
    return difference_from_log(tank, "alkalinity", "drops", "burette", **options)  # type: ignore[arg-type]


def said(found: LogDifference) -> str:
    text = " ".join([found.sentence, found.what_would_help, *(m.text for m in found.messages)])
    assert not MACHINE_WORDS.search(text)
    assert not ONE_OF_MANY.search(text)
    assert "e+" not in text
    assert not re.search(r"\b1 (tests|readings|days)\b", text)
    return text


def text_of(found: LogDifference, code: str) -> str:
    said(found)
    return next(m.text for m in found.messages if m.code == code)


def test_two_kits_of_the_demo() -> None:
    found = difference_from_log(demo_tank(), "alkalinity", "kit A", "kit B")
    truth = TRUTH["kit_difference"]["difference_dKH"]
    assert found.low is not None and found.high is not None
    assert found.low < truth < found.high
    assert found.high - found.low < 0.25
    assert found.kit_a == "kit A lot A-2"
    assert "LOT_CHOSEN" in codes(found.messages)
    assert found.pairs.corrected is not None
    assert found.pairs.corrected.low < truth < found.pairs.corrected.high
    assert "typed" not in said(found)
    assert found.sentence.startswith("Kit B reads 0.34 dKH above kit A lot A-2 (")
    # The reading that was mistyped by 1.4 dKH is set apart and named.
    assert any("15 Apr 2026" in m.text for m in found.messages if m.code == "POSSIBLE_GROSS")


def test_two_lots_of_the_demo() -> None:
    for names in (("kit A / lot A-1", "kit A / lot A-2"), ("kit A", "kit A")):
        found = difference_from_log(demo_tank(), "alkalinity", *names)
        assert found.low is not None and found.high is not None
        assert found.low < TRUTH["lot_change"]["step_dKH"] < found.high
        assert (found.kit_a, found.kit_b) == ("kit A lot A-1", "kit A lot A-2")
        assert "between 12 Jan 2026 and 16 Jan 2026" in text_of(found, "ONE_SIDED_IN_TIME")
        assert "holds only if" in found.sentence
    by_lots = difference_from_log(
        demo_tank(), "alkalinity", "kit A", "kit A", lots=("A-1", "A-2")
    )  # fmt: skip
    assert by_lots.difference == pytest.approx(found.difference)


def test_lots_far_apart_with_a_gap_between_are_refused() -> None:
    found = difference_from_log(demo_tank(), "alkalinity", "kit A / lot A-1", "kit B")
    assert (found.difference, found.low, found.high) == (None, None, None)
    assert "9 Feb 2026 to 16 Feb 2026" in text_of(found, "EVENT_AT_CHANGE")
    assert found.sentence == text_of(found, "EVENT_AT_CHANGE")
    assert "kit A lot A-2" in found.what_would_help


def test_interleaved_readings(tmp_path: Path) -> None:
    found = between(tank_of(tmp_path / "a", EVERY_2, BETWEEN))
    assert found.difference == pytest.approx(ABOVE, abs=0.06)
    assert found.low is not None and found.high is not None
    assert found.low < ABOVE < found.high
    assert (found.fit.n_a, found.fit.n_b) == (30, 6)
    assert "from 6 readings of burette and 30 of drops" in found.sentence
    assert f"about {round(found.fit.worth)} tests" in found.sentence
    assert 5 < found.fit.worth < 12
    assert found.messages == ()
    own = found.table[found.table["of"] == "B"]
    assert own["expected"].to_numpy() == pytest.approx(np.full(6, 8.0), abs=0.1)
    swapped = difference_from_log(
        tank_of(tmp_path / "b", EVERY_2, BETWEEN), "alkalinity", "burette", "drops"
    )
    assert swapped.difference == pytest.approx(-found.difference, abs=0.02)
    assert re.match(
        r"Drops reads 0\.\d\d dKH below burette \(0\.\d\d to 0\.\d\d\)", swapped.sentence
    )


def test_kits_that_agree(tmp_path: Path) -> None:
    found = between(tank_of(tmp_path / "a", EVERY_2, BETWEEN, above=0.0))
    assert found.sentence.startswith("No difference between drops and burette shows: burette reads")
    numbers = [float(x) for x in re.findall(r"from (\d\.\d+) dKH below to (\d\.\d+)",
                                             found.sentence)[0]]  # fmt: skip
    assert found.low is not None and found.high is not None
    # Rounded outwards: what is said is never narrower than what is known.
    assert -numbers[0] <= found.low < 0 < found.high <= numbers[1]


def test_one_kit_in_place_of_the_other(tmp_path: Path) -> None:
    tank = tank_of(
        tmp_path / "a", EVERY_2[EVERY_2 < 30], EVERY_2[EVERY_2 >= 30],
        events=[{"time": "2026-03-30T10:00", "kind": "other", "note": "moved house"}],
    )  # fmt: skip
    found = between(tank)
    assert found.low is not None and found.high is not None
    assert found.low < ABOVE < found.high
    # Less is known than from six readings between the others.
    assert found.fit.half > 1.5 * between(tank_of(tmp_path / "c", EVERY_2, BETWEEN)).fit.half
    text = text_of(found, "ONE_SIDED_IN_TIME")
    assert text.startswith("Burette was never used while drops was still in use.")
    assert "between 29 Mar 2026 and 31 Mar 2026" in text
    assert "moved house" in text
    # A single pair at the change makes it less of a guess, and the sentence goes.
    both = between(tank_of(tmp_path / "b", EVERY_2[EVERY_2 <= 30], EVERY_2[EVERY_2 >= 30] + 0.01))
    assert "ONE_SIDED_IN_TIME" not in codes(both.messages)
    assert both.fit.half < found.fit.half


def test_an_unlogged_dose_on_the_day_of_the_change_cannot_be_seen(tmp_path: Path) -> None:
    """It goes into the difference one to one; the sentence is the only guard."""
    rise = lambda day: 8.0 + 1.0 * 0.9 ** ((day - 29) // 7) * (day > 29)  # noqa: E731
    found = between(
        tank_of(tmp_path / "a", EVERY_2[EVERY_2 < 30], EVERY_2[EVERY_2 >= 30], level=rise)
    )
    assert found.low is None or (
        found.low > ABOVE + 0.3 and "holds only if" in found.sentence
    )  # fmt: skip


def test_a_gap_of_the_log_at_the_change_is_refused(tmp_path: Path) -> None:
    tank = tank_of(
        tmp_path / "a", EVERY_2[EVERY_2 < 30], EVERY_2[EVERY_2 >= 30],
        additions=[
            dose("2026-02-20", "60", end="2026-03-30T00:00"),
            dose("2026-03-30T00:00", "", how="not logged", end="2026-03-31T00:00"),
            dose("2026-03-31T00:00", "60"),
        ],
    )  # fmt: skip
    found = between(tank)
    assert found.difference is None
    assert "were not logged" in text_of(found, "EVENT_AT_CHANGE")


def test_far_apart_is_not_determined(tmp_path: Path) -> None:
    swings = lambda day: 8.0 + 1.2 * np.sin(day * 1.7) + 0.8 * np.cos(day * 0.37)  # noqa: E731
    found = between(tank_of(tmp_path / "a", EVERY_2[:12], EVERY_2[24:], level=swings))
    assert found.difference is None
    text = text_of(found, "DELTA_NOT_DETERMINED")
    assert "cannot be told" in text
    assert "26 days apart" in text
    assert "would tell it to about ±" in found.what_would_help


def test_new_water_that_was_read_with_the_second_kit(tmp_path: Path) -> None:
    water = [
        reading("2026-02-25T12:00", "8.0", water="new water", kit="drops"),
        reading("2026-03-30T12:00", "8.4", water="new water", kit="burette"),
    ]
    found = between(
        tank_of(tmp_path / "a", EVERY_2[EVERY_2 < 40], EVERY_2[EVERY_2 >= 30], new_water=water)
    )
    assert found.difference == pytest.approx(ABOVE, abs=0.08)
    assert found.fit.use == pytest.approx(1.0, abs=0.01)
    assert text_of(found, "NEW_WATER_SEVERAL_KITS").startswith("New water was read with drops and")


def test_levels_are_taken_as_read(tmp_path: Path) -> None:
    corrected = KITS + "[[kit.burette.correction]]\nfrom = 2026-01-01\noffset = -0.4\nu = 0.05\n"
    found = between(tank_of(tmp_path / "a", EVERY_2, BETWEEN, kits=corrected))
    assert found.difference == pytest.approx(ABOVE, abs=0.06)
    assert "not applied" in text_of(found, "AS_READ")


def test_each_kit_has_its_own_reader(tmp_path: Path) -> None:
    tank = tank_of(tmp_path / "a", EVERY_2, BETWEEN, cells_a={"by": "Ida"}, cells_b={"by": "Jo"})
    found = between(tank)
    assert "drops was read by Ida, burette by Jo" in text_of(found, "READERS_DIFFER")
    assert found.difference == pytest.approx(ABOVE, abs=0.06)


def test_kits_that_scatter_more_than_stated(tmp_path: Path) -> None:
    rough = KITS.replace("sd = 0.1,", "sd = 0.015,").replace(
        "resolution = 0.1", "resolution = 0.01"
    )
    found = between(tank_of(tmp_path / "a", EVERY_2, EVERY_2 + 0.01, kits=rough))
    assert "times as much as" in text_of(found, "SCATTER_ABOVE_STATED")


def test_daily_dose_between_the_two_readings(tmp_path: Path) -> None:
    """A before the daily dose, B half a day later: plain pairs are off by half a day's use."""
    tank = tank_of(
        tmp_path / "a", EVERY_2, EVERY_2[::4] + 0.5, level=lambda day: 8.0 + (day % 1),
        additions=[dose("2026-02-20", "60", times="20:00")],
    )  # fmt: skip
    found = between(tank)
    assert found.low is not None and found.high is not None
    assert found.low < ABOVE < found.high
    assert found.pairs.uncorrected is None
    assert found.pairs.corrected is not None
    assert found.pairs.corrected.difference == pytest.approx(ABOVE, abs=0.1)
    assert "up to 0.5" in text_of(found, "PAIRS_NEED_BALANCE")


def test_what_cannot_be_asked(tmp_path: Path) -> None:
    tank = tank_of(tmp_path / "a", EVERY_2, BETWEEN)
    with pytest.raises(
        InputError, match="needed readings of the tank with strips, given “drops, bu"
    ):
        difference_from_log(tank, "alkalinity", "drops", "strips")
    with pytest.raises(InputError, match="two different kits or lots"):
        difference_from_log(tank, "alkalinity", "drops", "drops")
    with pytest.raises(InputError, match="used up or moves by itself"):
        difference_from_log(tank, "temperature", "drops", "burette")
    with pytest.raises(InputError, match="no readings"):
        difference_from_log(tank, "calcium", "drops", "burette")


def test_waters_read_with_both_within_the_hour(tmp_path: Path) -> None:
    found = pairs_from_log(demo_tank(), "alkalinity", "kit A", "kit B")
    assert found.n == TRUTH["kit_difference"]["pairs"]
    assert (found.kit_a, found.kit_b) == ("kit A lot A-2", "kit B")
    assert (found.resolution_a, found.resolution_b) == (0.1, 0.1)
    assert found.waters[0].name == "4 May 2026 14:26"
    assert found.waters[0].hours_apart == pytest.approx(7 / 60)
    assert found.differences.mean() == pytest.approx(0.4, abs=0.05)
    assert found.dropped == ()
    other = pairs_from_log(demo_tank(), "alkalinity", "kit A", "kit B", unit="meq/L")
    assert other.resolution_a == 0.0
    assert other.differences * 2.8 == pytest.approx(found.differences, rel=0.01)
    with pytest.raises(CannotTellError, match="within an hour"):
        pairs_from_log(tank_of(tmp_path / "a", EVERY_2, BETWEEN), "alkalinity", "drops", "burette")


def test_marked_slips_and_readings_beyond_the_limit_are_counted(tmp_path: Path) -> None:
    more = [reading("2026-03-20T09:00", "6.0", kit="burette", limit="<")]
    found = between(tank_of(tmp_path / "a", EVERY_2, BETWEEN, more=more))
    assert text_of(found, "LEFT_OUT").startswith("1 reading of these kits is not used")
    assert found.difference == pytest.approx(ABOVE, abs=0.06)


def test_an_unlogged_dose_where_the_second_kit_begins_is_said(tmp_path: Path) -> None:
    rise = lambda day: 8.0 + 1.5 * 0.9 ** ((day - 29) // 7) * (day > 29)  # noqa: E731
    found = between(tank_of(tmp_path / "a", EVERY_2, np.arange(31.0, 44.0, 3.0), level=rise))
    assert "not in the log" in text_of(found, "STEP_UNEXPLAINED")
    assert found.low is not None and found.high is not None
    assert found.low < ABOVE < found.high
