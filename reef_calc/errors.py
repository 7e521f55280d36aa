"""The package's own errors: every one says what was needed, given, where, and how to repair it."""

from __future__ import annotations


class ReefError(Exception):
    """Base of all errors that this package raises on purpose; its text is fit to show a keeper."""


class InputError(ReefError, ValueError):
    """A value handed in cannot be used.

    Parameters
    ----------
    needed : str
        What would have been right, in words.
    given : object
        What was given; shown as text, at most 80 characters of it.
    repair : str
        What the person can do about it.
    where : str, optional
        File, row and column, or function and argument.
    """

    def __init__(self, needed: str, given: object, repair: str, where: str = "") -> None:
        self.needed, self.given, self.repair, self.where = needed, given, repair, where
        text = given if isinstance(given, str) else repr(given)
        if len(text) > 80:
            text = text[:77] + "..."
        place = f"{where}: " if where else ""
        super().__init__(f"{place}needed {needed}, given “{text}”. {repair}")


class UnitError(InputError):
    """A unit word is unknown, ambiguous, or belongs to another quantity."""


class NumberError(InputError):
    """A text is not a number in the form this package reads."""


class TankFolderError(InputError):
    """A tank folder cannot be opened at all; single bad rows are reported as problems instead."""


class CannotTellError(ReefError):
    """The data cannot answer the question; the text says what would."""
