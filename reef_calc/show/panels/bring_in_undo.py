"""Files that were brought in before, and taking their rows back."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError
from reef_calc.log.foreign.undo import rows_still_there, undo
from reef_calc.log.foreign.undo_list import AddedBefore, imports_before
from reef_calc.show.bring_in_words import counted
from reef_calc.show.panels.bring_in_view import BringIn, BringInView
from reef_calc.show.panels.common import guarded
from reef_calc.show.wording import day_words, escape


class UndoView(BringInView):
    """A list of what was brought in, with a button that takes one file's rows away again."""

    def __init__(self) -> None:
        self._bring_in: BringIn | None = None
        self._list = widgets.HTML()
        self.choice = widgets.Dropdown(
            description="Take back", tooltip="A file whose rows are taken away",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="min(100%, 44em)"),
        )  # fmt: skip
        self.sure = widgets.Checkbox(
            value=False, description="Yes, take its rows out of the tank's log", indent=False,
            layout=widgets.Layout(width="auto"),
        )  # fmt: skip
        self.take = widgets.Button(
            description="Take back", disabled=True, layout=widgets.Layout(width="auto"),
            tooltip="Only rows that still stand as they were written; the tables before are kept",
        )  # fmt: skip
        self.sure.observe(lambda _: self._offer(), names="value")
        self.choice.observe(lambda _: self._chosen(), names="value")
        self.take.on_click(lambda _: self._press())
        self.box = widgets.VBox([self._list, self.choice, self.sure, self.take])

    def show(self, bring_in: BringIn) -> None:
        """Show what was brought into this tank.

        Parameters
        ----------
        bring_in : BringIn
            The tank.
        """
        self._bring_in = bring_in
        guarded(bring_in.say, self._fill)()

    def _fill(self) -> None:
        if self._bring_in is None:
            return
        tank = self._bring_in.tank
        before, problems = imports_before(tank.folder)
        lines = "".join(self._line(one) for one in reversed(before))
        told = "".join(f"<li>{escape(str(problem))}</li>" for problem in problems)
        table = (
            '<div class="rc-scroll" tabindex="0" role="region" aria-label="Files brought in">'
            '<table class="rc-data"><thead><tr><th scope="col">When</th><th scope="col">File</th>'
            '<th scope="col">Added</th><th scope="col">Still there as written</th></tr></thead>'
            f"<tbody>{lines}</tbody></table></div>"
            if before
            else "<p>Nothing was brought into this tank yet.</p>"
        )
        self._list.value = (
            f'<div class="rc" data-view="Take back"><h2>What was brought in</h2>{table}'
            f"{f'<ul>{told}</ul>' if told else ''}</div>"
        )
        open_ones = [one for one in reversed(before) if not one.undone]
        self.choice.options = [(self._words(one), one.when) for one in open_ones]
        self.choice.value = open_ones[0].when if open_ones else None
        shown = "" if open_ones else "none"
        for control in (self.choice, self.sure, self.take):
            control.layout.display = shown
        self._chosen()

    def _line(self, one: AddedBefore) -> str:
        if self._bring_in is None:
            return ""
        tank = self._bring_in.tank
        added = ", ".join(f"{rows.count:,} to {rows.table}" for rows in one.added)
        if one.undone:
            there = f"taken back {day_words(one.undone, str(tank.zone))}"
        else:
            still = rows_still_there(tank.folder, one)
            there = ", ".join(f"{number:,} in {table}" for table, number in still.items())
        when = day_words(one.when, str(tank.zone), clock=True)
        return (
            f'<tr><th scope="row">{escape(when)}</th><td class="rc-text">{escape(one.file)}</td>'
            f"<td>{escape(added)}</td><td>{escape(there)}</td></tr>"
        )

    def _words(self, one: AddedBefore) -> str:
        zone = str(self._bring_in.tank.zone) if self._bring_in is not None else "UTC"
        number = sum(rows.count for rows in one.added)
        when = day_words(one.when, zone, clock=True)
        return f"{one.file}, {when}, {counted(number, 'row', 'rows')}"

    def _chosen(self) -> None:
        self.sure.value = False
        self._offer()

    def _offer(self) -> None:
        self.take.disabled = not (self.sure.value and self.choice.value)

    def _press(self) -> None:
        bring_in = self._bring_in
        if bring_in is None or self.take.disabled:
            return
        self.take.disabled = True
        try:
            guarded(bring_in.say, lambda: self._undo(bring_in))()
        finally:
            self._offer()

    def _undo(self, bring_in: BringIn) -> None:
        when: Any = self.choice.value
        if not when:
            raise InputError("a file to take back", "none", "Choose one.", "Take back")
        done = undo(bring_in.tank.folder, when)
        self._bring_in = BringIn(bring_in.reload(), bring_in.say, bring_in.reload)
        self._fill()
        words = ", ".join(f"{number:,} from {table}" for table, number in done.tables.items())
        left = sum(len(records) for records in done.left.values())
        told = f"Taken back from “{done.file}”: {words or 'nothing'}."
        if left:
            first = next(records[0] for records in done.left.values() if records)
            told += (
                f" {counted(left, 'row was', 'rows were')} changed or deleted meanwhile and left as "
                f"is: {', '.join(filter(None, first))[:80]}."
            )
        bring_in.say(told, "told")
