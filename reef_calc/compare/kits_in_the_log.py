"""Which readings of a tank's log two kits or lots made, and what else was read in between."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.additions import days
from reef_calc.balance.record import ElementRecord
from reef_calc.compare.kit_names import Group, kit_label, split_name
from reef_calc.compare.log_pairs import nearest_pairs
from reef_calc.errors import InputError
from reef_calc.log.history import new_water_readings
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

# History on either side of the time when both were, or one took over from the other.
MARGIN_DAYS = 90.0


@dataclass(frozen=True)
class TwoKits:
    """Two kits or lots in one element's history.

    Attributes
    ----------
    record : ElementRecord
        Sittings around the time of both, levels as read.
    a, b : (kit, lot)
        Which are compared.
    label_a, label_b : str
        How they are called in sentences.
    of_a, of_b : array (n,) of bool
        Whose each sitting is.
    new_water : tuple of (kit, lot) or None
        What read the new water of each water change; None where nothing did.
    messages : tuple of Message
        What was chosen or left out.
    """

    record: ElementRecord
    a: Group
    b: Group
    label_a: str
    label_b: str
    of_a: NDArray[np.bool_]
    of_b: NDArray[np.bool_]
    new_water: tuple[Group | None, ...]
    messages: tuple[Message, ...]

    @property
    def groups(self) -> tuple[Group, ...]:
        """Kit and lot of each sitting."""
        s = self.record.sessions
        return tuple(zip(s["kit"], s["lot"], strict=True))

    def new_water_with(self, group: Group) -> NDArray[np.bool_]:
        """Return at which changes the new water was read with a kit and lot.

        Parameters
        ----------
        group : (kit, lot)
            Kit and lot.

        Returns
        -------
        numpy.ndarray of bool
            One for each change.
        """
        return np.array([g == group for g in self.new_water], dtype=bool)


def two_kits(
    tank: Tank,
    record: ElementRecord,
    kit_a: str,
    kit_b: str,
    *,
    lots: tuple[str | None, str | None] | None = None,
    whole: bool = False,
    doubted: frozenset[int] = frozenset(),
) -> TwoKits:
    """Return the sittings of two kits or lots, levels as read.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    record : ElementRecord
        Everything of one element.
    kit_a, kit_b : str
        Kits, or kit and lot as "kit A / lot A-2".
    lots : tuple of (str or None), optional
        Lots of A and of B. Where a kit has several and none is named, the lots that were read
        nearest to each other are taken, and that is said.
    whole : bool, optional
        Keep the whole record in place of 90 days around the time of both.
    doubted : frozenset of int, optional
        Rows of readings.csv that the keeper agreed are slips; they are left out, and that is said.

    Returns
    -------
    TwoKits
        The sittings.

    Raises
    ------
    InputError
        If a kit or lot was not read with, or both are the same.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.log.example import example_tank
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> two_kits(example_tank(), record, "drops", "strips")
    Traceback (most recent call last):
    ...
    reef_calc.errors.InputError: alkalinity: needed readings of the tank with strips, given “drops”...
    """
    record = record.without(doubted)
    s = record.sessions
    groups: list[Group] = list(zip(s["kit"], s["lot"], strict=True))
    kits = frozenset(kit for kit, _ in groups)
    asked = lots or (None, None)
    choices = []
    for name, lot in ((kit_a, asked[0]), (kit_b, asked[1])):
        kit, named = split_name(name, kits)
        lot = lot if lot is not None else named
        own = [g for g in dict.fromkeys(groups) if g[0] == kit and lot in (None, g[1])]
        if not own:
            given = ", ".join(kit_label(*g) for g in dict.fromkeys(groups)) or "no readings"
            raise InputError(
                f"readings of the tank with {kit_label(kit, lot or '')}",
                given,
                "Choose two of the kits that were read with in this time.",
                record.element,
            )
        choices.append((kit, lot, own))
    a, b, told = _nearest_lots(choices, groups, s["day"].to_numpy(float), kit_a)
    record = _as_read(record)
    messages = [
        *told,
        *_left_out(tank, record, doubted, a, b),
        *_about_readings(tank, record, a, b),
    ]
    several = {kit for kit in (a[0], b[0]) if len({g for g in groups if g[0] == kit}) > 1}
    several |= {kit for kit, lot, _ in choices if lot} | ({a[0]} if a[0] == b[0] else set())
    label_a, label_b = (kit_label(k, lot if k in several else "") for k, lot in (a, b))
    if not whole:
        record = _around(record, groups, a, b)
    groups = list(zip(record.sessions["kit"], record.sessions["lot"], strict=True))
    return TwoKits(
        record,
        a,
        b,
        label_a,
        label_b,
        np.array([g == a for g in groups], dtype=bool),
        np.array([g == b for g in groups], dtype=bool),
        new_water_kits(tank, record),
        tuple(messages),
    )


def new_water_kits(tank: Tank, record: ElementRecord) -> tuple[Group | None, ...]:
    """Return what read the new water of each water change.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    record : ElementRecord
        One element of it.

    Returns
    -------
    tuple of (kit, lot) or None
        One for each water change: the newest reading before it, as the record takes it.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.log.example import example_tank
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> set(new_water_kits(example_tank(), record))
    {('drops', '')}
    """
    changes = record.events.change_times
    if record.new_water.source != "measured":
        return (None,) * changes.size
    read = new_water_readings(tank, record.element, record.unit)
    read = read[read["limit"] == ""]
    own = list(zip(read["kit"], read["lot"], strict=True))
    before = np.searchsorted(days(read["time"]), changes, side="right") - 1
    return tuple(own[i] for i in np.maximum(before, 0))


def _as_read(record: ElementRecord) -> ElementRecord:
    """Levels before any stored correction of a kit; a common salinity stays."""
    s = record.sessions
    corrected = s["corrected"].to_numpy(float)
    scaled = np.divide(
        s["level"].to_numpy(float), corrected, out=np.ones(len(s)), where=corrected != 0
    )
    record = replace(record, sessions=s.assign(level=s["as_read"].to_numpy(float) * scaled))
    read = record.new_water.as_read
    if read is None:
        return record
    return replace(
        record,
        new_water=replace(record.new_water, levels=read),
        events=replace(record.events, change_levels=read),
    )


def _nearest_lots(
    choices: list[tuple[str, str | None, list[Group]]],
    groups: list[Group],
    times: NDArray[np.float64],
    kit_a: str,
) -> tuple[Group, Group, list[Message]]:
    def of(group: Group) -> NDArray[np.float64]:
        return times[np.array([g == group for g in groups])]

    def closeness(pair: tuple[Group, Group]) -> tuple[int, float, float]:
        a, b = of(pair[0]), of(pair[1])
        nearest = float(np.abs(a[:, None] - b[None, :]).min())
        return nearest_pairs(a, b)[0].size, -nearest, float(min(a[-1], b[-1]))

    possible = [(a, b) for a in choices[0][2] for b in choices[1][2] if a != b]
    if not possible:
        raise InputError(
            "two different kits or lots", kit_a, "Choose another one to compare with.", "kits"
        )
    a, b = max(possible, key=closeness)
    if len(possible) > 1 and a[0] == b[0] and a in choices[1][2] and b in choices[0][2]:
        a, b = sorted((a, b), key=lambda g: float(of(g)[0]))
    told = []
    for kit in dict.fromkeys(kit for kit, _, own in choices if len(own) > 1):
        own = [g for g in dict.fromkeys(groups) if g[0] == kit]
        taken = " and ".join(kit_label(*g) for g in own if g in (a, b))
        told.append(
            Message(
                "LOT_CHOSEN",
                f"{kit} was read with {len(own)} lots. Compared here: {taken}, read nearest to "
                "what it is compared with. Each lot counts for itself.",
            )
        )
    return a, b, told


def _around(record: ElementRecord, groups: list[Group], a: Group, b: Group) -> ElementRecord:
    t = record.sessions["day"].to_numpy(float)
    own = [t[np.array([g == one for g in groups])] for one in (a, b)]
    start = max(float(x[0]) for x in own)
    stop = min(float(x[-1]) for x in own)
    first, last = min(start, stop) - MARGIN_DAYS, max(start, stop) + MARGIN_DAYS
    kept = record.since(first)
    s = kept.sessions
    return replace(kept, sessions=s[s["day"] <= last].reset_index(drop=True))


def _left_out(
    tank: Tank, record: ElementRecord, doubted: frozenset[int], a: Group, b: Group
) -> list[Message]:
    rows = doubted | {int(row) for row in record.left_out["row"]}
    read = tank.readings[tank.readings["row"].isin(rows)]
    n = sum(g in (a, b) for g in zip(read["kit"], read["lot"], strict=True))
    if n == 0:
        return []
    return [
        Message(
            "LEFT_OUT",
            f"{n} {'reading' if n == 1 else 'readings'} of these kits {'is' if n == 1 else 'are'} "
            "not used: beyond the kit's limit, doubted, or marked as a slip.",
            "qualified",
        )
    ]


def _about_readings(tank: Tank, record: ElementRecord, a: Group, b: Group) -> list[Message]:
    told = []
    s = record.sessions
    own = [g in (a, b) for g in zip(s["kit"], s["lot"], strict=True)]
    if np.any(np.abs(s["corrected"] - s["as_read"])[own] > 1e-9):
        told.append(
            Message("AS_READ", "Compared as read: stored corrections of the kits are not applied.")
        )
    if record.scaled:
        told.append(
            Message("SALINITY_MOVED", "Levels are brought to one salinity, because it moved.")
        )
    unknown = [
        kit_label(kit) for kit in dict.fromkeys((a[0], b[0]))
        if kit not in tank.kits or tank.kits[kit].sd_is_default
    ]  # fmt: skip
    if unknown:
        told.append(
            Message(
                "SCATTER_ASSUMED",
                f"How much {' and '.join(unknown)} scatters from test to test is not described; what "
                "is usual is taken. Test one water several times and enter it.",
                "qualified",
            )
        )
    events = tank.events
    for kit, lot in dict.fromkeys((a, b)):
        opened = events[(events["kind"] == "lot opened") & (events["refers_to"] == kit)]
        if not lot and len(opened) > 1:
            told.append(
                Message(
                    "LOTS_NOT_TOLD",
                    f"{len(opened)} lots of {kit} were opened, but its readings carry no lot: they "
                    "count as one. Enter the lot with the reading.",
                    "qualified",
                )
            )
    return told
