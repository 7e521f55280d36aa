"""Which kit lies nearer to the standards, and what is said where none was read."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reef_calc import open_tank
from reef_calc.bench.kit_bias import bias_of_kit
from reef_calc.bench.standard_readings import Bottle
from reef_calc.compare.belief_words import differ_words, readings_that_decide
from reef_calc.compare.bias_together import Contrast, biases_together
from reef_calc.compare.which_to_believe import which_to_believe
from reef_calc.errors import InputError
from reef_calc.messages import codes
from tests.compare.test_lots_in_log import TWO, three
from tests.folders import STANDARDS, make_tank, reading

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"
TODAY = dt.date(2026, 3, 20)


def check(day: int, value: float, kit: str, standard: str = "eight", lot: str | None = None):
    lot = ("A1" if kit == "drops" else "") if lot is None else lot
    return reading(f"2026-03-{day:02}T18:00", value, water=f"standard {standard}", kit=kit, lot=lot)


def believe(path: Path, rows: list[dict], kits=("drops", "other"), **call):
    standards = STANDARDS + (
        '[standard.twelve]\nelement = "alkalinity"\nvalue = 12.0\nunit = "dKH"\nu = 0.05\n'
    )
    tank = make_tank(path, kits=TWO, readings=rows, standards=standards)
    return which_to_believe(tank, "alkalinity", kits, today=TODAY, **call)


def told(found) -> str:
    return " ".join([*found.sentences, found.help, *(one.text for one in found.messages)])


def test_demo_kit_A_lies_nearer():
    # Lot A-2 reads 0.05 high and kit B 0.40 high (data_demo/truth.toml).
    found = which_to_believe(
        open_tank(DEMO), "alkalinity", ["kit A", "kit B"], today=dt.date(2026, 10, 1)
    )
    assert found.pairs[0].nearer == "kit A lot A-2"
    for kit, truth in zip(found.kits, (0.05, 0.40), strict=True):
        assert kit.bias.low < truth < kit.bias.high
    assert found.pairs[0].on_standard.low < 0.35 < found.pairs[0].on_standard.high
    assert found.kits[1].recovery[0] == pytest.approx(1 + found.kits[1].bias.value / 8.0)
    assert "MATRIX_SHOWN" not in codes(found.messages)
    assert found.sentences[0].startswith("Kit A lot A-2 lies nearer to the standard of 8.00 dKH")


def test_the_unit_changes_the_numbers_and_not_the_verdict():
    tank = open_tank(DEMO)
    one, other = (
        which_to_believe(tank, "alkalinity", ["kit B", "kit A"], unit, today=dt.date(2026, 10, 1))
        for unit in ("dKH", "meq/L")
    )
    assert one.pairs[0].nearer == other.pairs[0].nearer
    ratio = one.kits[0].bias.value / other.kits[0].bias.value
    assert ratio == pytest.approx(one.level / other.level, rel=1e-9)


def test_alone_a_kit_has_the_bias_of_the_bench():
    read, sd, r, u = [8.3, 8.1, 8.4], 0.15, 0.1, 0.05
    rows = pd.DataFrame(
        {"name": "A", "bottle": ["x", "x", "y"], "deviation": np.array(read) - 8.0, "u": u,
         "sd": sd, "resolution": r, "sd_df": 20.0}
    )  # fmt: skip
    one = biases_together(rows).contrast({"A": 1.0})
    bottles = {"x": Bottle(8.0, u), "y": Bottle(8.0, u)}
    known = bias_of_kit(read, ["x", "x", "y"], bottles, sd=sd, resolution=r, unit="dKH")
    assert (one.value, one.u, one.t) == pytest.approx(
        (known.difference, known.u, known.forms[0].t), rel=1e-9
    )


def test_the_bottle_both_read_drops_out_of_their_difference():
    rows = pd.DataFrame(
        {"name": ["A", "A", "B", "B"], "bottle": "x", "deviation": [0.0, 0.1, 0.3, 0.4],
         "u": 0.3, "sd": 0.1, "resolution": 0.0, "sd_df": math.inf}
    )  # fmt: skip
    found = biases_together(rows)
    assert found.contrast({"A": -1.0, "B": 1.0}).u == pytest.approx(0.1, rel=1e-9)
    assert found.contrast({"A": 1.0}).u == pytest.approx(math.sqrt(0.1**2 / 2 + 0.3**2), rel=1e-9)
    apart = biases_together(rows.assign(bottle=["x", "x", "y", "y"]))
    assert apart.contrast({"A": -1.0, "B": 1.0}).u == pytest.approx(
        math.sqrt(0.1**2 + 2 * 0.3**2), rel=1e-9
    )
    drifted = biases_together(rows, {"A": 0.4}).contrast({"A": -1.0, "B": 1.0})
    assert drifted.u == pytest.approx(math.hypot(0.1, 0.4), rel=1e-9)


def test_intervals_of_biases_cover_the_truth():
    # Own simulation: two kits on one bottle of unknown error, scatter known.
    rng = np.random.default_rng(21)
    inside = np.zeros(2)
    for _ in range(400):
        eta = rng.normal(0, 0.05)
        rows = pd.DataFrame(
            {"name": ["A"] * 3 + ["B"] * 2, "bottle": "x", "u": 0.05, "sd": [0.1] * 3 + [0.15] * 2,
             "deviation": eta + np.r_[rng.normal(0.2, 0.1, 3), rng.normal(-0.1, 0.15, 2)],
             "resolution": 0.0, "sd_df": math.inf}
        )  # fmt: skip
        found = biases_together(rows)
        for i, (weights, truth) in enumerate((({"A": 1.0}, 0.2), ({"B": 1.0, "A": -1.0}, -0.3))):
            one = found.contrast(weights)
            inside[i] += one.low < truth < one.high
    assert (inside / 400 > 0.92).all()
    assert (inside / 400 < 0.98).all()


def test_without_a_standard_kits_only_differ(tmp_path):
    found = believe(tmp_path, three())
    assert found.pairs[0].nearer == ""
    # Three waters, and steps of 0.5 dKH that do not average away.
    assert found.sentences[0].startswith(
        "Drops lot A1 and other cannot be told apart on 3 waters: a"
    )
    assert {"COARSE", "FEW", "NO_STANDARD"} <= set(codes(found.messages))
    assert "neither can be called nearer" in found.sentences[0]
    for word in ("right", "wrong", "believe"):
        assert word not in told(found)
    assert found.help.startswith("Read the same standard near the level you keep, three times")
    assert found.summary.empty


def test_one_standard_only_calls_neither_nearer(tmp_path):
    found = believe(tmp_path, three() + [check(1, 8.0, "drops"), check(2, 8.0, "drops")])
    assert found.pairs[0].nearer == ""
    assert "No usable standard speaks for other" in found.sentences[0]
    assert found.kits[0].bias is not None
    assert "with other." in found.help


def test_nothing_in_common_is_said(tmp_path):
    found = believe(tmp_path, [reading("2026-03-01T10:00", 8.0, kit="drops", lot="A1")])
    assert "no water was read with both within an hour" in found.sentences[0]


def test_a_difference_of_the_log_can_be_handed_in(tmp_path):
    rows = [reading("2026-03-01T10:00", 8.0, kit="drops", lot="A1")]
    found = believe(tmp_path, rows, differences={("other", "drops"): (-0.4, -0.6, -0.2)})
    assert found.sentences[0].startswith(
        "Other reads 0.40 dKH higher than drops lot A1 (0.20 to 0.60) in the log."
    )
    with pytest.raises(InputError, match="its interval"):
        believe(tmp_path / "x", rows, differences={("other", "drops"): (0.4, 0.6, 0.2)})


def test_on_either_side_of_the_standard_none_is_nearer(tmp_path):
    rows = [check(d, 7.0, "drops") for d in (1, 2, 3, 4)]
    rows += [check(d, 9.0, "other") for d in (1, 2, 3, 4)]
    found = believe(tmp_path, rows)
    assert found.pairs[0].nearer == ""
    assert "which of the two lies nearer to it cannot be told" in found.sentences[0]
    assert "hardly" in told(found) or "will not tell" in found.help


def test_both_off_one_less(tmp_path):
    rows = [check(d, 8.5, "drops") for d in range(1, 9)]
    rows += [check(d, 9.5 + 0.1 * (d % 2), "other") for d in range(1, 9)]
    found = believe(tmp_path, rows)
    assert found.pairs[0].nearer == "drops lot A1"
    assert "It is off too, by less." in found.sentences[0]


def test_another_lot_of_standards_does_not_count(tmp_path):
    rows = [check(1, 8.0, "drops", lot="A0"), check(2, 8.0, "drops", lot="A0")]
    rows += [check(3, 8.0, "other"), reading("2026-03-05T10:00", 8.0, kit="drops", lot="A1")]
    found = believe(tmp_path, rows)
    assert found.kits[0].bias is None
    assert "Lot A1 of drops was not read on a standard." in told(found)
    old = believe(tmp_path / "old", rows, lots={"drops": "A0"})
    assert old.kits[0].readings == 2


def test_the_tank_water_may_say_otherwise(tmp_path):
    rows = three() + [
        check(d, v, kit) for d in range(6, 14) for kit, v in (("drops", 8.0), ("other", 7.2))
    ]
    found = believe(tmp_path, rows)
    text = {one.code: one.text for one in found.messages}["MATRIX_SHOWN"]
    assert (
        "is 0.30 dKH in the tank's water and −0.80 dKH on the standard" in text or "0.3 dKH" in text
    )


def test_standards_of_another_level_stay_out(tmp_path):
    rows = [reading("2026-03-01T10:00", 8.0, kit="drops", lot="A1")]
    rows += [check(d, 8.0, kit) for d in (2, 3) for kit in ("drops", "other")]
    rows += [check(4, 12.5, "drops", "twelve")]
    found = believe(tmp_path, rows)
    assert found.level == pytest.approx(8.0)
    assert found.kits[0].readings == 2
    assert "OTHER_LEVELS" in codes(found.messages)


def test_an_unsure_bottle_is_the_floor(tmp_path):
    rows = [check(d, 8.0 + 0.5 * (d % 2), "drops") for d in range(1, 20)]
    found = believe(tmp_path, rows, kits=["drops"])
    # s0 = √(0.2² + 0.5²/12) = 0.247; (0.247/0.05)² = 24 readings.
    assert found.kits[0].most_readings == 24
    assert "FLOOR" not in codes(found.messages)
    assert found.kits[0].bias.u > found.kits[0].u_standard == pytest.approx(0.05, rel=1e-9)


def test_drift_widens_where_three_lots_have_shown_it(tmp_path):
    kits = TWO.replace(
        '[[kit.drops.lot]]\nname = "A1"\nopened = 2026-01-01\nexpires = 2026-12-31\n', ""
    )
    rows = []
    for month, lot in ((1, "L1"), (4, "L2"), (7, "L3")):
        for later, off in ((0, 0.0), (60, 1.5)):
            day = dt.date(2026, month, 1) + dt.timedelta(later)
            rows.append(
                reading(f"{day}T10:00", 8.0 + off, water="standard eight", kit="other", lot=lot)
            )
    tank = make_tank(tmp_path, kits=kits, readings=rows)
    near, far = (
        which_to_believe(tank, "alkalinity", ["other"], today=today)
        for today in (dt.date(2026, 9, 1), dt.date(2027, 3, 1))
    )
    assert near.kits[0].per_quarter > 0.3
    assert far.kits[0].bias.u > near.kits[0].bias.u
    assert "DRIFT" in codes(far.messages)
    assert len(far.kits[0].history.bias) == 6


@pytest.mark.parametrize(
    ("kits", "call", "said"),
    [
        ([], {}, "one kit or more"),
        (["nothing"], {}, "a kit for alkalinity"),
        (["syringe"], {}, "a kit for alkalinity"),
        (["drops", "drops"], {}, "each kit once"),
        (["drops"], {"lots": {"drops": "Z"}}, "a lot of drops"),
    ],
)
def test_what_cannot_be_asked_is_said(tmp_path, kits, call, said):
    with pytest.raises(InputError, match=said):
        believe(tmp_path, three(), kits=kits, **call)


def test_a_report_of_many_elements_is_told_not_refused(tmp_path):
    rows = [reading("2026-03-01T10:00", 8.0, kit="laboratory"), *three()]
    found = believe(tmp_path, rows, kits=["drops", "laboratory"])
    assert "Laboratory is not described as a kit with one unit" in told(found)


def test_readings_that_decide_close_the_loop():
    assert readings_that_decide(Contrast(1.0, 0.1, 2.0), 0.0, 3) == 0
    for value, u, stays, n in ((0.2, 0.15, 0.05, 2), (0.3, 0.2, 0.1, 4)):
        more = readings_that_decide(Contrast(value, u, 2.0), stays, n)
        own = u**2 - stays**2
        assert 2.0 * math.sqrt(own * n / (n + more) + stays**2) <= value + 1e-9
        assert 2.0 * math.sqrt(own * n / (n + more - 1) + stays**2) > value


def test_words_without_an_open_end():
    assert differ_words("a", "b", (-0.2, -0.3, -0.1), "dKH", 3) == (
        "B reads 0.20 dKH lower than a (0.10 to 0.30) on 3 waters."
    )
