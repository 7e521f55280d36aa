"""Invented standings for tests of the pages: one of every kind a review has to show."""

from __future__ import annotations

import dataclasses
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.findings import FoundEvent, RateCurve
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.messages import Message
from reef_calc.plan.decision import Decision
from reef_calc.show.standing import Standing

ZONE = "Europe/London"
END = pd.Timestamp("2026-09-30T23:00", tz="UTC")
NAN = float("nan")


def frame(columns: str, rows: list[tuple[Any, ...]]) -> pd.DataFrame:
    """A frame with named columns, whose time columns are UTC even when it is empty."""
    table = pd.DataFrame(rows, columns=columns.split())
    for name in ("time", "start", "stop"):
        if name in table:
            table[name] = pd.to_datetime(table[name], utc=True)
    return table


READINGS = "row time date_only level sd kit lot limit upper by mark why"
MONTHS = "month start stop rate low high dosed readings difference difference_low difference_high verdict"


def readings(
    days_before: Any, levels: Any, sd: float, kit: str = "kit A", **other: Any
) -> list[tuple[Any, ...]]:
    base = {"lot": "", "limit": "", "upper": NAN, "by": "class 9b", "mark": "used", "why": ""}
    base |= other
    return [
        (
            2 + i, END - pd.Timedelta(days=float(d), hours=5), False, float(v), sd, kit,
            base["lot"], base["limit"], base["upper"], base["by"], base["mark"], base["why"],
        )
        for i, (d, v) in enumerate(zip(days_before, levels, strict=True))
    ]  # fmt: skip


def months(rates: list[float], half: list[float], dosed: list[float]) -> pd.DataFrame:
    rows: list[tuple[Any, ...]] = []
    starts = pd.date_range(end="2026-09-01", periods=len(rates), freq="MS", tz=ZONE)
    for i, start in enumerate(starts):
        known = np.isfinite(rates[i])
        before = i > 0 and known and np.isfinite(rates[i - 1])
        gap = rates[i] - rates[i - 1] if before else NAN
        reach = 1.4 * half[i] if before else NAN
        verdict = "cannot tell"
        if before:
            verdict = "changed" if abs(gap) > reach else "no change shown"
        rows.append(
            (
                f"{start:%Y-%m}", start, start + pd.offsets.MonthBegin(1), rates[i],
                rates[i] - half[i], rates[i] + half[i], dosed[i], 10 if known else 0,
                gap, gap - reach, gap + reach, verdict,
            )
        )  # fmt: skip
    return frame(MONTHS, rows)


def estimate(element: str, unit: str, rate: tuple[Any, Any, Any], **other: Any) -> Any:
    fields: dict[str, Any] = {
        "behaviour": "used",
        "zone": ZONE,
        "since": END - pd.Timedelta(days=90),
        "until": END,
        "basis": "steady use, 90 days to 30 Sep 2026",
        "dose_now": 0.0,
        "used": frame("time level sd n kit lot rows fitted residual", []),
        "left_out": frame("time row why", []),
        "months": frame(MONTHS, []),
        "cross_checks": frame("method rate low high note", []),
        "budget": frame("source u share note", []),
        "weights": frame("cv weight rate scale degrees_of_freedom", []),
        "arithmetic": (),
        "messages": (),
    }
    fields |= other
    return ConsumptionEstimate(element, unit, rate=rate[0], low=rate[1], high=rate[2], **fields)


def standing(
    element: str, unit: str, rows: list[tuple[Any, ...]], decision: Decision, use: Any, **other: Any
) -> Standing:
    table = frame(READINGS, rows).sort_values("time", ignore_index=True)
    weekly = [(END - pd.Timedelta(days=7 * i + 2), 0.1, 54.0) for i in range(52)]
    fields: dict[str, Any] = {
        "low": None,
        "aim": None,
        "high": None,
        "doses": frame("start stop rate", []),
        "one_off": frame("time rise supplement", []),
        "changes": frame("time fraction litres", weekly),
        "events": frame("time kind note", []),
        "decimals": 1,
    }
    fields |= other
    return Standing(
        tank="Classroom reef", element=element, unit=unit, month="2026-09", zone=ZONE,
        readings=table, use=use, decision=decision, **fields,
    )  # fmt: skip


def ago(days: float) -> pd.Timestamp:
    return END - pd.Timedelta(days=days)


