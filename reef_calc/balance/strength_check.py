"""Whether the tank answers to a supplement as its stated strength and the net volume say."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.extra_columns import dose_events, level_response
from reef_calc.balance.history_fit import fit_record
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.results import Beside
from reef_calc.balance.steady_use import MEASURED_SD_WORTH, KnownColumn
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval

Floats = NDArray[np.float64]
WIDEST = 0.25
PRIOR_U = 0.5
DRIFT_SHARE = 0.1
DRIFT_DAYS = 14.0
LEAST_READINGS = 6
VARIED_ENOUGH = 0.15
NAME = "strength"


@dataclass(frozen=True)
class StrengthCheck:
    """How the tank answers to one supplement against what is stated.

    Attributes
    ----------
    supplement : str
        Its name.
    factor, low, high : float
        Answer over stated answer, median and 95 % interval (no unit); wide where it cannot be told.
    net_L : float
        Net volume as stated (L).
    decision : {"as stated", "differs", "cannot tell"}
        By the interval: it must be within ± 25 % of the factor to say anything.
    dose_varied : float
        Standard deviation of the dose between readings over its mean (no unit).
    messages : tuple of Message
        What a person reads.
    """

    supplement: str
    factor: float
    low: float
    high: float
    net_L: float
    decision: str
    dose_varied: float
    messages: tuple[Message, ...]

    @property
    def volume_L(self) -> tuple[float, float, float]:
        """As if the tank held so much: median, low and high end (L); high may be infinite."""
        ends = (self.factor, self.high, self.low)
        middle, low, high = (self.net_L / f if f > 0 else float("inf") for f in ends)
        return middle, low, high


def strength_check(
    record: ElementRecord,
    supplement: str,
    net_L: float,
    *,
    sd_worth: float = MEASURED_SD_WORTH,
) -> StrengthCheck:
    """Return whether the level moves with the doses of a supplement as much as stated.

    C = C0·G + D + (φ − 1)·D_s − ∫use, D_s being the part of D that this supplement makes. φ is
    expected 1 ± 0.5; the use may drift by a tenth in two weeks, so that a dose that follows the use
    is not taken for an answer. Level and volume stand for one another: φ = V stated / V.

    Parameters
    ----------
    record : ElementRecord
        Sittings, doses and water changes of one element.
    supplement : str
        Name of the supplement.
    net_L : float
        Net volume that the doses were worked out with (L).
    sd_worth : float, optional
        Number of readings the kit's SD is worth (no unit).

    Returns
    -------
    StrengthCheck
        Factor with its interval (no unit), volume (L), decision and sentences.

    Raises
    ------
    InputError
        If the volume is not above 0.
    CannotTellError
        If the supplement was not given between the readings, or there are fewer than six readings.

    Notes
    -----
    Only doses that vary on their own tell anything. If use jumped on the very days the dose did,
    this cannot see it. Litres of water changes count as stated.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> check = strength_check(record, "part one", 300.0)
    >>> check.decision, round(check.dose_varied, 2)
    ('cannot tell', 0.0)
    >>> print(check.messages[0].text)
    Cannot tell whether the tank answers to part one as stated: the dose never varied enough.
    A measured volume, and the pump run into a cylinder, would tell.

    References
    ----------
    Own derivation; drift and limits are own choices, *common practice, no source*.
    """
    if not (np.isfinite(net_L) and net_L > 0):
        raise InputError("a net volume above 0 L", net_L, "Give the net volume.", "strength_check")
    if len(record.sessions) < LEAST_READINGS:
        raise CannotTellError(
            f"{len(record.sessions)} readings cannot tell how strong {supplement} is; "
            f"{LEAST_READINGS} are the least."
        )
    own = replace(
        record.doses,
        steps=record.doses.steps[record.doses.steps["supplement"] == supplement],
        shots=record.doses.shots[record.doses.shots["supplement"] == supplement],
    )
    response = level_response(record, dose_events(own))
    if not np.any(response > 0):
        raise CannotTellError(
            f"No {supplement} was given between the readings of {record.element}: nothing to check."
        )
    use = fit_record(record, sd_worth)[0].rate_scale
    columns = (KnownColumn(NAME, response, 0.0, PRIOR_U), *_drift(record, use))
    fit = fit_record(record, sd_worth, extra=columns)[0]
    factor, low, high = (1 + end for end in fit.factor(NAME))
    varied = _variation(record, response)
    check = StrengthCheck(supplement, factor, low, high, net_L, "cannot tell", varied, ())
    if factor <= 0 or (high - low) / 2 > WIDEST * factor:
        return replace(check, messages=(_untold(check),))
    as_stated = low <= 1 <= high
    return replace(
        check,
        decision="as stated" if as_stated else "differs",
        messages=(_told(check, as_stated), _MAINTENANCE),
    )


_MAINTENANCE = Message(
    "MAINTENANCE_NEEDS_NO_VOLUME",
    "The mL a day that hold the level do not depend on the volume: an error of it is in the use "
    "and in what a mL does, and cancels. A correction does depend on it.",
)


def _drift(record: ElementRecord, use: float) -> list[KnownColumn]:
    """Columns of a use that may change a little every two weeks."""
    times = record.sessions["day"].to_numpy(float)
    turns = np.arange(times[0] + DRIFT_DAYS, times[-1], DRIFT_DAYS)
    if not turns.size:
        return []
    later = record.balance(np.column_stack([turns, np.full(turns.size, times[-1] + 1.0)])).S
    return [
        KnownColumn(f"drift {j}", -later[:, j], 0.0, DRIFT_SHARE * use) for j in range(turns.size)
    ]


def _variation(record: ElementRecord, response: Floats) -> float:
    """Return the standard deviation over the mean of the dose per day between readings."""
    c = record.balance()
    given = np.diff(response) + (1 - c.g[1:]) * response[:-1]
    length = c.h[1:]
    moved = length > 0
    rate, weight = given[moved] / length[moved], length[moved]
    mean = float(np.average(rate, weights=weight))
    return float(np.sqrt(np.average((rate - mean) ** 2, weights=weight)) / mean)


def _untold(check: StrengthCheck) -> Message:
    reason = (
        "the dose never varied enough"
        if check.dose_varied < VARIED_ENOUGH
        else "the readings are too few or scatter too much for how the dose varied"
    )
    return Message(
        "STRENGTH_NOT_TOLD",
        f"Cannot tell whether the tank answers to {check.supplement} as stated: {reason}. A "
        "measured volume, and the pump run into a cylinder, would tell.",
        "refused",
    )


def _told(check: StrengthCheck, as_stated: bool) -> Message:
    middle, low, high = check.volume_L
    volume = f"{with_interval(middle, low, high)} L"
    share = f"{with_interval(100 * check.factor, 100 * check.low, 100 * check.high)} %"
    if as_stated:
        return Message(
            "STRENGTH_AS_STATED",
            f"The tank answers to {check.supplement} as if it held {volume}. Stated are "
            f"{check.net_L:g} L, which fits.",
        )
    return Message(
        "STRENGTH_DIFFERS",
        f"The tank answers to {check.supplement} as if it held {volume} and not {check.net_L:g} L, "
        f"or as if {check.supplement} brought {share} of what is stated. The readings cannot tell "
        "volume, strength and pump apart: measure the pump into a cylinder first. If the use "
        "changed on the days the dose did, that looks the same.",
        "qualified",
    )


def strength_beside(tank: Tank, record: ElementRecord, sd_worth: float) -> tuple[Beside, ...]:
    """Return for the supplement that brings most whether the tank answers to it as stated.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    record : ElementRecord
        Sittings, doses and water changes of one element.
    sd_worth : float
        Number of readings the kit's SD is worth (no unit).

    Returns
    -------
    tuple of Beside
        One, in words and with its factor where it can be told; none without doses.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.log.example import example_tank
    >>> tank, until = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(tank, "alkalinity", "dKH", until)
    >>> strength_beside(tank, record, 20.0)[0].rate is None  # the dose never varied
    True
    """
    steps, shots = record.doses.steps, record.doses.shots
    given: dict[str, float] = {}
    for step in steps.itertuples(index=False):
        brought = step.rate * (step.stop - step.start)
        given[step.supplement] = given.get(step.supplement, 0.0) + brought
    for shot in shots.itertuples(index=False):
        if not shot.standing:
            given[shot.supplement] = given.get(shot.supplement, 0.0) + shot.rise
    if not given:
        return ()
    name = max(given, key=lambda supplement: given[supplement])
    try:
        check = strength_check(record, name, tank.waters[-1].net_L, sd_worth=sd_worth)
    except CannotTellError:
        return ()
    words = " ".join(message.text for message in check.messages)
    title = f"Answer to {name} against what is stated (1 = as stated)"
    if check.decision == "cannot tell":
        return (Beside(title, None, None, None, words, ""),)
    return (Beside(title, check.factor, check.low, check.high, words, ""),)
