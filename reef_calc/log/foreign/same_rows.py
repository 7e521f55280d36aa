"""Which entries stand in the tank already, told by what they say and not by how they are written."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, lru_cache

from reef_calc.chem.elements import element as element_of
from reef_calc.chem.numbers import parse_number
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.tank import Tank
from reef_calc.log.times import parse_time

Key = tuple[object, ...]
Cells = Mapping[str, str]


def already_there(tank: Tank, entries: Sequence[Entry]) -> tuple[bool, ...]:
    """Return for each entry whether the tank holds it already.

    Parameters
    ----------
    tank : Tank
        The tank.
    entries : sequence of Entry
        What would be added.

    Returns
    -------
    tuple of bool
        One for each entry. Two equal entries are both there only if the tank holds two.

    Notes
    -----
    Rows are the same when moment, water, element, level, limit, kit, lot and replicate are; of a dose
    start, end, supplement, amount, unit, way and times; of a water change time, litres and salinity.
    Notes, names of persons and the like may be typed again. A date without a time and noon of that
    day are not the same.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> entry = Entry(2, None, "water_changes.csv", {"time": "2026-01-04 10:00", "litres": "30.0"})
    >>> already_there(example_tank(), [entry, entry])
    (True, False)
    """
    there = [False] * len(entries)
    for table, positions in _by_table(entries).items():
        held = rows_as_cells(tank.raw[table])
        known = held_already(table, held, [entries[i].cells for i in positions], tank.zone)
        for position, known_already in zip(positions, known, strict=True):
            there[position] = known_already
    return tuple(there)


def rows_as_cells(records: Sequence[Sequence[str]]) -> list[dict[str, str]]:
    """Return the rows of a table by column.

    Parameters
    ----------
    records : sequence of sequence of str
        All records, the header first.

    Returns
    -------
    list of dict of str to str
        Rows with as many fields as the header.

    Examples
    --------
    >>> rows_as_cells([("Time", "litres"), ("2026-02-01", "40"), ("broken",)])
    [{'time': '2026-02-01', 'litres': '40'}]
    """
    if not records:
        return []
    header = [name.strip().lower() for name in records[0]]
    return [dict(zip(header, row, strict=True)) for row in records[1:] if len(row) == len(header)]


def held_already(
    table: str, held: Iterable[Cells], wanted: Sequence[Cells], zone: dt.tzinfo
) -> list[bool]:
    """Return for each wanted row whether a table holds it already, each held row used once.

    Parameters
    ----------
    table : str
        Name of the table.
    held, wanted : iterable and sequence of dict of str to str
        Cells by column.
    zone : datetime.tzinfo
        Zone of the tank.

    Returns
    -------
    list of bool
        One for each wanted row.

    Examples
    --------
    >>> rows = [{"time": "2026-02-01T10:00", "litres": "40", "note": "typed again"}]
    >>> held_already("water_changes.csv", rows, [{"time": "2026-02-01T10:00Z", "litres": "40"}], dt.UTC)
    [True]
    """
    key = _KEYS[table](zone)
    exact: Counter[Key] = Counter()
    for cells in held:
        exact[key(cells)] += 1
    known = [False] * len(wanted)
    if not exact:
        return known
    open_: list[int] = []
    keys = [key(cells) for cells in wanted]
    for position, one in enumerate(keys):
        if exact[one] > 0:
            exact[one] -= 1
            known[position] = True
        else:
            open_.append(position)
    # The last part of a key may differ where the file did not say it itself.
    left: Counter[Key] = Counter()
    for one, count in exact.items():
        left[one[:-1]] += count
    unsaid = _LAST_UNSAID[table](wanted) if open_ else []
    for position in open_:
        short = keys[position][:-1]
        if unsaid[position] and left[short] > 0:
            left[short] -= 1
            known[position] = True
    return known


def _by_table(entries: Sequence[Entry]) -> dict[str, list[int]]:
    positions: dict[str, list[int]] = defaultdict(list)
    for position, entry in enumerate(entries):
        positions[entry.table].append(position)
    return positions


def _moments(zone: dt.tzinfo) -> Callable[[str], object]:
    @cache
    def moment(text: str) -> object:
        try:
            found = parse_time(text, zone)
        except InputError:
            return text.strip()
        return found.date_only, found.utc

    return moment


@lru_cache(maxsize=65_536)
def _number(text: str) -> object:
    try:
        return float(f"{parse_number(text):.10g}") if text.strip() else ""
    except InputError:
        return text.strip()


@lru_cache(maxsize=65_536)
def _level(text: str, unit: str, name: str) -> object:
    """Return a level in the store unit, or number and unit where only the water could tell."""
    if not text.strip():
        return ""
    try:
        found = convert(parse_number(text), unit.strip(), element_of(name).store_unit, name)
    except InputError:
        return _number(text), unit.strip()
    return float(f"{found:.10g}")


def _reading_key(zone: dt.tzinfo) -> Callable[[Cells], Key]:
    moment = _moments(zone)

    def key(cells: Cells) -> Key:
        get = cells.get
        name, unit = get("element", "").strip(), get("unit", "")
        return (
            moment(get("time", "")),
            get("water", "").strip(),
            name,
            _level(get("value", ""), unit, name),
            get("limit", "").strip(),
            _level(get("upper", ""), unit, name),
            get("kit", "").strip(),
            get("lot", "").strip(),
            get("replicate", "").strip(),
        )

    return key


def _numbered_here(wanted: Sequence[Cells]) -> list[bool]:
    """Return which replicates may have their number from the order of the file alone: 1, 2, 3 ...

    A file that grew by a replicate, or was sorted anew, numbers the same readings otherwise.
    """
    groups: dict[tuple[str, ...], list[str]] = defaultdict(list)
    of_one = ("time", "water", "element", "kit", "lot")
    places = [tuple([cells.get(name, "") for name in of_one]) for cells in wanted]
    for place, cells in zip(places, wanted, strict=True):
        groups[place].append(cells.get("replicate", ""))
    numbered = {
        place
        for place, marks in groups.items()
        if marks == [""]
        or (len(marks) > 1 and sorted(marks) == sorted(map(str, range(1, len(marks) + 1))))
    }
    return [place in numbered for place in places]


def _addition_key(zone: dt.tzinfo) -> Callable[[Cells], Key]:
    moment = _moments(zone)

    def key(cells: Cells) -> Key:
        get = cells.get
        return (
            moment(get("start", "")),
            get("supplement", "").strip(),
            _number(get("amount", "")),
            get("unit", "").strip(),
            get("how", "").strip(),
            tuple(sorted(part.strip() for part in get("times", "").split(";"))),
            moment(get("end", "")),
        )

    return key


def _no_end(wanted: Sequence[Cells]) -> list[bool]:
    """Return which doses are left open: the keeper may have closed the row in the tank since."""
    return [not cells.get("end", "").strip() for cells in wanted]


def _change_key(zone: dt.tzinfo) -> Callable[[Cells], Key]:
    moment = _moments(zone)

    def key(cells: Cells) -> Key:
        litres, salinity = cells.get("litres", ""), cells.get("salinity", "")
        return moment(cells.get("time", "")), _number(litres), _number(salinity)

    return key


def _no_salinity(wanted: Sequence[Cells]) -> list[bool]:
    """Return which water changes say no salinity: it may have been added in the tank since."""
    return [not cells.get("salinity", "").strip() for cells in wanted]


def _event_key(zone: dt.tzinfo) -> Callable[[Cells], Key]:
    moment = _moments(zone)
    texts = ("kind", "element", "refers_to", "unit")

    def key(cells: Cells) -> Key:
        said = [cells.get(name, "").strip() for name in texts]
        return (moment(cells.get("time", "")), *said, _number(cells.get("value", "")))

    return key


def _nothing_unsaid(wanted: Sequence[Cells]) -> list[bool]:
    return [False] * len(wanted)


_KEYS = {
    "readings.csv": _reading_key,
    "additions.csv": _addition_key,
    "water_changes.csv": _change_key,
    "events.csv": _event_key,
}
_LAST_UNSAID: dict[str, Callable[[Sequence[Cells]], list[bool]]] = {
    "readings.csv": _numbered_here,
    "additions.csv": _no_end,
    "water_changes.csv": _no_salinity,
    "events.csv": _nothing_unsaid,
}
