"""A plan as JSON and as rows."""

from __future__ import annotations

from typing import Any, Final

from rigging.jobs.check import AFTER_ANY_TURN, CAUTIONS
from rigging.jobs.plan_parts import PlanResult, Step
from rigging.report.as_json import check_run

COLUMNS: Final = ["step", "turnbuckle", "half_turns", "direction", "run", "tension_lbf", "sector", "neutral_deg"]


def plan(result: PlanResult) -> dict[str, Any]:
    """The ``plan`` contract: steps, predicted end, thread window; and what the plan starts from and rests on."""
    return {
        "circuit": result.model.name,
        "met": result.met,
        "stopped_by": result.stopped_by,
        "findings": result.findings,
        "steps": [_step(step) for step in result.steps],
        "tensions_lbf": result.end_lbf,
        "uncertainty_lbf": result.uncertainty_lbf,
        "neutral_deg": result.end_deg,
        "thread_window": {name: _window(result, name) for name in result.thread_window},
        "start_tensions_lbf": result.start_lbf,
        "start_neutral_deg": result.start_deg,
        "limits_lbf": {name: {"low": low, "high": high} for name, (low, high) in result.limits_lbf.items()},
        "stiffness_scale": result.stiffness_scale,
        "stiffness_relative_standard_uncertainty": result.stiffness_uncertainty,
        "notes": result.notes,
        "runs": [check_run(r) for r in result.measured],
        "cautions": (AFTER_ANY_TURN, *CAUTIONS),
    }


def plan_rows(result: PlanResult) -> list[dict[str, Any]]:
    """A row for each run and for each sector after every step, so that a cell holds one figure."""
    rows = []
    for i, step in enumerate(result.steps, 1):
        turn = {
            "step": i,
            "turnbuckle": step.turnbuckle,
            "half_turns": step.half_turns,
            "direction": step.direction,
        }
        rows += [{**turn, "run": name, "tension_lbf": value} for name, value in step.tensions_lbf.items()]
        rows += [{**turn, "sector": name, "neutral_deg": value} for name, value in step.neutral_deg.items()]
    return rows


def _step(step: Step) -> dict[str, Any]:
    return {
        "turnbuckle": step.turnbuckle,
        "half_turns": step.half_turns,
        "direction": step.direction,
        "tensions_lbf": step.tensions_lbf,
        "neutral_deg": step.neutral_deg,
        "threads_showing": step.threads_showing,
    }


def _window(result: PlanResult, name: str) -> dict[str, Any] | None:
    """Half turns left either way after the plan, and the threads that then show; None where the sheet does not say."""
    window = result.thread_window[name]
    if window is None:
        return None
    given = sum(step.half_turns for step in result.steps if step.turnbuckle == name)
    last = [step.threads_showing for step in result.steps if step.turnbuckle == name]
    entry = next(run.entry.turnbuckle for run in result.model.runs if run.name == name)
    return {
        "half_turns_to_loosen": given - window[0],
        "half_turns_to_tighten": window[1] - given,
        "threads_showing": last[-1] if last else (entry.threads_showing if entry else None),
    }
