"""What standards say of each kit."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.compare.kit_names import split_name
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
        known = frozenset(comparing.tank.readings["kit"])
        chosen = [split_name(k, known) for k in (comparing.kit_a, comparing.kit_b) if k]
        if not chosen:
            raise CannotTellError(f"No kit reads {comparing.element} in this tank.")
        kits = list(dict.fromkeys(kit for kit, _ in chosen))
        if len(kits) < len(chosen):
            raise CannotTellError(
                f"Two lots of {kits[0]} are chosen, and here kits are held against each other. Choose "
                "two kits, or see Kit checks for the lots of one."
            )
        lots = {kit: lot for kit, lot in chosen if lot is not None}
        found = which_to_believe(comparing.tank, comparing.element, kits, lots=lots or None)
        inner = belief_html(found, zone=str(comparing.tank.zone))
        self.box.value = (
            f'<div class="rc" data-view="Which to believe">{inner}{comparing.not_used()}</div>'
        )
