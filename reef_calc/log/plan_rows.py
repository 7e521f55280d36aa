"""The rows of ``additions.csv`` that say what a plan sets."""

from __future__ import annotations

from reef_calc.errors import InputError
from reef_calc.log.plans import StoredPlan


def additions_for(plan: StoredPlan, phase: int | None = None) -> list[dict[str, str]]:
    """Return the rows of ``additions.csv`` that say what the plan sets, to append once it was set.

    Parameters
    ----------
    plan : StoredPlan
        The plan.
    phase : int, optional
        Only the rows of this phase, from 0: what was set on its first day; all when not given.

    Returns
    -------
    list of dict of str to str
        For ``append_rows``: doses per day with their times, one row a change of setting. A container
        that was in use and gets nothing more has a row of 0, which stops its earlier one.

    Raises
    ------
    InputError
        If there is no such phase.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.plans import ContainerPhase
    >>> day, made = dt.date(2026, 3, 1), dt.datetime(2026, 2, 28, 18, tzinfo=dt.UTC)
    >>> one = ContainerPhase("soda", "mL", day, day, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> rows = additions_for(StoredPlan("Reef", made, day, 1, 300.0, (one,), ()))
    >>> rows[0]["start"], rows[0]["amount"], rows[0]["times"]
    ('2026-03-01T00:00', '60', '08:00;20:00')
    """
    turns = plan.turns()
    if phase is not None and not 0 <= phase < len(turns):
        raise InputError(
            f"a phase from 0 to {len(turns) - 1}", phase, "Choose one of these.", "additions_for"
        )
    rows = []
    for name in dict.fromkeys(one.container for one in plan.phases):
        running: tuple[float, tuple[str, ...]] = (float(plan.set_before.get(name, 0.0)), ("?",))
        for one in [one for one in plan.phases if one.container == name]:
            here = (one.per_day, one.times)
            changed = here != running if one.per_day > 0.0 else running[0] > 0.0
            running = here
            if not changed or (phase is not None and one.date_from != turns[phase]):
                continue
            rows.append(
                {
                    "start": f"{one.date_from.isoformat()}T00:00",
                    "end": "",
                    "supplement": name,
                    "amount": amount_text(one.per_day),
                    "unit": one.unit,
                    "how": "per day",
                    "times": ";".join(one.times),
                    "note": f"by the plan of {plan.start.isoformat()}",
                }
            )
    return sorted(rows, key=lambda row: row["start"])


def amount_text(amount: float) -> str:
    """Return an amount as plain digits: no exponent, and no more decimals than it has.

    Parameters
    ----------
    amount : float
        Amount in mL or g.

    Returns
    -------
    str
        Text such as "27.5"; four decimals at most.

    Examples
    --------
    >>> amount_text(27.500000000000004), amount_text(0.0), amount_text(1234567.0)
    ('27.5', '0', '1234567')
    """
    return f"{amount:.4f}".rstrip("0").rstrip(".")
