"""What only the columns of a table together tell of one of them."""

from __future__ import annotations

from dataclasses import replace

from reef_calc.log.foreign.column_guess import Guess
from reef_calc.log.foreign.columns import Role

_ONLY = "the only column of numbers that is left"


def seen_together(guesses: dict[int, Guess], letters: dict[int, str]) -> dict[int, Guess]:
    """Return the guesses, decided where only other columns tell: a time of day, an average, a lot.

    Parameters
    ----------
    guesses : dict of int to Guess
        What each column seems to be by itself, by column counted from 0.
    letters : dict of int to str
        Headings of one letter; empty for every other column.

    Returns
    -------
    dict of int to Guess
        The same columns.

    Examples
    --------
    >>> guesses = {0: Guess("element"), 1: Guess("value"), 2: Guess("value", "potassium")}
    >>> seen_together(guesses, {0: "", 1: "", 2: "k"})[2].role
    'unknown'
    """
    roles = [guess.role for guess in guesses.values()]
    levels = {guess.element for guess in guesses.values() if guess.role == "value"}
    found = dict(guesses)
    for index, guess in guesses.items():
        if guess.role == "time" and "date" not in roles:
            found[index] = replace(guess, role="date")
            roles.append("date")
        elif guess.other and guess.element not in levels:
            found[index] = replace(guess, role="unknown", note="", likely=guess.element)
        elif guess.role == "average":
            found[index] = replace(guess, note="not used: an average, not a reading")
    long = "element" in roles or any(g.role == "unit" for g in guesses.values())
    values = [i for i, guess in found.items() if guess.role == "value" and not guess.element]
    named = {"element", "supplement", "amount", "litres", "volume", "tank"} & set(roles)
    for index, guess in found.items():
        if guess.role == "value" and not guess.element and not named:
            found[index] = replace(guess, role="unknown")
        # Beside a column of elements, salinity and temperature are conditions of each row.
        if (
            long
            and values
            and guess.role == "value"
            and guess.element in ("salinity", "temperature")
        ):
            role: Role = "salinity" if guess.element == "salinity" else "temperature"
            found[index] = replace(guess, role=role)
        elif (
            long
            and values
            and guess.role == "value"
            and guess.element
            and letters[index] in ("U", "u")
        ):
            found[index] = replace(guess, role="u", element="")
        elif long and values and guess.role == "value" and guess.element and letters[index]:
            # Beside a column of elements, k is no potassium.
            found[index] = replace(guess, role="unknown", element="", likely="")
    # “KH lot” is the lot of the one column of KH.
    of = [guess.element for guess in guesses.values() if guess.role == "value"]
    for index, guess in guesses.items():
        if guess.role == "lot" and guess.element and of.count(guess.element) != 1:
            note = f"kept in the note: it does not say which column of {guess.element} it is of"
            found[index] = replace(guess, role="note", note=note)
    numeric = [i for i, guess in guesses.items() if guess.role == "unknown" and not guess.element]
    if "element" in roles and not values:
        for index in numeric:
            role = "value" if len(numeric) == 1 or "date" not in roles else "unknown"
            note = f"taken as the values, {_ONLY}" if len(numeric) == 1 else ""
            found[index] = replace(guesses[index], role=role, other="value", note=note)
    return found
