"""The doses of a plan: times of day kept apart, table, totals, shopping, ions, pump settings."""

from __future__ import annotations

import csv
import datetime as dt
import io
import itertools
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reef_calc.chem.supplements import Supplement, level_rise, supplement_from_table
from reef_calc.errors import InputError
from reef_calc.log.plans import ContainerPhase
from reef_calc.plan.day_times import minutes_between, minutes_of, times_of_day
from reef_calc.plan.dose_sizes import room_for_doses
from reef_calc.plan.doses import container_phases, day_table, ions_per_day, shopping, totals
from reef_calc.plan.keep_apart import groups_apart, must_be_apart
from reef_calc.plan.pump_settings import pump_csv

DAY = dt.date(2026, 4, 1)
SHELF = (
    Supplement("soda", {"alkalinity": 1.0, "sodium": 23.0}),
    Supplement("bicarbonate", {"alkalinity": 0.6, "sodium": 14.0}),
    Supplement("calcium", {"calcium": 25.0, "chloride": 44.0}),
    Supplement("magnesium", {"magnesium": 24.0, "sulfate": 10.0, "chloride": 60.0}),
    Supplement("strontium", {"strontium": 3.0, "chloride": 2.4}),
    Supplement("potassium", {"potassium": 40.0, "chloride": 36.0}),
    Supplement("limewater", {"alkalinity": 0.04, "calcium": 0.8}),
    Supplement("told apart", {"iodine": 0.1}, keep_apart=("potassium",)),
)
shelves = st.lists(st.sampled_from(SHELF), min_size=1, max_size=8, unique_by=lambda s: s.name)


def phase(container: str, per_day: float, days: int, start: dt.date = DAY) -> ContainerPhase:
    last = start + dt.timedelta(days=days - 1)
    return ContainerPhase(container, "mL", start, last, per_day, 2, per_day / 2, ("08:00", "20:00"))


# ---------------------------------------------------------------- times of day


@settings(max_examples=80, deadline=None)
@given(shelves, st.data())
def test_what_must_not_meet_is_half_an_hour_apart(
    shelf: list[Supplement], data: st.DataObject
) -> None:
    room = room_for_doses(shelf)
    doses = {one.name: data.draw(st.integers(0, room)) for one in shelf}
    by_hand = data.draw(st.booleans())
    times = times_of_day({one.name: one for one in shelf}, doses, by_hand=by_hand)
    for one, other in itertools.combinations(shelf, 2):
        if must_be_apart(one, other):
            for a, b in itertools.product(times.get(one.name, ()), times.get(other.name, ())):
                assert minutes_between(a, b) >= 30, (one.name, a, other.name, b)
    for name, number in doses.items():
        own = times.get(name, ())
        assert len(own) == number and list(own) == sorted(own, key=minutes_of)
        # The doses of one container are spread: none nearer than half of the even distance.
        for a, b in itertools.combinations(own, 2):
            assert minutes_between(a, b) >= (360 if by_hand else 720) // number


def test_a_single_dose_and_doses_by_hand_lie_in_waking_hours() -> None:
    two = {one.name: one for one in (SHELF[0], SHELF[2])}
    assert times_of_day(two, {"soda": 1, "calcium": 0}) == {"soda": ("08:00",)}
    by_hand = times_of_day(two, {"soda": 2, "calcium": 2}, by_hand=True)
    assert by_hand == {"soda": ("08:00", "15:00"), "calcium": ("11:30", "18:30")}


def test_more_doses_than_the_clock_can_hold_apart() -> None:
    two = {one.name: one for one in (SHELF[0], SHELF[2])}
    with pytest.raises(InputError, match="at most 24 doses"):
        times_of_day(two, {"soda": 25, "calcium": 1})
    many = [Supplement(f"c{i}", {"iodine": 1.0}, keep_apart=tuple(f"c{j}" for j in range(60)))
            for i in range(49)]  # fmt: skip
    with pytest.raises(InputError, match="at most 48 kinds"):
        room_for_doses(many)


@settings(max_examples=40, deadline=None)
@given(shelves)
def test_groups_hold_only_what_may_meet(shelf: list[Supplement]) -> None:
    groups = groups_apart(shelf)
    for one, other in itertools.combinations(shelf, 2):
        if must_be_apart(one, other):
            assert groups[one.name] != groups[other.name]
            assert must_be_apart(other, one)


# ---------------------------------------------------------------- amounts


