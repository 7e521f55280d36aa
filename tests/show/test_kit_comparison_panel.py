"""The comparison page, driven through its traits as the browser drives it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import ipywidgets as widgets
import pytest

from reef_calc import open_tank
from reef_calc.log.study_files import stored_studies
from reef_calc.show.panels.kit_comparison import VIEWS, KitComparisonPanel
from reef_calc.show.panels.kit_join import JoinView
from reef_calc.show.panels.kit_lots import LotsView
from reef_calc.show.panels.kit_side_by_side import SideBySideView
from reef_calc.show.panels.kit_study import StudyView

DEMO = Path(__file__).parents[2] / "data_demo"


def send(control: widgets.Widget, **state: object) -> None:
    """Set what the browser sets."""
    control.set_state(state)


def choose(control: widgets.Dropdown, value: str) -> None:
    """Choose an option by its value, as the browser does: by index."""
    values = [o[1] if isinstance(o, tuple) else o for o in control.options]
    send(control, index=values.index(value))


def shown(box: widgets.Widget) -> str:
    """All HTML below a box."""
    found = str(box.value) if isinstance(box, widgets.HTML) else ""
    return found + "".join(shown(child) for child in getattr(box, "children", ()))


def show(panel: KitComparisonPanel, view: str) -> str:
    """Press one of the views and return all HTML that is shown."""
    send(panel.view, index=list(VIEWS).index(view))
    return shown(panel.place)


def words(html: str) -> str:
    """The words of a piece of HTML."""
    return " ".join(re.sub("<[^>]*>", " ", html).split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(DEMO / "classroom_reef", tmp_path_factory.mktemp("kits") / "reef"))


@pytest.fixture(scope="module")
def shared(folder: Path) -> KitComparisonPanel:
    return KitComparisonPanel(folder, places=(DEMO,))


def both_kits(page: KitComparisonPanel, folder: Path) -> KitComparisonPanel:
    """The page with both alkalinity kits of the demonstration tank, from the log."""
    if page.folder.value != str(folder):
        send(page.folder, value=str(folder))
    for field in (page.allowed, page.since, page.until):
        send(field, value="")
    choose(page.element, "alkalinity")
    choose(page.kit_a, "kit A")
    choose(page.kit_b, "kit B")
    show(page, "From the log")
    return page


@pytest.fixture
def panel(shared: KitComparisonPanel, folder: Path) -> KitComparisonPanel:
    return both_kits(shared, folder)


def test_the_log_tells_the_difference_that_was_put_in(panel: KitComparisonPanel) -> None:
    page = words(show(panel, "From the log"))
    found = re.search(
        r"Kit B reads ([\d.]+) dKH above kit A lot A-2 \(([\d.]+) to ([\d.]+)\)", page
    )
    assert found is not None, page[:300]
    # The truth of the demonstration: 0.40 high against 0.05 high.
    assert float(found[2]) < 0.35 < float(found[3])


@pytest.mark.parametrize("view", VIEWS)
def test_every_view_shows_something(panel: KitComparisonPanel, view: str) -> None:
    page = show(panel, view)
    assert "<h2" in page
    assert 'role="alert"' not in panel.message.value
    assert not {"nan", "inf", "<NA>"} & set(words(page).split())


def test_readings_of_the_same_week_count_where_it_is_asked_for(panel: KitComparisonPanel) -> None:
    page = words(show(panel, "Lots and persons"))
    view = panel.views["Lots and persons"]
    assert isinstance(view, LotsView)
    try:
        send(view.week, value=True)
        wider = words(show(panel, "Lots and persons"))
        assert 'role="alert"' not in panel.message.value
        assert "kit B lot B-1" in wider
        assert wider != page
    finally:
        send(view.week, value=False)


def test_the_same_kit_twice(panel: KitComparisonPanel) -> None:
    choose(panel.kit_b, "kit A")
    assert "two different kits" in panel.message.value


@pytest.mark.parametrize("text", ["0", "-1", "much"])
def test_an_allowed_difference_that_is_none(panel: KitComparisonPanel, text: str) -> None:
    send(panel.allowed, value=text)
    assert 'role="alert"' in panel.message.value


def test_a_verdict_against_what_is_allowed(panel: KitComparisonPanel) -> None:
    send(panel.allowed, value="1,0")
    assert "agree within the 1 dKH allowed" in words(show(panel, "Side by side"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("8.2;8.4", "two waters or more"),
        ("8.2;8.4\n8.2;8.4\n8.2;8.4", "0.2"),
        ("8.2;acht", "number"),
        ("8,2,8,4\n7,9,8,2", ""),
        ("1;2;3\n4;5;6", "two columns"),
        ("-1;2\n-3;4\n-2;3", "Mean difference 5.00 dKH above (95 %: 0.03 to 9.97 above)"),
        ("old;new\n8,2;8,9\n8,0;8,7\n7,9;8,5\n8,3;9,0", "old"),
    ],
)
def test_any_two_columns(panel: KitComparisonPanel, text: str, said: str) -> None:
    show(panel, "Side by side")
    view = panel.views["Side by side"]
    assert isinstance(view, SideBySideView)
    try:
        send(view.source, index=1)
        send(view.text, value=text)
        page = words(panel.message.value + show(panel, "Side by side"))
        assert said in page
        assert not {"nan", "inf"} & set(page.split())
    finally:
        send(view.text, value="")
        send(view.source, index=0)


def test_steps_that_fit_no_row_are_told_as_such(panel: KitComparisonPanel) -> None:
    show(panel, "Side by side")
    view = panel.views["Side by side"]
    assert isinstance(view, SideBySideView)
    try:
        send(view.source, index=1)
        send(view.text, value="8.2;8.4\n8.3;8.4\n8.0;8.3\n7.1;7.5\n9;9.2\n10.1;10.4")
        send(view.step_a, value="0.3")
        assert "whose step is 0.3 dKH" in panel.message.value
        assert "Correct the steps" in panel.message.value
    finally:
        send(view.step_a, value="")
        send(view.text, value="")
        send(view.source, index=0)


def test_a_study_is_stored_and_its_levels_stay_hidden(
    panel: KitComparisonPanel, folder: Path
) -> None:
    send(panel.allowed, value="0.5")
    show(panel, "Study")
    view = panel.views["Study"]
    assert isinstance(view, StudyView)
    send(view.name, value="spring")
    view.store.click()
    assert "Stored as studies/spring.toml" in panel.message.value
    studies, problems = stored_studies(folder)
    assert [one.name for one in studies] == ["spring"]
    assert not problems
    assert len(studies[0].tests) == 20
    view.store.click()
    assert 'role="alert"' in panel.message.value
    assert "0 of 20 tests" in words(show(panel, "Study"))


def test_histories_are_joined_and_parted_again(panel: KitComparisonPanel, folder: Path) -> None:
    before = (folder / "readings.csv").read_bytes()
    show(panel, "Join histories")
    view = panel.views["Join histories"]
    assert isinstance(view, JoinView)
    view.save.click()
    assert "Kept in joins.toml" in panel.message.value
    assert len(open_tank(folder).joins) == 1
    assert "<svg" in show(panel, "Join histories")
    view.undo.click()
    assert open_tank(folder).joins == ()
    assert (folder / "readings.csv").read_bytes() == before


def test_an_element_with_one_kit(panel: KitComparisonPanel) -> None:
    choose(panel.element, "magnesium")
    assert panel.kit_b.options == ()
    for view in VIEWS:
        page = show(panel, view)
        page = words(panel.message.value + page)
        assert page
        assert "dKH" not in page
        assert not {"nan", "inf"} & set(page.split())


def test_a_folder_that_is_none(panel: KitComparisonPanel, tmp_path: Path) -> None:
    send(panel.folder, value=str(tmp_path / "nothing"))
    assert 'role="alert"' in panel.message.value
    assert shown(panel.place) == ""
