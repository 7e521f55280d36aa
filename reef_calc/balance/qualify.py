"""Sentences that stand beside a rate: what limits it and what is worth knowing."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.balance.about_inputs import (
    about_delivery,
    about_new_water,
    about_readings,
    about_refused_rows,
)
from reef_calc.balance.months import MonthlyUse
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import SteadyUse
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed, upper_bound

ROUGH, NOT_DETERMINED = 0.2, 0.5


def month_text(month: str) -> str:
    """Return a month in words.

    Parameters
    ----------
    month : str
        Text ``2026-09``.

    Returns
    -------
    str
        Text such as "September 2026".

    Examples
    --------
    >>> month_text("2026-09")
    'September 2026'
    """
    return f"{pd.Period(month, freq='M').start_time:%B %Y}"


@dataclass(frozen=True)
class MonthAlone:
    """The rate of the last month, where it differs from those before it in the window."""

    month: str
    rate: float
    low: float
    high: float
    basis: str
    verdict: str
    against: str
    difference: tuple[float, float, float]


def last_month_alone(monthly: MonthlyUse | None, record: ElementRecord) -> MonthAlone | None:
    """Return the last month's own rate when use was not steady over the window.

    Parameters
    ----------
    monthly : MonthlyUse or None
        Joint fit of the months.
    record : ElementRecord
        The window.

    Returns
    -------
    MonthAlone or None
        None when the months of the window do not differ at 95 %.
    """
    if monthly is None:
        return None
    start = record.sessions["day"].iloc[0]
    inside = [m.name for m in monthly.months if m.stop - start > 5 and monthly.told(m.name)]
    if len(inside) < 2:
        return None
    last = inside[-1]
    differ = [m for m in inside[:-1] if monthly.verdict(last, m) in ("changed", "perhaps changed")]
    if not differ:
        return None
    against = differ[-1]
    rate, low, high = monthly.rate(last)
    return MonthAlone(
        last,
        rate,
        low,
        high,
        f"{month_text(last)} alone, because use was not steady",
        monthly.verdict(last, against),
        against,
        monthly.difference(last, against),
    )


def doubted(found: pd.DataFrame, unit: str, zone: str, name: str) -> tuple[Message, ...]:
    """Return a sentence for each reading that was set aside as a gross error.

    Parameters
    ----------
    found : pandas.DataFrame
        ``time``, ``row``, ``level``, ``why`` of the doubted readings.
    unit, zone, name : str
        Unit of the level, zone of the tank, element.

    Returns
    -------
    tuple of Message
        One for each.
    """
    return tuple(
        Message(
            "POSSIBLE_GROSS",
            f"The {name} reading of {day_text(row.time, zone)} ({row.level:g} {unit}, row {row.row}) "
            f"{row.why}. It stays in the log.",
            "told",
        )
        for row in found.itertuples(index=False)
    )


def all_messages(
    tank: Tank,
    estimate: ConsumptionEstimate,
    record: ElementRecord,
    fit: SteadyUse,
    delivery: float,
    other_kit: float,
    alone: MonthAlone | None,
) -> tuple[Message, ...]:
    """Return everything that must or should be said beside a rate.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    estimate : ConsumptionEstimate
        The estimate with its rate.
    record : ElementRecord
        The window.
    fit : SteadyUse
        Its averaged fit.
    delivery, other_kit : float
        Added uncertainties, unit per day.
    alone : MonthAlone or None
        The last month when it stands alone.

    Returns
    -------
    tuple of Message
        Qualifications first.
    """
    found = [
        *about_refused_rows(tank),
        *_size(estimate),
        *_provisional(record),
        *_not_steady(alone, estimate),
        *about_new_water(record, fit, other_kit, estimate),
        *about_delivery(delivery, estimate),
        *_offsets(fit, estimate),
        *_gap_doses(fit, estimate),
        *about_readings(tank, record, fit),
        Message(
            "STEADY_ASSUMED",
            "Use is taken as steady within the span that is fitted: a change in its last weeks is "
            "averaged in.",
        ),
    ]
    rank = {"refused": 0, "qualified": 1, "told": 2}
    return tuple(sorted(found, key=lambda m: rank[m.kind]))


def what_helps(e: ConsumptionEstimate) -> str:
    """Return what would narrow the interval most, from its budget.

    Parameters
    ----------
    e : ConsumptionEstimate
        An estimate with its budget.

    Returns
    -------
    str
        A request such as "test the new water once with the same kit".
    """
    if e.budget.empty or e.rate is None:
        return ""
    largest = str(e.budget["source"].iloc[int(e.budget["share"].to_numpy(float).argmax())])
    if largest == "new water":
        return "test the new water once with the same kit"
    if largest == "pump and strength":
        return "measure what the pump gives into a cylinder"
    if largest == "new water read with another kit":
        return "read one new water with the kit in use"
    return ""


def _say(value: float, half: float) -> str:
    return fixed(value, decimals_for(half))


def _size(e: ConsumptionEstimate) -> list[Message]:
    if e.rate is None or e.low is None or e.high is None or e.behaviour == "net":
        return []
    half = (e.high - e.low) / 2
    top = upper_bound(max(e.high, 0.0))
    if e.low <= 0 <= e.high:
        return [
            Message(
                "ZERO_INSIDE",
                f"No consumption shown: less than {top} {e.unit} a day.",
                "qualified",
            )
        ]
    if e.high < 0:
        return [
            Message(
                "RISES",
                "The level rises by more than the doses bring: an unlogged dose, richer new water or "
                "a kit that changed would fit.",
                "qualified",
            )
        ]
    if half > NOT_DETERMINED * e.rate:
        return [
            Message(
                "NOT_DETERMINED",
                f"The rate is not determined: at most {top} {e.unit} a day. A longer span helps most.",
                "qualified",
            )
        ]
    if half > ROUGH * e.rate:
        return [
            Message(
                "ROUGH",
                f"The rate is rough: ± {100 * half / e.rate:.0f} % of itself.",
                "qualified",
            )
        ]
    return []


def _provisional(record: ElementRecord) -> list[Message]:
    n = len(record.sessions)
    span = float(record.sessions["day"].iloc[-1] - record.sessions["day"].iloc[0])
    if n >= 8 and span >= 21:
        return []
    return [Message("PROVISIONAL", f"Provisional: {n} readings over {span:.0f} days.", "qualified")]


def _not_steady(alone: MonthAlone | None, e: ConsumptionEstimate) -> list[Message]:
    if alone is None:
        return []
    middle, low, high = alone.difference
    half = (high - low) / 2
    word = "more" if middle > 0 else "less"
    sure = "" if alone.verdict == "changed" else "perhaps "
    return [
        Message(
            "RATE_CHANGED",
            f"Use {sure}changed: in {month_text(alone.month)} {_say(abs(middle), half)} ± "
            f"{_say(half, half)} {e.unit} a day {word} than in {month_text(alone.against)}. Only "
            "dose minus use is seen: use changed, or less or more was delivered than set, or the "
            "salt mix changed.",
            "qualified",
        )
    ]


def _offsets(fit: SteadyUse, e: ConsumptionEstimate) -> list[Message]:
    found = []
    for name in fit.names:
        if not name.startswith("offset "):
            continue
        middle, low, high = fit.factor(name)
        half = (high - low) / 2
        found.append(
            Message(
                "LOT_CHANGED",
                f"{name.removeprefix('offset ')} reads {_say(middle, half)} ± {_say(half, half)} "
                f"{e.unit} against what is used now; the difference is taken out of the rate. Only a "
                "standard can say which is right.",
            )
        )
    return found


def _gap_doses(fit: SteadyUse, e: ConsumptionEstimate) -> list[Message]:
    found = []
    for name in fit.names:
        if name.startswith("gap "):
            middle, low, high = fit.factor(name)
            half = (high - low) / 2
            found.append(
                Message(
                    "GAP_DOSE",
                    f"In the gap of the log about {_say(middle, half)} ± {_say(half, half)} {e.unit} "
                    "a day was given.",
                )
            )
    return found
