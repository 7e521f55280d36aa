"""Two kits of a tank, compared: from all readings of the log, and on the waters read with both."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.compare.comparison import Comparison, compare_pairs
from reef_calc.compare.from_the_log import LogDifference, difference_from_log
from reef_calc.compare.pairs_in_the_log import pairs_from_log
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message


@dataclass(frozen=True)
class KitComparison:
    """How two kits or lots of a tank differ; differences are B − A.

    Attributes
    ----------
    from_log : LogDifference
        From all readings, with use, doses and water changes taken out.
    side_by_side : Comparison or None
        On the waters read with both within an hour; None where there are fewer than two.
    messages : tuple of Message
        What limits the first, then the second.
    """

    from_log: LogDifference
    side_by_side: Comparison | None
    messages: tuple[Message, ...]

    @property
    def sentence(self) -> str:
        """The answer in words."""
        return self.from_log.sentence

    @property
    def summary(self) -> pd.DataFrame:
        """One row a way of comparing: ``way``, ``difference``, ``low``, ``high``, ``unit``."""
        found = self.from_log
        rows = [("from the log", found.difference, found.low, found.high, found.unit)]
        if self.side_by_side is not None:
            mean = self.side_by_side.difference
            rows.append(
                ("side by side", mean.mean, mean.low, mean.high, self.side_by_side.pairs.unit)
            )
        return pd.DataFrame(rows, columns=["way", "difference", "low", "high", "unit"])


def compare_kits(
    tank: Tank,
    element: str,
    kit_a: str,
    kit_b: str,
    *,
    allowed: float | None = None,
    since: str | pd.Timestamp | None = None,
    until: str | pd.Timestamp | None = None,
) -> KitComparison:
    """Return how two kits of a tank differ.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that both read.
    kit_a, kit_b : str
        Kits, or a kit and lot as "kit A / lot A-2"; differences are B − A.
    allowed : float, optional
        Difference that does not matter, in the unit of the aims.
    since, until : str or pandas.Timestamp, optional
        First and last day looked at.

    Returns
    -------
    KitComparison
        Both ways of comparing, with their messages.

    Raises
    ------
    InputError
        For an unknown element, kit, lot or day, or the same kit twice.
    CannotTellError
        If there are fewer readings than unknowns.

    Examples
    --------
    See ``tests/compare/test_kits.py``: a tank with two kits is needed.
    """
    if kit_a == kit_b:
        raise InputError(
            "two different kits", kit_a, "Choose another one to compare with.", "compare_kits"
        )
    from_log = difference_from_log(tank, element, kit_a, kit_b, since=since, until=until)
    side_by_side = None
    messages = from_log.messages
    try:
        pairs = pairs_from_log(tank, element, kit_a, kit_b, since=since, until=until)
        side_by_side = compare_pairs(pairs, allowed=allowed)
        messages = (*messages, *side_by_side.messages)
    except (CannotTellError, InputError) as error:
        messages = (*messages, Message("NOT_SIDE_BY_SIDE", str(error)))
    return KitComparison(from_log, side_by_side, messages)
