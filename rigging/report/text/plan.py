"""A plan on a terminal: the steps first, then what they end in, then what they rest on."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import AFTER_ANY_TURN, CAUTIONS
from rigging.jobs.plan_parts import PlanResult, Step
from rigging.judge.limits import RIGID
from rigging.report.text.console import listing, table
from rigging.units import force_unit, show_force


def show_plan(out: Console, result: PlanResult, si: bool = False) -> None:
    """Print a whole plan."""
    out.print(Text(f"{result.model.name}: {_headline(result)}", style="bold"))
    bands = ", ".join(
        f"{name} {_force(low, si)}..{_force(high, si)}" for name, (low, high) in result.limits_lbf.items()
    )
    out.print(f"limits today in {force_unit(si)}: {bands}")
    rows = table(
        "step", "turn", f"tension then, {force_unit(si)}", "neutral then, deg", "threads", fixed=("step", "threads")
    )
    rows.add_row("now", "", _tensions(result.start_lbf, si), _neutrals(result.start_deg), "")
    for i, step in enumerate(result.steps, 1):
        rows.add_row(
            str(i),
            _turn(step),
            _tensions(step.tensions_lbf, si),
            _neutrals(step.neutral_deg),
            _threads(step.threads_showing),
        )
    out.print(rows)
    listing(out, "First", result.findings, si=si)
    listing(out, "Cannot be met", result.stopped_by, si=si)
    listing(out, "Predicted end", _ends(result, si), si=si)
    listing(out, "Note", (*result.notes, *_pause(result)), si=si)
    listing(out, "Rests on", _rests(result), si=si)
    listing(out, "Cautions", (AFTER_ANY_TURN, *CAUTIONS), si=si)


def _headline(result: PlanResult) -> str:
    if not result.met:
        nearest = "; this is the nearest" if result.steps else ""
        return f"no plan ends inside all limits{nearest}"
    if not result.steps:
        return "nothing to turn"
    half_turns = sum(abs(step.half_turns) for step in result.steps)
    return f"{_half_turns(half_turns)} on {' and '.join(dict.fromkeys(s.turnbuckle for s in result.steps))}"


def _force(value_lbf: float, si: bool) -> str:
    return show_force(value_lbf, si, unit=False)


def _turn(step: Step) -> str:
    return f"{step.direction} {step.turnbuckle}\n{_half_turns(abs(step.half_turns))}"


def _half_turns(count: int) -> str:
    return f"{count} half turn{'' if count == 1 else 's'}"


def _tensions(tensions_lbf: dict[str, float], si: bool) -> str:
    return "\n".join(f"{name} {_force(value, si)}" for name, value in tensions_lbf.items())


def _neutrals(neutral_deg: dict[str, float]) -> str:
    return "\n".join(f"{name} {value + 0.0:+.2f}" for name, value in neutral_deg.items())


def _threads(showing: tuple[float, float] | None) -> str:
    return "" if showing is None else f"{showing[0]:g}, {showing[1]:g}"


def _ends(result: PlanResult, si: bool) -> Iterator[str]:
    for name, value in result.end_lbf.items():
        low, high = result.limits_lbf[name]
        yield f"{name}: {_force(value, si)} +-{show_force(result.uncertainty_lbf[name], si)}, limits {_force(low, si)}..{_force(high, si)}"


def _pause(result: PlanResult) -> Iterator[str]:
    if result.steps:
        yield (
            "one half turn of a barrel moves both ends alike: keep the threads equal; cycle the controls stop to stop and read "
            "again after every step"
        )
        first = result.steps[0]
        if result.stiffness_scale == 1.0:
            yield f"tell the next plan what the first step did: --turned '{first.turnbuckle}={first.half_turns}:{_gain(result):+.0f}lbf' with the gain read"


def _gain(result: PlanResult) -> float:
    """What the first step is predicted to gain in its own cable [lbf]."""
    first = result.steps[0]
    return first.tensions_lbf[first.turnbuckle] - result.start_lbf[first.turnbuckle]


def _rests(result: PlanResult) -> Iterator[str]:
    share = 100 * result.stiffness_uncertainty
    if result.stiffness_scale == 1.0:
        yield f"stiffness from the table, +-{share:.1f} % (k=1): {result.model.runs[0].cable.need_stiffness().source}"
    else:
        yield f"stiffness learned from turns given: {result.stiffness_scale:.2f} of the table's, +-{share:.0f} % (k=1), measured"
    yield "balance of the whole circuit, every cable tight; held: " + (
        ", ".join(result.model.circuit.held) or "nothing but its springs"
    )
    if any(RIGID in r.limits.assumptions for r in result.measured if r.limits):
        yield RIGID
    for name in result.start_deg:
        positive = (
            result.model.entry.sectors[name].positive or "the way it turns when the cables of its + side are let out"
        )
        yield f"neutral of {name} +: {positive}"
    for run in result.model.runs:
        if run.entry.turnbuckle is not None:
            yield f"{run.name}: thread {run.entry.turnbuckle.thread}, half a turn takes up one pitch"
