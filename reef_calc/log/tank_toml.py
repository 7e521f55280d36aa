"""Reading ``tank.toml``: what leaves the tank unusable is raised, the rest becomes a problem."""

from __future__ import annotations

import datetime as dt
import itertools
from dataclasses import dataclass, field
from typing import Any

from reef_calc.bench.toml_reader import Keys
from reef_calc.chem.elements import element
from reef_calc.chem.units import check_unit
from reef_calc.errors import InputError, TankFolderError
from reef_calc.log.description import Aim, NewWater, Water, usual_limits
from reef_calc.log.problems import Problem, Severity
from reef_calc.log.stated import Stated, stated_from
from reef_calc.log.times import parse_time

FILE = "tank.toml"
STATES = ("settled", "young or fast growing")

# Taken when tank.toml does not say; each is then told as a note.
_ASSUMED = {"salinity": 35.0, "temperature_C": 25.0, "air_co2_uatm": 500.0}
_ASSUMED_VOLUME_SHARE = 0.05


@dataclass
class Reader:
    """Reads the tables of ``tank.toml`` and collects what was wrong with them.

    Attributes
    ----------
    document : dict
        What ``tomllib`` gave.
    zone : datetime.tzinfo
        Zone of the tank.
    problems : list of Problem
        What was wrong so far.
    """

    document: dict[str, Any]
    zone: dt.tzinfo
    problems: list[Problem] = field(default_factory=list)

    def note(self, place: str, reason: str, severity: Severity = "note") -> None:
        """Add one problem about a place of the file.

        Parameters
        ----------
        place : str
            Table and key.
        reason : str
            A sentence.
        severity : str, optional
            Severity of a ``Problem``.
        """
        self.problems.append(Problem(FILE, None, place, "", severity, reason))

    def waters(self) -> tuple[Water, ...]:
        """Return the periods of the water, oldest first.

        Returns
        -------
        tuple of Water
            At least one.

        Raises
        ------
        TankFolderError
            If there is none or one cannot be used: without the volume no amount can be worked out.
        """
        try:
            tables = Keys(self.document, FILE).tables("water")
            waters = [self._water(keys) for keys in tables]
        except InputError as err:
            raise as_folder_error(err) from err
        if not waters:
            raise TankFolderError("a [[water]] table with from and net_L", "none", "Add one.", FILE)
        ordered = tuple(sorted(waters, key=lambda water: water.start))
        for one, other in itertools.pairwise(ordered):
            if one.start == other.start:
                raise TankFolderError(
                    "a different “from” in each [[water]]",
                    one.start.isoformat(),
                    "Delete one of the two or correct its day.",
                    FILE,
                )
        return ordered

    def _water(self, keys: Keys) -> Water:
        keys.needed("from")
        keys.needed("net_L")
        place = keys.where.removeprefix(f"{FILE}, ")
        given = keys.value("from")
        # A TOML date has no zone of its own, so it is read like any other text of the folder.
        text = (
            given if isinstance(given, str) else getattr(given, "isoformat", lambda: repr(given))()
        )
        moment = parse_time(text, self.zone, f"{keys.where}, from")
        start = moment.utc
        if moment.date_only:
            midnight = dt.datetime.combine(
                start.astimezone(self.zone).date(), dt.time(0), self.zone
            )
            start = midnight.astimezone(dt.UTC)
        if moment.doubt:
            self.note(f"{place}, from", moment.doubt, "flagged")
        net = keys.number("net_L", above=0.0) or 0.0
        spread = keys.number("net_u_L", above=0.0)
        if spread is None:
            spread = _ASSUMED_VOLUME_SHARE * net
            self.note(place, f"net_u_L is not written: ±{spread:.3g} L is assumed.")
        if spread >= net:
            raise keys.refuse("net_u_L", "less than the net volume", "Check both numbers.")
        taken: dict[str, float] = {}
        for key, assumed in _ASSUMED.items():
            number = keys.number(key, above=0.0)
            taken[key] = assumed if number is None else number
            if number is None:
                self.note(place, f"{key} is not written: {assumed:g} is assumed.")
        boron = keys.number("boron", at_least=0.0)
        self._say_unknown(keys)
        return Water(start, net, spread, boron=boron, **taken)

    def aims(self) -> dict[str, Aim]:
        """Return the aims that can be used; the others become problems.

        Returns
        -------
        dict of str to Aim
            By element.
        """
        aims: dict[str, Aim] = {}
        for name, table in self._named("aim"):
            place = f"aim.{name}"
            try:
                own = self._own_name(name, f"{FILE}, {place}", aims)
                aims[own] = self._aim(own, Keys(table, f"{FILE}, {place}"))
            except InputError as err:
                self.problems.append(refusal(err, FILE, place))
        return aims

    def _own_name(self, name: str, where: str, aims: dict[str, Aim]) -> str:
        own = element(name, where).name
        if own in aims:
            raise InputError("one table for each element", name, "Delete one.", FILE)
        return own

    def _aim(self, name: str, keys: Keys) -> Aim:
        for key in ("unit", "low", "aim", "high"):
            keys.needed(key)
        unit = check_unit(keys.text("unit"), name, f"{keys.where}, unit")
        numbers: dict[str, float | None] = {
            "low": keys.number("low", at_least=0.0),
            "aim": keys.number("aim", at_least=0.0),
            "high": keys.number("high", at_least=0.0),
        }
        for key in ("rise_per_day", "fall_per_day"):
            numbers[key] = keys.number(key, above=0.0)
        for key in ("never_below", "never_above"):
            numbers[key] = keys.number(key, at_least=0.0)
        defaults = tuple(
            key for key, value in usual_limits(name, unit).items() if _fill(numbers, key, value)
        )
        self._say_unknown(keys)
        aim = Aim(unit, defaults=defaults, **numbers)  # type: ignore[arg-type]
        if not aim.low <= aim.aim <= aim.high:
            raise keys.refuse(
                "aim", "low ≤ aim ≤ high", f"low is {aim.low:g}, high is {aim.high:g}."
            )
        beyond_low = aim.never_below is not None and aim.low < aim.never_below
        beyond_high = aim.never_above is not None and aim.high > aim.never_above
        if beyond_low and "never_below" not in defaults:
            raise keys.refuse("never_below", "not more than low", f"low is {aim.low:g}.")
        if beyond_high and "never_above" not in defaults:
            raise keys.refuse("never_above", "not less than high", f"high is {aim.high:g}.")
        if beyond_low or beyond_high:
            self.note(
                f"aim.{name}",
                f"The aims reach beyond the usual caution levels "
                f"({_limit(aim.never_below)}–{_limit(aim.never_above)} {unit}). "
                "Write never_below and never_above if that is meant.",
                "flagged",
            )
        return aim

    def new_water(self) -> NewWater:
        """Return the new salt water; what cannot be used becomes a problem.

        Returns
        -------
        NewWater
            Salinity and stated levels.
        """
        salinity: float | None = None
        levels: dict[str, Stated] = {}
        named = dict(self._named("new_water"))
        try:
            salinity = Keys(named, f"{FILE}, new_water").number("salinity", at_least=0.0)
        except InputError as err:
            self.problems.append(refusal(err, FILE, "new_water.salinity"))
        named.pop("salinity", None)
        for name, table in named.items():
            place = f"new_water.{name}"
            try:
                measured = element(name, f"{FILE}, {place}").name
                keys = Keys(table, f"{FILE}, {place}")
                levels[measured] = stated_from(keys, measured, salinity)
                self._say_unknown(keys)
            except InputError as err:
                self.problems.append(refusal(err, FILE, place))
        return NewWater(salinity, levels)

    def _named(self, key: str) -> list[tuple[str, Any]]:
        tables = self.document.get(key, {})
        if isinstance(tables, dict):
            return list(tables.items())
        self.note(key, f"Needed a table [{key}]; nothing of it is used.", "refused")
        return []

    def _say_unknown(self, keys: Keys) -> None:
        for key in keys.unknown():
            self.note(
                keys.where.removeprefix(f"{FILE}, "),
                f"The key {key} is not known and is not used. Check its spelling.",
                "flagged",
            )


