"""A hanging-weight check on a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from rigging.jobs.weigh import IN_WORDS, Weighed, WeighResult
from rigging.judge.verdict import Word
from rigging.report.text.console import listing, marked, table
from rigging.told import shown
from rigging.units import force_unit, show_force

_STYLE = {Word.IN: "bold green", Word.OUT: "bold red", Word.RE_MEASURE: "bold yellow"}
_MARKS = {Word.IN: "✓", Word.OUT: "✗", Word.RE_MEASURE: "?"}
_ASCII_MARKS = {Word.IN: "+", Word.OUT: "X", Word.RE_MEASURE: "?"}


def show_weigh(out: Console, result: WeighResult, si: bool = False) -> None:
    """The word for the instrument, every load, the reasons, what they rest on."""
    stated = f"its stated {100 * result.card.accuracy:g} %"
    heading = {
        Word.IN: f"in {stated} at every load",
        Word.OUT: f"out of {stated}",
        Word.RE_MEASURE: f"cannot be decided: in {stated} or not",
    }[result.word]
    out.print(Text(_marked(out, result.word, heading), style=_STYLE[result.word]))
    out.print(_worst(result, si))
    rows = table("load", "dial", "card", f"off {force_unit(si)}", "+- (95 %)", "stated", "verdict")
    for w in result.loads:
        rows.add_row(*_cells(w, _marked(out, w.word, IN_WORDS[w.word]), si))
    out.print(rows)
    card = result.card
    column = card.column(result.riser, result.size)
    out.print(f"card of tensiometer {card.serial}, {column.label}, due {card.due}: {card.source}")
    why = [f"{show_force(w.weighing.load.load_lbf, si)}: {shown(w.reason, si)}" for w in result.loads]
    listing(out, "Why", why, si=si)
    listing(out, "Note", result.notes, si=si)
    listing(out, "Rests on", result.assumptions, si=si)


def _marked(out: Console, word: Word, words: str) -> str:
    return marked(out, _MARKS[word], _ASCII_MARKS[word], words)


def _worst(result: WeighResult, si: bool) -> str:
    worst = result.worst
    at = f"at {show_force(worst.load.load_lbf, si)}"
    if worst.difference_lbf == 0 and worst.outside is None:
        return "the card reads what hangs there, at every load"
    way = "low" if worst.difference_lbf < 0 else "high"
    more = " or more" if (worst.outside == "under") == (way == "low") and worst.outside is not None else ""
    return (
        f"furthest off {at}: {show_force(abs(worst.difference_lbf), si)}{more}, {100 * abs(worst.share):.1f} %, {way}"
    )


def _cells(w: Weighed, verdict: str, si: bool) -> tuple[str, ...]:
    weighing = w.weighing
    sign = {"under": "<", "over": ">", None: ""}[weighing.outside]
    off = show_force(weighing.difference_lbf, si, unit=False)
    return (
        show_force(weighing.load.load_lbf, si),
        " ".join(f"{dial:g}" for dial in weighing.load.dials),
        sign + show_force(weighing.tension.tension_lbf, si),
        sign + (off if off.startswith("-") or float(off) == 0 else f"+{off}"),
        show_force(weighing.uncertainty_lbf, si, unit=False),
        show_force(w.allowed_lbf, si, unit=False),
        verdict,
    )
