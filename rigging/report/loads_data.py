"""A circuit under load as JSON and as rows."""

from __future__ import annotations

import math
from typing import Any

from rigging.jobs.check import CAUTIONS
from rigging.jobs.load_days import LoadDay, Pull
from rigging.jobs.loads import LoadsResult

ROW_COLUMNS = ["circuit", "run", "day", "temperature_degF", "state", "held", "force_lbf", "tension_lbf", "slack"]


def loads(result: LoadsResult) -> dict[str, Any]:
    """Tensions day by day at rest and under the limit force both ways, the rules, and what they rest on."""
    pilot = result.pilot
    return {
        "circuit": result.model.name,
        "aircraft_kind": result.rig.file.aircraft.kind,
        "finding": result.finding,
        "usable_for_sign_off": result.usable,
        "rules": [
            {"rule": r.what, "verdict": r.kept.value, "words": r.words, "source": r.source or None}
            for r in result.rules()
        ],
        "pilot": {
            "sector": pilot.sector,
            "surfaces": pilot.surfaces,
            "lever_in": pilot.lever_in,
            "force_lbf": result.force.value,
            "moment_in_lbf": result.moment_in_lbf,
            "travel_deg": pilot.travel_deg,
            "travel_plus_deg": pilot.travel_plus_deg,
            "travel_minus_deg": pilot.travel_minus_deg,
            "basis": result.force.source.basis.value,
            "source": str(result.force.source),
            "pulled": {"+": result.pulled("+"), "-": result.pulled("-")},
        },
        "rigged_lbf": result.rigged_lbf,
        "days": [_day(day) for day in result.days],
        "cables": [
            {
                "run": c.run.name,
                "most_lbf": c.most_lbf,
                "where": c.where,
                "weakest": c.weakest,
                "strengths_lbf": {part: figure.value for part, figure in c.strengths.items()},
                "strength_sources": {part: str(figure.source) for part, figure in c.strengths.items()},
                "not_counted": c.not_counted,
                "margin": None if c.margin is None or math.isinf(c.margin) else c.margin,
                "friction_ratio": c.friction_ratio,
                "spread_lbf": c.spread_lbf,
            }
            for c in result.cables
        ],
        "bends": [
            {
                "run": b.cable,
                "kind": b.kind,
                "name": b.name,
                "angle_deg": b.angle_deg,
                "load_lbf": b.load_lbf,
                "rating_lbf": b.rating.value if b.rating else None,
                "fits": b.fits,
                "source": str(b.rating.source) if b.rating else b.missing or None,
            }
            for b in result.bends
        ],
        "notes": result.notes,
        "assumptions": result.assumptions,
        "cautions": CAUTIONS,
    }


def _day(day: LoadDay) -> dict[str, Any]:
    return {
        "day": day.day,
        "temperature_degF": day.temperature_degF,
        "rest_lbf": day.rest_lbf,
        "slack_at_rest": day.slack_at_rest,
        "pulls": [_pull(pull) for pull in day.pulls],
    }


def _pull(pull: Pull) -> dict[str, Any]:
    return {
        "way": pull.way,
        "held": pull.held,
        "tensions_lbf": pull.tension_lbf or None,
        "slack": pull.slack,
        "first_slack": pull.first_slack,
        "slack_force_lbf": pull.slack_force_lbf,
        "movement_deg": pull.movement_deg,
        "movement_range_deg": None if pull.movement_deg is None else [pull.movement_least_deg, pull.movement_most_deg],
    }


def loads_rows(result: LoadsResult) -> list[dict[str, Any]]:
    """One row for each cable, day and state: at rest, pulled to + and to -."""
    rows = []
    for day in result.days:
        states = [("rest", result.pilot.surfaces, 0.0, day.rest_lbf)]
        states += [(p.way, list(p.held), result.force.value, p.tension_lbf) for p in day.pulls]
        for state, held, force_lbf, tensions in states:
            for name, tension_lbf in tensions.items():
                rows.append(
                    {
                        "circuit": result.model.name,
                        "run": name,
                        "day": day.day,
                        "temperature_degF": day.temperature_degF,
                        "state": state if state == "rest" else f"{result.pilot.sector} {state}",
                        "held": " and ".join(held),
                        "force_lbf": force_lbf,
                        "tension_lbf": tension_lbf,
                        "slack": tension_lbf <= 0,
                    }
                )
    return rows
