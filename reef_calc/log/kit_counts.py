"""Writing down how many tests of a kit were counted, and on which day."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml

_FILE = "kits.toml"


def save_count(folder: str | Path, kit: str, tests: float, day: dt.date) -> None:
    r"""Write ``tests_left`` and ``counted`` of a kit; everything else in kits.toml stays.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    kit : str
        Name of the kit.
    tests : float
        Number of tests left, a whole number of 0 or more.
    day : datetime.date
        Day of the count.

    Raises
    ------
    InputError
        If the number is not whole, kits.toml has no such kit, or the folder cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> text = '[kit.acid]\nelement = "alkalinity"\nkind = "meter"\nunit = "dKH"\n'
    >>> _ = (place / "kits.toml").write_text(text)
    >>> save_count(place, "acid", 40, dt.date(2026, 2, 1))
    >>> open_tank(place).kits["acid"].tests_left
    40.0
    """
    if not (0.0 <= tests < 1e6 and tests == int(tests)):
        raise InputError(
            "a whole number of tests, 0 or more", f"{tests:g}", "Count them, and round down.",
            "Tests left",
        )  # fmt: skip

    def change(document: tomlkit.TOMLDocument) -> None:
        table = document.get("kit", {}).get(kit)
        if table is None:
            raise InputError(f"a kit of {_FILE}", kit, "Read the folder again.", _FILE)
        table["tests_left"] = int(tests)
        table["counted"] = day

    edit_toml(folder, _FILE, change)
