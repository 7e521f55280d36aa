"""Sentences that stand beside a rate: what limits it and what is worth knowing."""

from __future__ import annotations

from collections.abc import Iterable

from reef_calc.balance.about_findings import (
    about_age,
    about_findings,
    about_follows_level,
    about_invisible,
)
from reef_calc.balance.about_inputs import (
    about_delivery,
    about_new_water,
    about_readings,
    about_refused_rows,
)
from reef_calc.balance.about_joins import about_joins
from reef_calc.balance.rate_now import NowFit
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import SteadyUse
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed, upper_bound

ROUGH, NOT_DETERMINED = 0.2, 0.5
CHANGING = 0.5
TEST_NEW_WATER = "test the new water once with the same kit"


def all_messages(
    tank: Tank,
    estimate: ConsumptionEstimate,
    fit: NowFit,
    steady: SteadyUse,
    delivery: float,
    other_kit: float,
) -> tuple[Message, ...]:
    """Return everything that must or should be said beside a rate.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    estimate : ConsumptionEstimate
        The estimate with its rate.
    fit : NowFit
        The mixture's fit.
    steady : SteadyUse
        Steady fit of the readings since the last change.
    delivery, other_kit : float
        Added uncertainties, unit per day.

    Returns
    -------
    tuple of Message
        Qualifications first.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> [m.code for m in estimate_consumption(example_tank(), "alkalinity").messages]
    ['PUMP_UNCERTAINTY']
    """
    record = fit.record
    found = [
        *about_refused_rows(tank),
        *about_size(estimate),
        *_provisional(record),
        *about_age(record, estimate),
        *about_findings(estimate),
        *about_new_water(record, steady, other_kit, estimate),
        *about_delivery(delivery, estimate),
        *_offsets(fit, estimate),
        *about_joins(tank, fit, estimate, steady),
        *_gap_doses(fit, estimate),
        *about_readings(tank, record, steady),
        *about_follows_level(fit, estimate),
        *about_invisible(estimate),
    ]
    return by_weight(found)


def by_weight(messages: Iterable[Message]) -> tuple[Message, ...]:
    """Return messages with refusals first, then qualifications, then what is only told.

    Parameters
    ----------
    messages : iterable of Message
        In any order; equals keep theirs.

    Returns
    -------
    tuple of Message
        The same messages.

    Examples
    --------
    >>> [m.code for m in by_weight([Message("A", "told"), Message("B", "doubt", "qualified")])]
    ['B', 'A']
    """
    rank = {"refused": 0, "qualified": 1, "told": 2}
    return tuple(sorted(messages, key=lambda m: rank[m.kind]))


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

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> what_helps(use)  # more readings, nothing else
    ''
    """
    if e.budget.empty or e.rate is None or e.low is None:
        return ""
    if e.low > 0 and (e.p_not_constant or 0.0) >= CHANGING:
        return ""  # while a use that is shown may be changing, only more readings decide
    # Pump and strength move use and dose alike: measuring them decides nothing between the two.
    own = e.budget[e.budget["source"] != "pump and strength"]
    largest = str(own["source"].iloc[int(own["u"].to_numpy(float).argmax())])
    if largest == "new water":
        measured = e.record is not None and e.record.new_water.source == "measured"
        return TEST_NEW_WATER.replace("once", "again") if measured else TEST_NEW_WATER
    if largest == "new water read with another kit":
        return "read one new water with the kit in use"
    return ""


def _say(value: float, half: float) -> str:
    return fixed(value, decimals_for(half))


def about_size(e: ConsumptionEstimate) -> list[Message]:
    """Return what the width of the interval leaves of a rate: rough, an upper bound, or nothing.

    Parameters
    ----------
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        At most one: ROUGH, NOT_DETERMINED, ZERO_INSIDE or RISES.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> about_size(estimate_consumption(example_tank(), "alkalinity"))
    []
    """
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


def _offsets(fit: NowFit, e: ConsumptionEstimate) -> list[Message]:
    found = []
    for name in fit.now.names:
        if not name.startswith("offset "):
            continue
        middle, low, high = fit.now.factor(name)
        half = (high - low) / 2
        if low <= 0 <= high:
            continue
        found.append(
            Message(
                "LOT_CHANGED",
                f"{name.removeprefix('offset ')} reads {_say(middle, half)} ± {_say(half, half)} "
                f"{e.unit} against what is used now; the difference is taken out of the rate. Only a "
                "standard can say which is right.",
            )
        )
    return found


def _gap_doses(fit: NowFit, e: ConsumptionEstimate) -> list[Message]:
    found = []
    for name in fit.now.names:
        if name.startswith("gap "):
            middle, low, high = fit.now.factor(name)
            half = (high - low) / 2
            found.append(
                Message(
                    "GAP_DOSE",
                    f"In the gap of the log about {_say(middle, half)} ± {_say(half, half)} {e.unit} "
                    "a day was given.",
                )
            )
    return found
