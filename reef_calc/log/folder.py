"""Writing a tank folder: a new one to fill in, and a table just as it was read."""

from __future__ import annotations

import datetime as dt
import os
import tempfile
from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import Tank
from reef_calc.log.times import tank_zone

_KITS = """# One table for each test kit. Delete the # signs and write your own numbers.
# [kit.NAME]
# element = "alkalinity"
# kind = "drop count"   # direct titration, back titration, two titrations, drop count,
#                       # chart, colour steps, meter or laboratory report
# unit = "dKH"
# resolution = 0.5
# half_drop = false     # false: 8 drops are 8 steps; true: the middle of the last drop is meant
# repeatability = {sd = 0.2, from = "typed"}   # typed, replicates or standard
# hazards = ["copy the hazard words of the label here"]
# tests_left = 40
# counted = 2026-02-01  # the day on which so many were left
# [[kit.NAME.lot]]
# name = "A1"
# opened = 2026-02-01
# expires = 2027-06-30
# [[kit.NAME.correction]]   # what a standard showed; the levels as read stay in readings.csv
# from = 2026-02-01
# lot = "A1"            # without it: every lot
# factor = 0.97         # or: offset = -0.3 (the kit's unit), or: line = [0.3, 0.95] (offset, slope)
# u = 0.01              # one standard uncertainty: of the factor, or of the corrected level
# standard = "NAME of the standard it was found with"
#                       # a line may also have u_slope = 0.02 and centre = 8.0: u holds for readings
#                       # of 8.0, and further away u_slope adds to it
#
# A titration that is to be worked out from the titrant needs its solutions and volumes. Each u is one
# standard uncertainty. A back titration has all of them, a direct one only sample_mL and titrant.
# [kit.OTHER_NAME]
# element = "potassium"
# kind = "back titration"
# unit = "mg/L"
# resolution = 5
# sample_mL = 5.0
# sample_u_mL = 0.03
# titrant = {mol_per_L = 0.0085, u = 0.00002, capacity_mL = 20.0, ratio = 1.0}
#                       # ratio: moles of the element (alkalinity: equivalents) that one mole of
#                       # titrant takes; in a back titration, moles of the precipitant
# precipitant = {mol_per_L = 0.025, u = 0.00005, mL = 10.0, u_mL = 0.02, ratio = 1.0}
#                       # ratio: moles of the element that one mole of precipitant takes
# total_mL = 15.0       # sample and precipitant together
# total_u_mL = 0.03
# aliquot_mL = 10.0     # what of it is titrated
# aliquot_u_mL = 0.03
"""
_SUPPLEMENTS = """# One table for each supplement: its recipe or the strength from its label.
# Label, safety data sheet and local rules come first. Gloves and eye protection.
# [supplement.NAME]
# label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
# limits = {mL_per_day = 60, mL_per_dose = 20, step_mL = 1}
"""
_STANDARDS = """# One table for each test water of known strength.
# [standard.NAME]
# element = "alkalinity"
# value = 8.0
# unit = "dKH"
# u = 0.05
# made = 2026-02-01
# recipe = "what was weighed, and made up to which volume"
"""


def start_tank(
    folder: str | Path,
    name: str,
    net_L: float,
    zone: str,
    *,
    net_u_L: float | None = None,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
    start: dt.date | None = None,
) -> Path:
    """Return the folder of a new tank: commented TOML files, and tables with a header only.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where to make it; it may be there already if none of the files is.
    name : str
        Name of the tank.
    net_L : float
        Net volume of water (L), without rock, sand and the air above.
    zone : str
        IANA time zone.
    net_u_L : float, optional
        Standard uncertainty of the volume (L); 5 % of it when not given.
    salinity, temperature_C : float, optional
        Practical salinity (PSU) and temperature (°C).
    start : datetime.date, optional
        Day the description holds from; 2000-01-01 when not given.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError
        If a file is there already (nothing is written then), or a number cannot be used.

    Examples
    --------
    >>> folder = start_tank(Path(tempfile.mkdtemp()) / "reef", "My reef", 300.0, "Europe/London")
    >>> sorted(file.name for file in folder.glob("*.csv"))
    ['additions.csv', 'events.csv', 'readings.csv', 'water_changes.csv']
    """
    place, where = Path(folder), "start_tank"
    spread = 0.05 * net_L if net_u_L is None else net_u_L
    tank_zone(zone, f"{where}, zone")
    if not 0.0 < spread < net_L:
        raise InputError(
            "a net volume above 0 L, larger than its uncertainty", net_L, "Measure it.", where
        )
    texts = {
        "tank.toml": _tank_toml(name, net_L, spread, zone, salinity, temperature_C, start),
        "kits.toml": _KITS,
        "supplements.toml": _SUPPLEMENTS,
        "standards.toml": _STANDARDS,
    } | {file: ",".join(columns) + "\n" for file, columns in COLUMNS.items()}
    there = [file for file in texts if (place / file).exists()]
    if there or (place.exists() and not place.is_dir()):
        raise InputError(
            "a folder without a tank",
            ", ".join(there) or str(place),
            "Choose another folder; nothing was written.",
            where,
        )
    try:
        place.mkdir(parents=True, exist_ok=True)
        for file, text in texts.items():
            with (place / file).open("x", encoding="utf-8", newline="") as target:
                target.write(text)
    except OSError as err:
        raise InputError(
            "a folder that can be written", str(place), f"{err.strerror}.", where
        ) from err
    return place


