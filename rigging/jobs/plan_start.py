"""Where a plan starts and where it must end: tensions and neutrals today, what the turnbuckles allow, limits and marks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.jobs.check import RunResult
from rigging.jobs.compare import measured_links
from rigging.judge.consistency import nearest_balance
from rigging.judge.half_turns import Goal, Turnbuckle
from rigging.sheet.circuit import CircuitModel
from rigging.told import lbf, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

CONTRADICTION: Final = 0.1  # share of tension that friction between stations may hide (practice)
UNWINDOWED: Final = 40  # half turns either way where the sheet does not say how many threads show


def tensions_now(
    model: CircuitModel, measured: Sequence[RunResult], angle_rad: Array, notes: list[str]
) -> tuple[Array, Array]:
    """Tensions [lbf] that balance, nearest to the readings; and U of a reading [lbf]; each of shape (links,).

    What was not read and follows from the others goes to ``notes``. Raises Refusal for readings that contradict each other
    or are too few.
    """
    import numpy as np

    links = model.circuit.links
    reading, uncertainty = measured_links(model, measured, angle_rad)
    read = ~np.isnan(reading)
    model.need_standing()
    balanced = nearest_balance(model.circuit, reading, uncertainty)
    if balanced is None:
        missing = [link.name for link, is_read in zip(links, read, strict=True) if not is_read]
        raise Refusal(
            f"{model.name}: read {' and '.join(missing)} first: the tensions of this circuit do not follow from the others"
        )
    for i in np.flatnonzero(read).tolist():
        off = reading[i] - balanced[i]
        if abs(off) > 3 * uncertainty[i] + CONTRADICTION * abs(balanced[i]):
            raise Refusal(
                told(
                    "the readings contradict each other: {} reads {}, the others and the arms make it {}: cycle the controls, look for drag or a wrong arm, and read again",
                    links[i].name,
                    lbf(reading[i]),
                    lbf(balanced[i], unit=False),
                )
            )
    inferred = [links[i].name for i in np.flatnonzero(~read).tolist()]
    if inferred:
        notes.append(f"not read, follows from the others: {', '.join(inferred)}")
    uncertainty[~read] = uncertainty[read].max()
    return balanced, uncertainty


def angles_now(model: CircuitModel, neutral_deg: Mapping[str, float], notes: list[str]) -> Array:
    """How far every sector rests from its mark [rad], shape (sectors,); those taken to be on it go to ``notes``.

    neutral_deg [deg]: by sector. Raises Refusal: an unknown or held sector, or an angle that is no number.
    """
    import numpy as np

    angle = np.zeros(len(model.circuit.sectors))
    for name, off_deg in neutral_deg.items():
        if model.circuit.sectors[model.sector(name)] in model.circuit.held:
            raise Refusal(f"{name} is held by its rig pin: its neutral is the pin's, not the cables'")
        if not math.isfinite(off_deg):
            raise Refusal(f"{name}: {off_deg} is no angle: give how far it rests from its mark, like {name}=1.5deg")
        angle[model.sector(name)] = math.radians(off_deg)
    silent = [s for s in model.circuit.sectors if s not in model.circuit.held and s not in neutral_deg]
    if silent:
        notes.append(f"taken to rest on its mark, none was given: {', '.join(silent)}")
    return angle


def turnbuckles_of(model: CircuitModel, notes: list[str]) -> list[Turnbuckle]:
    """The turnbuckles of a circuit, with the half turns that their threads allow; what is not watched goes to ``notes``.

    Raises Refusal where there is none, or one shows too many threads.
    """
    found = []
    for i, run in enumerate(model.runs):
        entry = run.entry.turnbuckle
        if entry is None:
            continue
        least, most = -UNWINDOWED, UNWINDOWED
        if entry.threads_showing is None:
            notes.append(
                f"{run.name}: the sheet does not say how many threads show, so the thread window is not watched"
            )
        else:
            showing = entry.threads_showing
            if turnbuckle.too_many_threads(showing):
                raise Refusal(
                    f"{run.label}: {showing[0]:g} and {showing[1]:g} threads show, at most {turnbuckle.MOST_THREADS_SHOWING} "
                    f"may ({turnbuckle.MOST_THREADS_SHOWING_SOURCE}): {turnbuckle.REMAKE}"
                )
            # half a turn moves each end by half a thread
            least = -math.floor(2 * (turnbuckle.MOST_THREADS_SHOWING - max(showing)))
            most = math.floor(2 * (min(showing) + entry.most_inside))
            if abs(showing[0] - showing[1]) >= 1:
                notes.append(f"{run.name}: {showing[0]:g} and {showing[1]:g} threads show: make both ends equal")
        found.append(Turnbuckle(run.name, i, turnbuckle.pitch(entry.thread).value, least, most))
    if not found:
        raise Refusal(
            f"no cable of circuit {model.name} has a turnbuckle in the sheet: add 'turnbuckle: {{thread: ...}}'"
        )
    return found


def goal_of(model: CircuitModel, measured: Sequence[RunResult]) -> Goal:
    """The limits of every cable today and the marks of the free sectors. Raises Refusal where a cable has no limits."""
    import numpy as np

    n = len(model.circuit.links)
    low, high, target = np.full(n, -np.inf), np.full(n, np.inf), np.zeros(n)
    for i, run in enumerate(model.runs):
        found = [r for r in measured if r.run.name == run.name]
        limits = next((r.limits for r in found if r.limits is not None), None)
        if limits is None:
            raise Refusal(f"{run.label}: {found[0].refusal}" if found else f"{run.label}: no limits")
        low[i], high[i], target[i] = limits.low_lbf, limits.high_lbf, limits.target_lbf
    held = set(model.circuit.held)
    tolerance = [
        math.inf if name in held else math.radians(model.entry.sectors[name].neutral_tolerance_deg)
        for name in model.circuit.sectors
    ]
    return Goal(low, high, target, np.array(tolerance))
