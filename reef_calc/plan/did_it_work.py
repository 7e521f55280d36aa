"""Whether a new supplement brings what it should: the tank's answer before and after the change."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, days, moment
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.extra_columns import dose_events, level_response
from reef_calc.balance.given_doses import mean_dose
from reef_calc.balance.history_fit import fit_record, sd_worth
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.told import told_of
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.outcome_words import (
    about_the_window,
    decision_words,
    not_enough,
    what_it_rests_on,
)

FEWEST_READINGS = 4
SHORTEST_DAYS = 7.0
BEFORE_DAYS = 42
WIDEST = 0.25
NAME = "delivered"

Range = tuple[float, float, float]


@dataclass(frozen=True)
class ChangeOutcome:
    """What readings say of a supplement since it was first given.

    Attributes
    ----------
    supplement : str
        The new one.
    element, unit, zone : str
        Element read, unit of its level, IANA zone of the tank.
    since : pandas.Timestamp
        Its first dose (UTC).
    readings_before, readings_after : int
        Sittings that were used.
    use_before, use_after : tuple of float or None
        Use a day that the balance finds with every dose taken as stated: median and 95 % interval
        (``unit`` a day). Less delivered than stated looks like more use.
    delivered : tuple of float or None
        Share of what is stated that arrives, median and 95 % interval (no unit), if the use of the
        tank did not change and what was dosed before was as stated.
    dose : float or None
        Its mean dose a day as stated, since its first one (``unit`` a day).
    decision : {"as stated", "less", "more", "cannot tell"}
        Only where the interval lies within ± 25 %; a difference that a use changed by a tenth would
        make too counts as stated.
    messages : tuple of Message
        What a person reads.
    """

    supplement: str
    element: str
    unit: str
    zone: str
    since: pd.Timestamp
    readings_before: int
    readings_after: int
    use_before: Range | None
    use_after: Range | None
    delivered: Range | None
    dose: float | None
    decision: str
    messages: tuple[Message, ...]

    @property
    def tenth_of_use(self) -> float | None:
        """By how much a use changed by a tenth would move ``delivered`` (no unit)."""
        if self.use_before is None or not self.dose:
            return None
        return 0.1 * abs(self.use_before[0]) / self.dose


def did_it_work(
    tank: Tank,
    element: str,
    supplement: str,
    *,
    until: str | pd.Timestamp | None = None,
    since: str | None = None,
    before_days: int = BEFORE_DAYS,
    unit: str | None = None,
) -> ChangeOutcome:
    """Return whether a new supplement brings what is stated, from the readings around its first dose.

    Readings that the estimate of the use doubts are left out.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that it adds.
    supplement : str
        The new supplement, as in the log.
    until : str or pandas.Timestamp, optional
        Last day; that of the last reading when not given.
    since : str, optional
        Day of its first dose where it was given in an earlier time too.
    before_days : int, optional
        Days before the first dose that are looked at.
    unit : str, optional
        Unit of the level; that of the aims when not given.

    Returns
    -------
    ChangeOutcome
        Share delivered with its interval, decision and sentences.

    Raises
    ------
    InputError
        If the supplement or element is not known, or a day is none.
    CannotTellError
        If the log holds no dose of it.

    Notes
    -----
    Whether the use of the tank itself changed in those weeks cannot be told from one element.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = did_it_work(example_tank(), "alkalinity", "part one", since="2026-01-18")
    Traceback (most recent call last):
        ...
    reef_calc.errors.CannotTellError: part one was dosed before 18 Jan 2026 too: there is no change
    to look at. Give the day of its first dose.
    """
    if supplement not in tank.supplements:
        raise InputError(
            "a supplement of supplements.toml (" + ", ".join(tank.supplements) + ")",
            supplement, "Write its name as it stands there.", "did_it_work",
        )  # fmt: skip
    estimate = estimate_consumption(tank, element, until, unit=unit)
    record: ElementRecord = estimate.record
    doubted = frozenset(int(row) for row in estimate.set_aside["row"])
    start = None
    if since is not None:
        try:
            day = pd.Timestamp(pd.to_datetime(since, format="%Y-%m-%d"))
        except (ValueError, TypeError) as error:
            raise InputError(
                "a day such as 2026-09-30", since, "Write year, month and day.", "since"
            ) from error
        start = float(days(day.tz_localize(record.zone).tz_convert("UTC")))
    kept = record.without(doubted)
    found = outcome_of(
        kept, supplement, start=start, before_days=before_days, worth=sd_worth(tank, kept)
    )
    span = (float(days(found.since)) - before_days, float(days(estimate.until)))
    declared = [t for t in told_of(tank, record.element, kept).changes if span[0] < t < span[1]]
    more = about_the_window(len(doubted), declared, record.zone)
    return replace(found, messages=(*found.messages, *more))


def outcome_of(
    record: ElementRecord,
    supplement: str,
    *,
    start: float | None = None,
    before_days: int = BEFORE_DAYS,
    worth: float = 20.0,
) -> ChangeOutcome:
    """Return the same from the record of one element.

    C = C0·G + D − k·H + (φ − 1)·D_s: one use k before and after, D_s the part of D that the new one
    makes. Beside it one use before and one after, with φ = 1.

    Parameters
    ----------
    record : ElementRecord
        Sittings, doses and water changes of one element.
    supplement : str
        The new supplement.
    start : float, optional
        Day number of its first dose; the first in the log when not given.
    before_days : int, optional
        Days before it that are looked at.
    worth : float, optional
        Number of readings the kit's SD is worth (no unit).

    Returns
    -------
    ChangeOutcome
        Share delivered (no unit), uses (unit a day), decision, sentences.

    Raises
    ------
    CannotTellError
        If it was never given, or already within the time before.

    Notes
    -----
    Steady use, but for its scatter from day to day. Doses that go on unchanged, and a cross-fade,
    are taken as logged, late alkalinity as it arrives.

    Examples
    --------
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.log.example import example_tank
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> found = outcome_of(record, "part one")  # dosed from the first day on: nothing before
    >>> print(found.decision, "-", found.messages[0].text)
    cannot tell - Too few readings before the first dose of part one (1 Jan 2026): none. 4 over 7 days
    are the least, and no later reading can make up for them.

    References
    ----------
    Own derivation; limits are own choices, *common practice, no source*.
    """
    own = _own_doses(record, supplement)
    given = np.r_[own.steps["start"].to_numpy(float), own.shots["day"].to_numpy(float)]
    zone = record.zone
    if not given.size:
        raise CannotTellError(
            f"No {supplement} in the log for {record.element}: write its doses, then look again."
        )
    first = float(given.min()) if start is None else start
    if start is not None and _runs_within(own, start - before_days, start):
        raise CannotTellError(
            f"{supplement} was dosed before {day_text(moment(start), zone)} too: there is no change "
            "to look at. Give the day of its first dose."
        )
    window = record.since(first - before_days)
    t = window.sessions["day"].to_numpy(float)
    before, after = t[t <= first], t[t > first]
    dose = mean_dose(own, first, float(t[-1])) if after.size else None
    found = ChangeOutcome(
        supplement,
        record.element,
        record.unit,
        zone,
        moment(first),
        before.size,
        after.size,
        None,
        None,
        None,
        dose,
        "cannot tell",
        (),
    )
    refused = not_enough(supplement, before, after, first, zone, FEWEST_READINGS, SHORTEST_DAYS)
    if refused is not None:
        return replace(found, messages=(refused,))
    response = level_response(window, dose_events(own))
    column = KnownColumn(NAME, response)
    spans = np.array([[t[0], first], [first, t[-1]]])
    try:
        fit = fit_record(window, worth, extra=(column,))[0]
        apart = fit_record(window, worth, spans)[0]
    except CannotTellError as error:
        return replace(found, messages=(Message("NOT_TOLD", str(error), "refused"),))
    share, low, high = (1.0 + end for end in fit.factor(NAME))
    found = replace(
        found,
        use_before=apart.factor("use 0"),
        use_after=apart.factor("use 1"),
        delivered=(share, low, high),
    )
    found = replace(found, decision=_decision(found))
    words = (*decision_words(found, float(t[-1])), *what_it_rests_on(found))
    return replace(found, messages=words)


def _decision(found: ChangeOutcome) -> str:
    if found.delivered is None:
        return "cannot tell"
    share, low, high = found.delivered
    if not (math.isfinite(high - low) and share > 0.0 and (high - low) / 2 <= WIDEST):
        return "cannot tell"
    # A use that moves by a tenth in some weeks is nothing unusual and must not be taken for a fault.
    tenth = found.tenth_of_use or 0.0
    if high + tenth < 1.0:
        return "less"
    return "more" if low - tenth > 1.0 else "as stated"


def _own_doses(record: ElementRecord, supplement: str) -> AdditionHistory:
    doses = record.doses
    return replace(
        doses,
        gaps=(),  # the fit takes what was not logged as unknown
        steps=doses.steps[doses.steps["supplement"] == supplement],
        shots=doses.shots[doses.shots["supplement"] == supplement],
    )


def _runs_within(doses: AdditionHistory, start: float, stop: float) -> bool:
    steps, shots = doses.steps, doses.shots
    return bool(
        ((steps["start"] < stop) & (steps["stop"] > start)).any()
        or ((shots["day"] >= start) & (shots["day"] < stop)).any()
    )
