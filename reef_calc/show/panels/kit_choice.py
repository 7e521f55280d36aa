"""Which kits and lots of a tank can be compared."""

from __future__ import annotations

import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.compare.kit_names import split_name
from reef_calc.log.tank import Tank


def kits_of(tank: Tank, element: str) -> list[str]:
    """Return the kits, and the lots of kits, that read an element in the tank, the newest first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.

    Returns
    -------
    list of str
        Kits in the order of their last reading, then kits by lot as "kit A / lot A-2".

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> kits_of(example_tank(), "alkalinity")
    ['drops']
    """
    own = tank.readings[(tank.readings["element"] == element) & (tank.readings["kit"] != "")]
    last = own.groupby("kit")["time"].max().sort_values(ascending=False)
    found = [str(kit) for kit in last.index]
    lots = own[own["lot"] != ""].groupby(["kit", "lot"])["time"].max().sort_values(ascending=False)
    several = own[own["lot"] != ""].groupby("kit")["lot"].nunique()
    found += [f"{kit} / lot {lot}" for kit, lot in lots.index if several[kit] > 1]
    return found


def elements_with_kits(tank: Tank) -> list[str]:
    """Return the elements that were read with a kit, those with several kits or lots first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    list of str
        Elements.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> elements_with_kits(example_tank())[0]
    'alkalinity'
    """
    own = tank.readings[tank.readings["kit"] != ""]
    count = {name: len(kits_of(tank, name)) for name in ELEMENTS if (own["element"] == name).any()}
    return sorted(count, key=lambda name: (count[name] < 2, list(ELEMENTS).index(name)))


def first_two(tank: Tank, element: str | None, offered: list[str]) -> tuple[str | None, str | None]:
    """Return kits, else lots, to begin with; the one that came later is B, so that its step shows.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str or None
        Element.
    offered : list of str
        As ``kits_of`` gives them.

    Returns
    -------
    tuple of (str or None)
        Kit A and kit B; None where there is no such one.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> first_two(example_tank(), "alkalinity", ["drops"])
    ('drops', None)
    """
    readings = tank.readings[tank.readings["element"] == element]
    kits = set(readings["kit"])
    chosen = [name for name in offered if name in kits]
    if len(chosen) == 1 and len(offered) > 2:
        chosen = [name for name in offered if name not in kits]
    if len(chosen) < 2:
        return (chosen[0] if chosen else None), None

    def first_read(name: str) -> pd.Timestamp:
        kit, lot = split_name(name, frozenset(kits))
        own = readings[readings["kit"] == kit]
        return (own if lot is None else own[own["lot"] == lot])["time"].min()

    later, earlier = chosen[0], chosen[1]
    if first_read(later) < first_read(earlier):
        later, earlier = earlier, later
    return earlier, later
