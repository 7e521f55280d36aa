"""Times of day for every container, so that what must not meet is dosed half an hour apart."""

from __future__ import annotations

from collections.abc import Mapping

from reef_calc.chem.supplements import Supplement
from reef_calc.errors import InputError
from reef_calc.plan.keep_apart import groups_apart

APART_MINUTES = 30
DAY_MINUTES = 1440
# The first dose of the day: someone is there to see it. By hand the day ends at 22:00.
FIRST_MINUTE = 8 * 60
WAKING_MINUTES = 14 * 60


def times_of_day(
    supplements: Mapping[str, Supplement], doses: Mapping[str, int], *, by_hand: bool = False
) -> dict[str, tuple[str, ...]]:
    """Return clock times for the doses of a day, as evenly spread as they go.

    The day is cut into n equal parts, n the largest number of doses; within each part every group of
    containers that may be dosed together has its own moment, at (part + group/groups)/n of the day.
    A container with fewer doses than n leaves parts out, as evenly as it goes.

    Parameters
    ----------
    supplements : mapping of str to Supplement
        Containers by name, in their order.
    doses : mapping of str to int
        Number of doses a day by name; containers with none get no time.
    by_hand : bool, optional
        Whether someone has to be awake: then all of it lies between 08:00 and 22:00, if it fits.

    Returns
    -------
    dict of str to tuple of str
        Times such as "08:00", in order of the clock, by name.

    Raises
    ------
    InputError
        If so many doses cannot be half an hour apart.

    Notes
    -----
    *Common practice, no source*: half an hour between what falls out together. The day is counted
    from eight in the morning, so that a single dose is given when someone is there.

    Examples
    --------
    >>> soda, lime = Supplement("soda", {"alkalinity": 1.0}), Supplement("lime", {"calcium": 9.0})
    >>> times_of_day({"soda": soda, "lime": lime}, {"soda": 2, "lime": 1})
    {'soda': ('08:00', '20:00'), 'lime': ('14:00',)}
    """
    given = {name: one for name, one in supplements.items() if doses.get(name, 0) > 0}
    if not given:
        return {}
    groups = groups_apart(given.values())
    count = max(groups.values()) + 1
    parts = max(doses[name] for name in given)
    if count * parts * APART_MINUTES > DAY_MINUTES:
        raise InputError(
            f"at most {DAY_MINUTES // APART_MINUTES // count} doses a day of each container",
            str(parts),
            f"{count} kinds of container must be {APART_MINUTES} minutes apart.",
            "Doses a day",
        )
    length = WAKING_MINUTES if by_hand else DAY_MINUTES
    if count * parts * APART_MINUTES > length:
        length = DAY_MINUTES
    found = {}
    for name in given:
        number = doses[name]
        chosen = [dose * parts // number for dose in range(number)]
        minutes = [
            FIRST_MINUTE + length * (part * count + groups[name]) // (parts * count)
            for part in chosen
        ]
        clock = sorted(minute % DAY_MINUTES for minute in minutes)
        found[name] = tuple(f"{minute // 60:02d}:{minute % 60:02d}" for minute in clock)
    return found


def minutes_of(clock: str) -> int:
    """Return the minutes since midnight of a clock time.

    Parameters
    ----------
    clock : str
        Time such as "08:30".

    Returns
    -------
    int
        Minutes.

    Examples
    --------
    >>> minutes_of("08:30")
    510
    """
    hours, minutes = clock.split(":")
    return 60 * int(hours) + int(minutes)


def minutes_between(one: str, other: str) -> int:
    """Return the minutes from one clock time to the other, the shorter way around the clock.

    Parameters
    ----------
    one, other : str
        Times such as "23:45".

    Returns
    -------
    int
        Minutes, at most 720.

    Examples
    --------
    >>> minutes_between("23:45", "00:15")
    30
    """
    apart = abs(minutes_of(one) - minutes_of(other))
    return min(apart, DAY_MINUTES - apart)
