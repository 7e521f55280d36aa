"""Uncertainty of a result from the uncertainties of what it was worked out from, with its budget."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.errors import InputError

Correlations = Mapping[tuple[str, str], float]

# Weights of a five-point difference; exact for polynomials up to the fourth degree.
_STENCIL = ((-2.0, 1.0 / 12.0), (-1.0, -8.0 / 12.0), (1.0, 8.0 / 12.0), (2.0, -1.0 / 12.0))


@dataclass(frozen=True)
class Quantity:
    """One input with its standard uncertainty.

    Attributes
    ----------
    value : float
        Best estimate, in the quantity's own unit.
    u : float
        Standard uncertainty in the same unit, 0 or more.
    distribution : str
        How u was found, in words: normal, rectangular, triangular, resolution.

    Raises
    ------
    InputError
        If the value is not finite, or u is not a finite number of 0 or more.

    Examples
    --------
    >>> Quantity(5.0, 0.02)
    Quantity(value=5.0, u=0.02, distribution='normal')
    """

    value: float
    u: float = 0.0
    distribution: str = "normal"

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise InputError("a finite value", self.value, "Give the best estimate.")
        if not (math.isfinite(self.u) and self.u >= 0.0):
            raise InputError(
                "a standard uncertainty of 0 or more", self.u, "Give one standard deviation."
            )


def rectangular(value: float, half_width: float) -> Quantity:
    """Return a quantity that lies anywhere within value ± half-width with equal chance.

    u = a/√3.

    Parameters
    ----------
    value, half_width : float
        Middle and half-width, in one unit.

    Returns
    -------
    Quantity
        In the same unit.

    Raises
    ------
    InputError
        If the half-width is negative.

    Examples
    --------
    >>> round(rectangular(1.0, 0.0005).u, 7)
    0.0002887

    References
    ----------
    JCGM 100:2008, 4.3.7.
    """
    return Quantity(value, half_width / math.sqrt(3.0), "rectangular")


def triangular(value: float, half_width: float) -> Quantity:
    """Return a quantity within value ± half-width, more often near the middle.

    u = a/√6.

    Parameters
    ----------
    value, half_width : float
        Middle and half-width, in one unit.

    Returns
    -------
    Quantity
        In the same unit.

    Raises
    ------
    InputError
        If the half-width is negative.

    Examples
    --------
    >>> round(triangular(100.0, 0.1).u, 4)
    0.0408

    References
    ----------
    JCGM 100:2008, 4.3.9.
    """
    return Quantity(value, half_width / math.sqrt(6.0), "triangular")


def resolution(value: float, step: float, ends: int = 1) -> Quantity:
    """Return a quantity read on a scale with steps.

    u = d·√(ends/12).

    Parameters
    ----------
    value, step : float
        Reading and smallest step of the scale, in one unit.
    ends : int, optional
        How often the scale was read: 2 for a syringe read before and after.

    Returns
    -------
    Quantity
        In the same unit.

    Raises
    ------
    InputError
        If the step is negative or ``ends`` is below 1.

    Examples
    --------
    >>> round(resolution(0.56, 0.01, ends=2).u, 5)
    0.00408

    References
    ----------
    JCGM 100:2008, F.2.2.1.
    """
    if ends < 1:
        raise InputError("one reading or more", ends, "A scale is read once or twice.")
    return Quantity(value, step * math.sqrt(ends / 12.0), "resolution")


@dataclass(frozen=True)
class CombinedUncertainty:
    """A result with its uncertainty and where that comes from.

    Attributes
    ----------
    value : float
        The result, in its own unit.
    u : float
        Combined standard uncertainty in the same unit.
    budget : pandas.DataFrame
        One row a source: ``source``, ``value``, ``u``, ``sensitivity``, ``contribution``
        (sensitivity times u, in the result's unit), ``share`` (of u²; the shares add up to 1, and
        correlated sources may have a negative one), ``distribution``.
    """

    value: float
    u: float
    budget: pd.DataFrame

    @property
    def U(self) -> float:
        """Expanded uncertainty 2u, in the unit of the result."""
        return 2.0 * self.u


def propagate(
    function: Callable[..., float],
    inputs: Mapping[str, Quantity],
    *,
    correlations: Correlations | None = None,
    sensitivities: Mapping[str, float] | None = None,
) -> CombinedUncertainty:
    """Return the result of a function with its combined standard uncertainty.

    u² = Σᵢ Σⱼ cᵢ·uᵢ·rᵢⱼ·cⱼ·uⱼ, cᵢ = ∂f/∂xᵢ.

    Parameters
    ----------
    function : callable
        Plain function of named floats; called with every name of ``inputs``.
    inputs : mapping of str to Quantity
        What goes in. A second source of one input is an input of its own with the value 0 (a
        correction that is added) or 1 (a factor).
    correlations : mapping of (str, str) to float, optional
        Correlation coefficients, without unit, of pairs of inputs; all others are 0.
    sensitivities : mapping of str to float, optional
        Known ∂f/∂x, in the unit of the result per unit of the input; the others are found with a
        five-point difference within ± u, so that they are those of the range that matters.

    Returns
    -------
    CombinedUncertainty
        In the unit of the result.

    Raises
    ------
    InputError
        If a name is unknown, the correlations do not fit together, or the function has no finite
        result close to the inputs.

    Notes
    -----
    First order: valid where the function is nearly straight within ± 2u of each input.

    Examples
    --------
    >>> found = propagate(lambda mass, volume: mass / volume,
    ...                   {"mass": Quantity(100.0, 0.3), "volume": Quantity(50.0, 0.2)})
    >>> found.value, round(found.u, 5)
    (2.0, 0.01)
    >>> [round(share, 2) for share in found.budget["share"]]
    [0.36, 0.64]

    References
    ----------
    JCGM 100:2008, 5.1.2 and 5.2.2; numerical sensitivities 5.1.3, note 2.
    """
    if not inputs:
        raise InputError("at least one input", "none", "Name what the result depends on.")
    known = dict(sensitivities or {})
    for name in known:
        _check_known(name, inputs)
    values = {name: quantity.value for name, quantity in inputs.items()}
    result = float(function(**values))
    slopes = np.array(
        [known[n] if n in known else _slope(function, values, n, q.u) for n, q in inputs.items()]
    )
    spreads = np.array([quantity.u for quantity in inputs.values()])
    if not (math.isfinite(result) and np.isfinite(slopes).all()):
        raise InputError(
            "a function with a finite result close to its inputs",
            ", ".join(f"{name} = {value:g}" for name, value in values.items()),
            "Check for a zero volume, or for an input whose uncertainty reaches zero.",
        )
    parts = slopes * spreads
    pulled = _correlation_matrix(inputs, correlations or {}) @ parts
    variance = max(float(parts @ pulled), 0.0)
    budget = pd.DataFrame(
        {
            "source": list(inputs),
            "value": list(values.values()),
            "u": spreads,
            "sensitivity": slopes,
            "contribution": parts,
            "share": parts * pulled / variance if variance else np.zeros(len(parts)),
            "distribution": [quantity.distribution for quantity in inputs.values()],
        }
    )
    return CombinedUncertainty(result, math.sqrt(variance), budget)


def _check_known(name: str, inputs: Mapping[str, Quantity]) -> None:
    if name not in inputs:
        raise InputError("the name of an input: " + ", ".join(inputs), name, "Check its spelling.")


def _slope(
    function: Callable[..., float], values: Mapping[str, float], name: str, u: float
) -> float:
    middle = values[name]
    step = u / 2.0 if u > 0.0 else 1e-4 * (abs(middle) or 1.0)
    rises = (
        weight * float(function(**{**values, name: middle + times * step}))
        for times, weight in _STENCIL
    )
    return sum(rises) / step


def _correlation_matrix(inputs: Mapping[str, Quantity], given: Correlations) -> np.ndarray:
    names = list(inputs)
    matrix = np.eye(len(names))
    for (first, second), r in given.items():
        _check_known(first, inputs)
        _check_known(second, inputs)
        if first == second or not abs(r) <= 1.0:
            raise InputError(
                "a correlation from −1 to 1 between two different inputs",
                f"{first}, {second}: {r}",
                "Check the pair and its number.",
            )
        i, j = names.index(first), names.index(second)
        matrix[i, j] = matrix[j, i] = r
    if given and np.linalg.eigvalsh(matrix)[0] < -1e-9:
        raise InputError(
            "correlations that can hold together",
            ", ".join(f"{a}, {b}: {r:g}" for (a, b), r in given.items()),
            "If A goes with B and B goes with C, A cannot go strongly against C.",
        )
    return matrix
