"""Several tanks in one month: what each element needs, read one tank after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pandas as pd

from reef_calc.errors import ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.plan.decision import GROUP_TITLES
from reef_calc.show.many_tanks_page import TankRow, tanks_html
from reef_calc.show.overview import last_reading_html
from reef_calc.show.page import page_html
from reef_calc.show.review import MonthReview, review_month
from reef_calc.show.review_months import checked_month, default_month
from reef_calc.show.standing import Standing
from reef_calc.show.strips import level_strip
from reef_calc.show.wording import count_words, month_words

_COLUMNS = (
    "tank", "folder", "element", "unit", "group", "what to do", "why", "last reading", "limit",
    "aim low", "aim high", "last read on", "days since", "refused",
)  # fmt: skip


@dataclass(frozen=True)
class TanksPage:
    """Several tanks in one month.

    Attributes
    ----------
    month : str
        Month reviewed, text ``2026-09``; empty where no tank could be read.
    rows : tuple of TankRow
        Every element of every tank, and one row for a tank or element that could not be read.
    tanks : int
        Number of folders that were read or tried.
    unread : int
        Folders left when the reading was stopped.
    """

    month: str
    rows: tuple[TankRow, ...]
    tanks: int
    unread: int = 0

    def group(self, name: str) -> tuple[TankRow, ...]:
        """Return the rows of one group.

        Parameters
        ----------
        name : str
            A key of ``GROUP_TITLES``, or ``failed``.

        Returns
        -------
        tuple of TankRow
            In the order of the folders.
        """
        return tuple(row for row in self.rows if row.group == name)

    @cached_property
    def quiet(self) -> tuple[str, ...]:
        """Tanks of which nothing needs a decision, as "name (folder)"."""
        busy = {row.folder for row in self.rows if row.group != "leave"}
        names = {row.folder: row.title for row in self.rows if row.folder not in busy}
        return tuple(names.values())

    @property
    def title(self) -> str:
        """The answer in one line."""
        if not self.tanks:
            return "No tank to look at"
        when = f"{month_words(self.month)}: " if self.month else ""
        parts = []
        for group, verb in (("change", "change something in"), ("test", "test in")):
            count = len({row.folder for row in self.group(group)})
            if count:
                parts.append(f"{verb} {count_words(count)} tank{'s' if count != 1 else ''}")
        failed = len({row.folder for row in self.group("failed")})
        if failed:
            parts.append(f"{count_words(failed)} could not be read in full")
        return when + (", ".join(parts) or "leave everything as it is")

    @property
    def heading(self) -> str:
        """Title of the page as a document."""
        return f"All tanks, {month_words(self.month)}" if self.month else "All tanks"

    @property
    def table(self) -> pd.DataFrame:
        """One row a tank and element, those left as they are too."""
        order = [*GROUP_TITLES, "failed"]
        rows = sorted(self.rows, key=lambda row: order.index(row.group))
        return pd.DataFrame([row.cells() for row in rows], columns=list(_COLUMNS))

    def html(self) -> str:
        """Return the page's table as HTML.

        Returns
        -------
        str
            Heading and table; needs ``style.STYLESHEET`` on the page.
        """
        return tanks_html(self.title, self.rows, self.quiet, self.tanks, self.unread)

    def _repr_html_(self) -> str:
        return page_html(self.heading, [self.html()])


def tanks_page(
    folders: Sequence[str | Path],
    month: str | None = None,
    *,
    progress: Callable[[int, int, str], None] | None = None,
    go_on: Callable[[], bool] | None = None,
) -> TanksPage:
    """Return what every element of several tanks needs in one month.

    A tank that cannot be opened or worked out becomes a row with the reason; the others are read all
    the same.

    Parameters
    ----------
    folders : sequence of str or pathlib.Path
        Tank folders.
    month : str, optional
        Month ``2026-09`` for all of them; the latest last full month of any when not given.
    progress : callable, optional
        Called with (done, total, folder name) before each tank, and once at the end.
    go_on : callable, optional
        Asked before each tank; False leaves the others unread.

    Returns
    -------
    TanksPage
        Rows in the order of the folders.

    Raises
    ------
    InputError
        If the month is not one.

    Examples
    --------
    >>> page = tanks_page(["not a folder"], "2026-02")
    >>> page.title, page.rows[0].group
    ('February 2026: one could not be read in full', 'failed')
    """
    places = [Path(folder) for folder in folders]
    asked = checked_month(month) if month is not None else _latest_month(places)
    rows: list[TankRow] = []
    done = 0
    for done, place in enumerate(places):
        if go_on is not None and not go_on():
            return TanksPage(asked, tuple(rows), done, len(places) - done)
        if progress is not None:
            progress(done, len(places), place.name)
        rows += _rows(place, asked)
    if progress is not None and places:
        progress(len(places), len(places), places[-1].name)
    return TanksPage(asked, tuple(rows), len(places))


def _latest_month(places: Sequence[Path]) -> str:
    found = []
    for place in places:
        try:
            found.append(default_month(open_tank(place)))
        except (ReefError, OSError):
            continue  # told as a row of its own when the tank is read
    return max(found, default="")


def _rows(place: Path, month: str) -> list[TankRow]:
    try:
        tank = open_tank(place)
        review = review_month(tank, month or None)
    except ReefError as error:
        return [TankRow(place.name, str(place), "failed", why=str(error))]
    except OSError as error:
        why = f"The file system said: {error.strerror}."
        return [TankRow(place.name, str(place), "failed", why=why)]
    except Exception as error:  # an unforeseen fault of one tank must not take the others along
        why = f"Not foreseen: {type(error).__name__}: {error}. Open its own review to see where."
        return [TankRow(place.name, str(place), "failed", why=why)]
    refused = sum(problem.severity == "refused" for problem in tank.problems)
    rows = [_element_row(tank, place, review, standing, refused) for standing in review.standings]
    rows += [
        TankRow(tank.name, str(place), "failed", element=name, why=why, refused=refused)
        for name, why in review.failures
    ]
    return rows


def _element_row(
    tank: Tank, place: Path, review: MonthReview, standing: Standing, refused: int
) -> TankRow:
    decision = standing.decision
    table = standing.readings
    told = table[table["mark"].isin(["used", "beyond limit"])]
    last = told.iloc[-1] if len(told) else None
    end = pd.Timestamp(f"{review.month}-01", tz=standing.zone) + pd.offsets.MonthBegin(1)
    today = min(end.tz_convert("UTC"), max(pd.Timestamp.now("UTC"), *_times(tank)))
    since = None if last is None else round((today - last["time"]) / pd.Timedelta(days=1))
    day = "" if last is None else f"{last['time'].tz_convert(standing.zone):%Y-%m-%d}"
    busy = decision.group != "leave"
    return TankRow(
        tank.name, str(place), decision.group, element=standing.element, unit=standing.unit,
        action=decision.action, headline=decision.headline, why=decision.reason,
        cautions=decision.cautions,
        level=None if last is None else float(last["level"]),
        limit="" if last is None else str(last["limit"]),
        low=standing.low, high=standing.high, day=day, days_since=since,
        refused=refused,
        strip=level_strip(standing) if busy else "",
        last_html=last_reading_html(standing) if busy else "",
    )  # fmt: skip


def _times(tank: Tank) -> list[pd.Timestamp]:
    return [t["time"].max() for t in (tank.readings, tank.water_changes, tank.events) if len(t)]
