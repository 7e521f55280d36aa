"""What a standard showed of a kit: how its levels are put right."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from reef_calc.bench.bias_forms import BiasForm
from reef_calc.bench.kit_parts import number_pair
from reef_calc.bench.toml_reader import Keys
from reef_calc.errors import InputError

_NORMAL = 1.959964  # half of a 95 % interval of the normal distribution, in standard uncertainties


@dataclass(frozen=True)
class Correction:
    """What a standard showed: how a level read with the kit is put right.

    Corrected = intercept + slope · read, in the kit's unit. A factor is a slope alone, an offset an
    intercept alone. The level as read is kept beside it, always.

    Attributes
    ----------
    start : datetime.date
        First day it holds, in the tank's zone.
    lot : str
        Lot it was found with; empty: every lot.
    intercept : float
        In the kit's unit.
    slope : float
        Without unit.
    u : float or None
        Standard uncertainty of the corrected level in the kit's unit (of the factor itself, without
        unit, where ``form`` is "factor"); None: not written.
    standard : str
        Name of the standard it was found with.
    form : {"factor", "offset", "line"}
        How it was written.
    u_slope : float
        Of a line: standard uncertainty of its slope (no unit); 0 where not written.
    centre : float
        Of a line: the level as read, in the kit's unit, where ``u`` holds.
    """

    start: dt.date
    lot: str
    intercept: float
    slope: float
    u: float | None
    standard: str
    form: str
    u_slope: float = 0.0
    centre: float = 0.0

    def apply(self, level: float) -> float:
        """Return the corrected level.

        Parameters
        ----------
        level : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Corrected level in the kit's unit.
        """
        return self.intercept + self.slope * level

    def uncertainty(self, level: float) -> float:
        """Return the standard uncertainty that the correction adds.

        Factor: u·|level|; offset: u; line: √(u² + (u_slope·(level − centre))²), which is the whole
        of its covariance, because intercept and slope are independent at the centre.

        Parameters
        ----------
        level : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Standard uncertainty in the kit's unit; NaN where none was written.
        """
        if self.u is None:
            return math.nan
        if self.form == "factor":
            return self.u * abs(level)
        return math.hypot(self.u, self.u_slope * (level - self.centre))


def correction_from(keys: Keys) -> Correction:
    """Return one correction of a kit.

    Parameters
    ----------
    keys : Keys
        A table with ``from`` (a date), one of ``factor``, ``offset`` (kit's unit) and ``line``
        (``[intercept, slope]``), and, where known, ``lot``, ``standard`` and ``u``. A line may have
        ``u_slope`` and ``centre`` as well: how uncertain its slope is, and at which level as read
        ``u`` holds; away from it the correction is less certain.

    Returns
    -------
    Correction
        Offsets in the kit's unit.

    Raises
    ------
    InputError
        If the day is missing, there is not exactly one of the three, or ``u_slope`` and ``centre``
        stand without each other, without ``u`` or without a line.

    Examples
    --------
    >>> found = correction_from(Keys({"from": dt.date(2026, 2, 10), "factor": 0.95, "u": 0.01}, "kit"))
    >>> found.apply(8.0), found.uncertainty(8.0)
    (7.6, 0.08)
    >>> line = correction_from(Keys({"from": dt.date(2026, 2, 10), "line": [0.3, 0.95], "u": 0.06,
    ...                              "u_slope": 0.02, "centre": 8.0}, "kit"))
    >>> line.uncertainty(8.0), line.uncertainty(12.0)
    (0.06, 0.1)
    """
    keys.needed("from")
    start = keys.day("from")
    factor, offset = keys.number("factor", above=0.0), keys.number("offset")
    line = keys.value("line")
    lot, standard = keys.text("lot"), keys.text("standard")
    u = keys.number("u", above=0.0)
    u_slope, centre = keys.number("u_slope", at_least=0.0), keys.number("centre")
    keys.finish()
    forms = [key for key in ("factor", "offset", "line") if key in keys]
    if len(forms) != 1 or start is None:
        raise keys.refuse("from", "one of factor, offset or line", "Write exactly one of them.")
    given = [value is not None for value in (u_slope, centre)]
    if any(given) and not (all(given) and u is not None and line is not None):
        raise keys.refuse(
            "u_slope",
            "u, u_slope and centre together, beside a line",
            "Write all three, or u alone.",
        )
    intercept, slope = offset or 0.0, factor or 1.0
    if line is not None:
        pair = number_pair(line)
        if pair is None or pair[1] <= 0.0:
            raise keys.refuse(
                "line", "[intercept, slope] with a slope above 0", "Write [0.1, 0.98]."
            )
        intercept, slope = pair
    return Correction(
        start, lot, intercept, slope, u, standard, forms[0], u_slope or 0.0, centre or 0.0
    )


def correction_of(form: BiasForm, start: dt.date, lot: str, standard: str) -> Correction:
    """Return the correction that a check with standards proposes.

    u(corrected) = √(u_c² + (u_b·(read − c))²); for a line c = −cov(a, b)/u_b², u_c² = u_a² − c²·u_b².
    Every u is widened by t/1.96, so that twice it is a 95 % interval for few readings too.

    Parameters
    ----------
    form : BiasForm
        Factor, offset or line, with its covariance.
    start : datetime.date
        First day it holds.
    lot : str
        Lot it holds for; empty: every lot.
    standard : str
        Name of the standard.

    Returns
    -------
    Correction
        Offsets in the kit's unit.

    Examples
    --------
    >>> import numpy as np
    >>> form = BiasForm("line", 0.3, 0.95, np.array([[0.0292, -0.0032], [-0.0032, 0.0004]]), 1.96)
    >>> found = correction_of(form, dt.date(2026, 2, 10), "A", "two levels")
    >>> round(found.u, 3), round(found.u_slope, 3), round(found.centre, 2)
    (0.06, 0.02, 8.0)

    References
    ----------
    Law of propagation: JCGM 100:2008, equation 16. Widening by t: *own choice, no source*.
    """
    widened = form.t / _NORMAL
    (a, cross), (_, b) = form.covariance
    if form.form == "factor":
        u, u_slope, centre = math.sqrt(b), 0.0, 0.0
    elif form.form == "offset" or b == 0.0:
        u, u_slope, centre = math.sqrt(a), 0.0, 0.0
    else:
        centre, u_slope = -cross / b, math.sqrt(b)
        u = math.sqrt(max(a - cross**2 / b, 0.0))
    return Correction(
        start, lot, form.intercept, form.slope, widened * u, standard, form.form,
        widened * u_slope, float(centre),
    )  # fmt: skip


def keys_of_correction(correction: Correction) -> dict[str, object]:
    """Return the keys that ``correction_from`` reads back, with six digits of each number.

    Parameters
    ----------
    correction : Correction
        The correction.

    Returns
    -------
    dict of str to object
        Ready for a ``[[kit.NAME.correction]]`` table; offsets in the kit's unit.

    Raises
    ------
    InputError
        If a number of it cannot be used.

    Examples
    --------
    >>> keys_of_correction(Correction(dt.date(2026, 2, 10), "A1", 0.0, 0.9512345678, 0.01, "eight",
    ...                               "factor"))
    {'from': datetime.date(2026, 2, 10), 'lot': 'A1', 'factor': 0.951235, 'u': 0.01, 'standard': 'eight'}
    """
    numbers = (correction.intercept, correction.slope, correction.u_slope, correction.centre)
    if not all(math.isfinite(one) for one in numbers) or correction.slope <= 0:
        raise InputError(
            "numbers, and a factor or slope above 0", numbers, "Check what was typed.", "correction"
        )
    keys: dict[str, object] = {"from": correction.start}
    if correction.lot:
        keys["lot"] = correction.lot
    if correction.form == "line":
        keys["line"] = [_six(correction.intercept), _six(correction.slope)]
    else:
        single = correction.slope if correction.form == "factor" else correction.intercept
        keys[correction.form] = _six(single)
    if correction.u is not None:
        keys["u"] = _six(correction.u)
    if correction.u_slope > 0:
        keys |= {"u_slope": _six(correction.u_slope), "centre": _six(correction.centre)}
    if correction.standard:
        keys["standard"] = correction.standard
    return keys


def _six(number: float) -> float:
    return float(f"{number:.6g}")
