"""Plans kept in the tank folder, so that the next review can compare planned with done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.atomic import replace_file

FOLDER = "plans"
FORMAT = 1
_LAST_NUMBER = 999


@dataclass(frozen=True)
class ContainerPhase:
    """What one container gives in one phase of a plan.

    Attributes
    ----------
    container : str
        Name of the supplement.
    unit : str
        mL or g.
    date_from, date_to : datetime.date
        First and last day.
    per_day : float
        Amount a day as set (mL or g).
    doses : int
        Doses a day; 0 where nothing is given.
    per_dose : float
        Amount of one dose as set (mL or g).
    times : tuple of str
        Clock times of the doses.
    """

    container: str
    unit: str
    date_from: dt.date
    date_to: dt.date
    per_day: float
    doses: int
    per_dose: float
    times: tuple[str, ...]


@dataclass(frozen=True)
class PlannedLevels:
    """Where a plan leads one element.

    Attributes
    ----------
    element, unit : str
        Element and unit of everything here.
    levels : tuple of float
        Level at the start of each day, and at the end of the last.
    use : float
        Use per day that was taken.
    low, aim, high : float or None
        Aims that were followed; None where the element was only reported.
    """

    element: str
    unit: str
    levels: tuple[float, ...]
    use: float
    low: float | None = None
    aim: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class StoredPlan:
    """A plan as it was made.

    Attributes
    ----------
    tank : str
        Name of the tank.
    made : datetime.datetime
        When it was made, with a zone.
    start : datetime.date
        First day.
    days : int
        Number of days.
    net_L : float
        Net volume that was taken (L).
    phases : tuple of ContainerPhase
        What each container gives, container by container.
    levels : tuple of PlannedLevels
        Where each element goes.
    set_before : mapping of str to float
        What was set of each container when the plan was made (mL or g a day).
    notes : tuple of str
        What was said of the plan.
    file : str
        Its file, once it is stored.
    """

    tank: str
    made: dt.datetime
    start: dt.date
    days: int
    net_L: float
    phases: tuple[ContainerPhase, ...]
    levels: tuple[PlannedLevels, ...]
    set_before: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    file: str = ""

    def turns(self) -> tuple[dt.date, ...]:
        """Return the first day of each phase."""
        return tuple(sorted({one.date_from for one in self.phases}))


class _TakenError(Exception):
    """There is a file of this name already."""


def store_plan(folder: str | Path, plan: StoredPlan) -> Path:
    """Return the file that a plan was stored in; nothing is ever overwritten.

    ``plans/START.toml``, and ``START-2``, ``START-3`` … where there is one already.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    plan : StoredPlan
        The plan.

    Returns
    -------
    pathlib.Path
        The file; it is on the disk.

    Raises
    ------
    InputError
        If it is no tank folder, another program holds it, or it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> day, made = dt.date(2026, 3, 1), dt.datetime(2026, 2, 28, 18, tzinfo=dt.UTC)
    >>> one = ContainerPhase("soda", "mL", day, day, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> plan = StoredPlan("Reef", made, day, 1, 300.0, (one,), ())
    >>> store_plan(place, plan).name, store_plan(place, plan).name
    ('2026-03-01.toml', '2026-03-01-2.toml')
    """
    place = Path(folder)
    content = plan_text(plan).encode()

    def renew(old: bytes | None) -> bytes:
        if old is not None:
            raise _TakenError
        return content

    if (place / "tank.toml").is_file():
        try:
            (place / FOLDER).mkdir(exist_ok=True)
        except OSError as err:
            raise InputError(
                "a tank folder that can be written", str(place), f"{err.strerror}.", FOLDER
            ) from err
    for number in range(1, _LAST_NUMBER + 1):
        tail = "" if number == 1 else f"-{number}"
        file = f"{FOLDER}/{plan.start.isoformat()}{tail}.toml"
        try:
            replace_file(place, file, renew)
        except _TakenError:
            continue
        return place / file
    raise InputError(
        f"less than {_LAST_NUMBER} plans of one day",
        plan.start.isoformat(),
        "Delete some of them.",
        FOLDER,
    )


def plan_text(plan: StoredPlan) -> str:
    """Return the text of a plan's file: TOML with comments that a person can read.

    Parameters
    ----------
    plan : StoredPlan
        The plan.

    Returns
    -------
    str
        TOML text; read back it is the same plan.

    Examples
    --------
    >>> made = dt.datetime(2026, 2, 28, 18, tzinfo=dt.UTC)
    >>> print(plan_text(StoredPlan("Reef", made, dt.date(2026, 3, 1), 1, 300.0, (), ())).strip())
    # A dosing plan as it was made. What was really done stands in additions.csv.
    format = 1
    tank = "Reef"
    made = 2026-02-28T18:00:00Z
    start = 2026-03-01
    days = 1
    net_L = 300.0
    """
    document = tomlkit.document()
    document.add(
        tomlkit.comment(
            "A dosing plan as it was made. What was really done stands in additions.csv."
        )
    )
    document.add("format", tomlkit.item(FORMAT))
    document.add("tank", tomlkit.item(plan.tank))
    document.add("made", tomlkit.item(plan.made.replace(microsecond=0)))
    document.add("start", tomlkit.item(plan.start))
    document.add("days", tomlkit.item(plan.days))
    document.add("net_L", tomlkit.item(float(plan.net_L)))
    if plan.notes:
        notes = tomlkit.array()
        for text in plan.notes:
            notes.append(text)
        document.add("notes", notes.multiline(True))
    containers = tomlkit.aot()
    for name in dict.fromkeys(one.container for one in plan.phases):
        containers.append(_container(name, plan))
    if len(containers):
        document.add("container", containers)
    levels = tomlkit.aot()
    for one in plan.levels:
        levels.append(_levels(one))
    if len(levels):
        document.add("element", levels)
    return tomlkit.dumps(document)


def _container(name: str, plan: StoredPlan) -> tomlkit.items.Table:
    own = [one for one in plan.phases if one.container == name]
    table = tomlkit.table()
    table.add("name", name)
    table.add("unit", own[0].unit)
    table["unit"].comment("amounts as set on the pump")
    table.add("set_before", float(plan.set_before.get(name, 0.0)))
    table["set_before"].comment("a day, when the plan was made")
    phases = tomlkit.aot()
    for one in own:
        row = tomlkit.table()
        row.add("from", one.date_from)
        row.add("to", one.date_to)
        row.add("per_day", float(one.per_day))
        row.add("doses", one.doses)
        row.add("per_dose", float(one.per_dose))
        row.add("times", list(one.times))
        phases.append(row)
    table.add("phase", phases)
    return table


def _levels(one: PlannedLevels) -> tomlkit.items.Table:
    table = tomlkit.table()
    table.add("name", one.element)
    table.add("unit", one.unit)
    table.add("use", float(one.use))
    table["use"].comment("per day")
    for key in ("low", "aim", "high"):
        value = getattr(one, key)
        if value is not None:
            table.add(key, float(value))
    table.add("levels", [float(level) for level in one.levels])
    table["levels"].comment("at the start of each day, and at the end of the last")
    return table
