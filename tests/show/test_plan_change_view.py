"""The view "Change a supplement": the days keep the supply, limits hold, words say what stands."""

from __future__ import annotations

import base64
import csv
import datetime as dt
import io
import re
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.changes_in_log import logged_changes
from reef_calc.show.cross_fade_figure import cross_fade_svg
from reef_calc.show.dose_on_ph import WaterNow, doses_on_ph
from reef_calc.show.panels.plan_change import ChangeSupplementView
from reef_calc.show.panels.plan_view import Planning
from reef_calc.show.supplement_change_tables import swap_csv
from reef_calc.show.supplement_change_view import answer_words, swap_html
from reef_calc.show.supplement_swap import Swap, fewest_doses, swap
from reef_calc.show.svg import leftover_colours
from tests.folders import dose, make_tank
from tests.tank_cases import series, words_of
from tests.trust import check_published

DEMO = Path(__file__).parents[2] / "data_demo"
START = dt.date(2026, 10, 1)
# meq/L of 1 dKH: 1 °d is 10 mg CaO in a litre, 2·10/56.077 (CIAAW 2021, as chem/units.py).
DKH = 2.8


@pytest.fixture(scope="module")
def demo() -> Tank:
    return open_tank(DEMO / "classroom_reef")


def planning(tank: Tank, said: list[tuple[str, str]] | None = None) -> Planning:
    """A page without a plan that keeps what is said."""
    told = said if said is not None else []
    return Planning(
        tank, None, None, lambda text, kind: told.append((kind, text)), lambda: None, lambda: None
    )


def view_of(tank: Tank, said: list[tuple[str, str]] | None = None) -> ChangeSupplementView:
    view = ChangeSupplementView()
    view.show(planning(tank, said))
    return view


def shown(view: ChangeSupplementView) -> str:
    return words_of(view.result.box.value)


def carbonate(**more: object) -> Supplement:
    line = {"salt": "sodium carbonate", "hydrate": 0, "grams_per_L": 60.0}
    return supplement_from_table("carbonate", {"recipe": [line], **more})


def bicarbonate(**more: object) -> Supplement:
    line = {"salt": "sodium hydrogen carbonate", "hydrate": 0, "grams_per_L": 60.0}
    return supplement_from_table("bicarbonate", {"recipe": [line], **more})


def changed(old: Supplement, new: Supplement, now: float = 100.0, **more: object) -> Swap:
    return swap(
        old, new, "alkalinity", "dKH", now, WaterNow(300.0, alkalinity_meq_per_L=DKH), start=START,
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


def test_the_equivalent_dose_is_the_ratio_of_masses_for_one_alkalinity() -> None:
    # Baking turns two hydrogen carbonates into one carbonate of the same alkalinity.
    found = changed(bicarbonate(), carbonate())
    check_published("D09", found.change.amount_then / 100.0)


def test_the_days_against_an_independent_sum(demo: Tank) -> None:
    old, new = (demo.supplements[name] for name in ("carbonate stock", "bicarbonate solution"))
    found = swap(old, new, "alkalinity", "dKH", 167.5, WaterNow(462.0), start=START, doses_old=6)
    assert found.most == 150.0 and found.stays == 90.0
    per_dkh = 2 * 10 / 56.077  # meq/L
    # From the recipes by hand: g/L · assay · equivalents a gram.
    a_old = 60.0 * 0.995 * 2 / 105.988 / 462.0 / per_dkh
    a_new = 50.0 * 0.99 / 84.006 / 462.0 / per_dkh
    drift = 0.0
    for row in found.days().itertuples():
        arrives = a_old * row.old + a_new * row.new
        drift += arrives - a_old * 167.5
        assert row.arrives == pytest.approx(arrives, rel=1e-4)
        assert row.from_old + row.from_new == pytest.approx(arrives, rel=1e-4)
        assert row.drift == pytest.approx(drift, abs=2e-4)
        assert row.new <= 150.0 and row.old >= 90.0
        assert row.new % 5.0 == 0.0 and (row.day == 0 or row.old % 6.0 == 0.0)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.2, 4.0), st.floats(0.2, 4.0), st.floats(5.0, 300.0), st.integers(1, 20),
    st.sampled_from([0.0, 0.5, 1.0, 5.0]), st.floats(20.0, 900.0), st.integers(1, 8),
)  # fmt: skip
def test_no_limit_is_passed_and_the_supply_is_kept(
    old_adds: float, new_adds: float, now: float, days: int, step: float, most: float, doses: int
) -> None:
    old = Supplement("old", {"alkalinity": old_adds})
    limits = {"mL_per_day": most, "mL_per_dose": most / 2, "step_mL": step}
    new = Supplement("new", {"alkalinity": new_adds}, limits=limits)
    try:
        found = changed(old, new, now, days=days, doses_old=doses)
    except InputError as error:
        assert "doses a day" in str(error) or "may be given" in str(error)
        return
    table = found.days()
    coarse = step * found.doses_new
    # Rounding to a step of the pump may pass the equivalent, never what may be given.
    assert table["new"].max() <= most + 1e-9
    assert table["old"].min() >= found.stays - 1e-9
    assert table["new"].iloc[-1] / found.doses_new <= most / 2 + 1e-9
    unit = new_adds / 300.0 * DKH
    assert (table["arrives"] - found.supply).abs().max() <= 1.01 * unit * coarse + 1e-9
    assert found.days()["arrives"].iloc[0] == pytest.approx(found.supply)


