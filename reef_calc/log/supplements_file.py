"""Adding a supplement to supplements.toml; one that is described already is never touched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit

from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml

FILE = "supplements.toml"


def supplement_toml(
    name: str,
    recipe: Sequence[Mapping[str, object]],
    *,
    container_L: float | None = None,
    keep_apart: Sequence[str] = (),
    comment: str = "",
) -> tomlkit.TOMLDocument:
    """Return the lines of supplements.toml that describe one stock made by a recipe.

    Parameters
    ----------
    name : str
        Name of the supplement.
    recipe : sequence of mapping
        Each with ``salt``, ``hydrate``, ``assay`` (share of the mass) and ``grams_per_L`` (g/L).
    container_L : float, optional
        Size of its container (L).
    keep_apart : sequence of str, optional
        Supplements that must not meet it.
    comment : str, optional
        A line for people, such as when it was made.

    Returns
    -------
    tomlkit.TOMLDocument
        ``as_string()`` gives the text; numbers have six figures.

    Raises
    ------
    InputError
        If the name is empty or longer than 60 characters, or name or comment hold characters that
        cannot be printed.

    Examples
    --------
    >>> print(supplement_toml("soda", [{"salt": "soda ash", "hydrate": 0, "assay": 1.0,
    ...     "grams_per_L": 60.00000001}], container_L=5.0).as_string())
    [supplement.soda]
    recipe = [
        {salt = "soda ash", hydrate = 0, assay = 1.0, grams_per_L = 60.0},
    ]
    container_L = 5.0
    """
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > 60 or not tidy.isprintable():
        raise InputError(
            "a name for the stock, up to 60 characters", name, "Write one, such as: soda 2.", "Name"
        )
    line = " ".join(comment.split())
    if not line.isprintable():
        raise InputError(
            "a comment of letters and digits", line, "Type it anew; a sign in it cannot be printed.",
            "Made by",
        )  # fmt: skip
    document = tomlkit.document()
    held = tomlkit.table(is_super_table=True)
    held[tidy] = _table(recipe, container_L, keep_apart, comment)
    document["supplement"] = held
    return document


def add_supplement(
    folder: str | Path,
    name: str,
    recipe: Sequence[Mapping[str, object]],
    *,
    container_L: float | None = None,
    keep_apart: Sequence[str] = (),
    comment: str = "",
) -> str:
    """Return the name under which a stock was added to supplements.toml.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    name, recipe, container_L, keep_apart, comment
        As in ``supplement_toml``.

    Returns
    -------
    str
        The name as stored.

    Raises
    ------
    InputError
        If the name is taken or cannot be used, or the file cannot be changed. Nothing is written
        then.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> line = {"salt": "sodium carbonate", "hydrate": 0, "assay": 1.0, "grams_per_L": 60.0}
    >>> add_supplement(place, "soda", [line])
    'soda'
    >>> round(open_tank(place).supplements["soda"].adds["alkalinity"], 3)
    1.132
    """
    document = supplement_toml(
        name, recipe, container_L=container_L, keep_apart=keep_apart, comment=comment
    )
    tidy = next(iter(document["supplement"]))

    def add(file: tomlkit.TOMLDocument) -> None:
        if "supplement" not in file:
            file["supplement"] = tomlkit.table(is_super_table=True)
        held: Any = file["supplement"]
        if any(" ".join(str(one).split()).casefold() == tidy.casefold() for one in held):
            raise InputError(
                "a name that no supplement has yet", tidy,
                "Write another one: doses in the log belong to the old stock, which stays as it is.",
                FILE,
            )  # fmt: skip
        held[tidy] = _table(recipe, container_L, keep_apart, comment)

    edit_toml(folder, FILE, add)
    return tidy


def _table(
    recipe: Sequence[Mapping[str, object]],
    container_L: float | None,
    keep_apart: Sequence[str],
    comment: str,
) -> Any:
    table = tomlkit.table()
    if comment:
        table.add(tomlkit.comment(" ".join(comment.split())))
    lines = tomlkit.array()
    for line in recipe:
        row = tomlkit.inline_table()
        for key, value in line.items():
            row[key] = float(f"{value:.6g}") if isinstance(value, float) else value
        lines.append(row)
    table["recipe"] = lines.multiline(True)
    if container_L is not None:
        table["container_L"] = float(f"{container_L:.6g}")
    if keep_apart:
        table["keep_apart"] = list(keep_apart)
    return table
