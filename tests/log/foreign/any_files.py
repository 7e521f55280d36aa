"""Builds foreign tables out of messy ingredients, for tests."""

from __future__ import annotations

import datetime as dt

from hypothesis import strategies as st

HEADINGS = [
    "KH", "Ca", "Mg mg/L", "NO3", "PO4 (ppm)", "Alkalinität", "Karbonathärte °dH", "Calcium",
    "alcalinité", "calcio", "Salinität", "SG", "Temp °F", "Temperatur", "pH", "Notiz", "remarks",
    "", "KH", "???", "Uhrzeit", "time", "kit", "Einheit", "element", "value", "Wert", "Lot", "water",
    "Si µg/L", "NH4-N", "conductivity mS/cm", "dose mL", "Wasserwechsel L", "volume", "end", "u",
    "replicate", "=1+1", "unit", "Tank", "start", "supplement", "amount", "litres", "limit", "raw",
]  # fmt: skip
DATES = [
    "01.02.2026", "2026-02-13", "2/13/2026", "13/02/26", "3.4.2026", "Feb 5 2026", "5. Februar 2026",
    "46054", "46054.75", "2026-03-29T02:30", "2026-10-25 02:30", "20260213", "13.02.", "yesterday",
    "31.02.2026", "2026-02-13T19:30+01:00", "1770940800", "12:30", "Fr 13.2.26", "lundi 2 mars 2026",
    "2206-02-13", "0026-02-01", "99999", "1.2.2026 25:00", "2026-02-13 7:30 pm", "29/02/2024",
]  # fmt: skip
NUMBERS = [
    "8,3", "8.3", "420", "1.300", "1,300", "1.300,5", "1,300.5", "<0,02", "> 50", "~8", "8-9", "n/a",
    "-", "n.d.", "0", "-1", "8,3 dKH", "2.9 meq/L", "0.03 ppm", "1.0264", "84", "1e3", "1E-400",
    "8.3?", "(8.3)", "8,3 / 8,4", "NaN", "inf", "9" * 400, "½", "٨٫٣", "8 300", "8'300", "#REF!",
    "=A1*2", "'8.3", "35 ppt", "78 F", "25,5 °C", "8.3 ± 0.2", "-999", "trace", "\u200b8.3", "−8", "5%",
    "2 tsp", "10 drops", "12 mL", "3 mL/day", "1e308", "1e309",
]  # fmt: skip
TEXTS = [
    "fed",
    "",
    "note; with",
    'a "quote"',
    "two\nlines",
    "=cmd()",
    "tank",
    "new water",
    "sum",
    "ø",
]
FEET = ["Summe;12;;", "average;8,1", "printed on 1.2.2026", ";;;", "-----", "© me", "mean 8.2"]
ABOVE = ["My reef log", "exported 2026-02-01;;", "", "Tank: display;;;", "sep=;", "# comment", '"']
Table = tuple[list[str], list[list[str]], list[str], list[str], str]
ANSWERS = ["", "x", "0", "1", "dKH", "day first", "month first", ",", ".", "leave out", "count each",
    "2026-02-01", "additions", "readings", "volumes", "water changes", "logger", "laboratory report",
    "value", "note", "date", "12", "-5", "NaN", "é" * 90, "alkalinity", "mg/L", "tank", "ignore"]  # fmt: skip


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """(headings, rows, lines above, lines below, separator)."""
    separator = draw(st.sampled_from([";", ",", "\t", "|"]))
    width = draw(st.integers(1, 6))
    headings = draw(st.lists(st.sampled_from(HEADINGS), min_size=width, max_size=width))
    place = draw(st.integers(0, width))
    headings.insert(
        place, draw(st.sampled_from(["date", "Datum", "Date", "fecha", "jour", "time"]))
    )
    cell = st.one_of(
        st.sampled_from(NUMBERS), st.sampled_from(NUMBERS[:8]), st.sampled_from(TEXTS),
        st.floats(0, 1500).map(lambda x: f"{x:.2f}"), st.sampled_from(DATES),
    )  # fmt: skip
    form = draw(st.sampled_from(["%d.%m.%Y", "%Y-%m-%d", "%m/%d/%Y", "%d/%m/%y", "%d.%m.%Y %H:%M"]))
    time = st.one_of(
        st.sampled_from(DATES),
        st.datetimes(
            min_value=dt.datetime(2024, 1, 1),
            max_value=dt.datetime(2026, 11, 1),
        ).map(lambda t: t.strftime(form)),
    )
    rows = []
    for _ in range(draw(st.integers(0, 8))):
        row = draw(st.lists(cell, min_size=width, max_size=width))
        row.insert(place, draw(time))
        rows.append(row[: draw(st.integers(1, width + 1))] if draw(st.integers(0, 9)) == 0 else row)
    few = st.integers(0, 2)
    above = draw(st.lists(st.sampled_from(ABOVE), max_size=draw(few)))
    below = draw(st.lists(st.sampled_from(FEET), max_size=draw(few)))
    return headings, rows, above, below, separator


def as_text(
    headings: list[str], rows: list[list[str]], above: list[str], below: list[str], separator: str
) -> str:
    """The file of a table, quoted where it has to be."""

    def quoted(cell: str) -> str:
        bare = not any(mark in cell for mark in (separator, '"', "\n"))
        return cell if bare else '"' + cell.replace('"', '""') + '"'

    lines = [separator.join(map(quoted, row)) for row in (headings, *rows)]
    return "\n".join([*above, *lines, *below]) + "\n"
