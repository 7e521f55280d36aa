"""Lots at once: effects, pairs, chains, groups, and what is said of them."""

from __future__ import annotations

import math
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.regression.linear_model import OLS

from reef_calc.compare.additive_fit import additive_fit, connected
from reef_calc.compare.lot_table import lot_table, range_factor
from reef_calc.compare.lot_words import named, noun, size_with_interval
from reef_calc.errors import InputError
from reef_calc.messages import codes

FIVE = [(8.0, 8.4, 7.9), (7.2, 7.5, 7.3), (9.1, 9.6, 9.0), (8.5, 8.8, None), (6.8, 7.3, 6.6)]


def table_of(waters, names="abcdef") -> pd.DataFrame:
    return pd.DataFrame(
        [
            {"water": str(i + 1), "lot": names[j], "level": value}
            for i, row in enumerate(waters)
            for j, value in enumerate(row)
            if value is not None
        ]
    )


def chain(lots: int, waters: int) -> pd.DataFrame:
    """Neighbouring lots share waters; no other pair does."""
    return pd.DataFrame(
        [
            {"water": f"{left}-{k}", "lot": str(lot)}
            for left in range(lots - 1)
            for k in range(waters)
            for lot in (left, left + 1)
        ]
    )


def test_five_waters_and_a_missing_reading():
    # Worked out with an independent program (numpy), from memory of no publication.
    found = lot_table(table_of(FIVE), unit="dKH").groups[0]
    assert found.effects["effect"].tolist() == pytest.approx(
        [-0.1041667, 0.2958333, -0.1916667], abs=1e-6
    )
    assert found.effects["se"].tolist() == pytest.approx(
        [0.0397100, 0.0397100, 0.0430716], abs=1e-6
    )
    assert (found.s, found.df) == (pytest.approx(0.1055033, abs=1e-6), 7)
    pairs = found.pairs.set_index(["one", "other"])
    assert pairs["difference"].tolist() == pytest.approx([0.4, -0.0875, -0.4875], abs=1e-9)
    assert pairs["se"].tolist()[:2] == pytest.approx([0.0667262, 0.0727132], abs=1e-6)
    assert pairs["half_alone"].tolist()[:2] == pytest.approx([0.157782, 0.171939], abs=1e-6)
    assert pairs["half"].tolist()[:2] == pytest.approx([0.196512, 0.214144], abs=1e-6)
    assert pairs["apart"].tolist() == [True, False, True]
    assert found.effects["effect"].sum() == pytest.approx(0.0, abs=1e-12)


def test_effects_and_covariance_of_general_regression():
    rng = np.random.default_rng(3)
    rows = table_of(rng.normal(8, 1, (7, 4)).tolist()).drop(index=[2, 9, 14]).reset_index(drop=True)
    rows["sd"] = rng.choice([0.1, 0.3], len(rows))
    found = lot_table(rows, unit="dKH").groups[0]
    waters = pd.get_dummies(rows["water"]).to_numpy(float)
    coded = np.array([*np.eye(3), [-1.0] * 3])[pd.factorize(rows["lot"], sort=True)[0]]
    X, root = np.column_stack([waters, coded]), 1.0 / rows["sd"].to_numpy()
    fit = OLS(rows["level"].to_numpy() * root, X * root[:, None]).fit()
    order = found.effects.sort_values("name")
    assert order["effect"].tolist()[:3] == pytest.approx(fit.params[-3:].tolist(), rel=1e-9)
    assert order["se"].tolist()[:3] == pytest.approx(fit.bse[-3:].tolist(), rel=1e-9)
    assert found.df == fit.df_resid


def test_two_lots_are_the_paired_t_test_of_a_general_library():
    a, b = np.array([8.0, 7.2, 9.1, 8.5, 6.9]), np.array([8.4, 7.5, 9.6, 8.8, 7.3])
    row = lot_table(table_of(np.column_stack([a, b]).tolist()), unit="dKH").pair("a", "b")
    known = stats.ttest_rel(b, a).confidence_interval(0.95)
    assert (row["low"], row["high"]) == pytest.approx((known.low, known.high), rel=1e-9)


