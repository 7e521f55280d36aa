"""What stands beside the tank, and what one container does to it when it empties."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reef_calc.chem.alkalinity_kinds import alkalinity_kind
from reef_calc.chem.supplements import Supplement
from reef_calc.messages import Message


@dataclass(frozen=True)
class Container:
    """What stands beside the tank and could run into it.

    Attributes
    ----------
    name : str
        Name of the supplement, or of the reservoir.
    adds : mapping of str to float
        What one mL (or gram) of it holds, by element: mg, alkalinity in meq. Empty for fresh water.
    full : float or None
        What it holds when full, in ``unit``; None while nobody has said.
    unit : {"mL", "g"}
        What ``full`` and ``adds`` count in.
    kind : str
        Kind of its alkalinity: "carbonate", "bicarbonate", "hydroxide", "delayed", ...
    dissolved_salt_mg : float or None
        Dissolved salt in one mL or gram (mg); None where only a label is known.
    reservoir : bool
        Whether it tops up evaporated water.
    a_day : float
        What is taken from it in a day, in ``unit``; 0 when not known.
    """

    name: str
    adds: Mapping[str, float] = field(default_factory=dict)
    full: float | None = None
    unit: str = "mL"
    kind: str = "none"
    dissolved_salt_mg: float | None = None
    reservoir: bool = False
    a_day: float = 0.0

    @property
    def salt_mg(self) -> float | None:
        """Dissolved salt in one mL or gram (mg): none in fresh water, None where it is not known."""
        return 0.0 if not self.adds else self.dissolved_salt_mg


def container_of(
    supplement: Supplement,
    *,
    litres: float | None = None,
    reservoir: bool = False,
    a_day: float = 0.0,
) -> Container:
    """Return the container of a supplement.

    Parameters
    ----------
    supplement : Supplement
        What is in it.
    litres : float, optional
        How much it holds (L); ``container_L`` of the supplement when not given.
    reservoir : bool, optional
        Whether it tops up evaporated water.
    a_day : float, optional
        What is taken from it in a day (mL or g).

    Returns
    -------
    Container
        With its size not known where nobody has said, and for one that is weighed.

    Examples
    --------
    >>> container_of(Supplement("carbonate stock", {"alkalinity": 1.13}, container_L=5.0)).full
    5000.0
    """
    size = supplement.container_L if litres is None else litres
    return Container(
        supplement.name,
        supplement.adds,
        None if size is None or supplement.unit != "mL" else 1000.0 * size,
        supplement.unit,
        alkalinity_kind(supplement),
        supplement.dissolved_salt_mg,
        reservoir,
        a_day,
    )


@dataclass(frozen=True)
class Rise:
    """What one container does to one element, in the element's unit.

    Attributes
    ----------
    unit : str
        Unit of the element.
    before, after : float
        Level now, and when all of it has run in and mixed.
    added : float
        Amount over the net volume: the rise if the water level stays as it is.
    limit : float
        Largest rise (of what takes away, largest fall) of a day; infinite where none is set.
    """

    unit: str
    before: float
    after: float
    added: float
    limit: float


@dataclass(frozen=True)
class Beside:
    """An element that a container adds and that the plan does not follow: its level is not known.

    Attributes
    ----------
    unit : str
        Unit of the two numbers.
    added : float or None
        Amount over the net volume; None while the size is not known.
    limit : float
        Usual largest rise of a day; a tenth of sea water's level where practice has none.
    """

    unit: str
    added: float | None
    limit: float


@dataclass(frozen=True)
class Emptied:
    """One container run into the tank at once.

    Attributes
    ----------
    container : Container
        What ran in.
    rises : dict of str to Rise
        By element; empty while the size is not known.
    salinity_before : float
        Practical salinity now (no unit).
    salinity_after : float or None
        Practical salinity then (no unit); None while the size or the salt in it is not known.
    keep : float
        Most that may stand within reach of a pump, so that all of it stays within the limits of a
        day and below what must not be passed, in the container's unit; infinite where no limit
        applies, 0 where a level that must not be passed is reached already.
    keep_for : str
        The element whose limit sets ``keep``.
    keep_limit : float
        The change that ``keep`` makes, in the element's unit (salinity: practical, no unit).
    never : float
        Amount that takes a level to one that must not be passed, in the container's unit; infinite
        where none is set.
    never_for : str
        The element of ``never``.
    beside : dict of str to Beside
        What it adds of elements that the plan does not follow, by element.
    messages : tuple of Message
        What it would do, how much to keep, and what stops a stuck pump.
    """

    container: Container
    rises: dict[str, Rise]
    salinity_before: float
    salinity_after: float | None
    keep: float
    keep_for: str
    keep_limit: float
    never: float
    never_for: str
    beside: dict[str, Beside] = field(default_factory=dict)
    messages: tuple[Message, ...] = ()
