"""Options of the commands that find a tension on a free span without a tensiometer: side-pull and pluck."""

from __future__ import annotations

from typing import Annotated, Final

import typer

_SPAN: Final = typer.Option("--span", help="Free span between what the cable rests on, like 72in.", show_default=False)

Span = Annotated[str, _SPAN]
SpanOrNone = Annotated[str | None, _SPAN]
SpanWithin = Annotated[str, typer.Option("--span-within", help="How far the span may be off.")]
TodaysBand = Annotated[
    str | None, typer.Option("--band", help="Limits today, like '30..40 lbf': can this decide them?")
]
USUAL_SPAN_WITHIN: Final = "1/2 in"
