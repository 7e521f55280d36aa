"""From a level, its aims, a rate and a dose to one of three decisions, in words."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

from reef_calc.numbers_in_words import level_text, rate_text, upper_bound

Group = Literal["change", "test", "leave"]
Action = Literal["raise", "lower", "look", "test", "keep"]
GROUP_TITLES: dict[str, str] = {
    "change": "Change something",
    "test": "Test again first",
    "leave": "Leave as it is",
}
NO_READING = "Test: no reading yet"
SIGNS: dict[str, str] = {"raise": "▲", "lower": "▼", "look": "◆", "test": "?", "keep": "–"}

# Days between tests (common practice, no source); three times that, and at least 14, is called old.
USUAL_TEST_DAYS: dict[str, float] = {
    "alkalinity": 3,
    "calcium": 7,
    "magnesium": 28,
    "potassium": 30,
    "strontium": 90,
    "iodine": 90,
    "nitrate": 7,
    "phosphate": 7,
    "salinity": 7,
    "temperature": 7,
    "pH": 14,
}
TRACES = ("strontium", "iodine", "boron", "bromide", "fluoride")
TRACE_DAYS = 60.0
SMALL_GAP = 0.10
MONTH = 30.0
PUMP_QUESTION = (
    "Before any raise: measure what the pump really gives into a cylinder. More used than the doses "
    "bring can also mean that less was delivered than set (pump, hose, air, an empty or weak "
    "container), or that the salt mix changed."
)
LABEL_FIRST = (
    "The label and the safety data sheet of the supplement decide; gloves and eye protection with "
    "strong solutions; never two concentrates in one container."
)


@dataclass(frozen=True)
class Decision:
    """What to do about one element.

    Attributes
    ----------
    group : {"change", "test", "leave"}
        Group on the overview.
    action : {"raise", "lower", "look", "test", "keep"}
        Key of ``SIGNS``.
    headline : str
        Verb sentence with numbers, such as "Raise the dose: 0.94 to 1.04 dKH a day".
    reason : str
        One or two sentences why.
    cautions : tuple of str
        What stands beside an advice to dose: daily limit, pump question, label first.
    """

    group: Group
    action: Action
    headline: str
    reason: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Situation:
    """What a decision rests on; levels in one unit, rates in that unit per day.

    Attributes
    ----------
    element, unit, behaviour : str
        Element, unit, and ``used``, ``net`` or ``state``.
    level, level_sd : float or None
        Last level with the SD of its reading; None without a reading.
    last_words : str
        The last reading in words, where it is more than a number: "below 0.02 mg/L".
    level_now, level_u : float or None
        Level from the last few readings brought forward, with its standard uncertainty; the last
        reading with its SD when there is none.
    limit : str
        ``<`` or ``>`` when the last reading lies beyond the kit's limit, else empty.
    level_age : float
        Days from the last reading to the end of the month.
    expected : tuple of float or None
        Range (low, high) the balance leads to expect for the last reading; None when unknown.
    decimals : int
        Decimals a level is written with.
    low, aim, high : float or None
        Aims; ``aim`` falls back on the middle.
    never_below, never_above : float or None
        Caution levels that need a second confirmation.
    rise_per_day, fall_per_day : float or None
        Largest change of the level per day.
    rate, rate_low, rate_high : float or None
        Use per day with its interval.
    refusal : str
        Why there is no rate, when there is none.
    what_helps : str
        What would narrow the interval most, as a request; empty for more readings.
    dose : float or None
        Dose per day now; None when not known.
    doses : bool
        Whether anything was added of this element.
    pump_measured : bool
        Whether a measured delivery is on record within the last 60 days.
    jump : float or None
        Step of the level between readings beyond which a second test comes first.
    previous : float or None
        The reading before the last, while it is not old.
    single : bool
        Whether the last reading stands alone, with no other that is not old.
    doubted : str
        The last reading in words where it is doubted or left out; else empty.
    kits_differ : bool
        Whether kits or lots were found to disagree.
    unread : str
        Rows of doses and water changes that could not be read, in words.
    rise_written : float or None
        The daily rise written in tank.toml where it is more than any tank should be given.
    month_name : str
        Month in words, for sentences.
    """

    element: str
    unit: str
    behaviour: str
    level: float | None = None
    level_sd: float | None = None
    last_words: str = ""
    level_now: float | None = None
    level_u: float | None = None
    limit: str = ""
    level_age: float = 0.0
    expected: tuple[float, float] | None = None
    decimals: int = 1
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    never_below: float | None = None
    never_above: float | None = None
    rise_per_day: float | None = None
    fall_per_day: float | None = None
    rate: float | None = None
    rate_low: float | None = None
    rate_high: float | None = None
    refusal: str = ""
    what_helps: str = ""
    dose: float | None = None
    doses: bool = False
    pump_measured: bool = False
    jump: float | None = None
    previous: float | None = None
    single: bool = False
    doubted: str = ""
    kits_differ: bool = False
    unread: str = ""
    rise_written: float | None = None
    month_name: str = "this month"

    def only_known(self) -> Situation:
        """Return the situation with every number that is not finite taken as not known."""
        found: dict[str, Any] = {}
        for one in fields(self):
            value = getattr(self, one.name)
            numbers = value if isinstance(value, tuple) else (value,)
            if any(isinstance(x, float) and not math.isfinite(x) for x in numbers):
                found[one.name] = None
        if "level_age" in found:  # a reading of no known day says nothing of today
            found |= {"level": None, "level_age": 0.0}
        return replace(self, **found)

    def text(self, level: float) -> str:
        """Return a level in words, with its unit.

        Parameters
        ----------
        level : float
            Level in ``unit``.

        Returns
        -------
        str
            Text such as "8.0 dKH".
        """
        return level_text(level, self.decimals, self.unit)

    def more_tests(self) -> str:
        """Return what to do to know more, as a request."""
        if self.what_helps:
            return self.what_helps
        usual = USUAL_TEST_DAYS.get(self.element, 90.0)
        if usual <= 7:
            return "test twice within a week"
        return "test again within two weeks" if usual <= 30 else "test again within a month"

    def target(self, fallback: float) -> float:
        """Return the level to aim for: the aim, else the middle of the band.

        Parameters
        ----------
        fallback : float
            Level in ``unit`` where there is neither.

        Returns
        -------
        float
            Level in ``unit``.
        """
        if self.aim is not None:
            return self.aim
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        return fallback

    def then_rate(self) -> str:
        """Return the clause that names the daily use after a correction."""
        if self.rate is None or self.rate_low is None or self.rate_high is None:
            return "; the use is not known yet"
        if self.rate_high <= 0:
            return "; then no dose is shown to be needed (the level rises by itself)"
        if self.rate_low <= 0:
            most = upper_bound(self.rate_high)
            return f"; then no dose is shown to be needed (less than {most} {self.unit} a day)"
        return f"; then {self.rate_in_words(self.rate)} a day"

    def no_use_shown(self) -> str:
        """Return the sentence for a use whose interval reaches down to zero."""
        high = self.rate_high if self.rate_high is not None else 0.0
        if high <= 0:
            return "No use shown: the level rises by itself."
        return f"No use shown: less than {upper_bound(high)} {self.unit} a day."

    def rate_in_words(self, value: float) -> str:
        """Return a rate rounded by the interval of the use.

        Parameters
        ----------
        value : float
            Rate, unit per day.

        Returns
        -------
        str
            Text such as "1.04 dKH"; "a day" is the sentence's own.
        """
        return rate_text(value, self.rate_low, self.rate_high, self.unit)

    def dose_cautions(self, rises: bool) -> tuple[str, ...]:
        """Return what must stand beside an advice to dose.

        Parameters
        ----------
        rises : bool
            Whether the advice raises the level or the dose.

        Returns
        -------
        tuple of str
            The daily limit, the second confirmation of a caution level, the pump question unless
            it is answered, and the label first.
        """
        found = []
        if rises and self.rise_per_day:
            found.append(
                f"At most {self.rise_per_day:.3g} {self.unit} more a day; spread it over several "
                "doses."
            )
            if self.rise_written is not None:
                found.append(
                    f"tank.toml allows {self.rise_written:.3g} a day: that is more than is ever advised."
                )
        elif rises:
            found.append(
                "No daily limit is set for this element: write rise_per_day in tank.toml before dosing."
            )
        found += self.level_cautions()
        if rises and not self.pump_measured:
            found.append(PUMP_QUESTION)
        found.append(LABEL_FIRST)
        return tuple(found)

    def level_cautions(self) -> list[str]:
        """Return what must be confirmed before a level is acted on."""
        found = []
        level = self.level if self.level is not None else math.nan
        if (self.never_below is not None and level < self.never_below) or (
            self.never_above is not None and level > self.never_above
        ):
            found.append(
                "This is a caution level: confirm it with a second kit or a standard first."
            )
        if self.kits_differ:
            found.append(
                "Two kits or lots disagree on this water: read a standard before you correct by one "
                "of them."
            )
        return found

    def worst_month(self) -> float:
        """Return the largest move of the level in a month that the interval allows."""
        dose = self.dose or 0.0
        low = self.rate_low if self.rate_low is not None else 0.0
        high = self.rate_high if self.rate_high is not None else 0.0
        return MONTH * max(abs(low - dose), abs(high - dose))

    def quarter_band(self) -> float | None:
        """Return a quarter of the aim band; None without both aims."""
        return (
            (self.high - self.low) / 4 if self.low is not None and self.high is not None else None
        )
