"""What was understood of a file and holds as long as the answers that it rests on stay the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar, cast

from reef_calc.log.foreign.outcome import Answers

Part = TypeVar("Part")


class Looked(Mapping[str, str]):
    """Answers that remember which of them were looked at.

    Parameters
    ----------
    answers : dict of str to str
        The answers.

    Attributes
    ----------
    seen : dict of str to str or None
        Each key that was asked for, with its answer; None where there was none.
    all_seen : bool
        Whether the answers were gone through as a whole.

    Examples
    --------
    >>> looked = Looked({"unit/KH": "dKH", "decimal/KH": ","})
    >>> looked.get("unit/KH"), looked.get("unit/Ca", ""), looked.seen
    ('dKH', '', {'unit/KH': 'dKH', 'unit/Ca': None})
    """

    def __init__(self, answers: Answers) -> None:
        self._answers = dict(answers)
        self.seen: dict[str, str | None] = {}
        self.all_seen = False

    def __getitem__(self, key: str) -> str:
        self.seen[key] = self._answers.get(key)
        return self._answers[key]

    def __iter__(self) -> Iterator[str]:
        self.all_seen = True
        return iter(self._answers)

    def __len__(self) -> int:
        self.all_seen = True
        return len(self._answers)

    def holds_for(self, answers: Answers) -> bool:
        """Return whether other answers are the same in all that was looked at.

        Parameters
        ----------
        answers : dict of str to str
            The other answers.

        Returns
        -------
        bool
            True where what was made of these would come out the same.

        Examples
        --------
        >>> looked = Looked({"unit/KH": "dKH"})
        >>> looked["unit/KH"], looked.holds_for({"unit/KH": "dKH", "new": "1"}), looked.holds_for({})
        ('dKH', True, False)
        """
        if self.all_seen and self._answers != dict(answers):
            return False
        return all(answers.get(key) == answer for key, answer in self.seen.items())


class Kept:
    """Parts of one file's understanding, each with all that it was made from.

    The page holds one for the file that it shows, and takes a new one with every file: nothing is
    kept beyond it. Of each part only the last is kept.

    Examples
    --------
    >>> kept, table = Kept(), ("some", "table")
    >>> def make(answers):
    ...     return [answers.get("unit/KH", "dKH")]
    >>> first = kept.part("units", (table,), {}, make)
    >>> first is kept.part("units", (table,), {"decimal/KH": ","}, make)
    True
    >>> kept.part("units", (table,), {"unit/KH": "meq/L"}, make)
    ['meq/L']
    """

    def __init__(self) -> None:
        self._parts: dict[str, tuple[tuple[object, ...], Looked, object]] = {}

    def part(
        self,
        name: str,
        made_from: tuple[object, ...],
        answers: Answers,
        make: Callable[[Answers], Part],
    ) -> Part:
        """Return a part, the one before where it would come out the same.

        Parameters
        ----------
        name : str
            Name of the part.
        made_from : tuple
            All that it is made from besides the answers: the very same objects, or equal texts.
        answers : dict of str to str
            Answers so far.
        make : callable
            Makes the part of the answers, a pure function of them and of ``made_from``.

        Returns
        -------
        object
            What ``make`` returns, or returned when it last was given the same.

        Examples
        --------
        >>> Kept().part("number", (), {}, lambda answers: len(answers))
        0
        """
        before = self._parts.get(name)
        if before is not None:
            given, looked, part = before
            same = len(given) == len(made_from) and all(map(_same, given, made_from))
            if same and looked.holds_for(answers):
                return cast("Part", part)
        looked = Looked(answers)
        part = make(looked)
        self._parts[name] = (made_from, looked, part)
        return part


def _same(one: object, other: object) -> bool:
    return one is other or (isinstance(one, str) and one == other)
