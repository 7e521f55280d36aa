"""One month against another, in one sentence."""

from __future__ import annotations

from reef_calc.show.standing import Standing
from reef_calc.show.wording import element_name, escape, month_words, with_interval


def compare_months_html(standing: Standing, month: str, against: str) -> str:
    """Return what can be said of the use in one month against another.

    Parameters
    ----------
    standing : Standing
        Element with its estimate.
    month, against : str
        Months, text ``2026-09``.

    Returns
    -------
    str
        HTML paragraph.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.gather import gather
    >>> html = compare_months_html(gather(example_tank(), "alkalinity", "2026-02"), "2026-02", "2026-01")
    >>> "no change shown" in html
    True
    """
    use = standing.use
    first, second = month_words(month), month_words(against)
    heading = f'<section class="rc"><h3>{first} against {second}</h3>'
    if (
        use is None
        or use.monthly is None
        or not (use.monthly.told(month) and use.monthly.told(against))
    ):
        text = (
            f"Cannot tell: {element_name(standing.element).lower()} has too few readings in one of "
            "the two months. Two readings near the start and two near the end of a month would do."
        )
        return f"{heading}<p>{escape(text)}</p></section>"
    one, other = use.monthly.rate(month), use.monthly.rate(against)
    middle, low, high = use.monthly.difference(month, against)
    verdict = use.monthly.verdict(month, against)
    text = (
        f"{first}: {with_interval(*one)} {standing.unit} a day. {second}: {with_interval(*other)}. "
        f"Difference {with_interval(middle, low, high)} (95 %, worked out jointly): {verdict}."
    )
    if verdict == "changed":
        text += " “Changed” is said at 99 %, “perhaps changed” at 95 %."
    return f"{heading}<p>{escape(text)}</p></section>"
