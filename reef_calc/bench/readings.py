"""What a person reads off a kit, and what becomes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar, Literal

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.bench.uncertainty import Quantity
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed, with_interval

Limit = Literal["", "<", ">", "between"]


@dataclass(frozen=True)
class RawReading:
    """One test as it was read, before anything is worked out.

    Attributes
    ----------
    reading : float or None
        Titrant used (mL), drops (a count), chart or meter reading (its own unit), colour step (its
        number), or the laboratory's level.
    filled_mL, left_mL : float or None
        Syringe before and after (mL), instead of or beside ``reading``.
    refills_mL : tuple of float
        What was drawn up again in between (mL each).
    second : float or None
        Titrant of the second titration (mL), or the neighbouring colour step.
    part : Quantity or None
        Of two titrations: the part already known, in mmol/L, instead of ``second``.
    limit : {"", "<", ">"}
        Whether the level itself lies below or above what was read.
    u : float or None
        Standard uncertainty that a laboratory states, in ``unit``.
    unit : str
        Unit of a meter's or laboratory's level where it is not the kit's own.
    dilution : float or None
        Final volume over sample, a factor; None: as the kit's description says.
    diluent_level : float
        Level of the water it was diluted with, in the kit's unit.
    salinity, temperature_C : float or None
        Of the sample (practical salinity without unit, °C), for units per kilogram.
    """

    reading: float | None = None
    filled_mL: float | None = None
    left_mL: float | None = None
    refills_mL: tuple[float, ...] = ()
    second: float | None = None
    part: Quantity | None = None
    limit: Limit = ""
    u: float | None = None
    unit: str = ""
    dilution: float | None = None
    diluent_level: float = 0.0
    salinity: float | None = None
    temperature_C: float | None = None


@dataclass(frozen=True)
class TestResult:
    """A level with its uncertainty and how it was worked out.

    Attributes
    ----------
    level : float
        Level in ``unit``, as read: no correction of the kit is in it unless it was handed in. With
        a limit, the bound; for "between", the lower end.
    u : float
        Standard uncertainty in ``unit``; NaN with "<" or ">".
    unit : str
        The kit's unit.
    limit : {"", "<", ">", "between"}
        What the level is a bound of.
    upper : float
        Upper end in ``unit`` for "between", otherwise NaN.
    budget : pandas.DataFrame
        One row a source, as in ``uncertainty.CombinedUncertainty``.
    steps_in_words : tuple of str
        The arithmetic, line by line, with what was not known.
    """

    __test__: ClassVar[bool] = False

    level: float
    u: float
    unit: str
    limit: Limit = ""
    upper: float = math.nan
    budget: pd.DataFrame = field(default_factory=pd.DataFrame, repr=False, compare=False)
    steps_in_words: tuple[str, ...] = ()

    @property
    def U(self) -> float:
        """Expanded uncertainty 2u, in the kit's unit."""
        return 2.0 * self.u

    @property
    def text(self) -> str:
        """The level as a person reads it, with ± 2u, rounded by it."""
        if self.limit == "between":
            decimals = decimals_for(self.upper - self.level) + 1
            low, high = fixed(self.level, decimals), fixed(self.upper, decimals)
            return f"{low} to {high} {self.unit}"
        if self.limit:
            return f"{self.limit} {self.level:.4g} {self.unit}"
        shown = with_interval(self.level, self.level - self.U, self.level + self.U)
        return f"{shown} {self.unit}"


def needed_reading(raw: RawReading, what: str) -> float:
    """Return the plain reading of a test.

    Parameters
    ----------
    raw : RawReading
        The test as read.
    what : str
        What is read off this kind of kit, for the message.

    Returns
    -------
    float
        The reading, in its own unit.

    Raises
    ------
    InputError
        If there is none, or it is not a finite number.

    Examples
    --------
    >>> needed_reading(RawReading(16), "the number of drops")
    16.0
    """
    if raw.reading is None or not math.isfinite(raw.reading):
        raise InputError(what, raw.reading or "nothing", "Write what was read.")
    return float(raw.reading)


