"""Words for time zones that do not say their offset: what the keeper says they are."""

from __future__ import annotations

import datetime as dt

from reef_calc.log.foreign.clock_times import offset_of
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said

TANK = "tank"


class ZoneWords:
    """Words for zones in one column, such as ``CET``.

    Parameters
    ----------
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    zone : datetime.tzinfo
        Zone of the tank.
    answers : dict of str to str
        Answers so far.

    Attributes
    ----------
    offsets : bool
        Whether a time of the column states its offset.

    Examples
    --------
    >>> ZoneWords("time", 0, dt.UTC, {"time zone CET/time": "+01:00"}).offset_of("CET")
    datetime.timedelta(seconds=3600)
    """

    def __init__(self, key: str, column: int, zone: dt.tzinfo, answers: Answers) -> None:
        self.key, self.column, self.zone, self.answers = key, column, zone, answers
        self.offsets = False
        self._rows: dict[str, list[int]] = {}

    def offset_of(self, word: str) -> dt.timedelta | Said | None:
        """Return what a word stands for.

        Parameters
        ----------
        word : str
            The word.

        Returns
        -------
        datetime.timedelta, Said or None
            The offset from UTC; None for the tank's own clock; that it is asked.

        Examples
        --------
        >>> ZoneWords("time", 0, dt.UTC, {}).offset_of("CET").fate
        'asked'
        """
        given = self.answers.get(self._name(word), "").strip()
        if given == TANK:
            return None
        offset = offset_of(given)
        if offset is not None:
            return offset
        reason = f"“{word}” does not say how far the clock is from UTC."
        return Said("asked", "ZONE_WORD", reason, "", self._name(word))

    def used(self, word: str, row: int) -> None:
        """Note a row in which a word stands.

        Parameters
        ----------
        word : str
            The word.
        row : int
            Row, counted from 1.

        Examples
        --------
        >>> words = ZoneWords("time", 0, dt.UTC, {})
        >>> words.used("CET", 2)
        >>> words.questions()[0].rows
        (2,)
        """
        self._rows.setdefault(word, []).append(row)

    def questions(self) -> list[Question]:
        """Return a question for each word that was used.

        Returns
        -------
        list of Question
            Answered by "tank" or an offset.

        Examples
        --------
        >>> ZoneWords("time", 0, dt.UTC, {}).questions()
        []
        """
        found = []
        name = getattr(self.zone, "key", str(self.zone))
        for word, rows in self._rows.items():
            given = self.answers.get(self._name(word), "").strip()
            fits = given == TANK or offset_of(given) is not None
            text = f"{self.key}: which clock is “{word}”?"
            if given and not fits:
                text = f"“{given[:40]}” is no offset such as +01:00. {text}"
            choice = Choice(
                TANK, f"The tank's own clock, {name}", "The times are kept as they stand."
            )
            found.append(
                Question(
                    self._name(word), text, (choice,), tuple(rows), self.column,
                    typed="offset from UTC, such as +01:00", answered=given if fits else "",
                )
            )  # fmt: skip
        return found

    def _name(self, word: str) -> str:
        return f"time zone {word}/{self.key}"