def test_one_water_read_often_is_the_tukey_test_of_a_general_library():
    rng = np.random.default_rng(8)
    samples = [rng.normal(8 + 0.2 * j, 0.15, n) for j, n in enumerate((4, 6, 5))]
    rows = pd.DataFrame(
        [
            {"water": "jar", "lot": "abc"[j], "level": value}
            for j, one in enumerate(samples)
            for value in one
        ]
    )
    table = lot_table(rows, unit="dKH")
    known = stats.tukey_hsd(*samples).confidence_interval(0.95)
    for i, j in ((0, 1), (0, 2), (1, 2)):
        row = table.pair("abc"[i], "abc"[j])
        # The library gives first minus second.
        ends = (-known.high[i, j], -known.low[i, j])
        assert (row["low"], row["high"]) == pytest.approx(ends, rel=1e-5)
    assert "ONE_WATER" in codes(table.messages)


@pytest.mark.parametrize(("count", "df", "q"), [(3, 10, 3.877), (4, 20, 3.958), (5, 30, 4.102)])
def test_range_factor_of_printed_tables(count, df, q):
    # Tables of the studentised range, upper 5 %, from memory.
    assert range_factor(count, df) * math.sqrt(2) == pytest.approx(q, abs=6e-4)


@pytest.mark.parametrize(
    ("waters", "far", "near"), [(3, 1.633, 0.816), (1, 2.828, 1.414), (5, 1.265, 0.632)]
)
def test_a_chain_forgets(waters, far, near):
    rows = chain(5, waters)
    lots = rows["lot"].astype(int).to_numpy()
    fit = additive_fit(np.ones(len(rows)), pd.factorize(rows["water"])[0], lots, np.ones(len(rows)))
    v = fit.inverse
    assert math.sqrt(v[0, 0] + v[4, 4] - 2 * v[0, 4]) == pytest.approx(far, abs=1e-3)
    assert math.sqrt(v[0, 0] + v[1, 1] - 2 * v[0, 1]) == pytest.approx(near, abs=1e-3)


def test_a_kept_standard_does_not():
    rows = pd.DataFrame({"water": "jar", "lot": np.repeat(np.arange(5), 3)})
    lots = rows["lot"].to_numpy()
    fit = additive_fit(np.ones(15), np.zeros(15, int), lots, np.ones(15))
    v = fit.inverse
    assert math.sqrt(v[0, 0] + v[4, 4] - 2 * v[0, 4]) == pytest.approx(math.sqrt(2 / 3), abs=1e-9)


def test_a_chain_is_told_with_the_numbers_it_has():
    rows = chain(5, 3)
    rng = np.random.default_rng(5)
    rows["level"] = 8 + rng.normal(0, 0.15, len(rows))
    table = lot_table(rows, unit="dKH")
    (told,) = [one.text for one in table.messages if one.code == "CHAIN"]
    row = table.pair("0", "4")
    assert told.startswith("Lot 0 and lot 4 were never read on the same water.")
    assert f"± {row['half']:.2f} dKH, against ±" in told or f"± {row['half']:.1f} dKH" in told
    kept = table.groups[0].s * math.sqrt(2 / 3) * range_factor(5, table.groups[0].df)
    assert f"would give ± {kept:.1f} dKH, if the standard keeps" in told


def test_the_verdict_says_what_the_numbers_say():
    table = lot_table(table_of(FIVE), unit="dKH")
    assert table.sentences[0] == (
        "Of these 3 lots, lot c reads 0.49 dKH lower than lot b (0.27 to 0.70); lot b reads 0.40 dKH "
        "higher than lot a (0.20 to 0.60), after allowing for 3 comparisons; no other pair can be told "
        "apart. “Cannot be told apart” is not “equal”: a difference of up to 0.31 dKH is not excluded."
    )
    assert "MEAN_OF_TABLE" in codes(table.messages)
    assert not re.search(r"\*|\bp\b|signific", " ".join(table.sentences))


def test_a_planned_pair_allows_for_no_other():
    table = lot_table(table_of(FIVE), unit="dKH", planned=("a", "c"))
    assert table.pair("a", "c")["half"] == pytest.approx(0.171939, abs=1e-6)
    assert table.pair("a", "b")["half"] == pytest.approx(0.196512, abs=1e-6)
    assert table.sentences[0].startswith("Chosen before the tests: lot a and lot c cannot be told")
    assert "chosen before the readings were seen" in table.sentences[0]
    assert "no other pair" not in table.sentences[0]
    with pytest.raises(InputError, match="two different names"):
        lot_table(table_of(FIVE), unit="dKH", planned=("a", "z"))


