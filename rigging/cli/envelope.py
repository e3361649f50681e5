"""``rigging envelope``: tension from the coldest to the hottest day."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import (
    AsCsv,
    AsJson,
    Replace,
    SheetFile,
    Si,
    keep_older,
    once,
    only_one,
    put_csv,
    put_json,
    talk,
)

if TYPE_CHECKING:
    from rigging.jobs.envelope_parts import EnvelopeResult
    from rigging.sheet.rig import Rig


def envelope(
    sheet: SheetFile,
    circuit: Annotated[
        str | None,
        typer.Argument(help="One circuit, like aileron; all where left out.", autocompletion=completion.circuits),
    ] = None,
    tension: Annotated[
        list[str] | None,
        typer.Option(
            help="Rigging tension of one cable at reference: 'left=35lbf'. Repeat for others.",
            autocompletion=completion.run_figures,
        ),
    ] = None,
    set_: Annotated[
        str | None, typer.Option("--set", help="Rigging tension of all cables at reference, like 35lbf.")
    ] = None,
    pilot_force: Annotated[
        str | None,
        typer.Option(
            help="Show the window that no cable leaves slack under this force, like 40lbf: at the hand with "
            "a 'pilot:' block in the sheet, else in the cable."
        ),
    ] = None,
    limit: Annotated[str | None, typer.Option(help="The most any cable may have in that window, like 150lbf.")] = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--output", help="Draw it into a file, FILE.svg or FILE.png.", readable=False)
    ] = None,
    replace: Replace = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Every cable from the coldest to the hottest day: tension, limits, where it hangs slack, and a picture.

    Rigged to the target of its limits where neither --tension nor --set is given. In JSON every circuit stands under
    'circuits'; the keys of a single one stand at the top as well.

    Exit code 0: tight and in its limits on every day. 1: slack or out of limits on some day, limits that are refused
    on some day, no tension known, or an empty window.

    Example: rigging envelope examples/harbour/sheet.yaml aileron
    """  # fmt: skip
    from rigging.errors import UsageError
    from rigging.jobs.envelope import envelope as through_the_year
    from rigging.jobs.envelope_parts import Asked
    from rigging.report.pictures.files import check_ending
    from rigging.sheet.load import load_rig
    from rigging.units import parse_force_lbf

    def force(option: str, text: str | None) -> float | None:
        if text is None:
            return None
        value_lbf = parse_force_lbf(text)
        if not value_lbf > 0:
            raise UsageError(f"{option} {text}: a force above zero is needed")
        return value_lbf

    only_one(as_json, as_csv)
    if out is not None:
        check_ending(out)
        keep_older(out, replace)
    single = [(text.rpartition("=")[0].strip(), force("--tension", text.rpartition("=")[2])) for text in tension or ()]
    set_lbf, pilot_force_lbf, limit_lbf = (
        force("--set", set_),
        force("--pilot-force", pilot_force),
        force("--limit", limit),
    )
    rig = load_rig(sheet)
    tensions_lbf = once("--tension", ((_label(rig, circuit, name), v) for name, v in single if v is not None))
    result = through_the_year(rig, circuit, Asked(set_lbf, tensions_lbf, pilot_force_lbf, limit_lbf))
    if out is not None:
        keep_older(out, replace)  # it may have come into being meanwhile
        _draw(result, out, si)
    if as_json or as_csv:
        from rigging.report import envelope_data as view

        if as_json:
            put_json(view.envelope(result))
        else:
            put_csv(view.envelope_rows(result), list(view.COLUMNS))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.envelope import show_envelope

        show_envelope(console(), result, si)
    return 1 if result.found else 0


def _label(rig: Rig, circuit: str | None, name: str) -> str:
    """``aileron / left`` for ``left``, where one circuit has that cable."""
    from rigging.errors import UsageError, nearest

    if not name:
        raise UsageError("--tension needs a cable and a tension: write it like 'left=35lbf'")
    runs = [run for run in rig.runs if circuit is None or run.circuit == circuit]
    found = [run.label for run in runs if name in (run.name, run.label)]
    if not found:
        raise UsageError(f"--tension: no cable '{name}' here{nearest(name, [run.name for run in runs])}")
    if len(found) > 1:
        raise UsageError(f"--tension: '{name}' may be {' or '.join(found)}: write it like '{found[0]}=35lbf'")
    return found[0]


def _draw(result: EnvelopeResult, path: Path, si: bool) -> None:
    from rigging.errors import Refusal
    from rigging.report.pictures.envelope import footer, panel
    from rigging.report.pictures.files import save

    panels = [
        panel(c, result.rig.file.aircraft.name, si) for c in result.circuits if any(r.tensions_lbf for r in c.runs)
    ]
    if not panels:
        raise Refusal(f"{path}: nothing to draw, for no rigging tension is known: give --set or --tension")
    save(path, panels, footer(result))
    talk(f"written: {path}")
