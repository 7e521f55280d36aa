"""What standards say about a kit, in one sentence first."""

from __future__ import annotations

from reef_calc.bench.bias_forms import BiasForm, KitBias
from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import LotCheck
from reef_calc.log.kit_checks import KitChecks
from reef_calc.show.wording import decimals_for, fixed, upper_bound


def lot_name(lot: str) -> str:
    """Return a lot as it is said.

    Parameters
    ----------
    lot : str
        Name of the lot; empty where none was written.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> lot_name("A-1"), lot_name("")
    ('lot A-1', 'no lot written')
    """
    return f"lot {lot}" if lot else "no lot written"


def kit_name(name: str) -> str:
    """Return a kit's name as it begins a line.

    Parameters
    ----------
    name : str
        Name as in the tank folder.

    Returns
    -------
    str
        With a capital, except where a capital follows at once, as in pH.

    Examples
    --------
    >>> kit_name("kit A"), kit_name("pH meter")
    ('Kit A', 'pH meter')
    """
    return name if name[1:2].isupper() else name[:1].upper() + name[1:]


def short_verdict(check: LotCheck, kit: Kit) -> str:
    """Return what standards say about one lot, as the rest of a sentence.

    Parameters
    ----------
    check : LotCheck
        The lot.
    kit : Kit
        The kit.

    Returns
    -------
    str
        Such as "reads 0.28 ± 0.14 dKH low".

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.bench.lot_check import check_lot
    >>> kit = Kit("drops", "alkalinity", "meter", "dKH", 0.0, 0.1, 0.0, "typed")
    >>> def of(read):
    ...     rows = pd.DataFrame({"row": 2, "standard": "eight", "read": read, "level": 8.0,
    ...                          "level_u": 0.05})
    ...     return short_verdict(check_lot(kit, "A1", rows), kit)
    >>> of([8.4, 8.5]), of([8.0, 8.1])
    ('reads 0.45 ± 0.17 dKH high', 'no bias shown: less than 0.23 dKH')
    """
    bias, unit = check.bias, kit.unit
    if bias is None:
        return "cannot tell"
    half = bias.forms[0].t * bias.u
    size = abs(bias.difference)
    if not bias.enough_to_correct:
        if any(one.code == "NOT_STRAIGHT" for one in bias.messages):
            return "the readings do not lie on one line"
        return f"no bias shown: less than {upper_bound(size + half)} {unit}"
    form = bias.forms[-1]
    if form.form != "line":
        return f"reads {_off(bias.difference, half, unit)}"
    ends = []
    for chart in (check.charts[0], check.charts[-1]):
        read = (chart.level - form.intercept) / form.slope
        told = _off(read - chart.level, form.t * form.u(read) / form.slope, unit)
        ends.append(f"{told} at {level_words(kit, chart.level)} {unit}")
    return f"reads {' and '.join(ends)}"


def _off(difference: float, half: float, unit: str) -> str:
    size, decimals = abs(difference), decimals_for(half)
    if size <= half:
        return f"right (± {fixed(half, decimals)} {unit})"
    while float(fixed(size, decimals)) <= float(fixed(half, decimals)) and decimals < 6:
        decimals += 1  # the verdict must be seen in the numbers
    side = "high" if difference > 0 else "low"
    return f"{fixed(size, decimals)} ± {fixed(half, decimals)} {unit} {side}"


def verdict(checks: KitChecks, lot: str | None) -> str:
    """Return what standards say about a kit, in one sentence.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    lot : str or None
        One lot, or None for all.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> verdict(kit_checks(example_tank(), "drops", dt.date(2026, 3, 1)), None)
    'Drops: no reading of a standard can be used yet'
    """
    name = kit_name(checks.kit.name)
    told = [one for one in checks.lots if len(one.rows) and lot in (None, one.lot)]
    if not told:
        which = "" if lot is None else f", {lot_name(lot)}"
        return f"{name}{which}: no reading of a standard can be used yet"
    if len(told) == 1:
        only = told[0]
        which = f", {lot_name(only.lot)}," if only.lot else ""
        said = short_verdict(only, checks.kit)
        link = " " if said.startswith("reads") else ": "
        return f"{name}{which.rstrip(',') if link == ': ' else which}{link}{said}{_at(only, checks.kit)}"
    return f"{name}: " + "; ".join(
        f"{lot_name(one.lot)} {short_verdict(one, checks.kit)}".replace(" no bias", ": no bias")
        for one in told
    )


