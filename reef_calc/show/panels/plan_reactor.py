"""Fields for a calcium reactor: what flows out of it, and how fast it may run."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from reef_calc.chem.inflow_supplement import inflow_supplement
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank
from reef_calc.show.plan_results import REACTOR as NAME

MINUTES = 1440.0


class ReactorFields:
    """Flow at most, and alkalinity and calcium at the outlet; nothing without a flow.

    Parameters
    ----------
    field : callable
        Makes a text field from its label and tooltip.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self, field: Callable[[str, str], widgets.Text]) -> None:
        self.flow = field("Reactor, mL a minute", "Largest flow through a calcium reactor")
        self.alkalinity = field("Reactor alkalinity, dKH", "As tested at its outlet")
        self.calcium = field("Reactor calcium, mg/L", "As tested at its outlet; may stay empty")
        self.box = widgets.HBox(
            [self.flow, self.alkalinity, self.calcium],
            layout=widgets.Layout(flex_flow="row wrap"),
        )

    def clear(self) -> None:
        """Forget what was typed."""
        for control in (self.flow, self.alkalinity, self.calcium):
            control.value = ""
            control.placeholder = "none"

    def supplement(self, tank: Tank) -> Supplement | None:
        """Return the reactor as a supplement, at the aims of the tank; None without a flow.

        Parameters
        ----------
        tank : Tank
            For its aims: a reactor adds what its outlet holds more than the tank.

        Returns
        -------
        Supplement or None
            Per mL of flow.

        Raises
        ------
        InputError
            For a flow without a tested outlet, or an element without aims.
        """
        if not self.flow.value.strip():
            return None
        flow = parse_typed_number(self.flow.value, "Reactor, mL a minute")
        if flow == 0.0:
            return None
        inflow, levels = {}, {}
        for element, unit, control in (
            ("alkalinity", "dKH", self.alkalinity),
            ("calcium", "mg/L", self.calcium),
        ):
            if not control.value.strip():
                continue
            aim = tank.aims.get(element)
            if aim is None:
                raise InputError(
                    f"aims of {element}", "none", "Write them in tank.toml first.", NAME
                )
            inflow[element] = (parse_typed_number(control.value, control.description), unit)
            levels[element] = (aim.aim, aim.unit)
        if "alkalinity" not in inflow:
            raise InputError(
                "the alkalinity at the outlet of the reactor", "nothing", "Test it there.", NAME
            )
        return inflow_supplement(NAME, inflow, levels, most_mL_per_min=flow)


def flow_words(mL_per_day: float) -> str:
    """Return a daily amount of a reactor as a flow.

    Parameters
    ----------
    mL_per_day : float
        Flow (mL a day).

    Returns
    -------
    str
        Text.

    Examples
    --------
    >>> flow_words(14400.0)
    'Set the reactor to 10 mL a minute, day and night.'
    """
    return f"Set the reactor to {mL_per_day / MINUTES:.3g} mL a minute, day and night."
