"""Why some waters give no line between two kits."""

from __future__ import annotations

from reef_calc.errors import CannotTellError
from reef_calc.messages import Message


class NoLineError(CannotTellError):
    """These waters give no line.

    Parameters
    ----------
    code : str
        ``DEGENERATE``, ``NOT_CONVERGED``, ``NEGATIVE_OR_ZERO`` or ``TIES``.
    text : str
        What a person reads: why, and what would help.
    """

    def __init__(self, code: str, text: str) -> None:
        self.message = Message(code, text, "refused")
        super().__init__(text)


def not_rising(n: int) -> NoLineError:
    """Return the refusal for waters on which the kits do not rise together.

    Parameters
    ----------
    n : int
        Number of waters.

    Returns
    -------
    NoLineError
        To be raised.

    Examples
    --------
    >>> not_rising(6).message.code
    'DEGENERATE'
    """
    return NoLineError(
        "DEGENERATE",
        f"On these {n} waters the two kits do not rise together, so there is no line between "
        "them. Test waters whose levels lie further apart.",
    )


def hangs_on_one(water: int) -> NoLineError:
    """Return the refusal for a line that rests on a single water.

    Parameters
    ----------
    water : int
        Its index, from 0.

    Returns
    -------
    NoLineError
        To be raised.

    Examples
    --------
    >>> print(hangs_on_one(3))
    The line hangs on water 4 alone: without it there is none. Test more waters at other levels.
    """
    return NoLineError(
        "DEGENERATE",
        f"The line hangs on water {water + 1} alone: without it there is none. Test more waters "
        "at other levels.",
    )
