"""The lane of the rate: use over time or by months with its interval, use now, and the dose."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.show.history_lane import (
    DrawnRate,
    curved,
    draw_changes,
    draw_history,
    draw_now,
    stepped,
)
from reef_calc.show.lane_layout import runs
from reef_calc.show.level_lane import INK, LINE, MUTED, PAPER, Label
from reef_calc.show.rate_wording import dose_number
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE
from reef_calc.show.times import day_numbers
from reef_calc.show.two_answers import now_labels, told_apart
from reef_calc.show.wording import CANNOT_TELL, is_known

DOSE = PALETTE["kitA"][0]
_REACH = 4.0  # an interval may open the axis to this many times the dose on either side


def is_dosed(standing: Standing) -> bool:
    """Return whether a standing dose was ever logged.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    bool
        True when a step of the dose is above zero or was not logged.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> is_dosed(S(doses=pd.DataFrame({"rate": [0.0]})))
    False
    """
    return bool((standing.doses["rate"].to_numpy(dtype=float) != 0).any())


def rises(standing: Standing) -> bool:
    """Return whether the lane is drawn as a change of the level, a rise upward.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    bool
        True for what is not taken up by corals and not dosed, such as nitrate.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> nothing = pd.DataFrame({"rate": []})
    >>> rises(S(use=S(behaviour="net"), doses=nothing))
    True
    """
    net = standing.use is not None and standing.use.behaviour == "net"
    return net and not is_dosed(standing)


def has_rate_lane(standing: Standing) -> bool:
    """Return whether there is anything to draw about use or dose.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    bool
        False for a property of the water, and where no month can tell and nothing is dosed.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> has_rate_lane(S(use=None))
    False
    """
    use = standing.use
    return use is not None and (
        bool(use.months["rate"].notna().any())
        or is_known(use.rate, use.low, use.high)
        or is_dosed(standing)
        or use.curve is not None
    )


def rate_title(standing: Standing) -> str:
    """Return the title of the lane.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        Such as "Used and dosed per day, dKH".

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> nothing = pd.DataFrame({"rate": []})
    >>> rate_title(S(use=S(behaviour="net"), doses=nothing, unit="mg/L"))
    'Rise or fall per day, mg/L'
    """
    if rises(standing):
        return f"Rise or fall per day, {standing.unit}"
    net = standing.use is not None and standing.use.behaviour == "net"
    verb = "Fall without the dose" if net else "Used"
    return f"{verb}{' and dosed' if is_dosed(standing) else ''} per day, {standing.unit}"


def draw_rate(
    ax: Axes,
    standing: Standing,
    use: ConsumptionEstimate,
    period: tuple[float, float],
    pixels_per_day: float,
) -> list[Label]:
    """Draw use and dose over the period and set the upright axis.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, with its dates already set.
    standing : Standing
        The element.
    use : ConsumptionEstimate
        Its estimate.
    period : (float, float)
        Period shown, days since 1970.
    pixels_per_day : float
        CSS pixels.

    Returns
    -------
    list of (float, str, str, bool)
        Labels for the right margin.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> from matplotlib.figure import Figure
    >>> months = pd.DataFrame({name: [] for name in ("start", "stop", "rate", "low", "high")})
    >>> use = S(behaviour="used", months=months, rate=1.04, low=1.0, high=1.08, dose_now=0.94)
    >>> dose = {"start": pd.Timestamp(0, tz="UTC"), "stop": pd.NaT, "rate": 0.94}
    >>> use.since, use.until = pd.Timestamp(0, tz="UTC"), pd.Timestamp(9, unit="D", tz="UTC")
    >>> use.findings, use.humps, use.curve = (), (), None
    >>> tank = S(use=use, doses=pd.DataFrame([dose]))
    >>> ax = Figure().add_subplot()
    >>> [label[1] for label in draw_rate(ax, tank, use, (1.0, 60.0), 10.0)]
    ['used 1.04 ± 0.04', 'dosed 0.94']
    """
    since, until = period
    sign = -1.0 if rises(standing) else 1.0
    x_dose, y_dose = _dose_steps(standing.doses, since, until)
    now = np.array([use.rate, use.low, use.high], dtype=float) * sign
    told = bool(np.isfinite(now).all())
    rates = [(rate * sign, low * sign, high * sign) for _, rate, low, high in told_apart(use)]
    rates = rates or [(now[0], now[1], now[2])]
    drawn = (
        _months(use, period, sign, now) if use.curve is None else curved(use.curve, period, sign)
    )
    known = np.isfinite(drawn.rate)
    middles = [rate for rate, *_ in rates if told]
    ends = np.concatenate([drawn.low, drawn.high])
    bottom, top = _rate_range(
        np.concatenate([drawn.rate[known], now[[told] * 3], middles, y_dose[np.isfinite(y_dose)]]),
        ends[np.isfinite(ends)],
        use.dose_now,
    )
    if np.isnan(y_dose).any():
        bottom -= 0.25 * (top - bottom)  # room for the words "dose not logged"
    ax.set_ylim(bottom, top)
    draw_changes(ax, use, pixels_per_day, words=True)
    bottom, top = ax.get_ylim()
    if bottom < 0 < top:
        ax.axhline(0, color=LINE, lw=0.8, zorder=1)
    draw_history(ax, drawn)
    for first, last in runs(~known):
        _draw_unknown(ax, drawn.start[first], drawn.stop[last], pixels_per_day, y_dose)
    if not known.size and not told:
        _draw_unknown(ax, since, until, pixels_per_day, y_dose)
    if np.isfinite(y_dose).any() and not rises(standing):
        ax.plot(x_dose, y_dose, color=DOSE, lw=1.6, ls=(0, (4, 1.5)), zorder=3.5)
        _draw_unlogged(ax, x_dose, y_dose)

    labels: list[Label] = []
    if told:
        draw_now(ax, rates, pixels_per_day)
        for (rate, *_), words in zip(rates, now_labels(use), strict=True):
            labels.append((float(np.clip(rate, bottom, top)), words, INK, True))
    given = y_dose[np.isfinite(y_dose)]
    if given.size and not rises(standing):
        value = use.dose_now if use.dose_now is not None else float(given[-1])
        # The line is the pump's; what a daily dose by hand adds to it is not drawn.
        more = ""
        if value > given[-1] * (1 + 1e-6) and len(standing.one_off):
            more = ", by hand too" if given[-1] > 0 else ", by hand"
        labels.append((value, f"dosed {dose_number(use, value)}{more}", DOSE, False))
    return labels


def _months(
    use: ConsumptionEstimate, period: tuple[float, float], sign: float, now: NDArray[np.float64]
) -> DrawnRate:
    """Return the months of a period as steps; the whole window where no month can tell."""
    since, until = period
    start, stop = day_numbers(use.months["start"]), day_numbers(use.months["stop"])
    inside = (stop > since) & (start < until)
    start, stop = np.clip(start[inside], since, until), np.clip(stop[inside], since, until)
    rate = use.months.loc[inside, "rate"].to_numpy(dtype=float) * sign
    ends = use.months.loc[inside, ["low", "high"]].to_numpy(dtype=float) * sign
    low, high = np.sort(ends, axis=1).T
    known = np.isfinite(rate) & np.isfinite(low) & np.isfinite(high)
    if np.isfinite(now).all() and not known.any():
        # No month can tell by itself, but the whole window can: one step over all of it.
        whole = np.clip(day_numbers([use.since, use.until]), since, until)
        low, high = np.sort(now[1:])
        return stepped(whole[:1], whole[1:], now[:1], np.array([low]), np.array([high]))
    rate, low, high = (np.where(known, values, np.nan) for values in (rate, low, high))
    return stepped(start, stop, rate, low, high)


def _dose_steps(
    doses: pd.DataFrame, since: float, until: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the corners of the dose line; not a number breaks it where nothing was logged."""
    start, stop = day_numbers(doses["start"]), day_numbers(doses["stop"])
    stop = np.where(np.isfinite(stop), stop, until)
    inside = (stop > since) & (start < until)
    corners = np.column_stack([np.maximum(start, since), np.minimum(stop, until)])[inside]
    return corners.ravel(), np.repeat(doses["rate"].to_numpy(dtype=float)[inside], 2)


