"""What a table of lots holds: effects and pairs of each set that hangs together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.messages import Message


@dataclass(frozen=True)
class LotGroup:
    """Lots that hang together through common waters.

    Attributes
    ----------
    names : tuple of str
        Lots, kits or readers, in the order of their first reading.
    effects : pandas.DataFrame
        One row a name: ``name``, ``readings``, ``waters``, ``effect`` (against the mean of this
        group), ``se``, ``low``, ``high`` (95 % for all rows together), ``sd`` (of one reading), in
        the unit of the table. Not a number in the last four where ``refusal`` says why.
    pairs : pandas.DataFrame
        One row a pair: ``one``, ``other``, ``difference`` (other − one), ``se``, ``half``, ``low``,
        ``high``, ``half_alone`` (as if it were the only pair), ``planned``, ``apart`` (the interval
        excludes 0), ``shared`` (waters read with both).
    covariance : numpy.ndarray
        Of the effects, in the square of the unit.
    s : float
        Scatter of one reading found here (root mean square), in the unit; 0 where refused.
    df : int
        Degrees of freedom of the scatter.
    waters, readings : int
        Waters read with more than one of them, and their readings.
    comparisons : int
        Pairs that the intervals allow for; 1 for two names.
    by_water : bool
        Whether each water counts once for each name, because waters differ more than readings.
    refusal : str
        Why there are no intervals; empty where there are.
    outlier : str
        The reading or water that does not fit, in words; empty where there is none.
    messages : tuple of Message
        Sentences on this group.
    """

    names: tuple[str, ...]
    effects: pd.DataFrame
    pairs: pd.DataFrame
    covariance: np.ndarray
    s: float
    df: int
    waters: int
    readings: int
    comparisons: int
    by_water: bool
    refusal: str
    outlier: str
    messages: tuple[Message, ...]

    def pair(self, one: str, other: str) -> pd.Series | None:
        """Return the row of one pair, other − one, or None when the two are not here.

        Parameters
        ----------
        one, other : str
            Names.

        Returns
        -------
        pandas.Series or None
            The row, turned where it stands the other way round.
        """
        for row in self.pairs.to_dict("records"):
            if {row["one"], row["other"]} == {one, other}:
                if row["one"] == other:
                    row |= {"one": one, "other": other, "difference": -row["difference"],
                            "low": -row["high"], "high": -row["low"]}  # fmt: skip
                return pd.Series(row)
        return None


@dataclass(frozen=True)
class LotTable:
    """What readings on common waters say about lots, kits or readers.

    Attributes
    ----------
    by : str
        What is compared, such as ``lot``.
    unit : str
        Unit of everything.
    groups : tuple of LotGroup
        One a set of names that hang together; two names or more each.
    alone : tuple of str
        Names without a water in common with another.
    sentences : tuple of str
        What can be said, the verdict of each group first.
    messages : tuple of Message
        What limits it; those of the groups too.
    """

    by: str
    unit: str
    groups: tuple[LotGroup, ...]
    alone: tuple[str, ...]
    sentences: tuple[str, ...]
    messages: tuple[Message, ...]

    def pair(self, one: str, other: str) -> pd.Series | None:
        """Return the row of one pair, other − one, or None when the two cannot be compared.

        Parameters
        ----------
        one, other : str
            Names.

        Returns
        -------
        pandas.Series or None
            Row of ``LotGroup.pairs``.
        """
        found = (group.pair(one, other) for group in self.groups)
        return next((row for row in found if row is not None), None)
