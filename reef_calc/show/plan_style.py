"""What the pages of a plan add to the stylesheet."""

from __future__ import annotations

from reef_calc.show.style import variables

STYLE = """
.rc .rc{padding:0}
.rc .rc-plan-lead{font-size:22px;line-height:1.25;max-width:60ch}
.rc .rc-plan-then{font-size:16px;max-width:84ch;margin:2px 0 10px}
.rc .rc-plan-set{width:100%;max-width:1060px;margin:6px 0 10px}
.rc .rc-plan-set caption{text-align:left;font-size:13px;color:var(--rc-muted);padding:0 0 6px}
.rc .rc-plan-set th,.rc .rc-plan-set td{padding:8px 18px 8px 0;
 border-bottom:1px solid var(--rc-grid)}
.rc .rc-plan-set thead th{font-size:13px;color:var(--rc-muted);vertical-align:bottom;
 border-bottom-color:var(--rc-line)}
.rc .rc-plan-set thead small{display:block;font-size:13px;white-space:nowrap}
.rc .rc-plan-set tbody th{font-weight:650}
.rc .rc-plan-set td b{font-size:16px;font-weight:650;white-space:nowrap}
.rc .rc-plan-set td span,.rc .rc-plan-set th span{display:block;font-size:13px;font-weight:400;
 color:var(--rc-muted)}
.rc .rc-plan-set .rc-unchanged td b{font-weight:400}
.rc .rc-plan-wrap .rc-data{max-width:1060px}
.rc .rc-plan-wrap .rc-data td,.rc .rc-plan-wrap .rc-data th{white-space:normal;min-width:4.5em}
.rc .rc-plan-lanes .rc-hover text{font-size:12px;paint-order:stroke;stroke:var(--rc-paper);
 stroke-width:4px}
.rc .rc-plan-lanes .rc-hover g:hover circle,.rc .rc-plan-lanes .rc-hover g:focus circle{
 stroke-width:2}
@container (max-width:700px){
.rc .rc-plan-set th,.rc .rc-plan-set td{padding-right:12px}
.rc .rc-plan-wrap .rc-data td,.rc .rc-plan-wrap .rc-data th{padding-right:12px}
}
@container (max-width:560px){
.rc .rc-plan-set,.rc .rc-plan-set caption,.rc .rc-plan-set tbody{display:block}
.rc .rc-plan-set thead{position:absolute;width:1px;height:1px;overflow:hidden;
 clip-path:inset(50%)}
.rc .rc-plan-set tr{display:block;padding:8px 0;border-bottom:1px solid var(--rc-grid)}
.rc .rc-plan-set th,.rc .rc-plan-set td{display:block;padding:1px 0;border:0}
.rc .rc-plan-set td[data-head]::before{content:attr(data-head) ": ";font-size:13px;
 color:var(--rc-muted)}
}
@media print{.rc .rc-plan-lead{font-size:16px}.rc .rc-plan-then{font-size:13px}
.rc .rc-plan-set td b{font-size:13px}}
"""
"""Rules for the pages of a plan; every one begins with ``.rc``."""

# A sheet to hang up is paper: it is black on white whatever theme it was made in. Every size follows
# the one font size of the page, so that a full page is set smaller as a whole.
SHEET_STYLE = f"""
:root{{color-scheme:light}}
@page{{size:A4;margin:10mm}}
body{{margin:0;background:#FFFFFF}}
body .rc.rc-sheet{{{variables(0)}padding:0;width:190mm;margin:0 auto;
 font:14px/1.3 system-ui,"DejaVu Sans",Arial,sans-serif;container-type:normal}}
.rc-sheet h1{{font-size:1.8em;line-height:1.1;font-weight:700;margin:0 0 .15em;
 overflow-wrap:anywhere}}
.rc.rc-sheet h2{{font-size:1.1em;font-weight:700;margin:.7em 0 .25em}}
.rc.rc-sheet p{{max-width:none;margin:0 0 .3em}}
.rc-sheet table{{width:100%}}
.rc-sheet .rc-sheet-set th,.rc-sheet .rc-sheet-set td{{border:1px solid var(--rc-ink);
 padding:.3em .55em;overflow-wrap:anywhere}}
.rc-sheet .rc-sheet-set thead th{{font-weight:700;font-size:.95em}}
.rc-sheet .rc-sheet-set tbody th{{font-weight:700;font-size:1.15em;width:24%}}
.rc-sheet .rc-sheet-set td b{{font-size:1.45em;font-weight:700;white-space:nowrap}}
.rc-sheet .rc-sheet-set td span{{display:block;font-size:.86em;line-height:1.2}}
.rc-sheet .rc-sheet-days{{table-layout:fixed}}
.rc-sheet .rc-sheet-days th,.rc-sheet .rc-sheet-days td{{border:1px solid var(--rc-line);
 padding:.15em .3em;height:2.9em;font-size:.86em;line-height:1.15;overflow:hidden}}
.rc-sheet .rc-sheet-days thead th{{height:auto;font-weight:700}}
.rc-sheet .rc-sheet-days i{{float:right;display:inline-block;width:1.25em;height:1.25em;
 border:1px solid var(--rc-ink)}}
.rc-sheet .rc-sheet-days b{{display:block;font-size:.9em;font-weight:700;overflow-wrap:anywhere}}
.rc-sheet .rc-sheet-days td.rc-sheet-off{{border-color:transparent}}
.rc-sheet .rc-sheet-stop{{border:2px solid var(--rc-ink);padding:.3em .7em;margin:.6em 0}}
.rc-sheet .rc-sheet-stop strong{{font-size:1.15em}}
.rc.rc-sheet ul{{margin:0;max-width:none;padding-left:1.1em;columns:2;column-gap:1.8em;
 font-size:.82em;line-height:1.2}}
.rc.rc-sheet li{{margin:0 0 .15em;break-inside:avoid}}
.rc-sheet .rc-sheet-lines{{display:grid;grid-template-columns:1fr 1fr;gap:.95em 1.6em;
 margin:.8em 0 0;font-size:.92em}}
.rc-sheet .rc-sheet-lines span{{border-bottom:1px solid var(--rc-ink);padding-bottom:.1em}}
.rc.rc-sheet p.rc-sheet-foot{{font-size:.78em;margin:.7em 0 0}}
@media print{{body .rc.rc-sheet{{padding:0;width:auto}}}}
"""
"""Rules for the one printed page; they follow ``style.STYLESHEET``."""
