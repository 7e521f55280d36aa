"""The amount of each dose as the log keeps it: units asked, drops, sums of a day, parts of a week."""

from __future__ import annotations

import math
from collections import defaultdict

from reef_calc.log.foreign.dose import Dose, DosesFound
from reef_calc.log.foreign.dose_units import drop_question, unit_question
from reef_calc.log.foreign.outcome import Said
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.messages import Message


def amounts_worked_out(doses: list[Dose], found: DosesFound) -> list[Dose]:
    """Return the doses whose amount can be kept, in a unit of their supplement.

    Parameters
    ----------
    doses : list of Dose
        Doses whose supplement is known.
    found : DosesFound
        The table; marks, notes and questions are added to it.

    Returns
    -------
    list of Dose
        With unit and amount, per day or once.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.body import Body
    >>> amounts_worked_out([], DosesFound(Body("a.csv", (), (), ()), example_tank(), {}))
    []
    """
    bare: dict[int, list[Dose]] = defaultdict(list)
    for dose in doses:
        if not dose.unit and dose.cell.number:
            bare[dose.column.index].append(dose)
    for group in bare.values():
        own = {found.tank.supplements[dose.supplement].unit for dose in group}
        question = unit_question(
            group[0].column, [dose.number.value for dose in group], found.rows(group),
            own.pop() if len(own) == 1 else "", found.answers,
        )  # fmt: skip
        found.questions[question.key] = question
        unit = question.answered or question.assumed
        for dose in group:
            dose.unit = unit
            if not unit:
                found.mark(dose, Said("asked", "UNIT", "In which unit?", "", question.key))
    by_drops: dict[str, list[Dose]] = defaultdict(list)
    for dose in doses:
        if dose.unit == "drops":
            by_drops[dose.supplement].append(dose)
    volume: dict[str, float] = {}
    for supplement, group in by_drops.items():
        drops = [dose.number.value * dose.cell.doses for dose in group]
        question, volume[supplement] = drop_question(
            supplement, drops, found.rows(group), found.answers
        )
        found.questions[question.key] = question
        for dose in group:
            if math.isnan(volume[supplement]):
                found.mark(dose, Said("asked", "DROPS", "How much is a drop?", "", question.key))
        if question.answered:
            found.notes.append(
                Message(
                    "DROPS",
                    f"{sum(drops):g} drops of “{supplement}” at {volume[supplement]:g} mL are "
                    f"{sum(drops) * volume[supplement]:.6g} mL.",
                )
            )
    return [dose for dose in doses if _finished(dose, volume, found)]


def _finished(dose: Dose, volume: dict[str, float], found: DosesFound) -> bool:
    """Work out one amount as the log keeps it; return whether it can be kept."""
    if not dose.cell.number:
        dose.unit = dose.unit or found.tank.supplements[dose.supplement].unit
        return dose.how == "not logged"
    dose.amount = dose.number.value
    plain = dose.cell.plain
    if not plain:
        # Twelve digits: below what any scale shows, above what the machine adds.
        dose.amount = float(
            f"{dose.amount * dose.cell.factor * dose.cell.doses / dose.cell.days:.12g}"
        )
    if dose.unit == "drops":
        dose.amount = float(f"{dose.amount * volume[dose.supplement]:.12g}")
        dose.unit = "" if math.isnan(dose.amount) else "mL"
        plain = False
    if not dose.unit or not math.isfinite(dose.amount):
        return False
    own = found.tank.supplements[dose.supplement].unit
    if dose.unit not in (("mL", "L") if own == "mL" else ("g", "kg")):
        said = Said(
            "refused", "OTHER_KIND",
            f"“{dose.supplement}” is described in {own}, and the dose is in {dose.unit}.",
            f"A mL is not a gram: write it in {own}, or choose another supplement.",
        )  # fmt: skip
        found.mark(dose, said)
        return False
    if not plain:
        text = found.body.texts[dose.column.index][dose.at].strip()
        beside = found.body.text("how", dose.at) if dose.cell.days > 1 and not dose.cell.how else ""
        dose.remark = f"written as {text} {beside}".strip()
        kept = f"{number_text(dose.amount)} {dose.unit} {dose.how}".strip()
        if dose.cell.days > 1:
            kept += f", spread evenly over {dose.cell.days} days"
        found.mark(dose, Said("read", "WORKED_OUT", f"“{text[:60]}” is kept as {kept}."))
    return True
