"""What the picture of one element says when it is pointed at."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from reef_calc.show.found_wording import LEVEL_STEP, RATE_CHANGE, believed, event_sentence
from reef_calc.show.lane_layout import PT, Layout
from reef_calc.show.level_lane import mark_heights, reading_words
from reef_calc.show.marks import kit_names
from reef_calc.show.rate_wording import month_sentence, rate_words
from reef_calc.show.ratio_lane import ratio_sentences
from reef_calc.show.standing import Standing
from reef_calc.show.svg import ReadOut
from reef_calc.show.times import day_numbers, records
from reef_calc.show.wording import day_words, fixed, typed


def read_outs(
    standing: Standing,
    page: Layout,
    axes: dict[str, Axes],
    shown: pd.DataFrame,
    changes: pd.DataFrame,
    doses: pd.DataFrame,
    events: pd.DataFrame,
    period: tuple[float, float],
    ratio: pd.DataFrame | None = None,
) -> list[ReadOut]:
    """Return what can be pointed at, the readings last so that they lie on top.

    Parameters
    ----------
    standing : Standing
        The element.
    page : Layout
        The picture.
    axes : dict of str to matplotlib.axes.Axes
        Its lanes, drawn.
    shown, changes, doses, events : pandas.DataFrame
        Readings, water changes, single doses and events of the period.
    period : (float, float)
        Days since 1970.
    ratio : pandas.DataFrame or None, optional
        Months of the lane of calcium per alkalinity.

    Returns
    -------
    list of ReadOut
        Rates, findings, ratios, water changes, single doses and events, then readings.

    Examples
    --------
    See :func:`reef_calc.show.lane_figure.lanes_svg`.
    """
    found: list[ReadOut] = []
    left, right = page.left * PT, (page.width - page.right) * PT
    limits = axes["level"].get_xlim()
    zone, unit = standing.zone, standing.unit

    def across(days: NDArray[np.float64]) -> NDArray[np.float64]:
        return left + (days - limits[0]) / (limits[1] - limits[0]) * (right - left)

    def title_line(lane: str) -> float:
        return sum(page.lanes[lane]) * PT + 6.0

    def boxes(lane: str, table: pd.DataFrame, words: list[str]) -> None:
        bottom, height = page.lanes[lane]
        for x, text in zip(across(day_numbers(table["time"])), words, strict=True):
            found.append(
                ReadOut(text, x - 4, bottom * PT, right, title_line("level"), 8, height * PT)
            )

    def spans(
        lane: str, table: pd.DataFrame, words: list[str], *, least: float = 0.0, stop: bool = False
    ) -> None:
        bottom, height = page.lanes[lane]
        ends = np.clip([day_numbers(table["start"]), day_numbers(table["stop"])], *period)
        for x0, x1, text in zip(across(ends[0]), across(ends[1]), words, strict=True):
            wide = max(x1 - x0, least)
            x = (x0 + x1 - wide) / 2
            found.append(
                ReadOut(text, x, bottom * PT, right, title_line(lane), wide, height * PT, stop)
            )

    def within(table: pd.DataFrame) -> pd.DataFrame:
        start, stop = day_numbers(table["start"]), day_numbers(table["stop"])
        return table[(stop > period[0]) & (start < period[1])]

    use = standing.use
    if "rate" in axes and use is not None:
        if use.curve is None:
            months = within(use.months)
            spans("rate", months, [month_sentence(standing, row) for _, row in months.iterrows()])
        else:
            steps = within(use.curve.segments)
            spans("rate", steps, [
                f"{day_words(s.start, zone)} to {day_words(s.stop, zone)}: "
                f"{rate_words(s.rate, s.low, s.high, use.behaviour)}"
                for s in records(steps)
            ])  # fmt: skip
    if use is not None:
        for kind, lane in ((RATE_CHANGE, "rate"), (LEVEL_STEP, "level")):
            if lane not in axes:
                continue
            ends = [
                (e.start, e.stop, event_sentence(standing, use, e)) for e in believed(use, kind)
            ]
            table = within(pd.DataFrame(ends, columns=["start", "stop", "words"]))
            spans(lane, table, list(table["words"]), least=8.0, stop=True)
    if ratio is not None:
        spans("ratio", ratio, ratio_sentences(ratio))
    if "care" in axes:
        boxes("care", changes, [
            f"{day_words(c.time, zone)}: water change{_share(c.fraction)}{_litres(c.litres)}"
            for c in records(changes)
        ])  # fmt: skip
        boxes("care", doses, [
            f"{day_words(d.time, zone)}: single dose, +{d.rise:.3g} {unit}"
            f"{', ' + typed(d.supplement) if typed(d.supplement) else ''}"
            for d in records(doses)
        ])  # fmt: skip
    if "events" in axes:
        boxes("events", events, [
            f"{day_words(e.time, zone)}: {e.kind}{', ' + typed(e.note) if typed(e.note) else ''}"
            for e in records(events)
        ])  # fmt: skip

    low, high = axes["level"].get_ylim()
    bottom, height = page.lanes["level"]
    level = mark_heights(shown["level"].to_numpy(dtype=float), low, high)
    up = (bottom + height * (level - low) / (high - low)) * PT
    rows = zip(
        records(shown), kit_names(shown), across(day_numbers(shown["time"])), up, strict=True
    )
    for row, kit, x, y in rows:
        text = reading_words(standing, row, kit)
        stop = row.mark == "doubted"
        found.append(ReadOut(text, x, y, right, title_line("level"), stop=stop))
    return found


def _share(fraction: float) -> str:
    return f" {fixed(100 * fraction, 0)} %" if np.isfinite(fraction) else ""


def _litres(litres: float) -> str:
    return f", {litres:.3g} L" if np.isfinite(litres) else ""
