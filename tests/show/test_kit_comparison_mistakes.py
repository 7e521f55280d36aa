"""The comparison page when something is typed or chosen wrong, or in the wrong order."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reef_calc import open_tank
from reef_calc.show.panels.kit_comparison import VIEWS, KitComparisonPanel
from reef_calc.show.panels.kit_join import JoinView
from reef_calc.show.panels.kit_study import StudyView
from tests.folders import make_folder, reading
from tests.show.test_kit_comparison_panel import DEMO, both_kits, choose, send, show, shown, words


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(DEMO / "classroom_reef", tmp_path_factory.mktemp("kits") / "reef"))


@pytest.fixture(scope="module")
def shared(folder: Path) -> KitComparisonPanel:
    return KitComparisonPanel(folder, places=(DEMO,))


@pytest.fixture
def panel(shared: KitComparisonPanel, folder: Path) -> KitComparisonPanel:
    return both_kits(shared, folder)


def test_nothing_of_another_comparison_stays_on_the_page(panel: KitComparisonPanel) -> None:
    assert "Kit B reads" in show(panel, "From the log")
    choose(panel.kit_b, "kit A")
    assert shown(panel.place) == ""
    choose(panel.kit_b, "kit B")
    assert 'role="alert"' not in panel.message.value
    assert "Kit B reads" in shown(panel.place)


def test_a_number_typed_for_one_element_is_not_taken_for_another(panel: KitComparisonPanel) -> None:
    show(panel, "Study")
    view = panel.views["Study"]
    assert isinstance(view, StudyView)
    send(panel.allowed, value="0.5")
    send(view.sd_a, value="0.2")
    choose(panel.element, "calcium")
    assert panel.allowed.value == ""
    assert view.sd_a.value == ""
    assert "“May differ by” was 0.5 for alkalinity and is empty again" in panel.message.value
    assert "mg/L" in panel.allowed.placeholder


def test_fields_typed_for_other_kits_are_emptied_and_named(panel: KitComparisonPanel) -> None:
    show(panel, "Study")
    view = panel.views["Study"]
    assert isinstance(view, StudyView)
    send(view.sd_a, value="0.2")
    choose(panel.kit_a, "kit A / lot A-1")
    assert view.sd_a.value == ""
    assert "“Scatter of A”" in panel.message.value


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("since", "3.5.2026", "From: needed a day"),
        ("until", "9999-01-01", "Up to: needed a day from 1950 to 2199"),
        ("allowed", "5 ppm", "without a unit"),
    ],
)
def test_a_field_typed_wrong_is_named(
    panel: KitComparisonPanel, field: str, text: str, said: str
) -> None:
    control = getattr(panel, field)
    for view in VIEWS:
        send(control, value=text)
        assert show(panel, view) == ""
        assert said in panel.message.value
        send(control, value="")
        assert said not in panel.message.value


def test_days_the_wrong_way_round(panel: KitComparisonPanel) -> None:
    send(panel.since, value="2026-08-01")
    send(panel.until, value="2026-01-01")
    assert "Up to: needed a day on or after 2026-08-01" in panel.message.value


def test_fields_a_view_does_not_use_are_named(panel: KitComparisonPanel) -> None:
    send(panel.since, value="2026-01-01")
    send(panel.allowed, value="0.5")
    assert "“From” and “May differ by” are not used here." in words(show(panel, "Which to believe"))
    send(panel.allowed, value="")
    assert "“From” is not used here." in words(show(panel, "Lots and persons"))
    assert "not used here" not in show(panel, "From the log")


@pytest.mark.parametrize("text", ["0", "3", "2.5", "1e9", "1e22", "nan", ""])
def test_tests_that_cannot_be_spent(panel: KitComparisonPanel, text: str) -> None:
    show(panel, "Study")
    view = panel.views["Study"]
    assert isinstance(view, StudyView)
    try:
        send(view.tests, value=text)
        assert 'role="alert"' in panel.message.value
        assert "With" not in words(view._plan.value)
    finally:
        send(view.tests, value="20")
    assert 'role="alert"' not in panel.message.value


def test_a_stored_study_is_the_one_shown(panel: KitComparisonPanel) -> None:
    show(panel, "Study")
    view = panel.views["Study"]
    assert isinstance(view, StudyView)
    for name in ("early", "late"):
        send(view.name, value=name)
        view.store.click()
        assert view.stored.value == name
        assert f"studies/{name}.toml" in panel.message.value


@pytest.mark.parametrize(
    ("kits", "start", "said"),
    [
        (("kit A", "kit B"), "1999-01-01", "after the first reading with kit A"),
        (("kit B", "kit A"), "", "exchange kit A and kit B"),
        (("kit A", "kit B"), "2030-01-01", "up to the last reading with kit B"),
    ],
)
def test_a_join_on_a_day_that_cannot_be(
    panel: KitComparisonPanel, folder: Path, kits: tuple[str, str], start: str, said: str
) -> None:
    choose(panel.kit_a, "kit A / lot A-1")
    choose(panel.kit_b, kits[1])
    choose(panel.kit_a, kits[0])
    show(panel, "Join histories")
    view = panel.views["Join histories"]
    assert isinstance(view, JoinView)
    send(view.start, value=start)
    view.save.click()
    assert said in panel.message.value
    assert open_tank(folder).joins == ()
    send(view.start, value="")


def test_half_of_an_interval_is_named_as_it_was_typed(panel: KitComparisonPanel) -> None:
    show(panel, "Join histories")
    view = panel.views["Join histories"]
    assert isinstance(view, JoinView)
    try:
        send(view.source, index=1)
        send(view.mean, value="0.3")
        send(view.u, value="-1")
        view.save.click()
        assert "Half of its interval" in panel.message.value
        assert "“-1”" in panel.message.value
    finally:
        send(view.mean, value="")
        send(view.u, value="")
        send(view.source, index=0)


def test_a_lot_is_held_against_the_standard_by_its_kit(panel: KitComparisonPanel) -> None:
    choose(panel.kit_a, "kit A / lot A-1")
    page = words(show(panel, "Which to believe"))
    assert 'role="alert"' not in panel.message.value
    assert "kit A lot A-1" in page
    choose(panel.kit_b, "kit A / lot A-2")
    assert "Two lots of kit A are chosen" in panel.message.value


def test_kits_nobody_described(tmp_path: Path) -> None:
    rows = [
        reading(f"2026-03-{day:02d}T18:0{j}", 8.0 + 0.1 * (day % 3), kit=f"strange {j}")
        for day in range(1, 28, 3)
        for j in (0, 5)
    ]
    page = KitComparisonPanel(make_folder(tmp_path / "tank", readings=rows))
    for view in VIEWS:
        text = show(page, view)
        assert page.message.value or text
    assert "cannot be told" in words(show(page, "Which to believe"))
    for view in ("Side by side", "Lots and persons"):
        text = words(show(page, view))
        assert "0.000000" not in text
        assert "−0 −0" not in text


def test_lots_of_one_kit_are_compared_the_later_as_b(tmp_path: Path) -> None:
    rows = [
        reading(f"2026-03-{day:02d}T18:00", 8.0, kit="drops", lot="A1" if day < 15 else "A2")
        for day in range(1, 30)
    ]
    page = KitComparisonPanel(make_folder(tmp_path / "tank", readings=rows))
    assert (page.kit_a.value, page.kit_b.value) == ("drops / lot A1", "drops / lot A2")
