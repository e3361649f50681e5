"""``rigging dial``: what the dial must show."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsJson, CableSize, CardFile, OnDay, Riser, Serial, Si, day, put_json


def dial(
    card: CardFile,
    riser: Riser,
    cable: CableSize,
    tension: Annotated[str | None, typer.Argument(help="Tension to set, like 40lbf.", show_default=False)] = None,
    band: Annotated[str | None, typer.Option(help="A whole band, like '30..40 lbf', for a dial window.")] = None,
    serial: Serial = None,
    on: OnDay = None,
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """The dial reading to aim for at a tension, and the dial window of a band.

    Example: rigging dial 40lbf --card examples/reedling/card-0417.yaml --riser 2 --cable 5/32 --band "35..45 lbf" --on 2026-11-25
    """
    from rigging.bands import parse_band
    from rigging.errors import UsageError
    from rigging.hardware.cable import strongest
    from rigging.measure.card import dial_window, lbf_to_dial, load_card
    from rigging.units import parse_force_lbf, parse_size

    if tension is None and band is None:
        raise UsageError("give a tension like 40lbf, a --band like '30..40 lbf', or both")
    size = parse_size(cable)
    wanted = None if band is None else parse_band(band)
    aim_lbf = parse_force_lbf(tension) if tension is not None else wanted.target_lbf if wanted else None
    loaded = load_card(card)
    if serial is not None:
        loaded.need_serial(serial)
    column = loaded.column(riser, size)
    if (held := strongest(size)) is not None:
        for what, asked_lbf in (("a tension", aim_lbf), ("a high limit", wanted and wanted.high_lbf)):
            if asked_lbf is not None:
                held.check_rigging_load(asked_lbf, what)
    aim = None if aim_lbf is None else lbf_to_dial(column, aim_lbf)
    window = None if wanted is None else dial_window(column, wanted.low_lbf, wanted.high_lbf, loaded.division)
    in_date = loaded.in_date(day(on))
    if as_json:
        from rigging.report import as_json as view

        put_json(
            view.dial(
                column.label,
                loaded.serial,
                in_date,
                aim,
                window,
                aim_lbf,
                str(loaded.source),
                loaded.source.basis.value,
            )
        )
        return 0
    from rigging.report.text.console import console
    from rigging.report.text.facts import show_dial

    notes = [] if in_date else [f"card {loaded.serial} was due on {loaded.due}: not for sign-off"]
    if not loaded.source.acceptable:
        notes.append(f"card {loaded.serial} is from {loaded.source.basis.value}: not for sign-off")
    if wanted is not None and wanted.reference_degF is not None:
        notes.append("the band was taken as it stands: move it to today's temperature first (rigging limits)")
    show_dial(console(), loaded, column, aim, window, aim_lbf, notes, si)
    return 0
