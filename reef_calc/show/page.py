"""One page of its own: everything inside, nothing fetched, ready for paper."""

from __future__ import annotations

from reef_calc.show.style import PALETTE, STYLESHEET
from reef_calc.show.wording import escape

_PAPER, _INK, _MUTED = (PALETTE[role] for role in ("paper", "ink", "muted"))
_PAGE_RULES = f"""
:root{{color-scheme:light dark}}
body{{margin:0;background:{_PAPER[0]};color:{_INK[0]};
 font:14px/1.45 system-ui,"DejaVu Sans",Arial,sans-serif}}
main{{max-width:1108px;margin:0 auto;padding:20px 12px 40px}}
h1{{font-size:22px;font-weight:650;line-height:1.25;margin:0 14px 10px;text-wrap:balance;
 overflow-wrap:anywhere}}
main>.rc{{margin:0 0 26px}}
main>.rc+.rc{{border-top:1px solid var(--rc-grid);padding-top:24px}}
footer{{margin:0 14px;color:{_MUTED[0]};font-size:13px}}
@media (prefers-color-scheme:dark){{body{{background:{_PAPER[1]};color:{_INK[1]}}}
footer{{color:{_MUTED[1]}}}}}
@page{{size:A4;margin:12mm}}
@media print{{:root{{color-scheme:light}}
body{{background:{_PAPER[0]};color:{_INK[0]}}}footer{{color:{_MUTED[0]}}}
main{{padding:0;max-width:none}}h1{{margin:0 0 8px}}footer{{margin:0}}
main>.rc+.rc{{padding-top:14px}}main>.rc{{margin-bottom:14px}}}}
"""


def page_html(title: str, parts: list[str]) -> str:
    """Return one self-contained page.

    Parameters
    ----------
    title : str
        Title of the page; plain text.
    parts : list of str
        Parts as HTML, from the functions of this package, in reading order.

    Returns
    -------
    str
        A whole HTML document in British English, without any outside address.

    Examples
    --------
    >>> page_html("Review", ["<p>8.0 dKH</p>"]).count("<h1>Review</h1>")
    1
    """
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLESHEET}{_PAGE_RULES}</style>\n</head>\n<body>\n"
        f"<main>\n<h1>{escape(title)}</h1>\n" + "\n".join(parts) + "\n</main>\n"
        "<footer><p>Folded parts are printed when they are open.</p></footer>\n</body>\n</html>\n"
    )
