"""One row of ``readings.csv``: what it says, and what makes it doubtful."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import Any

from reef_calc.chem.elements import ELEMENTS, Element, element
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.rows import Row
from reef_calc.log.times import Moment, parse_time

LISTED = "listed, not used"
READING_KINDS: dict[str, str] = {
    "row": "int64",
    "time": "time",
    "date_only": "bool",
    "water": "str",
    "element": "str",
    "value": "float64",
    "unit": "str",
    "level": "float64",
    "u": "float64",
    "level_u": "float64",
    "limit": "str",
    "upper": "float64",
    "upper_level": "float64",
    "kit": "str",
    "lot": "str",
    "raw": "str",
    "replicate": "str",
    "salinity": "float64",
    "temperature": "float64",
    "by": "str",
    "source": "str",
    "note": "str",
    "outside": "bool",
    "flag": "str",
}
_SYMBOL_LIST = (
    "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se "
    "Br Kr Rb Sr Y Zr Nb Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy "
    "Ho Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U Np Pu Am Cm Bk Cf "
    "Es Fm Md No Lr Rf Db Sg Bh Hs Mt Ds Rg Cn Nh Fl Mc Lv Ts Og"
)
_SYMBOLS = frozenset(_SYMBOL_LIST.split())
_ROOM_TEMPERATURE_C = 25.0


class ReadingRows:
    """Reads the rows of one tank's readings; checks them against its description.

    Parameters
    ----------
    tank : Description
        The tank.
    now : datetime.datetime or None
        Present time, to doubt times far ahead.
    """

    def __init__(self, tank: Description, now: dt.datetime | None) -> None:
        self.tank, self.now = tank, now

    def __call__(self, row: Row) -> dict[str, Any]:
        """Return the values of one row by column of ``READING_KINDS``.

        Parameters
        ----------
        row : Row
            The row; flags are added to it.

        Returns
        -------
        dict of str to Any
            Level and uncertainty also in the element's store unit.

        Raises
        ------
        RowRefused
            If the row cannot be used.
        """
        moment = time_in(row, "time", self.tank.zone, self.now)
        water, standard = self._water(row)
        described = _element(row)
        row.needed("value")
        value = row.number_in("value")
        limit, upper = _limit(row, value)
        u = row.number_in("u")
        if u <= 0.0:
            row.refuse("u", "Needed an uncertainty above 0.", "Leave the cell empty if unknown.")
        unit = row.needed("unit")
        salinity, temperature = self._conditions(row, water)
        found: dict[str, Any] = {name: row[name] for name in READING_KINDS}
        found |= {
            "row": row.number,
            "time": moment.utc,
            "date_only": moment.date_only,
            "value": value,
            "u": u,
            "upper": upper,
            "salinity": salinity,
            "temperature": temperature,
            "level": math.nan,
            "level_u": math.nan,
            "upper_level": math.nan,
            "outside": False,
        }
        if described is None:
            found["flag"] = f"{LISTED} {row.flag}".strip()
            return found
        found["element"] = described.name
        to_level = self._to_level(described, unit, water, moment, salinity, temperature)

        def level_in(number: float) -> float:
            return float(row.read("unit", lambda _: to_level(number)))

        level = found["level"] = level_in(value)
        if level < 0.0:
            row.refuse("value", "A level below zero does not exist.", "Check sign and number.")
        if not math.isnan(u):
            found["level_u"] = abs(level_in(value + u) - level)
        if not math.isnan(upper):
            found["upper_level"] = level_in(upper)
        if water in ("tank", "new water"):
            found["outside"] = self._check_range(row, described, value, level, limit, to_level)
        self._check_kit(row, described, moment)
        if standard and standard in self.tank.standards:
            held = self.tank.standards[standard].element
            if held != described.name:
                row.say("water", f"The standard {standard} is for {held}.")
        found["flag"] = row.flag
        return found

    def _water(self, row: Row) -> tuple[str, str]:
        water = row.needed("water")
        first, _, rest = water.partition(" ")
        if water in ("tank", "new water"):
            return water, ""
        if first == "standard" and rest.strip():
            if rest not in self.tank.standards:
                row.say(
                    "water", f"The standard {rest} is not described.", "Add it to standards.toml."
                )
            return water, rest
        if first != "study" or len(rest.split()) < 2:
            row.refuse(
                "water",
                "Needed tank, new water, standard NAME, or study NAME LEVEL.",
                "Write which water was tested.",
            )
        return water, ""

    def _conditions(self, row: Row, water: str) -> tuple[float, float]:
        numbers = []
        for column, name in (("salinity", "salinity"), ("temperature", "temperature")):
            number = row.number_in(column)
            if number < 0.0:
                row.refuse(column, f"A {name} below zero is not read.", "Check the number.")
            normal = ELEMENTS[name]
            strange = number < normal.lowest or number > normal.highest
            if strange and water in ("tank", "new water"):
                row.say(column, _odd(normal, number) or f"This is no {name} of a reef tank.")
            numbers.append(number)
        return numbers[0], numbers[1]

    def _to_level(
        self,
        described: Element,
        unit: str,
        water: str,
        moment: Moment,
        salinity: float,
        temperature: float,
    ) -> Callable[[float], float]:
        of_water: float | None = None if math.isnan(salinity) else salinity
        warmth = _ROOM_TEMPERATURE_C if math.isnan(temperature) else temperature
        if water == "tank":
            held = self.tank.water_at(moment.utc)
            of_water = held.salinity if of_water is None else of_water
            warmth = held.temperature_C if math.isnan(temperature) else temperature
        elif water == "new water" and of_water is None:
            of_water = self.tank.new_water.salinity

        def to_level(value: float) -> float:
            return convert(
                value,
                unit,
                described.store_unit,
                described.name,
                salinity=of_water,
                temperature_C=warmth,
            )

        return to_level

    def _check_range(
        self,
        row: Row,
        described: Element,
        value: float,
        level: float,
        limit: str,
        to_level: Callable[[float], float],
    ) -> bool:
        if value == 0.0 and limit == "" and described.lowest == 0.0:
            row.say(
                "value",
                "A kit cannot read exactly zero.",
                "If nothing was seen, write < in limit and the smallest step as value.",
            )
        low_matters = limit in ("", "between")
        if level <= described.highest and (level >= described.lowest or not low_matters):
            return False
        reason = _odd(described, level)
        if not reason:
            reason = f"Water for a reef does not hold this much or this little {described.name}."
            likely = self._slipped_point(described, value, to_level)
            if likely is not None:
                reason += f" Perhaps {likely:.6g} is meant: a slipped point."
        row.say("value", reason, "Nothing was changed. Correct it if it is a slip.")
        return True

    def _slipped_point(
        self, described: Element, value: float, to_level: Callable[[float], float]
    ) -> float | None:
        fitting = []
        for candidate in (value * 10.0, value / 10.0, value * 100.0, value / 100.0):
            try:
                level = to_level(candidate)
            except InputError:
                continue
            if described.lowest < level <= described.highest:
                fitting.append((candidate, level))
        aim = self.tank.aims.get(described.name)
        if not fitting or aim is None or aim.aim <= 0.0:
            return fitting[0][0] if fitting else None
        wanted = convert(
            aim.aim, aim.unit, described.store_unit, described.name,
            salinity=self.tank.waters[-1].salinity, temperature_C=_ROOM_TEMPERATURE_C,
        )  # fmt: skip
        return min(fitting, key=lambda pair: abs(math.log(pair[1] / wanted)))[0]

    def _check_kit(self, row: Row, described: Element, moment: Moment) -> None:
        name, lot_name = row["kit"], row["lot"]
        if not name:
            return
        kit = self.tank.kits.get(name)
        if kit is None:
            row.say(
                "kit",
                f"The kit {name} is not described: the usual scatter of kits is taken.",
                "Describe it in kits.toml.",
            )
            return
        if kit.element and kit.element != described.name:
            row.say("kit", f"The kit {name} measures {kit.element}, not {described.name}.")
        lot = kit.lot(lot_name)
        if lot_name and lot is None:
            row.say("lot", f"The kit {name} has no lot {lot_name}.", "Add the lot to kits.toml.")
        day = moment.utc.astimezone(self.tank.zone).date()
        if lot is not None and lot.expires is not None and day > lot.expires:
            row.say("lot", f"The lot expired on {lot.expires}.")


def time_in(row: Row, column: str, zone: dt.tzinfo, now: dt.datetime | None) -> Moment:
    """Return the moment in a cell; a doubted year becomes a flag.

    Parameters
    ----------
    row : Row
        The row.
    column : str
        Name of the column.
    zone : datetime.tzinfo
        Zone of the tank.
    now : datetime.datetime or None
        Present time.

    Returns
    -------
    Moment
        The moment.

    Raises
    ------
    RowRefused
        If the text is not a time.

    Examples
    --------
    >>> row = Row("readings.csv", 2, {"time": "2026-02-13T19:30"})
    >>> time_in(row, "time", dt.UTC, None).utc.isoformat()
    '2026-02-13T19:30:00+00:00'
    """
    moment: Moment = row.read(column, lambda text: parse_time(text, zone, now=now))
    if moment.doubt:
        row.say(column, moment.doubt, "Check the year.")
    return moment


def _element(row: Row) -> Element | None:
    name = row.needed("element")
    if name in _SYMBOLS:
        ours = next((e.name for e in ELEMENTS.values() if e.species == name), None)
        if ours is None:
            return None
        row.refuse("element", f"{name} is written {ours} here.", f"Write {ours}.")
    found: Element = row.read("element", element)
    return found


def _limit(row: Row, value: float) -> tuple[str, float]:
    limit = row.one_of("limit", ("", "<", ">", "between"))
    upper = row.number_in("upper")
    if limit != "between":
        if not math.isnan(upper):
            row.refuse("upper", "An upper value belongs to “between” only.", "Empty the cell.")
        if limit == "<" and value <= 0.0:
            row.refuse("value", "Less than zero does not exist.", "Write the smallest step.")
        return limit, math.nan
    if math.isnan(upper) or upper <= value:
        row.refuse(
            "upper", "Needed an upper value above the value.", "Write both ends, the lower first."
        )
    return limit, upper


def _odd(described: Element, level: float) -> str:
    if described.name == "salinity" and 1.0 < level < 1.05:
        return "This looks like a specific gravity, not a salinity."
    if described.name == "salinity" and 50.0 < level < 60.0:
        return "This looks like a conductivity in mS/cm, not a salinity."
    if described.name == "temperature" and 59.0 < level < 95.0:
        return "This looks like °F, not °C."
    return ""
