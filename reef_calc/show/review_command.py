"""``python -m reef_calc.show.review_command FOLDER… [MONTH]``: write a month's page."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from reef_calc.errors import ReefError
from reef_calc.log.tank import open_tank
from reef_calc.plan.decision import GROUP_TITLES
from reef_calc.show.many_tanks import tanks_page
from reef_calc.show.page import page_html
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
    parser.add_argument(
        "words",
        nargs="+",
        metavar="FOLDER or MONTH",
        help="tank folder, or several for one page of all; then a month such as 2026-09, the last "
        "full month when not given",
    )
    parser.add_argument("--out", type=Path, default=Path(), help="folder for the page")
    asked = parser.parse_args(arguments)
    folders, month = _folders_and_month(asked.words)
    try:
        if len(folders) > 1:
            return _write_tanks(folders, month, asked.out)
        review = review_month(open_tank(folders[0]), month, with_cross_checks=True)
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


def _folders_and_month(words: list[str]) -> tuple[list[str], str | None]:
    """Return the tank folders and the month, which may be the last word or an empty one."""
    *before, last = words
    if not before:
        return words, None
    looks = re.fullmatch(r"\s*\d{4}-\d{1,2}\s*", last) is not None and not Path(last).is_dir()
    # Of two words the second was a month unless it is a folder; so a mistyped month is told as one.
    if looks or not last.strip() or (len(words) == 2 and not Path(last).is_dir()):
        return before, last.strip() or None
    return words, None


def _write_tanks(folders: list[str], month: str | None, out: Path) -> int:
    """Write the page and the table of several tanks and print what they say."""

    def say(done: int, total: int, name: str) -> None:
        if done < total:
            sys.stderr.write(f"{done + 1} of {total}: {name}\n")

    tanks = tanks_page(folders, month, progress=say)
    out.mkdir(parents=True, exist_ok=True)
    stem = f"tanks_{tanks.month or 'no_month'}"
    page, table = out / f"{stem}.html", out / f"{stem}.csv"
    page.write_text(page_html(tanks.heading, [tanks.html()]), encoding="utf-8")
    table.write_text(tanks.table.to_csv(index=False), encoding="utf-8")
    lines = [tanks.title]
    for row in (*tanks.group("change"), *tanks.group("test"), *tanks.group("failed")):
        said = row.headline or f"could not be read: {row.why}"
        lines.append(f"{row.title}{', ' if row.element else ''}{row.element}: {said}")
    lines.append(f"Leave as it is: {len(tanks.quiet)} of {tanks.tanks} tanks")
    lines.append(f"Page: {page}  Table: {table}")
    sys.stdout.write("\n".join(lines) + "\n")
    return 2 if all(row.group == "failed" for row in tanks.rows) else 0


if __name__ == "__main__":
    sys.exit(main())
