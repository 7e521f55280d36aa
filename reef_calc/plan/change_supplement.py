"""From one supplement to another: the equivalent dose, what else changes, a cross-fade by the day."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import pandas as pd

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.chem.supplements import Supplement, level_rise
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.change_also import usual_scatter
from reef_calc.plan.change_words import change_messages
from reef_calc.plan.cross_fade import cross_fade

MONTH = 30.0
DELAYED = "alkalinity"


@dataclass(frozen=True)
class SupplementChange:
    """What a change from one supplement to another means.

    Attributes
    ----------
    old, new : Supplement
        The two.
    element, unit : str
        What is kept, and the unit of its level.
    net_L : float
        Net volume (L).
    amount_now, amount_then : float
        Amount a day as set, old and new, that bring the same (``old.unit``, ``new.unit``).
    setting_then : float
        ``amount_then`` in steps of the pump.
    u_equivalent : float
        Relative standard uncertainty of ``amount_then`` (no unit): both strengths and pumps.
    supply : float
        What either brings (``unit`` a day).
    effects : pandas.DataFrame
        One row an element: ``element``, ``unit``, ``before``, ``after``, ``change`` (a day, in the
        tank) and ``in_30_days``; companions in a fixed ratio are in it as far as they are given.
    days : pandas.DataFrame
        The cross-fade as ``reef_calc.plan.cross_fade.cross_fade`` returns it.
    salt_before, salt_after : float or None
        Dissolved salt that is added (g/kg a day); None where a strength is known by label only.
    chloride_to_sulfate : tuple of float or None
        By mass in sea water, and after 30 days of the old and of the new one without water changes.
    old_needed : float
        Amount of the old one that the cross-fade takes (``old.unit``).
    old_runs_out : int or None
        Day of the cross-fade on which what is left of the old one is empty; None if it lasts, or
        where nothing is known of it.
    new_lasts_days : float or None
        How long a full container of the new one lasts (days).
    first_sign_days : float
        After how long the new one, a quarter weaker than stated, shows in two readings (days).
    counted : frozenset of str
        Companions in a fixed ratio whose ions are in the effects.
    messages : tuple of Message
        What to know, in order of weight.
    """

    old: Supplement
    new: Supplement
    element: str
    unit: str
    net_L: float
    amount_now: float
    amount_then: float
    setting_then: float
    u_equivalent: float
    supply: float
    effects: pd.DataFrame
    days: pd.DataFrame
    salt_before: float | None
    salt_after: float | None
    chloride_to_sulfate: tuple[float, float, float] | None
    old_needed: float
    old_runs_out: int | None
    new_lasts_days: float | None
    first_sign_days: float
    counted: frozenset[str] = frozenset()
    messages: tuple[Message, ...] = ()

    @property
    def missing(self) -> dict[str, float]:
        """What the old one brought and the new one does not, a day, by element in its row's unit."""
        less = self.effects[self.effects["change"] < -1e-9]
        return {row.element: -row.change for row in less.itertuples()}


def change_supplement(
    old: Supplement,
    new: Supplement,
    element: str,
    amount_per_day: float,
    net_L: float,
    *,
    unit: str | None = None,
    days: int = 7,
    old_step: float = 0.0,
    new_step: float = 0.0,
    change_every: int = 1,
    old_left: float | None = None,
    companions: Mapping[str, Supplement] | None = None,
    reading_sd: float | None = None,
) -> SupplementChange:
    """Return how one supplement takes the place of another without a change of supply.

    new = old·(adds·delivered of the old)/(adds·delivered of the new)

    Parameters
    ----------
    old, new : Supplement
        The two.
    element : str
        Element whose supply is kept.
    amount_per_day : float
        What is set today of the old one a day (mL or g), above 0.
    net_L : float
        Net volume (L).
    unit : str, optional
        Unit of the element's level; the trade's usual one when not given.
    days : int, optional
        Days of the cross-fade.
    old_step, new_step : float, optional
        Smallest step of the amount a day that can be set (mL or g); 0 for any amount.
    change_every : int, optional
        Days between two changes of the setting.
    old_left : float, optional
        What is left of the old one (mL or g).
    companions : mapping of str to Supplement, optional
        Those that ``linked`` of the two names; without one, its ions are not in the effects.
    reading_sd : float, optional
        Repeatability of the kit (standard deviation, in ``unit``); the usual one when not given.

    Returns
    -------
    SupplementChange
        Amounts, effects, cross-fade, what to test; amounts as set.

    Raises
    ------
    InputError
        If either does not add the element, or a number cannot be used.

    Notes
    -----
    Equal by what is stated of strength and pump. Only readings tell what really arrives.

    Examples
    --------
    >>> old = Supplement("soda", {"alkalinity": 1.0, "sodium": 22.99})
    >>> new = Supplement("formate", {"alkalinity": 2.0, "calcium": 40.08}, lag_days=1.0)
    >>> change = change_supplement(old, new, "alkalinity", 40.0, 100.0, days=4)
    >>> change.amount_then, round(change.supply, 2), len(change.days)
    (20.0, 1.12, 6)
    >>> change.effects[["element", "change"]].round(2).values.tolist()
    [['alkalinity', 0.0], ['calcium', 8.02], ['sodium', -9.2]]
    """
    described = find_element(element)
    unit = unit or described.display_unit
    known = dict(companions or {})
    if not 0.0 < amount_per_day < math.inf:
        raise InputError(
            f"today's amount of {old.name} above 0", amount_per_day, "Type what is dosed a day.",
            "Change of supplement",
        )  # fmt: skip
    old_all, new_all = _with_companions(old, known), _with_companions(new, known)
    for one in (old_all, new_all):
        if one.adds.get(described.name, 0.0) <= 0.0:
            raise InputError(
                f"a supplement that adds {described.name}", one.name,
                "Choose another, or another element to keep.", "Change of supplement",
            )  # fmt: skip
    supply = level_rise(old_all, amount_per_day, old.unit, described.name, net_L, unit)
    then = amount_per_day * old_all.adds[described.name] / new_all.adds[described.name]
    late = described.name == DELAYED
    table = cross_fade(
        amount_per_day,
        then,
        supply,
        days,
        old_step=old_step,
        new_step=new_step,
        change_every=change_every,
        old_lag_days=old.lag_days if late else 0.0,
        new_lag_days=new.lag_days if late else 0.0,
    )
    setting = float(table["new"].iloc[-1])
    spent = table["old"].cumsum()
    out = None if old_left is None else table["day"][spent > old_left + 1e-9]
    sd = reading_sd if reading_sd is not None else usual_scatter(described.name, unit)
    found = SupplementChange(
        old,
        new,
        described.name,
        unit,
        net_L,
        amount_per_day,
        then,
        setting,
        _relative_u(old, new),
        supply,
        _effects(old_all, amount_per_day, new_all, then, net_L, described.name, unit),
        table,
        _salt(old, old_all, amount_per_day, net_L),
        _salt(new, new_all, then, net_L),
        _chloride_to_sulfate(old_all, amount_per_day, new_all, then, net_L),
        float(spent.iloc[-1]),
        int(out.iloc[0]) if out is not None and len(out) else None,
        _lasts(new, setting),
        2.0 * math.sqrt(2.0) * sd / (0.25 * supply),
        frozenset(known).intersection({*old.linked, *new.linked}),
    )
    return replace(found, messages=change_messages(found, (old_step, new_step), old_left))


