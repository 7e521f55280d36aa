"""The picture of one element: lanes under one axis of dates, labelled at the right."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import MONTHLY, AutoDateLocator, num2date
from matplotlib.figure import Figure
from numpy.typing import NDArray

from reef_calc.show.history_lane import draw_changes, draw_found_levels
from reef_calc.show.joined_figure import draw_joined
from reef_calc.show.lane_layout import LABEL_GAP, PT, Layout, label_rows, layout, spread
from reef_calc.show.level_lane import (
    Label,
    draw_care,
    draw_events,
    draw_level,
    event_words,
    tick_level,
)
from reef_calc.show.level_wording import level_words
from reef_calc.show.rate_lane import draw_rate, has_rate_lane, rate_title
from reef_calc.show.rate_wording import now_label
from reef_calc.show.ratio_lane import RATIO_TITLE, SKELETON_WORDS, draw_ratio, shown_ratio
from reef_calc.show.read_outs import read_outs
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE, RC_PARAMS
from reef_calc.show.svg import ReadOut, figure_svg, picture_prefix
from reef_calc.show.times import PADDING_DAYS, day_numbers, shown_period
from reef_calc.show.two_answers import now_labels
from reef_calc.show.wording import MONTHS, day_words, element_name


def _within(table: pd.DataFrame, period: tuple[float, float]) -> pd.DataFrame:
    days = day_numbers(table["time"])
    inside = (days >= period[0]) & (days <= period[1])
    return table[inside].sort_values("time", kind="stable")


def shown_readings(standing: Standing, period: tuple[Any, Any] | None) -> pd.DataFrame:
    """Return the readings that a picture shows.

    Parameters
    ----------
    standing : Standing
        The element.
    period : (since, until) or None
        Moments asked for; None for everything.

    Returns
    -------
    pandas.DataFrame
        Rows of ``standing.readings`` in time order; one without a level stands in the table only.

    Raises
    ------
    InputError
        If the period does not end after it begins.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> readings = pd.DataFrame({"time": [pd.Timestamp("2026-09-24T00Z")], "level": [8.0]})
    >>> len(shown_readings(S(readings=readings, month="2026-09", zone="UTC"), None))
    1
    """
    known = standing.readings[np.isfinite(standing.readings["level"].to_numpy(dtype=float))]
    return _within(known, shown_period(standing, period))


def lanes_svg(
    standing: Standing, *, width: int = 980, period: tuple[Any, Any] | None = None
) -> str:
    """Return the picture of one element as inline SVG.

    Parameters
    ----------
    standing : Standing
        The element; at least one reading lies in the period.
    width : int
        Width in CSS pixels; the picture is drawn for it, not scaled to it.
    period : (since, until) or None
        Moments to show; None for the first reading to the end of the month.

    Returns
    -------
    str
        One ``<svg>`` element.

    Raises
    ------
    InputError
        If the period does not end after it begins.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> none, day = pd.DataFrame({"time": [], "kind": [], "note": []}), pd.Timestamp("2026-09-24T00Z")
    >>> row = {"time": day, "level": 35.1, "sd": 0.1, "kit": "a", "limit": "", "upper": 0}
    >>> tank = S(tank="Reef", element="salinity", unit="PSU", month="2026-09", zone="UTC",
    ...          low=34.0, high=36.0, decimals=1, readings=pd.DataFrame([row | {"mark": "used"}]),
    ...          changes=none, one_off=none, events=none, use=None, ratio=None)
    >>> ">last 35.1</text>" in lanes_svg(tank, width=600)
    True
    """
    with mpl.rc_context(RC_PARAMS):
        figure, places = _draw(
            standing, shown_readings(standing, period), width, shown_period(standing, period)
        )
        prefix = picture_prefix(standing.tank, standing.element, standing.month, width, period)
        return figure_svg(figure, prefix=prefix, label=picture_label(standing), read_outs=places)


def picture_label(standing: Standing) -> str:
    """Return what the picture shows in one sentence, for those who hear it.

    Parameters
    ----------
    standing : Standing
        The element; it has a reading.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> row = {"time": pd.Timestamp("2026-09-24T00Z"), "level": 35.1, "limit": "", "upper": 0}
    >>> row["mark"] = "used"
    >>> tank = S(tank="Reef", element="salinity", unit="PSU", zone="UTC", decimals=1,
    ...          readings=pd.DataFrame([row]), use=None)
    >>> "the last 35.1 PSU." in picture_label(tank)
    True
    """
    table = standing.readings
    believed = table[~table["mark"].isin(["doubted", "left out"])]
    first, last = table.iloc[0], (believed if len(believed) else table).iloc[-1]
    level = level_words(last["level"], standing.decimals, last["limit"], last["upper"])
    use = standing.use
    rate = f" Per day: {now_label(use)} {standing.unit}." if use and has_rate_lane(standing) else ""
    return (
        f"{element_name(standing.element)} in {standing.tank}, readings from "
        f"{day_words(first['time'], standing.zone)} to {day_words(last['time'], standing.zone)}, "
        f"the last {level} {standing.unit}.{rate} All numbers stand in the tables below."
    )


def _draw(
    standing: Standing, shown: pd.DataFrame, width: int, period: tuple[float, float]
) -> tuple[Figure, list[ReadOut]]:
    zone = ZoneInfo(standing.zone)
    changes, doses = _within(standing.changes, period), _within(standing.one_off, period)
    events = _within(standing.events, period)
    use = standing.use if has_rate_lane(standing) else None
    words = event_words(events)
    care = len(changes) + len(doses) > 0
    limits = (period[0] - PADDING_DAYS, period[1] + PADDING_DAYS)

    ratio = shown_ratio(standing, period)
    labels = ["water changes"] + (now_labels(use) if use is not None else [])
    labels += [SKELETON_WORDS] if ratio is not None else []

    def planned(event_rows: int) -> Layout:
        return layout(
            width, care=care, event_rows=event_rows, rate=use is not None, labels=labels,
            ratio=ratio is not None,
        )  # fmt: skip

    page = planned(0)
    per_day = page.inner / (limits[1] - limits[0])
    event_places = day_numbers(events["time"])
    if words:
        end = page.inner + page.right - 8
        rows = label_rows(((event_places - limits[0]) * per_day).tolist(), words, end)
        page = planned(max(rows) + 1)

    figure = Figure(figsize=(width * PT / 72, page.height * PT / 72))
    axes: dict[str, Axes] = {}
    for lane in page.lanes:
        axes[lane] = figure.add_axes(page.box(lane))
        axes[lane].set_xlim(*limits)
    _set_dates(axes, zone, narrow=width < 800)

    level = axes["level"]
    _title(level, f"Level, {standing.unit}")
    levels = draw_level(level, standing, shown, _density(shown, per_day))
    draw_found_levels(level, standing, shown, per_day)
    draw_joined(level, standing, shown)
    if standing.use is not None:
        draw_changes(level, standing.use, per_day)
    _label_right(figure, page, "level", level, levels)
    tick_level(level)
    if care:
        draw_care(axes["care"], day_numbers(changes["time"]), day_numbers(doses["time"]))
        _label_right(figure, page, "care", axes["care"], _care_labels(changes, doses))
    if words:
        draw_events(axes["events"], event_places, words, page)
        for lane in ("level", "rate", "ratio"):
            if lane in axes:
                _cause_lines(axes[lane], event_places)
    if use is not None:
        _title(axes["rate"], rate_title(standing))
        found = draw_rate(axes["rate"], standing, use, period, per_day)
        _label_right(figure, page, "rate", axes["rate"], found)
        tick_level(axes["rate"])
    if ratio is not None:
        _title(axes["ratio"], RATIO_TITLE)
        found = draw_ratio(axes["ratio"], ratio, period)
        _label_right(figure, page, "ratio", axes["ratio"], found)
        tick_level(axes["ratio"], most=4)
    places = read_outs(standing, page, axes, shown, changes, doses, events, period, ratio)
    return figure, places


def _density(shown: pd.DataFrame, per_day: float) -> float:
    """Return the middle distance of neighbouring readings in CSS pixels."""
    gaps = np.diff(day_numbers(shown["time"]))
    return float(np.median(gaps)) * per_day if gaps.size else 100.0


def _cause_lines(ax: Axes, places: NDArray[np.float64]) -> None:
    for place in places:
        ax.axvline(place, color=PALETTE["line"][0], lw=0.6, ls=(0, (1, 2)), zorder=1.1)


def _title(ax: Axes, text: str) -> None:
    ax.set_title(text, pad=6)


def _set_dates(axes: dict[str, Axes], zone: ZoneInfo, *, narrow: bool) -> None:
    drawn = [axes[name] for name in ("level", "rate", "ratio") if name in axes]
    locator = AutoDateLocator(tz=zone, minticks=4, maxticks=7 if narrow else 9)
    locator.intervald[MONTHLY] = [1, 2, 3, 4, 6, 12]  # 12: four years in a narrow window
    low, high = drawn[0].get_xlim()
    ticks = locator.tick_values(num2date(low, tz=zone), num2date(high, tz=zone))
    ticks = ticks[(ticks >= low) & (ticks <= high)]
    for ax in drawn:
        ax.set_xticks(ticks, _date_labels(ticks, zone))
        ax.tick_params(axis="x", length=3, labelbottom=ax is drawn[-1])
    if drawn[-1] is axes["level"] and len(axes) > 1:
        # The dates belong under the lowest lane, which has no axis of its own.
        lowest = axes[list(axes)[-1]]
        shift = axes["level"].get_position().y0 - lowest.get_position().y0
        height = axes["level"].figure.get_size_inches()[1] * 72  # type: ignore[union-attr]
        axes["level"].tick_params(axis="x", pad=3.5 + shift * height)


def _date_labels(ticks: NDArray[np.float64], zone: ZoneInfo) -> list[str]:
    """Return "8 Sep" for days; for months "Sep", and the year once where it is needed."""
    days = [num2date(tick, tz=zone) for tick in ticks]
    names = [MONTHS[day.month - 1][:3] for day in days]
    if np.diff(ticks).min(initial=99.0) < 27:
        return [f"{day.day} {name}" for day, name in zip(days, names, strict=True)]
    labels = [
        str(day.year) if day.month == 1 else name for day, name in zip(days, names, strict=True)
    ]
    if days and all(day.month != 1 for day in days):
        labels[0] += f" {days[0].year}"
    return labels


def _care_labels(changes: pd.DataFrame, doses: pd.DataFrame) -> list[Label]:
    muted, blue = PALETTE["muted"][0], PALETTE["kitA"][0]
    labels: list[Label] = []
    if len(changes):
        labels.append((0.62, "water changes", muted, False))
    if len(doses):
        labels.append((0.14 if len(changes) else 0.6, "single doses", blue, False))
    return labels


def _label_right(figure: Figure, page: Layout, lane: str, ax: Axes, labels: list[Label]) -> None:
    bottom, height = page.lanes[lane]
    low, high = ax.get_ylim()
    wished = [bottom + height * (value - low) / (high - low) for value, *_ in labels]
    x = (page.width - page.right + 8) / page.width
    for (_, text, colour, bold), y in zip(labels, spread(wished, LABEL_GAP), strict=True):
        figure.text(
            x, y / page.height, text, color=colour, fontsize=9, va="center",
            fontweight="bold" if bold else "normal",
        )  # fmt: skip
