"""The plan page, driven through its traits as the browser drives it."""

from __future__ import annotations

import base64
import datetime as dt
import re
import shutil
from pathlib import Path

import ipywidgets as widgets
import numpy as np
import pytest

from reef_calc import open_tank
from reef_calc.log.plan_files import stored_plans
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.show.panels.plan_away import TakeAwayView
from reef_calc.show.panels.plan_done import PlannedAndDoneView
from reef_calc.show.panels.supplement_plan import VIEWS, SupplementPlanPanel

DEMO = Path(__file__).parents[2] / "data_demo"
BAD = [
    ("days", "0", "1 to 366 whole days"),
    ("days", "1825", "1 to 366 whole days"),
    ("days", "ten", "Days"),
    ("days", "2.5", "whole days"),
    ("start", "tomorrow", "year-month-day"),
    ("start", "2026-13-01", "year-month-day"),
    ("doses", "0", "1 to 24 doses a day"),
    ("doses", "1.5", "whole doses"),
    ("lime", "-1", "above 0"),
    ("litres", "-5", "litres of 0 or more"),
    ("every", "3", "litres of a change"),
]
BAD_ELEMENT = [
    ("aims", "-1", "none below 0"),
    ("aims", "13", "caution level"),
    ("aims", "eight", "number"),
    ("rises", "0", "above 0"),
    ("rises", "-0.5", "above 0"),
    ("levels", "-3", "0 or more"),
    ("levels", "100", "a level of"),
]


def send(control: widgets.Widget, **state: object) -> None:
    """Set what the browser sets."""
    control.set_state(state)


def show(panel: SupplementPlanPanel, view: str) -> str:
    """Press one of the views and return all HTML that is shown."""
    send(panel.view, index=list(VIEWS).index(view))
    return shown(panel.place)


def shown(box: widgets.Widget) -> str:
    """All HTML below a box."""
    found = str(box.value) if isinstance(box, widgets.HTML) else ""
    return found + "".join(shown(child) for child in getattr(box, "children", ()))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(DEMO / "classroom_reef", tmp_path_factory.mktemp("plan") / "reef"))


@pytest.fixture(scope="module")
def shared(folder: Path) -> SupplementPlanPanel:
    return SupplementPlanPanel(folder, places=(DEMO,))


@pytest.fixture
def panel(shared: SupplementPlanPanel, folder: Path) -> SupplementPlanPanel:
    """The plan as it is offered first."""
    if shared.folder.value != str(folder):
        send(shared.folder, value=str(folder))
    else:  # not opened again: its estimates are the slow part
        assert shared.tank is not None
        shared.form.offer(shared.tank, dt.date(2026, 9, 30))
        shared._work_out()
    show(shared, "Plan")
    return shared


def test_the_answer_comes_first(panel: SupplementPlanPanel) -> None:
    page = show(panel, "Plan")
    assert page.index("carbonate stock") < page.index("Where it leads") < page.index("<svg")
    assert "look at it, but do not follow it" in panel.notice.value
    assert "nan" not in re.sub("<[^>]*>", " ", page).casefold().split()


def test_what_is_shown_is_what_a_plain_loop_gives(panel: SupplementPlanPanel) -> None:
    assert panel.plan is not None
    solved = panel.plan.solved
    again = levels_day_by_day(solved.problem, solved.daily())
    assert np.allclose(again, solved.levels, atol=1e-9, rtol=0)


@pytest.mark.parametrize("view", VIEWS)
def test_every_view_shows_something(panel: SupplementPlanPanel, view: str) -> None:
    page = show(panel, view)
    assert "<h2" in page
    assert 'role="alert"' not in panel.message.value
    words = re.sub("<[^>]*>", " ", page)
    assert not {"nan", "inf", "<NA>"} & set(words.split())


@pytest.mark.parametrize(("field", "text", "said"), BAD)
def test_a_field_that_cannot_be_used(
    panel: SupplementPlanPanel, field: str, text: str, said: str
) -> None:
    send(getattr(panel.form, field), value=text)
    assert said in panel.message.value
    assert 'role="alert"' in panel.message.value
    assert panel.plan is None
    assert "<svg" not in show(panel, "Plan")


@pytest.mark.parametrize(("fields", "text", "said"), BAD_ELEMENT)
def test_an_element_field_that_cannot_be_used(
    panel: SupplementPlanPanel, fields: str, text: str, said: str
) -> None:
    send(getattr(panel.form, fields)["alkalinity"], value=text)
    assert said in panel.message.value + show(panel, "Plan")


def test_an_aim_changes_the_plan(panel: SupplementPlanPanel) -> None:
    assert panel.plan is not None
    before = panel.plan.solved.levels[panel.plan.problem.element("alkalinity"), -1]
    send(panel.form.aims["alkalinity"], value="8,2")
    after = panel.plan.solved.levels[panel.plan.problem.element("alkalinity"), -1]
    assert after > before + 0.2


