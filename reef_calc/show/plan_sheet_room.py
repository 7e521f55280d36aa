"""How large the words of the one printed page may be, and how many cautions it holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# A4 less margins of 10 mm, in CSS pixels. The counts below are too high by 4 to 13 % even with the
# widest of the fonts named, so 3 % of it is taken back.
_WIDE, _TALL = 718.0, 1047.0 * 1.03
USUAL, SMALLEST = 14.0, 7.0  # px; the smallest is 5.3 points
_SETTING = 16  # letters of an amount such as "1205.5 mL a day", in two sizes
_LEAST_CAUTIONS = 1000  # letters: the gravest five or so


@dataclass(frozen=True)
class SheetContent:
    """What fills the page, as counts of letters.

    Attributes
    ----------
    title : int
        Letters of the title.
    rows : sequence of (int, sequence of int)
        For each container the letters of its name, and of the small words of each phase.
    stop : int
        Letters of the stop rule.
    notes : sequence of int
        Letters of the longest note of each week.
    blanks : sequence of int
        Letters of each line to fill in.
    cautions : int
        Letters of all cautions.
    """

    title: int
    rows: Sequence[tuple[int, Sequence[int]]]
    stop: int
    notes: Sequence[int]
    blanks: Sequence[int]
    cautions: int


def fit(content: SheetContent) -> tuple[float, int]:
    """Return the font size with which a page holds its content, and the room for cautions.

    The page is set at its usual size while its cautions can be cut; then smaller as a whole.

    Parameters
    ----------
    content : SheetContent
        What fills the page.

    Returns
    -------
    (float, int)
        Font size (pixels) and number of letters of cautions.

    Examples
    --------
    >>> fit(SheetContent(20, [(15, [40])], 200, [20] * 5, [40] * 8, 3000))[0]
    14.0
    """
    size = USUAL
    while True:
        left = _TALL - _height(content, size)
        letters = _letters_in(left, size)
        if letters >= min(_LEAST_CAUTIONS, content.cautions) or size <= SMALLEST:
            return size, max(min(letters, content.cautions), 0)
        size = max(size - 0.5, SMALLEST)


def _lines(letters: float, width: float, size: float) -> int:
    """Return how many lines words take; a letter is rather too wide than too narrow."""
    return max(1, math.ceil(letters * 0.6 * size / max(width, size)))


def _height(content: SheetContent, size: float) -> float:
    """Return the height of everything but the cautions (pixels)."""
    total = _lines(content.title, _WIDE, 1.8 * size) * 2.0 * size + 2 * 1.6 * size
    total += 2.0 * size
    for name, phases in content.rows:
        wide = 0.76 * _WIDE / max(len(phases), 1) - 1.2 * size
        small = max((_lines(n, wide, 0.86 * size) for n in phases), default=1)
        cell = _lines(_SETTING, wide, 1.3 * size) * 1.9 * size + small * 1.04 * size
        total += max(cell, _lines(name, 0.24 * _WIDE - 1.3 * size, 1.2 * size) * 1.5 * size)
        total += 0.65 * size
    total += _lines(content.stop, _WIDE - 2 * size, size) * 1.3 * size + 2.2 * size
    total += 2 * 2.4 * size + 1.4 * size
    for letters in content.notes:
        lines = _lines(letters, _WIDE / 7 - 0.6 * size, 0.82 * size) if letters else 0
        total += max(2.9 * 0.86 * size, (1.3 + lines) * 0.92 * size) + 2.0
    for pair in range(0, len(content.blanks), 2):
        longest = max(content.blanks[pair : pair + 2])
        total += _lines(longest, _WIDE / 2 - size, 0.92 * size) * 1.25 * size + 1.0 * size
    return total + 2 * 0.8 * size + 1.6 * size


def _letters_in(room: float, size: float) -> int:
    """Return how many letters of cautions fit into a height, in two columns under their title."""
    small = 0.82 * size
    # Half a line of each column is lost where a caution must not break across columns.
    lines = (room - 2.4 * size) / (1.2 * small) - 2.0
    letters_a_line = (_WIDE / 2 - 3 * size) / (0.62 * small)
    return max(math.floor(2 * lines * letters_a_line * 0.85), 0)
