"""What a set of pairs consists of, before anything is worked out from it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError


@dataclass(frozen=True)
class PairsSummary:
    """Counts and range of the pairs of two kits.

    Attributes
    ----------
    waters, readings_a, readings_b : int
        Number of waters, and of readings with each kit.
    fewest_a, most_a, fewest_b, most_b : int
        Number of readings of one water with each kit.
    lowest, highest : float
        Range of the means of both kits, in the unit of the pairs.
    ratio : float or None
        Highest over lowest; None when the lowest is 0 or less.
    ties_a, ties_b : float
        Share of all pairs of waters that the kit reads alike.
    hours_apart : float or None
        Longest time between the kits on one water, in hours; None where no times are known.
    dropped : int
        Number of readings and waters left out.
    """

    waters: int
    readings_a: int
    readings_b: int
    fewest_a: int
    most_a: int
    fewest_b: int
    most_b: int
    lowest: float
    highest: float
    ratio: float | None
    ties_a: float
    ties_b: float
    hours_apart: float | None
    dropped: int

    @property
    def unequal_repeats(self) -> bool:
        """Whether waters were read unequally often."""
        return self.fewest_a != self.most_a or self.fewest_b != self.most_b


def summarise_pairs(pairs: Pairs) -> PairsSummary:
    """Return counts, range and ties of the pairs of two kits.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.

    Returns
    -------
    PairsSummary
        In the unit of the pairs.

    Raises
    ------
    InputError
        If there is no water.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = (Water("1", (8.0,), (8.4,)), Water("2", (8.0,), (8.2,)), Water("3", (4.0,), (4.2,)))
    >>> found = summarise_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> found.waters, found.ratio, round(found.ties_a, 2), found.unequal_repeats
    (3, 2.0, 0.33, False)
    """
    if not pairs.waters:
        raise InputError(
            "waters read with both kits", "none", "Test the same water with both.", "the pairs"
        )
    of_a = [len(water.a) for water in pairs.waters]
    of_b = [len(water.b) for water in pairs.waters]
    lowest, highest = float(pairs.means.min()), float(pairs.means.max())
    apart = [water.hours_apart for water in pairs.waters if water.hours_apart is not None]
    return PairsSummary(
        waters=pairs.n,
        readings_a=sum(of_a),
        readings_b=sum(of_b),
        fewest_a=min(of_a),
        most_a=max(of_a),
        fewest_b=min(of_b),
        most_b=max(of_b),
        lowest=lowest,
        highest=highest,
        ratio=highest / lowest if lowest > 0.0 else None,
        ties_a=_ties([float(level) for level in pairs.a], pairs.resolution_a),
        ties_b=_ties([float(level) for level in pairs.b], pairs.resolution_b),
        hours_apart=max(apart, default=None),
        dropped=len(pairs.dropped),
    )


def _ties(levels: list[float], step: float) -> float:
    """Share of pairs that are equal but for the arithmetic, or for a millionth of a step."""
    if len(levels) < 2:
        return 0.0
    grain = 1e-6 * step if step > 0.0 else 1e-9 * (max(map(abs, levels)) or 1.0)
    counts = Counter(round(level / grain) for level in levels).values()
    pairs = len(levels) * (len(levels) - 1) / 2
    return sum(count * (count - 1) / 2 for count in counts) / pairs
