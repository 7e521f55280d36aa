"""A foreign file on the page: what was understood, what is asked, every cell, and adding it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError, ReefError
from reef_calc.log.foreign.add import add_entries, already_there
from reef_calc.log.foreign.changed_since import changed_since
from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.kept import Kept
from reef_calc.log.foreign.outcome import Question
from reef_calc.log.foreign.profiles import Profile, profile_name, write_profile
from reef_calc.log.foreign.reader import read_grid_and_questions
from reef_calc.log.foreign.understand import understand_grid
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.foreign.uninterrupted import uninterrupted
from reef_calc.show.bring_in_page import found_html, take_away_html, why_html
from reef_calc.show.bring_in_picture import picture_html
from reef_calc.show.bring_in_words import counted, leave_out_words, rows_words
from reef_calc.show.panels.bring_in_cells import CellsBox
from reef_calc.show.panels.bring_in_columns import ColumnsBox
from reef_calc.show.panels.bring_in_questions import QuestionsBox
from reef_calc.show.panels.bring_in_recall import recalled
from reef_calc.show.panels.bring_in_source import SourceBox
from reef_calc.show.panels.bring_in_view import BringIn, BringInView
from reef_calc.show.panels.common import can_write, guarded, is_demonstration

# Bytes of a file, and rows of a table, from which on the page says that it is working.
_LARGE, _MANY_ROWS = 500_000, 5_000
# Answers that decide how the bytes become cells.
_OF_BYTES = ("separator/", "encoding/", "sheet/")


class FileView(BringInView):
    """Choose a file, see its fate cell by cell, answer what it cannot tell, add it to the tank."""

    def __init__(self) -> None:
        self._bring_in: BringIn | None = None
        self._grid: Grid | None = None
        self._asked: tuple[Question, ...] = ()
        self._kept = Kept()
        self._file, self._content = "", b""
        self._filling = False
        self._held: frozenset[int] = frozenset()
        self.answers: dict[str, str] = {}
        self.found: Understood | None = None
        self._already: tuple[bool, ...] = ()
        self._changed: tuple[bool, ...] = ()
        self.source = SourceBox(self._taken, self._say)
        self.sheet = widgets.Dropdown(
            description="Sheet", tooltip="Sheet of the workbook",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="min(100%, 30em)"),
        )  # fmt: skip
        self.sheet.observe(lambda _: self._other_sheet(), names="value")
        self.questions = QuestionsBox(lambda key, answer: self._answered({key: answer}))
        self.columns = ColumnsBox(self._answered, self._say)
        self.cells = CellsBox()
        self.leave = widgets.Checkbox(
            value=False, description="", indent=False,
            layout=widgets.Layout(width="min(100%, 60em)"),
        )  # fmt: skip
        self.leave.observe(lambda _: self._act(self._offer), names="value")
        self.again = widgets.Checkbox(
            value=False, description="", indent=False,
            layout=widgets.Layout(width="min(100%, 60em)"),
        )  # fmt: skip
        self.again.observe(lambda _: self._act(self._offer), names="value")
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
        self._lead, self._picture = widgets.HTML(), widgets.HTML()
        self._links, self._why = widgets.HTML(), widgets.HTML()
        self._below = widgets.VBox(
            [
                self._lead,
                self.questions.box,
                self.columns.box,
                self.leave,
                self.again,
                widgets.HBox([self.name, self.add], layout=widgets.Layout(flex_flow="row wrap")),
                self.cells.box,
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
            # Answers such as kits and tanks belong to the other tank; so does what was agreed to.
            self._begin()
            self._act(self._read)
        elif self._grid is not None:
            self._act(self._understand)

    def _say(self, text: str, kind: str) -> None:
        if self._bring_in is not None:
            self._bring_in.say(text, kind)

    def _act(self, action: Any) -> None:
        guarded(self._say, action)()

    def _clear(self) -> None:
        self._grid, self.found = None, None
        self._kept = Kept()
        self._below.layout.display = "none"
        self.sheet.layout.display = "none"

    def _taken(self, file: str, content: bytes) -> None:
        """Take a new file: read it, look for a profile, understand it."""
        self._begin()
        self._file, self._content = file, content
        self._offer_sheets((), None)
        self.cells.begin()
        self._working(len(content) > _LARGE)
        self._act(self._read_anew)

    def _begin(self) -> None:
        """Forget the file that was shown, and everything agreed to about it."""
        self._say("", "told")
        self._clear()
        self.answers = {}
        self.leave.value = self.again.value = False

    def _other_sheet(self) -> None:
        if not self._filling:
            # The answers were about the columns and rows of the other sheet.
            self._begin()
            self._act(self._read)

    def _offer_sheets(self, sheets: tuple[str, ...], shown: str | None) -> None:
        self._filling = True
        try:
            self.sheet.options, self.sheet.value = sheets, shown
        finally:
            self._filling = False

    def _working(self, long: bool) -> None:
        if long:
            self._say(f"Reading {self._file} …", "told")

    def _read_anew(self) -> None:
        """Read the tank too: kits and supplements may have been described meanwhile."""
        if self._bring_in is not None:
            self._bring_in = replace(self._bring_in, tank=self._bring_in.reload())
        self._read()

    def _read(self) -> None:
        """Read the file, take what is known of such files, and understand it."""
        if self._bring_in is None or not self._file:
            return
        self._recall(self._again_from_bytes())

    def _again_from_bytes(self) -> Grid:
        sheet = "" if "sheet/file" in self.answers else self.sheet.value or ""
        grid, self._asked = read_grid_and_questions(
            self._file, self._content, sheet=sheet, answers=self.answers
        )
        self._grid = grid
        if tuple(self.sheet.options) != grid.sheets or (grid.sheets and sheet != grid.sheet):
            self._offer_sheets(grid.sheets, grid.sheet if grid.sheets else None)
        self.sheet.layout.display = "" if len(grid.sheets) > 1 else "none"
        return grid

    def _recall(self, grid: Grid) -> None:
        """Take the answers of a file with the same columns, where they can be used; say so."""
        if self._bring_in is None:
            return
        tank = self._bring_in.tank
        with uninterrupted():
            first = understand_grid(grid, tank, {}, self._asked, kept=self._kept)
        known = recalled(tank.folder, self._file, tuple(one.heading for one in first.columns))
        self.name.value = known.name
        # The sheet was chosen by hand, or is the first.
        self.answers = {k: v for k, v in known.answers.items() if not k.startswith("sheet/")}
        told = known.told
        if not self.answers:
            self._show_found(first)
            self._say(told, "told")
            return
        try:
            if any(key.startswith(_OF_BYTES) for key in self.answers):
                self._again_from_bytes()
            self._understand()
        except InputError as error:
            self.answers = {}
            told = f"The answers of “{known.name}” do not fit this file and are not used. {error}"
            self._again_from_bytes()
            self._understand()
        self._say(told, "told")

    def _answered(self, answers: dict[str, str]) -> None:
        before, read = dict(self.answers), (self._grid, self._asked)
        for key, answer in answers.items():
            if answer:
                self.answers[key] = answer
            else:
                self.answers.pop(key, None)
            self.answers.pop(f"leave out/{key}", None)
        self._say("", "told")
        long = self._grid is not None and len(self._grid.rows) > _MANY_ROWS
        self._working(long)
        try:
            if any(key.startswith(_OF_BYTES) for key in answers):
                self._again_from_bytes()
            self._understand()
            if long:
                self._say("", "told")
        except ReefError as error:
            # An answer that cannot be used would stand in the way of every later one.
            self.answers, (self._grid, self._asked) = before, read
            if self.found is not None:
                self.questions.show(self.found.questions, anew=True)
                self.columns.show(self.found.columns, self.found.kind)
            self._say(str(error), "error")

    def _understand(self) -> None:
        if self._bring_in is None or self._grid is None:
            return
        tank = self._bring_in.tank
        with uninterrupted():
            found = understand_grid(self._grid, tank, self.answers, self._asked, kept=self._kept)
        self._show_found(found)

    def _show_found(self, found: Understood) -> None:
        if self._bring_in is None:
            return
        tank = self._bring_in.tank
        self.found = found
        self._already = already_there(tank, found.entries)
        try:
            self._changed = changed_since(tank, found.entries)
        except ReefError as error:
            self._changed = (False,) * len(found.entries)
            self._say(f"What was changed since it was brought in cannot be told. {error}", "told")
        self._below.layout.display = ""
        self._lead.value = found_html(found, sum(self._already), sum(self._changed))
        self._why.value = why_html(found)
        self.questions.show(found.questions)
        self.columns.show(found.columns, found.kind)
        self.cells.show(found)
        self._picture.value = picture_html(found, tank)
        self._links.value = take_away_html(found)
        self._offer()

    def _offer(self) -> None:
        """Say what adding needs, and enable it when that is there."""
        found = self.found
        if found is None or self._bring_in is None:
            return
        # A row that was left out on purpose needs no second word.
        unchosen = {m.row for m in found.marks if m.said.fate == "refused" and not m.said.chosen}
        waiting = {m.row for m in found.marks if m.said.fate == "asked"} - unchosen
        held = len(unchosen) + len(waiting)
        if not self._held >= unchosen | waiting:
            # What was agreed to was fewer rows.
            self.leave.value = False
        self._held = frozenset(unchosen | waiting)
        self.leave.layout.display = "" if held and found.entries else "none"
        self.leave.description = leave_out_words(len(unchosen), len(waiting))
        changed = sum(self._changed)
        self.again.layout.display = "" if changed else "none"
        rows = tuple(e.row for e, one in zip(found.entries, self._changed, strict=True) if one)
        self.again.description = (
            f"Add {counted(changed, 'entry', 'entries')} again that you changed or deleted in the "
            f"tank ({rows_words(rows)})"
        )
        new = len(found.entries) - sum(self._already) - (0 if self.again.value else changed)
        self.add.disabled = not new or (bool(held) and not self.leave.value)
        self.add.description = (
            f"Add {counted(new, 'entry', 'entries') if new else 'nothing'} to the tank"
        )

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
        if len(self.found.entries) > _MANY_ROWS:
            self._say(f"Adding {self._file} …", "told")
        added = add_entries(
            folder,
            file=self._file,
            content=self._content,
            sheet=self._grid.sheet,
            entries=[
                entry
                for entry, changed in zip(self.found.entries, self._changed, strict=True)
                if self.again.value or not changed
            ],
            name=name,
            now=dt.datetime.now(dt.UTC),
        )
        kept = ""
        try:
            write_profile(folder, Profile(name, headings, self.found.kind, self.answers))
        except ReefError as error:
            kept = f" The answers are not remembered: {error}"
        self._bring_in = BringIn(self._bring_in.reload(), self._bring_in.say, self._bring_in.reload)
        self._understand()
        words = ", ".join(
            f"{number:,} to {table}" for table, number in added.tables.items() if number
        )
        self._say(
            f"Added: {words or 'nothing'}. {added.already:,} stood there already. “Take back” undoes "
            f"it.{kept}",
            "told",
        )
