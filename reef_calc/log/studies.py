"""Studies of two kits in a tank folder: which cup is tested when, and what is in it."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.atomic import replace_file

FOLDER = "studies"
FORMAT = 1
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}")


@dataclass(frozen=True)
class Cup:
    """What is in one cup.

    Attributes
    ----------
    code : str
        What stands on the cup.
    level : float or None
        Level it was made to (unit of the study); None for water as the tank gives it.
    water : int
        Number of the water among those of its level.
    block : int
        Block it is tested in.
    """

    code: str
    level: float | None
    water: int
    block: int


@dataclass(frozen=True)
class Test:
    """One test of the list.

    Attributes
    ----------
    code : str
        Code of the cup.
    kit : str
        Name of the kit.
    replicate : int
        Number of this kit's reading of this cup.
    """

    __test__ = False

    code: str
    kit: str
    replicate: int


@dataclass(frozen=True)
class StoredStudy:
    """A study of two kits as it was planned.

    Attributes
    ----------
    name : str
        Its name: the file's, and part of the water's name in the log.
    element, unit : str
        Element and unit of the levels.
    kit_a, kit_b : str
        The kits, or a kit and its lot as "NAME / lot LOT"; differences are B − A.
    made : datetime.datetime
        When it was planned, with a zone.
    seed : int
        Seed of its order.
    rule : str
        When it is looked at: ``each pair``, ``four looks`` or ``at the end``.
    allowed : float or None
        Allowed difference (unit).
    tests : tuple of Test
        All tests in their order.
    cups : tuple of Cup
        The key: what is in the cups.
    usual : float or None
        Usual level (unit); None where it was not needed.
    file : str
        Its file, once it is stored.
    """

    name: str
    element: str
    unit: str
    kit_a: str
    kit_b: str
    made: dt.datetime
    seed: int
    rule: str
    allowed: float | None
    tests: tuple[Test, ...]
    cups: tuple[Cup, ...]
    usual: float | None = None
    file: str = ""

    def cup(self, code: str) -> Cup:
        """Return what is in the cup of a code, however it was typed.

        Parameters
        ----------
        code : str
            What stands on the cup.

        Returns
        -------
        Cup
            The cup.

        Raises
        ------
        InputError
            If the study has no cup of that code.
        """
        wanted = code.strip().upper()
        found = next((one for one in self.cups if one.code == wanted), None)
        if found is None:
            raise InputError(
                f"the code of a cup of the study {self.name}",
                code,
                "Read it from the cup again.",
                "code",
            )
        return found


def check_study_name(name: str) -> str:
    """Return the name of a study, without blanks at its ends.

    Parameters
    ----------
    name : str
        The name.

    Returns
    -------
    str
        The name.

    Raises
    ------
    InputError
        If it cannot be a file's name everywhere.

    Examples
    --------
    >>> check_study_name(" two kits, spring")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: name of the study: needed 1 to 40 letters a to z, digits, blanks,
    hyphens or underscores, given “two kits, spring”. Choose another name.
    """
    cleaned = " ".join(name.split())
    if not _NAME.fullmatch(cleaned):
        raise InputError(
            "1 to 40 letters a to z, digits, blanks, hyphens or underscores",
            cleaned,
            "Choose another name.",
            "name of the study",
        )
    return cleaned


def store_study(folder: str | Path, study: StoredStudy) -> Path:
    """Return the file that a study was stored in; nothing is ever overwritten.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    study : StoredStudy
        The study.

    Returns
    -------
    pathlib.Path
        ``studies/NAME.toml``; it is on the disk.

    Raises
    ------
    InputError
        If there is a study of that name, it is no tank folder, or it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1, "each pair", None,
    ...     (Test("K7", "A", 1),), (Cup("K7", 8.2, 1, 1),))
    >>> store_study(place, study).name
    'spring.toml'
    """
    place, name = Path(folder), check_study_name(study.name)
    file = f"{FOLDER}/{name}.toml"
    taken = InputError(
        "a name that no study has yet", name, "Choose another name.", "name of the study"
    )
    if (place / "tank.toml").is_file():
        try:
            (place / FOLDER).mkdir(exist_ok=True)
        except OSError as err:
            raise InputError(
                "a tank folder that can be written", str(place), f"{err.strerror}.", FOLDER
            ) from err
        # Some systems take Spring and spring for one file.
        if name.casefold() in {one.stem.casefold() for one in (place / FOLDER).glob("*.toml")}:
            raise taken
    content = study_text(study).encode()

    def renew(old: bytes | None) -> bytes:
        if old is not None:
            raise taken
        return content

    replace_file(place, file, renew)
    return place / file


def study_text(study: StoredStudy) -> str:
    """Return the text of a study's file: TOML with comments that a person can read.

    Parameters
    ----------
    study : StoredStudy
        The study.

    Returns
    -------
    str
        TOML text; read back it is the same study.

    Examples
    --------
    >>> made = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)
    >>> study = StoredStudy("spring", "alkalinity", "dKH", "A", "B", made, 1, "each pair", 0.3,
    ...     (Test("K7", "A", 1),), (Cup("K7", 8.2, 1, 1),))
    >>> print(study_text(study).splitlines()[-1])
    key = [{code = "K7", level = 8.2, water = 1, block = 1}]
    """
    document = tomlkit.document()
    document.add(
        tomlkit.comment("A study of two kits: the order of its tests, and at the very end")
    )
    document.add(
        tomlkit.comment("the key to the cups. Whoever reads the kits does not look at it.")
    )
    document.add("format", tomlkit.item(FORMAT))
    for key in ("name", "element", "unit", "kit_a", "kit_b"):
        document.add(key, tomlkit.item(getattr(study, key)))
    document.add("made", tomlkit.item(study.made.replace(microsecond=0)))
    document.add("seed", tomlkit.item(study.seed))
    document.add("look", tomlkit.item(study.rule))
    if study.allowed is not None:
        document.add("allowed", tomlkit.item(float(study.allowed)))
    if study.usual is not None:
        document.add("usual", tomlkit.item(float(study.usual)))
    tests = tomlkit.array()
    for test in study.tests:
        row = tomlkit.inline_table()
        row.update({"cup": test.code, "kit": test.kit, "replicate": test.replicate})
        tests.append(row)
    document.add("tests", tests.multiline(len(study.tests) > 1))
    keys = tomlkit.array()
    for cup in study.cups:
        row = tomlkit.inline_table()
        row.append("code", cup.code)
        if cup.level is not None:
            row.append("level", float(cup.level))
        row.append("water", cup.water)
        row.append("block", cup.block)
        keys.append(row)
    document.add("key", keys.multiline(len(study.cups) > 1))
    return tomlkit.dumps(document)
