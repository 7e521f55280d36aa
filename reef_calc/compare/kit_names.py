"""How kits and their lots are called."""

from __future__ import annotations

Group = tuple[str, str]


def kit_label(kit: str, lot: str = "") -> str:
    """Return how a kit, or a lot of it, is called in a sentence.

    Parameters
    ----------
    kit, lot : str
        Names; empty where none is recorded.

    Returns
    -------
    str
        Such as "kit A lot A-2".

    Examples
    --------
    >>> kit_label("kit A", "A-2"), kit_label("drops"), kit_label("", "")
    ('kit A lot A-2', 'drops', 'the kit without a name')
    """
    name = kit or "the kit without a name"
    return f"{name} lot {lot}" if lot else name


def split_name(name: str, kits: frozenset[str]) -> tuple[str, str | None]:
    """Return kit and lot of a name such as "kit A / lot A-2"; None for any lot.

    Parameters
    ----------
    name : str
        Kit, or kit and lot.
    kits : frozenset of str
        Names of kits that were read with; a name among them is no kit and lot.

    Returns
    -------
    tuple of str and (str or None)
        Kit and lot.

    Examples
    --------
    >>> split_name("kit A / lot A-2", frozenset({"kit A"})), split_name("kit A", frozenset())
    (('kit A', 'A-2'), ('kit A', None))
    """
    if name in kits:
        return name, None
    for mark in (" / lot ", " / "):
        kit, found, lot = name.rpartition(mark)
        if found and kit:
            return kit.strip(), lot.strip()
    return name, None
