"""Slips of the pen and of the hand, named before a reading is saved; nothing is ever changed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reef_calc.bench.kits import Kit
from reef_calc.chem.elements import element
from reef_calc.chem.numbers import parse_number
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

Range = tuple[float, float]
LevelOf = Callable[[float], float]


@dataclass(frozen=True)
class Slip:
    """One thing that looks wrong about an entry.

    Attributes
    ----------
    code : str
        Short name: ``syringe``, ``decimal point``, ``swapped digits``, ``impossible``, ``jump``,
        ``off grid``, ``lot``, ``unit``, ``replicates``.
    sentence : str
        What looks wrong and what to do, for the keeper.
    likely : float or None
        The likely right entry, in the unit of the entry; None where it cannot be known.
    """

    code: str
    sentence: str
    likely: float | None = None


def syringe_slip(
    filled_mL: float,
    left_mL: float,
    used_mL: float,
    refills_mL: Sequence[float] = (),
    tolerance_mL: float = 0.001,
) -> Slip | None:
    """Return what is wrong between filled, left and used, or None when they agree.

    used = filled − left + refills

    Parameters
    ----------
    filled_mL, left_mL, used_mL : float
        Syringe before, after, and what the person wrote as used (mL).
    refills_mL : sequence of float, optional
        What was drawn up again in between (mL each).
    tolerance_mL : float, optional
        Difference that is rounding only (mL).

    Returns
    -------
    Slip or None
        The likely value is the titrant used, in mL.

    Examples
    --------
    >>> syringe_slip(1.0, 0.44, 0.44).sentence
    'Filled 1 mL and left 0.44 mL make 0.56 mL used, not 0.44 mL. What was left may stand as used.'
    >>> syringe_slip(1.0, 0.44, 0.56) is None
    True
    """
    drawn = math.fsum([filled_mL, *refills_mL])
    worked_out = drawn - left_mL
    if left_mL < 0.0 or worked_out < -tolerance_mL:
        return Slip(
            "syringe",
            f"{left_mL:g} mL cannot be left of {drawn:g} mL. Filled and left may be swapped, or a "
            "refill is missing.",
            round(left_mL - drawn, 9) if not refills_mL and left_mL >= 0.0 else None,
        )
    if used_mL > drawn + tolerance_mL:
        return Slip(
            "syringe",
            f"{used_mL:g} mL used is more than the {drawn:g} mL there was. A refill may be "
            f"missing, or {worked_out:.4g} mL is meant.",
            round(worked_out, 9),
        )
    if abs(used_mL - worked_out) <= tolerance_mL:
        return None
    hint = (
        "What was left may stand as used."
        if abs(used_mL - left_mL) <= tolerance_mL
        else "One of the three is mistyped, or a refill is missing."
    )
    refilled = f" with {math.fsum(refills_mL):g} mL refilled" if refills_mL else ""
    return Slip(
        "syringe",
        f"Filled {filled_mL:g} mL and left {left_mL:g} mL{refilled} make {worked_out:.4g} mL "
        f"used, not {used_mL:g} mL. {hint}",
        round(worked_out, 9),
    )


def is_on_grid(entry: float, step: float) -> bool:
    """Return whether an entry lies on the steps of a scale.

    Parameters
    ----------
    entry, step : float
        Entry and smallest step of the scale, in one unit; a step of 0 means that it is not known.

    Returns
    -------
    bool
        True within a millionth of a step, and where no step is known.

    Examples
    --------
    >>> is_on_grid(7.8, 0.1), is_on_grid(7.83, 0.1)
    (True, False)
    """
    steps = entry / step if step else 0.0
    return abs(steps - round(steps)) < 1e-6 * max(1.0, abs(steps))


def _decimal_point_moved(typed: str) -> set[float]:
    number = parse_number(typed)
    # Through text, so that 0.78 a hundredfold is 78 and not 78.00000000000001.
    return {float(f"{number!r}e{power}") if "e" not in repr(number) else number * 10.0**power
            for power in (-2, -1, 1, 2)}  # fmt: skip


def _digits_swapped(typed: str) -> set[float]:
    text = typed.strip()
    places = [i for i, sign in enumerate(text) if sign.isdigit()]
    found = set()
    for i, j in itertools.pairwise(places):
        if text[i] != text[j]:
            swapped = [*text]
            swapped[i], swapped[j] = text[j], text[i]
            found.add(float("".join(swapped).replace("−", "-")))
    return found


def typing_slips(
    typed: str,
    expected: Range,
    level_of: LevelOf | None = None,
    unit: str = "",
    step: float = 0.0,
) -> list[Slip]:
    """Return the slips of typing that would bring an entry back into the expected range.

    A decimal point moved by one or two places, or two neighbouring digits swapped.

    Parameters
    ----------
    typed : str
        The entry as typed: a level, or a raw reading such as mL of titrant.
    expected : tuple of float
        Lowest and highest level (in the unit of the level) that would be no surprise.
    level_of : callable, optional
        Level of a raw reading; the entry is the level itself when not given. It may raise
        ``InputError`` for a reading that cannot be.
    unit : str, optional
        Unit of the entry, for the sentences.
    step : float, optional
        Smallest step of the scale in the unit of the entry: no candidate off it is offered.

    Returns
    -------
    list of Slip
        Empty when the entry is within the range or nothing brings it there; the candidate closest
        to the middle of the range first.

    Raises
    ------
    NumberError
        If the entry is not a number.

    Examples
    --------
    >>> [(slip.code, slip.likely) for slip in typing_slips("78", (7.0, 9.0))]
    [('decimal point', 7.8)]
    >>> typing_slips("240", (400.0, 440.0), unit="mg/L")[0].sentence
    'Two digits may be swapped: 420 mg/L would fit, 240 mg/L does not.'
    """
    low, high = expected

    def level(entry: float) -> float:
        try:
            return entry if level_of is None else level_of(entry)
        except InputError:
            return math.nan

    if low <= level(parse_number(typed)) <= high:
        return []
    found = [("decimal point", entry) for entry in _decimal_point_moved(typed)]
    found += [("swapped digits", entry) for entry in _digits_swapped(typed)]
    middle = (low + high) / 2.0
    fitting = sorted(
        (abs(level(entry) - middle), code, entry)
        for code, entry in found
        if low <= level(entry) <= high and is_on_grid(entry, step)
    )
    starts = {
        "decimal point": "The decimal point may have slipped",
        "swapped digits": "Two digits may be swapped",
    }
    suffix = f" {unit}" if unit else ""
    # Both kinds may lead to one entry ("8.0" for 0.8): it is offered once.
    codes = {entry: code for _, code, entry in reversed(fitting)}
    return [
        Slip(
            codes[entry],
            f"{starts[codes[entry]]}: {entry:g}{suffix} would fit, {typed.strip()}{suffix} does not.",
            entry,
        )
        for entry in dict.fromkeys(entry for _, _, entry in fitting)
    ]


def level_slips(
    typed: str, kit: Kit, expected: Range | None = None, level_of: LevelOf | None = None
) -> list[Slip]:
    """Return what looks wrong about a level: impossible, a jump, and how it may have come about.

    Parameters
    ----------
    typed : str
        The entry as typed, in the kit's unit, or a raw reading with ``level_of``.
    kit : Kit
        The kit, for its element and unit.
    expected : tuple of float, optional
        Lowest and highest level (in the kit's unit) that the tank's use since the last reading
        allows; when not given, only what water can hold is known.
    level_of : callable, optional
        Level of a raw reading in the kit's unit.

    Returns
    -------
    list of Slip
        Empty when nothing looks wrong.

    Raises
    ------
    InputError
        If the expected range is upside down, or the entry is not a number.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "meter", "dKH")
    >>> [slip.code for slip in level_slips("87", kit, (7.0, 9.0))]
    ['impossible', 'jump', 'decimal point']
    >>> level_slips("7.8", kit, (7.0, 8.6))
    []
    """
    number = parse_number(typed)
    found = []
    possible = _possible(kit)
    try:
        level = number if level_of is None else level_of(number)
    except InputError as error:
        found.append(Slip("impossible", f"{number:g} gives no level. {error.repair}"))
        return found + typing_slips(typed, expected or possible, level_of)
    if not possible[0] <= level <= possible[1]:
        found.append(
            Slip(
                "impossible",
                f"{level:.4g} {kit.unit} is outside what water for a reef tank can hold "
                f"({possible[0]:.3g} to {possible[1]:.4g} {kit.unit}).",
            )
        )
    if expected is not None:
        if not expected[0] <= expected[1]:
            raise InputError("a range (low, high)", expected, "Put the lower end first.")
        if not expected[0] <= level <= expected[1]:
            found.append(
                Slip(
                    "jump",
                    f"{level:.4g} {kit.unit} is outside the {expected[0]:.4g} to "
                    f"{expected[1]:.4g} {kit.unit} that the last readings let expect. Test again "
                    "before you dose for it.",
                )
            )
    if level_of is not None:
        return found + typing_slips(typed, expected or possible, level_of)
    return found + typing_slips(typed, expected or possible, None, kit.unit, kit.resolution)


def _possible(kit: Kit) -> Range:
    described = element(kit.element)
    ends = [
        convert(end, described.store_unit, kit.unit, kit.element, salinity=35.0, temperature_C=25.0)
        for end in (described.lowest, described.highest)
    ]
    return min(ends), max(ends)