def test_a_pair_can_be_asked_for_either_way_round():
    table = lot_table(table_of(FIVE), unit="dKH")
    there, back = table.pair("a", "b"), table.pair("b", "a")
    assert (back["difference"], back["low"]) == (-there["difference"], -there["high"])
    assert table.pair("a", "x") is None


def test_sets_without_a_common_water_are_tables_of_their_own():
    rows = pd.concat(
        [
            table_of([(8.0, 8.1), (7.0, 7.2), (9.0, 9.0)], "ab"),
            table_of([(8.0, 8.4), (7.0, 7.5), (9.0, 9.5)], "cd").assign(
                water=lambda d: "x" + d["water"]
            ),
            pd.DataFrame({"water": ["y"], "lot": ["e"], "level": [8.0]}),
        ]
    )
    table = lot_table(rows, unit="dKH")
    assert [one.names for one in table.groups] == [("a", "b"), ("c", "d")]
    assert table.alone == ("e",)
    assert {"NOT_CONNECTED", "ALONE", "ONE_ONLY"} <= set(codes(table.messages))
    assert table.pair("a", "c") is None
    told = lot_table(rows, unit="dKH", planned=("a", "c")).messages
    assert "PLANNED_APART" in codes(told)
    assert connected(np.array([0, 1]), np.array([0, 1])).tolist() == [0, 1]


def test_no_scatter_and_no_df_are_told_and_not_counted():
    for waters, said in (
        ([(8.0, 8.4)], "shows no scatter"),
        ([(8.0, 8.4), (7.0, 7.4), (9.0, 9.4)], "exactly the same in every water"),
    ):
        table = lot_table(table_of(waters), unit="dKH")
        assert said in table.sentences[0]
        assert table.messages[0].kind == "refused"
        assert "nan" not in " ".join([*table.sentences, *(m.text for m in table.messages)])


def test_replicates_count_with_their_water_where_waters_differ():
    rng = np.random.default_rng(2)
    base = rng.normal(0, 0.5, (6, 3))
    waters = [[8 + base[i, j] for j in range(3)] for i in range(6)]
    twice = pd.concat(
        [table_of(waters), table_of(waters).assign(level=lambda d: d["level"] + 0.01)]
    )
    group = lot_table(twice, unit="dKH").groups[0]
    once = lot_table(table_of(waters), unit="dKH").groups[0]
    assert group.by_water
    assert group.df == once.df
    assert group.pairs["half"].tolist() == pytest.approx(once.pairs["half"].tolist(), rel=1e-9)
    assert "BY_WATER" in codes(group.messages)


def test_family_error_holds_when_all_lots_are_alike():
    # Own simulation. Plain t would say so in about 11 % of such tables.
    rng = np.random.default_rng(11)
    waters, lots = (one.ravel() for one in np.indices((6, 3)))
    factor, wrong = range_factor(3, 10), 0
    for _ in range(1500):
        fit = additive_fit(8 + rng.normal(0, 1, 18), waters, lots, np.ones(18))
        largest = np.ptp(fit.effects) / (fit.scale * math.sqrt(2 / 6))
        wrong += largest > factor
    assert 0.035 < wrong / 1500 < 0.067


def test_one_gross_misread_is_named_and_nothing_is_left_out():
    rng = np.random.default_rng(4)
    levels = 8 + rng.normal(0, 0.1, (8, 3)) + np.arange(8)[:, None] * 0.2
    levels[4, 1] += 1.5
    table = lot_table(table_of(levels.tolist()), unit="dKH")
    by_code = {one.code: one.text for one in table.messages}
    assert "lot b on water 5 (1." in by_code["OUTLIER"]
    assert "higher than the others make likely" in by_code["OUTLIER"]
    assert table.groups[0].readings == 24
    assert by_code["WITHOUT_OUTLIER"].startswith("Without it: Of these 3 lots, ")


def test_coarse_steps_widen_the_interval():
    rows = table_of([(8.0, 8.5), (8.0, 8.5), (8.5, 8.5)]).assign(sd=0.1, resolution=0.5)
    group = lot_table(rows, unit="dKH").groups[0]
    plain = lot_table(rows.assign(resolution=0.0), unit="dKH").groups[0]
    assert "COARSE" in codes(group.messages)
    added = group.pairs["se"][0] ** 2 - plain.pairs["se"][0] ** 2
    assert added == pytest.approx(2 * 0.5**2 / 12, rel=1e-9)


