"""The page itself: templates filled in with a record and its pictures."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rigging.jobs.record import Record
from rigging.jobs.record_circuit import CircuitRecord
from rigging.jobs.record_story import SettlingRecord
from rigging.log.contents import day_of, is_dated_back
from rigging.report.hidden import shown
from rigging.report.html import figures, settling_words
from rigging.report.log_data import in_words
from rigging.report.pictures import envelope, settle
from rigging.report.pictures.inline import inline_svg

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

Say = Callable[[str], None]
TITLE = 40  # characters of a name that stand above a picture


def page(record: Record, say: Say | None = None) -> str:
    """The record as one HTML file: no script, no link that leaves it, everything a user wrote escaped.

    say: told which pictures are being drawn.
    """
    made = environment()
    style = made.get_template("style.css.jinja").render(record=record, css_string=figures.css_string)
    pictures = Pictures(record, say)
    return (
        made.get_template("page.html.jinja").render(
            record=record, style=_as_it_is(style), pictures=pictures, verdicts=_verdicts(record)
        )
        + "\n"
    )


def _verdicts(record: Record) -> list[tuple[str, int]]:
    """How many runs came to each verdict when they were last read, the worst first."""
    words = [r.shown_word for c in record.circuits for cable in c.cables for r in cable.latest]
    words += ["never read" for c in record.circuits for cable in c.cables if not cable.latest]
    return [
        (word, words.count(word))
        for word in ("out", "re-measure", "refused", "not measured", "never read", "in")
        if word in words
    ]


@cache
def environment() -> Environment:
    """The templates with escaping on; a name that is missing is an error and never an empty place."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    def finish(value: object) -> object:
        # whatever a template prints, no hidden character gets onto the page
        return value if isinstance(value, Markup) else figures.clean(value)

    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=finish,
    )
    filters: dict[str, Callable[..., Any]] = {
        "both": figures.both, "own": figures.own, "when": figures.when, "verdict": figures.verdict, "typed": figures.typed,
    }  # fmt: skip
    made.filters.update(filters)
    made.globals.update(in_words=in_words, settling=settling_words, day_of=day_of, is_dated_back=is_dated_back)
    return made


class Pictures:
    """The pictures of a record, each drawn when its place on the page is reached; none shares an id with another."""

    def __init__(self, record: Record, say: Say | None = None) -> None:
        self._say = say
        self._count = 0
        # a heading of one line, however long the name
        self._aircraft = figures.clean(" ".join(record.name.split()))[:TITLE]

    def seasons(self, circuit: CircuitRecord) -> Markup | None:
        """The envelope of a circuit; None where it cannot be drawn."""
        found = circuit.envelope.circuit if circuit.envelope else None
        if found is None or not any(run.tensions_lbf for run in found.runs):
            return None
        title = f"Tension of {circuit.name} from the coldest to the hottest day"
        ends = [
            f"{run.run.name}: {figures.in_units(run.tensions_lbf[0], 'force')} at the coldest, "
            f"{figures.in_units(run.tensions_lbf[-1], 'force')} at the hottest"
            for run in found.runs
            if run.tensions_lbf
        ]
        return self._drawn(envelope.panel(found, self._aircraft), title, "; ".join(ends))

    def settling(self, told: SettlingRecord) -> Markup | None:
        """How a run settles; None where there is no answer."""
        if told.settled is None:
            return None
        run = told.settled.story.run.label
        words = [settling_words.headline(told.settled), *settling_words.sentences(told.settled)]
        return self._drawn(
            settle.panel(told.settled, self._aircraft), f"Readings of {run} at reference, with fit and forecast", "; ".join(words)
        )  # fmt: skip

    def _drawn(self, panel: Any, title: str, description: str) -> Markup:
        self._count += 1
        if self._say is not None:
            self._say(f"picture {self._count}: {title}")
        svg = inline_svg([panel], "", f"picture-{self._count}", title, description)
        return _as_it_is(shown(svg))


def _as_it_is(text: str) -> Markup:
    """Text of ours, whose parts were escaped where it was made."""
    from markupsafe import Markup

    return Markup(text)
