"""If everything ran in at once: what one emptied container does, and how much to keep near a pump."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import pandas as pd

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.seawater import REFERENCE_SALINITY, density_kg_per_L
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import usual_limits
from reef_calc.plan.containers import Beside, Container, Emptied, Rise
from reef_calc.plan.emptied_words import emptied_words
from reef_calc.plan.problem import ElementToPlan

# Largest change of salinity in a day where no other is set (common practice, no source).
SALINITY_A_DAY = 1.0
# Hydroxide, or what may be: 0.5 dKH at once moves pH by 0.2 already (common practice, no source).
HYDROXIDE_AT_ONCE = (0.5, "dKH")
# Of what practice has no daily limit for, the share of sea water's level (own choice).
SHARE_OF_SEA_WATER = 0.1
# Salinity stands for them.
_AS_SALT = ("sodium", "chloride")


def emptied(
    container: Container,
    elements: Sequence[ElementToPlan],
    net_L: float,
    *,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
) -> Emptied:
    """Return what one container does when all of it runs in at once.

    C' = (C·V + adds·v)/(V + v); to keep within reach of a pump: v = limit·V/adds

    Parameters
    ----------
    container : Container
        What could run in.
    elements : sequence of ElementToPlan
        Levels now, largest changes a day and levels that must not be passed.
    net_L : float
        Net volume of water (L), above 0.
    salinity : float, optional
        Practical salinity of the tank (no unit).
    temperature_C : float, optional
        Temperature of the tank (°C).

    Returns
    -------
    Emptied
        Levels then, and how much to keep within reach of the pump.

    Raises
    ------
    InputError
        If the net volume, or a size that is given, is not above 0.

    Notes
    -----
    Well mixed, before anything falls out or gas is exchanged; where it enters it is far worse.
    Hydroxide, and alkalinity of which only a label is known, is held to 0.5 dKH at once. Elements
    that the plan does not follow, or without a limit, are held to the usual largest rise of a day.
    ``keep`` leaves the growth of the volume out, which is on the safe side for what is added.
    Without a limit for salinity 1 a day is taken (*common practice, no source*). What runs in is
    taken to weigh 1 kg a litre and its salt.

    Examples
    --------
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, rise_per_day=0.5)
    >>> limewater = Container("limewater", {"alkalinity": 0.04319}, 20000.0, kind="hydroxide",
    ...     dissolved_salt_mg=1.6, reservoir=True)
    >>> then = emptied(limewater, [kh], 300.0)
    >>> round(then.rises["alkalinity"].added, 1), round(then.rises["alkalinity"].after, 1)
    (8.1, 15.1)
    >>> round(then.salinity_after, 1), round(then.keep), then.keep_for
    (33.0, 1239, 'alkalinity')

    References
    ----------
    Mass balance.
    """
    _check(container, net_L)
    rises, salinity_after = {}, None
    per_unit = {
        one.name: _rise_of_one(container, one, net_L) for one in elements if _is_amount(one.name)
    }
    salt = container.salt_mg
    kg = net_L * density_kg_per_L(salinity, temperature_C)
    if container.full is not None:
        litres = container.full / 1000.0 if container.unit == "mL" else 0.0
        for one in elements:
            if one.name in per_unit:
                added = per_unit[one.name] * container.full
                after = (one.start + added) * net_L / (net_L + litres)
                limit = one.rise_per_day if added >= 0.0 else one.fall_per_day
                rises[one.name] = Rise(one.unit, one.start, after, added, limit)
        if salt is not None:
            absolute = salinity * REFERENCE_SALINITY / 35.0
            grams, more_kg = _mass_of_one(container.unit, salt)
            then = absolute * kg + grams * container.full
            salinity_after = then / (kg + more_kg * container.full) * 35.0 / REFERENCE_SALINITY
    limits = {
        one.name: _at_once(container, one) if a > 0.0 else one.fall_per_day
        for one in elements
        if (a := per_unit.get(one.name, 0.0)) != 0.0
    }
    beside, each = _beside(container, per_unit, net_L)
    per_unit |= each
    limits |= {name: one.limit for name, one in beside.items()}
    room = {name: limit / abs(per_unit[name]) for name, limit in limits.items()}
    if salt is not None:
        limits["salinity"], room["salinity"] = _room_for_salinity(
            container.unit, salt, elements, kg, salinity
        )
    never = {
        one.name: max(0.0, one.ceiling - one.start) / a
        for one in elements
        if one.ceiling is not None and (a := per_unit.get(one.name, 0.0)) > 0.0
    }
    never_for = min(never, key=lambda name: never[name], default="")
    most = never.get(never_for, math.inf)
    keep_for = min(room, key=lambda name: room[name], default="")
    keep, keep_limit = room.get(keep_for, math.inf), limits.get(keep_for, math.inf)
    if most < keep:
        keep, keep_for, keep_limit = most, never_for, most * per_unit[never_for]
    found = Emptied(
        container,
        rises,
        salinity,
        salinity_after,
        keep,
        keep_for,
        keep_limit,
        most,
        never_for,
        beside,
    )
    return replace(found, messages=emptied_words(found, elements, net_L))


def emptied_frame(found: Iterable[Emptied]) -> pd.DataFrame:
    """Return what every container would do, one row a container and element.

    Parameters
    ----------
    found : iterable of Emptied
        Containers run into the tank, each by itself.

    Returns
    -------
    pandas.DataFrame
        ``container``, ``holds`` and ``keep`` (in ``counted_in``), ``element``, ``unit``, ``before``,
        ``after``, ``added``; only elements it adds or thins. A container of unknown size has one row.

    Examples
    --------
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, rise_per_day=0.5)
    >>> stock = Container("stock", {"alkalinity": 1.0}, 2000.0)
    >>> emptied_frame([emptied(stock, [kh], 300.0)])[["container", "added"]].round(2).values.tolist()
    [['stock', 18.69]]
    """
    rows = []
    for one in found:
        shared = {
            "container": one.container.name,
            "holds": one.container.full,
            "keep": one.keep,
            "counted_in": one.container.unit,
        }
        if not one.rises:
            rows.append(shared)
        for name, rise in one.rises.items():
            rows.append(
                shared
                | {
                    "element": name,
                    "unit": rise.unit,
                    "before": rise.before,
                    "after": rise.after,
                    "added": rise.added,
                }
            )
    names = ["container", "holds", "keep", "counted_in", "element", "unit"]
    return pd.DataFrame(rows, columns=[*names, "before", "after", "added"])


def _check(container: Container, net_L: float) -> None:
    if not 0.0 < net_L < math.inf:
        raise InputError(
            "a net volume above 0 L", net_L, "Write the water's volume without rock and sand.", ""
        )
    if container.full is not None and not 0.0 < container.full < math.inf:
        raise InputError(
            "a size above 0",
            f"{container.full:g} {container.unit}",
            "Type how much it holds when full.",
            container.name,
        )
    if container.unit not in ("mL", "g"):
        raise InputError("mL or g", container.unit, "Count it in one of these.", container.name)


def _is_amount(name: str) -> bool:
    return name in ELEMENTS and ELEMENTS[name].behaviour != "state"


def _rise_of_one(container: Container, one: ElementToPlan, net_L: float) -> float:
    """Return the rise by one mL or gram, in the element's unit, while the volume stays as it is."""
    rise = container.adds.get(one.name, 0.0) / net_L
    return convert(rise, ELEMENTS[one.name].store_unit, one.unit, one.name) if rise else 0.0


