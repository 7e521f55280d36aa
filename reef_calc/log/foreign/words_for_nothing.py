"""Words and signs that stand in cells of numbers, in the languages that keepers write."""

from __future__ import annotations


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split("|"))


# All in small letters, without dots and blanks at their ends.
# Nothing was measured, or nothing is known.
MISSING = frozenset(
    _listed(
        "-|--|---|----|–|—|——|−|.|..|...|…|?|??|???|x|xx|xxx|*|/|//|\\|_|na|n/a|n.a|#n/a|#na|#nv|#n/v|"
        "nan|null|nil|none|(none)|nothing|blank|empty|missing|not measured|not tested|no data|no test|"
        "no reading|skipped|forgot|forgotten|unknown|tbd|#div/0!|#value!|#ref!|#num!|#name?|#wert!|"
        "#bezug!|#zahl!|#valeur!|#nombre!|#valor!|err|error|fehler|#error!|fehlt|fehlend|k.a|k. a|ka|"
        "keine angabe|nicht gemessen|nicht getestet|vergessen|unbekannt|leer|manquant|non mesuré|"
        "pas mesuré|inconnu|n.c|nc|n.m|nm|no medido|sin datos|falta|desconocido|mancante|non misurato|"
        "n.p|niet gemeten|onbekend|ontbreekt|nie mierzono|nie zmierzono|brak|brak danych|saknas|"
        "ej mätt|mangler|ikke målt|puuttuu|ei mitattu|не измерено|нет данных|无|なし"
    )
)
# Measured, and less than can be seen; no limit is told.
NOT_FOUND = frozenset(
    _listed(
        "n.d|nd|n/d|n d|n. d|not detected|not detectable|undetectable|undetected|none detected|"
        "non-detect|nondetect|non detect|bdl|b.d.l|<bdl|blq|bql|lod|loq|mdl|dl|below detection|"
        "below detection limit|below limit|under detection|under range|below range|under limit|"
        "lo|low|under|below|trace|traces|tr|too low|n.n|nn|n. n|nicht nachweisbar|nicht nachgewiesen|"
        "nicht messbar|unter nachweisgrenze|unter der nachweisgrenze|u.n|u. n|u.ng|u.bg|bg|ng|nwg|"
        "spur|spuren|nicht bestimmbar|non détecté|non détectable|non decelé|indétectable|traza|trazas|"
        "no detectado|no detectable|indetectable|non rilevato|non rilevabile|tracce|traccia|"
        "niet aantoonbaar|niet detecteerbaar|sporen|spoor|não detectado|não detetado|vestígios|"
        "nie wykryto|niewykrywalne|ślad|ślady|ej påvisad|ej detekterbar|spår|ikke påvist|ikke påviselig|"
        "spor|ei havaittu|не обнаружено|следы|не обнаружен"
    )
)
# Measured, and more than can be told.
TOO_MUCH = frozenset(
    _listed(
        "hi|high|over|or|o.r|over range|overrange|above range|out of range|max|maximum|too high|"
        "above|ovr|ovf|overflow|zu hoch|über messbereich|über bereich|überlauf|hoch|trop haut|"
        "hors gamme|hors plage|fuera de rango|alto|demasiado alto|fuori scala|fuori campo|te hoog|hoog|"
        "buiten bereik|poza zakresem|za wysoko|för högt|for højt|for høyt|liian korkea|"
        "выше предела|fora da faixa"
    )
)
# Words before a number; the longer ones come first.
BELOW = _listed(
    "less than|smaller than|lower than|no more than|at most|up to|below|under|unterhalb|kleiner als|"
    "weniger als|höchstens|unter|kleiner|bis zu|moins de|inférieur à|inferieur à|inferieur a|"
    "menos de|menor que|menor a|por debajo de|inferior a|meno di|minore di|inferiore a|sotto|"
    "minder dan|kleiner dan|onder|abaixo de|menos que|mniej niż|poniżej|mindre än|under|"
    "mindre end|mindre enn|alle|меньше|менее|ниже"
)
ABOVE = _listed(
    "more than|greater than|higher than|at least|above|over|oberhalb|größer als|groesser als|"
    "mehr als|mindestens|über|ueber|größer|plus de|supérieur à|superieur à|superieur a|más de|"
    "mas de|mayor que|mayor a|superior a|por encima de|più di|maggiore di|superiore a|oltre|sopra|"
    "meer dan|groter dan|boven|acima de|mais de|maior que|więcej niż|powyżej|mer än|över|"
    "mere end|mer enn|yli|больше|более|выше"
)
ABOUT = _listed(
    "approximately|approx.|approx|appr.|roughly|around|about|circa|ca.|ca|c.|etwa|ungefähr|"
    "ungefaehr|rund|environ|env.|à peu près|aprox.|aprox|aproximadamente|unos|alrededor de|"
    "intorno a|ongeveer|około|ok.|ungefär|omkring|cirka|noin|около|примерно|est.|geschätzt|estimated"
)
BETWEEN = _listed(
    "between|zwischen|entre|tra|fra|tussen|między|mellan|mellem|mellom|from|von|de|da"
)
# Between two numbers that are the ends of an interval.
TO = _listed("to|bis|à|a|tot|til|till|do|até|and|und|et|y|e|en|i|och|og|до|и")
# A single word behind a number that is no unit.
REMARKS = frozenset(
    _listed(
        "ok|okay|good|fine|high|low|repeat|repeated|again|retest|new|old|first|second|am|pm|hi|lo|est|"
        "approx|about|ca|circa|stable|dropped|rising|falling|unsure|maybe|yes|no|gut|hoch|niedrig|"
        "wiederholt|nochmal|neu|alt|unsicher|stabil|bien|haut|bas|bon|encore|alto|bajo|bueno|buono|"
        "basso|goed|hoog|laag|dobrze|bra|bien|test|kit|before|after|vorher|nachher|avant|après"
    )
)
# Of a heading, or of a cell, that is of a gravity or a density: 1.026 has three decimals there.
GRAVITY = frozenset(
    _listed(
        "sg|s.g|s.g.|gravity|density|dichte|densité|densidad|densità|densidade|dichtheid|gęstość|"
        "densitet|tetthet|ominaispaino|плотность|densite"
    )
)
# Twelve months by the beginnings of their names.
MONTHS = tuple(
    _listed(months)
    for months in (
        "jan|janv|ene|gen|sty|янв", "feb|fév|fev|lut|фев", "mar|mär|mrz|mrt|maa|мар",
        "apr|avr|abr|kwi|апр", "may|mai|maj|mei|mag|maggio|май", "jun|juin|giu|cze|июн",
        "jul|juil|lug|lip|июл", "aug|aoû|aou|ago|sie|авг", "sep|set|wrz|сен",
        "oct|okt|ott|out|paź|окт", "nov|lis|ноя", "dec|dez|déc|dic|gru|дек",
    )
)  # fmt: skip