def test_scatter_beyond_what_is_known_is_told():
    rng = np.random.default_rng(6)
    rows = table_of((8 + rng.normal(0, 0.5, (10, 2))).tolist()).assign(sd=0.1)
    assert "SCATTER" in codes(lot_table(rows, unit="dKH").messages)


def test_movement_is_taken_off():
    rows = table_of([(8.0, 8.4), (7.2, 7.5), (9.1, 9.6)])
    moved = rows.assign(moved=np.where(rows["lot"] == "b", -0.3, 0.0))
    moved["level"] += moved["moved"]
    first, second = (lot_table(one, unit="dKH").pair("a", "b") for one in (rows, moved))
    assert first["difference"] == pytest.approx(second["difference"], rel=1e-12)
    assert first["half"] == pytest.approx(second["half"], rel=1e-9)


@given(
    st.lists(
        st.tuples(*[st.floats(5, 12, allow_nan=False).map(lambda x: round(x, 2))] * 3),
        min_size=4, max_size=4,
    ),
    st.floats(0.1, 50), st.floats(-5, 5),
)  # fmt: skip
@settings(max_examples=20, deadline=None)
def test_shift_scale_and_order_change_nothing_else(waters, factor, shift):
    rows = table_of(waters)
    plain = lot_table(rows, unit="dKH").groups[0]
    by_water = rows["water"].astype(float)
    other = rows.assign(level=factor * (rows["level"] + 20 + by_water))
    other.loc[other["lot"] == "b", "level"] += factor * shift
    turned = lot_table(other.iloc[::-1], unit="dKH")
    if plain.refusal or any(one.refusal for one in turned.groups):
        return
    for one, two, extra in (("a", "b", shift), ("a", "c", 0.0), ("c", "b", shift)):
        before, after = plain.pair(one, two), turned.pair(one, two)
        assert after["difference"] == pytest.approx(
            factor * (before["difference"] + extra), abs=1e-7 * factor
        )
        assert after["half"] == pytest.approx(factor * before["half"], rel=1e-4, abs=1e-7 * factor)


@given(st.floats(-900, 900), st.floats(1e-6, 1e3))
@settings(max_examples=50, deadline=None)
def test_a_size_never_shows_an_end_at_zero(difference, half):
    if abs(difference) <= half * (1 + 1e-6):
        return
    text = size_with_interval(difference, difference - half, difference + half, "mg/L")
    assert ("higher" in text) == (difference > 0)
    near, far = (float(one) for one in re.findall(r"[\d.]+", text.partition("(")[2]))
    assert 0 < near <= far


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"level": [8.0, math.nan]}, "no empty cell in level"),
        ({"level": [8.0, math.inf]}, "a number in level"),
        ({"sd": [0.1, 0.0]}, "a scatter above 0 in sd"),
        ({"resolution": [0.1, -1.0]}, "a step, 0 or more"),
        ({"lot": ["a", None]}, "no empty cell in lot"),
        ({"lot": ["a", "a"]}, "one water that was read with two"),
    ],
)
def test_what_cannot_be_used_is_said(change, said):
    rows = pd.DataFrame({"water": ["1", "1"], "lot": ["a", "b"], "level": [8.0, 8.4]})
    with pytest.raises(InputError, match=said) as caught:
        lot_table(rows.assign(**change), unit="dKH")
    assert caught.value.needed
    assert caught.value.repair


def test_no_rows_and_no_column_are_said():
    with pytest.raises(InputError, match="readings"):
        lot_table(pd.DataFrame({"water": [], "lot": [], "level": []}), unit="dKH")
    with pytest.raises(InputError, match="a column kit"):
        lot_table(table_of(FIVE), by="kit", unit="dKH")


def test_readers_are_called_readers():
    assert (noun("person", 3), named("person", "NJ"), named("kit", "kit A")) == (
        "readers", "NJ", "kit A",
    )  # fmt: skip
    rows = table_of(FIVE).rename(columns={"lot": "person"})
    assert lot_table(rows, by="person", unit="dKH").sentences[0].startswith("Of these 3 readers, c")