def alkalinity(days: int = 345, every: int = 3) -> Standing:
    """Two kits, one doubted reading, a dose step, a gap in the log, a use that rose."""
    rng = np.random.default_rng(1)
    before = np.arange(days, 0, -every, dtype=float)
    truth = 7.9 + 0.25 * np.sin(before / 35) - 0.075 * np.clip(24 - before, 0, None)
    level = np.round(truth + rng.normal(0, 0.1, before.size), 1)
    rows = readings(before[before >= 120], level[before >= 120], 0.15, "kit A", lot="A12")
    rows += readings(before[before < 120], level[before < 120], 0.08, "kit B <half size>", lot="B7")
    why = "9.4 dKH does not fit its neighbours: 1.4 above them. A slip of the syringe fits."
    rows += readings([174.0], [9.4], 0.15, "kit A", mark="doubted", why=why)
    use = estimate(
        "alkalinity", "dKH", (1.041, 1.002, 1.079),
        dose_now=0.94,
        months=months(
            [0.85, 0.86, 0.84, 0.85, NAN, 0.86, 0.88, 0.91, 0.92, 0.92, 0.93, 1.01],
            [0.05, 0.03, 0.03, 0.04, NAN, 0.04, 0.03, 0.03, 0.03, 0.03, 0.03, 0.04],
            [0.86, 0.86, 0.86, 0.86, 0.86, 0.86, 0.88, 0.94, 0.94, 0.94, 0.94, 0.94],
        ),
        cross_checks=frame(
            "method rate low high note",
            [
                ("least squares", 1.031, 1.012, 1.050, "the use taken as the same every day"),
                ("Huber", 1.033, 1.014, 1.052, "as above, far readings weigh less"),
            ],
        ),
        budget=frame(
            "source u share note",
            [
                ("scatter of the readings", 0.012, 0.39, "from the residuals"),
                ("use differs from day to day", 0.014, 0.53, "averaged over 0 to 28 %"),
                ("pump and strength", 0.005, 0.08, "typed: 0.5 %"),
            ],
        ),
        weights=frame(
            "cv weight rate scale degrees_of_freedom",
            [(0.0, 0.31, 1.039, 0.11, 48), (0.1, 0.58, 1.042, 0.1, 48), (0.28, 0.11, 1.05, 0.09, 48)],
        ),
        arithmetic=(
            "Level on 2 Jul 8.2 dKH; on 29 Sep 6.4 dKH: it fell by 1.8 dKH.",
            "Doses in that time brought 84.6 dKH; 13 water changes of 10 % took 7.1 dKH back.",
            "(1.8 + 84.6 + 7.1) / 90 days = 1.04 dKH a day.",
        ),
        messages=(
            Message(
                "RATE_CHANGED",
                "More is used than the doses bring: use rose, or less was delivered than set "
                "(pump, hose, air, empty or weak container), or the salt mix changed.",
            ),
            Message("RECENT_CHANGE_INVISIBLE", "A change of 25 % shows after about 8 days."),
        ),
    )  # fmt: skip
    decision = Decision(
        "change", "raise", "Raise the dose: 0.94 to 1.04 dKH a day",
        "Below the aim since 22 Sep. Use rose by 13 % (7 to 19) about 3 weeks ago. First bring "
        "back 6.4 to 7.5: +1.1 dKH over at least 3 days.",
        (
            "Measure the pump into a cylinder before you raise the dose.",
            "At most 0.5 dKH a day; keep it apart from the calcium supplement.",
            "Read the label and the safety data sheet first. Wear gloves and eye protection.",
        ),
    )  # fmt: skip
    return standing(
        "alkalinity", "dKH", rows, decision, use, low=7.0, aim=7.8, high=8.5,
        doses=frame(
            "start stop rate",
            [
                (ago(400), ago(145), 0.86),
                (ago(145), ago(80), 0.94),
                (ago(80), ago(73), NAN),
                (ago(73), END, 0.94),
            ],
        ),
        one_off=frame("time rise supplement", [(ago(60), 0.4, "soda & water"), (ago(200), 0.3, "")]),
        events=frame(
            "time kind note",
            [
                (ago(24), "corals added", "three <b>Acropora</b> from the nursery"),
                (ago(21), "pump measured", ""),
                (ago(119), "lot opened", "kit B, lot B7"),
                (ago(150), "lights changed", ""),
            ],
        ),
    )  # fmt: skip


