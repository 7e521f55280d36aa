"""Colours, the stylesheet and the drawing settings that every figure and page shares."""

from __future__ import annotations

import re
from typing import Any

from reef_calc.errors import InputError
from reef_calc.show.table_rules import TABLE_RULES

PALETTE: dict[str, tuple[str, str]] = {
    "paper": ("#FFFFFF", "#16191B"),
    "ink": ("#1F2428", "#E8EBED"),
    "muted": ("#55606A", "#AEB8C0"),
    "line": ("#77828B", "#8C979F"),
    "bandedge": ("#6F8278", "#86A093"),
    "kitA": ("#0A5C8C", "#6CB8E6"),
    "kitB": ("#A3470B", "#F0965A"),
    "kitC": ("#3D3D3D", "#C9C9C9"),
    "band": ("#E3EAE6", "#26332D"),
    "interval": ("#C4CCD3", "#4A545C"),
    "grid": ("#D9DEE2", "#3A4147"),
}
"""Role to its colour on light and on dark paper. Hue is kept for kits and the dose."""

RC_PARAMS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "reef_calc",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "Arial", "Helvetica"],
    "font.size": 9.75,
    "axes.titlesize": 9.75,
    "axes.labelsize": 9.75,
    "xtick.labelsize": 9,
    "ytick.labelsize": 9,
    "axes.titlelocation": "left",
    "axes.titleweight": "bold",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": PALETTE["line"][0],
    "xtick.color": PALETTE["line"][0],
    "ytick.color": PALETTE["line"][0],
    "text.color": PALETTE["ink"][0],
    "axes.titlecolor": PALETTE["ink"][0],
    "axes.labelcolor": PALETTE["ink"][0],
    "xtick.labelcolor": PALETTE["muted"][0],
    "ytick.labelcolor": PALETTE["muted"][0],
    "axes.linewidth": 0.8,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "axes.axisbelow": True,
    "axes.formatter.useoffset": False,
    "grid.color": PALETTE["grid"][0],
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.5,
    "axes.facecolor": "none",
    "figure.facecolor": "none",
    "figure.edgecolor": "none",
    "hatch.linewidth": 0.7,
    "figure.dpi": 72,
    "savefig.dpi": 72,
    "savefig.facecolor": "none",
    "savefig.edgecolor": "none",
}
"""Drawing settings, for use inside ``matplotlib.rc_context`` only."""


def paint(role: str) -> str:
    """Return the CSS value of a colour of the palette, with its light value as the fallback.

    Parameters
    ----------
    role : str
        A key of ``PALETTE``.

    Returns
    -------
    str
        Such as ``var(--rc-ink,#1F2428)``.

    Raises
    ------
    InputError
        If the palette has no such role.

    Examples
    --------
    >>> paint("ink")
    'var(--rc-ink,#1F2428)'
    """
    if role not in PALETTE:
        raise InputError("a colour of the palette", role, "Use one of: " + ", ".join(PALETTE))
    return f"var(--rc-{role},{PALETTE[role][0]})"


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, (L1 + 0.05) / (L2 + 0.05).

    Parameters
    ----------
    first, second : str
        Colours as ``#RRGGBB``.

    Returns
    -------
    float
        Ratio from 1 (equal) to 21 (black on white).

    Raises
    ------
    InputError
        If a text is not a colour of that form.

    Notes
    -----
    Valid for opaque sRGB colours. Source: W3C, Web Content Accessibility Guidelines 2.1 (2018),
    definitions of "relative luminance" and "contrast ratio".

    Examples
    --------
    >>> contrast("#000000", "#FFFFFF")
    21.0
    """

    def luminance(colour: str) -> float:
        if not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
            raise InputError("a colour such as #1F2428", colour, "Write six hexadecimal digits.")
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, light = sorted((luminance(first), luminance(second)))
    return (light + 0.05) / (dark + 0.05)


def variables(mode: int) -> str:
    """Return the palette as CSS declarations.

    Parameters
    ----------
    mode : int
        0 for light paper, 1 for dark paper.

    Returns
    -------
    str
        Such as ``--rc-paper:#FFFFFF;--rc-ink:#1F2428;…``.

    Raises
    ------
    InputError
        If the mode is neither 0 nor 1.

    Examples
    --------
    >>> variables(0)[:19]
    '--rc-paper:#FFFFFF;'
    """
    if mode not in (0, 1):
        raise InputError("0 (light) or 1 (dark)", mode, "Give 0 or 1.")
    return "".join(f"--rc-{role}:{pair[mode]};" for role, pair in PALETTE.items())


_RULES = """
.rc{color:var(--rc-ink);background:var(--rc-paper);padding:12px 14px;box-sizing:border-box;
 font:14px/1.45 system-ui,"DejaVu Sans",Arial,sans-serif;container-type:inline-size;
 text-align:left;white-space:normal;overflow-wrap:break-word}
