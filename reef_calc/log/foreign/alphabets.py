"""Letters beyond a to z by language, and the ways of writing them that old programs used."""

from __future__ import annotations

# Small letters; capitals follow from them. Common knowledge of the languages' alphabets.
ALPHABETS: dict[str, str] = {
    "German": "äöüß",
    "French": "àâæçéèêëîïôœùûüÿ",
    "Spanish and Catalan": "áéíóúñüçàèòï·",
    "Portuguese": "ãõáàâéêíóôúç",
    "Italian": "àèéìòù",
    "Dutch": "äëïöüéèáóí",
    "Danish and Norwegian": "æøåéò",
    "Swedish and Finnish": "åäöé",
    "Icelandic": "áðéíóúýþæö",
    "Polish": "ąćęłńóśźż",
    "Czech and Slovak": "áäčďéěíĺľňóôŕřšťúůýž",
    "Hungarian": "áéíóöőúüű",
    "Romanian": "ăâîșțşţ",
    "Croatian and Slovenian": "čćđšž",
    "Turkish": "çğıöşüâîiİ",
    "Russian and Bulgarian": "абвгдеёжзийклмнопрстуфхцчшщъыьэюя",
    "Ukrainian": "абвгґдеєжзиіїйклмнопрстуфхцчшщьюя",
    "Greek": "αβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰ",
}
# Codec and its name in words, the likeliest first: where two read alike the first one is taken.
CODE_PAGES: dict[str, str] = {
    "cp1252": "Windows, Western Europe (code page 1252)",
    "cp1250": "Windows, Central Europe (code page 1250)",
    "iso8859_2": "Central Europe (ISO 8859-2)",
    "cp1251": "Windows, Cyrillic (code page 1251)",
    "cp1253": "Windows, Greek (code page 1253)",
    "cp1254": "Windows, Turkish (code page 1254)",
    "mac_roman": "old Macintosh (Mac Roman)",
    "cp850": "old DOS (code page 850)",
    "cp437": "old DOS (code page 437)",
    "cp852": "old DOS, Central Europe (code page 852)",
    "cp932": "Japanese (Shift JIS)",
    "gb18030": "Chinese (GB 18030)",
    "big5": "Chinese (Big5)",
    "cp949": "Korean (code page 949)",
}
# Two bytes a character: looked at only where bytes beyond ASCII seldom stand alone.
TWO_BYTES = ("cp932", "gb18030", "big5", "cp949")