def change(
    kind: str, since: float, until: float, size: tuple[float, float, float], **other: Any
) -> FoundEvent:
    """A finding between two days before the end of the month."""
    fields: dict[str, Any] = {
        "word": "found", "probability": 0.97, "rows": (), "text": f"A {kind} between two readings.",
        "fits": "Corals added, a salt mix, a pump: the readings cannot tell which.",
    }  # fmt: skip
    fields |= other
    low, high = size[1:]
    return FoundEvent(
        f"{kind} {since:g}", kind, start=ago(since), stop=ago(until),
        size=size[0], low=low, high=high, **fields,
    )  # fmt: skip


def curve(
    before: Any, segments: list[tuple[float, float, float, float]], width: float = 1.0
) -> RateCurve:
    """A use over time: steps (since, until, rate, half-width), smoothed where they meet."""
    before = np.sort(np.asarray(before, dtype=float))[::-1]
    edges = [(s + u) / 2 for (_, s, *_), (u, *_) in pairwise(segments)]
    rate = np.full(before.size, segments[0][2])
    for edge, (first, second) in zip(edges, pairwise(segments), strict=True):
        rate += (second[2] - first[2]) / (1 + np.exp((before - edge) / 4))
    near = np.min([np.abs(before - e) for e in [before[0], before[-1], *edges]], axis=0)
    half = width * segments[0][3] * (1 + 1.5 * np.exp(-near / 8))
    rows = [(ago(a), ago(b), rate_, rate_ - h, rate_ + h) for a, b, rate_, h in segments]
    return RateCurve(
        pd.DatetimeIndex([ago(d) for d in before]), tuple(rate), tuple(rate - half),
        tuple(rate + half), frame("start stop rate low high", rows),
    )  # fmt: skip


def ratios(values: list[float], half: list[float]) -> pd.DataFrame:
    table = months(values, half, [0.0] * len(values))
    return table.rename(columns={"rate": "ratio"})[
        ["month", "start", "stop", "ratio", "low", "high"]
    ]


def alkalinity_history(**other: Any) -> Standing:
    """The whole history: two changes of use, a step of the level, slips, two answers now."""
    before = alkalinity()
    table = before.readings.copy()
    slip, doubt = int(table["row"].iloc[60]), table["mark"] == "doubted"
    table.loc[doubt, "row"] = 900
    findings = (
        change("rate change", 204.0, 198.0, (0.11, 0.04, 0.18), word="likely"),
        change(
            "rate change", 27.0, 21.0, (0.22, 0.1, 0.34), word="possible", probability=0.6,
            coincidence="Corals were added on 6 Sep, which may be a coincidence.",
        ),
        change("level step", 96.0, 93.0, (0.52, 0.31, 0.74), word="likely"),
        change("gross error", 177.0, 174.0, (1.4, 1.1, 1.7), rows=(900,)),
        change("gross error", 168.0, 165.0, (0.3, 0.1, 0.5), rows=(slip,), word="possible"),
        change("rate change", 130.0, 124.0, (0.1, 0.0, 0.2), decision="rejected"),
    )  # fmt: skip
    fields: dict[str, Any] = {
        "rate": 1.04, "low": 0.93, "high": 1.29,
        "curve": curve(
            np.arange(345, 0, -3),
            [(345, 201, 0.85, 0.03), (201, 24, 0.93, 0.03), (24, 1, 1.1, 0.09)],
        ),
        "findings": findings,
        "humps": ((0.6, 1.004, 0.95, 1.06), (0.4, 1.22, 1.11, 1.33)),
        "p_not_constant": 0.7,
        "if_nothing_changed": SimpleNamespace(weight=0.3, rate=0.94, low=0.91, high=0.97),
        "invisible_days": 8.0,
        "beside": (
            SimpleNamespace(
                title="Without the last reading", rate=0.98, low=0.92, high=1.04,
                words="The last reading <alone> moves it by 0.06.", unit="dKH",
            ),
        ),
        "messages": (),
    }  # fmt: skip
    assert before.use is not None
    use = dataclasses.replace(before.use, **(fields | other))
    ratio = ratios(
        [7.0, 6.9, 7.2, 6.8, NAN, 6.9, 7.1, 6.6, 6.4, 6.2, 5.9, 5.7],
        [0.9, 0.7, 0.6, 4.9, NAN, 0.6, 0.6, 0.5, 0.5, 0.5, 0.4, 0.4],
    )
    return dataclasses.replace(before, readings=table, use=use, ratio=ratio)