.rc *{box-sizing:border-box}
.rc h2{font-size:18px;font-weight:650;line-height:1.3;margin:0 0 2px;color:var(--rc-ink);
 text-wrap:balance}
.rc h3{font-size:14px;font-weight:650;line-height:1.4;margin:14px 0 4px;color:var(--rc-ink)}
.rc p{margin:0 0 8px;max-width:76ch}
.rc p.rc-small{max-width:104ch}
.rc .rc-sub{color:var(--rc-muted)}
.rc .rc-small{font-size:13px;color:var(--rc-muted)}
.rc .rc-sign{display:inline-block;width:1.3em;font-weight:400}
.rc ul,.rc ol{margin:0 0 8px;padding-left:1.4em;max-width:76ch}
.rc li{margin:2px 0}
.rc svg{display:block;max-width:100%;height:auto;overflow:visible}
.rc svg text{font-family:inherit!important}
.rc .rc-key{display:flex;flex-wrap:wrap;gap:2px 18px;list-style:none;margin:6px 0 4px;padding:0;
 font-size:13px;max-width:none}
.rc .rc-key li{display:flex;align-items:center;gap:6px;margin:0}
.rc .rc-key svg{flex:none}
.rc .rc-caution{border-left:3px solid var(--rc-ink);padding:2px 0 2px 12px;margin:8px 0 10px}
.rc .rc-caution ul{margin:0;padding-left:1.1em}
.rc .rc-caution li{margin:0}
.rc .rc-hover circle,.rc .rc-hover rect{fill:transparent;stroke:none;outline:none}
.rc .rc-hover text{visibility:hidden;fill:var(--rc-ink);font-size:9.75px;font-weight:700;
 text-anchor:end;pointer-events:none}
.rc .rc-hover g{outline:none}
.rc .rc-hover g:hover text,.rc .rc-hover g:focus text{visibility:visible}
.rc .rc-hover g:hover circle,.rc .rc-hover g:focus circle{stroke:var(--rc-ink);stroke-width:1.5}
.rc .rc-hover g:focus-visible circle{stroke:var(--rc-kitA);stroke-width:2.25}
.rc .rc-hover g:hover rect,.rc .rc-hover g:focus rect{fill:var(--rc-ink);fill-opacity:.07}
.rc .rc-hover g:focus-visible rect{stroke:var(--rc-kitA);stroke-width:2.25}
.rc :focus-visible{outline:3px solid var(--rc-kitA);outline-offset:2px}
.rc a,.rc summary{color:var(--rc-kitA)}
.rc summary{cursor:pointer;text-decoration:underline;text-underline-offset:2px;padding:3px 0;
 width:fit-content}
.rc details{margin:2px 0}
.rc details[open]{padding-bottom:10px}
.rc .rc-scroll{overflow-x:auto}
.rc .rc-long{max-height:26em;overflow-y:auto}
.rc table{border-collapse:collapse;font-variant-numeric:tabular-nums;color:inherit;margin:0;
 font-size:inherit;background:none;border:0;table-layout:auto}
