"""Style rules of the wide tables: what would follow, and many tanks on one page."""

TABLE_RULES = """
.rc-follows table,.rc-tanks table{width:100%;max-width:1060px;margin-top:6px}
.rc-follows caption,.rc-tanks caption{text-align:left;font-size:13px;color:var(--rc-muted);
 padding:0 0 10px;max-width:104ch}
.rc-follows thead th,.rc-tanks thead th{font-size:13px;color:var(--rc-muted);
 vertical-align:bottom;padding:0 22px 7px 0;border-bottom:1px solid var(--rc-line)}
.rc-follows .rc-row th,.rc-follows .rc-row td,.rc-tanks .rc-row th,.rc-tanks .rc-row td{
 padding:9px 22px 9px 0;border-bottom:1px solid var(--rc-grid);font-size:13px;
 color:var(--rc-muted)}
.rc-follows .rc-row th,.rc-tanks .rc-row th{font-size:14px;font-weight:650;color:var(--rc-ink)}
.rc-follows .rc-row b,.rc-tanks .rc-row b{font-size:14px;font-weight:650;color:var(--rc-ink)}
.rc-follows .rc-row span,.rc-follows .rc-row b,.rc-tanks .rc-row span,.rc-tanks .rc-row b{
 display:block;max-width:52ch}
.rc-follows th .rc-small,.rc-tanks th .rc-small{font-weight:400}
.rc-tanks .rc-row td:last-child{width:34%}
.rc-tanks .rc-group th{font-size:15px;font-weight:650;padding:18px 0 7px;
 border-bottom:1px solid var(--rc-line)}
.rc-tanks .rc-group .rc-small{font-weight:400}
.rc-tanks .rc-row .rc-sign{display:inline-block}
.rc-tanks .rc-row th .rc-small{display:block}
.rc-tanks svg{max-width:none;flex:none}
.rc .rc-row .rc-label{display:none}
@container (max-width:760px){
.rc-follows table,.rc-follows tbody,.rc-follows caption,.rc-follows .rc-row,
.rc-follows .rc-row th,.rc-follows .rc-row td,.rc-tanks table,.rc-tanks tbody,
.rc-tanks caption,.rc-tanks .rc-group,.rc-tanks .rc-group th,.rc-tanks .rc-row,.rc-tanks .rc-row th,
.rc-tanks .rc-row td,.rc-tanks .rc-row td:last-child{display:block;width:auto}
.rc-follows thead,.rc-tanks thead{position:absolute;width:1px;height:1px;overflow:hidden;
 clip-path:inset(50%)}
.rc-follows .rc-row,.rc-tanks .rc-row{padding:10px 0;border-bottom:1px solid var(--rc-grid)}
.rc-follows .rc-row th,.rc-follows .rc-row td,.rc-tanks .rc-row th,.rc-tanks .rc-row td{
 padding:0 0 5px;border:0}
.rc-follows .rc-row .rc-label,.rc-tanks .rc-row .rc-label{display:block}
.rc-follows .rc-row span,.rc-follows .rc-row b,.rc-tanks .rc-row span,.rc-tanks .rc-row b{
 max-width:none}
.rc-follows .rc-row,.rc-tanks .rc-row{display:grid;gap:2px 18px;grid-template-columns:1fr 1fr}
.rc-tanks .rc-row{grid-template-columns:1fr 150px 1fr 6em}
.rc-follows .rc-row th,.rc-follows .rc-row td:nth-child(3),.rc-tanks .rc-row th,
.rc-tanks .rc-row td:last-child{grid-column:1/-1}
.rc-follows .rc-row td:nth-child(3){order:1}
}
@container (max-width:520px){
.rc-follows .rc-row,.rc-tanks .rc-row{grid-template-columns:1fr}
}
"""
"""Part of ``style.STYLESHEET``; at 760 px each row becomes a card with its column names inside."""
