"""Factor, offset and line of a kit: certified and independent numbers, coverage, refusals."""

from __future__ import annotations

import math
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.kit_bias import bias_of_kit
from reef_calc.bench.kit_line import line_of_kit
from reef_calc.bench.standard_readings import Bottle, standard_covariance
from reef_calc.errors import InputError
from reef_calc.messages import codes
from tests.trust import record_check

NIST = "NIST StRD, linear least squares, certified values"


def test_norris() -> None:
    """NIST StRD Norris: the line of a meter against known levels. PUBLISHED."""
    text = files("scipy.stats").joinpath("tests/data/nist_linregress/Norris.dat").read_text()
    y, x = np.array([line.split() for line in text.splitlines()[60:96]], dtype=float).T
    scatter = 0.884796396144373**2 * np.eye(36)
    form = line_of_kit(y, x, scatter, np.zeros((36, 36)), 34.0, "ppm").forms[0]
    beta = 1.0 / form.slope
    certified = (-0.262323073774029, 1.00211681802045, 0.429796848199937e-3)
    got = (-form.intercept * beta, beta, math.sqrt(form.covariance[1, 1]) * beta**2)
    assert got == pytest.approx(certified, rel=1e-9)
    record_check(
        "Norris kit line", "standards: line of a kit: intercept, slope, SD of slope",
        certified, got, NIST, "PUBLISHED",
    )  # fmt: skip


def test_line_with_uncertain_standards_against_statsmodels() -> None:
    from statsmodels.regression.linear_model import GLS

    bottles = {"a": Bottle(6.0, 0.06, "stock", 0.05), "b": Bottle(8.0, 0.07, "stock", 0.06),
               "c": Bottle(11.0, 0.1)}  # fmt: skip
    names = ["a", "a", "b", "b", "c", "c"]
    read = [6.3, 6.2, 8.4, 8.6, 11.7, 11.5]
    form = bias_of_kit(read, names, bottles, sd=0.1, unit="dKH").forms[0]
    beta = 1.0 / form.slope
    V = 0.01 * np.eye(6) + beta**2 * standard_covariance(names, bottles)
    X = np.column_stack([np.ones(6), [bottles[name].level for name in names]])
    fit = GLS(np.array(read), X, sigma=V).fit()
    assert (-form.intercept * beta, beta) == pytest.approx(tuple(fit.params), rel=1e-9)
    # Law of propagation by finite differences of (−α/β, 1/β).
    inverse = lambda p: np.array([-p[0] / p[1], 1.0 / p[1]])  # noqa: E731
    J = np.column_stack(
        [(inverse(fit.params + step) - inverse(fit.params - step)) / 2e-6
         for step in 1e-6 * np.eye(2)]
    )  # fmt: skip
    assert form.covariance == pytest.approx(J @ fit.normalized_cov_params @ J.T, rel=1e-6)


def test_one_standard_by_hand() -> None:
    """Four readings, mean 8.2, of 8.0 ± 0.05 with s 0.15: u = √(0.15²/4 + 0.05²). COMPUTED."""
    found = bias_of_kit(
        [8.3, 8.1, 8.2, 8.2], ["A"] * 4, {"A": Bottle(8.0, 0.05)}, sd=0.15, unit="dKH"
    )
    u = math.hypot(0.075, 0.05)
    factor, offset = found.forms
    assert (found.difference, found.u, found.u_standard) == pytest.approx((0.2, u, 0.05))
    assert (factor.slope, offset.intercept) == pytest.approx((8.0 / 8.2, -0.2))
    assert factor.u(8.2) == pytest.approx(8.0 / 8.2 * math.hypot(0.075, 0.05 * 8.2 / 8.0))
    # ν = 20·(u/0.075)⁴ = 41.7 from the table of t: 2.02.
    assert factor.t == pytest.approx(2.018, abs=0.002)
    assert found.enough_to_correct
    assert codes(found.messages) == ("DIFFERENCE", "FACTOR_OR_OFFSET")
    assert found.summary.form.tolist() == ["factor", "offset"]
    assert factor.corrected(4.1) != pytest.approx(offset.corrected(4.1))


@pytest.mark.parametrize("sd_factor", [1.0, 0.2])
def test_coverage_of_one_level_and_line(sd_factor: float) -> None:
    """1000 simulated checks each; binomial error of 0.95 is 0.007."""
    rng = np.random.default_rng(7)
    sd, hits_one, hits_line = 0.15 * sd_factor, 0, 0
    bottles = {"a": Bottle(6.0, 0.05), "b": Bottle(9.0, 0.08), "c": Bottle(12.0, 0.1)}
    for _ in range(1000):
        true = {name: rng.normal(one.level, one.u) for name, one in bottles.items()}
        names = ["a", "a", "b", "b", "c", "c"]
        read = [0.3 + 0.95 * true[name] + rng.normal(0, sd) for name in names]
        low, high = bias_of_kit(
            read, names, bottles, sd=sd, unit="dKH", sd_df=math.inf
        ).forms[0].interval(0.3 + 0.95 * 8.0)  # fmt: skip
        hits_line += low <= 8.0 <= high
        one = bias_of_kit(read[2:4], names[2:4], bottles, sd=sd, unit="dKH", sd_df=math.inf)
        half = one.forms[1].t * one.u
        hits_one += abs(one.difference - (0.3 + 0.95 * 9.0 - 9.0)) <= half
    assert hits_line / 1000 == pytest.approx(0.95, abs=0.025)
    assert hits_one / 1000 == pytest.approx(0.95, abs=0.03)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.floats(-1.0, 1.0), st.floats(0.7, 1.3), st.floats(0.0, 0.1))
