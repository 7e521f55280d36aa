"""One sitting at the bench: the same water read once or several times, then saved."""

from __future__ import annotations

from dataclasses import dataclass, field

from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import TestResult
from reef_calc.bench.replicates import ReplicateCheck, check_replicates
from reef_calc.errors import InputError


@dataclass
class Sitting:
    """Readings of one water with one kit that wait to be saved.

    Attributes
    ----------
    kit : Kit or None
        The kit; None before the first reading.
    water, lot : str
        What was read, and the lot it was read with.
    read : list of (TestResult, str)
        Each reading with its raw entry in words.
    """

    kit: Kit | None = None
    water: str = ""
    lot: str = ""
    read: list[tuple[TestResult, str]] = field(default_factory=list)

    def keep(self, kit: Kit, water: str, lot: str, result: TestResult, raw: str) -> None:
        """Keep one more reading.

        Parameters
        ----------
        kit : Kit
            The kit.
        water, lot : str
            What was read, and the lot it was read with.
        result : TestResult
            Level as read.
        raw : str
            Raw entry in words.

        Raises
        ------
        InputError
            If readings of another kit, water or lot are kept and not saved yet.
        """
        held = (self.kit.name if self.kit else "", self.water, self.lot)
        if self.read and held != (kit.name, water, lot):
            raise InputError(
                f"the kept readings saved first ({self.in_words()})",
                ", ".join(part for part in (kit.name, water, lot) if part),
                "Choose that kit, water and lot again and press Save, or forget what was kept.",
                "Test",
            )
        self.kit, self.water, self.lot = kit, water, lot
        self.read.append((result, raw))

    def in_words(self) -> str:
        """Return kit, water and lot of what is kept.

        Returns
        -------
        str
            Such as "kit A, tank, lot A-2".
        """
        parts = (
            self.kit.name if self.kit else "",
            self.water,
            f"lot {self.lot}" if self.lot else "",
        )
        return ", ".join(part for part in parts if part)

    def forget_last(self) -> None:
        """Take the last kept reading away."""
        if self.read:
            self.read.pop()

    def clear(self) -> None:
        """Forget everything that was kept."""
        self.kit, self.water, self.lot, self.read = None, "", "", []

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
