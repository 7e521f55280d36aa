"""What limits the difference of two kits from the log: when there is none, and what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from reef_calc.balance.additions import moment
from reef_calc.balance.refusals import day_text
from reef_calc.compare.kit_names import kit_label
from reef_calc.compare.kits_in_the_log import TwoKits
from reef_calc.compare.log_difference_words import (
    above_or_below,
    capital,
    counted,
    level_decimals,
    listed,
)
from reef_calc.compare.worth_in_pairs import days_in_reach
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

if TYPE_CHECKING:
    from reef_calc.compare.from_the_log import LogDifference

STEP_SAID = 0.5
UNDERSTATED = 1.3
WIDEST_SDS = 2.0
BESIDE_DAYS = 3.0


def difference_messages(found: LogDifference, two: TwoKits) -> tuple[Message, ...]:
    """Return what limits the difference, refusals first.

    Parameters
    ----------
    found : LogDifference
        Result without its messages.
    two : TwoKits
        The sittings it comes from.

    Returns
    -------
    tuple of Message
        Codes such as ``ONE_SIDED_IN_TIME``, ``DELTA_NOT_DETERMINED``, ``EVENT_AT_CHANGE``.

    Examples
    --------
    See :func:`reef_calc.compare.from_the_log.difference_from_log`.
    """
    told = _event_at_change(found) or _not_determined(found) or _one_sided(found)
    told = list(told)
    told += [
        *_step_beside(found),
        *_about_scatter(found),
        *_about_pairs(found),
        *_about_readers(found),
    ]
    return (*told, *_about_new_water(found, two), *_slips(found), *two.messages)


def _not_determined(found: LogDifference) -> list[Message]:
    f = found.fit
    # Kits that scatter more than stated are judged by what they do.
    larger = max(1.0, f.sd_ratio)
    if f.half <= WIDEST_SDS * (f.sd_a + f.sd_b) * larger:
        return []
    decimals = decimals_for(f.half)
    nearest = float(found.when.apart.min())
    reach = days_in_reach(f.sd_a * larger, f.walk)
    why = ""
    if nearest > max(reach, 1.0):
        why = (
            f" The nearest readings of the two lie {counted(round(nearest), 'day')} apart, and what "
            "is used varies too much from day to day to bridge that."
        )
    return [
        Message(
            "DELTA_NOT_DETERMINED",
            f"How far {found.kit_b} lies from {found.kit_a} cannot be told from these readings: it "
            f"would be known to ± {fixed(f.half, decimals)} {found.unit} only.{why}",
            "refused",
        )
    ]


def _event_at_change(found: LogDifference) -> list[Message]:
    when = found.when
    if not when.one_sided:
        return []
    t = found.table["day"].to_numpy(float)
    spanned = (t > when.last) & (t <= when.first)
    span = when.between(found.zone)
    if when.gaps:
        start, stop = (day_text(moment(x), found.zone) for x in when.gaps[0])
        what = f"doses from {start} to {stop} were not logged"
    elif float(found.now.p_dose_at[spanned].sum()) > STEP_SAID:
        what = f"the readings step {span} as after a dose that is not in the log"
    else:
        return []
    return [
        Message(
            "EVENT_AT_CHANGE",
            f"How far {found.kit_b} lies from {found.kit_a} cannot be told: {when.later} was never "
            f"used while {when.earlier} was still in use, and {what}. Was something added then? "
            "Enter it, or test the same water with both kits.",
            "refused",
        )
    ]


def _one_sided(found: LogDifference) -> list[Message]:
    when = found.when
    if not when.one_sided:
        return []
    noted = f" The log notes then: {'; '.join(when.notes)}." if when.notes else ""
    return [
        Message(
            "ONE_SIDED_IN_TIME",
            f"{capital(when.later)} was never used while {when.earlier} was still in use. The "
            "difference holds only if nothing was added or changed, and not logged, "
            f"{when.between(found.zone)}.{noted}",
            "qualified",
        )
    ]


def _step_beside(found: LogDifference) -> list[Message]:
    """Say of a step of the level beside readings of B, which a difference may be taken for."""
    b = found.table.loc[found.table["of"] == "B", "day"].to_numpy(float)
    beside = [
        step
        for step in found.now.history.findings
        if step.kind == "level step"
        and np.any((b > step.start - BESIDE_DAYS) & (b < step.stop + BESIDE_DAYS))
    ]
    if not beside:
        return []
    steps = listed(
        tuple(
            f"{'up' if step.size > 0 else 'down'} between "
            f"{day_text(moment(step.start), found.zone)} and "
            f"{day_text(moment(step.stop), found.zone)}"
            for step in beside
        )
    )
    return [
        Message(
            "STEP_UNEXPLAINED",
            f"The level seems to step {steps}, as after something that is not in the log. "
            f"The difference hangs on it, because {found.kit_b} was read then: enter what was given, "
            "if it was.",
            "qualified",
        )
    ]


def _about_scatter(found: LogDifference) -> list[Message]:
    if found.fit.sd_ratio <= UNDERSTATED:
        return []
    return [
        Message(
            "SCATTER_ABOVE_STATED",
            f"The readings scatter {found.fit.sd_ratio:.1f} times as much as the kits' stated "
            "repeatability, so the interval may be too narrow. Test one water several times with "
            "each kit and enter what they scatter.",
            "qualified",
        )
    ]


def _about_pairs(found: LogDifference) -> list[Message]:
    pairs = found.pairs
    told = []
    if pairs.n >= 2 and pairs.uncorrected is None and pairs.corrected is not None:
        decimals = decimals_for(pairs.largest_movement)
        told.append(
            Message(
                "PAIRS_NEED_BALANCE",
                "Readings of the two kits cannot simply be subtracted: between them the level "
                f"should have moved by up to {fixed(pairs.largest_movement, decimals)} {found.unit}.",
            )
        )
    c = pairs.corrected
    if c is not None and found.difference is not None:
        apart = found.fit.low > c.high or found.fit.high < c.low
        if apart:
            said = above_or_below(c.difference, c.low, c.high, found.unit, found.kit_a, found.kit_b)
            told.append(
                Message(
                    "PAIRS_DISAGREE",
                    f"The {pairs.n} nearest pairs alone say otherwise: {said}. Look at the readings "
                    "one by one before you use either.",
                    "qualified",
                )
            )
    return told


def _about_readers(found: LogDifference) -> list[Message]:
    when = found.when
    if not when.readers_differ:
        return []
    return [
        Message(
            "READERS_DIFFER",
            f"{found.kit_a} was read by {listed(when.readers_a)}, {found.kit_b} by "
            f"{listed(when.readers_b)}: the difference is of kit and eye together.",
            "qualified",
        )
    ]


def _about_new_water(found: LogDifference, two: TwoKits) -> list[Message]:
    changed, t = two.record.events.change_times, found.table["day"].to_numpy(float)
    inside = (changed >= t[0]) & (changed <= t[-1])
    kits = dict.fromkeys(
        group for group, own in zip(two.new_water, inside, strict=True) if own and group is not None
    )
    if len(kits) < 2:
        return []
    return [
        Message(
            "NEW_WATER_SEVERAL_KITS",
            f"New water was read with {listed(tuple(kit_label(*g) for g in kits))}; that is taken "
            "into account.",
        )
    ]


def _slips(found: LogDifference) -> list[Message]:
    rows = found.table[found.table["slip"] & (found.table["of"] != "")]
    if rows.empty:
        return []
    decimals = level_decimals(found)
    names = listed(
        tuple(
            f"{day_text(moment(row.day), found.zone)} ({fixed(row.level, decimals)} {found.unit})"
            for row in rows.itertuples(index=False)
        )
    )
    text = (
        f"The reading of {names} looks like a slip: it counts hardly, and not in the pairs."
        if len(rows) == 1
        else f"The readings of {names} look like slips: they count hardly, and not in the pairs."
    )
    return [Message("POSSIBLE_GROSS", text)]
