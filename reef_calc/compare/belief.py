"""What a belief in kits holds: each kit on the standards, and the kits against each other."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.bias_history import BiasHistory
from reef_calc.compare.bias_together import Contrast
from reef_calc.log.kit_checks import KitChecks
from reef_calc.messages import Message


@dataclass(frozen=True)
class KitBelief:
    """One kit, with the lot that is judged, on the standards.

    Attributes
    ----------
    kit, lot, name : str
        Kit and lot, the lot empty where none was written; ``name`` as both are called.
    checks : KitChecks or None
        All checks of the kit, with the next standard; None where it cannot be checked.
    readings : int
        Readings of standards of the compared level with that lot.
    last : pandas.Timestamp or None
        Time of the last of them (UTC).
    bias : Contrast or None
        Read minus standard, in the unit of the belief.
    u_standard : float
        Part of its standard uncertainty that comes from the standard, in the unit.
    recovery : tuple of float or None
        Read over standard with the ends of its interval (share); None where the standard holds none.
    most_readings : float
        Readings of one bottle from which on more do not help (a count; may be infinite).
    history : BiasHistory or None
        Bias of the kit's lots at their readings of standards, in the kit's own unit; None below two.
    per_quarter : float or None
        Drift of the kit's lots in 90 days (standard deviation, kit's unit); None where not known.
    refusal : str
        Why there is no bias; empty where there is.
    sentences : tuple of str
        What is said of it.
    """

    kit: str
    lot: str
    name: str
    checks: KitChecks | None
    readings: int
    last: pd.Timestamp | None
    bias: Contrast | None
    u_standard: float
    recovery: tuple[float, float, float] | None
    most_readings: float
    history: BiasHistory | None
    per_quarter: float | None
    refusal: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class KitsApart:
    """Two kits against each other.

    Attributes
    ----------
    one, other : str
        Names of ``KitBelief``.
    on_standard : Contrast or None
        Bias of the other less that of the one; a bottle both read drops out.
    on_waters : tuple of float or None
        Other minus one on waters they have in common, with the ends of its interval (unit).
    waters : int
        How many such waters; 0 where the difference was handed in.
    nearer : str
        Name of the one that lies nearer to the standard; empty where that cannot be told.
    sentence : str
        What is said of the two.
    """

    one: str
    other: str
    on_standard: Contrast | None
    on_waters: tuple[float, float, float] | None
    waters: int
    nearer: str
    sentence: str


@dataclass(frozen=True)
class Belief:
    """Which kit to believe, and how far.

    Attributes
    ----------
    element, unit : str
        Element and unit.
    level : float or None
        Level of the standards that are compared; None without any.
    kits : tuple of KitBelief
        The kits, in the order asked.
    pairs : tuple of KitsApart
        Every two of them.
    readings : pandas.DataFrame
        For a figure over time: ``row``, ``time`` (UTC), ``kit``, ``lot``, ``standard``, ``level``,
        ``level_u``, ``read``, ``deviation`` (read minus standard), in the unit.
    sentences : tuple of str
        The verdict first.
    help : str
        What would make it clearer.
    messages : tuple of Message
        What limits it.
    """

    element: str
    unit: str
    level: float | None
    kits: tuple[KitBelief, ...]
    pairs: tuple[KitsApart, ...]
    readings: pd.DataFrame
    sentences: tuple[str, ...]
    help: str
    messages: tuple[Message, ...]

    @property
    def summary(self) -> pd.DataFrame:
        """One row a kit with a bias: kit, lot, readings, bias, low, high, recovery (unit, share)."""
        rows = [
            (one.kit, one.lot, one.readings, one.bias.value, one.bias.low, one.bias.high,
             one.recovery[0] if one.recovery else None)
            for one in self.kits if one.bias is not None
        ]  # fmt: skip
        return pd.DataFrame(
            rows, columns=["kit", "lot", "readings", "bias", "low", "high", "recovery"]
        )
