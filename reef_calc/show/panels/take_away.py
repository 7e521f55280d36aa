"""What can be taken away from a review: the page, the summary, every table."""

from __future__ import annotations

from reef_calc.log.folder import export_table
from reef_calc.show.panels.common import download_html
from reef_calc.show.review import MonthReview, page_of
from reef_calc.show.review_command import file_name


def take_away_html(whole: MonthReview) -> str:
    """Return links that save the review as one page, its summary, and the tables of the folder.

    Parameters
    ----------
    whole : MonthReview
        A review whose standings have their cross-checks.

    Returns
    -------
    str
        HTML with everything inside the links.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.review import review_month
    >>> review = review_month(example_tank(), "2026-01", with_cross_checks=True)
    >>> take_away_html(review).count('download="readings.csv"')
    1
    """
    links = [
        download_html(
            file_name(whole), page_of(whole), "The review as one page (HTML, prints on A4)"
        ),
        download_html(
            f"summary_{whole.month}.csv",
            whole.summary.to_csv(index=False),
            "The summary as a table (CSV)",
            "text/csv",
        ),
    ]
    for file in whole.tank.raw:
        links.append(
            download_html(file, export_table(whole.tank, file), f"{file}, as it is", "text/csv")
        )
    items = "".join(f"<li>{link}</li>" for link in links)
    return f'<section class="rc"><h2>Take away</h2><ul class="rc-links">{items}</ul></section>'
