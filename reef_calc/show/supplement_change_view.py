"""A change of supplement as HTML: the equivalent dose, what else changes, the days, what to test."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence

from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval
from reef_calc.plan.cautions import cautions_for
from reef_calc.plan.change_words import LONGEST_SIGN
from reef_calc.plan.did_it_work import ChangeOutcome
from reef_calc.show.cross_fade_figure import cross_fade_svg
from reef_calc.show.plan_safety import cautions_html
from reef_calc.show.set_amounts import dose_text, set_text, supply_text
from reef_calc.show.supplement_change_tables import (
    day_text,
    days_html,
    effects_html,
    ph_html,
)
from reef_calc.show.supplement_swap import Swap
from reef_calc.show.tables import folded
from reef_calc.show.wording import element_name, escape

_LIMITS = ("COARSE_STEP", "PUMP_STEP", "DRIFT", "ACTS_LATE")
_SEPARATELY = ("DOSE_SEPARATELY", "BRINGS_MORE", "COMPANION_STOPS", "COMPANION_NEEDED",
               "COMPANION_NOT_COUNTED")  # fmt: skip
_PILES = ("ALSO_CHANGES", "CHLORIDE_TO_SULFATE", "SALT", "LABEL_ONLY")
_APART = ("KEEP_APART", "NEVER_MIX", "HAZARD")
_SIGNS = {"refused": "!", "qualified": "!", "told": "–"}


def swap_html(found: Swap, apart: Sequence[str] = ()) -> str:
    """Return a change of supplement, the answer first.

    Parameters
    ----------
    found : Swap
        The change.
    apart : sequence of str, optional
        Other supplements of the tank that the new one must not meet.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": x}) for name, x in (("soda", 1.0), ("<b>", 2.0)))
    >>> page = swap_html(swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0),
    ...                       start=dt.date(2026, 3, 1), days=4))
    >>> "20 ± 4 mL of &lt;b&gt; a day in place of 40 mL of soda" in page
    True
    """
    change = found.change
    about_old = _old_messages(found)
    cautions = cautions_for([change.old, change.new])
    near = [one for one in cautions if one.where in ("making up", "dosing", "containers")]
    about_new = [one for one in near if change.new.name in one.because or one.where != "making up"]
    return "".join(
        [
            f"<h2>{escape(answer_words(found))}</h2>",
            f'<p class="rc-sub">{escape(_supply_words(found))}</p>',
            _lines(_stay_messages(found)),
            _lines(m for m in about_old if m.kind != "told"),
            _lines(_of(change.messages, _LIMITS)),
            _part("What must now be dosed by itself", _of(change.messages, _SEPARATELY),
                  "Nothing: no element that corals use changes by more than a kit can tell."),
            "<h3>What else changes</h3>",
            _lines(_of(change.messages, _PILES)),
            effects_html(found),
            ph_html(found),
            f"<h3>The days, with the supply of {escape(change.element)} kept</h3>",
            cross_fade_svg(found),
            days_html(found),
            "<h3>How long the containers last</h3>",
            _lines([*_of(change.messages, ("NEW_LASTS",)), *(m for m in about_old if m.kind == "told")]),
            "<h3>What to test, and when to see whether it worked</h3>",
            _lines(_of(change.messages, ("WHAT_TO_TEST",))),
            f"<p>{escape(_dates_words(found))}</p>",
            "<h3>Before the first dose</h3>",
            '<div class="rc-caution"><ul>'
            + "".join(f"<li>{escape(m.text)}</li>" for m in _of(change.messages, _APART))
            + (f"<li>{escape(_apart_words(change.new.name, apart))}</li>" if apart else "")
            + "</ul></div>",
            folded("All cautions of these two", cautions_html(about_new)),
        ]
    )  # fmt: skip


def answer_words(found: Swap) -> str:
    """Return the answer in one line: the equivalent dose with its interval, or what stands in the way.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        Plain text; the interval is what strengths and pumps leave open (95 %).

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> weak = Supplement("weak", {"alkalinity": 1.0}, limits={"mL_per_day": 10.0})
    >>> print(answer_words(swap(Supplement("old", {"alkalinity": 1.0}), weak, "alkalinity", "dKH",
    ...     40.0, WaterNow(100.0), start=dt.date(2026, 3, 1))))
    weak cannot do all of it: 10 mL a day at most, with 30 mL of old beside it
    """
    change = found.change
    if found.stays > 0.0:
        return (
            f"{change.new.name} cannot do all of it: {dose_text(change.setting_then, change.new.unit)} "
            f"a day at most, with {dose_text(found.stays, change.old.unit)} of {change.old.name} "
            "beside it"
        )
    then, part = change.amount_then, 2.0 * change.u_equivalent
    amount = with_interval(then, then * (1 - part), then * (1 + part))
    return (
        f"{amount} {change.new.unit} of {change.new.name} a day in place of "
        f"{dose_text(found.now, change.old.unit)} of {change.old.name}"
    )


def _supply_words(found: Swap) -> str:
    change = found.change
    percent = 200 * change.u_equivalent
    each = set_text(change.setting_then / found.doses_new, change.new.unit, found.step_new)
    times = f"{found.doses_new} × {each} a day" if found.doses_new > 1 else "one dose a day"
    most = (
        ""
        if math.isinf(found.most)
        else f", at most {dose_text(found.most, change.new.unit)} a day"
    )
    return (
        f"Before and after, {supply_text(found.supply)} {change.unit} of {change.element} arrive a day; "
        f"± {percent:.0f} % is what the stated strengths and pumps leave open (95 %). Set "
        f"{change.new.name} to {dose_text(change.setting_then, change.new.unit)}: {times}{most}."
    )


def _apart_words(name: str, apart: Sequence[str]) -> str:
    return (
        f"{name} and {' or '.join(apart)}: never in one container, hose or spoon, and dosed at least 30 "
        "minutes apart."
    )


def _stay_messages(found: Swap) -> list[Message]:
    if found.stays <= 0.0:
        return []
    change = found.change
    return [
        Message(
            "PART_STAYS",
            f"All of it would take {dose_text(found.wanted, change.new.unit)} of {change.new.name} a "
            f"day, and {dose_text(found.most, change.new.unit)} is its largest amount. So "
            f"{100 * change.amount_now / found.now:.0f} % is changed and the rest stays as it is.",
            "qualified",
        )
    ]


def _old_messages(found: Swap) -> list[Message]:
    change, ends = found.change, found.runs_out()
    table = found.days().iloc[1:]
    needed = float(table["old"].sum())
    words = (
        f"The {len(table)} days take {dose_text(needed, change.old.unit)} of {change.old.name}."
        if needed > 0.0
        else f"No more of {change.old.name} is needed."
    )
    if found.left is None:
        return [Message("OLD_NEEDED", f"{words} Type what is left of it to see when it runs out.")]
    if ends is None:
        over = dose_text(found.left - needed, change.old.unit)
        return [Message("OLD_NEEDED", f"{words} {over} are then left over.")]
    kind = "told" if found.stays > 0 and ends > table["date"].iloc[-1] else "qualified"
    repair = "" if kind == "told" else " Make the change shorter, or get more."
    return [
        Message("OLD_ENDS", f"{words} It runs out on {day_text(ends)}.{repair}", kind)  # type: ignore[arg-type]
    ]


def _dates_words(found: Swap) -> str:
    change = found.change
    last = int(change.days["day"].iloc[-1])
    look = last + max(14, math.ceil(min(change.first_sign_days, LONGEST_SIGN)))

    def on(day: int) -> str:
        return day_text(found.start + dt.timedelta(days=day - 1))

    return (
        f"Day 1 is {on(1)}, day {last} is {on(last)}, day {look} is {on(look)}: then choose this change "
        "under “Did it work?”."
    )


def outcome_html(found: ChangeOutcome) -> str:
    """Return whether a change worked, the answer first.

    Parameters
    ----------
    found : ChangeOutcome
        What the readings say.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import pandas as pd
    >>> since = pd.Timestamp("2026-03-01", tz="UTC")
    >>> less = ChangeOutcome("soda", "alkalinity", "dKH", "UTC", since, 9, 9, (1.0, 0.9, 1.1),
    ...     (1.2, 1.1, 1.3), (0.8, 0.7, 0.9), 1.0, "less", (Message("A", "Less."),))
    >>> outcome_html(less).startswith("<h3>soda brings less than stated: 80 ± 10 %</h3>")
    True
    """
    title = {
        "as stated": f"{found.supplement} brings what is stated",
        "less": f"{found.supplement} brings less than stated",
        "more": f"{found.supplement} brings more than stated",
    }.get(found.decision, f"Cannot tell yet whether {found.supplement} brings what is stated")
    if found.delivered is not None and found.decision != "cannot tell":
        share, low, high = (100 * end for end in found.delivered)
        title += f": {with_interval(share, low, high)} %"
    counts = (
        f"{element_name(found.element)}: {found.readings_before} tests before and "
        f"{found.readings_after} after the first dose were used."
    )
    return (
        f'<h3>{escape(title)}</h3>{_lines(found.messages)}<p class="rc-small">{escape(counts)}</p>'
    )


def _of(messages: Iterable[Message], codes: tuple[str, ...]) -> list[Message]:
    return [message for message in messages if message.code in codes]


def _part(title: str, messages: list[Message], otherwise: str) -> str:
    return f"<h3>{escape(title)}</h3>" + (_lines(messages) or f"<p>{escape(otherwise)}</p>")


def _lines(messages: Iterable[Message]) -> str:
    return "".join(
        f'<p><span class="rc-sign" aria-hidden="true">{_SIGNS[m.kind]}</span>{escape(m.text)}</p>'
        for m in messages
    )
