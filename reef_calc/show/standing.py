"""Where one element stands in one month: everything a figure or a row needs, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.plan.decision import Decision


@dataclass(frozen=True)
class Standing:
    """One element in one month of one tank, in its display unit.

    Attributes
    ----------
    tank : str
        Name of the tank.
    element, unit : str
        Element and display unit.
    month : str
        Month reviewed, text ``2026-09``.
    zone : str
        IANA zone of the tank.
    low, aim, high : float or None
        Aims in the display unit; None where not set.
    readings : pandas.DataFrame
        Every reading of the tank's water of the element up to the end of the month: ``row``,
        ``time`` (UTC), ``date_only``, ``level``, ``sd``, ``kit``, ``lot``, ``limit`` ('', '<', '>',
        'between'), ``upper``, ``by``, ``mark`` ('used', 'doubted', 'beyond limit', 'left out'),
        ``why`` (sentence for any other mark than used).
    doses : pandas.DataFrame
        Standing dose as steps: ``start``, ``stop`` (UTC), ``rate`` (unit per day; NaN while the
        dose was not logged).
    one_off : pandas.DataFrame
        Single doses: ``time``, ``rise`` (unit), ``supplement``.
    changes : pandas.DataFrame
        Water changes: ``time``, ``fraction``, ``litres``.
    events : pandas.DataFrame
        Events of the log that name this element or none: ``time``, ``kind``, ``note``.
    use : ConsumptionEstimate or None
        None for a property that is not used up (salinity, temperature, pH).
    decision : Decision
        What to do.
    decimals : int
        Decimals that the kit's step justifies for a level.
    ratio : pandas.DataFrame or None
        Calcium used per alkalinity used, one row a month: ``month`` (text 2026-09), ``start``,
        ``stop`` (UTC), ``ratio``, ``low``, ``high`` (mg/L per dKH; NaN when cannot tell). Shown
        for alkalinity and calcium only.
    """

    tank: str
    element: str
    unit: str
    month: str
    zone: str
    low: float | None
    aim: float | None
    high: float | None
    readings: pd.DataFrame
    doses: pd.DataFrame
    one_off: pd.DataFrame
    changes: pd.DataFrame
    events: pd.DataFrame
    use: ConsumptionEstimate | None
    decision: Decision
    decimals: int
    ratio: pd.DataFrame | None = None
