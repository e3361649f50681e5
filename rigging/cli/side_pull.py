"""``rigging side-pull``: a spring scale and a ruler instead of a tensiometer."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsCsv, AsJson, Construction, Material, Si, only_one, put_csv, put_json
from rigging.cli.span_options import USUAL_SPAN_WITHIN, SpanOrNone, SpanWithin, TodaysBand
from rigging.cli.stretch import CableOrRun, Length, Run, Sheet, stretch_of


def side_pull(
    span: SpanOrNone = None,
    pull: Annotated[
        list[str] | None, typer.Option(help="Pull across the cable, like '1.7 lbf'; once for each.", show_default=False)
    ] = None,
    deflection: Annotated[
        list[str] | None, typer.Option(help="How far it gave way, like '0.6 in'; once for each.", show_default=False)
    ] = None,
    cable: CableOrRun = None,
    length: Length = None,
    sheet: Sheet = None,
    run: Run = None,
    place: Annotated[
        str | None, typer.Option("--place", help="Where it was pulled, from one end; the middle where left out.")
    ] = None,
    band: TodaysBand = None,
    expect: Annotated[
        str | None, typer.Option(help="A tension to expect, like 35lbf: what span and pull to take.")
    ] = None,
    target: Annotated[str, typer.Option(help="The uncertainty to reach with --expect.")] = "15%",
    scale: Annotated[str, typer.Option(help="How far the spring scale may be off, of its reading.")] = "2%",
    division: Annotated[str, typer.Option(help="One division of the spring scale.")] = "0.2 lbf",
    ruler: Annotated[str, typer.Option(help="How far a deflection may be off.")] = "1/32 in",
    span_within: SpanWithin = USUAL_SPAN_WITHIN,
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Tension from pulling a free span sideways: force and deflection, the cable's own stretch and stiffness counted.

    Several pulls of different strength tell the stretch from the tension. With --expect it says what span and pull to
    take. Exit code 0: a figure that can be used. 1: too loose to use, or not in the band.

    Example: rigging side-pull --span 60in --pull "1.7 lbf" --deflection "0.6 in" --pull "2.9 lbf" --deflection
    "0.9 in" --sheet examples/reedling/sheet.yaml --run aileron/left
    """
    from rigging.bands import parse_band
    from rigging.errors import UsageError
    from rigging.jobs.best_pull import best_pull
    from rigging.jobs.side_pull import Pull, Tools
    from rigging.jobs.side_pull import side_pull as find
    from rigging.units import parse, parse_force_lbf, parse_length_in

    only_one(as_json, as_csv)
    pulls, deflections = pull or [], deflection or []
    if len(pulls) != len(deflections):
        raise UsageError(
            f"{len(pulls)} of --pull and {len(deflections)} of --deflection: every pull needs its deflection"
        )
    if not pulls and expect is None:
        raise UsageError("give --pull and --deflection, or --expect to be told what pull to take")
    if pulls and span is None:
        raise UsageError("give the span, like --span 60in: from one thing the cable rests on to the next")
    span_in = None if span is None else parse_length_in(span)
    at_in = None if place is None else parse_length_in(place)
    tools = Tools(
        parse("share", scale), parse_force_lbf(division), parse_length_in(ruler), parse_length_in(span_within)
    )
    wanted = None if band is None else parse_band(band)
    # without a span the recommendation tries several, each with its own open question
    stretch = stretch_of(cable, construction, material, length, sheet, run, span_in or 60.0)
    pairs = [Pull(parse_force_lbf(p), parse_length_in(d)) for p, d in zip(pulls, deflections, strict=True)]
    found = find(pairs, span_in, stretch, tools, at_in, wanted) if pairs and span_in is not None else None
    best = (
        None if expect is None else best_pull(parse_force_lbf(expect), stretch, tools, span_in, parse("share", target))
    )
    if as_json or as_csv:
        from rigging.report import no_gauge_data as view

        if as_json:
            put_json(view.side_pull(found, best, stretch))
        elif found is None:
            raise UsageError("--csv gives one row for each pull: there is none; ask for --json")
        else:
            put_csv(view.pull_rows(found), view.PULL_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.no_gauge import show_side_pull

        show_side_pull(console(), found, best, stretch, si)
    return 0 if (found is None or found.good) and (best is None or best.reaches) else 1
