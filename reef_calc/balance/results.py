"""What is said about the use of one element: the result object of the balance."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from reef_calc.balance.findings import FoundEvent, RateCurve
from reef_calc.balance.joined_scale import JoinedScale
from reef_calc.messages import Message


@dataclass(frozen=True)
class Beside:
    """A number from another source, shown beside the rate.

    Attributes
    ----------
    title : str
        Where it comes from.
    rate, low, high : float or None
        Value with its 95 % interval in ``unit`` per day; None when it is only told in words.
    words : str
        What it is worth.
    unit : str
        Unit of the level, or of a ratio.
    """

    title: str
    rate: float | None
    low: float | None
    high: float | None
    words: str
    unit: str


@dataclass(frozen=True)
class ConsumptionEstimate:
    """Use of one element per day, with its interval and everything it rests on.

    Attributes
    ----------
    element, unit : str
        Element and unit of its level; rates are in that unit per day.
    behaviour : str
        ``used`` or ``net`` (then a positive rate reads "falls by", a negative one "rises by").
    zone : str
        IANA zone of the tank, for dates in words.
    since, until : pandas.Timestamp
        Window asked for (UTC).
    rate, low, high : float or None
        Median and 95 % interval; None when refused.
    basis : str
        What the rate is: "steady use, 44 days, 12 readings", or the last month alone.
    dose_now : float or None
        Standing dose per day at ``until`` and the daily dose by hand; without either, the mean of
        the doses by hand of 28 days; None while it was not logged.
    used : pandas.DataFrame
        One row a reading session in the window: ``time`` (UTC), ``level``, ``sd``, ``n``, ``kit``,
        ``lot``, ``rows``, ``fitted``, ``residual`` (in SD of one reading).
    left_out : pandas.DataFrame
        Readings of the window that were not fitted: ``time``, ``row``, ``level``, ``why``, ``mark``.
    months : pandas.DataFrame
        One row a calendar month: ``month`` (text 2026-09), ``start``, ``stop`` (UTC), ``rate``,
        ``low``, ``high`` (NaN when cannot tell), ``dosed``, ``readings``, ``difference``,
        ``difference_low``, ``difference_high`` (against the month before, joint), ``verdict``
        ("changed", "perhaps changed", "no change shown", "cannot tell").
    cross_checks : pandas.DataFrame
        ``method``, ``rate``, ``low``, ``high``, ``note``: ordinary least squares and Huber on the
        same balance. Filled by ``with_cross_checks``; empty until then.
    budget : pandas.DataFrame
        ``source``, ``u`` (unit per day), ``share`` (of the variance), ``note``.
    weights : pandas.DataFrame
        ``cv``, ``weight``, ``rate``, ``scale``, ``degrees_of_freedom`` of the averaged fits.
    arithmetic : tuple of str
        The lines of arithmetic behind the rate.
    messages : tuple of Message
        Refusals, qualifications and things worth knowing, in order of weight.
    findings : tuple
        Changes and doubted readings that were found.
    if_nothing_changed : object
        The same estimate under "nothing changed"; None while changes are not searched.
    p_not_constant : float or None
        Probability that the rate is not constant; None while changes are not searched.
    monthly : MonthlyUse or None
        The joint fit behind ``months``; compares any two of them.
    set_aside : pandas.DataFrame
        Doubted readings of the whole history that no fit uses: ``time``, ``row``, ``level``, ``why``.
    expected_last : tuple of float or None
        Range that the reading before, doses, changes and use lead to expect for the last reading.
    level_now : tuple of float or None
        Level at the last reading from the last few, and its standard uncertainty.
    what_helps : str
        What would narrow the interval most, as a request; empty where only more readings would.
    record : ElementRecord or None
        Everything the log holds about the element up to ``until``.
    humps : tuple of (probability, rate, low, high)
        Without and with a change, while the readings cannot decide; empty otherwise.
    curve : RateCurve or None
        The use over time with its band and the segments believed in.
    beside : tuple
        Results from other sources shown beside the rate, such as calcium with what alkalinity knows.
    invisible_days : float or None
        A change of a quarter that is younger than this cannot show at this cadence of tests.
    against_dose : tuple of float or None
        95 % interval of the use for comparing it with the dose: without the uncertainty of pump,
        strength and volume, which moves both alike.
    joined : JoinedScale or None
        Which readings are taken to the scale of the kit in use, and by how much; None without joins.
    """

    element: str
    unit: str
    behaviour: str
    zone: str
    since: pd.Timestamp
    until: pd.Timestamp
    rate: float | None
    low: float | None
    high: float | None
    basis: str
    dose_now: float | None
    used: pd.DataFrame
    left_out: pd.DataFrame
    months: pd.DataFrame
    cross_checks: pd.DataFrame
    budget: pd.DataFrame
    weights: pd.DataFrame
    arithmetic: tuple[str, ...]
    messages: tuple[Message, ...]
    findings: tuple[FoundEvent, ...] = ()
    if_nothing_changed: Any = None
    p_not_constant: float | None = None
    monthly: Any = None
    set_aside: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["time", "row", "level", "why", "mark"])
    )
    expected_last: tuple[float, float] | None = None
    level_now: tuple[float, float] | None = None
    what_helps: str = ""
    record: Any = None
    humps: tuple[tuple[float, float, float, float], ...] = ()
    curve: RateCurve | None = None
    beside: tuple[Any, ...] = ()
    invisible_days: float | None = None
    against_dose: tuple[float, float] | None = None
    joined: JoinedScale | None = None
