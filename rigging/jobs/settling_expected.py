"""What is known of a bedding-in run before its first reading: how much it will lose, in what time, and how far figures may be off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.hardware import turnbuckle
from rigging.hardware.bedding_in import bedding_in
from rigging.jobs.settling_points import By
from rigging.measure.uncertainty import rectangular
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run
from rigging.source import Basis, Source, acceptable

if TYPE_CHECKING:
    from rigging.physics.settling_history import Prior

CYCLES: Final = (5.0, 5000.0)  # stop to stop, in which a cable beds in, 95 % (practice)
LEAST_SHARE: Final = 2e-6  # of length, that any cable may still bed in (practice)
JOINED: Final = 1e-6  # share of its own effect from which on a cable counts as in series
LEAST_BIAS: Final = 1e-4
BIAS_WITHOUT_CARD: Final = (
    0.02  # half-width of a sound tensiometer, for a tension that no card stands behind (practice)
)


class Expected(msgspec.Struct, frozen=True):
    """What the fit may know beforehand, what it rests on, and what keeps that from sign-off.

    words: what is expected to bed in, ``new cable``, by cable where they differ.
    """

    prior: Prior
    source: Source
    words: str
    gaps: tuple[str, ...]


def expected(
    rig: Rig,
    run: Run,
    model: CircuitModel,
    effect_lbf_per_in: Sequence[float],
    slope: tuple[float, float],
    instruments: Sequence[str],
    events: Sequence[Event],
    by: By,
    horizon: float,
) -> Expected:
    """What is known of a run before its first reading.

    effect_lbf_per_in: of an inch taken off every link of the circuit on this run. slope: of the run in its circuit
    [lbf/degF], and its standard uncertainty. instruments: serials that it was read with. events: of the circuit.
    horizon: hours or cycles from the first reading. Raises Refusal: a cable without a stiffness.
    """
    from rigging.physics.settling_history import Prior

    stiffness = float(effect_lbf_per_in[[r.name for r in model.runs].index(run.name)])
    # every cable of the loop beds in on its own, and all of them take from this run
    every = [(r, float(effect_lbf_per_in[i]) * r.entry.length_in) for i, r in enumerate(model.runs)]
    joined = [(r, share_lbf) for r, share_lbf in every if share_lbf > JOINED * stiffness * r.entry.length_in]
    bedding = [_of_cable(r) for r, _ in joined]
    low_lbf = math.fsum(b[0] * share_lbf for b, (_, share_lbf) in zip(bedding, joined, strict=True))
    high_lbf = math.fsum(b[1] * share_lbf for b, (_, share_lbf) in zip(bedding, joined, strict=True))
    # the least acceptable status stands for all
    source = next((b[2] for b in bedding if not b[2].acceptable), _of_cable(run)[2])
    hours = [(g.fastest_h, g.slowest_h) if (g := r.entry.bedding_in) else (1.0, 500.0) for r, _ in joined]
    fastest, slowest = (min(h[0] for h in hours), max(h[1] for h in hours)) if by == "hours" else CYCLES
    accuracies = [rig.cards[s].accuracy if s in rig.cards else BIAS_WITHOUT_CARD for s in instruments]
    bias = max(LEAST_BIAS, rectangular(max(accuracies)))
    figures = [
        f for r, _ in joined for f in (r.cable.need_stiffness(), r.cable.expansion, *(a.expansion for _, a in r.parts))
    ]
    # the take-up of a turn is that of its thread
    threads = {e.run: r.entry.turnbuckle for e in events if e.half_turns for r in model.runs if r.name == e.run}
    figures += [turnbuckle.pitch(entry.thread) for entry in threads.values() if entry is not None]
    sound = acceptable([source, *(f.source for f in figures)])
    return Expected(
        prior=Prior(
            low_lbf, high_lbf, fastest, slowest, horizon, stiffness,
            model.stiffness_relative_uncertainty, *slope, bias,
        ),
        source=source,
        words=_history_words([r for r, _ in joined]),
        gaps=() if sound else ("a figure of cable, airframe, bedding-in or thread is from memory",),
    )  # fmt: skip


def _of_cable(run: Run) -> tuple[float, float, Source]:
    """Bedding-in to be expected as a share of length, low and high, with its status."""
    given = run.entry.bedding_in
    if given is not None:
        return given.low, given.high, Source(Basis.AIRCRAFT, given.source)
    known = bedding_in(run.entry.history)
    high = max(known.high_share, 10 * LEAST_SHARE)
    return max(known.low_share, high / 10), high, known.source


def _history_words(runs: Sequence[Run]) -> str:
    """``new cable`` where all are alike, else ``up in-service, down new``."""
    kinds = {r.name: "as the sheet expects" if r.entry.bedding_in else r.entry.history for r in runs}
    if len(set(kinds.values())) == 1:
        return f"{next(iter(kinds.values()))} cable"
    return ", ".join(f"{name} {kind}" for name, kind in kinds.items())
