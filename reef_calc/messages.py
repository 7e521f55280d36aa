"""Sentences that accompany a result, each with a code that tests and pages can rely on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Message:
    """One sentence about a result.

    Attributes
    ----------
    code : str
        Stable word in capitals, such as ``TOO_FEW``.
    text : str
        What a person reads; plain text.
    kind : {"refused", "qualified", "told"}
        Refused: there is no number. Qualified: the number stands with a limit. Told: worth knowing.
    """

    code: str
    text: str
    kind: Literal["refused", "qualified", "told"] = "told"


def codes(messages: tuple[Message, ...]) -> tuple[str, ...]:
    """Return the codes of messages in their order.

    Parameters
    ----------
    messages : tuple of Message
        Messages of a result.

    Returns
    -------
    tuple of str
        Their codes.

    Examples
    --------
    >>> codes((Message("TOO_FEW", "Two more readings."),))
    ('TOO_FEW',)
    """
    return tuple(message.code for message in messages)
