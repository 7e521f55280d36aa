"""What a standard showed of a kit: how its levels are put right."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from reef_calc.bench.kit_parts import number_pair
from reef_calc.bench.toml_reader import Keys


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
    """

    start: dt.date
    lot: str
    intercept: float
    slope: float
    u: float | None
    standard: str
    form: str

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
        return self.u * abs(level) if self.form == "factor" else self.u


def correction_from(keys: Keys) -> Correction:
    """Return one correction of a kit.

    Parameters
    ----------
    keys : Keys
        A table with ``from`` and one of ``factor``, ``offset`` and ``line``.

    Returns
    -------
    Correction
        Offsets in the kit's unit.

    Raises
    ------
    InputError
        If the day is missing, or there is not exactly one of the three.

    Examples
    --------
    >>> found = correction_from(Keys({"from": dt.date(2026, 2, 10), "factor": 0.95, "u": 0.01}, "kit"))
    >>> found.apply(8.0), found.uncertainty(8.0)
    (7.6, 0.08)
    """
    keys.needed("from")
    start = keys.day("from")
    factor, offset = keys.number("factor", above=0.0), keys.number("offset")
    line = keys.value("line")
    lot, standard = keys.text("lot"), keys.text("standard")
    u = keys.number("u", above=0.0)
    keys.finish()
    forms = [key for key in ("factor", "offset", "line") if key in keys]
    if len(forms) != 1 or start is None:
        raise keys.refuse("from", "one of factor, offset or line", "Write exactly one of them.")
    intercept, slope = offset or 0.0, factor or 1.0
    if line is not None:
        pair = number_pair(line)
        if pair is None or pair[1] <= 0.0:
            raise keys.refuse(
                "line", "[intercept, slope] with a slope above 0", "Write [0.1, 0.98]."
            )
        intercept, slope = pair
    return Correction(start, lot, intercept, slope, u, standard, forms[0])
