"""Two possible rates now, in words, while the readings cannot decide between them."""

from __future__ import annotations

from reef_calc.balance.mixture_answer import as_percent
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.show.rate_wording import now_label
from reef_calc.show.wording import decimals_for, fixed


def told_apart(use: ConsumptionEstimate) -> tuple[tuple[float, float, float, float], ...]:
    """Return the possible rates now that are worth telling apart.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    tuple of (probability, rate, low, high)
        Its humps (unit per day); empty where each rate lies within the interval of the other, for
        then they are one answer.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> told_apart(S(humps=((0.2, 0.31, -0.8, 1.4), (0.8, 0.35, -0.8, 1.5))))
    ()
    """
    inside = [
        low <= rate <= high
        for i, (_, rate, _, _) in enumerate(use.humps)
        for j, (_, _, low, high) in enumerate(use.humps)
        if i != j
    ]
    return () if all(inside) else use.humps


def hump_words(use: ConsumptionEstimate) -> list[str]:
    """Return the possible rates now, each with its probability.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of str
        Such as ["1.00 (70 %)", "1.22 (30 %)"], with "rises" or "falls" where it is not use;
        empty while there is one rate only.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> two = ((0.7, 1.004, 0.96, 1.05), (0.3, 1.22, 1.1, 1.34))
    >>> hump_words(S(humps=two, behaviour="used"))
    ['1.00 (70 %)', '1.22 (30 %)']
    """
    humps = told_apart(use)
    if not humps:
        return []
    widest = max(high - low for _, _, low, high in humps) / 2
    decimals = decimals_for(widest) if widest > 0 else 2
    rates = [rate for _, rate, _, _ in humps]
    # Two rates that are not the same must not read the same.
    while len({fixed(r, decimals) for r in rates}) < len(set(rates)) and decimals < 6:
        decimals += 1
    words = []
    net = use.behaviour == "net"
    for probability, rate, low, high in humps:
        verb = "rises " if rate < 0 else "falls " if net else ""
        number = f"{verb}{fixed(abs(rate), decimals)}"
        nothing = f"no {'change' if net else 'use'} shown"
        words.append(f"{nothing if low <= 0 <= high else number} ({as_percent(probability)})")
    return words


def now_labels(use: ConsumptionEstimate) -> list[str]:
    """Return the labels beside the marks of the rate now.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of str
        One label, or one for each possible rate.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> now_labels(S(rate=1.04, low=1.0, high=1.08, behaviour="used", humps=()))
    ['used 1.04 ± 0.04']
    """
    words = hump_words(use)
    if not words:
        return [now_label(use)]
    first = f"used {words[0]}" if words[0][0].isdigit() else words[0]
    return [first, *(f"or {word}" for word in words[1:])]
