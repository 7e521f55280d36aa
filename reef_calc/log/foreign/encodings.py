"""From bytes to text: marks, Unicode with and without them, and old code pages."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import islice

from reef_calc.errors import InputError
from reef_calc.log.foreign.alphabets import ALPHABETS, CODE_PAGES, TWO_BYTES
from reef_calc.log.foreign.file_limits import unusable
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.messages import Message

KEY = "encoding/file"
# With a mark: what the file begins with, the codec of what follows, its name.
_MARKS = (
    (b"\xff\xfe\x00\x00", "utf-32-le", "UTF-32"),
    (b"\x00\x00\xfe\xff", "utf-32-be", "UTF-32"),
    (b"\xff\xfe", "utf-16-le", "UTF-16"),
    (b"\xfe\xff", "utf-16-be", "UTF-16"),
    (b"\xef\xbb\xbf", "utf-8", "UTF-8"),
)
_BEYOND_ASCII = re.compile(rb"[\x80-\xff]")
_LONGEST_SAMPLE, _MOST_LOOKED_AT = 200_000, 2_000
_EVERYDAY = "–—‘’“”„…€£½¼¾×·±²³«»•"


@dataclass(frozen=True)
class Decoded:
    """A file as text.

    Attributes
    ----------
    text : str
        The text without a mark at its beginning.
    notes : tuple of Message
        Which encoding was found, where it is worth a word.
    questions : tuple of Question
        Where another code page reads differently and is nearly as likely.
    """

    text: str
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


def decode(file: str, content: bytes, answers: Answers) -> Decoded:
    r"""Return a text file as text.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.
    answers : dict of str to str
        ``encoding/file`` overrides a code page that was found, by a key of ``CODE_PAGES``.

    Returns
    -------
    Decoded
        The text, and how it was read.

    Raises
    ------
    InputError
        If no encoding makes a text of it, or the answer names none.

    Examples
    --------
    >>> decode("a.csv", b"Temp \xb0C", {}).text
    'Temp °C'
    """
    answer = answers.get(KEY, "")
    if answer and answer not in CODE_PAGES:
        raise InputError("one of " + ", ".join(CODE_PAGES), answer, "Choose one of them.", KEY)
    for mark, codec, name in _MARKS:
        if content.startswith(mark):
            text = content[len(mark) :].decode(codec, "replace")
            notes = _told(f"The file is {name} text.") if name != "UTF-8" else ()
            return Decoded(text, notes + _replaced(text, content))
    wide = _without_mark(content)
    if wide:
        text = content.decode(wide, "replace")
        return Decoded(
            text, _told("The file is UTF-16 text without a mark.") + _replaced(text, b"")
        )
    if not answer:
        try:
            return Decoded(content.decode("utf-8"))
        except UnicodeDecodeError:
            pass
        mixed = _line_by_line(content)
        if mixed is not None:
            return mixed
    return _old_code_page(file, content, answer)


def _told(text: str) -> tuple[Message, ...]:
    return (Message("ENCODING", text),)


def _replaced(text: str, content: bytes) -> tuple[Message, ...]:
    count = text.count("\ufffd")
    if not count or "\ufffd".encode() in content:
        return ()
    words = f"{count} characters could not be read and stand as \ufffd. Save the file again."
    return (Message("ENCODING", words, "qualified"),)


def _without_mark(content: bytes) -> str:
    """UTF-16 without a mark: every other byte of plain text is NUL."""
    head = content[:4096]
    pairs = len(head) // 2
    if len(content) % 2 or pairs < 2:
        return ""
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if odd * 2 > pairs and even * 10 < pairs:
        return "utf-16-le"
    if even * 2 > pairs and odd * 10 < pairs:
        return "utf-16-be"
    return ""


def _line_by_line(content: bytes) -> Decoded | None:
    """Read a file pasted of two encodings: some lines are UTF-8 beyond doubt, others are not."""
    lines, odd, sure = content.splitlines(keepends=True), [], 0
    texts = []
    for number, line in enumerate(lines, start=1):
        try:
            texts.append(line.decode("utf-8"))
            sure += not line.isascii()
        except UnicodeDecodeError:
            odd.append(number)
            texts.append(line.decode("cp1252", "replace"))
    if not sure or sure < len(odd):
        return None
    rows = ", ".join(map(str, odd[:10])) + (" and more" if len(odd) > 10 else "")
    words = f"The file is UTF-8 text except lines {rows}, which were read as code page 1252."
    return Decoded("".join(texts), (Message("ENCODING", words, "qualified"),))


def _old_code_page(file: str, content: bytes, answer: str) -> Decoded:
    sample = content[:_LONGEST_SAMPLE]
    if sample.isascii():
        sample = content
    scores: dict[str, float] = {}
    places = [found.start() for found in islice(_BEYOND_ASCII.finditer(sample), _MOST_LOOKED_AT)]
    contexts = [
        (sample[max(at - 1, 0) : at], sample[at : at + 1], sample[at + 1 : at + 3]) for at in places
    ]
    lone = sum(
        not (before[-1:] >= b"\x80" or after[:1] >= b"\x80") for before, _, after in contexts
    )
    for codec in CODE_PAGES:
        if codec in TWO_BYTES and codec != answer and lone * 5 > len(places):
            continue
        try:
            whole = content.decode(codec)
        except UnicodeDecodeError:
            continue
        looked_at = codec in TWO_BYTES
        scores[codec] = _score_of_signs(whole, codec) if looked_at else _score(contexts, codec)
    if answer and answer not in scores:
        raise InputError(
            "a code page that knows every character of the file",
            answer,
            "Choose another one.",
            KEY,
        )
    if not scores:
        raise unusable(file, "characters of no known encoding", "Save it as CSV in UTF-8.")
    best = answer or max(scores, key=lambda codec: scores[codec])
    text = content.decode(best)
    near = max(scores.values()) - max(0.75, 0.15 * len(contexts))
    others: dict[str, str] = {}
    for codec in sorted(scores, key=lambda codec: -scores[codec]):
        reading = sample.decode(codec, "replace")
        if (scores[codec] >= near or answer) and reading not in others.values():
            others[codec] = reading
    notes = _told(f"The file is not UTF-8; it was read as {CODE_PAGES[best]}.")
    if best not in others and not answer:
        others = {best: sample.decode(best, "replace"), **others}
    questions = _question(best, others, answer) if len(others) > 1 else ()
    return Decoded(text, notes, questions)


def _question(best: str, readings: dict[str, str], answer: str) -> tuple[Question, ...]:
    """Both readings, each shown by the first words in which they differ."""
    first, *rest = list(readings.values())
    at = min(
        next((i for i, (a, b) in enumerate(zip(first, other, strict=False)) if a != b), len(first))
        for other in rest
    )
    start = max((first.rfind(mark, 0, at) for mark in "\r\n;,\t|"), default=-1) + 1
    ends = [i for mark in "\r\n;,\t|" if (i := first.find(mark, at)) > 0]
    end = min(ends, default=at + 20)
    choices = tuple(
        Choice(codec, CODE_PAGES[codec], f"Then the file says “{reading[start:end].strip()[:40]}”.")
        for codec, reading in list(readings.items())[:4]
    )
    text = "Which of these is spelled rightly?"
    return (Question(KEY, text, choices, assumed=best, answered=answer),)


def _score_of_signs(text: str, codec: str) -> float:
    """How much a text looks like Chinese, Japanese or Korean: about one point a sign."""
    score = 0.0
    for sign in islice((sign for sign in text if sign > "\x7f"), _MOST_LOOKED_AT):
        if "\u3040" <= sign <= "\u30ff" or "\uac00" <= sign <= "\ud7a3":
            score += 1.5
        elif "\u4e00" <= sign <= "\u9fff":
            # Korean is hardly ever written with them today.
            score += 1.0 if codec != "cp949" else 0.0
        else:
            score += 0.5 if sign in "。、（）：；，　℃" else -1.0
    return score


def _score(contexts: list[tuple[bytes, bytes, bytes]], codec: str) -> float:
    """How much the characters look like words and units: about one point each."""
    triples = [
        (
            before.decode(codec, "replace"),
            middle.decode(codec, "replace"),
            after.decode(codec, "replace"),
        )
        for before, middle, after in contexts
    ]
    letters = [middle for _, middle, _ in triples if middle.isalpha() and middle not in "µªº"]
    fits = {
        name: sum(letter.lower() in alphabet or letter in alphabet for letter in letters)
        for name, alphabet in ALPHABETS.items()
    }
    known = ALPHABETS[max(fits, key=lambda name: fits[name])] if letters else ""
    return sum(
        _one(before, middle, after[:1], after[1:], known) for before, middle, after in triples
    )


def _one(before: str, middle: str, after: str, second: str, known: str) -> float:
    if middle in "µμ":
        unit = after in tuple("gGmMlLsS") and not second.isalpha()
        return 2.0 if unit else -1.0
    if middle == "°":
        return (
            2.0 if not before.isalpha() and (after in tuple("CFdK") or not after.isalnum()) else 0.0
        )
    if middle.isalpha() and middle not in "ªº":
        if middle.isupper() and before.islower():
            return -2.0
        if middle.isupper() and before.isupper() and after.islower():
            return -2.0
        if middle.islower() and (after.isupper() or before.isdigit() or after.isdigit()):
            return -2.0
        if (
            not middle.isascii()
            and ord(middle) > 0x2FF
            and any(c.isascii() and c.isalpha() for c in (before, after))
        ):
            return -2.0
        return 1.0 if middle.lower() in known or middle in known else -0.5
    if middle == "\u00a0":
        return 0.5 if before.isdigit() or not before.isalpha() else 0.0
    if middle in _EVERYDAY:
        inside = before.isalpha() and after.isalpha()
        return 1.0 if middle in "’‘" or not inside else -1.0
    if middle.isprintable():
        return -1.0
    return -5.0
