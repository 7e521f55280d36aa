"""The monthly review: every element of a tank in one month, and its page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import pandas as pd

from reef_calc.balance.reading_plan import reading_plan
from reef_calc.balance.without_doubted import WithAndWithout, with_and_without
from reef_calc.chem.elements import ELEMENTS
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import codes
from reef_calc.show.calendar_view import calendar_html
from reef_calc.show.doubts import doubts_html
from reef_calc.show.gather import gather, reviewed_elements
from reef_calc.show.overview import overview_html, overview_subline, overview_title
from reef_calc.show.page import page_html
from reef_calc.show.review_months import checked_month, default_month, no_reading
from reef_calc.show.standing import Standing
from reef_calc.show.what_follows import Following, what_follows
from reef_calc.show.what_follows_page import what_follows_html
from reef_calc.show.wording import element_name, escape, month_words


@dataclass(frozen=True)
class MonthReview:
    """One tank in one month.

    Attributes
    ----------
    tank : Tank
        The opened tank folder.
    month : str
        Month, text ``2026-09``.
    standings : tuple of Standing
        One for each element, in the usual order.
    failures : tuple of (str, str)
        Elements that could not be worked out, with the sentence why.
    """

    tank: Tank
    month: str
    standings: tuple[Standing, ...]
    failures: tuple[tuple[str, str], ...] = ()

    @property
    def title(self) -> str:
        """The answer in one line."""
        if not self.standings:
            return f"{month_words(self.month)}: nothing could be worked out"
        return overview_title(self.standings)

    @property
    def summary(self) -> pd.DataFrame:
        """One row an element: level, aims, use with interval, dose, what to do."""
        rows = []
        for s in self.standings:
            last = s.readings[s.readings["mark"] != "doubted"].tail(1)
            rows.append(
                {
                    "element": s.element,
                    "unit": s.unit,
                    "last reading": float(last["level"].iloc[0]) if len(last) else None,
                    "limit": last["limit"].iloc[0] if len(last) else "",
                    "aim low": s.low,
                    "aim high": s.high,
                    "use per day": s.use.rate if s.use else None,
                    "use low": s.use.low if s.use else None,
                    "use high": s.use.high if s.use else None,
                    "dose per day": s.use.dose_now if s.use else None,
                    "group": s.decision.group,
                    "what to do": s.decision.headline,
                    "why": s.decision.reason,
                    "basis": s.use.basis if s.use else "",
                }
            )
        return pd.DataFrame(rows)

    def overview_html(self) -> str:
        """Return the overview as HTML.

        Returns
        -------
        str
            Heading, sub-line and table.
        """
        told = overview_html(self.title, overview_subline(self.standings), self.standings)
        return self._no_dose_html() + told + self._failures_html()

    @cached_property
    def following(self) -> tuple[Following, ...]:
        """What would follow for each element that is used."""
        return what_follows(self.tank, self.standings)

    def follows_html(self) -> str:
        """Return what would follow from the review as HTML.

        Returns
        -------
        str
            Heading and table; empty where nothing is used.
        """
        return what_follows_html(self.following)

    def full(self, element: str) -> Standing:
        """Return one element's standing with its cross-checks.

        Parameters
        ----------
        element : str
            Element of the review.

        Returns
        -------
        Standing
            With least squares, Huber and the ratio.
        """
        return gather(self.tank, element, self.month, with_cross_checks=True)

    def calendar_html(self) -> str:
        """Return when to test in the coming weeks, and what it will show, as HTML.

        Returns
        -------
        str
            Calendar and table.
        """
        return self._calendar

    @cached_property
    def _calendar(self) -> str:
        last_day = pd.Period(self.month, freq="M").end_time.strftime("%Y-%m-%d")
        plan = reading_plan(self.tank, last_day)
        if plan.calendar.empty:
            return (
                '<section class="rc" aria-label="How often to test"><h2>How often to test</h2>'
                "<p>Nothing can be planned yet: no use is known. Four readings over a week of one "
                "element would do.</p></section>"
            )
        return calendar_html(
            plan.calendar, plan.outlooks, start=plan.start, zone=str(self.tank.zone)
        )

    def doubts_html(self) -> str:
        """Return readings to doubt and problems of the folder as HTML.

        Returns
        -------
        str
            Tables.
        """
        return doubts_html(
            self.standings, self.tank.problems, self.tank.counts, self.with_and_without
        )

    @cached_property
    def with_and_without(self) -> tuple[WithAndWithout, ...]:
        """The use with and without flagged readings, of elements that have any."""
        found = []
        for s in self.standings:
            if s.use is not None and "ROWS_REFUSED" not in codes(s.use.messages):
                last_day = pd.Period(self.month, freq="M").end_time.strftime("%Y-%m-%d")
                found.append(with_and_without(self.tank, s.element, last_day, unit=s.unit))
        return tuple(one for one in found if one is not None)

    def _no_dose_html(self) -> str:
        used = [s.element for s in self.standings if ELEMENTS[s.element].behaviour == "used"]
        if len(self.tank.additions) or not used:
            return ""
        return (
            '<section class="rc" aria-label="No dose is logged"><p class="rc-caution">No dose is in the '
            "log: everything below takes it that nothing is dosed. If something is, bring the doses in, "
            "or write them into additions.csv: until then the use comes out too low by as much."
            "</p></section>"
        )

    def _failures_html(self) -> str:
        if not self.failures:
            return ""
        lines = "".join(
            f"<li>{escape(element_name(name))}: {escape(why)}</li>" for name, why in self.failures
        )
        return (
            '<section class="rc" aria-label="Could not be worked out">'
            f"<h2>Could not be worked out</h2><ul>{lines}</ul></section>"
        )

    def _repr_html_(self) -> str:
        return page_html(self.title, [self.overview_html(), self.follows_html()])


def review_month(
    tank: Tank,
    month: str | None = None,
    *,
    with_cross_checks: bool = False,
    progress: Callable[[int, int, str], None] | None = None,
) -> MonthReview:
    """Return the review of one month: where each element stands and what to do.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    month : str, optional
        Month ``2026-09``; the last full month with readings when not given.
    with_cross_checks : bool, optional
        Whether least squares and Huber are worked out for every element.
    progress : callable, optional
        Called with (done, total, element) before each element.

    Returns
    -------
    MonthReview
        One standing for each element with aims or readings.

    Raises
    ------
    InputError
        If the month is not one.
    CannotTellError
        If the tank has no reading, and either no month is given or no aim is set.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> review = review_month(example_tank(), "2026-02")
    >>> review.summary[["element", "group", "what to do"]].values.tolist()
    [['alkalinity', 'change', 'Bring back 7.0 to 8.0: +1.0 dKH over at least 2 days; then 1.03 dKH a day']]
    """
    month = default_month(tank) if month is None else checked_month(month)
    standings, failures = [], []
    names = reviewed_elements(tank)
    if not names:
        raise CannotTellError(no_reading(tank))
    for done, name in enumerate(names):
        if progress is not None:
            progress(done, len(names), name)
        try:
            standings.append(gather(tank, name, month, with_cross_checks=with_cross_checks))
        except (InputError, CannotTellError) as error:
            failures.append((name, str(error)))
    return MonthReview(tank, month, tuple(standings), tuple(failures))


def review_html(tank: Tank, month: str | None = None, *, width: int | None = None) -> str:
    """Return the month's review as one self-contained page.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    month : str, optional
        Month ``2026-09``; the last full month with readings when not given.
    width : int, optional
        Width of the pictures in CSS pixels; both a wide and a narrow one when not given.

    Returns
    -------
    str
        HTML with nothing fetched from outside; prints on A4.

    Raises
    ------
    InputError
        If the month is not one.
    CannotTellError
        If the tank has no reading.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> review_html(example_tank(), "2026-02", width=980).startswith("<!DOCTYPE html>")
    True
    """
    return page_of(review_month(tank, month, with_cross_checks=True), width=width)


def page_of(review: MonthReview, *, width: int | None = None) -> str:
    """Return a review as one self-contained page.

    Parameters
    ----------
    review : MonthReview
        A review with cross-checks.
    width : int, optional
        Width of the pictures in CSS pixels; both a wide and a narrow one when not given.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> page = page_of(review_month(example_tank(), "2026-02", with_cross_checks=True), width=980)
    >>> page.startswith("<!DOCTYPE html>"), "Nothing to doubt" in page
    (True, True)
    """
    from reef_calc.show.lanes import element_html

    parts = [review.overview_html(), review.follows_html()]
    order = {"change": 0, "test": 1, "leave": 2}
    for standing in sorted(review.standings, key=lambda s: order[s.decision.group]):
        parts.append(element_html(standing, width=width))
    parts += [review.calendar_html(), review.doubts_html()]
    return page_html(f"{review.tank.name}: {review.title}", parts)