def _fill(numbers: dict[str, float | None], key: str, value: float) -> bool:
    if numbers[key] is None:
        numbers[key] = value
        return True
    return False


def _limit(value: float | None) -> str:
    return "…" if value is None else f"{value:.3g}"


def refusal(err: InputError, file: str, place: str) -> Problem:
    """Return the problem that says what an error said about one table.

    Parameters
    ----------
    err : InputError
        The error.
    file, place : str
        File, and table in it.

    Returns
    -------
    Problem
        A refusal.

    Examples
    --------
    >>> err = InputError("a number", "many", "Write 300.", "tank.toml, aim.calcium, low")
    >>> print(refusal(err, "tank.toml", "aim.calcium"))
    tank.toml, aim.calcium, low, “many”: refused. Needed a number. Write 300.
    """
    given = err.given if isinstance(err.given, str) else repr(err.given)
    spot = err.where.removeprefix(f"{file}, ") or place
    return Problem(file, None, spot, given, "refused", f"Needed {err.needed}.", err.repair)


def as_folder_error(err: InputError) -> TankFolderError:
    """Return the error that says the same and that the folder cannot be opened.

    Parameters
    ----------
    err : InputError
        What was found.

    Returns
    -------
    TankFolderError
        Ready to raise.

    Examples
    --------
    >>> str(as_folder_error(InputError("a number", "many", "Write 300.", "tank.toml, water 1, net_L")))
    'tank.toml, water 1, net_L: needed a number, given “many”. Write 300.'
    """
    return TankFolderError(err.needed, err.given, err.repair, err.where)
