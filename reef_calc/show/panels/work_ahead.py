"""Work done ahead while the overview is being read."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module

from reef_calc.errors import ReefError
from reef_calc.show.review import MonthReview
from reef_calc.show.standing import Standing

# Seconds left to the person between two elements worked out ahead.
BREATH = 0.05


def work_ahead(
    review: MonthReview, checked: dict[str, Standing], still_wanted: Callable[[], bool]
) -> None:
    """Work out the elements of a review one by one, with their cross-checks.

    The results go where that review keeps them, so that a tank opened meanwhile gets its own.

    Parameters
    ----------
    review : MonthReview
        The review being read.
    checked : dict of str to Standing
        Where the results are kept, by element.
    still_wanted : callable
        Asked before each element; False ends the work.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.review import review_month
    >>> kept = {}
    >>> work_ahead(review_month(example_tank(), "2026-02"), kept, lambda: False)
    >>> kept
    {}
    """
    for name in ("reef_calc.show.lanes", "statsmodels.robust.robust_linear_model"):
        import_module(name)
    for standing in review.standings:
        time.sleep(BREATH)
        if not still_wanted():
            return
        # What fails here fails again, and is told, when the element is shown.
        with suppress(ReefError):
            full = checked.setdefault(standing.element, review.full(standing.element))
            if standing is review.standings[0]:
                # The first picture of a process costs a second: fonts, and matplotlib itself.
                import_module("reef_calc.show.lanes").element_html(full)