def test_what_is_left_runs_out_on_a_day() -> None:
    weak = bicarbonate(limits={"mL_per_day": 100.0})
    part = changed(carbonate(), weak, days=4, left=1000.0)
    assert part.stays > 0.0
    spent, day = 1000.0, START
    amounts = list(part.days()["old"].iloc[1:])
    while spent >= (amounts[0] if amounts else part.stays) - 1e-9:
        spent -= amounts.pop(0) if amounts else part.stays
        day += dt.timedelta(days=1)
    assert part.runs_out() == day
    whole = changed(bicarbonate(), carbonate(), days=4, left=100.0)
    assert whole.runs_out() == START + dt.timedelta(days=1)  # 75, then 50, 25 and 0 mL
    words = words_of(swap_html(whole))
    assert "The 4 days take 150 mL of bicarbonate. It runs out on 2 Oct 2026." in words
    assert changed(bicarbonate(), carbonate(), days=4, left=150.0).runs_out() is None


def test_a_supplement_that_is_not_allowed_enough_says_so(demo: Tank) -> None:
    weak = bicarbonate(limits={"mL_per_day": 60.0})
    found = changed(carbonate(), weak)
    assert answer_words(found).startswith("bicarbonate cannot do all of it: 60 mL a day at most")
    words = words_of(swap_html(found))
    assert "All of it would take 159 mL of bicarbonate a day" in words
    assert "60 mL is its largest amount" in words
    with pytest.raises(InputError, match="may be given in more than 1 mL"):
        changed(
            carbonate(limits={"step_mL": 50.0}), bicarbonate(limits={"mL_per_day": 1.0}),
            doses_old=1,
        )  # fmt: skip


def test_doses_a_day_keep_the_limits() -> None:
    strong = Supplement("lye", {"alkalinity": 1.0}, limits={"mL_per_dose": 5.0})
    assert fewest_doses(strong, 90.0, 300.0) == 18
    assert changed(carbonate(), bicarbonate(), doses_old=6).doses_new == 6
    # A step of 5 mL six times a day would be 19 % of the day's amount.
    coarse = bicarbonate(limits={"step_mL": 5.0})
    assert changed(carbonate(), coarse, doses_old=6).doses_new == 3
    with pytest.raises(InputError, match="needed 3 to 48 doses a day"):
        changed(carbonate(), bicarbonate(limits={"mL_per_dose": 60.0}), doses_new=2)


def test_what_is_given_evenly_keeps_its_fine_steps() -> None:
    old = carbonate(limits={"step_mL": 0.5})
    found = changed(old, bicarbonate(), now=5.0, doses_old=0)
    assert found.doses_new == 24 and found.stays == 0.0
    # Steps of half a mL a day, not of half a mL for each of 24 doses.
    assert found.days()["old"].tolist() == [5.0, 4.5, 3.5, 3.0, 2.0, 1.5, 0.5, 0.0]