def test_a_line_without_scatter_is_undone(alpha: float, beta: float, u: float) -> None:
    bottles = {name: Bottle(level, u) for name, level in (("a", 4.0), ("b", 8.0), ("c", 12.0))}
    read = [alpha + beta * bottles[name].level for name in "abc"]
    form = bias_of_kit(read, list("abc"), bottles, sd=0.1, unit="dKH").forms[0]
    assert [form.corrected(one) for one in read] == pytest.approx([4.0, 8.0, 12.0], abs=1e-9)


def test_more_readings_of_one_bottle_cannot_beat_the_bottle() -> None:
    found = bias_of_kit([8.1] * 400, ["A"] * 400, {"A": Bottle(8.0, 0.1)}, sd=0.1, unit="dKH")
    assert found.u == pytest.approx(0.1, rel=0.01)
    assert found.u >= 0.1


def test_coarse_steps_do_not_average_away() -> None:
    arguments = {"bottle_names": ["A"] * 25, "bottles": {"A": Bottle(8.0, 0.0)}, "unit": "dKH"}
    fine = bias_of_kit([8.0] * 25, sd=0.2, resolution=0.5, **arguments)
    coarse = bias_of_kit([8.0] * 25, sd=0.1, resolution=0.5, **arguments)
    assert fine.u == pytest.approx(math.sqrt((0.04 + 0.25 / 12) / 25))
    assert coarse.u > 0.5 / math.sqrt(12)


def test_verdict_is_seen_in_the_numbers() -> None:
    found = bias_of_kit([8.2, 8.3], ["A", "A"], {"A": Bottle(8.0, 0.05)}, sd=0.15, unit="dKH",
                        resolution=0.1)  # fmt: skip
    assert found.messages[0].text.startswith("On the standard this kit reads 0.25 dKH high (± 0.24")
    assert found.enough_to_correct


def test_blank_gives_an_offset_alone() -> None:
    found = bias_of_kit([0.03, 0.02], ["W", "W"], {"W": Bottle(0.0, 0.0)}, sd=0.02, unit="mg/L")
    assert [one.form for one in found.forms] == ["offset"]
    assert "offset only" in found.messages[1].text


def test_two_preparations_of_one_level_are_one_level() -> None:
    bottles = {"a": Bottle(8.0, 0.05), "b": Bottle(8.05, 0.05)}
    found = bias_of_kit([8.3, 8.35], ["a", "b"], bottles, sd=0.1, unit="dKH")
    assert len(found.forms) == 2
    assert found.difference == pytest.approx(0.3)


def test_what_a_line_says() -> None:
    bottles = {name: Bottle(level, 0.02) for name, level in (("a", 4.0), ("b", 8.0), ("c", 12.0))}

    def say(read: list[float], names: str) -> tuple[str, ...]:
        return codes(bias_of_kit(read, list(names), bottles, sd=0.1, unit="dKH").messages)

    assert say([4.0, 8.0, 12.0], "abc") == ("DIFFERENCE", "LINE")
    assert say([4.0, 8.0], "ab")[-1] == "TWO_LEVELS"
    bent = bias_of_kit([4.0, 9.5, 12.0], list("abc"), bottles, sd=0.1, unit="dKH")
    assert codes(bent.messages)[-1] == "NOT_STRAIGHT"
    assert not bent.enough_to_correct
    factor = bias_of_kit([4.4, 8.8, 13.2], list("abc"), bottles, sd=0.1, unit="dKH")
    assert factor.messages[1].text.endswith("A factor alone would fit as well.")
    assert factor.enough_to_correct
    offset = bias_of_kit([4.5, 8.5, 12.5], list("abc"), bottles, sd=0.1, unit="dKH")
    assert offset.messages[1].text.endswith("An offset alone would fit as well.")


@pytest.mark.parametrize(
    ("read", "names", "sd", "words"),
    [
        ([8.0], ["A", "A"], 0.1, "one bottle for each reading"),
        ([], [], 0.1, "one bottle for each reading"),
        ([8.0], ["X"], 0.1, "Describe this bottle"),
        ([8.0], ["A"], 0.0, "a scatter above 0"),
        ([math.nan], ["A"], 0.1, "readings that are numbers"),
        ([12.0, 8.0], ["A", "B"], 0.1, "bottles were not swapped"),
        ([8.0], ["C"], 0.1, "Check the numbers of the bottle"),
    ],
)  # fmt: skip
def test_refusals(read: list[float], names: list[str], sd: float, words: str) -> None:
    bottles = {"A": Bottle(8.0, 0.05), "B": Bottle(12.0, 0.05), "C": Bottle(8.0, 0.05, "s", 0.1)}
    with pytest.raises(InputError, match=words):
        bias_of_kit(read, names, bottles, sd=sd, unit="dKH")
