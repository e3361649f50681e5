"""How much tension a longer way makes: the stiffness that a side pull or a gauge finds in the cable it deflects."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import Refusal, UsageError, nearest
from rigging.hardware.cable import Cable
from rigging.source import Basis, Source, resting_on
from rigging.told import inches, told

if TYPE_CHECKING:
    from rigging.sheet.rig import Rig, Run


class Stretch(msgspec.Struct, frozen=True):
    """Tension per inch of path.

    stiffness_lbf_per_in [lbf/in]: K. stiffness_uncertainty_lbf_per_in [lbf/in, k=1]. words: what it rests on.
    length_in [in]: the cable's own length, None where it is not known. known: false where K is an open question.
    """

    cable: Cable
    stiffness_lbf_per_in: float
    stiffness_uncertainty_lbf_per_in: float
    source: Source
    words: str
    length_in: float | None = None
    known: bool = True

    @property
    def give_in_per_lbf(self) -> float:
        """The compliance seen at the span [in/lbf], infinite where K is zero."""
        return 1 / self.stiffness_lbf_per_in if self.stiffness_lbf_per_in > 0 else math.inf


def of_length(cable: Cable, length_in: float) -> Stretch:
    """A run of one cable between two ends that do not give: ``K = EA / length``. Raises Refusal."""
    if not 0 < length_in < math.inf:
        raise Refusal(told("a cable length of {}: it must be above zero", inches(length_in)))
    stiffness = cable.need_stiffness()
    return Stretch(
        cable,
        stiffness.value / length_in,
        stiffness.standard_uncertainty / length_in,
        stiffness.source,
        "stretch over the whole cable, between ends that do not give (rig pins in at both)",
        length_in,
    )


def of_span(cable: Cable, span_in: float) -> Stretch:
    """Nothing known but the span: anything from no stretch at all to a cable no longer than the span. Raises Refusal."""
    stiffness = cable.need_stiffness()
    most = stiffness.value / span_in
    return Stretch(
        cable,
        most / 2,
        most / math.sqrt(12),
        resting_on(Source(Basis.COMPUTED, "", "", f"from nothing to EA / span, {stiffness.source}"), stiffness.source),
        "the cable's length beyond the span is not known: its stretch is carried as uncertain from nothing to the "
        "most there can be (--length or --sheet with --run narrow it)",
        None,
        False,
    )


def find_run(rig: Rig, text: str) -> Run:
    """``aileron/left`` as a run of the sheet. Raises UsageError for a text without both names; Refusal for an unknown run."""
    circuit, slash, name = (part.strip() for part in text.partition("/"))
    if not (circuit and slash and name):
        raise UsageError(f"'{text}' names no run: write circuit and run, like aileron/left")
    found = rig.run(circuit, name)
    if found is None:
        raise Refusal(f"no run '{text}' in the sheet{nearest(text, (f'{r.circuit}/{r.name}' for r in rig.runs))}")
    return found


def of_circuit(rig: Rig, run: Run) -> Stretch:
    """A run as its whole circuit holds it, held sectors held and all others free to turn. Raises Refusal."""
    from rigging.sheet.circuit import circuit_model

    model = circuit_model(rig, run.circuit)
    effect, _ = model.circuit.takeup_effect()
    place = [r.name for r in model.runs].index(run.name)
    k = max(0.0, float(effect[place, place]))
    held = " and ".join(model.circuit.held) or "nothing"
    return Stretch(
        run.cable,
        k,
        # every cable of the circuit has a part in it, and the least known one counts
        k * model.stiffness_relative_uncertainty,
        run.cable.need_stiffness().source,
        f"stretch over the whole circuit {run.circuit} of the sheet, with {held} held and the rest free to turn",
        math.fsum(length_in for length_in, _ in run.parts),
    )
