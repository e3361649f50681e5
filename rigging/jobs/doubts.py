"""What a sheet leaves open although nothing in it is wrong: runs that cannot be judged, figures without a source."""

from __future__ import annotations

from collections.abc import Iterator

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.sheet.circuit import circuit_model
from rigging.sheet.rig import Rig


def doubts(rig: Rig) -> list[str]:
    """What is left open, one line each; empty for a sheet that says all a job needs."""
    return [*_runs(rig), *_circuits(rig)]


def _runs(rig: Rig) -> Iterator[str]:
    silent = [r.label for r in rig.runs if r.band is None and r.entry.chart is None]
    if silent:
        yield f"no limits are given for {', '.join(silent)}: these runs cannot be judged; ask the designer"
    unsourced = [r.label for r in rig.runs if r.band is not None and not r.entry.limits_source]
    if unsourced:
        yield f"no limits_source is given for {', '.join(unsourced)}: say where the figure is printed"
    if rig.unsourced:
        yield f"no source is given for {', '.join(rig.unsourced)}: say where the figures are printed"
    showing = {r.label: r.entry.turnbuckle.threads_showing for r in rig.runs if r.entry.turnbuckle}
    worn_out = [label for label, threads in showing.items() if threads and turnbuckle.too_many_threads(threads)]
    if worn_out:
        most = turnbuckle.MOST_THREADS_SHOWING
        yield f"more than {most} threads show on {', '.join(worn_out)}: {turnbuckle.REMAKE}"


def _circuits(rig: Rig) -> Iterator[str]:
    bare = [name for name, circuit in rig.file.circuits.items() if not circuit.surfaces]
    if bare:
        yield f"no surfaces are given for {', '.join(bare)}: travel and direction of movement cannot be judged"
    for name in rig.file.circuits:
        try:
            circuit_model(rig, name).need_standing()
        except Refusal as error:
            yield f"{name}: {error}"