def test_a_supplement_that_is_not_allowed_is_not_used(panel: SupplementPlanPanel) -> None:
    send(panel.form.allowed["carbonate stock"], value=False)
    assert panel.plan is not None
    # It stands in the plan as stopped, so that nobody lets it run on.
    assert panel.plan.settings.query("container == 'carbonate stock'")["per_day"].max() == 0
    assert panel.plan.settings.query("container == 'bicarbonate solution'")["per_day"].max() > 0


def test_no_supplement_at_all_is_told(panel: SupplementPlanPanel) -> None:
    for box in panel.form.allowed.values():
        box.value = False
    assert "nothing to plan" in panel.message.value.casefold()


def test_limewater_brings_no_more_than_evaporates(panel: SupplementPlanPanel) -> None:
    send(panel.form.lime, value="2")
    assert panel.plan is not None
    lime = panel.plan.settings.query("container == 'limewater'")["per_day"]
    assert 0 < lime.max() <= 2000


def test_a_reactor_brings_what_its_outlet_holds_more_than_the_tank(
    panel: SupplementPlanPanel,
) -> None:
    send(panel.form.reactor.flow, value="30")
    assert "Test it there" in panel.message.value
    send(panel.form.reactor.alkalinity, value="28")
    for box in panel.form.allowed.values():
        box.value = False
    assert panel.plan is not None
    last = panel.plan.settings.query("container == 'reactor'")["per_day"].iloc[-1]
    kh = panel.plan.problem.elements[panel.plan.problem.element("alkalinity")]
    # 28 at the outlet less 7.8 in the tank, into 462 L.
    assert last / 1000 * 20.2 / 462 == pytest.approx(kh.use, rel=0.03)
    assert "mL a minute, day and night" in show(panel, "Plan")


def test_two_plans_stand_side_by_side(panel: SupplementPlanPanel) -> None:
    show(panel, "Two plans")
    panel.views["Two plans"].keep.click()
    send(panel.form.aims["alkalinity"], value="8.2")
    page = show(panel, "Two plans")
    assert "plan kept" in page
    assert "plan now" in page


def test_a_plan_is_stored_and_compared(panel: SupplementPlanPanel, folder: Path) -> None:
    show(panel, "Take away")
    view = panel.views["Take away"]
    assert isinstance(view, TakeAwayView)
    view.store.click()
    assert "Stored as plans/2026-09-30.toml" in panel.message.value
    view.store.click()
    assert "2026-09-30-2.toml" in panel.message.value
    plans, problems = stored_plans(folder)
    assert len(plans) == 2
    assert not problems
    (folder / "plans" / "2026-10-99.toml").write_text("format = 1\nstart = nonsense", "utf-8")
    page = show(panel, "Planned and done")
    assert "2026-09-30, 30 days" in page
    assert "2026-10-99.toml" in page
    done = panel.views["Planned and done"]
    assert isinstance(done, PlannedAndDoneView)
    send(done.until, value="2026-09-01")
    assert 'role="alert"' in panel.message.value


def test_what_was_set_goes_into_the_log_once(panel: SupplementPlanPanel, folder: Path) -> None:
    before = len(open_tank(folder).additions)
    show(panel, "Take away")
    view = panel.views["Take away"]
    assert isinstance(view, TakeAwayView)
    view.log.click()
    assert "rows added to additions.csv" in panel.message.value
    tank = open_tank(folder)
    assert len(tank.additions) > before
    assert tank.counts["refused"].sum() == 0
    again = len(tank.additions)
    view.log.click()
    assert len(open_tank(folder).additions) == again


def test_everything_can_be_taken_away(panel: SupplementPlanPanel) -> None:
    page = show(panel, "Take away")
    files = dict(re.findall(r'download="([^"]+)" href="data:[^,]*,([^"]*)"', page))
    texts = {name: base64.b64decode(data).decode("utf-8") for name, data in files.items()}
    sheet = next(text for name, text in texts.items() if name.endswith("sheet.html"))
    assert "<svg" in next(t for n, t in texts.items() if n.endswith("30.html"))
    assert "http" not in re.sub(r"http://www\.w3\.org\S*", "", sheet)
    assert sum(name.endswith(".csv") for name in texts) == 5
    assert all(text.count("\n") > 2 for text in texts.values())


def test_a_folder_that_is_none(panel: SupplementPlanPanel, tmp_path: Path) -> None:
    send(panel.folder, value=str(tmp_path / "nothing"))
    assert 'role="alert"' in panel.message.value
    assert panel.plan is None
    assert shown(panel.place) == ""


def test_the_other_demonstration_tank(panel: SupplementPlanPanel) -> None:
    send(panel.folder, value=str(DEMO / "nursery"))
    assert panel.plan is not None
    for view in VIEWS:
        assert "<h2" in show(panel, view)
        assert 'role="alert"' not in panel.message.value