def test_a_supplement_that_acts_late_overlaps() -> None:
    line = {"salt": "calcium formate", "hydrate": 0, "grams_per_L": 50.0}
    formate = supplement_from_table("formate", {"recipe": [line], "lag_days": 2.0})
    found = changed(carbonate(), formate, days=4)
    table = found.days()
    assert len(table) > 5 and (table["arrives"] - found.supply).abs().max() < 1e-9
    assert ((table["from_old"] + table["from_new"]) > found.supply + 0.01).any()
    words = words_of(swap_html(found, ["magnesium stock"]))
    assert "appears about 2 days after the dose" in words
    assert "formate and magnesium stock: never in one container" in words


@pytest.mark.parametrize("amount", [1e9, 1e15])
def test_absurd_amounts_are_refused(amount: float) -> None:
    with pytest.raises(InputError, match="48 doses a day can bring"):
        changed(carbonate(), bicarbonate(), now=amount)
    weak = bicarbonate(limits={"mL_per_day": 60.0})
    assert changed(carbonate(), weak, left=amount).runs_out() is None


def test_ph_of_one_dose_has_the_right_direction() -> None:
    pytest.importorskip("PyCO2SYS")
    water = WaterNow(300.0, alkalinity_meq_per_L=DKH)
    bottle = Supplement("bottle", {"alkalinity": 1.0})
    (up, down, unknown), words = doses_on_ph(
        ((carbonate(), 50.0), (bicarbonate(), 80.0), (bottle, 50.0)), water
    )
    assert "a room of 500 µatm" in words and up.low > up.before > down.low
    assert unknown.low < unknown.before < unknown.high
    assert doses_on_ph(((bottle, 50.0),), WaterNow(300.0)) == (
        (), "What a dose does to pH is not told: neither a plan nor an aim says the "
        "alkalinity of the tank.",
    )  # fmt: skip


def test_the_picture_says_what_it_shows() -> None:
    found = changed(carbonate(), bicarbonate(), days=30)
    svg = cross_fade_svg(found)
    assert leftover_colours(svg) == []
    assert 'role="img"' in svg and "within 30 days" in svg
    assert svg.count("<text") < 24


def test_names_are_escaped_everywhere() -> None:
    evil = Supplement('<b onclick="x">', {"alkalinity": 1.0}, linked={"<i>": 1.0})
    page = swap_html(changed(carbonate(), evil, left=5.0))
    assert "<b onclick" not in page and "<i>" not in page


def test_the_csv_can_be_followed(demo: Tank) -> None:
    found = changed(carbonate(), bicarbonate(limits={"step_mL": 1.0}), days=5, doses_old=4)
    rows = list(csv.DictReader(io.StringIO(swap_csv(found))))
    assert [row["day"] for row in rows] == ["0", "1", "2", "3", "4", "5"]
    assert rows[1]["date"] == "2026-10-01" and rows[5]["from_per_day"] == "0"
    last = rows[5]
    assert float(last["to_per_dose"]) * int(last["to_doses"]) == pytest.approx(
        float(last["to_per_day"])
    )


# The view


def test_the_demonstration_tank_answers_at_once(demo: Tank) -> None:
    said: list[tuple[str, str]] = []
    view = ChangeSupplementView()
    plan = SimpleNamespace(
        start=dt.date(2026, 9, 30),
        summary=pd.DataFrame({"element": ["alkalinity"], "now": [6.8], "unit": ["dKH"]}),
    )
    page = planning(demo, said)
    object.__setattr__(page, "results", SimpleNamespace(plan=plan))
    view.show(page)
    assert (view.old.value, view.now.value) == ("carbonate stock", "167.5")
    assert "bicarbonate solution cannot do all of it: 150 mL a day at most" in shown(view)
    assert "Day 1 is 30 Sep 2026" in shown(view)
    assert said == []
    link = re.search(r"base64,([^\"]+)", view.links.value)
    assert link and base64.b64decode(link[1]).decode().startswith("day,date,from,")
    assert "The log tells of no change of supplement yet" in words_of(view.outcome.result.box.value)


