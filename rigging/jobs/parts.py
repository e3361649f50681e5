"""The parts of a circuit that can be looked at, by the names its sheet gives them."""

from __future__ import annotations

from rigging.errors import Refusal, nearest
from rigging.sheet.rig import Rig


def parts_of(rig: Rig, circuit: str) -> list[str]:
    """Cables, their pulleys and fairleads (``floor of left``, ``pulley 2 of left`` where it has no name), sectors, springs."""
    entry = rig.file.circuits[circuit]
    names = list(entry.cables)
    for cable, own in entry.cables.items():
        names += [f"{pulley.name or f'pulley {i}'} of {cable}" for i, pulley in enumerate(own.pulleys, 1)]
        names += [f"{lead.name or f'fairlead {i}'} of {cable}" for i, lead in enumerate(own.fairleads, 1)]
    return [*names, *entry.sectors, *entry.springs]


def pulley_part(rig: Rig, circuit: str, name: str) -> str:
    """The part number the sheet gives a pulley, by the names of ``need_part``; empty where it gives none, or several."""
    found = {
        pulley.part
        for cable, own in rig.file.circuits[circuit].cables.items()
        for i, pulley in enumerate(own.pulleys, 1)
        for label in (pulley.name or f"pulley {i}",)
        if name in (label, f"{label} of {cable}")
    }
    return found.pop() if len(found) == 1 else ""


def need_part(rig: Rig, circuit: str, name: str) -> None:
    """Raises Refusal for a part that the sheet does not name in this circuit; a pulley's own name is enough."""
    known = parts_of(rig, circuit)
    every = [*known, *dict.fromkeys(own for part in known if (own := part.rpartition(" of ")[0]))]
    if name not in every:
        said = nearest(name, every)
        raise Refusal(
            f"no part '{name}' in circuit {circuit}{said if 'did you mean' in said else nearest(name, known)}"
        )
