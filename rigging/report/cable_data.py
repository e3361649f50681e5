"""What a cable is safetied, inspected and used by, as JSON."""

from __future__ import annotations

from typing import Any

from rigging.hardware import turnbuckle
from rigging.hardware.cable import Cable
from rigging.hardware.inspection import Limit, Rule, cautions, inspection_limits, safetying_limits


def rules(cable: Cable) -> dict[str, Any]:
    """``locking_wire``, ``safetying``, ``inspection`` and ``cautions`` of a cable, each entry with basis and source."""
    return {
        "locking_wire": [
            {
                "wrap": row.values["wrap"],
                "wire_in": row.values["wire"],
                "wire_is_minimum": row.values["wire_is_minimum"] == "min",
                "material": row.values["material"],
                "also": turnbuckle.NOTE_1 if row.values["note_1"] else None,
                "basis": row.source("wire").basis.value,
                "source": str(row.source("wire")),
            }
            for row in turnbuckle.locking_wire(cable.size)
        ],
        "safetying": [{"name": name, **rule(found)} for name, found in safetying_limits().items()],
        "inspection": [{"name": name, **rule(found)} for name, found in inspection_limits().items()],
        "cautions": [rule(found) for found in cautions(cable)],
    }


def rule(found: Limit | Rule) -> dict[str, Any]:
    """One rule: its words and source; value and unit where it has a figure."""
    return {
        "words": found.words,
        "value": found.value if isinstance(found, Limit) else None,
        "unit": found.unit if isinstance(found, Limit) else None,
        "basis": found.source.basis.value,
        "source": str(found.source),
        "note": found.source.note,
    }
