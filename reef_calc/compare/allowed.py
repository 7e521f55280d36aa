"""How far two kits may differ."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.compare.verdict import statement_of
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Allowed:
    """How far two kits may differ.

    Attributes
    ----------
    absolute : float or None
        In the unit of the readings.
    percent : float or None
        In per cent of the level.
    """

    absolute: float | None = None
    percent: float | None = None

    def __post_init__(self) -> None:
        for given in (self.absolute, self.percent):
            if given is not None:
                statement_of(0.0, 0.0, given)
        if self.absolute is not None and self.percent is not None:
            raise InputError(
                "an allowed difference in the unit or in per cent",
                "both",
                "Type one of them.",
                "allowed difference",
            )

    @property
    def given(self) -> bool:
        """Whether there is one."""
        return self.absolute is not None or self.percent is not None

    def at(self, level: float) -> float:
        """Return the allowed difference at a level.

        Parameters
        ----------
        level : float
            Level (unit of the readings).

        Returns
        -------
        float
            Allowed difference (same unit).

        Raises
        ------
        InputError
            If it is a share of a level that is not above 0, or none was given.
        """
        if self.absolute is not None:
            return self.absolute
        if self.percent is None or level <= 0.0:
            raise InputError(
                "a level above 0 for an allowed difference in per cent",
                level,
                "Type the allowed difference in the unit of the readings.",
                "allowed difference",
            )
        return self.percent / 100.0 * level
