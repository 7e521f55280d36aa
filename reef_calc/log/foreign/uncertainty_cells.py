"""An uncertainty as a report states it: absolute or in percent, standard or expanded."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said

KEY = "coverage"
_CELL = re.compile(
    r"\(?\s*(?:±|\+/-|\+-)?\s*(\d+(?:[.,]\d+)?|[.,]\d+)(?:e([+-]?\d{1,2}))?\s*(%)?\s*([^\d%=(]{0,12}?)\s*\)?"
    r"\s*(?:[,;(]?\s*k\s*=\s*(\d(?:[.,]\d+)?)\s*\)?)?",
    re.IGNORECASE,
)
_COVERAGE = re.compile(r"k\s*=\s*(\d(?:[.,]\d+)?)", re.IGNORECASE)
_EXPANDED = re.compile(r"expanded|erweitert|élargie|expandida|estesa|95\s*%", re.IGNORECASE)
_STANDARD = re.compile(
    r"\bsd\b|\bs\.d\.|std|standard|standardabweichung|écart|desviación|deviazione|\brsd\b|\brsa\b",
    re.IGNORECASE,
)


@lru_cache(maxsize=65536)
def uncertainty_of(text: str, value: float, *, percent: bool = False) -> tuple[float, Said | None]:
    """Return the uncertainty that a cell states for a value.

    Parameters
    ----------
    text : str
        Text of the cell, such as "± 5 %", "0.3" or "0.6 (k=2)".
    value : float
        The value, for a percentage, in the unit of the row.
    percent : bool, optional
        Whether the heading says that plain numbers are percent.

    Returns
    -------
    tuple
        Uncertainty in the unit of the value, divided by the k that the cell states; NaN where none
        can be read. What is said of the cell, or None.

    Notes
    -----
    Expanded uncertainty U = k·u; here u = U/k.

    Examples
    --------
    >>> uncertainty_of("± 5 %", 420.0), uncertainty_of("0,3", 8.1)
    ((21.0, None), (0.3, None))
    >>> uncertainty_of("0.6 (k=2)", 8.1)[0]
    0.3

    References
    ----------
    Joint Committee for Guides in Metrology, JCGM 100:2008, 6.2.1 and 7.2.3.
    """
    plain = text.strip()
    if not plain or plain in ("-", "–", "—", "n/a", "n.a."):
        return math.nan, None
    found = _CELL.fullmatch(plain) if len(plain) <= 60 else None
    if found is None:
        return math.nan, Said(
            "flagged", "UNCERTAINTY",
            f"“{plain[:60]}” is no uncertainty; the value is taken without one.",
            "Write it as 0.3 or 5 %.",
        )  # fmt: skip
    u = float(found[1].replace(",", "."))
    if found[2]:
        u *= 10.0 ** int(found[2])
    if found[3] or percent:
        u *= abs(value) / 100.0
    if found[5]:
        k = float(found[5].replace(",", "."))
        u = u / k if k > 0.0 else 0.0
    if not 0.0 < u < math.inf:
        return math.nan, Said(
            "flagged", "UNCERTAINTY",
            f"An uncertainty of {plain[:60]} does not exist; the value is taken without one.",
            "Leave the cell empty where it is not known.",
        )  # fmt: skip
    said = None
    if found[5]:
        said = Said("read", "COVERAGE", f"“{plain[:60]}” is kept as {u:.4g}, divided by its k.")
    # Twelve digits: what the machine adds in the multiplication is no part of it.
    return float(f"{u:.12g}"), said


def coverage_question(column: Column, example: str, answers: Answers) -> Question:
    """Return the question whether a column of uncertainties is standard or expanded.

    Parameters
    ----------
    column : Column
        The column of uncertainties.
    example : str
        One of its cells.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        What the heading says is assumed; where it says nothing, the numbers as they stand.

    Examples
    --------
    >>> coverage_question(Column(3, "U (k=2)", "u", key="U (k=2)"), "0.6", {}).assumed
    '2'
    >>> coverage_question(Column(3, "±", "u", key="±"), "0.6", {}).assumed
    '1'
    """
    heading = f"{column.heading} {column.unit_text}"
    stated = _COVERAGE.search(heading)
    assumed = "1"
    if (stated and stated[1].startswith("2")) or (not stated and _EXPANDED.search(heading)):
        assumed = "2"
    question_key = f"{KEY}/{column.key}"
    choices = (
        Choice("1", "Standard uncertainties, one standard deviation", f"“{example}” is kept."),
        Choice("2", "Expanded uncertainties, k = 2, about 95 %", f"“{example}” is halved."),
    )
    text = (
        f"Are the uncertainties of “{column.key}” standard or expanded ones? Reports of accredited "
        "laboratories mostly state expanded ones and say k = 2."
    )
    if not stated and assumed == "1" and not _STANDARD.search(heading):
        text += " The report does not say; until you do they are not made smaller."
    given = answers.get(question_key, "")
    if given and given not in ("1", "2"):
        text += f" The answer “{given[:60]}” is neither."
        given = ""
    return Question(question_key, text, choices, (), column.index, assumed=assumed, answered=given)
