"""The form that stores a kit's correction: seen first, refused in words, kept with its uncertainty."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from reef_calc import open_tank
from tests.kit_pages import BIASED, KITS, Page, check, page_maker
from tests.tank_cases import words_of


@pytest.fixture
def page(tmp_path: Path) -> Callable[..., Page]:
    return page_maker(tmp_path / "tank")


def test_a_line_has_its_whole_uncertainty_in_the_file(page: Callable[..., Page]) -> None:
    rows = [
        check(f"2026-03-0{1 + i}", value, standard)
        for i, (value, standard) in enumerate(
            [(8.6, "eight"), (8.5, "eight"), (13.1, "twelve"), (13.2, "twelve")]
        )
    ]
    two = page(*rows)
    told = words_of(two.part("What it says"))
    assert re.search(
        r"reads 0\.55 ± 0\.\d+ dKH high at 8\.0 dKH and 1\.15 ± 0\.\d+ dKH high at 12", told
    )
    two.part("Correct")
    form = two.view.form
    assert form.way.value == "line"
    assert all(form.fields[name].value for name in form.fields)
    proposed = form.correction()
    form.store.click()
    assert two.said[-1][0] == "told"
    stored = open_tank(two.folder).kits["drops"].corrections[0]
    assert (stored.form, stored.lot, stored.standard) == ("line", "A1", "eight, twelve")
    for level in (4.0, 8.0, 12.0):
        assert stored.uncertainty(level) == pytest.approx(proposed.uncertainty(level), rel=1e-3)
    assert stored.uncertainty(4.0) > stored.uncertainty(10.5)


def test_a_correction_is_seen_before_it_is_stored(page: Callable[..., Page]) -> None:
    biased = page(*BIASED)
    before = (biased.folder / "kits.toml").read_bytes()
    told = words_of(biased.part("Correct"))
    assert "a correction is in order" in told
    assert "11 of 11 readings change" in told
    form = biased.view.form
    shown = {name: box.layout.display for name, box in form.fields.items()}
    assert shown == {"slope": "", "intercept": "none", "u": "", "u_slope": "none", "centre": "none"}
    form.way.value = "offset"
    form.fields["intercept"].value = "-0,4"
    assert "−0.40 dKH" in words_of(form.effect.value)
    assert (biased.folder / "kits.toml").read_bytes() == before
    form.store.click()
    assert "Stored for drops: −0.40 dKH" in biased.said[-1][1]
    told = words_of(biased.part("Correct"))
    assert "corrected already" in told
    assert form.store.disabled
    history = words_of(biased.part("History"))
    assert "11 of 11 readings are corrected" in history
    assert "With it the standard comes out right" in words_of(biased.part("What it says"))


@pytest.mark.parametrize(
    ("field", "typed", "piece"),
    [
        ("slope", "", "Factor or slope: needed a number, given “nothing”"),
        ("slope", "1,0,3", "Factor or slope"),
        ("slope", "-1", "above 0"),
        ("slope", "0", "above 0"),
        ("u", "", "Uncertainty u"),
        ("u", "0", "would count as exact"),
        ("u", "none", "Uncertainty u"),
    ],
)
def test_what_the_form_refuses(
    page: Callable[..., Page], field: str, typed: str, piece: str
) -> None:
    biased = page(*BIASED)
    biased.part("Correct")
    form = biased.view.form
    form.fields[field].value = typed
    assert piece in words_of(form.effect.value)
    assert form.store.disabled
    form.store.click()
    assert len(open_tank(biased.folder).kits["drops"].corrections) == 0


def test_what_was_typed_stays_on_a_reload(page: Callable[..., Page]) -> None:
    biased = page(*BIASED)
    biased.part("Correct")
    biased.view.form.fields["u"].value = "0.02"
    biased.show()
    assert biased.view.form.fields["u"].value == "0.02"
    biased.view.lot.value = "all"
    biased.view.lot.value = "lot A1"
    assert biased.view.form.fields["slope"].value


def test_a_correction_behind_a_stored_one_says_so(page: Callable[..., Page]) -> None:
    stored = KITS.replace(
        "[kit.spare]",
        "[[kit.drops.correction]]\nfrom = 2026-02-01\noffset = -0.1\nu = 0.1\nlot = 'A1'\n[kit.spare]",
    )
    biased = page(*BIASED, kits=stored)
    biased.part("Correct")
    form = biased.view.form
    assert form.start.value == dt.date(2026, 3, 3)  # the last reading of the standard
    assert "readings change" in words_of(form.effect.value)
    form.start.value = dt.date(2026, 1, 15)
    assert "a stored correction goes before this one" in words_of(form.effect.value)
    form.start.value = dt.date(2026, 2, 1)
    assert "one correction a day and lot" in words_of(form.effect.value)


def test_every_lot_is_warned_of(page: Callable[..., Page]) -> None:
    biased = page(*BIASED)
    biased.part("Correct")
    form = biased.view.form
    assert "a standard speaks only for the lot" not in words_of(form.effect.value)
    form.holds.value = ""
    assert "a standard speaks only for the lot" in words_of(form.effect.value)


def test_a_folder_that_cannot_be_written_is_told(page: Callable[..., Page]) -> None:
    biased = page(*BIASED)
    biased.part("Correct")
    (biased.folder / "kits.toml").write_text("[kit", encoding="utf-8")
    biased.view.form.store.click()
    assert biased.said[-1][0] == "error"
    assert not biased.view.form.store.disabled
