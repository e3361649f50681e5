"""Settling as JSON and as rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rigging.jobs.check import CAUTIONS
from rigging.jobs.settle import LOOK_FOR, Refused, Settled

COLUMNS = [
    "circuit", "run", "station", "state", "readings", "settled", "probability_settled", "final_tension_lbf", "remaining_drop_lbf",
    "set_now_lbf", "next_check_hours", "anomalous", "kind", "reference_degF", "probability_in_limits",
]  # fmt: skip


def settle(results: Sequence[Settled], refused: Sequence[Refused] = ()) -> dict[str, Any]:
    """The ``settle`` contract: every run under ``runs``, and at top level too where it is the only one."""
    runs = [settled(r) for r in results]
    single = runs[0] if len(runs) == 1 and not refused else {}
    return {
        **single,
        "runs": runs,
        "refused": [{"circuit": r.run.circuit, "run": r.run.name, "refusal": r.reason} for r in refused],
        "cautions": CAUTIONS,
    }


def settled(result: Settled) -> dict[str, Any]:
    """One run; times are hours, or control cycles where the fit goes by those."""
    told, limits = result.story, result.limits_lbf
    hours = told.by == "hours"
    return {
        "circuit": told.run.circuit,
        "run": told.run.name,
        "station": told.station,
        "state": told.state,
        "by": told.by,
        "readings": len(told.points),
        "settled": result.settled,
        "probability_settled": result.probability_settled,
        "final_tension_lbf": result.final_lbf,
        "final_interval_lbf": result.final_interval_lbf,
        "remaining_drop_lbf": result.remaining_lbf,
        "remaining_drop_interval_lbf": result.remaining_interval_lbf,
        "visible_lbf": result.visible_lbf,
        "reference_degF": told.reference_degF,
        "low_lbf": limits[0] if limits else None,
        "target_lbf": limits[1] if limits else None,
        "high_lbf": limits[2] if limits else None,
        "ends_inside_limits": result.ends_inside,
        "probability_in_limits": result.probability_in_limits,
        "set_now_lbf": result.set_now.tension_lbf if result.set_now else None,
        "set_now_capped": result.set_now.capped if result.set_now else None,
        "set_now_today_lbf": result.set_today_lbf,
        "set_now_today_slack": None if result.set_today_lbf is None else result.set_today_lbf <= 0,
        "set_now_dial": result.dial,
        "next_check_hours": result.next_check if hours else None,
        "next_check_cycles": None if hours else result.next_check,
        "horizon_hours": told.prior.horizon if hours else None,
        "horizon_cycles": None if hours else told.prior.horizon,
        "anomalous": result.anomalous,
        "kind": result.anomaly.kind,
        "look_for": LOOK_FOR.get(result.anomaly.kind),
        "anomaly_line": _line(result),
        "anomaly_size_lbf": result.anomaly.size_lbf if result.anomalous else None,
        "least_step_lbf": result.least_step_lbf,
        "law_probability": result.fit.law_probability(),
        "laws_disagree": result.laws.disagree,
        "law_finals_lbf": {law: max(0.0, final_lbf) for law, final_lbf in result.laws.finals_lbf.items()},
        "usable_for_sign_off": result.usable_for_sign_off,
        "not_for_sign_off_because": result.gaps,
        "prior_basis": told.prior_source.basis.value,
        "prior_source": str(told.prior_source),
        "points": [
            {"time": p.time, "elapsed": p.elapsed, "tension_lbf": p.tension_lbf, "at_reference_lbf": p.at_reference_lbf,
             "slack_at_reference": p.at_reference_lbf <= 0, "structure_degF": p.structure_degF, "tensiometer": p.instrument, "riser": p.riser}
            for p in told.points
        ],
        "turns": [{"time": t.time, "turnbuckle": t.cable, "half_turns": t.half_turns} for t in told.turns],
        "notes": told.notes,
    }  # fmt: skip


def _line(result: Settled) -> int | None:
    reading = result.anomaly.reading
    return None if reading is None else result.story.points[reading].line
