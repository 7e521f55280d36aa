"""Questions of a foreign file as choices, with what follows from each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from reef_calc.log.foreign.left_out import LEAVE, YES
from reef_calc.log.foreign.outcome import Question
from reef_calc.show.bring_in_words import counted, rows_words
from reef_calc.show.wording import escape

_OPEN, _LEAVE = "", "\0leave"
_NOT_YET = "Not answered yet"
_FEW_CHOICES = 6
# Each question is several controls; a page with thousands of them does not answer any more.
_MOST = 40


class QuestionsBox:
    """Shows questions and hands each answer on; made anew only when the questions change.

    Parameters
    ----------
    on_answer : callable
        Takes the key of a question and the answer, empty to take an answer back.
    """

    def __init__(self, on_answer: Callable[[str, str], None]) -> None:
        self._on_answer = on_answer
        self._shown: tuple[Question, ...] = ()
        self.controls: dict[str, widgets.Widget] = {}
        self._open = widgets.VBox([])
        self._assumed = widgets.VBox([])
        self._more = widgets.Accordion([self._assumed], selected_index=None)
        self.box = widgets.VBox([self._open, self._more])
        self.show(())

    def show(self, questions: Sequence[Question], *, anew: bool = False) -> None:
        """Show questions: those that rows wait for first, then what was assumed or answered.

        Parameters
        ----------
        questions : sequence of Question
            Questions of the file as it is understood now.
        anew : bool, optional
            Whether the fields are set back to the answers that hold, after one was refused.
        """
        wanted = tuple(questions)
        if wanted == self._shown and not anew and (wanted or self.controls == {}):
            return
        self._shown = wanted
        self.controls = {}
        waiting = [question for question in wanted if question.open]
        settled = [question for question in wanted if not question.open]
        heading = ""
        if waiting:
            heading = (
                f'<div class="rc"><h2>{counted(len(waiting), "question", "questions")} the file cannot '
                "answer</h2><p>Rows wait for these; nothing is guessed. An answer holds for the "
                "whole column, or for every row with that word.</p></div>"
            )
        self._open.children = [widgets.HTML(heading), *self._first(waiting)] if waiting else []
        self._assumed.children = self._first(settled)
        self._more.set_title(0, f"Assumed or answered ({len(settled)}): change what is not right")
        self._more.layout.display = "" if settled else "none"

    def _first(self, questions: Sequence[Question]) -> list[widgets.Widget]:
        """Return the first questions, and how many more there are."""
        parts = [self._question(question) for question in questions[:_MOST]]
        more = len(questions) - _MOST
        if more > 0:
            words = (
                f"{counted(more, 'question', 'questions')} more: they follow as these are answered. "
                "So many often mean that a column is taken for what it is not: see the columns below."
                if questions[0].open
                else f"{counted(more, 'more is', 'more are')} not shown; they hold as they are."
            )
            parts.append(widgets.HTML(f'<div class="rc"><p>{words}</p></div>'))
        return parts

    def _question(self, question: Question) -> widgets.Widget:
        rows = rows_words(question.rows) if question.rows else ""
        rows = f'<p class="rc-small">{escape(rows[:1].upper() + rows[1:])}</p>' if rows else ""
        words = widgets.HTML(
            f'<div class="rc rc-in-question"><h3>{escape(question.text)}</h3>{rows}</div>'
        )
        parts: list[widgets.Widget] = [words]
        if question.choices:
            parts.append(self._choices(question))
        if question.typed or not question.choices:
            parts.append(self._typed(question))
        return widgets.VBox(parts)

    def _choices(self, question: Question) -> widgets.Widget:
        options = [(_choice_words(choice), choice.answer) for choice in question.choices]
        value = question.answered or question.assumed
        if not question.assumed:
            left = question.answered == "left out"
            options.insert(0, (_NOT_YET, _OPEN))
            options.append(("Leave these rows out", _LEAVE))
            value = _LEAVE if left else value
        offered = [answer for _, answer in options]
        kind = widgets.RadioButtons if len(options) <= _FEW_CHOICES + 2 else widgets.Dropdown
        control = kind(
            options=options,
            value=value if value in offered else offered[0],
            tooltip=question.text,
            layout=widgets.Layout(width="min(100%, 60em)"),
        )
        control.add_class("rc-answer")
        control.observe(lambda change: self._answered(question, change["new"]), names="value")
        self.controls[question.key] = control
        return control

    def _typed(self, question: Question) -> widgets.Widget:
        listed = [choice.answer for choice in question.choices]
        value = "" if question.answered in listed else question.answered
        field = widgets.Text(
            value="" if value == "left out" else value,
            description=question.typed or "Answer",
            tooltip=question.text,
            placeholder="type and press Enter",
            continuous_update=False,
            style={"description_width": "initial"},
            layout=widgets.Layout(width="min(100%, 30em)"),
        )
        field.observe(lambda change: self._answered(question, change["new"].strip()), names="value")
        self.controls.setdefault(question.key, field)
        if question.choices:
            self.controls[f"{question.key} (typed)"] = field
            return field
        left = question.answered == "left out"
        leave = widgets.Button(
            description="Ask again" if left else "Leave these rows out",
            tooltip="The rows wait for an answer" if left else "They stay in the sums, as refused",
            layout=widgets.Layout(width="auto"),
        )
        leave.on_click(lambda _: self._answered(question, _OPEN if left else _LEAVE))
        return widgets.HBox([field, leave], layout=widgets.Layout(flex_flow="row wrap"))

    def _answered(self, question: Question, answer: Any) -> None:
        if answer == _LEAVE:
            self._on_answer(LEAVE + question.key, YES)
            return
        self._on_answer(question.key, str(answer))


def _choice_words(choice: Any) -> str:
    return choice.label if not choice.consequence else f"{choice.label}: {choice.consequence}"
