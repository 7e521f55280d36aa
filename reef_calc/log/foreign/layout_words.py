"""Words that tell what a row of a foreign table is, in the languages that keepers write."""

from __future__ import annotations


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


DATE_WORDS = _words(
    "date time datetime timestamp day when datum zeit tag uhrzeit zeitpunkt jour heure horodatage "
    "fecha hora día dia data ora giorno tijd tijdstip dag czas dzień godzina tid dato klokkeslæt "
    "päivä päivämäärä aika datum/zeit date/time дата время день datetime_utc dátum dată tarih "
    "日期 时间 日付 日時"
)
# What commonly stands above a column: quantities of a reef log, and words of its other columns.
HEADING_WORDS = DATE_WORDS | _words(
    "kh dkh alk alkalinity alkalinität karbonathärte alcalinité alcalinidad alcalinità alkaliniteit "
    "alkaliczność alkalinitet ca calcium kalzium calcio wapń kalcium mg magnesium magnésium magnesio "
    "magnez k potassium kalium potasio potassio potas no3 nitrate nitrat nitrato nitrati nitraat "
    "azotany po4 po4-p no3-n phosphate phosphat fosfato fosfati fosfaat fosforany fosfat salinity "
    "salinität salinité salinidad salinità saliniteit zasolenie salinitet sal sg gravity dichte "
    "density conductivity leitfähigkeit temp temperature temperatur température temperatura "
    "temperatuur ph sr strontium iodine jod iode boron bor br bromide sulfate sulfat parameter "
    "paramètre parametro parámetro parametr element élément elemento pierwiastek value wert valeur "
    "valor valore waarde wartość värde værdi result ergebnis résultat resultado risultato resultaat "
    "wynik unit einheit unité unidad unità eenheid jednostka enhet kit test tests lot batch charge "
    "tank becken bac acuario vasca bak zbiornik akvarium water wasser note notes notiz bemerkung "
    "kommentar comment comments remarque nota note: opmerking uwagi anteckning bemærkning volume "
    "volumen menge amount dose dosis dosage cantidad quantità hoeveelheid dawka mængd mængde "
    "supplement product produkt litres liters liter litri litros by quelle source uncertainty "
    "unsicherheit u(k=2) reading measurement messwert mesure medición misura meting pomiar method "
    "name lp nr no. # щёлочность кальций магний"
)
NOTE_WORDS = _words(
    "note notes notiz notizen bemerkung bemerkungen kommentar comment comments remark remarks "
    "remarque remarques nota notas opmerking opmerkingen uwagi anteckning bemærkning"
)
# Of a summary below a table, or between its rows.
AVERAGE_WORDS = _words(
    "average averages avg mean median mittel mittelwert durchschnitt ø moyenne moyennes médiane "
    "media promedio medio mediana gemiddelde gemiddeld średnia medelvärde medel genomsnitt "
    "gennemsnit gjennomsnitt keskiarvo média среднее průměr átlag medie ortalama "
    "平均"
)
SUM_WORDS = _words(
    "sum total totals summe gesamt somme suma totale totaal som razem łącznie summa i alt "
    "yhteensä soma итого celkem összesen toplam count anzahl nombre número conteggio aantal liczba "
    "antal lukumäärä n min max minimum maximum sd std stdev stdabw standardabweichung écart-type "
    "desviación deviazione range spanne variance varianz 合计"
) - {"i", "alt"}
# Beside units: a row of units often says so in its first cell, or gives the form of the date there.
UNIT_ROW_WORDS = _words(
    "unit units einheit einheiten unité unités unidad unidades unità eenheid jednostka enhet enhed "
    "yksikkö dd.mm.yyyy yyyy-mm-dd mm/dd/yyyy dd/mm/yyyy tt.mm.jjjj jj/mm/aaaa dd-mm-yyyy hh:mm "
    "d.m.y m/d/y d/m/y utc local none kh ph k - — –"
)
UNIT_WORDS = _words(
    "ppm ppb ppt psu dkh °dkh °kh °dh dh °fh °c °f c f sg s.g. % ‰ g mg kg ml l litre litres "
    "liter liters litri litros gal gallon gallons drops tropfen ms/cm us/cm s/cm s/m mv meq/l mval/l "
    "meq mval mmol mol deg degc degf celsius fahrenheit spoon g/cm3 g/cm³ kg/m3 kg/m³ days d h "
    "min s"
)
MONTHS = _words(
    "jan feb mar mär mrz apr may mai jun jul aug sep oct okt nov dec dez janv févr fév mars avr juin "
    "juil août déc ene abr ago dic gen mag giu lug set ott maj mei mrt sty lut kwi cze lip sie wrz "
    "paź lis gru"
)
# Texts in the place of a value; NA is left out, for it is also sodium.
VALUE_WORDS = _words("- -- – — . ? x hi lo n.d. nd n/a n.a. nan null #n/a < >")
