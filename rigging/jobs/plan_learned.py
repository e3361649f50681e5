"""The stiffness of a circuit's cables as turns given before show it, where the table leaves it open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from rigging.errors import Refusal, UsageError
from rigging.hardware import turnbuckle
from rigging.jobs.plan_parts import Turned
from rigging.measure.uncertainty import rectangular
from rigging.sheet.circuit import CircuitModel, circuit_model
from rigging.sheet.rig import Rig
from rigging.told import lbf, told

READING_HALF_WIDTH_LBF: Final = 1.0  # of each of the two readings behind a learned stiffness (practice)
SOFTEST, STIFFEST = 0.2, 5.0  # beyond this a learned stiffness contradicts the sheet


def learned(rig: Rig, circuit: str, turned: Sequence[Turned]) -> tuple[CircuitModel, float, float]:
    """The circuit with the stiffness that turns given before show, else the table's.

    Also by how much the cables are stiffer than the table says, 0.2 to 5 and 1 where nothing was turned, and the relative
    standard uncertainty of that: of the table where nothing was turned.
    Raises Refusal: an unknown circuit or cable, a cable without a turnbuckle, or a gain beyond belief. UsageError: turns that
    teach nothing.
    """
    model = circuit_model(rig, circuit)
    if not turned:
        return model, 1.0, model.stiffness_relative_uncertainty
    scales, weights = [], []
    for turn in turned:
        scale = _scale_for(rig, model, turn)
        relative = math.sqrt(2) * rectangular(READING_HALF_WIDTH_LBF) / abs(turn.gained_lbf)
        scales.append(scale)
        weights.append((scale * relative) ** -2)
    mean = sum(s * w for s, w in zip(scales, weights, strict=True)) / sum(weights)
    return circuit_model(rig, circuit, stiffness_scale=mean), mean, 1 / math.sqrt(sum(weights)) / mean


def _half_turns(count: int) -> str:
    return f"{count:+d} half turn{'' if abs(count) == 1 else 's'}"


def _scale_for(rig: Rig, model: CircuitModel, turn: Turned) -> float:
    place = _place(model, turn.cable)
    entry = model.runs[place].entry.turnbuckle
    if entry is None:
        raise Refusal(f"{turn.cable} has no turnbuckle in the sheet, yet turns are given for it")
    if turn.half_turns == 0 or not 0 < turn.gained_lbf / turn.half_turns < math.inf:
        raise UsageError(
            told(
                "{}: {} with {} can teach nothing: tightening must gain",
                turn.cable,
                _half_turns(turn.half_turns),
                lbf(turn.gained_lbf, "+.1f"),
            )
        )
    takeup_in = turn.half_turns * turnbuckle.pitch(entry.thread).value

    def gain(scale: float) -> float:
        tension, _ = circuit_model(rig, model.name, stiffness_scale=scale).circuit.takeup_effect()
        return float(tension[place, place]) * takeup_in

    low, high = SOFTEST, STIFFEST
    if not abs(gain(low)) <= abs(turn.gained_lbf) <= abs(gain(high)):
        raise Refusal(
            told(
                "{}: {} should gain about {} by the table, {} is beyond belief: check the thread, the length and which turnbuckle was turned",
                turn.cable,
                _half_turns(turn.half_turns),
                lbf(gain(1.0), "+.1f"),
                lbf(turn.gained_lbf, "+.1f", unit=False),
            )
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if abs(gain(middle)) < abs(turn.gained_lbf) else (low, middle)
    return (low + high) / 2


def _place(model: CircuitModel, cable: str) -> int:
    names = [run.name for run in model.runs]
    if cable not in names:
        raise Refusal(f"no cable '{cable}' in circuit {model.name} (known: {', '.join(names)})")
    return names.index(cable)
