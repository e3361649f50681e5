"""``rigging pounds``: dial readings to a tension with uncertainty."""

from __future__ import annotations

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
    day,
    only_one,
    put_csv,
    put_json,
)


def pounds(
    dials: Annotated[list[float], typer.Argument(help="Dial readings taken at one place.", show_default=False)],
    card: CardFile,
    riser: Riser,
    cable: CableSize,
    serial: Serial = None,
    on: OnDay = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Dial to pounds with the instrument's own card, several readings as one figure with its uncertainty.

    Example: rigging pounds 30 31 29 --card examples/reedling/card-0417.yaml --riser 2 --cable 5/32 --on 2026-11-25
    """
    from rigging.measure.card import load_card
    from rigging.measure.reading import read_tension
    from rigging.units import parse_size

    only_one(as_json, as_csv)
    size = parse_size(cable)
    loaded = load_card(card)
    if serial is not None:
        loaded.need_serial(serial)
    tension = read_tension(loaded, riser, size, dials, day(on))
    if as_json:
        from rigging.report import as_json as view

        put_json(view.pounds(tension))
    elif as_csv:
        rows = [{"dial": d, "tension_lbf": t} for d, t in zip(tension.dials, tension.readings_lbf, strict=True)]
        put_csv(rows, ["dial", "tension_lbf"])
    else:
        from rigging.report.text.console import console
        from rigging.report.text.facts import show_pounds

        show_pounds(console(), tension, si)
    return 0
