"""What the proof load of a new cable lacks, by the rule of its sheet."""

from __future__ import annotations

from rigging.hardware.cable import PROOF_TIME_MIN, PROOF_TIME_SOURCE, Cable
from rigging.log.fields import CableFitted, ProofLoad
from rigging.told import lbf, told


def proof_gaps(cable: Cable, proof: CableFitted | ProofLoad) -> tuple[str, ...]:
    """Why a cable is not proof-loaded yet, and what will do; nothing where it is, or its maker certifies it."""
    if proof.certificate.strip():
        return ()
    need = cable.proof_load
    certificate = "give the number of its maker's certificate"
    if need is None:
        return (
            f"no table gives the breaking strength of {cable.size} {cable.construction} {cable.material} cable: {certificate}",
        )
    if not need.source.acceptable:
        return (f"the breaking strength of this cable is from {need.source.basis.value}: {certificate}",)
    gaps = []
    if proof.proof_load_lbf is None or proof.proof_time_h is None:
        gaps.append("no proof load is recorded: it will bed in as a cable that was not proof-loaded")
    else:
        # 5338 N are 1200 lbf to the newton
        if round(proof.proof_load_lbf - need.value, 1) < 0:
            gaps.append(told("its proof load {} is too low", lbf(proof.proof_load_lbf, ".4g")))
        held_min = 60 * proof.proof_time_h
        if round(held_min - PROOF_TIME_MIN, 6) < 0:
            gaps.append(f"its proof load was held {held_min:.3g} min")
    if not gaps:
        return ()
    way_out = told(
        "pull it to {} at least ({}, {}) for {:g} min ({}) and write that as 'proof-load', or {}",
        lbf(need.value, ".0f"), need.source, need.source.note, PROOF_TIME_MIN, PROOF_TIME_SOURCE, certificate,
    )  # fmt: skip
    return (*gaps, way_out)