def _with_companions(one: Supplement, known: Mapping[str, Supplement]) -> Supplement:
    """Return what one amount as set brings together with its companions in their fixed ratio."""
    adds = {name: amount * one.delivered_over_set.value for name, amount in one.adds.items()}
    salt = one.dissolved_salt_mg
    salt = None if salt is None else salt * one.delivered_over_set.value
    for name, ratio in one.linked.items():
        other = known.get(name)
        if other is None:
            salt = None
            continue
        factor = ratio * other.delivered_over_set.value
        for element, amount in other.adds.items():
            adds[element] = adds.get(element, 0.0) + factor * amount
        more = other.dissolved_salt_mg
        salt = None if salt is None or more is None else salt + factor * more
    return replace(one, adds=adds, dissolved_salt_mg=salt)


def _relative_u(*both: Supplement) -> float:
    return math.sqrt(
        sum(
            one.strength_u**2 + (one.delivered_over_set.u / one.delivered_over_set.value) ** 2
            for one in both
        )
    )


def _effects(
    old: Supplement, amount_old: float, new: Supplement, amount_new: float, net_L: float,
    element: str, unit: str,
) -> pd.DataFrame:  # fmt: skip
    rows = []
    for name, facts in ELEMENTS.items():
        if name not in old.adds and name not in new.adds:
            continue
        word = unit if name == element else facts.display_unit
        before, after = (
            convert(amount * one.adds.get(name, 0.0) / net_L, facts.store_unit, word, name)
            for one, amount in ((old, amount_old), (new, amount_new))
        )
        change = 0.0 if name == element else after - before
        rows.append((name, word, before, after, change, MONTH * change))
    return pd.DataFrame(
        rows, columns=["element", "unit", "before", "after", "change", "in_30_days"]
    )


def _salt(
    one: Supplement, with_companions: Supplement, amount: float, net_L: float
) -> float | None:
    mg = with_companions.dissolved_salt_mg
    if mg is None or one.dissolved_salt_mg is None:
        return None
    return amount * mg / net_L / (1000.0 * float(density_kg_per_L(35.0, 25.0)))


def _chloride_to_sulfate(
    old: Supplement, amount_old: float, new: Supplement, amount_new: float, net_L: float
) -> tuple[float, float, float] | None:
    if old.dissolved_salt_mg is None or new.dissolved_salt_mg is None:
        return None
    sea = reference_levels()
    chloride, sulfate = sea["chloride"].mg_per_L, sea["sulfate"].mg_per_L
    if chloride is None or sulfate is None:
        return None
    after = [
        (chloride + MONTH * amount * one.adds.get("chloride", 0.0) / net_L)
        / (sulfate + MONTH * amount * one.adds.get("sulfate", 0.0) / net_L)
        for one, amount in ((old, amount_old), (new, amount_new))
    ]
    return chloride / sulfate, after[0], after[1]


def _lasts(new: Supplement, amount: float) -> float | None:
    if new.container_L is None or amount <= 0.0 or new.unit != "mL":
        return None
    return 1000.0 * new.container_L / amount
