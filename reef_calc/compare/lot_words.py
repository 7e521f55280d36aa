"""What a table of lots says, in sentences."""

from __future__ import annotations

import pandas as pd

from reef_calc.compare.lot_group import LotGroup
from reef_calc.numbers_in_words import decimals_for, fixed, upper_bound

_NOUNS = {"person": "reader", "by": "reader"}
_MOST_LISTED = 5


def noun(by: str, count: int = 1) -> str:
    """Return the word for what is compared.

    Parameters
    ----------
    by : str
        Column, such as ``lot``, ``kit`` or ``person``.
    count : int, optional
        How many (a count).

    Returns
    -------
    str
        "lot" or "lots".

    Examples
    --------
    >>> noun("lot", 4), noun("person")
    ('lots', 'reader')
    """
    word = _NOUNS.get(by, by)
    return word if count == 1 else f"{word}s"


def named(by: str, name: str) -> str:
    """Return a name as it stands in a sentence.

    Parameters
    ----------
    by : str
        Column it comes from.
    name : str
        Name.

    Returns
    -------
    str
        With its noun, unless the name has one.

    Examples
    --------
    >>> named("lot", "A-1"), named("lot", "kit A, lot A-1"), named("kit", "kit A")
    ('lot A-1', 'kit A, lot A-1', 'kit A')
    """
    word = noun(by)
    return (
        name if by in _NOUNS or word in name.lower().replace(",", " ").split() else f"{word} {name}"
    )


def size_with_interval(difference: float, low: float, high: float, unit: str) -> str:
    """Return the size of a difference that excludes 0, as its interval rounds it.

    Parameters
    ----------
    difference, low, high : float
        Difference and the ends of its interval, in ``unit``; both ends on one side of 0.
    unit : str
        Unit.

    Returns
    -------
    str
        Such as "0.49 dKH higher (0.27 to 0.70)"; no end is rounded to 0.

    Examples
    --------
    >>> size_with_interval(-0.4875, -0.7, -0.27, "dKH"), size_with_interval(0.2, 0.002, 0.4, "dKH")
    ('0.49 dKH lower (0.27 to 0.70)', '0.200 dKH higher (0.002 to 0.400)')
    """
    side = "higher" if difference > 0 else "lower"
    near, far = sorted((abs(low), abs(high)))
    decimals = decimals_for((far - near) / 4)
    while float(fixed(near, decimals)) <= 0 and decimals < 12:
        decimals += 1
    return (
        f"{fixed(abs(difference), decimals)} {unit} {side} "
        f"({fixed(near, decimals)} to {fixed(far, decimals)})"
    )


def sentences_of(group: LotGroup, by: str, unit: str) -> tuple[str, ...]:
    """Return the verdict on one group and what belongs to it.

    Parameters
    ----------
    group : LotGroup
        The group.
    by : str
        What is compared.
    unit : str
        Unit of the table.

    Returns
    -------
    tuple of str
        Verdict first.

    Examples
    --------
    >>> from reef_calc.compare.lot_table import lot_table
    >>> read = pd.DataFrame({"water": [1, 1, 2, 2, 3, 3], "lot": list("ababab"),
    ...                      "level": [8.0, 8.1, 7.2, 7.2, 9.1, 9.0]})
    >>> sentences_of(lot_table(read, unit="dKH").groups[0], "lot", "dKH")[0]
    'Lot a and lot b cannot be told apart on 3 waters. “Cannot be told apart” is not “equal”: a
    difference of up to 0.25 dKH is not excluded.'
    """
    if group.refusal:
        return (group.refusal,)
    said = []
    chosen = group.pairs[group.pairs["planned"]]
    for row in chosen.itertuples() if len(group.names) > 2 else ():
        told = (
            _reads(row, by, unit) if row.apart
            else f"{named(by, row.one)} and {named(by, row.other)} cannot be told apart: a difference "
            f"of up to {_largest(row.low, row.high)} {unit} is not excluded"
        )  # fmt: skip
        said.append(
            f"Chosen before the tests: {told}. This interval allows for no other comparison. It holds "
            "only if the two were chosen before the readings were seen."
        )
    others = group.pairs if len(group.names) == 2 else group.pairs[~group.pairs["planned"]]
    said.append(_verdict(group, others, by, unit))
    return tuple(said)


def _verdict(group: LotGroup, pairs: pd.DataFrame, by: str, unit: str) -> str:
    apart = pairs[pairs["apart"]].sort_values("difference", key=lambda d: -d.abs(), kind="stable")
    open_pairs = pairs[~pairs["apart"]]
    waters = counted(group.waters, "water")
    not_equal = ""
    if len(open_pairs):
        most = upper_bound(float(open_pairs[["low", "high"]].abs().to_numpy().max()))
        not_equal = (
            f" “Cannot be told apart” is not “equal”: a difference of up to {most} {unit} is not "
            "excluded."
        )
    if len(group.names) == 2:
        row = next(pairs.itertuples())
        if row.apart:
            return capital(f"{_reads(row, by, unit)}, from {waters}.")
        told = f"{named(by, row.one)} and {named(by, row.other)} cannot be told apart on {waters}."
        return capital(told + not_equal)
    start = f"Of these {len(group.names)} {noun(by, len(group.names))}, "
    allowing = f"after allowing for {group.comparisons} comparisons"
    other = "other " if len(pairs) < len(group.pairs) else ""
    if apart.empty:
        return f"{start}no {other}pair can be told apart {allowing}.{not_equal}"
    listed = [_reads(row, by, unit) for row in apart.head(_MOST_LISTED).itertuples()]
    more = len(apart) - len(listed)
    told = "; ".join(listed) + f", {allowing}"
    if more:
        told += f"; {counted(more, 'more pair')} can be told apart (see the table)"
    rest = "" if open_pairs.empty else "; no other pair can be told apart"
    return f"{start}{told}{rest}.{not_equal}"


def _reads(row: object, by: str, unit: str) -> str:
    size = size_with_interval(row.difference, row.low, row.high, unit)  # type: ignore[attr-defined]
    one, other = named(by, row.one), named(by, row.other)  # type: ignore[attr-defined]
    amount, _, interval = size.partition(" (")
    return f"{other} reads {amount} than {one} ({interval}"


def _largest(low: float, high: float) -> str:
    return upper_bound(max(abs(low), abs(high)))


def counted(number: int, word: str) -> str:
    """Return a number with its noun.

    Parameters
    ----------
    number : int
        How many (a count).
    word : str
        Noun in the singular.

    Returns
    -------
    str
        Such as "1 water" or "2 waters".

    Examples
    --------
    >>> counted(1, "water"), counted(2, "water")
    ('1 water', '2 waters')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def capital(text: str) -> str:
    """Return a text with a capital, except where a capital follows at once, as in pH.

    Parameters
    ----------
    text : str
        Start of a sentence.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> capital("lot A"), capital("pH meter")
    ('Lot A', 'pH meter')
    """
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]
