"""``rigging pluck``: the sound of a span instead of a tensiometer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli.options import AsCsv, AsJson, CableSize, Construction, Material, Si, only_one, put_csv, put_json
from rigging.cli.span_options import USUAL_SPAN_WITHIN, Span, SpanWithin, TodaysBand

if TYPE_CHECKING:
    from rigging.jobs.pluck_sound import Heard
    from rigging.physics.pluck import Mode


def pluck(
    span: Span,
    cable: CableSize,
    mode: Annotated[
        list[str] | None,
        typer.Option(help="A mode and its frequency, like 1=21.3Hz; once for each.", show_default=False),
    ] = None,
    wav: Annotated[
        Path | None, typer.Option(help="A recording of the pluck (WAV).", show_default=False, readable=False)
    ] = None,
    expect: Annotated[str | None, typer.Option(help="Tensions to look for in a recording, like '20..60 lbf'.")] = None,
    band: TodaysBand = None,
    weight: Annotated[
        str | None, typer.Option(help="Weight of the cable, like 2.9 lb/100ft; the table's where left out.")
    ] = None,
    within: Annotated[str, typer.Option(help="How far each frequency of --mode may be off.")] = "0.2 Hz",
    span_within: SpanWithin = USUAL_SPAN_WITHIN,
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Tension and bending stiffness from the frequencies of a plucked span, typed or found in a recording.

    Mode 1 is half a wave in the span, mode 2 a whole one. Two modes or more; one is refused on a short span.
    Exit code 0: a figure that can be used. 1: too loose to use, or not in the band.

    Example: rigging pluck --span 72in --cable 1/8 --mode 1=16.5Hz --mode 2=33.2Hz --mode 3=50.3Hz
    """
    from rigging.bands import parse_band
    from rigging.errors import UsageError
    from rigging.hardware.cable import cable as from_tables
    from rigging.jobs.pluck import pluck as find
    from rigging.jobs.pluck_modes import weight_of
    from rigging.units import parse, parse_length_in

    only_one(as_json, as_csv)
    if (wav is None) == (not mode):
        raise UsageError("give modes, like --mode 1=21.3Hz --mode 2=42.9Hz, or a recording with --wav: one of them")
    if expect is not None and wav is None:
        raise UsageError("--expect says what to look for in a recording: give one with --wav")
    span_in, within_in = parse_length_in(span), parse_length_in(span_within)
    if within_in < 0:
        raise UsageError("how far the span may be off cannot be below zero")
    wire = from_tables(cable, construction, material)
    own = weight_of(wire, None if weight is None else parse("weight of cable", weight))
    wanted = None if band is None else parse_band(band)
    heard: Heard | None = None
    if wav is not None:
        from rigging.jobs.pluck_sound import listen
        from rigging.measure.wav import load_wav

        between = None if expect is None else parse_band(expect)
        look = None if between is None else (between.low_lbf, between.high_lbf)
        heard = listen(load_wav(wav), span_in, wire, own, within_in, look, wanted)
        found = heard.pluck
    else:
        half_width_Hz = parse("frequency", within)
        found = find([_mode(text, half_width_Hz) for text in mode or ()], span_in, wire, own, within_in, wanted)
    if as_json or as_csv:
        from rigging.report import no_gauge_data as view

        if as_json:
            put_json(view.pluck(found, heard))
        else:
            put_csv(view.mode_rows(found), view.MODE_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.no_gauge import show_pluck

        show_pluck(console(), found, heard, si)
    return 0 if found.good else 1


def _mode(text: str, half_width_Hz: float) -> Mode:
    """``1=21.3Hz``. Raises UsageError or UnitError."""
    from rigging.errors import UsageError
    from rigging.measure.uncertainty import rectangular
    from rigging.physics.pluck import Mode
    from rigging.units import parse

    number, sign, frequency = text.partition("=")
    if not sign or not (number.strip().isascii() and number.strip().isdigit()) or len(number.strip()) > 3:
        raise UsageError(f"'{text}' is no mode: write its number and frequency, like 1=21.3Hz")
    return Mode(int(number), parse("frequency", frequency), rectangular(half_width_Hz))
