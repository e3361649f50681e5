"""``rigging weigh``: a tensiometer held to its stated accuracy by hanging weights."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli.options import (
    AsCsv,
    AsJson,
    CableSize,
    CardFile,
    OnDay,
    Riser,
    Serial,
    Si,
    Who,
    day,
    only_one,
    put_csv,
    put_json,
    talk,
)


def weigh(
    card: CardFile,
    riser: Riser,
    cable: CableSize,
    at: Annotated[
        list[str] | None,
        typer.Option(
            help="One load and what the dial showed: '30 lbf: 27 27 28'. Three loads or more.", show_default=False
        ),
    ] = None,
    weight_accuracy: Annotated[str, typer.Option(help="How far the weights may be off, like 0.5%.")] = "0.5%",
    band: Annotated[
        str | None, typer.Option(help="The tension that matters, like '30..40 lbf': do the loads bracket it?")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help="Write the corrected card to this new file.", show_default=False, readable=False
        ),
    ] = None,
    due: Annotated[
        str | None, typer.Option(help="Until when the new card may be used; the old card's day where left out.")
    ] = None,
    who: Who = None,
    serial: Serial = None,
    on: OnDay = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Check a tensiometer with weights hung on the cable: in its stated accuracy, out of it, or not to be decided.

    With -o a corrected card is written, of the one column that was weighed, and never over a file that is there.
    Exit code 0: in at every load, and the loads bracket the band. 1: anything else.

    Example: rigging weigh --card examples/reedling/card-0417.yaml --riser 2 --cable 5/32 --at "40 lbf: 15 15 15"
    --at "60 lbf: 25 25 26" --at "80 lbf: 32 33 33" --band "45..55 lbf" --on 2026-11-25
    """
    from rigging.bands import parse_band
    from rigging.clock import parse_day
    from rigging.errors import UsageError
    from rigging.jobs.weigh import weigh_instrument, write_card
    from rigging.measure.card import load_card
    from rigging.measure.weigh import parse_load
    from rigging.units import parse, parse_size

    only_one(as_json, as_csv)
    size = parse_size(cable)
    share = parse("share", weight_accuracy)
    wanted = None if band is None else parse_band(band)
    until = None if due is None else parse_day(due)
    if due is not None and output is None:
        raise UsageError("--due belongs to a new card: name its file with -o")
    hung = [parse_load(text) for text in at or ()]
    loaded = load_card(card)
    if serial is not None:
        loaded.need_serial(serial)
    result = weigh_instrument(loaded, riser, size, hung, share, wanted, day(on))
    made = None
    if output is not None:
        from rigging.cli.log_place import who_writes

        made = write_card(output, result, who_writes(who), until)
    if as_json or as_csv:
        from rigging.report import weigh_data as view

        if as_json:
            put_json(view.weigh(result, made, None if output is None else str(output)))
        else:
            put_csv([view.row(w) for w in result.loads], view.ROW_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.weigh import show_weigh

        show_weigh(console(), result, si)
    if made is not None:
        talk(
            f"written: {output}, {made.columns[0].label} alone, accuracy {100 * made.accuracy:.1f} %, due {made.due}; "
            "other columns were not checked and are left out"
        )
    return 1 if result.finding else 0
