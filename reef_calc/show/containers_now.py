"""Which containers bring an element in now, and how much of each is set a day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.balance.additions import days, moment
from reef_calc.balance.dose_now import MOMENT, SPAN
from reef_calc.balance.missing_doses import daily_by_hand
from reef_calc.chem.supplements import level_rise
from reef_calc.log.tank import Tank
from reef_calc.show.standing import Standing


@dataclass(frozen=True)
class ContainerNow:
    """One container that adds an element.

    Attributes
    ----------
    supplement : str
        Its name in supplements.toml.
    unit : {"mL", "g"}
        What amounts are counted in.
    amount : float
        Amount a day as set; the mean for doses by hand.
    per_amount : float
        Rise of the tank for one mL (or gram) as set, unit of the standing.
    u : float
        Relative standard uncertainty of ``per_amount``: strength, delivery and net volume.
    step : float
        Smallest step of the amount a day: step of one dose times the doses a day; 0 where none is
        written.
    doses_a_day : int
        Doses a day at written times; 1 where none are written.
    even : bool
        Whether a pump gives it evenly over the day, without written times.
    """

    supplement: str
    unit: str
    amount: float
    per_amount: float
    u: float
    step: float
    doses_a_day: int = 1
    even: bool = False

    @property
    def rise(self) -> float:
        """What it brings, unit of the standing per day."""
        return self.amount * self.per_amount


def containers_now(tank: Tank, standing: Standing) -> tuple[ContainerNow, ...]:
    """Return the containers that give the dose of an element now, the largest share first.

    Their rises add up to the dose that the estimate names.

    Parameters
    ----------
    tank : Tank
        The opened tank folder.
    standing : Standing
        One element of it.

    Returns
    -------
    tuple of ContainerNow
        Empty where nothing is dosed, or where it is not known what is.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.gather import gather
    >>> tank = example_tank()
    >>> (only,) = containers_now(tank, gather(tank, "alkalinity", "2026-02"))
    >>> only.supplement, round(only.amount, 6), round(only.rise, 6)
    ('part one', 60.0, 1.0)
    """
    use = standing.use
    if use is None or use.record is None or not use.dose_now:
        return ()
    doses, end = use.record.doses, float(days(use.until))
    pumped: dict[str, float] = {}
    for step in doses.steps.itertuples(index=False):
        if step.start <= end - MOMENT <= step.stop and step.rate > 0:
            name = str(step.supplement)
            pumped[name] = pumped.get(name, 0.0) + float(step.rate)
    shots = doses.shots[~doses.shots["standing"].astype(bool)]
    rows = [float(at.max()) for at in (use.record.sessions["day"], shots["day"]) if len(at)]
    stop = min(end, max(rows, default=end) + MOMENT)
    by_hand = {
        name: rise for name, rise in daily_by_hand(use.record, stop, SPAN).items() if rise > 0
    }
    if not pumped and not by_hand:
        lately = shots[(shots["day"] >= stop - SPAN) & (shots["day"] < stop)]
        by_hand = {
            str(k): float(v) / SPAN for k, v in lately.groupby("supplement")["rise"].sum().items()
        }
    found = [_pumped(tank, standing, name, rate, end) for name, rate in pumped.items()]
    found += [_by_hand(tank, standing, name, rise) for name, rise in by_hand.items() if rise > 0]
    return tuple(sorted(found, key=lambda one: (-one.rise, one.supplement)))


def container_to_begin(tank: Tank, standing: Standing) -> ContainerNow | None:
    """Return the container a first dose would come from: the one last used, else the first listed.

    Parameters
    ----------
    tank : Tank
        The opened tank folder.
    standing : Standing
        One element of it, which is not dosed.

    Returns
    -------
    ContainerNow or None
        With amount 0; None where no supplement of the folder adds the element.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.gather import gather
    >>> tank = example_tank()
    >>> container_to_begin(tank, gather(tank, "alkalinity", "2026-02")).supplement
    'part one'
    """
    able = [name for name, one in tank.supplements.items() if one.adds.get(standing.element)]
    used = tank.additions.loc[tank.additions["supplement"].isin(able), "supplement"]
    if not able:
        return None
    return _container(tank, standing, str(used.iloc[-1]) if len(used) else able[0], 0.0, pump=True)


def _pumped(tank: Tank, standing: Standing, name: str, rate: float, end: float) -> ContainerNow:
    rows = tank.additions
    running = (rows["supplement"] == name) & (rows["how"] == "per day")
    running &= rows["start"] <= moment(end)
    times = str(rows.loc[running, "times"].iloc[-1]) if running.any() else ""
    count = len([part for part in times.split(";") if part.strip()])
    return _container(tank, standing, name, rate, pump=True, doses_a_day=count)


def _by_hand(tank: Tank, standing: Standing, name: str, rise: float) -> ContainerNow:
    return _container(tank, standing, name, rise, pump=False)


def _container(
    tank: Tank, standing: Standing, name: str, rise: float, *, pump: bool, doses_a_day: int = 0
) -> ContainerNow:
    supplement = tank.supplements[name]
    even = pump and rise > 0 and doses_a_day == 0
    doses_a_day = max(doses_a_day, 1)
    until = standing.use.until if standing.use is not None else tank.waters[-1].start
    water = tank.water_at(until)
    delivered, delivered_u = supplement.delivered_over_set if pump else (1.0, 0.0)
    per_amount = level_rise(
        supplement, delivered, supplement.unit, standing.element, water.net_L, standing.unit
    )
    parts = (supplement.strength_u, delivered_u / delivered, water.net_u_L / water.net_L)
    return ContainerNow(
        name,
        supplement.unit,
        rise / per_amount,
        per_amount,
        float(np.sqrt(sum(part**2 for part in parts))),
        supplement.limits.get(f"step_{supplement.unit}", 0.0) * doses_a_day,
        doses_a_day,
        even,
    )
