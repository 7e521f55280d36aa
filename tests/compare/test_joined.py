"""A history on the scale of the kit in use: one strip, one error, and sentences that are true."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.compare.joined import joined_history
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import open_tank
from reef_calc.show.joined_figure import joined_svg
from reef_calc.show.review import review_html
from reef_calc.show.svg import leftover_colours
from tests.balance.joined_tanks import joined_folder, stored
from tests.tank_cases import MACHINE_WORDS


def test_the_whole_strip_moves_by_one_shift_and_readings_stay(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(1))
    before = (folder / "readings.csv").read_bytes()
    history = joined_history(stored(folder, 0.45, 0.1), "alkalinity")
    table = history.table
    old = table["kit"] == "kit A"
    assert table.loc[old, "shift"].nunique() == 1
    assert table.loc[old, "half"].nunique() == 1
    assert (table.loc[~old, ["shift", "half"]] == 0).all(axis=None)
    np.testing.assert_allclose(table["shown"], table["level"] + table["shift"])
    assert (folder / "readings.csv").read_bytes() == before
    moved = history.scale.of("kit A", "")
    assert moved is not None
    # The truth lies in the strip, and what was stored is narrowed by the log, never widened much.
    assert moved.shift - moved.half < 0.5 < moved.shift + moved.half
    assert moved.half < 1.96 * 0.1 * 1.1
    assert history.sentences == (
        "History with kit A, before 30 Apr 2026, is shown on the scale of kit B "
        f"(+{moved.shift:.2f} ± {moved.half:.2f} dKH). It may be wrong by that much as a whole; its "
        "shape is not affected.",
    )


def test_the_question_about_the_aims_has_the_right_numbers(tmp_path: Path) -> None:
    history = joined_history(stored(joined_folder(tmp_path, np.random.default_rng(1)), 0.5, 0.01),
                             "alkalinity")  # fmt: skip
    assert "(7.5 to 8.5 dKH) set with kit A" in history.aims
    shift = history.scale.moved[0].shift
    assert f"{7.5 + shift:.2f} to {8.5 + shift:.2f} dKH with kit B" in history.aims


def test_no_question_where_the_kits_cannot_be_told_apart(tmp_path: Path) -> None:
    tank = stored(joined_folder(tmp_path, np.random.default_rng(2), higher=0.0), 0.0, 0.05)
    assert joined_history(tank, "alkalinity").aims == ""


def test_without_a_join_and_with_too_few_readings_it_is_said(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path / "none", np.random.default_rng(1))
    with pytest.raises(InputError, match="a stored join of two alkalinity kits"):
        joined_history(open_tank(folder), "alkalinity")
    folder = joined_folder(tmp_path / "few", np.random.default_rng(1), length=64.0, step=30.0)
    with pytest.raises(CannotTellError, match="cannot be joined yet"):
        joined_history(stored(folder), "alkalinity")


def test_the_use_names_the_same_shift(tmp_path: Path) -> None:
    tank = stored(joined_folder(tmp_path, np.random.default_rng(3), overlap=3))
    history = joined_history(tank, "alkalinity")
    assert estimate_consumption(tank, "alkalinity").joined == history.scale
    assert history.sentences[0].startswith("Readings with kit A are shown")


@pytest.mark.parametrize("width", [980, 600])
def test_the_picture_follows_the_theme_and_says_every_reading(tmp_path: Path, width: int) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(4))
    text = (folder / "readings.csv").read_text().replace("kit A", "kit <A> & $x^2$")
    (folder / "readings.csv").write_text(text)
    tank = stored(folder, 0.5, 0.1)
    (folder / "joins.toml").write_text(
        (folder / "joins.toml").read_text().replace("kit A", "kit <A> & $x^2$")
    )
    history = joined_history(open_tank(folder), "alkalinity")
    svg = joined_svg(history, decimals=1, width=width, aim=(7.5, 8.5))
    assert tank.joins
    assert leftover_colours(svg) == []
    assert "<A>" not in svg
    assert svg.count(" dKH as read") == len(history.table)
    assert svg.count(" on the scale of kit B</text>") >= (history.table["strip"] != "").sum()
    assert not MACHINE_WORDS.search(svg.split('<g class="rc-hover">')[1])


def test_the_review_shows_the_strip_only_where_a_join_is_stored(tmp_path: Path) -> None:
    folder = joined_folder(tmp_path, np.random.default_rng(1), overlap=2)
    assert "on the scale of kit B" not in review_html(open_tank(folder), "2026-05")
    page = review_html(stored(folder, 0.5, 0.1), "2026-05")
    assert ">on the scale of kit B</text>" in page
    assert "Readings with kit A are taken to the scale of kit B: +0." in page
