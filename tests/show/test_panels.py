"""Both panels, driven through their traits as the browser drives them."""

from __future__ import annotations

import base64
import io
import re
import threading
import tomllib
from pathlib import Path

import ipywidgets as widgets
import pandas as pd
import pytest

from reef_calc import open_tank
from reef_calc.errors import InputError
from reef_calc.show.panels import common
from reef_calc.show.panels.monthly_review import PERIODS, VIEWS, MonthlyReviewPanel
from reef_calc.show.panels.start import StartPanel
from reef_calc.show.review import MonthReview
from tests.folders import TANK, make_folder, reading
from tests.tank_cases import quiet, series, words_of

DEMO = Path(__file__).parents[2] / "data_demo"


def send(control: widgets.Widget, **state: object) -> None:
    """Set what the browser sets."""
    control.set_state(state)


def choose(control: widgets.Dropdown, value: str) -> None:
    """Choose an option by its value, as the browser does: by index."""
    send(control, index=[v for _, v in control.options].index(value))


def show(panel: MonthlyReviewPanel, view: str) -> str:
    """Press one of the views and return what is shown."""
    send(panel.view, index=VIEWS.index(view))
    return str(panel.shown.value)


@pytest.fixture(scope="module")
def shared() -> MonthlyReviewPanel:
    return MonthlyReviewPanel(DEMO / "nursery", places=(DEMO, DEMO / "not there"))


@pytest.fixture
def panel(shared: MonthlyReviewPanel) -> MonthlyReviewPanel:
    """The nursery in its last month, overview shown."""
    send(shared.folder, value=str(DEMO / "nursery"))
    choose(shared.month, "2026-09")
    show(shared, "Overview")
    return shared


def test_the_overview_comes_first(panel: MonthlyReviewPanel) -> None:
    assert panel.review is not None
    assert panel.month.value == "2026-09"
    assert panel.review.title in words_of(panel.shown.value)
    assert 'role="status"' in panel.message.value
    assert [Path(path).name for path in panel.folder.options] == ["classroom_reef", "nursery"]


def test_a_bad_folder_then_a_good_one(panel: MonthlyReviewPanel, tmp_path: Path) -> None:
    send(panel.folder, value=str(tmp_path / "none"))
    assert 'role="alert"' in panel.message.value
    assert "Check the path" in panel.message.value
    assert panel.shown.value == ""
    assert (panel.month.options, panel.against.options, panel.element.options) == ((), (), ())
    for view in VIEWS:  # nothing of the last tank comes back
        assert show(panel, view) == ""
        assert 'role="alert"' in panel.message.value
    send(panel.folder, value=f" {DEMO / 'nursery'} ")
    assert 'role="alert"' not in panel.message.value
    assert "alkalinity" in [v for _, v in panel.element.options]
    assert panel.shown.value


def test_markup_in_a_path_stays_text(panel: MonthlyReviewPanel) -> None:
    send(panel.folder, value="<img src=x onerror=alert(1)>")
    assert "<img" not in panel.message.value