.rc th,.rc td{text-align:left;vertical-align:top;background:none;font-weight:400;max-width:none;
 white-space:normal}
.rc .rc-data{font-size:13px;margin:4px 0 8px}
.rc .rc-data caption{text-align:left;color:var(--rc-muted);padding:0 0 4px}
.rc .rc-data th,.rc .rc-data td{padding:4px 18px 4px 0;border-bottom:1px solid var(--rc-grid)}
.rc .rc-data thead th{color:var(--rc-muted);border-bottom-color:var(--rc-line);
 vertical-align:bottom}
.rc .rc-data td,.rc .rc-data th{white-space:nowrap}
.rc .rc-data td.rc-text{white-space:normal;min-width:12em;max-width:44em}
.rc .rc-data .rc-num{text-align:right}
.rc .rc-calendar{font-size:13px;margin:6px 0 10px}
.rc .rc-calendar caption{text-align:left;color:var(--rc-muted);padding:0 0 6px;max-width:100ch}
.rc .rc-calendar th,.rc .rc-calendar td{padding:6px 10px 6px 0;max-width:11em;
 border-bottom:1px solid var(--rc-grid)}
.rc .rc-calendar thead th{color:var(--rc-muted);vertical-align:bottom;
 border-bottom-color:var(--rc-line)}
.rc .rc-calendar tbody th{font-weight:650}
.rc .rc-calendar svg{max-width:none;margin:3px 0 2px}
.rc .rc-calendar span{display:block;white-space:nowrap}
.rc .rc-outlook td span{white-space:normal}
.rc .rc-calendar .rc-buys{min-width:8em}
.rc .rc-calendar th span{font-weight:400;color:var(--rc-muted)}
.rc .rc-wide{display:block}
.rc .rc-narrow{display:none}
.rc-overview table{width:100%;max-width:1060px}
.rc-overview caption{text-align:left;font-size:13px;color:var(--rc-muted);padding:0 0 10px}
.rc-overview thead th{font-size:13px;color:var(--rc-muted);vertical-align:bottom;
 padding:0 22px 7px 0;border-bottom:1px solid var(--rc-line)}
.rc-overview .rc-group th{font-size:15px;font-weight:650;padding:18px 0 7px;
 border-bottom:1px solid var(--rc-line)}
.rc-overview .rc-group .rc-small{font-weight:400}
.rc-overview .rc-group p{font-size:13px;font-weight:400;color:var(--rc-ink);margin:4px 0 0;
 max-width:100ch}
.rc-overview .rc-row th,.rc-overview .rc-row td{padding:9px 22px 9px 0;
 border-bottom:1px solid var(--rc-grid)}
.rc-overview .rc-row td:last-child{padding-right:0;width:42%}
.rc-overview .rc-el{font-weight:650}
.rc-overview .rc-el .rc-small{display:block;font-weight:400}
.rc-overview .rc-lv,.rc-overview .rc-us{font-size:13px;color:var(--rc-muted)}
.rc-overview .rc-lv b{font-size:16px;font-weight:650;color:var(--rc-ink);line-height:1.25}
.rc-overview .rc-lv small{font-size:13px;white-space:nowrap}
.rc-overview .rc-lv span,.rc-overview .rc-us span{display:block}
.rc-overview .rc-us svg{margin:1px 0 2px}
.rc-overview .rc-say{padding-left:0}
.rc-overview .rc-say b{font-weight:650}
.rc-overview .rc-verb{display:block;padding-left:1.3em;text-indent:-1.3em}
.rc-overview .rc-say .rc-sign{text-indent:0}
.rc-overview .rc-why{display:block;color:var(--rc-muted);max-width:52ch;padding-left:1.3em}
.rc-overview .rc-quiet .rc-el,.rc-overview .rc-quiet .rc-say b{font-weight:400}
.rc-overview .rc-sp,.rc-overview .rc-us{min-width:176px}
.rc-overview svg{max-width:none;flex:none}
.rc-overview .rc-aim{white-space:nowrap}
.rc-overview .rc-before{display:block;max-width:52ch;padding-left:1.3em}
.rc-overview .rc-scale{display:flex;justify-content:space-between;width:150px;font-size:13px}
.rc.rc-message{padding-top:0;padding-bottom:0}.rc.rc-message p{margin:4px 0;font-weight:650}
.rc .rc-links{list-style:none;padding:0;display:flex;flex-wrap:wrap;gap:10px}
.rc a.rc-download{display:inline-block;padding:8px 14px;border:1px solid var(--rc-line);
 border-radius:4px;color:var(--rc-kitA);text-decoration:none}
