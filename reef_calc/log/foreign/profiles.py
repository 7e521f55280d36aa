"""What was learned of a kind of file, kept in the tank folder for the next one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.atomic import replace_file
from reef_calc.log.descriptions import changed_toml
from reef_calc.log.foreign.undo_list import FOLDER, list_file
from reef_calc.log.toml_files import file_bytes, table_of

# Keys of answers about single rows of one file; they mean nothing in the next.
_ROW = "row:"
# The year of the first row is that of this file only.
_NOT_KEPT = (_ROW, "year/")
_LONGEST = 60


@dataclass(frozen=True)
class Profile:
    """What was learned of files with the same columns.

    Attributes
    ----------
    name : str
        ``imports/NAME.toml``.
    headings : tuple of str
        Headings; their order does not matter.
    kind : str
        What the rows are.
    answers : dict of str to str
        Answers by key.
    """

    name: str
    headings: tuple[str, ...]
    kind: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)


def profile_name(text: str) -> str:
    """Return a name that can be a file's name on every system.

    Parameters
    ----------
    text : str
        Name of a foreign file, or a name as typed.

    Returns
    -------
    str
        Without folder, ending of a table file and signs that a file's name cannot have.

    Examples
    --------
    >>> profile_name("logs/Reef: 2026.csv"), profile_name("CON"), profile_name("..")
    ('Reef 2026', 'CON file', 'import')
    """
    stem = re.sub(
        r"\.(csv|tsv|txt|xlsx?|xlsm|ods|tab|dat|md|htm|html)$", "", text.strip(), flags=re.I
    )
    stem = re.split(r"[/\\]", stem.rstrip("/\\"))[-1]
    name = " ".join(re.sub(r"[^\w .-]+", " ", stem).split())[:_LONGEST].strip(" .-")
    if re.fullmatch(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", name, re.IGNORECASE):
        name = f"{name.replace('.', ' ')} file"
    return name or "import"


def matching_profile(folder: str | Path, headings: Sequence[str]) -> Profile | None:
    """Return the profile of files with just these headings.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    headings : sequence of str
        Headings of a file; blank ones do not count, nor does the order.

    Returns
    -------
    Profile or None
        None where there is none; nearly the same headings are other headings.

    Raises
    ------
    InputError
        If none of those that can be read fits and one cannot be read.

    Examples
    --------
    >>> import tempfile
    >>> matching_profile(tempfile.mkdtemp(), ["Datum", "KH"]) is None
    True
    """
    wanted = _counted(headings)
    place = Path(folder) / FOLDER
    if not wanted or not place.is_dir():
        return None
    broken: InputError | None = None
    for path in sorted(place.glob("*.toml")):
        file = f"{FOLDER}/{path.name}"
        try:
            profile = _profile(path.stem, table_of(file, file_bytes(path) or b""), file)
        except InputError as error:
            broken = broken or error
            continue
        if profile is not None and _counted(profile.headings) == wanted:
            return profile
    if broken is not None:
        raise broken
    return None


def write_profile(folder: str | Path, profile: Profile) -> None:
    """Keep a profile in the tank folder; it is on the disk when this returns.

    Comments of the file and its list of what was added stay. Answers about single rows are left out.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    profile : Profile
        The profile; another one of its name is replaced.

    Raises
    ------
    InputError
        If the name cannot be a file's name, the file that is there is not TOML, or the folder cannot
        be written. Nothing is changed then.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> write_profile(place, Profile("club", ("Date", "X"), "readings", {"meaning/X": "calcium"}))
    >>> matching_profile(place, ["X", "Date"]).answers
    {'meaning/X': 'calcium'}
    """
    file = list_file(profile.name)
    kept = {key: text for key, text in profile.answers.items() if not key.startswith(_NOT_KEPT)}

    def change(document: tomlkit.TOMLDocument) -> None:
        added = document.pop("added", None)
        document["headings"] = [one for one in profile.headings if one.strip()]
        document["kind"] = profile.kind
        table = document.get("answers")
        if not isinstance(table, dict):
            document.pop("answers", None)
            document["answers"] = tomlkit.table()
            table = document["answers"]
        for key in [key for key in table if key not in kept]:
            del table[key]
        for key, text in kept.items():
            if table.get(key) != text:
                table[key] = text
        # Plain keys cannot stand behind the tables of the list.
        if added is not None:
            document["added"] = added

    (Path(folder) / FOLDER).mkdir(exist_ok=True) if Path(folder).is_dir() else None
    replace_file(Path(folder), file, lambda old: changed_toml(file, old or b"", change))


def _profile(name: str, table: Mapping[str, Any], file: str) -> Profile | None:
    headings = table.get("headings")
    if headings is None:
        return None
    kind, answers = table.get("kind", ""), table.get("answers", {})
    if not isinstance(headings, list) or not all(isinstance(one, str) for one in headings):
        raise InputError("a list of headings", headings, "Repair or delete the file.", file)
    if not isinstance(kind, str):
        raise InputError("a kind in quotes", kind, "Repair or delete the file.", file)
    if not isinstance(answers, dict) or not all(isinstance(one, str) for one in answers.values()):
        raise InputError("answers in quotes", answers, "Repair or delete the file.", file)
    return Profile(name, tuple(headings), kind, dict(answers))


def _counted(headings: Sequence[str]) -> Counter[str]:
    return Counter(" ".join(one.split()) for one in headings if one.strip())