def test_the_table_adds_up_to_the_amounts_of_the_day() -> None:
    shelf = {one.name: one for one in SHELF[:4]}
    amounts = np.array([[120.0, 90.0], [0.0, 10.0], [77.5, 60.0], [5.0, 0.0]])
    doses = np.array([[6, 3], [0, 1], [5, 4], [1, 0]])
    spans = [(DAY, DAY + dt.timedelta(days=2)), (DAY + dt.timedelta(days=3), DAY + dt.timedelta(9))]
    phases = container_phases(shelf, amounts, doses, spans)
    table = day_table(phases)
    for column, span in enumerate(spans):
        own = table[table["date_from"] == span[0]]
        assert (own["date_to"] == span[1]).all()
        assert list(own["time"]) == sorted(own["time"])
        for row, name in enumerate(shelf):
            given_ = own[own["container"] == name]
            assert given_["amount"].sum() == pytest.approx(amounts[row, column])
            assert list(given_["dose_number"]) == list(range(1, doses[row, column] + 1))


@settings(max_examples=50, deadline=None)
@example([(8, 250.0), (12, 250.0), (1, 0.0)], 5.0)  # just enough, and nothing more is taken
@example([(20, 250.0), (1, 3.0)], 5.0)  # just enough, and then it is missed
@given(
    st.lists(st.tuples(st.integers(1, 12), st.sampled_from([0.0, 3.0, 40.0, 250.0])), min_size=1,
             max_size=4),
    st.sampled_from([0.05, 1.0, 5.0]),
)  # fmt: skip
def test_how_long_a_container_lasts_against_counting_days(
    parts: list[tuple[int, float]], litres: float
) -> None:
    start, phases, daily = DAY, [], []
    for days, amount in parts:
        phases.append(phase("soda", amount, days, start))
        start += dt.timedelta(days=days)
        daily += [amount] * days
    soda = {"soda": Supplement("soda", {"alkalinity": 1.0}, container_L=litres)}
    row = totals(tuple(phases), soda).iloc[0]
    assert row["total"] == pytest.approx(sum(daily))
    left, whole_days = 1000.0 * litres, 0
    daily += [parts[-1][1]] * 3000
    for amount in daily:
        if amount > left + 1e-6:
            break
        left -= amount
        whole_days += 1
    if parts[-1][1] == 0.0 and whole_days == len(daily):
        assert math.isnan(row["lasts_days"]) and row["runs_out"] is None
    else:
        assert row["lasts_days"] == whole_days
        if whole_days <= 3650:
            assert row["runs_out"] == DAY + dt.timedelta(days=whole_days)


def test_a_container_of_unknown_size_says_nothing() -> None:
    row = totals((phase("soda", 50.0, 30),), {"soda": SHELF[0]}).iloc[0]
    assert math.isnan(row["lasts_days"]) and row["runs_out"] is None
    assert math.isnan(row["containers_needed"])


def test_shopping_is_the_recipe_times_the_litres() -> None:
    recipe = [
        {"salt": "magnesium chloride", "hydrate": 6, "grams_per_L": 200.0},
        {"salt": "magnesium sulfate", "hydrate": 7, "grams_per_L": 25.0},
    ]
    stock = supplement_from_table("magnesium", {"recipe": recipe})
    bottle = Supplement("bottle", {"iodine": 0.1})
    found = shopping(
        (phase("magnesium", 20.0, 30), phase("bottle", 2.0, 30)),
        {"magnesium": stock, "bottle": bottle},
    )
    assert found["amount"].tolist() == pytest.approx([120.0, 15.0, 60.0])
    assert found["unit"].tolist() == ["g", "g", "mL"]
    assert shopping((phase("bottle", 0.0, 30),), {"bottle": bottle}).empty


def test_ions_are_what_the_balance_counts() -> None:
    stock = supplement_from_table(
        "calcium",
        {
            "recipe": [{"salt": "calcium chloride", "hydrate": 2, "grams_per_L": 80.0}],
            "delivered_over_set": {"value": 0.94, "u": 0.01},
        },
    )
    row = ions_per_day((phase("calcium", 192.0, 5),), {"calcium": stock}, 462.0).iloc[0]
    for name in ("calcium", "chloride"):
        rise = level_rise(stock, 192.0 * 0.94, "mL", name, 462.0, "mg/L")
        assert row[name] == pytest.approx(rise, rel=1e-12)
    # Two chlorides go with each calcium: 1.7692 g/g (atomic weights of CIAAW 2021).
    assert row["chloride"] / row["calcium"] == pytest.approx(1.7692, rel=1e-4)


def test_pump_settings_read_back_to_the_amounts() -> None:
    phases = (phase("soda, strong", 33.3, 3), phase("calcium", 0.0, 3))
    rows = list(csv.DictReader(io.StringIO(pump_csv(phases))))
    assert [row["container"] for row in rows] == ["soda, strong", "calcium"]
    assert float(rows[0]["amount per dose"]) * int(rows[0]["doses per day"]) == pytest.approx(33.3)
    assert rows[0]["times"].split(";") == ["08:00", "20:00"]
    assert rows[0]["end date"] == "2026-04-03"
