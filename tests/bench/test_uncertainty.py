"""Propagation of uncertainty against the worked examples of the GUM and of the Eurachem guide."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
import uncertainties.umath
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.regression.linear_model import OLS

from reef_calc.bench.titration import concentration_from_titrant
from reef_calc.bench.uncertainty import Quantity, propagate, rectangular, resolution, triangular
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from tests.bench.published import also
from tests.trust import check_published


def phthalate_molar_mass() -> Quantity:
    """IUPAC weights and their rectangular intervals as printed in QUAM A2."""
    atoms = {
        "C": (8, 12.0107, 0.0008),
        "H": (5, 1.00794, 0.00007),
        "O": (4, 15.9994, 0.0003),
        "K": (1, 39.0983, 0.0001),
    }
    parts = {name: rectangular(weight, half) for name, (_, weight, half) in atoms.items()}
    found = propagate(lambda **w: sum(atoms[name][0] * w[name] for name in w), parts)
    return Quantity(found.value, found.u)


def weighing() -> Quantity:
    return Quantity(0.3888, rectangular(0.0, 0.00015).u * math.sqrt(2.0))


def test_quam_a1_calibration_standard() -> None:
    found = propagate(
        lambda mass, purity, flask, filling, warmth: (
            1000.0 * mass * purity / (flask + filling + warmth)
        ),
        {
            "mass": Quantity(100.28, 0.05),
            "purity": rectangular(0.9999, 0.0001),
            "flask": triangular(100.0, 0.1),
            "filling": Quantity(0.0, 0.02),
            "warmth": rectangular(0.0, 0.084),
        },
    )
    check_published("T01", found.value)
    also("T01", "u in mg/L", (0.835199,), (found.u,), 5e-7)


def test_quam_a2_sodium_hydroxide() -> None:
    found = propagate(
        lambda mass, purity, molar_mass, volume, warmth, repeat: (
            1000.0 * mass * purity / (molar_mass * (volume + warmth)) * repeat
        ),
        {
            "mass": weighing(),
            "purity": rectangular(1.0, 0.0005),
            "molar_mass": phthalate_molar_mass(),
            "volume": triangular(18.64, 0.03),
            "warmth": Quantity(0.0, 0.006),
            "repeat": Quantity(1.0, 0.0005),
        },
    )
    check_published("T02", found.value)
    also("T02", "u in mol/L", (0.00010050,), (found.u,), 1e-7)


def test_quam_a3_acid_base() -> None:
    def warmth(volume: float) -> Quantity:
        return rectangular(0.0, volume * 2.1e-4 * 4.0)

    found = propagate(
        lambda mass, purity, molar_mass, vt2, wt2, vt1, wt1, vhcl, whcl, repeat: (
            1000.0
            * mass
            * purity
            * (vt2 + wt2)
            / ((vt1 + wt1) * molar_mass * (vhcl + whcl))
            * repeat
        ),
        {
            "mass": weighing(),
            "purity": rectangular(1.0, 0.0005),
            "molar_mass": phthalate_molar_mass(),
            "vt2": triangular(14.89, 0.03),
            "wt2": warmth(15.0),
            "vt1": triangular(18.64, 0.03),
            "wt1": warmth(19.0),
            "vhcl": triangular(15.0, 0.02),
            "whcl": warmth(15.0),
            "repeat": Quantity(1.0, 0.001),
        },
    )
    check_published("T03", found.value)
    also("T03", "u in mol/L", (0.00018434,), (found.u,), 1e-7)


def test_gum_h1_end_gauge() -> None:
    found = propagate(
        lambda ls, d, d1, d2, alpha, d_alpha, theta, swing, d_theta: (
            ls + d + d1 + d2 - ls * (d_alpha * (theta + swing) + alpha * d_theta)
        ),
        {
            "ls": Quantity(50000623.0, 25.0),
            "d": Quantity(215.0, 5.8),
            "d1": Quantity(0.0, 3.9),
            "d2": Quantity(0.0, 6.7),
            "alpha": rectangular(11.5e-6, 2e-6),
            "d_alpha": rectangular(0.0, 1e-6),
            "theta": Quantity(-0.1, 0.2),
            "swing": Quantity(0.0, 0.35),
            "d_theta": rectangular(0.0, 0.05),
        },
    )
    check_published("T05", found.value)
    also("T05", "u in nm", (31.7,), (found.u,), 0.05)


def test_gum_h2_correlated_inputs() -> None:
    inputs = {
        "volt": Quantity(4.999, 3.2e-3),
        "ampere": Quantity(19.661e-3, 9.5e-6),
        "phase": Quantity(1.04446, 7.5e-4),
    }
    pairs = {("volt", "ampere"): -0.36, ("volt", "phase"): 0.86, ("ampere", "phase"): -0.65}
    formulas = [
        lambda volt, ampere, phase: volt / ampere * math.cos(phase),
        lambda volt, ampere, phase: volt / ampere * math.sin(phase),
        lambda volt, ampere, phase: volt / ampere,
    ]
    found = [propagate(formula, inputs, correlations=pairs) for formula in formulas]
    resistance, reactance, impedance = found
    also("T06", "R in ohm", (127.732,), (resistance.value,), 5e-4)
    also("T06", "X, Z in ohm", (219.85, 254.26), (reactance.value, impedance.value), 5e-3)
    also("T06", "u of R, X, Z", (0.070, 0.30, 0.24), tuple(one.u for one in found), 5e-3)
    for one in found:
        assert one.budget["share"].sum() == pytest.approx(1.0)
    # The same by the general library.
    v, i, phi = uncertainties.correlated_values_norm(
        [(q.value, q.u) for q in inputs.values()],
        [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]],
    )
    for one, other in zip(
        found, [v / i * uncertainties.umath.cos(phi), v / i * uncertainties.umath.sin(phi), v / i],
        strict=True,
    ):  # fmt: skip
        assert (one.value, one.u) == pytest.approx((other.n, other.s), rel=1e-6)


def test_gum_h3_calibration_line() -> None:
    degrees = "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511"
    t = np.array(degrees.split(), dtype=float)
    b = -np.array([171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160]) / 1000.0
    fit = OLS(b, np.column_stack([np.ones_like(t), t - 20.0])).fit()
    r = fit.cov_params()[0, 1] / (fit.bse[0] * fit.bse[1])
    also("T07", "intercept and slope", (-0.1712, 0.00218), tuple(fit.params), 5e-5)
    also("T07", "r", (-0.930,), (r,), 5e-4)
    at_30 = propagate(
        lambda intercept, slope: intercept + slope * 10.0,
        {
            "intercept": Quantity(fit.params[0], fit.bse[0]),
            "slope": Quantity(fit.params[1], fit.bse[1]),
        },
        correlations={("intercept", "slope"): r},
    )
    also("T07", "correction at 30 °C and u", (-0.1494, 0.0041), (at_30.value, at_30.u), 5e-5)


def test_alkalinity_titration() -> None:
    def dkh(volume: float, reading: float, blank: float, strength: float, sample: float) -> float:
        per_litre = concentration_from_titrant(
            volume + reading, blank_mL=blank, titrant_mol_per_L=strength, sample_mL=sample
        )
        return convert(1000.0 * per_litre, "meq/L", "dKH", "alkalinity")

    found = propagate(
        dkh,
        {
            "volume": triangular(0.72, 0.01),
            "reading": Quantity(0.0, 0.01),
            "blank": Quantity(0.01, 0.005),
            "strength": rectangular(0.0200, 0.0002),
            "sample": triangular(5.0, 0.05),
        },
    )
    check_published("T23", found.value)
    also("T23", "u in dKH", (0.145,), (found.u,), 5e-4)
    assert 2.0 * found.u == found.U


numbers = st.floats(0.5, 50.0)
shares = st.floats(0.001, 0.03)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.tuples(numbers, numbers, numbers), st.tuples(shares, shares, shares))
def test_the_same_as_the_general_library(values, relative) -> None:
    def formula(a, b, c):
        return (a - 0.1 * b) * b / c + a**2

    pairs = [(x, x * share) for x, share in zip(values, relative, strict=True)]
    ours = propagate(
        formula, {name: Quantity(*pair) for name, pair in zip("abc", pairs, strict=True)}
    )
    theirs = formula(*(uncertainties.ufloat(*pair) for pair in pairs))
    assert ours.value == pytest.approx(theirs.n, rel=1e-12)
    # The cubic and higher terms of 1/c over ± u are all that separates the two.
    assert ours.u == pytest.approx(theirs.s, rel=1e-5)
    assert ours.budget["share"].sum() == pytest.approx(1.0)
    slope = values[1] / values[2] + 2.0 * values[0]
    analytic = propagate(
        formula,
        {name: Quantity(*pair) for name, pair in zip("abc", pairs, strict=True)},
        sensitivities={"a": slope},
    )
    assert analytic.budget["sensitivity"][0] == slope
    assert analytic.u == pytest.approx(ours.u, rel=1e-5)


def test_resolution_read_at_both_ends() -> None:
    assert resolution(0.56, 0.01, ends=2).u == pytest.approx(0.01 / math.sqrt(6.0), rel=1e-12)


@pytest.mark.parametrize(
    ("what", "says"),
    [
        (lambda: Quantity(math.nan, 0.1), "finite value"),
        (lambda: Quantity(1.0, -0.1), "0 or more"),
        (lambda: rectangular(1.0, -1.0), "0 or more"),
        (lambda: resolution(1.0, 0.1, ends=0), "one reading"),
        (lambda: propagate(lambda: 1.0, {}), "at least one input"),
        (lambda: propagate(lambda a: a, {"a": Quantity(1.0)}, sensitivities={"b": 1.0}), "name of"),
        (
            lambda: propagate(
                lambda a, b: a + b,
                {"a": Quantity(1.0, 0.1), "b": Quantity(1.0, 0.1)},
                correlations={("a", "b"): 1.1},
            ),
            "from −1 to 1",
        ),
        (
            lambda: propagate(
                lambda a, b, c: a + b + c,
                {name: Quantity(1.0, 0.1) for name in "abc"},
                correlations={("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9},
            ),
            "hold together",
        ),
    ],
)
def test_bad_input_is_refused_in_words(what, says: str) -> None:
    with pytest.raises(InputError, match=says):
        what()
