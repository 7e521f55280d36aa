"""How two kits differ by all readings of the log."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.compare.from_the_log import difference_from_log
from reef_calc.errors import CannotTellError
from reef_calc.show.comparison_log_view import log_difference_csv, log_difference_html
from reef_calc.show.panels.common import download_html
from reef_calc.show.panels.kit_view import Comparing, KitView


class FromLogView(KitView):
    """The difference as one unknown of the balance, with the pairs it is worth."""

    def __init__(self) -> None:
        self.box = widgets.HTML()

    def show(self, comparing: Comparing) -> None:
        """Show how the two kits differ.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.

        Raises
        ------
        CannotTellError
            If fewer than two kits or lots read the element.
        """
        self.box.value = ""
        if not comparing.kit_b or comparing.kit_a == comparing.kit_b:
            raise CannotTellError(
                f"Only one kit read {comparing.element} in this tank. Read the same water with a "
                "second one, or choose another element."
            )
        found = difference_from_log(
            comparing.tank,
            comparing.element,
            comparing.kit_a,
            comparing.kit_b,
            since=comparing.since,
            until=comparing.until,
            unit=comparing.unit,
        )
        link = download_html(
            f"{comparing.element}_two_kits.csv",
            log_difference_csv(found),
            "Save the readings and what was expected (CSV)",
            "text/csv",
        )
        self.box.value = (
            f'<div class="rc" data-view="From the log">'
            f"{log_difference_html(found, allowed=comparing.allowed)}<p>{link}</p></div>"
        )
