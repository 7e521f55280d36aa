"""Times of day in words: morning, noon, evening."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.plain_words import plain

KEY = "part of day"
NONE = "none"
# Hours that are assumed and asked; *common practice, no source*.
_HOURS = {"morning": 8, "noon": 12, "afternoon": 16, "evening": 20}
_WORDS = {
    "morning": "morning,am morning,in the morning,morgen,morgens,früh,vormittag,vormittags,matin,"
    "le matin,mañana,por la mañana,mattina,mattino,ochtend,'s ochtends,s ochtends,rano,morgon,"
    "på morgonen,manhã,formiddag",
    "noon": "noon,midday,lunch,lunchtime,mittag,mittags,midi,mediodía,mezzogiorno,middag,południe,"
    "w południe,meio dia",
    "afternoon": "afternoon,in the afternoon,nachmittag,nachmittags,après midi,tarde,por la tarde,"
    "pomeriggio,namiddag,popołudnie,po południu,eftermiddag",
    "evening": "evening,in the evening,night,at night,abend,abends,nachts,soir,le soir,noche,"
    "por la noche,sera,avond,'s avonds,s avonds,wieczór,wieczorem,kväll,på kvällen,aften,noite",
}
_PARTS = {plain(word): part for part, words in _WORDS.items() for word in words.split(",")}


def part_of_day(text: str) -> str:
    """Return the part of the day that a text names.

    Parameters
    ----------
    text : str
        Text where a time of day should stand.

    Returns
    -------
    str
        morning, noon, afternoon or evening; empty where it names none.

    Examples
    --------
    >>> part_of_day("morgens"), part_of_day("Soir"), part_of_day("later")
    ('morning', 'evening', '')
    """
    return _PARTS.get(plain(text), "") if len(text) < 30 else ""


@dataclass
class PartsOfDay:
    """Parts of the day in one column and the time each is taken for.

    Attributes
    ----------
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    answers : dict of str to str
        Answers so far.
    rows : dict of str to list of int
        Rows by part.
    """

    key: str
    column: int
    answers: Answers
    rows: dict[str, list[int]] = field(default_factory=dict)

    def time_of(self, part: str, row: int) -> dt.time | None:
        """Return the time of day that a part is taken for; None where only the day is read.

        Parameters
        ----------
        part : str
            As ``part_of_day``.
        row : int
            Row in which it stands.

        Returns
        -------
        datetime.time or None
            As answered, else as assumed.

        Examples
        --------
        >>> PartsOfDay("Zeit", 1, {}).time_of("morning", 2)
        datetime.time(8, 0)
        """
        self.rows.setdefault(part, []).append(row)
        given = self.answers.get(f"{KEY}/{part}", "")
        if given == NONE:
            return None
        return _typed(given) or dt.time(_HOURS[part])

    def questions(self) -> list[Question]:
        """Return one question for each part that was there.

        Returns
        -------
        list of Question
            With the hour that is assumed.

        Examples
        --------
        >>> PartsOfDay("Zeit", 1, {}).questions()
        []
        """
        found = []
        for part, rows in self.rows.items():
            key, hour = f"{KEY}/{part}", f"{_HOURS[part]:02d}:00"
            given = self.answers.get(key, "")
            fits = given == NONE or _typed(given) is not None
            text = (
                f"{self.key}: some times are only words for “{part}”; {hour} is taken. When was it?"
            )
            if given and not fits:
                text += f" “{given[:40]}” is no time of day."
            choices = (
                Choice(hour, hour, f"The readings of the {part} are kept at {hour}."),
                Choice(
                    NONE, "Only the day",
                    "Readings of one day count as repeats of one, whatever the hour.",
                ),
            )  # fmt: skip
            found.append(
                Question(
                    key, text, choices, tuple(rows), self.column, "time such as 07:30",
                    assumed=hour, answered=given if fits else "",
                )
            )  # fmt: skip
        return found


def _typed(text: str) -> dt.time | None:
    try:
        return dt.time.fromisoformat(text.strip().zfill(5)) if ":" in text else None
    except ValueError:
        return None
