"""What is set on a dosing pump, as plain CSV text."""

from __future__ import annotations

import csv
import io

from reef_calc.log.plan_rows import amount_text
from reef_calc.log.plans import ContainerPhase

PUMP_COLUMNS = ("container", "start date", "end date", "times", "unit", "amount per dose",
                "doses per day")  # fmt: skip


def pump_csv(phases: tuple[ContainerPhase, ...]) -> str:
    r"""Return the settings of a dosing pump as CSV text, one row a container and phase.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.

    Returns
    -------
    str
        Columns container, start date, end date, times (split by a semicolon), unit, amount per dose,
        doses per day; lines end with LF. A phase without a dose has 0, so that it is set too.

    Examples
    --------
    >>> import datetime as dt
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, day, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> pump_csv((one,)).splitlines()[1]
    'soda,2026-03-01,2026-03-01,08:00;20:00,mL,30,2'
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(PUMP_COLUMNS)
    for one in phases:
        writer.writerow(
            (
                one.container, one.date_from.isoformat(), one.date_to.isoformat(),
                ";".join(one.times), one.unit, amount_text(one.per_dose), one.doses,
            )
        )  # fmt: skip
    return text.getvalue()
