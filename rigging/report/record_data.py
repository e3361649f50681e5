"""The record as JSON: the same as the page, without pictures."""

from __future__ import annotations

from functools import partial
from typing import Any

import msgspec

from rigging.jobs.record import Record
from rigging.jobs.record_circuit import CircuitRecord
from rigging.jobs.record_parts import Written
from rigging.report import envelope_data, log_data, settle_data
from rigging.told import as_text


def record(record: Record) -> dict[str, Any]:
    """The whole record; keys carry their units."""
    plain = partial(msgspec.to_builtins, enc_hook=as_text)
    return {
        "aircraft": record.aircraft,
        "registration": record.registration,
        "sheet": record.sheet,
        "sheet_sha256": record.sheet_sha256,
        "sheet_is_kept": record.sheet_is_kept,
        "reference_degF": record.reference_degF,
        "drawn_utc": record.drawn_utc,
        "program": record.program,
        "log": {**log_data.verified(record.chain), "place": record.log, "store_fault": record.store_fault},
        "status": log_data.status(record.status),
        "circuits": [_circuit(c) for c in record.circuits],
        "signatures": [plain(s) for s in record.signatures],
        "inspected_alone": [_written(w) for w in record.alone],
        "whole_aircraft": [_written(w) for w in record.whole],
        "corrections": [
            {
                **{k: v for k, v in msgspec.structs.asdict(c).items() if k not in ("wrong", "instead")},
                "wrong": c.wrong and _written(c.wrong),
                "instead": c.instead and _written(c.instead),
            }
            for c in record.corrections
        ],
        "entries": [log_data.line(e) for e in record.entries],
        "misfits": [{"sequence": m.entry.sequence, "why": m.why, "contents": m.entry.payload} for m in record.misfits],
        "unproven": [e.sequence for e in record.unproven],
        "files": [plain(k) for k in record.kept],
        "recomputed": None if record.recomputed is None else [plain(r) for r in record.recomputed],
        "cautions": record.cautions,
        "assumptions": record.assumptions,
    }


def _circuit(circuit: CircuitRecord) -> dict[str, Any]:
    plain = partial(msgspec.to_builtins, enc_hook=as_text)
    seasons = circuit.envelope
    return {
        "circuit": circuit.name,
        "in_sheet": circuit.in_sheet,
        "open": [log_data.item(i) for i in circuit.open],
        "cables": [
            {**{k: v for k, v in plain(c).items() if k != "latest"}, "latest_entry": c.latest[0].sequence if c.latest else None}
            for c in circuit.cables
        ],
        "readings": [
            {**plain(r), "slack_at_reference": None if r.at_reference_lbf is None else r.at_reference_lbf <= 0}
            for r in circuit.readings
        ],
        "turnbuckles": [
            {**plain(msgspec.structs.replace(t, safetying=None)), "safetying": t.safetying and t.safetying.sequence}
            for t in circuit.turnbuckles
        ],
        "directions": [plain(d) for d in circuit.directions],
        "written": {kind: [_written(w) for w in of_kind] for kind, of_kind in circuit.written.items()},
        "drag": [{"sequence": n, "words": words} for n, words in circuit.drag],
        "settling": [
            {
                "run": s.run,
                "station": s.station,
                "state": s.state,
                "checks": s.checks,
                "since": s.since,
                "refusal": s.reason or None,
                "notes": s.notes,
                "answer": s.settled and settle_data.settled(s.settled),
            }
            for s in circuit.settling
        ],
        "envelope": None
        if seasons is None
        else {
            "as_read": seasons.as_read,
            "refusal": seasons.reason or None,
            "answer": seasons.circuit and envelope_data.one_circuit(seasons.circuit),
        },
    }  # fmt: skip


def _written(written: Written) -> dict[str, Any]:
    """An entry with what was typed, units and all, and what it was judged by."""
    return {
        "sequence": written.sequence,
        "time_utc": written.time_utc,
        "on": written.day,
        "who": written.who,
        "kind": written.kind,
        "circuit": written.circuit,
        "of": written.of,
        "given": written.typed,
        "verdict": written.verdict,
        "reasons": written.reasons,
        "usable_for_sign_off": written.usable_for_sign_off,
        "figures": written.figures,
        "instead_of": written.instead_of,
        "corrected": msgspec.to_builtins(written.corrected, enc_hook=as_text),
    }
