"""The field in which every page takes its tank folder."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import ipywidgets as widgets

from reef_calc.errors import InputError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.panels.common import WIDE_LABEL, tank_folders


def folder_field(folder: str | Path, places: Iterable[str | Path] = ()) -> widgets.Combobox:
    """Return a field that holds the path of a tank folder.

    Parameters
    ----------
    folder : str or pathlib.Path
        Folder shown first.
    places : iterable of pathlib.Path, optional
        Folders whose tanks are offered in its list.

    Returns
    -------
    ipywidgets.Combobox
        The field.

    Examples
    --------
    >>> folder_field("my_reef").value
    'my_reef'
    """
    return widgets.Combobox(
        value=str(folder),
        options=[path for _, path in tank_folders(*(Path(place) for place in places))],
        description="Tank folder",
        tooltip="Path of a folder with tank.toml; choose one or type another and press Enter",
        continuous_update=False,
        style=WIDE_LABEL,
        layout=widgets.Layout(width="min(100%, 34em)"),
    )


def tank_in(field: widgets.Combobox) -> Tank:
    """Return the tank whose folder stands in a field, read just now.

    Parameters
    ----------
    field : ipywidgets.Combobox
        The field.

    Returns
    -------
    Tank
        The tank.

    Raises
    ------
    InputError
        If the field is empty, or the folder holds no tank.

    Examples
    --------
    >>> tank_in(folder_field("  "))
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: Tank folder: needed the path of a tank folder, given “”. Choose one
    or type another.
    """
    path = field.value.strip()
    if not path:
        raise InputError(
            "the path of a tank folder", path, "Choose one or type another.", "Tank folder"
        )
    return open_tank(Path(path).expanduser())