def nitrate_history() -> Standing:
    """What only rises or falls, with one change and two answers."""
    before = nitrate()
    assert before.use is not None
    use = dataclasses.replace(
        before.use,
        curve=curve(np.arange(88, 0, -8), [(88, 40, 0.02, 0.04), (40, 8, -0.1, 0.03)]),
        findings=(change("rate change", 48.0, 40.0, (-0.12, -0.18, -0.06)),),
        humps=((0.75, -0.11, -0.14, -0.08), (0.25, -0.03, -0.06, 0.0)),
        p_not_constant=0.99, if_nothing_changed=None,
    )  # fmt: skip
    return dataclasses.replace(before, use=use)


def calcium_history() -> Standing:
    """Calcium over time, with the ratio and calcium alone beside it."""
    before = calcium()
    assert before.use is not None
    use = dataclasses.replace(
        before.use,
        curve=curve(np.arange(340, 0, -7), [(340, 25, 6.4, 0.3), (25, 1, 7.2, 0.4)]),
        beside=(
            SimpleNamespace(
                title="Calcium readings alone", rate=6.9, low=5.6, high=8.2,
                words="Most of the rate above comes from the alkalinity readings.", unit="mg/L",
            ),
        ),
        p_not_constant=0.01, invisible_days=21.0,
        if_nothing_changed=SimpleNamespace(weight=0.99, rate=7.2, low=6.8, high=7.6),
    )  # fmt: skip
    return dataclasses.replace(before, use=use, ratio=ratios([7.0, 6.9, 7.0], [0.6, 0.5, 0.5]))


def histories() -> list[Standing]:
    return [alkalinity_history(), calcium_history(), nitrate_history()]


def planned(
    name: str, unit: str, rate: float, widths: tuple[float, ...], at: list[float]
) -> tuple[pd.DataFrame, SimpleNamespace]:
    """Proposed days (after the end of the month) of one element, and what they will show."""
    end = (END - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1)
    times = end - np.arange(60.0, 1, -7)
    keys = ("now", "after", "one_more", "finer_kit", "longer_span")
    outlook = SimpleNamespace(
        element=SimpleNamespace(name=name, unit=unit, rate=rate, times=times),
        planned=len(at), one_more_at=end + 20, text=f"The {name} readings are too few.",
        **dict(zip(keys, widths, strict=True)),
    )  # fmt: skip
    days = [end + d for d in at]
    return pd.DataFrame({"time": days, "element": name, "half_width": widths[1]}), outlook


def plans() -> tuple[pd.DataFrame, list[SimpleNamespace]]:
    inf = float("inf")
    made = [
        planned(
            "alkalinity", "dKH", 1.0, (0.048, 0.021, 0.0202, 0.014, 0.012), [1, 4, 8, 12, 19, 26]
        ),
        planned("calcium", "mg/L", 7.0, (inf, 0.57, 0.50, 0.46, 0.36), [4, 11, 18, 26]),
        planned("magnesium", "mg/L", -0.7, (1.9, 0.81, 0.8, 0.78, 0.76), [26]),
        planned("iodine", "mg/L", 0.01, (inf, inf, inf, inf, inf), []),
    ]
    return pd.concat([p for p, _ in made if len(p)], ignore_index=True), [o for _, o in made]


def phosphate() -> Standing:
    """Many readings below the limit of the kit; no rate."""
    before = np.arange(340.0, 1, -6)
    rng = np.random.default_rng(2)
    level = np.round(0.05 + 0.012 * rng.standard_normal(before.size), 2)
    hidden = (before < 290) & (before > 120)
    rows = readings(before[~hidden], level[~hidden], 0.008)
    rows += readings(
        before[hidden], np.full(int(hidden.sum()), 0.02), 0.008,
        limit="<", mark="beyond limit", why="Below what the kit can see, 0.02 mg/L.",
    )  # fmt: skip
    use = estimate(
        "phosphate", "mg/L", (None, None, None), behaviour="net", basis="",
        months=months([NAN] * 12, [NAN] * 12, [0.0] * 12),
        messages=(
            Message(
                "CENSORED",
                "29 of 57 readings lie below the kit’s limit of 0.02 mg/L, so no rate can be told.",
                "refused",
            ),
        ),
    )  # fmt: skip
    decision = Decision(
        "test", "test", "Test twice within a week",
        "No rate: 29 readings of the year lay below 0.02 mg/L.",
    )  # fmt: skip
    return standing(
        "phosphate", "mg/L", rows, decision, use, low=0.03, high=0.10, decimals=2
    )  # fmt: skip


