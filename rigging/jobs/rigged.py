"""The tension every cable of a circuit is rigged to at reference, where it comes from, and what does not fit together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from rigging.errors import Refusal
from rigging.jobs.drift import balanced_lbf
from rigging.jobs.envelope_parts import Asked, RunEnvelope
from rigging.jobs.limit_line import limits_at
from rigging.sheet.circuit import CircuitModel, Circuits
from rigging.told import join, lbf, lbf_per_degF, told

SHOWN_LBF: Final = 0.05  # what the screen rounds away
DRIFT_LBF_PER_DEGF: Final = 0.005


def rigging_tensions(circuits: Circuits, model: CircuitModel, asked: Asked) -> tuple[dict[str, float], dict[str, str]]:
    """Tension of every cable at reference that is known [lbf], by name, and where it comes from.

    What the user sets comes first and the limits fill what it leaves open; then what balances the rest.
    Raises Refusal for a tension above the proof load of its cable.
    """
    known: dict[str, float] = {}
    why: dict[str, str] = {}
    for run in model.runs:
        if run.label in asked.tensions_lbf:
            known[run.name], why[run.name] = asked.tensions_lbf[run.label], "set by you"
        elif asked.set_lbf is not None:
            known[run.name], why[run.name] = asked.set_lbf, "set by you"
        if run.name in known:
            run.cable.check_rigging_load(known[run.name], f"{run.label}: a tension")
    if known:
        # the loop has the tension that was set; the limits only fill what it leaves open
        found = balanced_lbf(model, known)
        why |= {name: f"balances {' and '.join(known)}" for name in found if name not in known}
        known = found
    for run in model.runs:
        if run.name in known:
            continue
        try:
            limits = limits_at(circuits, run, circuits.rig.file.reference_degF)
        except Refusal:
            continue
        if limits is not None:
            known[run.name], why[run.name] = limits.target_lbf, "target of its limits"
    found = balanced_lbf(model, known) if known else {}
    why |= {name: f"balances {' and '.join(known)}" for name in found if name not in known}
    return found, why


def balance_notes(rigged_lbf: Mapping[str, float], runs: Sequence[RunEnvelope]) -> list[str]:
    """Which tensions cannot stand together, and what becomes of them."""
    moved = [
        told("{} {} becomes {}", r.run.name, lbf(rigged_lbf[r.run.name], unit=False), lbf(r.rigged_lbf))
        for r in runs
        if r.rigged_lbf is not None and abs(r.rigged_lbf - rigged_lbf[r.run.name]) > SHOWN_LBF
    ]
    if not moved:
        return []
    return [
        told("these tensions do not balance each other, and a free sector turns until they do: {}", join("; ", moved))
    ]


def drift_notes(runs: Sequence[RunEnvelope]) -> list[str]:
    """Where the limits of a run move otherwise than its tension does in the circuit: a chart, or a slack cable."""
    notes: dict[str, list[str]] = {}
    for r in runs:
        limits, own = r.limits.slope_lbf_per_degF, r.slope_lbf_per_degF
        if limits is None or own is None or abs(limits - own) < DRIFT_LBF_PER_DEGF:
            continue
        words = told(
            "the limits move {} and the tension {}: they part as it gets colder or warmer",
            lbf_per_degF(limits),
            lbf_per_degF(own),
        )
        notes.setdefault(words, []).append(r.run.name)
    return [told("{}: {}", ", ".join(names), words) for words, names in notes.items()]
