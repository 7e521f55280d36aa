"""What last month's file with the same columns teaches about this one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from reef_calc.errors import ReefError
from reef_calc.log.foreign.profiles import matching_profile, profile_name
from reef_calc.log.foreign.undo_list import FOLDER
from reef_calc.show.bring_in_words import counted


@dataclass(frozen=True)
class Recalled:
    """Answers that a profile of the tank holds for a file.

    Attributes
    ----------
    answers : dict of str to str
        Answers of last time, and what the rows are.
    name : str
        Name under which this file is remembered.
    told : str
        What was taken from where; empty where nothing is known.
    """

    answers: Mapping[str, str]
    name: str
    told: str


def recalled(folder: Path, file: str, headings: Sequence[str]) -> Recalled:
    """Return what is known of a file with these headings.

    Parameters
    ----------
    folder : pathlib.Path
        Tank folder.
    file : str
        Name of the foreign file.
    headings : sequence of str
        Its headings.

    Returns
    -------
    Recalled
        Without answers where no profile fits; the name is one that no other kind of file has.

    Examples
    --------
    >>> recalled(Path("nowhere at all"), "club log.csv", ["date", "KH"]).name
    'club log'
    """
    try:
        profile = matching_profile(folder, headings)
    except ReefError as error:
        return Recalled({}, _free_name(folder, file), f"{error} The file is understood without it.")
    if profile is None:
        return Recalled({}, _free_name(folder, file), "")
    kind = {"kind/file": profile.kind} if profile.kind else {}
    number = counted(len(profile.answers), "answer", "answers")
    told = f"These columns are known from “{profile.name}”: " + (
        f"{number} of last time taken again, where they fit."
        if profile.answers
        else "no question had to be answered then."
    )
    return Recalled({**kind, **profile.answers}, profile.name, told)


def _free_name(folder: Path, file: str) -> str:
    """Name a file so that the profile of one with other columns is not overwritten."""
    name = base = profile_name(file)
    number = 2
    while (folder / FOLDER / f"{name}.toml").exists():
        name = f"{base} {number}"
        number += 1
    return name
