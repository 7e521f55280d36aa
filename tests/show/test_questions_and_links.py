"""Thousands of questions, and what a saved table would run."""

from __future__ import annotations

import base64
import re
from pathlib import Path

from reef_calc.log.foreign.outcome import Question
from reef_calc.log.tank import open_tank
from reef_calc.show.bring_in_page import take_away_html
from reef_calc.show.bring_in_words import lead_words
from reef_calc.show.panels.bring_in_file import FileView
from reef_calc.show.panels.bring_in_questions import QuestionsBox
from reef_calc.show.panels.bring_in_view import BringIn
from tests.folders import make_folder
from tests.log.foreign.bring import bring


def test_the_first_of_thousands_of_questions_are_shown() -> None:
    box = QuestionsBox(lambda key, answer: None)
    box.show([Question(f"which water/{i}", f"Which water is {i}?", ()) for i in range(5000)])
    assert len(box.controls) == 40
    words = box.box.children[0].children[-1].value
    assert "4,960 questions more" in words


def test_nothing_in_a_saved_table_is_run() -> None:
    found = bring(
        "date,KH dKH,note\n2026-02-01,8.1,-2+3|x\n2026-02-02,8.1,＝1+1\n2026-02-03,8.1,-2\n"
    )
    text = re.findall(r'base64,([^"]+)"', take_away_html(found))[0]
    notes = [line.rsplit(",", 1)[1] for line in base64.b64decode(text).decode().splitlines()[1:4]]
    assert notes == ["'-2+3|x", "'＝1+1", "-2"]


def test_what_was_changed_since_is_said_in_the_lead() -> None:
    words = lead_words(bring("date,KH dKH\n2026-02-01,8.1\n2026-02-03,8.3\n"), 1, 1)
    assert "1 entry stands in the tank already" in words
    assert "1 entry was brought in before and changed or deleted in the tank since" in words


def test_a_value_that_was_corrected_in_the_tank_does_not_come_back_unasked(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    view = FileView()
    text = b"date,KH dKH\n2026-02-01,8.1\n2026-02-13,83\n"

    def taken() -> None:
        view.show(BringIn(open_tank(folder), lambda text, kind: None, lambda: open_tank(folder)))
        view._taken("log.csv", text)

    taken()
    view._press()
    path = folder / "readings.csv"
    path.write_text(path.read_text().replace(",83,", ",8.3,"))
    taken()
    assert view.add.disabled
    assert view.again.description.endswith("(row 3)")
    view.again.value = True
    assert view.add.description == "Add 1 entry to the tank"
