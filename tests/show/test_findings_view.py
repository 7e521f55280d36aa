"""Findings in words, decisions beside them, and the rate without one reading."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pandas as pd
import pytest

from reef_calc.balance.findings import FoundEvent, key_of
from reef_calc.log.decisions import Decision
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.findings_view import (
    changed_words,
    finding_choices,
    findings_html,
    key_words,
    leave_out_choices,
    leave_out_html,
)
from reef_calc.show.gather import gather
from reef_calc.show.standing import Standing
from tests.folders import make_folder
from tests.tank_cases import MACHINE_WORDS, quiet, series, words_of


def finding(kind: str = "rate change", **parts: object) -> FoundEvent:
    """Return an invented finding."""
    start, stop = pd.Timestamp("2026-03-17T17Z"), pd.Timestamp("2026-03-21T17Z")
    given: dict[str, object] = {
        "key": key_of(kind, start, stop), "kind": kind, "word": "likely", "probability": 0.87,
        "start": start, "stop": stop, "size": 0.2, "low": 0.1, "high": 0.3, "rows": (),
        "text": "More is used.", "fits": "More corals fit, or a pump that gives more.",
    }  # fmt: skip
    return FoundEvent(**(given | parts))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def tank(tmp_path_factory: pytest.TempPathFactory) -> Tank:
    rows = series() + series(1, "2026-03-31", 1, lambda _: 8.1, replicate="2")
    return open_tank(make_folder(tmp_path_factory.mktemp("quiet") / "tank", **quiet(readings=rows)))


@pytest.fixture(scope="module")
def standing(tank: Tank) -> Standing:
    return gather(tank, "alkalinity", "2026-03")


def with_findings(standing: Standing, *findings: FoundEvent) -> Standing:
    assert standing.use is not None
    return replace(standing, use=replace(standing.use, findings=findings))


def test_a_finding_is_told_with_what_fits_and_how_sure(standing: Standing) -> None:
    event = finding(coincidence="In the log: corals added.")
    words = words_of(findings_html([with_findings(standing, event)]))
    assert "One finding, one to decide" in words
    for piece in ("Alkalinity", event.text, "Likely, 87 %.", event.fits, event.coincidence):
        assert piece in words
    assert "You said" not in words


@pytest.mark.parametrize(
    ("decision", "note", "said"),
    [
        ("accepted", "", "You said: it is so."),
        ("explained", "six corals", "You said: it is so. Your note: “six corals”."),
        ("rejected", "read twice", "You said: it is not so. Your note: “read twice”."),
    ],
)
def test_what_the_keeper_said_stands_beside_it(
    standing: Standing, decision: str, note: str, said: str
) -> None:
    words = words_of(
        findings_html([with_findings(standing, finding(decision=decision, note=note))])
    )
    assert said in words
    assert "One finding, all decided" in words


def test_certainty_is_never_a_hundred_per_cent(standing: Standing) -> None:
    event = finding(probability=1.0, word="found")
    assert "Found, > 97 %." in words_of(findings_html([with_findings(standing, event)]))


def test_nothing_found_is_not_the_same_as_could_not_look(standing: Standing) -> None:
    assert standing.use is not None
    told = words_of(findings_html([with_findings(standing)]))
    assert "Nothing found" in told
    assert "only days old cannot show yet" in told
    assert "Could not be searched" not in told
    blind = replace(standing, use=replace(standing.use, rate=None, findings=()))
    assert "Could not be searched whole" in words_of(findings_html([blind]))


def test_what_was_typed_stays_text(standing: Standing) -> None:
    bad = '<img src=x onerror="alert(1)"> & “'
    event = finding(text=bad, fits=bad, coincidence=bad, decision="explained", note=bad)
    idle = [("calcium", Decision(bad, "accepted", bad, pd.Timestamp("2026-04-01T12Z")))]
    html = findings_html([with_findings(standing, event)], idle, bad)
    assert "<img" not in html
    ET.fromstring(
        html.replace("<br>", "<br/>").replace(" scope=col", ' scope="col"')
        .replace("class=rc-text", 'class="rc-text"')
    )  # fmt: skip


def test_decisions_without_a_finding_can_still_be_changed(standing: Standing) -> None:
    when = pd.Timestamp("2026-04-01T12Z")
    slip = Decision("gross error 2026-03-05T17:00Z", "explained", "a bubble", when)
    odd = Decision("the dip in May", "rejected", "", when)
    idle = [("alkalinity", slip), ("alkalinity", odd), ("", slip)]
    words = words_of(findings_html([standing], idle))
    assert "Decided before" in words
    for piece in ("doubted reading 2026-03-05T17:00Z", "a bubble", "the dip in May", "no element"):
        assert piece in words
    assert finding_choices([with_findings(standing)], idle) == [
        ("Alkalinity: doubted reading 2026-03-05T17:00Z, decided before", ("alkalinity", slip.key))
    ]


def test_every_finding_can_be_chosen_by_its_words(standing: Standing) -> None:
    late = pd.Timestamp("2026-01-02T17Z")
    events = (
        finding(),
        finding("gross error", word="found"),
        finding("level step", start=pd.Timestamp("2025-12-29T17Z"), stop=late, word="possible"),
    )
    assert [words for words, _ in finding_choices([with_findings(standing, *events)])] == [
        "Alkalinity: change of the rate, 17 Mar to 21 Mar 2026, likely",
        "Alkalinity: doubted reading, 21 Mar 2026, 18:00, found",
        "Alkalinity: step of the level, 29 Dec 2025 to 2 Jan 2026, possible",
    ]
    assert key_words("another text") == "another text"


def test_what_changed_is_told_with_intervals(standing: Standing) -> None:
    assert standing.use is not None
    before = replace(standing, use=replace(standing.use, rate=1.18, low=1.14, high=1.22))
    after = replace(standing, use=replace(standing.use, rate=1.19, low=1.16, high=1.22))
    refused = replace(standing, use=replace(standing.use, rate=None, low=None, high=None))
    assert changed_words([before], [after]) == ("Alkalinity: 1.18 ± 0.04 → 1.19 ± 0.03 dKH a day.")
    assert changed_words([before], [refused]) == "Alkalinity: 1.18 ± 0.04 dKH a day → cannot tell."
    assert changed_words([refused], [after]) == ("Alkalinity: cannot tell → 1.19 ± 0.03 dKH a day.")
    assert changed_words([before], [before]) == "No rate changed."
    assert changed_words([before], []) == "Alkalinity could not be worked out."


def test_the_readings_offered_are_those_that_count(standing: Standing) -> None:
    assert standing.use is not None
    choices = leave_out_choices(standing)
    assert choices[0] == ("nothing", 0)
    rows = [row for _, row in choices[1:]]
    assert set(rows) == {row for rows in standing.use.used["rows"] for row in rows}
    assert choices[-1][0].startswith("1 Mar 2026, 18:00: ")
    assert choices[-1][0].endswith(" dKH, drops")
    assert leave_out_choices(replace(standing, use=None)) == [("nothing", 0)]


def test_with_and_without_one_reading(tank: Tank, standing: Standing) -> None:
    from reef_calc.balance.consumption import estimate_consumption
    from reef_calc.show.rate_wording import rate_words

    assert standing.use is not None
    row = leave_out_choices(standing)[-1][1]
    words = words_of(leave_out_html(tank, standing, row))
    without = estimate_consumption(tank, "alkalinity", "2026-03-31", leave_out=(row,))
    for name, use in (("With it", standing.use), ("Without it", without)):
        told = rate_words(use.rate, use.low, use.high, "used").replace(" a day", " dKH a day")
        assert f"{name}: {told}." in words
    assert without.rate != standing.use.rate
    assert "Nothing was written" in words
    assert "sitting" not in words
    assert MACHINE_WORDS.findall(words) == []
    both = words_of(leave_out_html(tank, standing, 18))
    assert "The two readings of that sitting go together." in both
    assert leave_out_html(tank, replace(standing, use=None), row) == ""
