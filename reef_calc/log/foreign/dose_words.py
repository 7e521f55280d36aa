"""Words of doses in the languages of the trade: units, spoons, rhythms."""

from __future__ import annotations

# Unit as written, in small letters without a full stop, and what it is: unit and factor.
AMOUNT_UNITS: dict[str, tuple[str, float]] = {
    word: unit
    for unit, words in {
        ("mL", 1.0): (
            "ml", "mls", "milliliter", "milliliters", "millilitre", "millilitres", "mililitro",
            "mililitros", "millilitro", "millilitri", "mililitr", "cc", "cm3", "cm³", "ccm",
        ),
        ("L", 1.0): (
            "l", "ltr", "lt", "liter", "liters", "litre", "litres", "litro", "litros", "litri", "litr",
            "litry",
        ),
        ("mL", 0.001): ("µl", "ul", "microlitre", "microliter"),
        ("mL", 10.0): ("cl",),
        ("mL", 100.0): ("dl",),
        ("g", 1.0): (
            "g", "gr", "gm", "gram", "grams", "gramm", "gramme", "grammes", "gramo", "gramos", "grammo",
            "grammi", "grama", "gramas", "gramy", "gramów",
        ),
        ("g", 0.001): ("mg", "milligram", "milligrams", "milligramm", "milligramme"),
        ("kg", 1.0): ("kg", "kilo", "kilogram", "kilograms", "kilogramm"),
        ("drops", 1.0): (
            "drop", "drops", "gtt", "gtts", "tropfen", "tr", "goutte", "gouttes", "gota", "gotas",
            "goccia", "gocce", "druppel", "druppels", "kropla", "krople", "kropli", "dråbe", "dråber",
            "droppe", "droppar", "dråper", "tippa", "tippaa",
        ),
    }.items()
    for word in words
}  # fmt: skip
# Measures that hold something else with every powder and every hand.
SPOONS = frozenset(
    (
        "tsp", "tsps", "tbsp", "tbsps", "teaspoon", "teaspoons", "tablespoon", "tablespoons", "spoon",
        "spoons", "spoonful", "spoonfuls", "scoop", "scoops", "cap", "caps", "capful", "capfuls",
        "pinch", "pinches", "dash", "squirt", "squirts", "cup", "cups", "handful", "splash", "syringe",
        "syringes", "pump", "pumps", "dose", "doses", "el", "tl", "teelöffel", "esslöffel", "löffel",
        "messlöffel", "kappe", "kappen", "verschlusskappe", "verschlusskappen", "prise", "prisen",
        "tasse", "cuillère", "cuillères", "cuillere", "cuilleres", "bouchon", "bouchons", "pincée",
        "cucharada", "cucharadas", "cucharadita", "cucharaditas", "tapón", "tapones", "pizca",
        "cucchiaio", "cucchiai", "cucchiaino", "cucchiaini", "tappo", "tappi", "pizzico", "colher",
        "colheres", "tampa", "tampas", "lepel", "lepels", "theelepel", "eetlepel", "dop", "doppen",
        "snufje", "łyżka", "łyżki", "łyżeczka", "łyżeczki", "szczypta", "nakrętka", "tesked",
        "teskedar", "matsked", "matskedar", "kork", "skefuld", "teskefuld", "spiseskefuld",
    )
)  # fmt: skip
# Three different amounts go by this name.
OUNCES = frozenset(("oz", "ounce", "ounces", "floz", "fl", "onza", "oncia", "unze", "unzen"))
_DAY = "day|d|tag|jour|j|día|dia|giorno|dag|dzień|dzien|24 ?h"
_DAYS = "days?|d|tage?|jours?|días?|dias?|giorni|dagen|dagar|dage|dni"
_WEEK = "week|wk|woche|semaine|semana|settimana|tydzień|tydzien|vecka|uge"
# What says that an amount is for every day; matched in small letters.
PER_DAY = (
    rf"(?:/|per|a|an|each|every|pro|je|jeden|am|par|chaque|tous les|al|por|cada|ogni|elke|iedere|om|na"
    rf"|co|varje|hver|pr\.?)\s*(?:{_DAY}|jours|días|dias)\b"
    r"|\b(?:daily|täglich|taeglich|quotidien(?:nement)?|diari[oa](?:mente)?|giornalier[oa]|dagelijks"
    r"|dziennie|codziennie|dagligen|dagligt|daglig|p/d)\b"
)
PER_WEEK = (
    rf"(?:/|per|a|each|every|pro|je|jede|par|chaque|a la|por|alla|a|ogni|elke|na|varje|hver|pr\.?)"
    rf"\s*(?:{_WEEK})\b"
    r"|\b(?:weekly|wöchentlich|woechentlich|hebdomadaire|semanal(?:mente)?|settimanale|wekelijks"
    r"|tygodniowo)\b"
)
EVERY_DAYS = (
    r"\b(?:every|alle|tous les|cada|ogni|om de|a cada|co|var|hver)\s*(\d+)(?:\.|nd|rd|th)?"
    rf"\s*(?:{_DAYS})\b"
)
EVERY_OTHER = (
    r"\b(?:every other day|every second day|alternate days|jeden zweiten tag|jeden 2\. tag"
    r"|un jour sur deux|un día sí y otro no|a giorni alterni|dia sim,? dia não|om de dag"
    r"|co drugi dzień|varannan dag|hver anden dag)\b"
)
# Words between a number of doses and the dose.
TIMES = r"\s*(?:x|×|\*|times|mal|fois|veces|volte|vezes|keer|razy|gånger|gange)\s*"
TWICE = {"once": 1, "twice": 2, "thrice": 3, "zweimal": 2, "dreimal": 3, "einmal": 1}
# Words of a column that says how: the log's own word.
HOW_WORDS: dict[str, str] = {
    word: how
    for how, words in {
        "per day": ("per day", "continuous", "pump", "dosing pump", "dauerhaft", "continu"),
        "once": (
            "once", "single", "one-off", "one off", "manual", "by hand", "hand", "einmalig", "einmal",
            "manuell", "von hand", "une fois", "manuel", "una vez", "manual", "una volta", "manuale",
            "uma vez", "eenmalig", "handmatig", "jednorazowo", "ręcznie", "engång", "én gang",
        ),
        "not logged": ("not logged", "unknown", "nicht notiert", "non noté", "desconocido"),
    }.items()
    for word in words
}  # fmt: skip
# Headings of clock times of doses.
CLOCK_HEADINGS = frozenset(
    (
        "times", "clock times", "dosing times", "dose times", "uhrzeiten", "dosierzeiten", "heures",
        "horas", "horarios", "orari", "tijden", "godziny", "tider",
    )
)  # fmt: skip
# Words of headings that are no part of a supplement's name.
HEADING_FILLERS = frozenset(
    (
        "dose", "dosed", "dosing", "dosage", "amount", "menge", "dosierung", "dosis", "volume", "qty",
        "quantity", "quantité", "cantidad", "quantità", "quantidade", "hoeveelheid", "ilość", "mängd",
        "mængde", "supplement", "product", "produkt", "produit", "producto", "prodotto", "added",
        "zugabe", "per", "of", "in",
    )
)  # fmt: skip
