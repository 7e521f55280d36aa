"""Rates of many series in one frame: closed-form least squares, one walk, or the whole mixture."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from typing import Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.many_fits import added_up, least_squares_rates, walk_rates
from reef_calc.balance.mixture_priors import Priors
from reef_calc.balance.rate_mixture import LEAST_READINGS, current_rate
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]
How = Literal["mixture", "one walk", "least squares"]
NEEDED = ("series", "time", "level", "sd", "resolution", "g", "h", "d", "p")
FOUND = ("p_changed", "p_not_constant", "p_step", "p_gross_most")
CELLS_AT_ONCE = 2_500_000


def many_rates(
    frame: pd.DataFrame,
    *,
    how: How = "mixture",
    prior: Priors = Priors(),  # noqa: B008 (frozen)
    day_to_day: float = 0.10,
    processes: int = 1,
) -> pd.DataFrame:
    """Return one row for each series: its rate now with an interval, and what the mixture suspects.

    “least squares”: level less doses on [G, −H]; “one walk”: the same with a random walk of one
    strength; “mixture”: :func:`reef_calc.balance.rate_mixture.current_rate`.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a reading, times not decreasing within a series. Columns: ``series``, ``time`` (days),
        ``level``, ``sd``, ``resolution`` (concentration), ``g`` (factor), ``h`` (days), ``d``
        (concentration), ``p`` (days): what the interval that the reading closes does, see
        :func:`reef_calc.balance.water_balance.balance_columns`.
    how : str, optional
        “mixture”, “one walk” or “least squares”.
    prior : Priors, optional
        Beliefs; of “one walk” only the worth of the stated SD.
    day_to_day : float, optional
        Variation of use from day to day (share) of “one walk”.
    processes : int, optional
        Number of processes for the mixture.

    Returns
    -------
    pandas.DataFrame
        Columns ``series``, ``n``, ``rate``, ``low``, ``high`` (concentration per day), ``p_changed``,
        ``p_not_constant``, ``p_step``, ``p_gross_most`` (probabilities; missing unless “mixture”) and
        ``why_not`` (empty, or why a series has no rate).

    Raises
    ------
    InputError
        If a column or a name is missing, a number is not finite, or times decrease.

    Notes
    -----
    Everything is worked out series by series, so a partition that holds whole series gives the same
    rows. The scale of the use has no floor from a dosing schedule here.

    Examples
    --------
    >>> one = pd.DataFrame({"series": "tank", "time": range(5), "level": [8.0, 7, 6, 5, 4],
    ...     "sd": 0.15, "resolution": 0.1, "g": 1.0, "h": [0.0, 1, 1, 1, 1], "d": 0.0,
    ...     "p": [0.0, 1, 1, 1, 1]})
    >>> float(many_rates(one, how="least squares")["rate"].iloc[0])
    1.0
    """
    columns = _checked(frame)
    codes, names = pd.factorize(frame["series"])
    if np.any(codes < 0):
        raise InputError(
            "a name for each series",
            f"none in row {int(np.argmax(codes < 0))}",
            "Fill in the column.",
            "many_rates, column series",
        )
    order = np.argsort(codes, kind="stable")
    if not np.array_equal(order, np.arange(order.size)):
        columns, codes = {k: v[order] for k, v in columns.items()}, codes[order]
    sizes = np.bincount(codes, minlength=len(names))
    starts = np.concatenate([[0], np.cumsum(sizes)])
    same = codes[1:] == codes[:-1]
    if np.any(np.diff(columns["time"])[same] < 0):
        bad = codes[1:][same & (np.diff(columns["time"]) < 0)][0]
        raise InputError(
            "times that do not decrease within a series",
            str(names[bad]),
            "Sort the readings by time first.",
            "many_rates",
        )
    out = pd.DataFrame({"series": names, "n": sizes})
    for name in ("rate", "low", "high", *FOUND):
        out[name] = np.nan
    out["why_not"] = np.where(sizes < LEAST_READINGS, "fewer than 3 readings", "")
    enough = np.flatnonzero(sizes >= LEAST_READINGS)
    if how == "mixture":
        pieces = [{k: v[starts[i] : starts[i + 1]] for k, v in columns.items()} for i in enough]
        rows = _in_processes(partial(_mixture, prior=prior), pieces, processes)
        for i, row in zip(enough, rows, strict=True):
            if isinstance(row, str):
                out.loc[i, "why_not"] = row
            else:
                out.loc[i, ["rate", "low", "high", *FOUND]] = row
        return out
    if how not in ("one walk", "least squares"):
        raise InputError("mixture, one walk or least squares", how, "Choose one.", "many_rates")
    for chosen, block in _blocks(columns, enough, starts):
        level, g, h, d, p, used, s0 = block
        fit = least_squares_rates(level, g, h, d, used)
        if how == "one walk":
            scale = np.maximum(np.abs(fit.rate), 1e-6 * s0)
            fit = walk_rates(level, g, h, d, p, used, s0, scale, day_to_day, prior.sd_worth)
        for name in ("rate", "low", "high"):
            out.loc[chosen, name] = getattr(fit, name)
    unknown = out["rate"].isna() & (out["why_not"] == "")
    out.loc[unknown, "why_not"] = "all readings at one time"
    return out


def _checked(frame: pd.DataFrame) -> dict[str, Floats]:
    missing = [name for name in NEEDED if name not in frame]
    if missing:
        raise InputError(
            f"the columns {', '.join(NEEDED)}",
            f"without {', '.join(missing)}",
            "Work out the intervals with balance_columns.",
            "many_rates",
        )
    columns = {name: frame[name].to_numpy(dtype=float) for name in NEEDED[1:]}
    for name, values in columns.items():
        bad = ~np.isfinite(values)
        if name == "sd":
            bad |= values <= 0
        if bad.any():
            raise InputError(
                "finite numbers" + (" above 0" if name == "sd" else ""),
                f"{values[bad][0]} in row {int(np.flatnonzero(bad)[0])}",
                "Leave the reading out, or correct it.",
                f"many_rates, column {name}",
            )
    return columns


def _mixture(piece: dict[str, Floats], prior: Priors) -> list[float] | str:
    g, h, d = (piece[k][:, None] for k in "ghd")
    G, H, D = (a[:, 0] for a in added_up(g, h, d))
    n = G.size
    nothing = np.zeros(n)
    none = np.zeros((n, 0))
    balance = BalanceColumns(
        piece["time"], piece["g"], piece["h"], piece["d"], piece["p"], nothing, none,
        G, H, D, nothing, nothing, none,
    )  # fmt: skip
    own = piece["sd"] ** 2 + piece["resolution"] ** 2 / 12
    try:
        now = current_rate(
            piece["time"],
            piece["level"],
            WaterEvents(),
            sd=float(piece["sd"][-1]),
            resolution=float(piece["resolution"][-1]),
            noise=own / own[-1],
            prior=prior,
            balance=balance,
        )
    except CannotTellError as refusal:
        return str(refusal)
    most = float(now.p_gross.max())
    return [now.rate, now.low, now.high, now.p_changed, now.p_not_constant, now.p_step, most]


def _in_processes(
    work: partial[list[float] | str], pieces: list[dict[str, Floats]], processes: int
) -> Iterator[list[float] | str]:
    if processes < 2 or len(pieces) < 2:
        yield from map(work, pieces)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(work, pieces, chunksize=max(1, len(pieces) // (8 * processes)))


def _blocks(
    columns: dict[str, Floats], enough: NDArray[np.intp], starts: NDArray[np.intp]
) -> Iterator[tuple[NDArray[np.intp], tuple[Floats, ...]]]:
    """Series of like length side by side, time first, padded at the end with readings of no weight."""
    sizes = np.diff(starts)
    by_length = enough[np.argsort(sizes[enough], kind="stable")]
    at = 0
    while at < by_length.size:
        # The shortest still to come sets the number, so that a block may only be a little too large.
        chosen = by_length[at : at + max(1, CELLS_AT_ONCE // int(sizes[by_length[at]]))]
        longest = 2 * int(sizes[chosen[0]])
        chosen = chosen[sizes[chosen] <= longest]
        at += chosen.size
        n = int(sizes[chosen].max())
        row = starts[chosen] + np.minimum(np.arange(n)[:, None], sizes[chosen] - 1)
        used = (np.arange(n)[:, None] < sizes[chosen]).astype(float)
        level, g, h, d, p = (columns[k][row] for k in ("level", "g", "h", "d", "p"))
        own = columns["sd"][row] ** 2 + columns["resolution"][row] ** 2 / 12
        last = starts[chosen + 1] - 1
        s0 = np.sqrt(columns["sd"][last] ** 2 + columns["resolution"][last] ** 2 / 12)
        used *= s0**2 / own
        yield chosen, (level, g, h, d, p, used, s0)
