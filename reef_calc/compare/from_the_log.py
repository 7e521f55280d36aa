"""How much higher one kit reads than another, from the tank's log alone."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.balance.history_fit import sd_worth
from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_priors import session_noise
from reef_calc.balance.moments import end_of
from reef_calc.balance.paying_columns import PayingColumns, paying_columns
from reef_calc.balance.reading_noise import hour_and_date_noise
from reef_calc.balance.record import element_record
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.told import Told, told_of
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.compare.difference_column import PRIOR_SDS, KitDifference, kit_difference
from reef_calc.compare.difference_mixture import PRIORS, difference_with_events
from reef_calc.compare.kit_columns import kit_column, new_water_response
from reef_calc.compare.kit_names import kit_label
from reef_calc.compare.kits_in_the_log import TwoKits, two_kits
from reef_calc.compare.log_difference_messages import difference_messages
from reef_calc.compare.log_difference_words import difference_sentence, what_would_help
from reef_calc.compare.log_pairs import LogPairs, log_pairs
from reef_calc.compare.proportional_part import ProportionalPart, proportional_part
from reef_calc.compare.when_both_were_read import WhenRead, when_read
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge
from reef_calc.messages import Message

SLIP = 0.8
SLIP_VARIANCE = 50.0


@dataclass(frozen=True, eq=False)
class LogDifference:
    """Difference of two kits or lots from a tank's log.

    Attributes
    ----------
    element, unit, zone : str
        Element, unit of every level, IANA zone.
    kit_a, kit_b : str
        The kits as sentences call them; the difference is B − A.
    difference, low, high : float or None
        Median and 95 % interval (unit); None where it cannot be told.
    fit : KitDifference
        The fit behind it, told or not.
    now : CurrentRate
        The mixture it comes from: use, and what else was found.
    when : WhenRead
        How the readings of both lie in time.
    pairs : LogPairs
        The plain check: paired readings, with the movement taken out.
    proportional : ProportionalPart or None
        How the difference grows with the level; None where the levels do not tell.
    table : pandas.DataFrame
        One row a sitting: ``time`` (UTC), ``day``, ``kit``, ``lot``, ``of`` (A, B or empty),
        ``level`` (as read), ``expected`` (level on the scale of A), ``slip`` (whether it looks like
        a gross error), ``resolution`` (unit), ``rows``.
    sentence : str
        The answer.
    messages : tuple of Message
        What limits it.
    what_would_help : str
        What would make it clearer.
    """

    element: str
    unit: str
    zone: str
    kit_a: str
    kit_b: str
    difference: float | None
    low: float | None
    high: float | None
    fit: KitDifference
    now: CurrentRate
    when: WhenRead
    pairs: LogPairs
    proportional: ProportionalPart | None
    table: pd.DataFrame
    sentence: str
    messages: tuple[Message, ...]
    what_would_help: str


def difference_from_log(
    tank: Tank,
    element: str,
    kit_a: str,
    kit_b: str,
    *,
    lots: tuple[str | None, str | None] | None = None,
    since: str | pd.Timestamp | None = None,
    until: str | pd.Timestamp | None = None,
    unit: str | None = None,
) -> LogDifference:
    """Return how much higher kit B reads than kit A, from all readings of the tank, or why not.

    Readings need not be of one moment: what use, doses and water changes did in between is part of
    the same fit. Levels are taken as read.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up or moves by itself.
    kit_a, kit_b : str
        Kits, or a kit and lot as "kit A / lot A-2"; the difference is B − A.
    lots : tuple of (str or None), optional
        Lots of A and of B.
    since, until : str or pandas.Timestamp, optional
        First and last day looked at; 90 days around the time of both kits when ``since`` is not
        given.
    unit : str, optional
        Unit of the level; the one of the aims when not given.

    Returns
    -------
    LogDifference
        Difference with its 95 % interval, the check by pairs, sentences.

    Raises
    ------
    InputError
        For an unknown element, kit, lot or day, or a property that no balance describes.
    CannotTellError
        If there are fewer readings than unknowns.

    Notes
    -----
    Where one kit replaced the other, anything unlogged on that day goes into the difference
    unseen. For a difference that grows with the level see ``proportional``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> difference_from_log(example_tank(), "alkalinity", "drops", "drops")
    Traceback (most recent call last):
    ...
    reef_calc.errors.InputError: kits: needed two different kits or lots, given “drops”...
    """
    facts = find_element(element)
    if facts.behaviour == "state":
        raise InputError(
            "an element that is used up or moves by itself",
            facts.name,
            "Choose one of: " + ", ".join(e for e, f in ELEMENTS.items() if f.behaviour != "state"),
            "difference_from_log, element",
        )
    aim = tank.aims.get(facts.name)
    record = element_record(
        tank,
        facts.name,
        unit or (aim.unit if aim else facts.display_unit),
        end_of(tank, until, facts.name),
    )
    start = window_edge(since, tank.zone, end=False)
    if start is not None:
        record = record.since(float((start - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1)))
    told = told_of(tank, facts.name, record)
    two = two_kits(
        tank, record, kit_a, kit_b, lots=lots, whole=start is not None, doubted=told.doubted
    )
    return _answer(tank, two, told)


def _answer(tank: Tank, two: TwoKits, told: Told) -> LogDifference:
    record = two.record
    s = record.sessions
    when = when_read(tank, two)
    paying = paying_columns(tank, record)
    own_sd = np.hypot(s["sd"], s["resolution"] / 12**0.5).to_numpy(float)
    sd_a, sd_b = (float(np.median(own_sd[own])) for own in (two.of_a, two.of_b))
    of_kit = np.where(two.of_b, sd_b, sd_a)
    noise = (own_sd / of_kit) ** 2 * session_noise(s["n"].to_numpy(float))
    noise = noise + paying.variance / of_kit**2
    columns = _other_columns(two, paying, sd_a, when)
    of_b, by_b = two.of_b, two.new_water_with(two.b)
    balance = record.balance()
    t, y = s["day"].to_numpy(float), s["level"].to_numpy(float)
    worth = sd_worth(tank, record)
    believed = np.array([bool(told.trusted.intersection(rows)) for rows in s["rows"]])

    def mixture(relative: np.ndarray, scale: float | None) -> tuple[KitDifference, CurrentRate]:
        return difference_with_events(
            t, y, of_b, record.events,
            sd_a=sd_a, sd_b=sd_b, noise=relative, new_water_with_b=by_b, columns=columns,
            prior=replace(PRIORS, sd_worth=worth), declared_changes=told.changes,
            believed=believed, quiet=told.quiet, rate_scale=scale,
        )  # fmt: skip

    fit, now = mixture(noise, None)
    hours = hour_and_date_noise(record, fit.rate_scale)
    if np.any(hours > 0):
        noise = noise + hours / of_kit**2
        fit, now = mixture(noise, fit.rate_scale)
    steady_noise = np.where(now.p_gross > SLIP, SLIP_VARIANCE, 1.0) * noise
    steady = kit_difference(
        t, y, of_b, record.events,
        sd_a=sd_a, sd_b=sd_b, noise=steady_noise, new_water_with_b=by_b, columns=columns,
        sd_worth=worth, rate_scale=fit.rate_scale,
    )  # fmt: skip
    shift = fit.difference * new_water_response(balance, record.events, by_b)
    pairs = log_pairs(
        balance, y, now.history.rate, two.of_a & (now.p_gross <= SLIP),
        of_b & (now.p_gross <= SLIP), min(sd_a, sd_b), shift=shift,
        unusable=np.array([*record.gaps(), *when.hourless]).reshape(-1, 2),
    )  # fmt: skip
    table = pd.DataFrame(
        {
            "time": s["time"], "day": t, "kit": s["kit"], "lot": s["lot"],
            "of": np.where(two.of_a, "A", np.where(of_b, "B", "")),
            "level": y, "expected": steady.level, "slip": now.p_gross > SLIP,
            "resolution": s["resolution"], "rows": s["rows"],
        }
    )  # fmt: skip
    found = LogDifference(
        element=record.element, unit=record.unit, zone=record.zone,
        kit_a=two.label_a, kit_b=two.label_b,
        difference=fit.difference, low=fit.low, high=fit.high,
        fit=fit, now=now, when=when, pairs=pairs, proportional=None, table=table,
        sentence="", messages=(), what_would_help="",
    )  # fmt: skip
    messages = difference_messages(found, two)
    if any(message.kind == "refused" for message in messages):
        found = replace(found, difference=None, low=None, high=None)
    else:
        part = proportional_part(t, y, of_b, record.events, steady, noise=steady_noise,
                                 new_water_with_b=by_b, columns=columns, sd_worth=worth)  # fmt: skip
        found = replace(found, proportional=part)
    found = replace(found, messages=messages)
    return replace(
        found, sentence=difference_sentence(found), what_would_help=what_would_help(found)
    )


def _other_columns(
    two: TwoKits, paying: PayingColumns, sd_a: float, when: WhenRead
) -> list[KnownColumn]:
    """Other kits and lots, gaps of the log, new water, and what pays."""
    record = two.record
    balance = record.balance()
    groups = two.groups
    others = dict.fromkeys([*groups, *(g for g in two.new_water if g is not None)])
    columns = []
    for group in others:
        if group in (two.a, two.b):
            continue
        of_kit = np.array([g == group for g in groups], dtype=bool)
        x = kit_column(of_kit, balance, record.events, two.new_water_with(group))
        if np.any(x != 0):
            name = f"offset {kit_label(*group)}"
            columns.append(KnownColumn(name, x, 0.0, PRIOR_SDS * sd_a))
    columns += [c for c in record.gap_columns() if np.any(c.values != 0)]
    for column in paying.columns:
        # Where each kit has its own readers, eye and kit are one; the difference is of both.
        if not (column.name.startswith("reader ") and when.readers_differ):
            columns.append(column)
    if np.any(balance.W != 0) and record.new_water.u != 0:
        columns.append(KnownColumn("new water", balance.W, 0.0, record.new_water.u))
    return columns
