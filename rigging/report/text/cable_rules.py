"""What a cable is safetied, inspected and used by, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import Console

from rigging.hardware import turnbuckle
from rigging.hardware.cable import Cable
from rigging.hardware.inspection import Limit, Rule, cautions, inspection_limits, safetying_limits
from rigging.report.text.console import listing
from rigging.told import told


def show_rules(out: Console, cable: Cable, si: bool = False) -> None:
    """Turnbuckle and safetying, limits of an inspection, cautions of this cable; each with its status and source."""
    if not turnbuckle.locking_wire(cable.size):
        out.print(f"locking wire: the printed table has no row for {cable.size}")
    listing(out, "Turnbuckle", _lines(safetying_limits().values()), si=si)
    listing(out, "Inspection", _lines(inspection_limits().values()), si=si)
    listing(out, "Cautions", _lines(cautions(cable)), si=si)


def _lines(rules: Iterable[Limit | Rule]) -> Iterator[str]:
    for rule in rules:
        note = f"; {rule.source.note}" if rule.source.note else ""
        yield told("{} ({}{})", rule.words, rule.source, note)
