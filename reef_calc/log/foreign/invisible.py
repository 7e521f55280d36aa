"""Characters that nobody sees: blanks of all kinds at the ends of cells, marks without width."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from reef_calc.messages import Message

# Marks without width, of direction, and the break hints; joiners inside emoji are not among them.
_NO_WIDTH = "\u00ad\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\ufeff"
_CONTROL = "\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f"
_UNSEEN = re.compile(f"[{_NO_WIDTH}{_CONTROL}]")
_OUTER = (
    " \t\r\n\x0b\x0c\u0085\u00a0\u1680\u180e\u2028\u2029\u202f\u205f\u3000\u200c\u200d"
    + "".join(chr(code) for code in range(0x2000, 0x200B))
)
_PLAIN_BLANKS = " \t\r\n"
_MOST_KEPT = 200_000


@dataclass
class CellTexts:
    """Cleans texts of cells, and keeps one copy of texts that come again.

    Attributes
    ----------
    changed : int
        Number of cells from which something invisible was taken.
    first : str
        The first of them, cleaned.
    """

    changed: int = 0
    first: str = ""
    _kept: dict[str, tuple[str, bool]] = field(default_factory=dict)

    def clean(self, text: str) -> str:
        r"""Return the text of a cell without blanks at its ends and without invisible marks.

        Parameters
        ----------
        text : str
            As it stands in the file.

        Returns
        -------
        str
            What a person sees; line breaks inside are kept as ``\n``.

        Examples
        --------
        >>> CellTexts().clean("\u200b 8.3\u00a0")
        '8.3'
        """
        found = self._kept.get(text)
        if found is None:
            found = _cleaned(text)
            if len(text) < 60 and len(self._kept) < _MOST_KEPT:
                self._kept[text] = found
        if found[1]:
            self.changed += 1
            self.first = self.first or found[0]
        return found[0]

    def notes(self) -> tuple[Message, ...]:
        """Return what is said of the cells that were cleaned, nothing where there were none.

        Returns
        -------
        tuple of Message
            With the code ``INVISIBLE``.

        Examples
        --------
        >>> CellTexts().notes()
        ()
        """
        if not self.changed:
            return ()
        cells = "1 cell" if self.changed == 1 else f"{self.changed} cells"
        where = f", the first one “{self.first[:40]}”" if self.first else ""
        return (Message("INVISIBLE", f"Invisible characters were taken from {cells}{where}."),)


def _cleaned(text: str) -> tuple[str, bool]:
    if text.isascii() and text.isprintable():
        return text.strip(), False
    seen = _UNSEEN.sub("", text)
    if "\r" in seen:
        seen = seen.replace("\r\n", "\n").replace("\r", "\n")
    outer = seen.strip(_OUTER)
    # A soft or direction mark may hide blanks behind it, so that ends are looked at once more.
    return outer, len(seen) < len(text.replace("\r\n", "\n")) or outer != seen.strip(_PLAIN_BLANKS)
