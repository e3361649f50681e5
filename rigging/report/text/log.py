"""The log on a terminal: what is open first, entries a line each, one entry whole."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, Final

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import CAUTIONS
from rigging.jobs.open_items import RIGGER, Item, Status
from rigging.jobs.recorded_check import Recomputed
from rigging.log.chain import CANNOT_SHOW, ChainState
from rigging.log.contents import check_of, day_of, is_dated_back, misfit
from rigging.log.entry import Entry
from rigging.log.kinds import CHECK
from rigging.report.hidden import shown
from rigging.report.log_data import in_words, verdict
from rigging.report.text.console import listing, table
from rigging.told import quoting, told
from rigging.told import shown as shown_in


def show_status(out: Console, status: Status, si: bool = False, broken: bool = False) -> None:
    """Print what is open, circuit by circuit. broken: whether the log breaks off, so that the rest is not known."""
    count = len(status.open)
    headline = f"{status.aircraft}: {f'{count} open' if count else _nothing(status)}"
    if broken:
        headline = (
            f"{status.aircraft}: THE LOG IS BROKEN; before the break, {f'{count} open' if count else 'nothing open'}"
        )
    out.print(Text(headline, style="bold"))
    for circuit in dict.fromkeys(item.circuit for item in status.open):
        listing(out, circuit, _grouped(status.of_circuit(circuit)), si=si)
    listing(
        out,
        "Programme",
        [f"{d.task.task}{f' ({d.task.circuit})' if d.task.circuit else ''}: {d.words}" for d in status.programme],
    )
    signed = status.last_signature
    listing(
        out,
        "Signatures",
        (
            f"last signed by {signed.who}, {_time(signed.time_utc)} (#{signed.sequence})" if signed else "never signed",
            f"not signed yet: {', '.join(status.unsigned)}" if status.unsigned else "",
        ),
    )
    alone = [f"{label}: alone, by {r.who} (#{r.sequence})" for label, r in status.closed_by.items() if r.alone]
    listing(out, "Inspected without a second person", alone)
    listing(out, "Nothing is recorded of", [f"{name}: {', '.join(words)}" for name, words in status.never.items()])
    if status.without_record:
        listing(out, "No record at all", (", ".join(status.without_record),))
    if not count:
        listing(out, "Cautions", CAUTIONS)


def _nothing(status: Status) -> str:
    if status.without_record:
        return f"nothing open in what was recorded; no record at all of {', '.join(status.without_record)}"
    return "nothing open in what was recorded" if status.never else "nothing open"


def _grouped(items: Sequence[Item]) -> Iterator[str]:
    """Items that are open for one reason, in one line with it."""
    groups: dict[tuple[str, str], dict[str, list[str]]] = {}
    for item in items:
        groups.setdefault((item.why, item.who), {}).setdefault(item.what, []).append(item.of)
    for (why, who), kinds in groups.items():
        names = "; ".join(f"{what} of {', '.join(of)}" if any(of) else what for what, of in kinds.items())
        yield told("{}: {}{}", names, why, "" if who == RIGGER else f"; for {who}")


def _time(time_utc: str) -> str:
    return f"{time_utc[:10]} {time_utc[11:16]} UTC"


def show_lines(out: Console, lines: Sequence[dict[str, Any]], si: bool = False) -> None:
    """Print entries a line each."""
    if not lines:
        out.print("no entries")
        return
    rows = table("#", "UTC", "who", "what", "", fixed=("#", "UTC"))
    for line in lines:
        where = f" {line['circuit']}" if line["circuit"] else ""
        verdict = f"{line['verdict']}: " if line["verdict"] not in ("", "recorded") else ""
        rows.add_row(
            str(line["sequence"]), f"{line['time_utc'][5:10]} {line['time_utc'][11:16]}", shown(line["who"]), f"{line['kind']}{where}",
            f"{verdict}{shown_in(line['words'], si)[:300]}",
        )  # fmt: skip
    out.print(rows)


def show_entry(
    out: Console, entry: Entry, again: Recomputed | None, si: bool = False, made: Sequence[str] = ()
) -> None:
    """Print one entry whole, and whether its sum stands where it was run again.

    made: the sentences it comes to now, for what its own are in SI; the others stand as they were written.
    """
    of = f" of {entry.circuit}" if entry.circuit else ""
    out.print(Text(f"#{entry.sequence} {entry.kind}{of}, {entry.aircraft}", style="bold"))
    of_day = f"of {day_of(entry)}, written " if not misfit(entry) and is_dated_back(entry) else ""
    out.print(f"{of_day}{_time(entry.time_utc)}, {shown(entry.who)}, program {entry.program}")
    listing(out, "Recorded", (shown(in_words(entry)),), si=si)
    readable = not misfit(entry)
    judged = entry.payload.get("judged", {}) if readable else {}
    if "verdict" in judged:
        listing(out, "Result", (verdict(entry), *(quoting(r, made) for r in judged.get("reasons", ()))), si=si)
    for run in check_of(entry).judged.runs if readable and entry.kind == CHECK else ():
        if run.was_read:
            listing(
                out,
                " / ".join(run.where[:2]) + f" {run.station}".rstrip(),
                (quoting(words, made) for words in (run.refusal or "", *run.reasons, run.action)),
                si=si,
            )
    if again is not None:
        stands = "the verdict stands" if again.stands else "THE VERDICT DOES NOT STAND"
        listing(out, "Recalculated", (stands, *again.differences, *again.notes), si=si)
    if si and readable and any(_US.search(shown_in(quoting(words, made), True)) for words in _recorded(entry, judged)):
        listing(
            out, "Note", ["what stands here in US units is shown as it was written: its sum comes to other words now"]
        )
    documents = entry.payload.get("documents", {}) if readable else {}
    listing(out, "Files used", [f"{name}, SHA-256 {sha256}" for name, sha256 in documents.items()], si=si)


_US: Final = re.compile(r"\d (lbf|F|in)\b")


def _recorded(entry: Entry, judged: dict[str, Any]) -> Iterator[str]:
    """The sentences of what an entry came to, as they were written."""
    yield from judged.get("reasons", ())
    for run in check_of(entry).judged.runs if entry.kind == CHECK else ():
        yield from (run.refusal or "", *run.reasons, run.action)


def show_verified(out: Console, place: str, state: ChainState) -> None:
    """Print whether a chain is whole."""
    if state.intact:
        out.print(Text(f"{place}: {state.entries} entries, intact", style="bold"))
    else:
        out.print(Text(f"{place}: BROKEN at entry {state.first_bad_entry}: {state.why}", style="bold"))
        out.print(f"{state.entries} entries before it are whole")
    out.print(f"log seal {state.head_hash}")
    out.print(CANNOT_SHOW)


def show_kinds(out: Console, kinds: Sequence[dict[str, Any]]) -> None:
    """Print kinds with their fields."""

    def wrapped(words: str) -> None:
        first = "  " + words[: len(words) - len(words.lstrip())]
        # a flag is not broken at its hyphens
        lines = textwrap.wrap(
            words.strip(), out.width - 2, initial_indent=first, subsequent_indent=f"{first}  ", break_on_hyphens=False
        )
        for line in lines:
            out.print(line)

    for kind in kinds:
        out.print(Text(kind["kind"], style="bold"))
        wrapped(kind["means"])
        for field in kind["fields"]:
            flag = f"--{field['name'].replace('_', '-')}"
            wrapped(f"  {flag}{'' if field['needed'] else ' (may be left out)'}: {field['written']}")
        wrapped(f"Example: {kind['example']}")
