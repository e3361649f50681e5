"""One circuit in the record: everything the log holds of it beside what the sheet says."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from rigging.jobs.brief import Place
from rigging.jobs.judgement import plain
from rigging.jobs.open_items import Item
from rigging.jobs.record_parts import CableRecord, DirectionRow, ReadingRecord, Seen, TurnbuckleRecord, Written
from rigging.jobs.record_story import EnvelopeRecord, SettlingRecord
from rigging.log.fields import Adjustment
from rigging.sheet.circuit_entry import CircuitEntry
from rigging.sheet.rig import Rig, Run


class CircuitRecord(msgspec.Struct, frozen=True):
    """A circuit: what hangs there, all that was ever read and seen, what is open.

    written: every entry of the circuit by kind, those taken back beside those that stand. in_sheet: whether the sheet
    still has it.
    """

    name: str
    in_sheet: bool
    open: tuple[Item, ...]
    cables: tuple[CableRecord, ...]
    readings: tuple[ReadingRecord, ...]
    turnbuckles: tuple[TurnbuckleRecord, ...]
    directions: tuple[DirectionRow, ...]
    written: dict[str, tuple[Written, ...]]
    settling: tuple[SettlingRecord, ...]
    envelope: EnvelopeRecord | None
    drag: tuple[tuple[int, str], ...]

    def of(self, kind: str) -> tuple[Written, ...]:
        """The entries of a kind."""
        return self.written.get(kind, ())

    @property
    def missing(self) -> tuple[str, ...]:
        """Kinds of which nothing is recorded, of those that any circuit should have."""
        wanted = ("travel", "neutral", "stops", "friction", "direction", "safetying", "condition", "inspection")
        return tuple(kind for kind in wanted if not self.of(kind))


def cables(rig: Rig, circuit: str, readings: Sequence[ReadingRecord]) -> tuple[CableRecord, ...]:
    """The cables of a circuit, each with the readings of the last check in which it was read."""
    return tuple(_cable(rig, run, readings) for run in rig.runs if run.circuit == circuit)


def _cable(rig: Rig, run: Run, readings: Sequence[ReadingRecord]) -> CableRecord:
    own = [r for r in readings if r.run == run.name and r.stands]
    last = max(((r.day, r.sequence) for r in own), default=("", 0))[1]
    band, entry = run.band, run.entry
    reference_degF = rig.file.reference_degF if band and band.reference_degF is None else band and band.reference_degF
    chart = f"chart {entry.chart}" if entry.chart else ""
    return CableRecord(
        name=run.name,
        size=entry.size,
        construction=run.cable.construction,
        material=entry.material,
        length_in=entry.length_in,
        from_end=entry.from_end,
        to_end=entry.to_end,
        limits_text=band.text if band else chart,
        low_lbf=band.low_lbf if band else None,
        high_lbf=band.high_lbf if band else None,
        reference_degF=reference_degF,
        basis=run.limits_source.basis.value if band or chart else "",
        source=str(run.limits_source) if band or chart else "",
        latest=tuple(r for r in own if r.sequence == last),
    )


def turnbuckles(
    entry: CircuitEntry, changes: Sequence[Written], safetying: Sequence[Written], changed: dict[str, Place | None]
) -> tuple[TurnbuckleRecord, ...]:
    """The turnbuckles of a circuit. changes: its adjustments and cables fitted; changed: by turnbuckle, its last change."""
    found = []
    for name, cable in entry.cables.items():
        if cable.turnbuckle is None:
            continue
        turns = [c for c in changes if c.stands and c.of == name and isinstance(c.fields, Adjustment)]
        secured = [s for s in safetying if s.stands and s.of == name]
        shown = [
            (w.place, threads)
            for w in (*changes, *secured)
            if w.stands and w.of == name and (threads := getattr(w.fields, "threads_showing", None)) is not None
        ]
        at, threads = max(shown, default=(None, cable.turnbuckle.threads_showing))
        last = max(secured, key=lambda s: s.place, default=None)
        found.append(
            TurnbuckleRecord(
                cable=name,
                thread=cable.turnbuckle.thread,
                threads_showing=threads,
                threads_entry=at and at[1],
                half_turns=sum(t.fields.half_turns for t in turns if isinstance(t.fields, Adjustment)),
                turned=tuple(t.sequence for t in turns),
                safetying=last,
                safetying_is_old=last is not None and _is_old(last, changed[name]),
            )
        )
    return tuple(found)


def directions(
    entry: CircuitEntry, seen: Sequence[Written], inspected: Sequence[Written], changed: Place | None
) -> tuple[DirectionRow, ...]:
    """The direction sheet: per surface and input what must be seen, and what each of two people saw last."""
    rows = []
    second = next((i for i in reversed(inspected) if i.stands), None)
    for name, surface in entry.surfaces.items():
        first = next((s for s in reversed(seen) if s.stands and s.of == name), None)
        for control, expected in surface.moves.items():
            one = first.typed.get("seen", {}).get(control) if first else None
            other = second.typed.get("seen", {}).get(name, {}).get(control) if second else None
            rows.append(
                DirectionRow(
                    name,
                    control,
                    expected,
                    _seen(first, one, expected, changed),
                    _seen(second, other, expected, changed),
                )
            )
    return tuple(rows)


def _is_old(by: Written, changed: Place | None) -> bool:
    return changed is not None and by.place <= changed


def _seen(by: Written | None, way: str | None, expected: str, changed: Place | None) -> Seen | None:
    if by is None or way is None:
        return None
    return Seen(str(way), by.who, by.sequence, plain(str(way)) == plain(expected), by.alone, _is_old(by, changed))
