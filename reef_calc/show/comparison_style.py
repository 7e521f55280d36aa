"""What the pages of a comparison add to the stylesheet."""

from __future__ import annotations

STYLE = """
.rc .rc{padding:0}
.rc .rc-kits-lead{font-size:22px;line-height:1.25;max-width:62ch;margin:0 0 6px;
 overflow-wrap:anywhere}
.rc .rc-kits-then{font-size:16px;max-width:84ch;margin:0 0 10px}
.rc .rc-kits-help{border-top:1px solid var(--rc-grid);padding-top:10px;margin-top:14px;
 font-size:16px}
.rc .rc-kits-pictures{display:flex;flex-wrap:wrap;gap:6px 28px;margin:8px 0}
.rc .rc-kits-pictures figure{margin:0;max-width:520px;flex:0 1 520px;break-inside:avoid}
.rc .rc-kits-pictures figcaption{font-size:13px;color:var(--rc-muted);margin:2px 0 8px}
.rc .rc-kits-pictures h3{margin-bottom:0}
.rc .rc-hover text{font-size:12px;paint-order:stroke;stroke:var(--rc-paper);stroke-width:4px}
.rc .rc-kits-wrap .rc-data{max-width:1060px}
.rc .rc-kits-wrap .rc-data td,.rc .rc-kits-wrap .rc-data th{white-space:normal;min-width:4.5em}
.rc .rc-order td,.rc .rc-order th{padding:5px 12px 5px 0}
.rc .rc-order td.rc-blank{border-bottom:1px solid var(--rc-ink);min-width:9em}
.rc .rc-order tr.rc-block td,.rc .rc-order tr.rc-block th{border-top:2px solid var(--rc-line);
 font-weight:650;padding-top:8px}
@container (max-width:700px){
.rc .rc-kits-wrap .rc-data td,.rc .rc-kits-wrap .rc-data th{padding-right:12px}
}
@media print{.rc .rc-kits-lead{font-size:16px}.rc .rc-kits-then,.rc .rc-kits-help{font-size:13px}
.rc .rc-kits-pictures{gap:4px 12px}.rc .rc-kits-pictures figure{flex-basis:47%;max-width:47%}
.rc .rc-order thead{display:table-header-group}.rc .rc-order tr{break-inside:avoid}}
"""
"""Rules for the pages of a comparison; every one begins with ``.rc``."""