def _at(check: LotCheck, kit: Kit) -> str:
    if check.bias is None:
        return ""
    still = not any(one.code == "NOT_STILL" for one in check.cautions)
    moving = "" if still else ", and does not hold still"
    low, high = (level_words(kit, check.charts[end].level) for end in (0, -1))
    if len(check.charts) == 1:
        return f" at {low} {kit.unit}{moving}"
    if check.bias.enough_to_correct:
        return moving
    return f" in the middle of {low} to {high} {kit.unit}{moving}"


def decimals_of(kit: Kit, level: float) -> int:
    """Return the decimals that a kit's step, or else its scatter, justifies.

    Parameters
    ----------
    kit : Kit
        The kit.
    level : float
        A level in the kit's unit.

    Returns
    -------
    int
        Count of decimals, 0 or more.

    Examples
    --------
    >>> kits = [Kit("drops", "alkalinity", "meter", "dKH", step) for step in (0.5, 0.1, 0.25, 0.0)]
    >>> [decimals_of(kit, 8.0) for kit in kits]
    [1, 1, 2, 1]
    """
    if kit.resolution > 0:
        step = kit.resolution
        return next((d for d in range(4) if abs(round(step, d) - step) < 1e-9 * step), 3)
    sd = kit.sd(level)
    return max(decimals_for(2 * sd), 0) if sd > 0 else 2


def level_words(kit: Kit, level: float) -> str:
    """Return a level with the decimals of its kit.

    Parameters
    ----------
    kit : Kit
        The kit.
    level : float
        Level in the kit's unit.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> level_words(Kit("drops", "alkalinity", "meter", "dKH", 0.1), 7.96)
    '8.0'
    """
    return fixed(level, decimals_of(kit, level))


def stated_words(kit: Kit, level: float, u: float) -> str:
    """Return the level of a standard with its interval.

    Parameters
    ----------
    kit : Kit
        The kit.
    level, u : float
        Level and its standard uncertainty in the kit's unit; NaN where it is not written.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> kit = Kit("drops", "alkalinity", "meter", "dKH", 0.1)
    >>> stated_words(kit, 8.0, 0.05), stated_words(kit, 8.0, float("nan"))
    ('8.00 ± 0.10', '8.0')
    """
    if not u > 0:
        return level_words(kit, level)
    decimals = decimals_for(1.96 * u)
    return f"{fixed(level, decimals)} ± {fixed(1.96 * u, decimals)}"


def how_to_put_right(bias: KitBias, unit: str) -> str:
    """Return the ways to put readings right, in one or two sentences.

    Parameters
    ----------
    bias : KitBias
        The bias.
    unit : str
        The kit's unit.

    Returns
    -------
    str
        Plain text; empty where nothing is to be put right.

    Examples
    --------
    >>> from reef_calc.bench.kit_bias import bias_of_kit
    >>> from reef_calc.bench.standard_readings import Bottle
    >>> how_to_put_right(bias_of_kit([8.4, 8.5], ["A", "A"], {"A": Bottle(8.0, 0.05)}, sd=0.1,
    ...                              unit="dKH"), "dKH")
    'As a factor: × 0.95 ± 0.02. As an offset: −0.45 ± 0.17 dKH. One level cannot tell which.'
    """
    if not bias.enough_to_correct:
        return ""
    said = " ".join(f"As {_article(one.form)}: {form_words(one, unit)}." for one in bias.forms)
    if len(bias.forms) == 2:
        return said + " One level cannot tell which."
    return said


def _article(form: str) -> str:
    return f"an {form}" if form == "offset" else f"a {form}"


def form_words(form: BiasForm, unit: str) -> str:
    """Return a correction with its intervals.

    Parameters
    ----------
    form : BiasForm
        Factor, offset or line.
    unit : str
        The kit's unit.

    Returns
    -------
    str
        Such as "× 0.954 ± 0.015".

    Examples
    --------
    >>> import numpy as np
    >>> form_words(BiasForm("factor", 0.0, 0.95, np.diag([0.0, 0.0001]), 1.96), "dKH")
    '× 0.950 ± 0.020'
    """
    half_a = form.t * float(form.covariance[0, 0]) ** 0.5
    half_b = form.t * float(form.covariance[1, 1]) ** 0.5
    offset = _pm(form.intercept, half_a)
    signed = offset if form.intercept < 0 else f"+{offset}"
    if form.form == "offset":
        return f"{signed} {unit}"
    if form.form == "factor":
        return f"× {_pm(form.slope, half_b)}"
    return f"× {_pm(form.slope, half_b)}, then {signed} {unit}"


def _pm(value: float, half: float) -> str:
    if half <= 0:
        return fixed(value, 3)
    decimals = decimals_for(half)
    return f"{fixed(value, decimals)} ± {fixed(half, decimals)}"
