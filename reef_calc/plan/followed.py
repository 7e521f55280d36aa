"""Which elements a plan follows, and which containers it sets, leaves as they are, or stops."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.supplements import Supplement
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.doses_set import DoseSetNow
from reef_calc.plan.limits import LevelLimits, level_limits
from reef_calc.plan.starting_point import StartingPoint, starting_point
from reef_calc.plan.wishes import PlanWishes

READ_LATELY = pd.Timedelta(days=120)


@dataclass(frozen=True)
class Standing:
    """Where the elements of a tank stand when a plan begins.

    Attributes
    ----------
    points : dict of str to StartingPoint
        Level and use by element.
    limits : dict of str to LevelLimits
        Aims and limits of the same elements.
    messages : tuple of Message
        What was taken, left out or refused.
    """

    points: dict[str, StartingPoint]
    limits: dict[str, LevelLimits]
    messages: tuple[Message, ...]

    def followed(self, allowed: Sequence[Supplement]) -> tuple[set[str], tuple[Message, ...]]:
        """Return the elements whose aims a plan can follow: use known, and something raises them.

        Parameters
        ----------
        allowed : sequence of Supplement
            What the plan may use.

        Returns
        -------
        set of str
            Their names.
        tuple of Message
            One for each element with aims and a known use that nothing raises.
        """
        found, told = set(), []
        for name, point in self.points.items():
            if self.limits[name].aim is None or point.use is None:
                continue
            if any(one.adds.get(name, 0.0) > 0.0 for one in allowed):
                found.add(name)
            else:
                words = (
                    f"{name.capitalize()} is only reported: no supplement of this plan raises it."
                )
                told.append(Message("NOTHING_RAISES", words))
        return found, tuple(told)


def standing_of(tank: Tank, at: pd.Timestamp, days: int, wishes: PlanWishes) -> Standing:
    """Return level, use and limits of every element that has aims, wishes or late readings.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    at : pandas.Timestamp
        Start of the plan (UTC).
    days : int
        Length of the plan.
    wishes : PlanWishes
        What differs from the folder.

    Returns
    -------
    Standing
        Elements in the usual order.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> at = pd.Timestamp("2026-02-16", tz="UTC")
    >>> list(standing_of(example_tank(), at, 30, PlanWishes()).points)
    ['alkalinity']
    """
    rows = tank.readings[(tank.readings["water"] == "tank") & (tank.readings["time"] < at)]
    lately = set(rows.loc[rows["time"] > at - READ_LATELY, "element"])
    wished = {*tank.aims, *wishes.aims, *wishes.uses, *wishes.levels}
    points: dict[str, StartingPoint] = {}
    limits: dict[str, LevelLimits] = {}
    messages: list[Message] = []
    for name, facts in ELEMENTS.items():
        if facts.behaviour == "state" or name not in wished | lately:
            continue
        aim = tank.aims.get(name)
        unit = aim.unit if aim else facts.display_unit
        if "/kg" in unit:
            words = (
                f"{name.capitalize()} is left out: its aims are in {unit}, and doses are worked out per "
                f"litre. Write the aims in {facts.display_unit}."
            )
            messages.append(Message("PER_KILOGRAM", words, "qualified"))
            continue
        point, told = starting_point(tank, name, unit, at, days, wishes, points.get("alkalinity"))
        if name in wished:
            messages += told
        if point is None or (point.use is None and name not in wished):
            continue
        points[name] = point
        limits[name] = level_limits(name, unit, aim, wishes)
        messages += limits[name].messages
    return Standing(points, limits, tuple(messages))


@dataclass(frozen=True)
class SortedOut:
    """The containers of a tank as a plan treats them.

    Attributes
    ----------
    planned : dict of str to Supplement
        Those that the plan sets, the preferred first.
    kept : dict of str to Supplement
        Those that stay as they are set.
    stopped : dict of str to Supplement
        Those that are dosed today and may not be used: the plan sets them to 0.
    messages : tuple of Message
        What stays, what is stopped, what is not known.
    """

    planned: dict[str, Supplement]
    kept: dict[str, Supplement]
    stopped: dict[str, Supplement]
    messages: tuple[Message, ...]


def sorted_out(
    every: Mapping[str, Supplement],
    allowed: Sequence[str],
    now: Mapping[str, DoseSetNow],
    followed: set[str],
) -> SortedOut:
    """Return which containers a plan sets, which stay as they are, and which are stopped.

    Parameters
    ----------
    every : mapping of str to Supplement
        All of them, the preferred first.
    allowed : sequence of str
        Those that may be used.
    now : mapping of str to DoseSetNow
        What is set of each.
    followed : set of str
        Elements whose aims are followed.

    Returns
    -------
    SortedOut
        A container in use whose elements are not followed stays as it is: to stop it because
        nothing is known of the need would be a decision nobody took.

    Examples
    --------
    >>> trace = Supplement("trace", {"strontium": 3.0})
    >>> now = {"trace": DoseSetNow(18.0, 0, True, True)}
    >>> sorted_out({"trace": trace}, ["trace"], now, {"calcium"}).messages[0].text
    'trace stays as it is set, 18 mL a day: how much of it is needed is not known.'
    """
    planned: dict[str, Supplement] = {}
    kept: dict[str, Supplement] = {}
    stopped: dict[str, Supplement] = {}
    told: list[Message] = []
    for name, one in every.items():
        raises = any(one.adds.get(element, 0.0) > 0.0 for element in followed)
        amount = f"{now[name].amount:.4g} {one.unit} a day"
        if not now[name].logged:
            words = f"{name}: the log does not say what is dosed now."
            told.append(Message("DOSE_NOT_LOGGED", words, "qualified"))
        if name in allowed and raises:
            planned[name] = one
        elif name in allowed and now[name].amount > 0.0:
            kept[name] = one
            words = f"{name} stays as it is set, {amount}: how much of it is needed is not known."
            told.append(Message("KEPT", words))
        elif now[name].amount > 0.0:
            stopped[name] = one
            words = (
                f"{name} is set to {amount} and is not part of this plan: the plan takes it as "
                "stopped. Stop it on the first day, or allow it and plan again."
            )
            told.append(Message("STOPPED", words, "qualified"))
    return SortedOut(planned, kept, stopped, tuple(told))
