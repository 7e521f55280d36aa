"""Names of months and weekdays in the languages of the trade, and a date in plain words."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

from reef_calc.log.foreign.plain_words import plain

ENGLISH = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
# Twelve names a line, in the order of the year; a name may be cut to three letters or more where
# that leaves one month only.
_NAMES = (
    " ".join(ENGLISH),
    "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "Jänner Feber Maerz April Mai Juno Julei August September Oktober November Dezember",
    "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
    "janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro dezembro",
    "januari februari maart april mei juni juli augustus september oktober november december",
    "styczeń luty marzec kwiecień maj czerwiec lipiec sierpień wrzesień październik listopad grudzień",
    "stycznia lutego marca kwietnia maja czerwca lipca sierpnia września października listopada "
    "grudnia",
    "januari februari mars april maj juni juli augusti september oktober november december",
    "januar februar marts april maj juni juli august september oktober november december",
    "januar februar mars april mai juni juli august september oktober november desember",
)
# Not cut: their beginnings mean another month elsewhere. Czech, Finnish, and Roman numerals.
_WHOLE = (
    "leden únor březen duben květen červen červenec srpen září říjen listopad prosinec",
    "ledna února března dubna května června července srpna září října listopadu prosince",
    "tammikuu helmikuu maaliskuu huhtikuu toukokuu kesäkuu heinäkuu elokuu syyskuu lokakuu "
    "marraskuu joulukuu",
    "tammikuuta helmikuuta maaliskuuta huhtikuuta toukokuuta kesäkuuta heinäkuuta elokuuta "
    "syyskuuta lokakuuta marraskuuta joulukuuta",
    "I II III IV V VI VII VIII IX X XI XII",
)
_SHORT = {
    "mrz": 3, "mrt": 3, "jly": 7,
}  # fmt: skip
_WEEKDAY_NAMES = (
    "monday tuesday wednesday thursday friday saturday sunday mon tue tues wed weds thu thur "
    "thurs fri sat sun montag dienstag mittwoch donnerstag freitag samstag sonnabend sonntag mo "
    "di mi do fr sa so lundi mardi mercredi jeudi vendredi samedi dimanche lun mar mer jeu ven "
    "sam dim lunes martes miercoles jueves viernes sabado domingo mie jue vie sab dom lunedi "
    "martedi mercoledi giovedi venerdi domenica gio segunda terca quarta quinta sexta seg ter qua "
    "qui sex feira maandag dinsdag woensdag donderdag vrijdag zaterdag zondag ma wo vr za zo "
    "poniedzialek wtorek sroda czwartek piatek sobota niedziela pon wt sr czw pt sob nd niedz "
    "mandag tisdag onsdag torsdag fredag lordag sondag man tir ons tor fre lor son tis mandag "
    "tirsdag "
)
_WEEKDAYS = frozenset(_WEEKDAY_NAMES.split())


def _prefixes() -> dict[str, int]:
    months: dict[str, set[int]] = {}
    for line in _NAMES:
        for month, name in enumerate(line.split(), start=1):
            word = plain(name)
            for length in range(3, len(word) + 1):
                months.setdefault(word[:length], set()).add(month)
    found = {word: min(which) for word, which in months.items() if len(which) == 1}
    for line in (*_WHOLE, *_NAMES):
        # A whole name stands even where it begins another one: červen, červenec.
        found |= {plain(name): month for month, name in enumerate(line.split(), start=1)}
    return found


_MONTHS = _SHORT | _prefixes()


@lru_cache(maxsize=4096)
def month_named(word: str) -> int:
    """Return the month that a word names.

    Parameters
    ----------
    word : str
        Name or usual short name, in any of the languages; accents and case do not matter.

    Returns
    -------
    int
        Number of the month, 1 to 12; 0 where the word names none, or two.

    Examples
    --------
    >>> month_named("févr."), month_named("März"), month_named("paź"), month_named("jui")
    (2, 3, 10, 0)
    """
    return _MONTHS.get(plain(word), 0)


def is_weekday(word: str) -> bool:
    """Return whether a word names a day of the week.

    Parameters
    ----------
    word : str
        A word.

    Returns
    -------
    bool
        True for names and usual short names.

    Examples
    --------
    >>> is_weekday("Sonntag"), is_weekday("mié."), is_weekday("KH")
    (True, True, False)
    """
    return any(part in _WEEKDAYS for part in plain(word).split()[:1])


def day_words(day: dt.date) -> str:
    """Return a date in words.

    Parameters
    ----------
    day : datetime.date
        A day.

    Returns
    -------
    str
        Day, month by name, year.

    Examples
    --------
    >>> day_words(dt.date(2026, 2, 3))
    '3 February 2026'
    """
    return f"{day.day} {ENGLISH[day.month - 1]} {day.year}"
