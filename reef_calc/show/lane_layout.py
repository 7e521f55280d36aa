"""Where the lanes of a picture stand, and where their labels go so that none covers another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

PT = 0.75  # points per CSS pixel
LABEL_GAP = 13.5  # CSS px between base lines of 12 px labels
CHARACTER = 7.4  # CSS px, mean width of a bold 12 px letter of the widest font named
LEVEL, CARE, EVENT_ROW, RATE, RATIO = 190.0, 26.0, 17.0, 130.0, 90.0
TOP, BOTTOM, GAP_CARE, GAP_RATE = 28.0, 26.0, 8.0, 36.0


@dataclass(frozen=True)
class Layout:
    """Places of the lanes in CSS pixels from the lower edge.

    Attributes
    ----------
    width, height, left, right : float
        Size of the picture and its side margins.
    lanes : dict of str to (float, float)
        Name of the lane to its lower edge and its height, from the top lane down.
    """

    width: float
    height: float
    left: float
    right: float
    lanes: dict[str, tuple[float, float]]

    @property
    def inner(self) -> float:
        """Width between the margins, CSS pixels."""
        return self.width - self.left - self.right

    def box(self, lane: str) -> tuple[float, float, float, float]:
        """Return a lane as fractions of the figure, for ``Figure.add_axes``.

        Parameters
        ----------
        lane : str
            Name of the lane.

        Returns
        -------
        (float, float, float, float)
            Left, bottom, width, height.

        Examples
        --------
        >>> layout(980, care=False, event_rows=0, rate=False, labels=[]).box("level")[2:]
        (0.804, 0.779)
        """
        bottom, height = self.lanes[lane]
        return (
            self.left / self.width,
            bottom / self.height,
            self.inner / self.width,
            height / self.height,
        )


def layout(
    width: float,
    *,
    care: bool,
    event_rows: int,
    rate: bool,
    labels: Sequence[str],
    ratio: bool = False,
) -> Layout:
    """Return where the lanes stand; the height follows from the lanes that are needed.

    Parameters
    ----------
    width : float
        Width of the picture, CSS pixels.
    care : bool
        Whether there is a lane of water changes and single doses.
    event_rows : int
        Rows of event labels.
    rate : bool
        Whether there is a lane of use and dose.
    labels : sequence of str
        Labels at the right; the margin holds the longest.
    ratio : bool, optional
        Whether there is a lane of calcium per alkalinity.

    Returns
    -------
    Layout
        Places in CSS pixels.

    Examples
    --------
    >>> layout(980, care=True, event_rows=0, rate=True, labels=["aim, low 7.0"]).height
    444.0
    """
    blocks: list[tuple[str, float, float]] = [("level", TOP, LEVEL)]
    if care:
        blocks.append(("care", GAP_CARE, CARE))
    if event_rows:
        blocks.append(("events", GAP_CARE, EVENT_ROW * event_rows))
    if rate:
        blocks.append(("rate", GAP_RATE, RATE))
    if ratio:
        blocks.append(("ratio", GAP_RATE, RATIO))
    height = sum(gap + tall for _, gap, tall in blocks) + BOTTOM
    lanes, top = {}, height
    for name, gap, tall in blocks:
        lanes[name] = (top - gap - tall, tall)
        top -= gap + tall
    longest = max((len(text) for text in labels), default=0)
    right = max(128.0, 12 + CHARACTER * longest)
    return Layout(float(width), height, 64.0 if width >= 800 else 52.0, right, lanes)


def spread(places: Sequence[float], gap: float) -> NDArray[np.float64]:
    """Return label places at least a gap apart, moved as little as can be.

    Least squares of the moves under "each at least ``gap`` above the one below": take i·gap from
    the sorted places, average neighbours until they rise, and give i·gap back.

    Parameters
    ----------
    places : sequence of float, shape (n,)
        Wished places, any length unit.
    gap : float
        Least distance, same unit.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Places in the order given.

    Notes
    -----
    Source: the pool-adjacent-violators algorithm; Barlow, Bartholomew, Bremner & Brunk (1972),
    Statistical Inference under Order Restrictions (from memory).

    Examples
    --------
    >>> spread([10.0, 10.0, 40.0], 14.0)
    array([ 3., 17., 40.])
    """
    order = np.argsort(places, kind="stable")
    blocks: list[list[float]] = []
    for rank, index in enumerate(order):
        blocks.append([float(places[index]) - rank * gap, 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, count = blocks.pop()
            before, weight = blocks[-1]
            blocks[-1] = [(before * weight + mean * count) / (weight + count), weight + count]
    level = np.concatenate([np.full(int(n), mean) for mean, n in blocks] or [np.empty(0)])
    result = np.empty(len(places))
    result[order] = level + gap * np.arange(len(places))
    return result


def label_rows(places: Sequence[float], words: Sequence[str], right: float) -> list[int]:
    """Return the row of each event label, so that no two of a row touch.

    Parameters
    ----------
    places : sequence of float, shape (n,)
        Ticks in CSS pixels from the left, in rising order.
    words : sequence of str, shape (n,)
        Labels; they stand to the right of their tick, or to its left near the right end.
    right : float
        Right end of the lane, CSS pixels.

    Returns
    -------
    list of int
        Rows from 0; -1 where a third row would be needed: only the tick is drawn, and the event
        is still read on its tick and in the list below the picture.

    Examples
    --------
    >>> label_rows([0.0, 10.0, 20.0, 300.0], ["pump measured"] * 4, 800.0)
    [0, 1, -1, 0]
    """
    filled = [-np.inf, -np.inf]
    rows = []
    for place, text in zip(places, words, strict=True):
        start, end = label_span(place, text, right)
        row = next((r for r, used in enumerate(filled) if start > used + 6), -1)
        if row >= 0:
            filled[row] = end
        rows.append(row)
    return rows


def label_span(place: float, text: str, right: float) -> tuple[float, float]:
    """Return the ends of an event label beside its tick.

    Parameters
    ----------
    place : float
        Tick, CSS pixels from the left.
    text : str
        The label.
    right : float
        Right end of the lane, CSS pixels.

    Returns
    -------
    (float, float)
        Ends in CSS pixels; left of the tick when it would run over the right end.

    Examples
    --------
    >>> label_span(100.0, "lot", 800.0)
    (100.0, 126.2)
    """
    width = 4 + CHARACTER * len(text)
    return (place - width, place) if place + width > right else (place, place + width)


def runs(known: Any) -> list[tuple[int, int]]:
    """Return the first and last index of each run of True.

    Parameters
    ----------
    known : array of bool, shape (n,)
        The flags.

    Returns
    -------
    list of (int, int)
        Both ends included.

    Examples
    --------
    >>> runs([True, True, False, True])
    [(0, 1), (3, 3)]
    """
    edges = np.diff(np.concatenate([[0], np.asarray(known, dtype=int), [0]]))
    return list(
        zip(
            np.flatnonzero(edges == 1).tolist(),
            (np.flatnonzero(edges == -1) - 1).tolist(),
            strict=True,
        )
    )
