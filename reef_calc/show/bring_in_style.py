"""What the page that brings in a log adds to the stylesheet: a tint and a sign for each fate."""

from __future__ import annotations

# Sign and word of each fate; the tints differ in lightness too, so that grey print keeps them apart.
SIGNS: dict[str, str] = {"read": "✓", "flagged": "!", "asked": "?", "refused": "×", "not data": "–"}
WORDS: dict[str, str] = {
    "read": "read as it stands",
    "flagged": "read, but doubtful",
    "asked": "waiting for an answer",
    "refused": "not taken",
    "not data": "without data: heading, note, empty",
}

STYLE = """
.rc .rc{padding:0}
.rc .rc-in-lead{font-size:20px;line-height:1.3;max-width:70ch;margin:0 0 6px}
.rc.rc-in-question{padding:6px 14px 0}
.rc.rc-in-question h3{margin:0}
.rc.rc-in-question p{margin:0}
.rc .rc-in-then{font-size:15px;max-width:84ch}
.rc{--rc-flagged:#F4DFB8;--rc-asked:#CFE3F2;--rc-refused:#D9C3CC;--rc-notdata:#EEF0F1}
body[data-jp-theme-light="false"] .rc{--rc-flagged:#57431A;--rc-asked:#1D4660;
 --rc-refused:#552C3D;--rc-notdata:#23282B}
.rc .rc-fate{display:inline-flex;align-items:baseline;gap:5px;padding:2px 8px;border-radius:3px;
 border:1px solid var(--rc-line)}
.rc .rc-fates{display:flex;flex-wrap:wrap;gap:6px 8px;list-style:none;margin:6px 0 8px;padding:0;
 max-width:none;font-size:13px}
.rc .rc-fates b{font-variant-numeric:tabular-nums}
.rc .rc-said+h2,.rc .rc-said+p+h2{margin-top:18px}
.rc .rc-said{list-style:none;padding:0;max-width:none}
.rc .rc-said li{display:flex;gap:12px;align-items:flex-start;padding:7px 0;
 border-bottom:1px solid var(--rc-grid);font-size:13px}
.rc .rc-said .rc-fate{flex:none;min-width:7.2em}
.rc .rc-said div{min-width:0;max-width:92ch;overflow-wrap:anywhere}
.rc .rc-is-flagged{background:var(--rc-flagged)!important}
.rc .rc-is-asked{background:var(--rc-asked)!important}
.rc .rc-is-refused{background:var(--rc-refused)!important}
.rc .rc-is-notdata{background:var(--rc-notdata)!important;color:var(--rc-muted)}
.rc .rc-sheet{border-collapse:collapse;font-size:13px;margin:4px 0 8px}
.rc .rc-sheet caption{text-align:left;color:var(--rc-muted);padding:0 0 6px}
.rc .rc-sheet th,.rc .rc-sheet td{border:1px solid var(--rc-grid);padding:3px 8px;
 white-space:pre-wrap;max-width:18em;overflow-wrap:break-word}
.rc .rc-sheet thead th{vertical-align:bottom;color:var(--rc-ink)}
.rc .rc-sheet thead th b{display:block;font-weight:650}
.rc .rc-sheet thead th span{display:block;color:var(--rc-muted);font-weight:400}
.rc .rc-sheet th.rc-at{color:var(--rc-muted);text-align:right;white-space:nowrap;
 font-variant-numeric:tabular-nums}
.rc .rc-sheet i{font-style:normal;font-weight:700;padding-right:4px}
.rc .rc-sheet em{font-style:normal;color:var(--rc-ink);padding-left:6px}
.rc .rc-sheet s{text-decoration-thickness:1.5px}
@container (max-width:700px){.rc .rc-sheet th,.rc .rc-sheet td{padding:3px 5px}}
"""
"""Rules of the page; every one begins with ``.rc`` or is the dark theme's."""
