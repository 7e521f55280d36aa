"""One printed page to hang by the tank: what to set, when, what to tick, when to stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from reef_calc.plan.forecast import Forecast
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.when_to_test import NextTest
from reef_calc.show.plan_doses_figure import times_words
from reef_calc.show.plan_lane import short_date
from reef_calc.show.plan_sheet_room import SheetContent, fit
from reef_calc.show.plan_style import SHEET_STYLE
from reef_calc.show.plan_words import amount_words, date_words, level_words, phase_spans
from reef_calc.show.style import STYLESHEET
from reef_calc.show.wording import element_name, escape

LONGEST_SHEET = 35  # days: five weeks, what one page holds
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_BLANKS = (
    "Poison centre or emergency number:",
    "Who is responsible, telephone:",
    "Veterinarian:",
    "Electrician, and where the mains switch is:",
)
STOP = (
    "Cloudy water, white crust growing on heaters or pumps, pH above 8.5, or animals that gasp or stay "
    "closed: stop dosing first, then test, then ask. Never make up for a missed dose: go on as the "
    "table says."
)
LAST_WORD = "The label and the safety data sheet in hand, and local rules, come before this page."


@dataclass(frozen=True)
class SheetOfPlan:
    """What the page holds besides the plan itself.

    Attributes
    ----------
    tank : str
        Name of the tank.
    start : datetime.date
        First day of the plan.
    times : mapping of (str, int) to tuple of str
        Clock times of the doses by container and phase (from 0).
    ahead : Forecast or None
        What is expected on the days of the tests.
    tests : mapping of str to NextTest
        When to test next, by element.
    cautions : tuple of str
        Short cautions, the gravest first.
    kept : mapping of str to str
        Containers that stay as they are, with the amount a day in words.
    """

    tank: str
    start: date
    times: Mapping[tuple[str, int], tuple[str, ...]] = field(default_factory=dict)
    ahead: Forecast | None = None
    tests: Mapping[str, NextTest] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    kept: Mapping[str, str] = field(default_factory=dict)


def plan_sheet_html(solved: SolvedPlan, sheet: SheetOfPlan) -> str:
    """Return one A4 page, black on white, with nothing fetched from elsewhere.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    sheet : SheetOfPlan
        What stands on the page besides.

    Returns
    -------
    str
        A whole HTML document.

    Notes
    -----
    Five weeks fit; of a longer plan the first five are shown, and the page says so.

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem, SupplementToPlan
    >>> import numpy as np
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> one, none = np.array([[150.0]]), np.zeros((0, 31))
    >>> plan = SolvedPlan(PlanProblem((), (soda,), 30), (0,), one, one, np.array([[3]]), none, (),
    ...     None, {}, 0.0)
    >>> page = plan_sheet_html(plan, SheetOfPlan("Classroom reef", date(2026, 10, 1)))
    >>> page.count("<i></i>"), "3 × 50 mL" in page
    (30, True)
    """
    days = min(solved.problem.days, LONGEST_SHEET)
    title = f"Doses, {sheet.tank}"
    last = date_words(sheet.start, days - 1, year=True)
    until = f"From {date_words(sheet.start, 0, year=True)} to {last}."
    if days < solved.problem.days:
        end = date_words(sheet.start, solved.problem.days - 1, year=True)
        until += f" The plan goes on until {end}: print the next page before this one ends."
    blanks, weeks = _blanks(solved, sheet, days), _weeks(solved, sheet, days)
    size, letters = fit(_content(solved, sheet, title, blanks, weeks))
    body = (
        f"<h1>{escape(title)}</h1><p>{escape(until)}</p>{_settings(solved, sheet)}"
        f'<div class="rc-sheet-stop"><strong>Stop rule.</strong> {escape(STOP)}</div>'
        f"{_tests(blanks)}{_calendar(weeks)}{_cautions(sheet, letters)}{_lines()}"
        f'<p class="rc-sheet-foot">{escape(LAST_WORD)}</p>'
    )
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLESHEET}{SHEET_STYLE}</style>\n</head>\n"
        f'<body>\n<main class="rc rc-sheet" style="font-size:{size:.1f}px">{body}</main>\n'
        "</body>\n</html>\n"
    )


def _settings(solved: SolvedPlan, sheet: SheetOfPlan) -> str:
    used = [j for j in range(len(solved.problem.supplements)) if (solved.amounts[j] > 0.0).any()]
    stopped = [
        s.name for j, s in enumerate(solved.problem.supplements)
        if j not in used and s.set_now > 0.0
    ]  # fmt: skip
    stop = (
        f"<p><b>Stop: {escape(', '.join(stopped))}.</b> Nothing more of it is given.</p>"
        if stopped
        else ""
    )
    if not used and not sheet.kept:
        return f"{stop}<p>No dose is given.</p>"
    spans = phase_spans(solved)
    heads = []
    for first, end in spans:
        since, till = (short_date(sheet.start + timedelta(days=d)) for d in (first, end - 1))
        heads.append(
            f"from {since}" if end == solved.problem.days and first else f"{since} to {till}"
        )
    rows = []
    for j in used:
        supplement = solved.problem.supplements[j]
        cells = []
        for p in range(len(spans)):
            amount = float(solved.amounts[j, p])
            if amount <= 0.0:
                cells.append("<td><b>none</b></td>")
                continue
            small = _small_words(solved, sheet, j, p)
            cells.append(
                f"<td><b>{amount_words(amount, supplement)} {escape(supplement.unit)}</b> a day"
                f"<span>{escape(small)}</span></td>"
            )
        rows.append(f'<tr><th scope="row">{escape(supplement.name)}</th>{"".join(cells)}</tr>')
    rows += [
        f'<tr><th scope="row">{escape(name)}</th><td colspan="{len(spans)}">as now: '
        f"{escape(words)}</td></tr>"
        for name, words in sheet.kept.items()
    ]
    head = "".join(f'<th scope="col">{escape(h)}</th>' for h in ["Container", *heads])
    return (
        f'{stop}<table class="rc-sheet-set"><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _small_words(solved: SolvedPlan, sheet: SheetOfPlan, j: int, p: int) -> str:
    """Return in how many doses, of what size, at which times."""
    supplement = solved.problem.supplements[j]
    amount, doses = float(solved.amounts[j, p]), int(solved.doses_a_day[j, p])
    each = f"{doses} × {amount_words(amount / max(doses, 1), supplement)} {supplement.unit}"
    return each + _clock_words(sheet.times.get((supplement.name, p), ()))


def _clock_words(times: Sequence[str]) -> str:
    if not times:
        return ""
    minutes = [60 * int(clock[:2]) + int(clock[3:5]) for clock in times]
    return f", {times_words(minutes)}"


def _blanks(solved: SolvedPlan, sheet: SheetOfPlan, days: int) -> list[tuple[str, str]]:
    """Return the tests to write down: element, and when with what is expected."""
    found = []
    for name, test in sorted(sheet.tests.items(), key=lambda pair: pair[1].day):
        row = solved.problem.element(name)
        one = solved.problem.elements[row]
        for day in _test_days(test):
            if day > days:
                continue
            expected = ""
            if sheet.ahead is not None:
                level, low, high = (
                    float(x[row, day])
                    for x in (sheet.ahead.levels, sheet.ahead.low, sheet.ahead.high)
                )
                expected = f" expected {level_words(one, level, low, high)} {one.unit};"
            when = "before you start" if day == 0 else date_words(sheet.start, day)
            found.append((element_name(name), f", {when}:{expected} read"))
    return found


def _test_days(test: NextTest) -> tuple[int, ...]:
    """Return the days of a test: the one before the start does not spare the next."""
    return (test.day,) if test.then_on is None else (test.day, test.then_on)


def _tests(blanks: Sequence[tuple[str, str]]) -> str:
    if not blanks:
        return ""
    rows = "".join(f"<span><b>{escape(name)}</b>{escape(rest)}</span>" for name, rest in blanks)
    return f'<h2>Test, and write the reading down</h2><div class="rc-sheet-lines">{rows}</div>'


def _weeks(solved: SolvedPlan, sheet: SheetOfPlan, days: int) -> list[list[tuple[str, str] | None]]:
    """Return date and note of each day, week by week from Monday; None for a day of no plan."""
    shares = solved.problem.shares()
    cells: list[tuple[str, str] | None] = [None] * sheet.start.weekday()
    for day in range(days):
        notes = ["new setting"] if day in solved.phases[1:] else []
        tests = [element_name(n) for n, test in sheet.tests.items() if day in _test_days(test)]
        if tests:
            notes.append(f"test {', '.join(tests)}")
        if shares[day] > 0.0:
            notes.append(f"change {round(100 * shares[day], 1):g} %")
        when = short_date(sheet.start + timedelta(days=day))
        cells.append((when, "; ".join(notes)))
    cells += [None] * (-len(cells) % 7)
    return [cells[k : k + 7] for k in range(0, len(cells), 7)]


def _calendar(weeks: Sequence[Sequence[tuple[str, str] | None]]) -> str:
    rows = []
    for week in weeks:
        row = []
        for cell in week:
            if cell is None:
                row.append('<td class="rc-sheet-off"></td>')
                continue
            note = f"<b>{escape(cell[1])}</b>" if cell[1] else ""
            row.append(f"<td><i></i>{escape(cell[0])}{note}</td>")
        rows.append(f"<tr>{''.join(row)}</tr>")
    head = "".join(f'<th scope="col">{name}</th>' for name in _WEEKDAYS)
    return (
        "<h2>Tick when it was given and looked at</h2>"
        f'<table class="rc-sheet-days"><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _content(
    solved: SolvedPlan,
    sheet: SheetOfPlan,
    title: str,
    blanks: Sequence[tuple[str, str]],
    weeks: Sequence[Sequence[tuple[str, str] | None]],
) -> SheetContent:
    phases = range(len(solved.phases))
    rows = [
        (len(one.name), [len(_small_words(solved, sheet, j, p)) for p in phases])
        for j, one in enumerate(solved.problem.supplements)
        if (solved.amounts[j] > 0.0).any()
    ]
    rows += [(len(name), [0]) for name in sheet.kept]
    return SheetContent(
        len(title),
        rows,
        len(STOP),
        [max((len(cell[1]) for cell in week if cell), default=0) for week in weeks],
        [*(len(name + rest) for name, rest in blanks), *(len(name) for name in _BLANKS)],
        sum(len(text) for text in sheet.cautions),
    )


def _cautions(sheet: SheetOfPlan, room: float) -> str:
    shown, letters = [], 0
    for text in sheet.cautions:
        letters += len(text)
        if letters > room:
            break
        shown.append(f"<li>{escape(text)}</li>")
    left = len(sheet.cautions) - len(shown)
    more = f"<li>{left} more stand on the page of the plan.</li>" if left else ""
    return f"<h2>Cautions</h2><ul>{''.join(shown)}{more}</ul>" if shown else ""


def _lines() -> str:
    lines = "".join(f"<span>{name}</span>" for name in _BLANKS)
    return f'<div class="rc-sheet-lines">{lines}</div>'
