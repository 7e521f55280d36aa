"""What standards say of each kit."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.compare.which_to_believe import which_to_believe
from reef_calc.errors import CannotTellError
from reef_calc.show.comparison_log_view import belief_html
from reef_calc.show.panels.kit_view import Comparing, KitView


class BeliefView(KitView):
    """Bias of each kit on standards, its drift, and when to read the next one."""

    def __init__(self) -> None:
        self.box = widgets.HTML()

    def show(self, comparing: Comparing) -> None:
        """Show what standards say.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.

        Raises
        ------
        CannotTellError
            If no kit reads the element.
        """
        self.box.value = ""
        kits = [k for k in dict.fromkeys((comparing.kit_a, comparing.kit_b)) if k]
        if not kits:
            raise CannotTellError(f"No kit reads {comparing.element} in this tank.")
        found = which_to_believe(comparing.tank, comparing.element, kits)
        inner = belief_html(found, zone=str(comparing.tank.zone))
        self.box.value = f'<div class="rc" data-view="Which to believe">{inner}</div>'