def titrant_used(filled_mL: float, left_mL: float, refills_mL: Sequence[float] = ()) -> float:
    """Return the titrant that left the syringe.

    used = filled − left + refills.

    Parameters
    ----------
    filled_mL, left_mL : float
        Reading of the syringe before and after (mL).
    refills_mL : sequence of float, optional
        What was drawn up again in between (mL each).

    Returns
    -------
    float
        Volume in mL.

    Raises
    ------
    InputError
        If a reading is negative, or more is left than was in the syringe.

    Examples
    --------
    >>> round(titrant_used(1.0, 0.44), 2), round(titrant_used(1.0, 0.6, [0.8]), 2)
    (0.56, 1.2)
    """
    volumes = [filled_mL, left_mL, *refills_mL]
    if not all(math.isfinite(volume) and volume >= 0.0 for volume in volumes):
        raise InputError("readings of 0 mL or more", volumes, "Read the syringe again.")
    used = math.fsum([filled_mL, -left_mL, *refills_mL])
    if used < 0.0:
        raise InputError(
            f"at most {filled_mL + sum(refills_mL):g} mL left in the syringe",
            left_mL,
            "Filled and left may have been swapped, or a refill was not written.",
        )
    return used


def titrant_of(raw: RawReading, kit: Kit) -> tuple[float, int, str]:
    """Return the titrant used, how often the syringe was read, and the arithmetic in words.

    Parameters
    ----------
    raw : RawReading
        The test as read: the titrant used, or filled and left, or all three.
    kit : Kit
        The kit, for what its syringe holds.

    Returns
    -------
    tuple of (float, int, str)
        Volume (mL), number of readings of the scale, and a sentence.

    Raises
    ------
    InputError
        If used is not filled less left, or is more than was filled or than the syringe holds.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH")
    >>> titrant_of(RawReading(filled_mL=1.0, left_mL=0.44), kit)[1:]
    (2, 'Titrant used: 1 − 0.44 = 0.56 mL.')
    """
    capacity = kit.titrant.capacity_mL if kit.titrant else None
    if capacity is not None and max((raw.filled_mL or 0.0, *raw.refills_mL)) > capacity * (
        1 + 1e-9
    ):
        raise InputError(
            f"at most the {capacity:g} mL that the syringe holds",
            f"{max((raw.filled_mL or 0.0, *raw.refills_mL)):g} mL filled",
            "Check the decimal point, or the capacity in the kit's description.",
        )
    if raw.filled_mL is not None and raw.left_mL is not None:
        used = titrant_used(raw.filled_mL, raw.left_mL, raw.refills_mL)
        if raw.reading is not None and abs(raw.reading - used) > 1e-6:
            raise InputError(
                f"used = filled − left, {used:g} mL",
                f"{raw.reading:g} mL used",
                "One of the three was mistyped, or a refill was not written.",
            )
        sum_words = "".join(f" + {refill:g}" for refill in raw.refills_mL)
        words = f"Titrant used: {raw.filled_mL:g} − {raw.left_mL:g}{sum_words} = {used:.5g} mL."
        return used, 2 + 2 * len(raw.refills_mL), words
    used = needed_reading(raw, "the titrant used, or filled and left")
    held = raw.filled_mL if raw.filled_mL is not None else capacity
    available = None if held is None else held + sum(raw.refills_mL)
    if used < 0.0 or (available is not None and used > available * (1 + 1e-9)):
        raise InputError(
            "titrant used from 0 mL" + (f" to the {available:g} mL there was" if available else ""),
            f"{used:g} mL",
            "Check the decimal point; if the syringe was filled again, write the refill.",
        )
    return used, 1, f"Titrant used: {used:g} mL."
