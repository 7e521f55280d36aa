"""A foreign file on the page: what was understood, what is asked, every cell, and adding it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError, ReefError
from reef_calc.log.foreign.add import add_entries, already_there
from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.outcome import Question
from reef_calc.log.foreign.profiles import (
    Profile,
    matching_profile,
    profile_name,
    write_profile,
)
from reef_calc.log.foreign.reader import read_grid_and_questions
from reef_calc.log.foreign.understand import understand_grid
from reef_calc.log.foreign.understood import Understood
from reef_calc.show.bring_in_page import found_html, take_away_html, why_html
from reef_calc.show.bring_in_picture import picture_html
from reef_calc.show.bring_in_preview import ROWS_SHOWN, preview_html, rows_to_show
from reef_calc.show.bring_in_words import counted
from reef_calc.show.panels.bring_in_columns import ColumnsBox
from reef_calc.show.panels.bring_in_questions import QuestionsBox
from reef_calc.show.panels.bring_in_source import SourceBox
from reef_calc.show.panels.bring_in_view import BringIn, BringInView
from reef_calc.show.panels.common import can_write, guarded, is_demonstration

_SHOW = {"All rows": "all", "Only rows with something said": "doubtful"}


class FileView(BringInView):
    """Drop a file, see its fate cell by cell, answer what it cannot tell, add it to the tank."""

    def __init__(self) -> None:
        self._bring_in: BringIn | None = None
        self._grid: Grid | None = None
        self._asked: tuple[Question, ...] = ()
        self._file, self._content = "", b""
        self.answers: dict[str, str] = {}
        self.found: Understood | None = None
        self._already: tuple[bool, ...] = ()
        self.source = SourceBox(self._taken, self._say)
        self.sheet = widgets.Dropdown(
            description="Sheet", tooltip="Sheet of the workbook",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="min(100%, 30em)"),
        )  # fmt: skip
        self.sheet.observe(lambda _: self._act(self._read), names="value")
        self.questions = QuestionsBox(lambda key, answer: self._answered({key: answer}))
        self.columns = ColumnsBox(self._answered, self._say)
        self.which = widgets.ToggleButtons(
            options=list(_SHOW), description="Preview",
            style={"description_width": "8.5em", "button_width": "auto"},
        )  # fmt: skip
        self.first = widgets.BoundedIntText(
            value=1, min=1, max=1, description="From row", tooltip="First row of the preview",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="16em"),
        )  # fmt: skip
        self.which.observe(lambda _: self._act(self._preview), names="value")
        self.first.observe(lambda _: self._act(self._preview), names="value")
        self.leave = widgets.Checkbox(
            value=False,
            description="",
            indent=False,
            layout=widgets.Layout(width="min(100%, 60em)"),
        )
        self.leave.observe(lambda _: self._act(self._offer), names="value")
        self.name = widgets.Text(
            description="Remember as", continuous_update=False,
            tooltip="Name of the profile in imports/ that knows this file's columns next month",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="min(100%, 30em)"),
        )  # fmt: skip
        self.add = widgets.Button(
            description="Add to tank", button_style="primary", disabled=True,
            tooltip="Append the entries to the tank's tables; it can be taken back",
            layout=widgets.Layout(width="auto"),
        )  # fmt: skip
        self.add.on_click(lambda _: self._press())
        self._lead, self._picture, self._cells = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self._links, self._why = widgets.HTML(), widgets.HTML()
        self._below = widgets.VBox(
            [
                self._lead,
                self.questions.box,
                self.columns.box,
                self.leave,
                widgets.HBox([self.name, self.add], layout=widgets.Layout(flex_flow="row wrap")),
                widgets.HBox([self.which, self.first], layout=widgets.Layout(flex_flow="row wrap")),
                self._cells,
                self._picture,
                self._why,
                self._links,
            ]
        )
        self.box = widgets.VBox([self.source.box, self.sheet, self._below])
        self._clear()

    def show(self, bring_in: BringIn) -> None:
        """Show the file for this tank.

        Parameters
        ----------
        bring_in : BringIn
            The tank.
        """
        other = self._bring_in is not None and bring_in.tank.folder != self._bring_in.tank.folder
        self._bring_in = bring_in
        if other and self._grid is not None:
            # Answers such as kits and tanks belong to the other tank.
            self.answers = {}
        if self._grid is not None:
            self._act(self._understand)

    def _say(self, text: str, kind: str) -> None:
        if self._bring_in is not None:
            self._bring_in.say(text, kind)

    def _act(self, action: Any) -> None:
        guarded(self._say, action)()

    def _clear(self) -> None:
        self._grid, self.found = None, None
        self._below.layout.display = "none"
        self.sheet.layout.display = "none"

    def _taken(self, file: str, content: bytes) -> None:
        """Take a new file: read it, look for a profile, understand it."""
        self._say("", "told")
        self._clear()
        self._file, self._content, self.answers = file, content, {}
        self.leave.value = False
        self.sheet.options = ()
        self._act(self._read)

    def _read(self) -> None:
        if self._bring_in is None or not self._content:
            return
        grid, self._asked = read_grid_and_questions(
            self._file, self._content, sheet=self.sheet.value or "", answers=self.answers
        )
        if grid.sheets and tuple(self.sheet.options) != grid.sheets:
            with self.sheet.hold_trait_notifications():
                self.sheet.options = grid.sheets
                self.sheet.value = grid.sheet
        self.sheet.layout.display = "" if len(grid.sheets) > 1 else "none"
        self._grid = grid
        self._recall()
        self._understand()

    def _recall(self) -> None:
        """Take the answers of a file with the same columns; say so."""
        if self._bring_in is None or self._grid is None:
            return
        folder, told = self._bring_in.tank.folder, ""
        first = understand_grid(self._grid, self._bring_in.tank, self.answers, self._asked)
        headings = tuple(column.heading for column in first.columns)
        profile = None
        try:
            profile = matching_profile(folder, headings)
        except ReefError as error:
            told = f"{error} The file is understood without it."
        if profile is not None:
            self.answers = {**profile.answers, **self.answers}
            if profile.kind:
                self.answers.setdefault("kind/file", profile.kind)
            told = (
                f"These columns are known from “{profile.name}”: "
                f"{counted(len(profile.answers), 'answer', 'answers')} of last time hold again."
            )
        self.name.value = profile.name if profile is not None else profile_name(self._file)
        if told:
            self._say(told, "told")

    def _answered(self, answers: dict[str, str]) -> None:
        for key, answer in answers.items():
            if answer:
                self.answers[key] = answer
                self.answers.pop(f"leave out/{key}", None)
            else:
                self.answers.pop(key, None)
                self.answers.pop(f"leave out/{key}", None)
        self._say("", "told")
        again = any(key.startswith(("separator/", "encoding/", "sheet/")) for key in answers)
        self._act(self._read if again else self._understand)

    def _understand(self) -> None:
        if self._bring_in is None or self._grid is None:
            return
        tank = self._bring_in.tank
        found = understand_grid(self._grid, tank, self.answers, self._asked)
        self.found = found
        self._already = already_there(tank, found.entries)
        self._below.layout.display = ""
        self._lead.value = found_html(found, sum(self._already))
        self._why.value = why_html(found)
        self.questions.show(found.questions)
        self.columns.show(found.columns, found.kind)
        self.first.max = max(1, found.counts.lines)
        self._preview()
        self._picture.value = picture_html(found, tank)
        self._links.value = take_away_html(found)
        self._offer()

    def _preview(self) -> None:
        if self.found is None:
            return
        rows = rows_to_show(self.found, _SHOW[self.which.value], self.first.value)
        more = ""
        if len(rows) == ROWS_SHOWN:
            more = f'<p class="rc-small">{ROWS_SHOWN} rows are shown; “From row” shows others.</p>'
        nothing = "<p>No such row.</p>" if not rows else ""
        body = preview_html(self.found, rows) if rows else nothing
        self._cells.value = (
            f'<div class="rc" data-view="Preview"><h2>Cell by cell</h2>{body}{more}</div>'
        )

    def _offer(self) -> None:
        """Say what adding needs, and enable it when that is there."""
        found = self.found
        if found is None or self._bring_in is None:
            return
        # A row that was left out on purpose needs no second word.
        unchosen = {m.row for m in found.marks if m.said.fate == "refused" and not m.said.chosen}
        waiting = {m.row for m in found.marks if m.said.fate == "asked"} - unchosen
        held = len(unchosen) + len(waiting)
        self.leave.layout.display = "" if held and found.entries else "none"
        parts = [
            counted(len(unchosen), "refused row", "refused rows") if unchosen else "",
            f"{counted(len(waiting), 'row that waits', 'rows that wait')} for an answer"
            if waiting
            else "",
        ]
        self.leave.description = f"Leave out {' and '.join(filter(None, parts))} for now"
        new = len(found.entries) - sum(self._already)
        self.add.disabled = not new or (bool(held) and not self.leave.value)
        self.add.description = f"Add {counted(new, 'entry', 'entries')} to the tank"

    def _press(self) -> None:
        if self.add.disabled:
            return
        self.add.disabled = True
        try:
            self._act(self._add)
        finally:
            self._act(self._offer)

    def _add(self) -> None:
        if self._bring_in is None or self.found is None or self._grid is None:
            return
        folder = self._bring_in.tank.folder
        if is_demonstration(folder):
            raise InputError(
                "a tank of your own", str(folder),
                "The demonstration stays as it is: copy it on the start page, or start a tank.",
            )  # fmt: skip
        if not can_write(folder):
            raise InputError("a folder that can be written", str(folder), "Copy it first.")
        name = self.name.value.strip() or profile_name(self._file)
        headings = tuple(column.heading for column in self.found.columns)
        added = add_entries(
            folder,
            file=self._file,
            content=self._content,
            sheet=self._grid.sheet,
            entries=self.found.entries,
            name=name,
            now=dt.datetime.now(dt.UTC),
        )
        write_profile(folder, Profile(name, headings, self.found.kind, self.answers))
        self._bring_in = BringIn(self._bring_in.reload(), self._bring_in.say, self._bring_in.reload)
        self._understand()
        words = ", ".join(
            f"{number:,} to {table}" for table, number in added.tables.items() if number
        )
        self._say(
            f"Added: {words or 'nothing'}. {added.already:,} stood there already. “Take back” undoes "
            "it.",
            "told",
        )