def _at_once(container: Container, one: ElementToPlan) -> float:
    """Return the largest rise that may happen at once, in the element's unit."""
    most = one.rise_per_day
    if math.isinf(most):
        most = _usual_rise(one.name, one.unit)
    if one.name == "alkalinity" and container.kind in ("hydroxide", "mixed", "not known"):
        most = min(most, float(convert(*HYDROXIDE_AT_ONCE, one.unit, one.name)))
    return most


def _usual_rise(name: str, unit: str) -> float:
    """Return the usual largest rise of a day, or a share of sea water's level, or infinity."""
    usual = usual_limits(name, unit).get("rise_per_day")
    level = reference_levels().get(name)
    if usual is not None or level is None or level.mg_per_L is None:
        return math.inf if usual is None else usual
    return SHARE_OF_SEA_WATER * float(
        convert(level.mg_per_L, ELEMENTS[name].store_unit, unit, name)
    )


def _beside(
    container: Container, followed: Mapping[str, float], net_L: float
) -> tuple[dict[str, Beside], dict[str, float]]:
    """Return what the plan does not follow, and its rise by one mL or gram."""
    found, each = {}, {}
    for name, adds in container.adds.items():
        if name in followed or name in _AS_SALT or not _is_amount(name) or adds <= 0.0:
            continue
        unit = ELEMENTS[name].display_unit
        limit = _usual_rise(name, unit)
        if math.isfinite(limit):
            each[name] = float(convert(adds / net_L, ELEMENTS[name].store_unit, unit, name))
            added = None if container.full is None else each[name] * container.full
            found[name] = Beside(unit, added, limit)
    return found, each


def _mass_of_one(unit: str, salt_mg: float) -> tuple[float, float]:
    """Return the salt (g) and the whole mass (kg) of one mL or gram."""
    water_kg = 0.001 if unit == "mL" else 0.0
    return salt_mg / 1000.0, water_kg + salt_mg / 1e6


def _room_for_salinity(
    unit: str, salt_mg: float, elements: Sequence[ElementToPlan], kg: float, salinity: float
) -> tuple[float, float]:
    """Return what a day allows salinity to move by, and the amount that moves it by that."""
    grams, more_kg = _mass_of_one(unit, salt_mg)
    absolute = salinity * REFERENCE_SALINITY / 35.0
    pull = grams - absolute * more_kg
    limit = SALINITY_A_DAY
    for one in elements:
        if one.name == "salinity":
            limit = min(limit, one.rise_per_day if pull > 0.0 else one.fall_per_day)
    grams_per_kg = limit * REFERENCE_SALINITY / 35.0
    left = abs(pull) - grams_per_kg * more_kg
    return limit, grams_per_kg * kg / left if left > 0.0 else math.inf
