"""Decisions on findings: written as events, read back, matched to findings that moved."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.findings import key_of, span_of
from reef_calc.errors import InputError
from reef_calc.log.decisions import decide_finding, decisions_for, idle_decisions, matches
from reef_calc.log.tank import open_tank
from tests.folders import make_folder, make_tank

CHANGE = "rate change 2026-08-17 to 2026-08-21"
SLIP = "gross error 2026-04-15T11:57Z"


def decided(day: str, kind: str, key: str, **cells: object) -> dict[str, object]:
    return {
        "time": day, "kind": f"finding {kind}", "refers_to": key, "element": "alkalinity",
    } | cells  # fmt: skip


def test_a_decision_is_written_and_read_back(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    decide_finding(open_tank(folder), CHANGE, "alkalinity", "explained", " new corals,\n “six” ")
    decide_finding(open_tank(folder), SLIP, "alkalinity", "rejected")
    decide_finding(open_tank(folder), SLIP, "calcium", "accepted")
    tank = open_tank(folder)
    assert [p for p in tank.problems if p.file == "events.csv"] == []
    held = decisions_for(tank, "alkalinity")
    assert list(held) == [SLIP, CHANGE]  # the newest first
    assert (held[CHANGE].decision, held[CHANGE].note) == ("explained", "new corals, “six”")
    assert (held[SLIP].decision, held[SLIP].note) == ("rejected", "")
    assert held[CHANGE].time.tzinfo is not None
    assert decisions_for(tank, "calcium")[SLIP].decision == "accepted"
    assert decisions_for(tank, "magnesium") == {}


def test_the_newest_wins_however_often_it_changes(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    for decision in ("accepted", "rejected", "accepted", "rejected", "accepted"):
        decide_finding(open_tank(folder), CHANGE, "alkalinity", decision)
        assert decisions_for(open_tank(folder), "alkalinity")[CHANGE].decision == decision
    assert open_tank(folder).counts.set_index("file").loc["events.csv", "read"] == 5


def test_a_later_decision_replaces_the_one_it_matches(tmp_path: Path) -> None:
    narrower = "rate change 2026-08-19 to 2026-08-21"
    events = [
        decided("2026-10-01", "rejected", narrower, note="no"),
        decided("2026-09-01", "accepted", CHANGE),
    ]
    tank = make_tank(tmp_path / "tank", events=events)
    assert {k: d.decision for k, d in decisions_for(tank, "alkalinity").items()} == {
        narrower: "rejected"
    }


def test_rows_that_name_no_finding_change_nothing_and_are_told(tmp_path: Path) -> None:
    events = [
        decided("2026-09-01", "accepted", "the change in August"),
        decided("2026-09-02", "accepted", SLIP, element=""),
        decided("2026-09-03", "rejected", CHANGE),
        decided("2026-09-04", "", CHANGE) | {"kind": "other"},
    ]
    tank = make_tank(tmp_path / "tank", events=events)
    assert list(decisions_for(tank, "alkalinity")) == [CHANGE]
    idle = idle_decisions(tank, {"alkalinity": ("rate change 2026-08-20 to 2026-08-24",)})
    assert [(name, one.key) for name, one in idle] == [
        ("", SLIP),
        ("alkalinity", "the change in August"),
    ]
    assert len(idle_decisions(tank, {})) == 3


@pytest.mark.parametrize(
    ("key", "element", "decision", "note", "piece"),
    [
        (CHANGE, "alkalinity", "withdrawn", "", "one of accepted, rejected, explained"),
        (CHANGE, "alkalinity", "explained", "  ", "a note that explains it"),
        (CHANGE, "unobtainium", "accepted", "", "unobtainium"),
        ("", "alkalinity", "accepted", "", "the name of a finding"),
        ("rate change 2026-08-21 to 2026-08-17", "alkalinity", "accepted", "", "name of a finding"),
        ("gross error 2026-02-30T11:57Z", "alkalinity", "accepted", "", "the name of a finding"),
    ],
)
def test_what_cannot_be_decided(
    key: str, element: str, decision: str, note: str, piece: str, tmp_path: Path
) -> None:
    folder = make_folder(tmp_path / "tank")
    before = (folder / "events.csv").read_bytes()
    with pytest.raises(InputError) as told:
        decide_finding(open_tank(folder), key, element, decision, note)
    assert piece in str(told.value)
    assert (folder / "events.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (CHANGE, "rate change 2026-08-19 to 2026-08-21", True),  # a reading came between
        (CHANGE, "rate change 2026-08-10 to 2026-08-30", True),
        (CHANGE, "rate change 2026-08-21 to 2026-08-25", False),  # the next interval
        (CHANGE, "rate change 2026-08-10 to 2026-08-17", False),
        (CHANGE, "level step 2026-08-17 to 2026-08-21", False),
        ("level step 2026-08-21 to 2026-08-21", "level step 2026-08-20 to 2026-08-22", True),
        ("level step 2026-08-21 to 2026-08-21", "level step 2026-08-21 to 2026-08-21", True),
        (SLIP, "gross error 2026-04-15T11:58Z", True),
        (SLIP, "gross error 2026-04-15T18:00Z", False),  # another reading of that day
        (SLIP, "rate change 2026-04-10 to 2026-04-20", False),
        ("a text", "a text", True),
        ("a text", CHANGE, False),
    ],
)
def test_which_keys_name_the_same_finding(one: str, other: str, same: bool) -> None:
    assert matches(one, other) is matches(other, one) is same


@given(
    st.sampled_from(["rate change", "level step", "gross error"]),
    st.datetimes(
        min_value=dt.datetime(2000, 1, 1),
        max_value=dt.datetime(2100, 1, 1),
    ),
    st.floats(0, 40),
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_every_key_that_is_made_is_understood(kind: str, start: dt.datetime, length: float) -> None:
    first = pd.Timestamp(start, tz="UTC")
    key = key_of(kind, first, first + pd.Timedelta(days=length))
    wider = key_of(kind, first - pd.Timedelta(days=3), first + pd.Timedelta(days=length + 3))
    assert span_of(key)[0] == kind
    assert matches(key, key)
    assert matches(key, wider) is (kind != "gross error")
