"""One sitting at the bench: the same water read once or several times, then saved."""

from __future__ import annotations

from dataclasses import dataclass, field

from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import TestResult
from reef_calc.bench.replicates import ReplicateCheck, check_replicates


@dataclass
class Sitting:
    """Readings of one water with one kit that wait to be saved.

    Attributes
    ----------
    kit : Kit or None
        The kit; None before the first reading.
    read : list of (TestResult, str)
        Each reading with its raw entry in words.
    """

    kit: Kit | None = None
    read: list[tuple[TestResult, str]] = field(default_factory=list)

    def keep(self, kit: Kit, result: TestResult, raw: str) -> None:
        """Keep one more reading.

        Parameters
        ----------
        kit : Kit
            The kit.
        result : TestResult
            Level as read.
        raw : str
            Raw entry in words.
        """
        self.kit = kit
        self.read.append((result, raw))

    def forget_last(self) -> None:
        """Take the last kept reading away."""
        if self.read:
            self.read.pop()

    def clear(self) -> None:
        """Forget everything that was kept."""
        self.kit, self.read = None, []

    def agreement(self) -> ReplicateCheck | None:
        """Return whether the readings agree; None for fewer than two plain levels.

        Returns
        -------
        ReplicateCheck or None
            With the median, which is only offered.
        """
        levels = [result.level for result, _ in self.read if not result.limit]
        if self.kit is None or len(levels) < 2:
            return None
        return check_replicates(levels, self.kit.sd(levels[0]), self.kit.unit)
