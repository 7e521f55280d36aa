"""What may have gone wrong at the bench when a level comes out surprisingly high or low.

The faults, their checks and their signs are *common practice, no source*; the signs of those that a
formula can follow are worked out again by simulation in the tests.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, get_args

from reef_calc.bench.kits import Kind, Kit
from reef_calc.chem.elements import ELEMENTS
from reef_calc.errors import InputError

Direction = Literal["high", "low"]
# Charts read off a syringe, where the description names no titrant.
_USUALLY_TITRATED = ("alkalinity", "calcium", "magnesium")
_COLUMNS: dict[str, tuple[str, ...]] = {
    "direct titration": ("direct",),
    "two titrations": ("direct",),
    "drop count": ("drops",),
    "back titration": ("back", "back_filtrate"),
    "chart": ("direct", "back", "back_filtrate", "colour"),
    "colour steps": ("colour",),
    "meter": ("colour",),
    "laboratory report": (),
}


@dataclass(frozen=True)
class HandlingFault:
    """One thing that may have happened, and how to find out.

    Attributes
    ----------
    words : str
        What may have happened.
    check : str
        What to do to find out.
    sends : {"high", "low", "either"}
        Where it sends the level.
    """

    words: str
    check: str
    sends: str


@cache
def _rows() -> tuple[dict[str, str], ...]:
    path = files("reef_calc.bench") / "data" / "handling_faults.csv"
    return tuple(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def faults_that_fit(kit_or_kind: Kit | str, direction: Direction) -> tuple[HandlingFault, ...]:
    """Return the slips of the hand that would make a level come out as high or as low as it did.

    Parameters
    ----------
    kit_or_kind : Kit or str
        The kit, or the word for its kind.
    direction : {"high", "low"}
        Where the level lies against what was expected.

    Returns
    -------
    tuple of HandlingFault
        Those that send every such test that way first, then those that may send it either way.
        Empty for probes of salinity, temperature or pH and for laboratory reports.

    Raises
    ------
    InputError
        If the kind or the direction is another word.

    Notes
    -----
    Never a cause, only what fits; a true change of the water fits as well. In two titrations a slip
    in the second one acts the other way round. A meter is taken for a photometer. A chart counts as
    a titration where titrant or precipitant are described or the element is usually titrated, and as
    a back titration where it falls; where the description leaves it open, each possible kind counts.

    Examples
    --------
    >>> for fault in faults_that_fit("back titration", "high")[:3]:
    ...     print(fault.words)
    More sample was taken than the kit asks for.
    The titration was stopped before the colour had fully changed.
    The precipitant is weaker than its label says: old, or left open.
    """
    if direction not in get_args(Direction):
        raise InputError("high or low", direction, "Say on which side the level lies.")
    columns, element, two = _columns_of(kit_or_kind)
    opposite = "low" if direction == "high" else "high"
    first, second, either = [], [], []
    for row in _rows():
        if row["element"] and element not in ("", row["element"]):
            continue
        signs = {row[column] for column in columns}
        in_one = two and row["one_of_two"] == "yes"
        if direction in signs:
            words = _with_place(row["words"], "first") if in_one else row["words"]
            first.append(HandlingFault(words, row["check"], direction))
        elif opposite in signs and in_one:
            second.append(
                HandlingFault(_with_place(row["words"], "second"), row["check"], direction)
            )
        elif "either" in signs:
            either.append(HandlingFault(row["words"], row["check"], "either"))
    return (*first, *second, *either)


def _with_place(words: str, which: str) -> str:
    return f"{words.removesuffix('.')} (in the {which} titration)."


def _columns_of(kit_or_kind: Kit | str) -> tuple[tuple[str, ...], str, bool]:
    """Columns of the table that apply, the element ("" where it is not known), two titrations."""
    if isinstance(kit_or_kind, str):
        if kit_or_kind not in _COLUMNS:
            kinds = ", ".join(get_args(Kind))
            raise InputError(f"a kind of test ({kinds})", kit_or_kind, "Write one of these.")
        return _COLUMNS[kit_or_kind], "", kit_or_kind == "two titrations"
    kit = kit_or_kind
    columns = _COLUMNS[kit.kind]
    back = "back" if kit.aliquot_mL is None else "back_filtrate"
    if kit.kind == "back titration":
        columns = (back,)
    elif kit.kind == "meter" and kit.element and ELEMENTS[kit.element].behaviour == "state":
        columns = ()
    elif kit.kind == "chart" and kit.chart:
        ordered = sorted(kit.chart)
        falling = ordered[-1][1] < ordered[0][1]
        titrated = kit.titrant or kit.precipitant or kit.element in _USUALLY_TITRATED
        by_syringe = (back if falling else "direct",)
        if titrated:
            columns = by_syringe
        else:
            columns = (*by_syringe, "colour") if falling else ("colour",)
    return columns, kit.element, kit.kind == "two titrations"