.rc a.rc-download:hover{text-decoration:underline}
.rc .rc-hidden{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);
 white-space:nowrap}
@container (max-width:900px){.rc .rc-wide{display:none}.rc .rc-narrow{display:block}}
@container (max-width:900px){
.rc-overview table,.rc-overview tbody,.rc-overview caption,.rc-overview .rc-group,
.rc-overview .rc-group th{display:block;width:auto}
.rc-overview thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.rc-overview .rc-row{display:grid;grid-template-columns:6.8em 150px 1fr;gap:2px 16px;
 grid-template-areas:"el sp lv" "el us us" "say say say";padding:10px 0;
 border-bottom:1px solid var(--rc-grid)}
.rc-overview .rc-row th,.rc-overview .rc-row td,.rc-overview .rc-row td:last-child{padding:0;
 border:0;width:auto;min-width:0}
.rc-overview .rc-el{grid-area:el}.rc-overview .rc-sp{grid-area:sp}
.rc-overview .rc-lv{grid-area:lv}.rc-overview .rc-say{grid-area:say;padding-top:4px!important}
.rc-overview .rc-us{grid-area:us;display:flex;align-items:center;gap:16px}
.rc-overview .rc-why,.rc-overview .rc-before{max-width:none}
}
@container (max-width:430px){
.rc-overview .rc-row{grid-template-columns:1fr;grid-template-areas:"el" "lv" "sp" "us" "say"}
}
"""

_PRINT = """
.rc{padding:0;font-size:12px}
.rc .rc-element,.rc .rc-row,.rc .rc-block{break-inside:avoid}
.rc .rc-group{break-after:avoid}
.rc h2,.rc h3{break-after:avoid}
.rc details:not([open]){display:none}
.rc details[open] summary{text-decoration:none;color:inherit;list-style:none}
.rc .rc-scroll{overflow:visible;max-height:none}
.rc .rc-small,.rc .rc-key,.rc .rc-data{font-size:11px}
.rc .rc-data td{white-space:normal}
.rc .rc-hover{display:none}
.rc *{print-color-adjust:exact;-webkit-print-color-adjust:exact}
"""

# A page of its own follows the reader's system, a notebook the theme it declares on <body>. The
# print rule repeats every dark selector, or a dark session would print pale text and black boxes.
_DARK_NOTEBOOK = 'body[data-jp-theme-light="false"] .rc'
_DARK_PAGE = "body:not([data-jp-theme-light]) .rc"
STYLESHEET: str = (
    f".rc{{{variables(0)}}}\n"
    f"{_DARK_NOTEBOOK}{{{variables(1)}}}\n"
    f"@media (prefers-color-scheme:dark){{{_DARK_PAGE}{{{variables(1)}}}}}\n"
    + _RULES
    + TABLE_RULES
    + f"@media print{{\n{_DARK_NOTEBOOK},{_DARK_PAGE},body .rc{{{variables(0)}}}{_PRINT}}}\n"
)
"""Every rule begins with ``.rc`` so that nothing outside the panels is restyled."""


def stylesheet_html() -> str:
    """Return the stylesheet as one ``<style>`` element, to be shown once beside the panels.

    Returns
    -------
    str
        HTML text.

    Examples
    --------
    >>> stylesheet_html().startswith("<style>")
    True
    """
    return f"<style>{STYLESHEET}</style>"
