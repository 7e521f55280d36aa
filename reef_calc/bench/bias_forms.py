"""The ways to put a kit right, and what is said about them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

Form = Literal["factor", "offset", "line"]


@dataclass(frozen=True)
class BiasForm:
    """One way to put readings right: corrected = intercept + slope·read.

    Attributes
    ----------
    form : {"factor", "offset", "line"}
        A factor is a slope alone, an offset an intercept alone.
    intercept : float
        In the kit's unit.
    slope : float
        Without unit.
    covariance : numpy.ndarray
        Of intercept and slope, 2 × 2.
    t : float
        Half-width of a 95 % interval in standard uncertainties (no unit).
    """

    form: Form
    intercept: float
    slope: float
    covariance: np.ndarray
    t: float

    def corrected(self, read: float) -> float:
        """Return the corrected level.

        Parameters
        ----------
        read : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Level in the kit's unit.
        """
        return self.intercept + self.slope * read

    def u(self, read: float) -> float:
        """Return what the correction itself leaves uncertain, without the reading's scatter.

        Parameters
        ----------
        read : float
            Level as read, in the kit's unit.

        Returns
        -------
        float
            Standard uncertainty in the kit's unit.
        """
        at = np.array([1.0, read])
        return math.sqrt(float(at @ self.covariance @ at))

    def interval(self, read: float) -> tuple[float, float]:
        """Return the 95 % interval of the corrected level, without the reading's scatter.

        Parameters
        ----------
        read : float
            Level as read, in the kit's unit.

        Returns
        -------
        tuple of float
            Low and high end in the kit's unit.
        """
        half = self.t * self.u(read)
        return self.corrected(read) - half, self.corrected(read) + half


@dataclass(frozen=True)
class KitBias:
    """What standards showed of a kit.

    Attributes
    ----------
    forms : tuple of BiasForm
        Factor and offset from one level (which of the two cannot be told); a line from more.
    enough_to_correct : bool
        Whether the difference is larger than its own 95 % interval.
    difference, u : float
        Mean of read minus standard in the kit's unit, with its standard uncertainty; from more
        than one level, at the middle of the standards.
    u_standard : float
        The part of ``u`` that comes from the standards.
    messages : tuple of Message
        Sentences for the keeper.
    """

    forms: tuple[BiasForm, ...]
    enough_to_correct: bool
    difference: float
    u: float
    u_standard: float
    messages: tuple[Message, ...]

    @property
    def summary(self) -> pd.DataFrame:
        """One row a form: intercept and slope with their 95 % half-widths."""
        rows = []
        for one in self.forms:
            half = one.t * np.sqrt(np.diag(one.covariance))
            rows.append((one.form, one.intercept, half[0], one.slope, half[1]))
        columns = ["form", "intercept", "intercept ±", "slope", "slope ±"]
        return pd.DataFrame(rows, columns=columns)


def sentence_on_difference(
    difference: float, u: float, u_standard: float, t: float, unit: str, enough: bool
) -> str:
    """Return what a difference from a standard means, for the keeper.

    Parameters
    ----------
    difference, u, u_standard : float
        Read minus standard, its standard uncertainty and the standard's part (in ``unit``).
    t : float
        Half-width of the interval in standard uncertainties (no unit).
    unit : str
        The kit's unit.
    enough : bool
        Whether the difference is larger than its interval.

    Returns
    -------
    str
        Two or three short sentences.

    Examples
    --------
    >>> sentence_on_difference(0.2, 0.15, 0.05, 1.96, "dKH", False)
    'On the standard this kit reads 0.2 dKH high (± 0.3 dKH, of which ± 0.1 from the standard
    itself). That is not enough to correct it.'
    """
    decimals = decimals_for(t * u)
    if fixed(abs(difference), decimals) == fixed(t * u, decimals):
        decimals += 1  # The verdict must be seen in the numbers.
    standard = t * u_standard
    own = fixed(standard, decimals) if standard > 0 else "0"
    size = fixed(abs(difference), decimals)
    if float(size) == 0:
        reads = "agrees with it"
    else:
        reads = f"reads {size} {unit} {'high' if difference >= 0 else 'low'}"
    verdict = "That is enough to correct it." if enough else "That is not enough to correct it."
    return (
        f"On the standard this kit {reads} "
        f"(± {fixed(t * u, decimals)} {unit}, of which ± {own} from the standard itself). {verdict}"
    )