def _tank_toml(
    name: str,
    net_L: float,
    net_u_L: float,
    zone: str,
    salinity: float,
    temperature_C: float,
    start: dt.date | None,
) -> str:
    document = tomlkit.document()
    document.add(tomlkit.comment("The tank. Every line may be changed by hand."))
    document.add("state", tomlkit.item("settled").comment("or: young or fast growing"))
    tank = tomlkit.table()
    tank.add("name", name)
    tank.add("zone", zone)
    document.add("tank", tank)
    water = tomlkit.table()
    water.add("from", start or dt.date(2000, 1, 1))
    water["from"].comment("add another [[water]] when the volume changes")
    water.add("net_L", float(net_L))
    water["net_L"].comment("litres of water, without rock, sand and air")
    water.add("net_u_L", float(net_u_L))
    water["net_u_L"].comment("how well that is known: one standard uncertainty")
    water.add("salinity", float(salinity))
    water.add("temperature_C", float(temperature_C))
    water.add("air_co2_uatm", 500.0)
    water["air_co2_uatm"].comment("carbon dioxide of the room air")
    waters = tomlkit.aot()
    waters.append(water)
    document.add("water", waters)
    text = tomlkit.dumps(document)
    return text + (
        '\n# [aim.alkalinity]\n# unit = "dKH"\n# low = 7.5\n# aim = 8.0\n# high = 8.5\n'
        "# rise_per_day = 0.5\n# fall_per_day = 0.5\n"
        '\n# [new_water]\n# salinity = 35\n# alkalinity = {value = 8.0, unit = "dKH", u = 0.3}\n'
    )


def export_table(tank: Tank, table: str) -> str:
    """Return one table as CSV text, every cell as it was read, refused rows too.

    Parameters
    ----------
    tank : Tank
        The tank.
    table : str
        ``readings``, ``additions``, ``water_changes`` or ``events``.

    Returns
    -------
    str
        CSV text; lines end with LF. Read again it has the same cells.

    Raises
    ------
    InputError
        If there is no such table.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> export_table(example_tank(), "additions").splitlines()[1]
    '2026-01-01T00:00,,part one,60,mL,per day'
    """
    file = table if table.endswith(".csv") else f"{table}.csv"
    if file not in COLUMNS:
        raise InputError(
            "one of " + ", ".join(name.removesuffix(".csv") for name in COLUMNS), table,
            "Write one of these.", "export_table",
        )  # fmt: skip
    return "".join(_line(record) for record in tank.raw[file] or (COLUMNS[file],))


def _line(record: tuple[str, ...]) -> str:
    # Own quoting: the csv module of Python 3.11 leaves a carriage return bare, which ends the row.
    cells = [
        '"' + cell.replace('"', '""') + '"' if any(c in cell for c in ',"\r\n') else cell
        for cell in record
    ]
    return (",".join(cells) if record != ("",) else '""') + "\n"


def write_table(tank: Tank, table: str, path: str | Path) -> Path:
    """Return the path of a CSV file written with one table, every cell as it was read.

    The file is written beside its place and then moved there, so that it is never half there.

    Parameters
    ----------
    tank : Tank
        The tank.
    table : str
        ``readings``, ``additions``, ``water_changes`` or ``events``.
    path : str or pathlib.Path
        File to write; it is replaced if it is there.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InputError
        If there is no such table, or the place cannot be written.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> place = Path(tempfile.mkdtemp()) / "copy.csv"
    >>> write_table(example_tank(), "water_changes", place).read_text().splitlines()[:2]
    ['time,litres', '2026-01-04T10:00,30']
    """
    path = Path(path)
    content = export_table(tank, table).encode("utf-8", "surrogateescape")
    try:
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        Path(beside).replace(path)
    except OSError as err:
        raise InputError(
            "a file that can be written", str(path), f"{err.strerror}.", "write_table"
        ) from err
    return path
