"""A calcium reactor, or any continuous inflow, as a supplement of which a mL adds inflow − tank."""

from __future__ import annotations

import math
from collections.abc import Mapping

from reef_calc.chem.continuous_inflow import MINUTES_A_DAY
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.supplements import LABEL_STRENGTH_U, Delivered, Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

# How the hazards of a reactor begin.
GAS_BOTTLE = "A gas bottle"


def inflow_supplement(
    name: str,
    inflow: Mapping[str, tuple[float, str]],
    tank: Mapping[str, tuple[float, str]],
    *,
    most_mL_per_min: float | None = None,
    strength_u: float = LABEL_STRENGTH_U,
    delivered_over_set: Delivered | None = None,
) -> Supplement:
    """Return a continuous inflow as a supplement of which a mL adds inflow − tank.

    adds = (Cin − C)/1000 per mL, at the tank's levels given here.

    Parameters
    ----------
    name : str
        Name.
    inflow : mapping of str to (float, str)
        Level and unit of what flows in, by element, as tested at the outlet.
    tank : mapping of str to (float, str)
        Level and unit of the tank, by element: the aims, then the levels a plan found.
    most_mL_per_min : float, optional
        Largest flow (mL a minute).
    strength_u : float, optional
        Relative standard uncertainty of inflow − tank (no unit).
    delivered_over_set : Delivered, optional
        Measured flow over set flow (no unit).

    Returns
    -------
    Supplement
        Per mL; negative for an element of which the inflow holds less than the tank.

    Raises
    ------
    InputError
        If a level is not a number, or an element of the inflow has no level of the tank.

    Notes
    -----
    It is right at one level of the tank only: work it out again with the level a plan ends at, until
    the two agree. Two or three times do. Water of the tank itself flows through a reactor, so that
    salinity does not change.

    Examples
    --------
    >>> reactor = inflow_supplement("reactor", {"alkalinity": (28.0, "dKH")},
    ...     {"alkalinity": (8.0, "dKH")}, most_mL_per_min=30.0)
    >>> round(reactor.adds["alkalinity"], 6), reactor.limits  # 20 dKH in meq per mL
    (0.007133, {'mL_per_day': 43200.0})

    References
    ----------
    Mass balance of a mixed tank.
    """
    adds = {}
    for typed, (level, unit) in inflow.items():
        described = find_element(typed, name)
        if described.behaviour == "state":
            raise InputError("an element that is used up", typed, "Leave this one out.", name)
        if described.name not in tank:
            raise InputError(
                f"the tank's level of {described.name}", "nothing",
                "The inflow adds only what it holds more than the tank. Test the tank too.", name,
            )  # fmt: skip
        own, own_unit = tank[described.name]
        if not (math.isfinite(level) and math.isfinite(own)):
            raise InputError("levels that are numbers", f"{level}, {own}", "Test both.", name)
        more = convert(level, unit, described.store_unit, described.name, where=name) - convert(
            own, own_unit, described.store_unit, described.name, where=name
        )
        if more != 0.0:
            adds[described.name] = more / 1000.0
    limits = {}
    if most_mL_per_min is not None:
        if not 0.0 < most_mL_per_min < math.inf:
            raise InputError("a flow above 0 mL a minute", most_mL_per_min, "Measure it.", name)
        limits["mL_per_day"] = most_mL_per_min * MINUTES_A_DAY
    assumed = [
        "What a mL adds holds at the tank's levels given: it is worked out again as they move."
    ]
    if delivered_over_set is None:
        assumed.append(
            "The flow is taken as set, ± 4 %: run the outlet into a cylinder for a minute."
        )
    return Supplement(
        name, adds, "mL", delivered_over_set or Delivered(1.0, 0.04), strength_u, limits=limits,
        hazards=(
            f"{GAS_BOTTLE}: fixed upright, with a regulator, in a ventilated room. Its gas suffocates "
            "without a warning. The supplier's instructions and a qualified person come first.",
        ),
        assumed=tuple(assumed),
    )  # fmt: skip
