"""The further columns that pay, chosen for one record: rhythm, readers, forgotten and hourless doses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.balance.extra_columns import (
    date_only_dose_variance,
    reader_columns,
    weekly_rhythm,
)
from reef_calc.balance.joined_fit import scale_of_use
from reef_calc.balance.missing_doses import dosing_breaks, missing_doses
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.walk import huber_rate
from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

LEAST_SITTINGS = 12


@dataclass(frozen=True)
class PayingColumns:
    """What is fitted beside the use because it pays.

    Attributes
    ----------
    columns : tuple of KnownColumn
        Factors with their expectation.
    variance : array (n,)
        Variance to add to each sitting (unit²).
    messages : tuple of Message
        What is said of them.
    """

    columns: tuple[KnownColumn, ...]
    variance: np.ndarray
    messages: tuple[Message, ...]


def paying_columns(tank: Tank, record: ElementRecord) -> PayingColumns:
    """Return the further columns for one element's record.

    Parameters
    ----------
    tank : Tank
        An opened tank folder; who read is taken from its readings.
    record : ElementRecord
        Sittings, doses and water changes.

    Returns
    -------
    PayingColumns
        Columns, variances and sentences; none where they would cost more than they tell.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.log.example import example_tank
    >>> tank, until = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(tank, "alkalinity", "dKH", until)
    >>> [column.name for column in paying_columns(tank, record).columns]
    ['weekly rhythm']
    """
    forgotten = missing_doses(record)
    columns = [m.column for m in forgotten]
    messages = [*(m.message for m in forgotten), *dosing_breaks(record)]
    own = ELEMENTS[record.element]
    if own.behaviour == "used" and len(record.sessions) >= LEAST_SITTINGS:
        balance = record.balance()
        last = record.sessions.iloc[-1]
        s0 = float(np.hypot(last["sd"], last["resolution"] / np.sqrt(12)))
        z = record.sessions["level"].to_numpy(float) - balance.D
        scale = scale_of_use(record, balance, record.offset_columns(), s0)
        rate = (
            abs(float(huber_rate(z, np.column_stack([balance.G, -balance.H]), s0)[1]))
            if scale is None
            else scale
        )
        rhythm = weekly_rhythm(record, rate)
        if rhythm is not None and rate > 0:
            columns.append(rhythm)
        readers = dict(zip(tank.readings["row"].astype(int), tank.readings["by"], strict=True))
        columns += reader_columns(record, readers)
    return PayingColumns(
        tuple(c for c in columns if np.any(c.values != 0)),
        date_only_dose_variance(record),
        tuple(messages),
    )
