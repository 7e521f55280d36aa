"""The pieces of the Test view as HTML: cautions, the level, what was expected, faults."""

from __future__ import annotations

import math
from collections.abc import Sequence

from reef_calc.bench.assessment import Assessment
from reef_calc.bench.handling_faults import HandlingFault
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import TestResult
from reef_calc.bench.replicates import ReplicateCheck
from reef_calc.bench.slips import Slip
from reef_calc.numbers_in_words import decimals_for, fixed, with_interval
from reef_calc.show.level_scale import LevelScale, level_scale_svg
from reef_calc.show.tables import table_html
from reef_calc.show.wording import escape

GENERAL_CAUTIONS = (
    "Gloves and eye protection. Never pipette by mouth.",
    "One syringe and one spoon for one reagent.",
    "Tested water and filter papers never go back into the tank: collect them as the label and "
    "local rules say.",
    "Out of reach of children and animals. In a school the teacher’s risk assessment comes first.",
)
STYLE = """
.rc-bench{padding:6px 14px}
.rc-bench .rc-big{font-size:44px;line-height:1.15;font-weight:650;font-variant-numeric:tabular-nums;
 margin:2px 0 4px;max-width:none}
.rc-bench .rc-big small{font-size:20px;font-weight:400}
.rc-bench .rc-lead{font-size:18px;line-height:1.4;margin:0 0 6px;max-width:60ch}
.rc-bench .rc-waiting{font-size:18px;color:var(--rc-muted);margin:0;max-width:60ch}
.rc-bench .rc-doubt{font-size:17px;line-height:1.4;border-left:3px solid var(--rc-ink);
 padding:4px 0 4px 12px;margin:4px 0;max-width:66ch}
.rc-bench .rc-step{font-size:17px;line-height:1.4;margin:0}
.rc-bench .rc-do{display:flex;gap:10px;margin:2px 0;max-width:66ch;font-size:17px;line-height:1.4}
.rc-bench .rc-do b{min-width:1.4em;text-align:right}
.rc-bench .rc-faults td,.rc-bench .rc-faults th{white-space:normal}
"""


def bench_html(inner: str) -> str:
    """Return a piece of the bench page in its frame.

    Parameters
    ----------
    inner : str
        HTML.

    Returns
    -------
    str
        HTML; empty when there is nothing inside, so that no empty frame is shown.

    Examples
    --------
    >>> bench_html("")
    ''
    """
    return f'<div class="rc rc-bench">{inner}</div>' if inner else ""


def cautions_html(kit: Kit) -> str:
    """Return the cautions that stand with the first step: the kit's own first.

    Parameters
    ----------
    kit : Kit
        The kit; its hazards are typed from its label.

    Returns
    -------
    str
        HTML. A kit without typed hazards says so.

    Examples
    --------
    >>> "typed yet" in cautions_html(Kit("acid", "alkalinity", "meter", "dKH"))
    True
    """
    own = kit.hazards or (
        "No hazards of this kit are typed yet: read its label, and add them to kits.toml.",
    )
    lines = "".join(f"<li><b>{escape(text)}</b></li>" for text in own)
    lines += "".join(f"<li>{escape(text)}</li>" for text in GENERAL_CAUTIONS)
    return f'<div class="rc-caution" role="note" aria-label="Cautions"><ul>{lines}</ul></div>'


def result_html(found: Assessment, aims: tuple[float | None, float | None]) -> str:
    """Return the level in large letters, with what it means.

    Parameters
    ----------
    found : Assessment
        The typed entry, judged.
    aims : tuple of float or None
        Lower and upper aim in the kit's unit; None where there is none or for other water.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> kit = Kit("probe", "pH", "meter", "pH")
    >>> "Type what" in result_html(Assessment(kit), (None, None))
    True
    """
    if found.refusal:
        return f'<p class="rc-doubt"><b>No level yet.</b> {escape(found.refusal)}</p>'
    if found.result is None:
        return '<p class="rc-waiting">Type what the kit shows; the level appears here.</p>'
    result = found.result
    if result.limit:
        number, spread = result.text.removesuffix(result.unit).strip(), ""
    else:
        shown = with_interval(result.level, result.level - result.U, result.level + result.U)
        number, _, rest = shown.partition(" ±")
        spread = f" ±{rest}" if rest else ""
    parts = [
        f'<p class="rc-big">{escape(number)}<small>{escape(spread)} {escape(result.unit)}</small></p>'
    ]
    notes = []
    if found.corrected is not None:
        digits = decimals_for(result.u if math.isfinite(result.u) else abs(found.corrected) / 100)
        notes.append(
            f"With the kit’s correction {fixed(found.corrected, digits)} {found.kit.unit}. The log "
            "keeps what was read and corrects it itself."
        )
    notes.append(_against_aims(found, aims))
    if found.kit.sd_is_default:
        notes.append(
            "± is the usual scatter of such kits, not yours: read one water several times."
        )
    if not result.limit:
        notes.append("± is the expanded uncertainty (k = 2, about 95 %).")
    parts += [f'<p class="rc-lead">{escape(note)}</p>' for note in notes[:2] if note]
    parts += [f'<p class="rc-small">{escape(note)}</p>' for note in notes[2:] if note]
    return "".join(parts)


