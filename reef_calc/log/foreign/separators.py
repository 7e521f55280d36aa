"""What parts the cells of a text file, judged by how evenly it stands in the lines."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from reef_calc.errors import InputError
from reef_calc.log.foreign.outcome import Answers, Choice, Question

KEY = "separator/file"
BLANKS = "  "
BLANK = " "
NONE = "none"
# The likeliest first: where two part the lines equally well the first one is taken.
NAMES: dict[str, str] = {
    "\t": "tabs",
    ";": "semicolons",
    "|": "bars",
    ",": "commas",
    BLANKS: "several blanks",
    BLANK: "blanks",
    NONE: "nothing: it is one column",
}
# Answers in words, since a tab or blank cannot be seen.
ANSWERS = {"tab": "\t", ";": ";", "|": "|", ",": ",", "blanks": BLANKS, "blank": BLANK, NONE: NONE}
RULER = re.compile(r"[\s|+:=_-]*(?:-{2,}|={2,}|-:|:-)[\s|+:=_-]*")
_QUOTED = re.compile(r'"(?:[^"]|"")*"')
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_FIRST_LINE = re.compile(r'"?sep=(.)"?\s*', re.IGNORECASE)
_SAMPLE_LINES = 300


@dataclass(frozen=True)
class Separator:
    """What parts the cells.

    Attributes
    ----------
    separator : str
        A key of ``NAMES``.
    share : float
        Fraction of the full lines with the most frequent number of cells.
    cells : int
        That number of cells.
    questions : tuple of Question
        Where another one parts the lines nearly as evenly.
    """

    separator: str
    share: float
    cells: int
    questions: tuple[Question, ...] = ()


def named_separator(line: str) -> str:
    """Return the separator that a first line such as ``sep=;`` names, empty where it is no such line.

    Parameters
    ----------
    line : str
        First line of the file.

    Returns
    -------
    str
        The separator.

    Examples
    --------
    >>> named_separator("sep=;"), named_separator("date;KH")
    (';', '')
    """
    found = _FIRST_LINE.fullmatch(line.strip("\r\n\ufeff"))
    return found.group(1) if found and found.group(1) in NAMES else ""


def find_separator(lines: Sequence[str], answers: Answers) -> Separator:
    """Return what parts the cells of some lines.

    Parameters
    ----------
    lines : sequence of str
        Lines of the file; the first few hundred are looked at.
    answers : dict of str to str
        ``separator/file`` overrides what was found, by a key of ``ANSWERS``.

    Returns
    -------
    Separator
        The separator that leaves the most lines with the same number of cells, commas between
        digits counting half since they may be decimal marks.

    Raises
    ------
    InputError
        If the answer is none of those offered.

    Examples
    --------
    >>> find_separator(["date;KH", "2026-02-01;8,3", "2026-02-08;8,1"], {}).separator
    ';'
    """
    answer = answers.get(KEY, "")
    if answer and answer not in ANSWERS:
        raise InputError("one of " + ", ".join(ANSWERS), answer, "Choose one of them.", KEY)
    full = [line for line in lines if line.strip()][:_SAMPLE_LINES]
    bare = [_QUOTED.sub("x", line) for line in full if not RULER.fullmatch(line.strip())]
    judged = {sep: _judge(bare, sep) for sep in ("\t", ";", "|", ",", BLANKS)}
    if all(score == 0 for score, _, _ in judged.values()):
        judged[BLANK] = _judge_single_blank(bare)
    elif all(_DECIMAL_COMMA.sub("", line).count(",") == 0 for line in bare):
        # Where each comma may be a decimal mark, and blanks part every line alike, they are.
        even = _judge_single_blank(bare)
        if even[0] and max(judged, key=lambda sep: judged[sep][0]) == ",":
            judged[BLANK] = (2.0 * judged[","][0], *even[1:])
    best = max(judged, key=lambda sep: judged[sep][0])
    if judged[best][0] == 0:
        best = NONE
    chosen = ANSWERS[answer] if answer else best
    _, share, cells = judged.get(chosen, (0.0, 1.0, 1))
    enough = 0.75 * judged[best][0] if best in judged else 2.0
    near = [sep for sep, (other, _, _) in judged.items() if other > enough]
    offered = [best, *(sep for sep in near if sep != best)]
    if chosen not in offered:
        offered.append(chosen)
    questions = _question(full, offered, best, answer) if len(offered) > 1 else ()
    return Separator(chosen, share, cells, questions)


def line_pieces(line: str, separator: str) -> list[str]:
    """Return the pieces of one line, quotes not heeded.

    Parameters
    ----------
    line : str
        The line.
    separator : str
        A key of ``NAMES``.

    Returns
    -------
    list of str
        Pieces with their blanks.

    Examples
    --------
    >>> line_pieces("| a | b |", "|"), line_pieces("date   KH", BLANKS)
    ([' a ', ' b '], ['date', 'KH'])
    """
    if separator == NONE:
        return [line]
    if separator == BLANKS:
        return re.split(r"[ \u00a0]{2,}|\t", line.strip())
    if separator == BLANK:
        return line.split()
    if separator == "|":
        bare = line.strip()
        if bare.startswith("|"):
            bare = bare[1:]
            if bare.endswith("|") and not bare.endswith("\\|"):
                bare = bare[:-1]
        return [piece.replace("\\|", "|") for piece in re.split(r"(?<!\\)\|", bare)]
    return line.split(separator)


def _judge(lines: list[str], separator: str) -> tuple[float, float, int]:
    """How evenly it parts the lines: a score, the share of lines it parts alike, their cells."""
    counts, decimals, widths = Counter[int](), Counter[int](), []
    for line in lines:
        cells = len(line_pieces(line, separator))
        counts[cells] += 1
        widths.append(cells)
        if separator == "," and cells > 1:
            # "8,3;8,1": every comma could be a decimal mark, and something else parts the cells.
            decimals[cells] += len(_DECIMAL_COMMA.findall(line)) == cells - 1
    best = max((cells for cells in counts if cells > 1), key=lambda c: (counts[c], c), default=1)
    if best == 1:
        return 0.0, 1.0, 1
    share = counts[best] / len(lines)
    score = share - 0.5 * decimals[best] / len(lines)
    # A table is a block of lines; texts above and below it are not.
    score += (
        0.25 * max(len(list(run)) for width, run in groupby(widths) if width == best) / len(lines)
    )
    # Half of the rest: rows left short at their ends are still parted by it.
    score += 0.5 * sum(n for cells, n in counts.items() if 1 < cells != best) / len(lines)
    if separator == BLANKS:
        score *= 0.5
    return score, share, best


def _judge_single_blank(lines: list[str]) -> tuple[float, float, int]:
    """Single blanks part cells only where every line has as many words and the headings no digit."""
    counts = {len(line.split()) for line in lines}
    if len(lines) < 2 or len(counts) != 1 or counts == {1}:
        return 0.0, 1.0, 1
    if any(c.isdigit() for c in lines[0]) or not all(
        any(c.isdigit() for c in x) for x in lines[1:]
    ):
        return 0.0, 1.0, 1
    return 1.0, 1.0, counts.pop()


def _question(lines: list[str], offered: list[str], best: str, answer: str) -> tuple[Question, ...]:
    words = {sep: word for word, sep in ANSWERS.items()}
    longest = max(lines[:20], key=lambda line: len(line_pieces(line, best)))
    choices = []
    for separator in offered:
        pieces = [piece.strip() for piece in line_pieces(longest.strip("\r\n"), separator)]
        shown = " | ".join(piece[:20] for piece in pieces[:6])
        consequence = f"Then one line has {len(pieces)} cells: {shown}"
        choices.append(Choice(words[separator], NAMES[separator].capitalize(), consequence))
    text = "What parts the cells of this file?"
    return (Question(KEY, text, tuple(choices), assumed=words[best], answered=answer),)
