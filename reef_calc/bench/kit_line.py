"""A kit's line through two standards or more, errors of the standards included."""

from __future__ import annotations

import math

import numpy as np
from scipy import stats

from reef_calc.bench.bias_forms import BiasForm, KitBias, sentence_on_difference
from reef_calc.bench.standard_readings import coverage_factor
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval


def line_of_kit(
    read: np.ndarray,
    levels: np.ndarray,
    from_kit: np.ndarray,
    from_bottles: np.ndarray,
    sd_df: float,
    unit: str,
) -> KitBias:
    """Return the line that puts a kit right, from standards at two levels or more.

    read = α + β·S, V = V_kit + β²·V_standards; intercept −α/β, slope 1/β by the law of propagation.

    Parameters
    ----------
    read, levels : numpy.ndarray
        Readings and levels of their standards in ``unit``, n each, of at least two levels.
    from_kit, from_bottles : numpy.ndarray
        Covariances of readings and of standards, n × n, in the square of ``unit``.
    sd_df : float
        Degrees of freedom the scatter is known with (a count).
    unit : str
        The kit's unit.

    Returns
    -------
    KitBias
        One form, a line.

    Raises
    ------
    InputError
        If the readings do not rise with the standards beyond doubt.

    Examples
    --------
    >>> found = line_of_kit(np.array([4.2, 8.4, 12.6]), np.array([4.0, 8.0, 12.0]),
    ...                     0.0225 * np.eye(3), np.zeros((3, 3)), 20.0, "dKH")
    >>> round(found.forms[0].slope, 4), round(found.forms[0].corrected(8.4), 4)
    (0.9524, 8.0)

    References
    ----------
    As ``reef_calc.bench.kit_bias.bias_of_kit``.
    """
    design = np.column_stack([np.ones_like(levels), levels])
    slope = 1.0
    for _ in range(50):
        V = from_kit + slope**2 * from_bottles
        whitened = np.linalg.solve(V, design)
        covariance = np.linalg.inv(design.T @ whitened)
        alpha, beta = (float(one) for one in covariance @ (whitened.T @ read))
        if abs(beta - slope) < 1e-12 * abs(beta):
            break
        slope = beta
    gain = whitened @ covariance  # (α, β) = gain.T @ read
    of_kit = gain.T @ from_kit @ gain
    if beta <= 3 * math.sqrt(covariance[1, 1]):
        raise InputError(
            "readings that rise with the standards", f"a slope of {beta:.3g}",
            "Check that the bottles were not swapped, or use standards further apart.",
        )  # fmt: skip
    jacobian = np.array([[-1.0 / beta, alpha / beta**2], [0.0, -1.0 / beta**2]])
    middle = float(levels.mean())
    at = np.array([1.0, middle])
    difference = float(alpha + beta * middle - middle)
    u = math.sqrt(float(at @ covariance @ at))
    u_kit = math.sqrt(float(at @ of_kit @ at))
    # The cautious of the two: at the middle the standards share, at the slope the kit decides.
    t = max(
        coverage_factor(u, u_kit, sd_df),
        coverage_factor(math.sqrt(covariance[1, 1]), math.sqrt(of_kit[1, 1]), sd_df),
    )
    form = BiasForm(
        "line", -alpha / beta, 1.0 / beta, jacobian @ covariance @ jacobian.T, t
    )  # fmt: skip
    # Both numbers at once: the kit is as it should be where (α, β − 1) could be (0, 0).
    off = np.array([alpha, beta - 1.0])
    distance = float(off @ np.linalg.solve(covariance, off)) / 2
    enough = distance > _f_limit(2, sd_df)
    straightness = _straightness(read - design @ np.array([alpha, beta]), V, levels, sd_df)
    if any(one.code == "NOT_STRAIGHT" for one in straightness):
        enough = False
    u_standard = math.sqrt(max(u**2 - u_kit**2, 0.0))
    said = sentence_on_difference(difference, u, u_standard, t, unit, enough)
    told = [
        Message("DIFFERENCE", said.replace("On the standard", "In the middle of the standards"))
    ]
    told += _which_form(alpha, beta, covariance, t, unit)
    told += straightness
    return KitBias((form,), enough, difference, u, u_standard, tuple(told))


def _which_form(
    alpha: float, beta: float, covariance: np.ndarray, t: float, unit: str
) -> list[Message]:
    half_alpha, half_beta = t * np.sqrt(np.diag(covariance))
    at_zero = with_interval(alpha, alpha - half_alpha, alpha + half_alpha)
    percent = with_interval(100 * beta, 100 * (beta - half_beta), 100 * (beta + half_beta))
    reads = f"It reads {at_zero} {unit} at zero and {percent} % of each step."
    factor_will_do, offset_will_do = abs(alpha) <= half_alpha, abs(beta - 1.0) <= half_beta
    if factor_will_do and offset_will_do:
        rest = "A factor alone or an offset alone would fit as well. The line is used."
    elif factor_will_do:
        rest = "A factor alone would fit as well."
    elif offset_will_do:
        rest = "An offset alone would fit as well."
    else:
        rest = "Neither a factor alone nor an offset alone fits."
    return [Message("LINE", f"{reads} {rest}")]


def _straightness(
    residual: np.ndarray, V: np.ndarray, levels: np.ndarray, sd_df: float
) -> list[Message]:
    if len(np.unique(levels)) == 2:
        sentence = "Two levels always lie on a line. A third shows whether the kit is straight."
        return [Message("TWO_LEVELS", sentence, "qualified")]
    df = len(residual) - 2
    ratio = float(residual @ np.linalg.solve(V, residual)) / df
    if ratio <= _f_limit(df, sd_df):
        return []
    sentence = (
        "The readings stray from a straight line by more than the kit's scatter. The kit may be "
        "bent, a standard wrong, or the scatter larger than written. Do not correct yet."
    )
    return [Message("NOT_STRAIGHT", sentence, "qualified")]


def _f_limit(df: int, sd_df: float) -> float:
    return float(stats.f.ppf(0.95, df, min(sd_df, 1e9)))