def _draw_unlogged(ax: Axes, x: NDArray[np.float64], y: NDArray[np.float64]) -> None:
    """Say at the foot of the lane where the dose line is broken because nothing was logged."""
    bottom = ax.get_ylim()[0]
    for first, last in runs(~np.isfinite(y)):
        ax.plot([x[first], x[last]], [bottom, bottom], color=DOSE, lw=3, zorder=5,
                solid_capstyle="butt", clip_on=False)  # fmt: skip
        ax.annotate("dose not logged", ((x[first] + x[last]) / 2, bottom), (0, 5), fontsize=9,
                    textcoords="offset points", ha="center", va="bottom", color=DOSE, zorder=5)  # fmt: skip


def _rate_range(
    centres: NDArray[np.float64], ends: NDArray[np.float64], dose: float | None
) -> tuple[float, float]:
    """Return the axis: rates, doses and the use now whole; a month's interval within reason."""
    if not centres.size:
        return 0.0, 1.0
    reference = abs(dose) if dose else float(np.abs(centres).max())
    middle = dose if dose else float(np.median(centres))
    reach = np.clip(ends, middle - _REACH * reference, middle + _REACH * reference)
    values = np.concatenate([centres, reach, [middle - 0.3 * reference, middle + 0.3 * reference]])
    low, high = float(values.min()), float(values.max())
    room = 0.06 * (high - low) or 1.0
    return low - room, high + room


def _draw_unknown(
    ax: Axes, start: float, stop: float, pixels_per_day: float, dose: NDArray[np.float64]
) -> None:
    """Draw months that cannot tell as an empty hatched span with the words in it."""
    ax.axvspan(start, stop, facecolor="none", edgecolor=PALETTE["grid"][0], hatch="////", lw=0,
               zorder=1.2)  # fmt: skip
    wide = (stop - start) * pixels_per_day
    if wide < 16:
        return
    words, turn = (CANNOT_TELL, 0) if wide >= 84 else ("cannot\ntell", 0) if wide >= 50 else (
        CANNOT_TELL, 90)  # fmt: skip
    bottom, top = ax.get_ylim()
    # The words keep clear of the dose line, which runs on where the use is unknown.
    given = dose[np.isfinite(dose)]
    low_dose = given.size > 0 and given.mean() < (bottom + top) / 2
    height = 0.5 if turn or not given.size else 0.78 if low_dose else 0.22
    ax.text(
        (start + stop) / 2, bottom + height * (top - bottom), words, rotation=turn, ha="center", va="center",
        fontsize=9, color=MUTED, linespacing=1.25, zorder=3.6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "linewidth": 0, "pad": 2},
    )  # fmt: skip
