"""``python -m reef_calc.show.review_command FOLDER [MONTH]``: write a month's page."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from reef_calc.errors import ReefError
from reef_calc.log.tank import open_tank
from reef_calc.plan.decision import GROUP_TITLES
from reef_calc.show.review import MonthReview, page_of, review_month


def file_name(review: MonthReview) -> str:
    """Return the name of a review's page: review_TANK_YYYY-MM.html.

    Parameters
    ----------
    review : MonthReview
        The review.

    Returns
    -------
    str
        Name with letters, digits and underscores only, its tank's part at most 60 of them.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> file_name(review_month(example_tank(), "2026-02"))
    'review_example_reef_2026-02.html'
    """
    tank = re.sub(r"\W+", "_", review.tank.name).strip("_").lower()[:60] or "tank"
    return f"review_{tank}_{review.month}.html"


def summary_lines(review: MonthReview, page: Path) -> list[str]:
    """Return five lines that say what the page says.

    Parameters
    ----------
    review : MonthReview
        The review.
    page : pathlib.Path
        Where the page was written.

    Returns
    -------
    list of str
        Title, one line a group, the page.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> for line in summary_lines(review_month(example_tank(), "2026-02"), Path("page.html")):
    ...     print(line)
    Example reef, February 2026: raise alkalinity
    Change something (1): alkalinity: Bring back 7.0 to 8.0: +1.0 dKH over at least 2 days; ...
    Test again first (0): nothing
    Leave as it is (0): nothing
    Page: page.html  (rows or entries flagged or refused: 0)
    """
    lines = [f"{review.tank.name}, {review.title}"]
    for group, title in GROUP_TITLES.items():
        inside = [s for s in review.standings if s.decision.group == group]
        said = (
            "; ".join(f"{s.element}: {s.decision.headline}" for s in inside)
            if group != "leave"
            else ", ".join(s.element for s in inside)
        )
        lines.append(f"{title} ({len(inside)}): {said or 'nothing'}")
    problems = [p for p in review.tank.problems if p.severity != "note"]
    lines.append(f"Page: {page}  (rows or entries flagged or refused: {len(problems)})")
    return lines


def main(arguments: list[str] | None = None) -> int:
    """Write the page and print its summary.

    Parameters
    ----------
    arguments : list of str, optional
        Command-line words; those of the process when not given.

    Returns
    -------
    int
        0, or 2 with a sentence on standard error.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> folder = start_tank(tempfile.mkdtemp(), "My reef", 300.0, "Europe/London")
    >>> main([str(folder)])  # no reading yet: a sentence on standard error
    2
    """
    parser = argparse.ArgumentParser(prog="make review", description="Write a month's review.")
    parser.add_argument("folder", help="tank folder")
    parser.add_argument("month", nargs="?", help="month such as 2026-09; default: last full month")
    parser.add_argument("--out", type=Path, default=Path(), help="folder for the page")
    asked = parser.parse_args(arguments)
    try:
        review = review_month(open_tank(asked.folder), asked.month or None, with_cross_checks=True)
        asked.out.mkdir(parents=True, exist_ok=True)
        page = asked.out / file_name(review)
        page.write_text(page_of(review), encoding="utf-8")
    except ReefError as error:
        sys.stderr.write(f"No review: {error}\n")
        return 2
    except OSError as error:
        sys.stderr.write(f"No review: {error.strerror} ({error.filename}).\n")
        return 2
    lines = summary_lines(review, page)
    lines += [f"Could not be worked out: {name}: {why}" for name, why in review.failures]
    sys.stdout.write("\n".join(lines) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
