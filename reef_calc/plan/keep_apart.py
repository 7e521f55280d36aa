"""Which containers must not be dosed at the same time: as written, and as their salts demand."""

from __future__ import annotations

from collections.abc import Iterable

from reef_calc.chem.supplements import Supplement

# What falls out where two strong solutions meet, by what each of them brings.
_METALS = ("calcium", "magnesium", "strontium")
_PARTNERS = ("alkalinity", "sulfate", "phosphate", "fluoride")


def must_be_apart(one: Supplement, other: Supplement) -> bool:
    """Return whether two supplements must be dosed at different times.

    Parameters
    ----------
    one, other : Supplement
        Two containers.

    Returns
    -------
    bool
        True where one of them says so, or where metals of the one fall out with carbonate,
        hydroxide, sulfate, phosphate or fluoride of the other.

    Notes
    -----
    *Common practice, no source*. A container that brings both, such as limewater, is kept apart from
    every one that brings either.

    Examples
    --------
    >>> soda = Supplement("soda", {"alkalinity": 1.0, "sodium": 23.0})
    >>> must_be_apart(soda, Supplement("calcium", {"calcium": 30.0, "chloride": 53.0}))
    True
    >>> must_be_apart(soda, Supplement("potassium", {"potassium": 30.0, "chloride": 27.0}))
    False
    """
    if one.name in other.keep_apart or other.name in one.keep_apart:
        return True
    return _falls_out(one, other) or _falls_out(other, one)


def _falls_out(one: Supplement, other: Supplement) -> bool:
    metals = any(one.adds.get(name, 0.0) > 0.0 for name in _METALS)
    return metals and any(other.adds.get(name, 0.0) > 0.0 for name in _PARTNERS)


def groups_apart(supplements: Iterable[Supplement]) -> dict[str, int]:
    """Return a group number for each supplement, so that two of one group may be dosed together.

    Parameters
    ----------
    supplements : iterable of Supplement
        Containers in their order.

    Returns
    -------
    dict of str to int
        Group by name, from 0; each container is put into the first group where it may go.

    Examples
    --------
    >>> soda, lime = Supplement("soda", {"alkalinity": 1.0}), Supplement("calcium", {"calcium": 9.0})
    >>> groups_apart([soda, lime, Supplement("bicarbonate", {"alkalinity": 0.5})])
    {'soda': 0, 'calcium': 1, 'bicarbonate': 0}
    """
    groups: list[list[Supplement]] = []
    found: dict[str, int] = {}
    for one in supplements:
        place = next(
            (
                number
                for number, members in enumerate(groups)
                if not any(must_be_apart(one, member) for member in members)
            ),
            len(groups),
        )
        if place == len(groups):
            groups.append([])
        groups[place].append(one)
        found[one.name] = place
    return found
