"""``rigging log``: write in the log of an aircraft, read it, verify it, take it elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from rigging.cli import completion, log_chain
from rigging.cli.exits import Group
from rigging.cli.options import (
    AsCsv,
    AsJson,
    LogOrSheet,
    LogPlace,
    OnDay,
    SheetFile,
    Si,
    Who,
    day_given,
    explain,
    only_one,
    put_csv,
    put_json,
    talk,
)

app = typer.Typer(cls=Group, rich_markup_mode=None, help="The record of an aircraft: write in it, read it, verify it.")
LARGEST_PIPED_BYTES = 20_000_000  # far above what an entry may have, which has words of its own
MOST_ENTRIES = 10**15
# files and single answers of a session: asked for by --kind, and noise in a list
UNSEEN = ("document", "answer")


@app.command(
    cls=completion.EntryCommand,
    context_settings={"allow_extra_args": True, "ignore_unknown_options": True},
    short_help="Write an entry of a kind.",
)
def add(
    context: typer.Context,
    kind: Annotated[
        str,
        typer.Argument(
            help="What is written: see 'rigging log kinds'.", show_default=False, autocompletion=completion.kinds
        ),
    ],
    sheet: SheetFile,
    who: Who = None,
    circuit: Annotated[str, typer.Option(help="The circuit it belongs to.", autocompletion=completion.circuits)] = "",
    given: Annotated[
        Path | None,
        typer.Option("--from", help="The fields as a JSON object, in a file, or - for standard input.", readable=False),
    ] = None,
    on: OnDay = None,
    clock_is_right: Annotated[
        bool,
        typer.Option(
            "--clock-is-right", help="With a note: write although the last entry lies ahead; its clock was wrong."
        ),
    ] = False,
    log_at: LogPlace = None,
    as_json: AsJson = False,
) -> int:
    """Write an entry in the log: fields as flags, from JSON, or asked for at a terminal.

    Exit code 0: written. 1: written, and it is a finding, like a reversed control. Fields: 'rigging log kinds KIND'.

    Example: rigging log add note examples/reedling/sheet.yaml --who "A. Finch" --text "wing folded"
    """
    import sys

    from rigging.cli.ask import ask_line
    from rigging.cli.given import from_flags, instead_of
    from rigging.cli.log_place import log_of, tell_first, who_writes
    from rigging.cli.questions import missing, questions
    from rigging.errors import Refusal, UsageError
    from rigging.jobs.entering import enter
    from rigging.jobs.judgement import closing
    from rigging.log.kinds import BY_SESSION, CORRECTION, kind_named
    from rigging.sheet.load import load_rig

    needed = kind_named(kind)
    if kind in BY_SESSION:
        raise Refusal(f"'{kind}' entries are written by 'rigging session' as it goes")
    if clock_is_right and kind != "note":
        raise UsageError("--clock-is-right goes with a note that says which entry was dated by a wrong clock")
    if given is not None and context.args:
        raise UsageError("fields come from --from or from flags: keep one")
    fields: dict[str, Any] = from_flags(needed, context.args) if given is None else _given_of(given)
    of_day = day_given(on)
    rig = load_rig(sheet)
    if given is None and sys.stdin.isatty():
        who = who_writes(who)
        circuit = _ask_circuit(rig, circuit, needed.of_circuit)
        talk("Enter leaves a field in brackets out; Ctrl-C leaves without writing anything.")
        asked = [key for key in missing(needed, fields) if (kind, key) != (CORRECTION, "instead")]
        for question in questions(needed, asked, fields, rig, circuit):
            question.answer(fields, ask_line)
        if kind == CORRECTION and "instead" not in fields:
            fields |= _ask_instead()
    who = who_writes(who)
    place = "the fields" if given is None else str(given)
    with log_of(rig, log_at, create=True) as log:
        if given is None and "instead" in fields:
            if not isinstance(fields.get("corrects"), int):
                raise UsageError("--instead needs --corrects: the number of the entry that is wrong")
            fields["instead"] = instead_of(log.entry(fields["corrects"]), fields["instead"])
        entry = enter(log, rig, kind, circuit, fields, who, place, clock_is_right=clock_is_right, on=of_day)
        tell_first(log, entry)
    judged = entry.payload["judged"]
    if as_json:
        from rigging.report.log_data import entry as view

        put_json(view(entry))
    else:
        talk(
            f"written: #{entry.sequence} {entry.kind}{f' of {circuit}' if circuit else ''} by {entry.who}: {judged['verdict']}"
        )
        for reason in judged["reasons"]:
            explain(reason, "  ")
    return 0 if closing(judged["verdict"], judged["usable_for_sign_off"]) else 1


def _given_of(path: Path) -> dict[str, Any]:
    import sys

    import msgspec

    from rigging.errors import BadFile
    from rigging.yamlfile import read_text

    piped = sys.stdin.buffer.read(LARGEST_PIPED_BYTES + 1) if str(path) == "-" else None
    if piped is not None and len(piped) > LARGEST_PIPED_BYTES:
        raise BadFile.one(path, f"is larger than {LARGEST_PIPED_BYTES} bytes: are these the fields of an entry?")
    try:
        return msgspec.json.decode(read_text(path, piped), type=dict[str, Any])
    except (msgspec.MsgspecError, RecursionError) as error:
        raise BadFile.one(path, f"is no JSON object with the fields of the entry ({error})") from None


def _ask_instead() -> dict[str, list[str]]:
    """What holds instead of a wrong entry, as ``name=value``; nothing where it is withdrawn."""
    from rigging.cli.ask import ask_line

    changes: list[str] = []
    while change := ask_line("  [instead] (like half_turns=-1; Enter: nothing more): "):
        if "=" in change:
            changes.append(change)
        else:
            explain("write the name of the field, =, and what it should have been", "  ")
    return {"instead": changes} if changes else {}


def _ask_circuit(rig: object, circuit: str, needed: bool) -> str:
    from rigging.cli.ask import choose

    names = list(rig.file.circuits)  # type: ignore[attr-defined]
    return circuit if circuit or not needed else choose("Circuit", names)


@app.command(short_help="What can be written, field by field.")
def kinds(
    kind: Annotated[
        str | None,
        typer.Argument(
            help="One kind; all of them where left out.", show_default=False, autocompletion=completion.kinds
        ),
    ] = None,
    as_json: AsJson = False,
) -> int:
    """What can be written in a log, with the fields of each kind and their units.

    Example: rigging log kinds adjustment
    """
    from rigging.log.kinds import KINDS, kind_named
    from rigging.report import log_data as view

    shown = [view.kind(k) for k in (KINDS.values() if kind is None else [kind_named(kind)])]
    if as_json:
        put_json(shown)
        return 0
    from rigging.report.text.console import console
    from rigging.report.text.log import show_kinds

    show_kinds(console(), shown)
    return 0


@app.command("list", short_help="The entries, a line each.")
def list_(
    sheet: LogOrSheet,
    circuit: Annotated[
        str | None, typer.Option(help="Entries of one circuit.", autocompletion=completion.circuits)
    ] = None,
    kind: Annotated[str | None, typer.Option(help="Entries of one kind.", autocompletion=completion.every_kind)] = None,
    last: Annotated[int | None, typer.Option(min=1, help="So many of the newest.")] = None,
    log_at: LogPlace = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """The entries of a log, a line each: when, who, what, and what it came to.

    Example: rigging log list examples/harbour/sheet.yaml
    """
    from collections import deque

    from rigging.cli.log_place import log_named
    from rigging.report import log_data as view

    only_one(as_json, as_csv)
    log, aircraft = log_named(sheet, log_at)
    with log:
        found = log.entries(aircraft=aircraft, kinds=None if kind is None else {kind}, circuit=circuit)
        wanted = deque((e for e in found if kind is not None or e.kind not in UNSEEN), maxlen=last)
    rows = [view.line(entry) for entry in wanted]
    if as_json:
        put_json(rows)
    elif as_csv:
        put_csv(rows, view.LINE)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.log import show_lines

        show_lines(console(), rows, si)
    return 0


@app.command(short_help="One entry whole; --recompute runs its sum again.")
def show(
    sheet: LogOrSheet,
    sequence: Annotated[
        int, typer.Argument(help="The number of the entry.", show_default=False, min=1, max=MOST_ENTRIES)
    ],
    recompute: Annotated[bool, typer.Option("--recompute", help="Run the same sum again, and compare.")] = False,
    log_at: LogPlace = None,
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """One entry whole. With --recompute its sum is run again from what the log holds, and compared.

    Exit code 1: with --recompute, where the verdict does not stand.

    Example: rigging log show examples/harbour/sheet.yaml 5 --recompute
    """
    from rigging.cli.log_place import log_named
    from rigging.jobs.kept import KeptRigs
    from rigging.jobs.recorded_check import recompute as run_again
    from rigging.jobs.retold import retold
    from rigging.report import as_json as views
    from rigging.report import log_data as view

    log, _ = log_named(sheet, log_at)
    with log:
        entry = log.entry(sequence)
        again = run_again(log, sequence, views.check) if recompute else None
        made = retold(log, entry, KeptRigs(log).of) if si else []
    if as_json:
        put_json({**view.entry(entry), "recomputed": again})
    else:
        from rigging.report.text.console import console
        from rigging.report.text.log import show_entry

        show_entry(console(), entry, again, si, made)
    return 1 if again is not None and not again.stands else 0


app.command(short_help="Whether its entries still seal one another.")(log_chain.verify)
app.command(short_help="The whole log as JSON Lines or CSV.")(log_chain.export)
app.command("import", short_help="Take in an exported log, after verifying it.")(log_chain.import_)