def _against_aims(found: Assessment, aims: tuple[float | None, float | None]) -> str:
    low, high = aims
    result = found.result
    if result is None or (low is None and high is None):
        return ""
    level = result.level if found.corrected is None else found.corrected
    half = result.U if math.isfinite(result.U) else 0.0
    top = result.upper if result.limit == "between" else level
    told = " to ".join(f"{v:.4g}" for v in (low, high) if v is not None)
    unit = found.kit.unit
    if low is not None and top < low and result.limit != ">":
        sure = "Below" if top + half < low else "Below, or just inside,"
        return f"{sure} the aims {told} {unit}."
    if high is not None and level > high and result.limit != "<":
        sure = "Above" if level - half > high else "Above, or just inside,"
        return f"{sure} the aims {told} {unit}."
    if result.limit:
        return f"The aims are {told} {unit}."
    return f"Inside the aims {told} {unit}."


def slip_html(slip: Slip) -> str:
    """Return one thing that looks wrong, to be answered before saving.

    Parameters
    ----------
    slip : Slip
        What looks wrong.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> slip_html(Slip("jump", "Far off."))
    '<p class="rc-doubt"><b>Look again.</b> Far off.</p>'
    """
    return f'<p class="rc-doubt"><b>Look again.</b> {escape(slip.sentence)}</p>'


def expected_html(
    found: Assessment,
    words: Sequence[str],
    scale: LevelScale,
    earlier: Sequence[tuple[str, str, str]],
) -> str:
    """Return what the last readings and the tank's use would lead one to expect.

    Parameters
    ----------
    found : Assessment
        The typed entry, judged.
    words : sequence of str
        Where the expectation comes from.
    scale : LevelScale
        Levels on one line.
    earlier : sequence of (str, str, str)
        Time, level and kit of the last readings, newest first.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> "Nothing" in expected_html(Assessment(Kit("a", "pH", "meter", "pH")), (), LevelScale(""), ())
    True
    """
    lead = " ".join(words) or "Nothing is known yet that would let a level be expected."
    parts = ["<h2>What was to be expected</h2>"]
    if found.surprise:
        side = "higher" if found.surprise == "high" else "lower"
        lead = f"This is {side} than expected. {lead}"
    parts += [f"<p>{escape(lead)}</p>", level_scale_svg(scale)]
    if earlier:
        parts.append(table_html("Last readings", ("When", "Level", "Kit"), earlier, texts=(2,)))
    return "".join(parts)


def faults_html(faults: Sequence[HandlingFault], direction: str) -> str:
    """Return the slips of the hand that would move a level this way.

    Parameters
    ----------
    faults : sequence of HandlingFault
        Those that fit.
    direction : {"high", "low"}
        Which way the level surprises.

    Returns
    -------
    str
        HTML; empty without any.

    Examples
    --------
    >>> faults_html((), "high")
    ''
    """
    if not faults:
        return ""
    rows = [(fault.words, fault.check) for fault in faults]
    side = "too high" if direction == "high" else "too low"
    table = table_html(
        "None of these is known to have happened", ("May have happened", "How to find out"),
        rows, texts=(0, 1),
    )  # fmt: skip
    return (
        f"<h2>What makes this kind of test read {side}</h2>"
        "<p>Test once more with a fresh sample before you change a dose. The tank may also truly "
        f"have changed.</p><div class=rc-faults>{table}</div>"
    )


def kept_html(
    read: Sequence[tuple[TestResult, str]], agreement: ReplicateCheck | None, what: str = ""
) -> str:
    """Return the readings of this sitting that are kept and not saved yet.

    Parameters
    ----------
    read : sequence of (TestResult, str)
        Each with its raw entry in words.
    agreement : ReplicateCheck or None
        Whether they agree.
    what : str, optional
        Kit, water and lot they belong to.

    Returns
    -------
    str
        HTML; empty without any.

    Examples
    --------
    >>> kept_html((), None)
    ''
    """
    if not read:
        return ""
    lines = "".join(f"<li>{escape(r.text)} ({escape(raw)})</li>" for r, raw in read)
    told = f'<p class="rc-lead">{escape(agreement.sentence)}</p>' if agreement else ""
    return (
        f"<h2>Kept, not saved yet: {escape(what)}</h2><ol>{lines}</ol>{told}"
        '<p class="rc-small">All are saved, each as read; the log weighs them together.</p>'
    )