def magnesium() -> Standing:
    """Six readings: the interval covers zero."""
    use = estimate(
        "magnesium", "mg/L", (0.7, -0.41, 1.85), dose_now=0.9,
        months=months([NAN, 0.6, 0.8], [NAN, 2.6, 2.9], [0.9, 0.9, 0.9]),
        messages=(
            Message(
                "ZERO_INSIDE",
                "No consumption shown: less than 1.9 mg/L a day. From the alkalinity used, "
                "0.2 to 0.9 mg/L a day would be expected.",
                "qualified",
            ),
        ),
    )  # fmt: skip
    decision = Decision("leave", "keep", "Keep the dose", "In the aim. No use shown.")
    rows = readings([80, 66, 51, 36, 20, 5], [1320, 1315, 1330, 1310, 1325, 1313], 15.0)
    return standing(
        "magnesium", "mg/L", rows, decision, use, low=1280.0, high=1380.0, decimals=0,
        doses=frame("start stop rate", [(ago(400), pd.NaT, 0.9)]),
    )  # fmt: skip


def calcium() -> Standing:
    rng = np.random.default_rng(5)
    before = np.arange(340.0, 1, -7)
    level = np.round((425 + 8 * np.sin(before / 30) + rng.normal(0, 4, before.size)) / 5) * 5
    use = estimate(
        "calcium", "mg/L", (7.21, 6.8, 7.64), dose_now=6.5,
        months=months(
            [6.1, 6.2, 6.0, 6.3, 6.2, 6.3, 6.4, 6.5, 6.6, 6.6, 6.8, 7.2],
            [0.9, 0.7, 0.7, 0.6, 0.6, 0.6, 0.5, 0.5, 0.5, 0.5, 0.5, 0.6],
            [6.5] * 12,
        ),
    )  # fmt: skip
    decision = Decision(
        "change", "raise", "Raise the dose: 6.5 to 7.2 mg/L a day",
        "Use rose together with alkalinity, 7.0 mg/L per dKH.",
        (
            "Measure the pump into a cylinder before you raise the dose.",
            "At most 20 mg/L a day.",
            "Read the label and the safety data sheet first. Wear gloves and eye protection.",
        ),
    )  # fmt: skip
    return standing(
        "calcium", "mg/L", readings(before, level, 5.0), decision, use, low=410.0, high=440.0,
        decimals=0, doses=frame("start stop rate", [(ago(400), END, 6.5)]),
    )  # fmt: skip


def nitrate() -> Standing:
    use = estimate(
        "nitrate", "mg/L", (-0.1, -0.125, -0.075), behaviour="net",
        months=months([0.02, -0.06, -0.1], [0.05, 0.04, 0.03], [0.0, 0.0, 0.0]),
    )  # fmt: skip
    decision = Decision(
        "change", "look", "Find out why it rises",
        "At the upper end of the aim, up 3 mg/L in 30 days. What fits stands below.",
    )  # fmt: skip
    rows = readings(np.arange(88.0, 1, -8), [7, 6, 6, 7.5, 7, 7, 7, 6, 7, 8, 10], 0.8)
    return standing("nitrate", "mg/L", rows, decision, use, low=2.0, high=10.0, decimals=0)


def strontium() -> Standing:
    """Two readings: no rate at all."""
    use = estimate(
        "strontium", "mg/L", (None, None, None), dose_now=0.03, basis="",
        messages=(
            Message("TOO_FEW", "Too few readings to tell: two more within a week would do.", "refused"),
        ),
    )  # fmt: skip
    decision = Decision("test", "test", "Test on 12 Oct", "Two readings say too little.")
    return standing(
        "strontium", "mg/L", readings([40, 9], [8.1, 8.6], 0.4), decision, use, low=7.0, high=9.0,
        doses=frame("start stop rate", [(ago(400), END, 0.03)]),
    )  # fmt: skip


def iodine() -> Standing:
    """No reading yet."""
    use = estimate("iodine", "mg/L", (None, None, None), basis="")
    decision = Decision("test", "test", "Test for the first time", "There is no reading yet.")
    return standing(
        "iodine", "mg/L", [], decision, use, low=0.04, high=0.08, decimals=2,
        changes=frame("time fraction litres", []),
    )  # fmt: skip


def salinity() -> Standing:
    """A state of the water: no use; one reading."""
    decision = Decision("leave", "keep", "Leave it", "In the aim.")
    return standing(
        "salinity", "PSU", readings([3], [35.1], 0.3), decision, None, low=34.0, high=36.0
    )  # fmt: skip


def all_standings() -> list[Standing]:
    return [
        alkalinity(), calcium(), nitrate(), phosphate(), strontium(), iodine(), magnesium(), salinity(),
    ]  # fmt: skip