def test_limewater_and_what_is_typed(demo: Tank) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(demo, said)
    view.new.choice.value = ("limewater", "")
    view.new.evaporates.value = "6"
    assert "of limewater a day in place of 167.5 mL of carbonate stock" in shown(view)
    assert "Take 8.2 mg/L a day off other doses of it" in shown(view)
    view.new.choice.value = ("a recipe typed here", "")
    view.new.grams.value = "60"
    assert "of new supplement a day" in shown(view)
    view.new.assay.value = "200"
    assert "needed an assay between 30 and 105 %" in shown(view)
    assert said[-1][0] == "error" and view.links.value == ""
    view.new.assay.value = "99"
    assert said[-1] == ("told", "")
    view.new.choice.value = ("a label typed here", "")
    view.new.name.value = "carbonate stock"
    assert "The folder has it: choose it from the list." in shown(view)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("now", "1,250", "The comma may be a decimal comma or a thousands separator"),
        ("now", "-3", "today's amount of carbonate stock above 0"),
        ("days", "7.5", "needed a whole number"),
        ("days", "0", "1 to 60 whole days"),
        ("start", "tomorrow", "a day such as 2026-09-30"),
        ("doses", "90", "doses a day of bicarbonate solution"),
        ("step", "-1", "a step of 0 or more"),
        ("left", "-5", "an amount of 0 or more"),
        ("left", "half", "a number with a decimal point"),
    ],
)
def test_bad_fields_are_told_in_words(demo: Tank, field: str, text: str, words: str) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(demo, said)
    getattr(view, field).value = text
    assert words in shown(view)
    assert said[-1][0] == "error" and words in said[-1][1]


def test_another_container_brings_its_own_amount(demo: Tank) -> None:
    view = view_of(demo)
    view.left.value, view.now.value = "800", "150"
    view.show(planning(demo))
    assert (view.left.value, view.now.value) == ("800", "150")
    view.old.value = "calcium stock"
    assert (view.left.value, view.now.value) == ("", "192")
    assert view.element.value == "calcium" or "needed a supplement that adds" in shown(view)


def test_a_tank_without_supplements(tmp_path: Path) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(make_tank(tmp_path, supplements=""), said)
    assert "No supplement is described yet" in shown(view)


# Did it work


TWO = """
[supplement."part one"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
[supplement.other]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.25 dKH"}}
[supplement.calcium]
label = {amount = 10, unit = "mL", litres = 100, raises = {calcium = "4 mg/L"}}
"""


def test_the_log_tells_of_a_change(tmp_path: Path) -> None:
    rows = [
        dose("2026-03-01T00:00", 60, end="2026-04-01T12:00"),
        dose("2026-04-01T12:00", 120, supplement="other"),
        dose("2026-03-01T00:00", 5, supplement="calcium"),
    ]
    tank = make_tank(tmp_path, supplements=TWO, readings=series(36, "2026-02-20"), additions=rows)
    found = logged_changes(tank)
    assert [(one.new, one.date.isoformat(), one.ended) for one in found] == [
        ("other", "2026-04-01", ("part one",)), ("part one", "2026-03-01", ()),
        ("calcium", "2026-03-01", ()),
    ]  # fmt: skip
    assert found[0].elements == ("alkalinity",)
    view = view_of(tank)
    outcome = view.outcome
    assert "Choose a change of the log" in words_of(outcome.result.box.value)
    outcome.change.value = found[0]
    words = words_of(outcome.result.box.value)
    assert "other brings" in words and "tests before and" in words
    assert re.search(r"\d+ ± \d+ %|\d+ to \d+ %", words)
    # The same tank shown again keeps the choice and its answer.
    page = outcome.result.planning
    assert page is not None
    view.show(page)
    assert outcome.change.value == found[0]


def test_a_correction_by_hand_is_no_change(tmp_path: Path) -> None:
    rows = [
        dose("2026-02-01T00:00", 60),
        dose("2026-03-20T12:00", 20, supplement="other", how="once"),
    ]
    tank = make_tank(tmp_path, supplements=TWO, readings=series(36, "2026-02-20"), additions=rows)
    assert logged_changes(tank) == []


def test_a_cross_fade_counts_from_its_first_dose(tmp_path: Path) -> None:
    rows = [
        dose("2026-02-01T00:00", 60, end="2026-04-01T00:00"),
        dose("2026-04-01T00:00", 30, end="2026-04-08T00:00"),
        dose("2026-04-01T00:00", 60, end="2026-04-08T00:00", supplement="other"),
        dose("2026-04-08T00:00", 120, supplement="other"),
    ]
    tank = make_tank(tmp_path, supplements=TWO, readings=series(36, "2026-02-20"), additions=rows)
    (one,) = logged_changes(tank)
    assert (one.new, one.date, one.ended) == ("other", dt.date(2026, 4, 1), ("part one",))
    assert not one.given_before