def test_a_home_folder_may_be_written_short(
    panel: MonthlyReviewPanel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_folder(tmp_path / "reef", **quiet())
    monkeypatch.setenv("HOME", str(tmp_path))
    send(panel.folder, value="~/reef")
    assert panel.tank is not None
    assert panel.tank.name == "Test reef"


def test_another_month(panel: MonthlyReviewPanel) -> None:
    choose(panel.month, "2026-07")
    assert panel.review is not None
    assert panel.review.month == "2026-07"
    assert "July 2026" in words_of(panel.shown.value)
    assert [v for _, v in panel.against.options] == ["2026-06", "2026-05"]
    assert panel.month.disabled is False
    assert panel.progress.layout.display == "none"


def test_the_element_stays_when_the_month_changes(panel: MonthlyReviewPanel) -> None:
    show(panel, "One element")
    choose(panel.element, "calcium")
    choose(panel.month, "2026-06")
    assert panel.element.value == "calcium"
    assert 'data-element="calcium"' in panel.shown.value


def test_compare_with_an_earlier_month(panel: MonthlyReviewPanel) -> None:
    show(panel, "One element")
    choose(panel.element, "alkalinity")
    for month, words in (("2026-08", "August 2026"), ("2026-06", "June 2026")):
        choose(panel.against, month)
        assert f"September 2026 against {words}" in words_of(panel.shown.value)
    choose(panel.element, "salinity")
    assert "against" not in words_of(panel.shown.value).replace("Use against dose", "")
    choose(panel.month, "2026-05")  # the first month has none before it
    choose(panel.element, "alkalinity")
    assert panel.against.value is None
    assert panel.shown.value


def test_every_element_period_and_width(panel: MonthlyReviewPanel) -> None:
    show(panel, "One element")
    for _, name in panel.element.options:
        choose(panel.element, name)
        assert f'data-element="{name}"' in panel.shown.value
    choose(panel.element, "alkalinity")
    for i in range(len(PERIODS)):
        for j in (0, 1):
            send(panel.period, index=i)
            send(panel.width, index=j)
            assert "<svg" in panel.shown.value
            assert 'role="alert"' not in panel.message.value


def test_an_error_while_drawing_is_shown_and_goes_away(
    panel: MonthlyReviewPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> object:
        raise InputError("a strength", "none", "Describe it.", "supplements.toml")

    with monkeypatch.context() as patched:
        patched.setattr(MonthReview, "full", broken)
        choose(panel.month, "2026-08")  # nothing of it is worked out yet
        assert show(panel, "One element") == ""
        assert "! supplements.toml: needed a strength" in panel.message.value
    assert show(panel, "Overview") != ""
    assert 'role="alert"' not in panel.message.value


def test_refused_rows_are_told_in_every_view(panel: MonthlyReviewPanel, tmp_path: Path) -> None:
    rows = [*series(), reading("2026-03-31", "8,3")]
    send(panel.folder, value=str(make_folder(tmp_path / "tank", **quiet(readings=rows))))
    for view in VIEWS:
        show(panel, view)
        assert "1 row or entry of the folder could not be used" in panel.message.value
    assert "write 8.3" in show(panel, "Readings to doubt")


def test_downloads_are_what_they_say(panel: MonthlyReviewPanel) -> None:
    links = re.findall(
        r'<a class="rc-download" download="([^"]+)" href="data:([^;]+);charset=utf-8;base64,([^"]+)"',
        show(panel, "Take away"),
    )
    files = {name: (kind, base64.b64decode(data).decode("utf-8")) for name, kind, data in links}
    assert list(files)[:2] == ["review_coral_nursery_2026-09.html", "summary_2026-09.csv"] or len(
        files
    )
    kind, page = next(file for name, file in files.items() if name.endswith(".html"))
    assert kind == "text/html"
    assert page.startswith("<!DOCTYPE html>")
    kind, table = files["summary_2026-09.csv"]
    assert kind == "text/csv"
    summary = pd.read_csv(io.StringIO(table))
    assert panel.review is not None
    assert list(summary["element"]) == [s.element for s in panel.review.standings]
    assert list(summary["what to do"]) == [s.decision.headline for s in panel.review.standings]
    for name in ("readings.csv", "additions.csv", "water_changes.csv", "events.csv"):
        assert files[name] == ("text/csv", (DEMO / "nursery" / name).read_text(encoding="utf-8"))


@pytest.fixture
def doubtful(tmp_path: Path) -> MonthlyReviewPanel:
    """A quiet tank with one reading far above the others, its findings shown."""
    rows = series()
    rows[8]["value"] = "9.6"
    panel = MonthlyReviewPanel(make_folder(tmp_path / "tank", **quiet(readings=rows)))
    show(panel, "Findings")
    return panel


def events_of(panel: MonthlyReviewPanel) -> list[tuple[str, str, str]]:
    assert panel.tank is not None
    events = open_tank(panel.tank.folder).events
    return list(events[["kind", "element", "note"]].itertuples(index=False, name=None))


def test_findings_have_their_controls_only_in_their_view(doubtful: MonthlyReviewPanel) -> None:
    assert "reading of 17 Mar 2026" in words_of(doubtful.shown.value)
    assert "events.csv of tank" in words_of(doubtful.shown.value)
    for view in VIEWS:
        show(doubtful, view)
        assert (doubtful.findings.box.layout.display != "none") is (view == "Findings")


def test_a_decision_is_kept_and_can_be_changed(doubtful: MonthlyReviewPanel) -> None:
    controls = doubtful.findings
    words, (element, key) = controls.finding.options[0]
    assert words.startswith("Alkalinity: doubted reading, 17 Mar 2026")
    send(controls.note, value=" a bubble in the syringe ")
    controls.accept.click()
    kept = [("finding accepted", "alkalinity", "a bubble in the syringe")]
    assert events_of(doubtful) == kept
    assert "Kept in events.csv." in words_of(controls.message.value)
    assert re.search("No rate changed|→", words_of(controls.message.value))
    assert controls.note.value == ""
    told = words_of(doubtful.shown.value)
    assert "it is so" in told
    assert "a bubble in the syringe" in told
    assert doubtful.month.value == "2026-03"
    assert (element, key) in [value for _, value in controls.finding.options]
    send(
        controls.finding,
        index=[value for _, value in controls.finding.options].index((element, key)),
    )
    controls.reject.click()
    assert events_of(doubtful) == [*kept, ("finding rejected", "alkalinity", "")]
    assert "it is not so" in words_of(doubtful.shown.value)
    assert not controls.accept.disabled and not controls.reject.disabled
    choose(doubtful.month, "2026-03")  # the same month: nothing is drawn anew
    show(doubtful, "Overview")
    assert 'role="alert"' not in doubtful.message.value


def test_a_decision_that_cannot_be_kept_leaves_the_view(
    doubtful: MonthlyReviewPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert doubtful.tank is not None
    (doubtful.tank.folder / "events.csv").write_text("time;kind\n", encoding="utf-8")
    before = doubtful.shown.value
    send(doubtful.findings.note, value="kept for the next try")
    doubtful.findings.reject.click()
    assert 'role="alert"' in doubtful.findings.message.value
    assert "needed a file that can be read" in words_of(doubtful.findings.message.value)
    assert doubtful.shown.value == before
    assert doubtful.findings.note.value == "kept for the next try"
    assert not doubtful.findings.reject.disabled
    monkeypatch.setattr(common.os, "access", lambda *_: False)
    show(doubtful, "Overview")
    assert "This folder cannot be written" in words_of(show(doubtful, "Findings"))


def test_a_folder_that_went_bad_meanwhile(doubtful: MonthlyReviewPanel) -> None:
    assert doubtful.tank is not None
    readings = doubtful.tank.folder / "readings.csv"
    readings.write_text(readings.read_text().splitlines()[0] + "\n", encoding="utf-8")
    (doubtful.tank.folder / "tank.toml").write_text(TANK.split("[aim")[0], encoding="utf-8")
    doubtful.findings.accept.click()
    assert "Kept in events.csv." in words_of(doubtful.findings.message.value)
    assert 'role="alert"' in doubtful.message.value
    assert doubtful.shown.value == ""


def test_the_demonstration_tank_is_told_apart(panel: MonthlyReviewPanel) -> None:
    assert "a copy is better to play with" in words_of(show(panel, "Findings"))
    assert panel.findings.accept.disabled is (not panel.findings.finding.options)


def test_the_use_without_one_reading(doubtful: MonthlyReviewPanel) -> None:
    show(doubtful, "One element")
    choose(doubtful.element, "alkalinity")
    assert "Without the reading" not in words_of(doubtful.shown.value)
    row = doubtful.leave_out.options[1][1]
    choose(doubtful.leave_out, row)
    assert f"Without the reading of row {row}" in words_of(doubtful.shown.value)
    assert doubtful.leave_out.value == row
    choose(doubtful.element, "calcium")
    assert doubtful.leave_out.options == (("nothing", 0),)
    assert "Without the reading" not in words_of(doubtful.shown.value)
    assert events_of(doubtful) == []


def test_a_reader_without_widgets_gets_a_sentence(panel: MonthlyReviewPanel) -> None:
    assert "Run All Cells" in panel._repr_mimebundle_()["text/plain"]


def test_every_control_has_a_name_and_a_tooltip(panel: MonthlyReviewPanel, tmp_path: Path) -> None:
    start = StartPanel(DEMO / "nursery", tmp_path)
    for one in (panel, panel.findings, start):
        for control in vars(one).values():
            if isinstance(control, widgets.ValueWidget | widgets.Button) and not isinstance(
                control, widgets.HTML | widgets.IntProgress
            ):
                assert control.description
                assert control.tooltip or control.tooltips


@pytest.fixture
def start(tmp_path: Path) -> StartPanel:
    return StartPanel(DEMO / "nursery", tmp_path)


def test_start_an_empty_tank(start: StartPanel, tmp_path: Path) -> None:
    send(start.name, value='My <b>"reef"</b> 🐠')
    send(start.net, value=300.0)
    start.start.click()
    assert 'role="status"' in start.message.value
    assert "<b>" not in start.message.value
    made = tmp_path / "my_reef"
    assert open_tank(made).name == 'My <b>"reef"</b> 🐠'
    assert tomllib.loads((made / "tank.toml").read_text(encoding="utf-8"))["tank"]["zone"]
    assert start.start.disabled is False
    panel = MonthlyReviewPanel(made)
    assert "has no reading of the tank's water yet" in words_of(panel.message.value)


def test_a_tank_without_a_name_takes_its_folders(start: StartPanel) -> None:
    send(start.name, value=" ")
    send(start.net, value=300.0)
    start.start.click()
    assert "“my_reef” is ready" in words_of(start.message.value)


@pytest.mark.parametrize(
    ("field", "value", "piece"),
    [
        ("net", 0.0, "net volume above 0"),
        ("net", float("nan"), "net volume above 0"),
        ("net", -5.0, "net volume above 0"),
        ("zone", "Mars/Olympus", "Europe/Berlin"),
        ("folder", " ", "Type a path"),
        ("folder", "a\0b", "Type a path"),
        ("folder", "x" * 3000, "File name too long"),
    ],
)
def test_what_the_start_page_refuses(
    start: StartPanel, tmp_path: Path, field: str, value: object, piece: str
) -> None:
    send(start.net, value=300.0)
    send(getattr(start, field), value=value)
    start.start.click()
    assert 'role="alert"' in start.message.value
    assert piece in words_of(start.message.value)
    assert len(start.message.value) < 500
    assert start.start.disabled is False


def test_nothing_is_overwritten(start: StartPanel, tmp_path: Path) -> None:
    start.copy.click()
    assert "A copy of the demonstration tank" in start.message.value
    before = {p.name: p.read_bytes() for p in (tmp_path / "my_reef").iterdir()}
    for button in (start.copy, start.start):
        send(start.net, value=300.0)
        button.click()
        assert 'role="alert"' in start.message.value
    assert {p.name: p.read_bytes() for p in (tmp_path / "my_reef").iterdir()} == before


def test_a_tank_opened_while_another_is_worked_out_gets_its_own_elements() -> None:
    panel = MonthlyReviewPanel(DEMO / "classroom_reef")
    first = panel.review
    panel.folder.value = str(DEMO / "nursery")
    assert panel.review is not None
    assert panel.review is not first
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and thread.daemon:
            thread.join(timeout=20)
    assert set(panel._checked) <= {s.element for s in panel.review.standings}
    assert {s.tank for s in panel._checked.values()} <= {panel.review.tank.name}
