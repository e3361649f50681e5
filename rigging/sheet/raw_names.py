"""Sectors that nobody has named, in a sheet that cannot be read yet: told with what else is wrong, not one run later."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rigging.errors import nearest
from rigging.sheet.circuit import AIRFRAME, parse_end
from rigging.yamlfile import Document, Path_


def unknown_sectors(document: Document) -> Iterator[tuple[Path_, str]]:
    """Place and message of every sector that is held or joined, yet unknown in its circuit, as far as the shape allows.

    What has another shape is passed by: ``rigging.schema.read`` tells it.
    """
    for name, circuit in block(block(document.data).get("circuits")).items():
        at: Path_ = ("circuits", name)
        sectors = block(block(circuit).get("sectors"))
        for place, sector in _named(block(circuit), at):
            if sectors and sector not in sectors:
                yield place, f"no sector '{sector}' in this circuit{nearest(sector, sectors)}"


def _named(circuit: dict[str, Any], at: Path_) -> Iterator[tuple[Path_, str]]:
    held = circuit.get("hold")
    for i, sector in enumerate(held if isinstance(held, list) else ()):
        if isinstance(sector, str):
            yield (*at, "hold", i), sector
    for kind in ("cables", "springs"):
        for name, entry in block(circuit.get(kind)).items():
            for key in ("from", "to"):
                end = block(entry).get(key)
                found = parse_end(end) if isinstance(end, str) and end != AIRFRAME else None
                if found is not None:
                    yield (*at, kind, name, key), found[0]
    for name, surface in block(circuit.get("surfaces")).items():
        sector = block(surface).get("sector")
        if isinstance(sector, str) and sector:
            yield (*at, "surfaces", name, "sector"), sector


def block(value: Any) -> dict[str, Any]:
    """A block of a file as it stands; an empty one where something else stands there."""
    return value if isinstance(value, dict) else {}
