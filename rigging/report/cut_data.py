"""A cable to cut, and the friction of a circuit, as JSON."""

from __future__ import annotations

from typing import Any

from rigging.jobs.cut import Cut
from rigging.jobs.cut_parts import MOST_THREADS_INSIDE
from rigging.judge.limits import rests_on
from rigging.physics.friction import CircuitFriction

FRICTION_SOURCE = "published: RAF A.P. 4309A"


def friction(pull_one_lbf: float, pull_other_lbf: float, other_side: bool, found: CircuitFriction) -> dict[str, Any]:
    """Friction and load at rest from two pulls of a spring scale."""
    return {
        "friction_lbf": found.friction_lbf,
        "load_lbf": found.load_lbf,
        "pulls_lbf": [pull_one_lbf, pull_other_lbf],
        "scale": "other side" if other_side else "same side",
        "basis": "published",
        "source": FRICTION_SOURCE,
    }


def cut(found: Cut) -> dict[str, Any]:
    """Finished length with its uncertainty, growth still to come, and threads showing day by day."""
    order = found.order
    stiffness = order.cable.need_stiffness()
    return {
        "length_in": found.length_in,
        "uncertainty_in": found.uncertainty_in,
        "coverage_factor": found.length.coverage_factor(),
        "components": [
            {"why": c.why, "standard_uncertainty_in": c.standard_uncertainty} for c in found.length.components
        ],
        "assumptions": rests_on([order.cable], [order.airframe], rigid=True),
        "measured_degF": order.measured_degF,
        "tension_lbf": order.tension_lbf,
        "reference_degF": order.reference_degF,
        "stretch_in": found.stretch_in,
        "bedding_in": {
            "history": order.bedding_in.history,
            "low_in": found.bedding_in_low_in,
            "high_in": found.bedding_in_high_in,
            "low_share": order.bedding_in.low_share,
            "high_share": order.bedding_in.high_share,
            "basis": order.bedding_in.source.basis.value,
            "source": order.bedding_in.source.note,
        },
        "thread": order.thread,
        "pitch_in": found.pitch_in,
        "takeup_per_turn_in": 2 * found.pitch_in,
        "threads_showing": [order.threads_showing, order.threads_showing],
        "most_inside_at_first_rigging": MOST_THREADS_INSIDE,
        "most_inside": order.most_inside,
        "days": [
            {
                "day": day.day,
                "temperature_degF": day.temperature_degF,
                "tension_lbf": day.tension_lbf,
                "tension_uncertainty_lbf": day.tension_uncertainty_lbf,
                "slack": day.slack,
                # no tension is wanted of a slack cable, and no thread belongs to it
                "threads_showing_new": None if day.slack else day.new,
                "threads_showing_bedded_in": None if day.slack else {"least": day.least, "most": day.most},
                "uncertainty": None if day.slack else day.uncertainty,
            }
            for day in found.days
        ],
        "start": None
        if found.start_low is None or found.start_high is None
        else {
            "least": found.start_low,
            "most": found.start_high,
            "longest_in": found.length_for_in(found.start_low),
            "shortest_in": found.length_for_in(found.start_high),
        },
        "fits": not found.findings,
        "usable_for_sign_off": found.usable,
        "findings": found.findings,
        "notes": found.notes,
        "sources": {"stiffness_lbf": stiffness.as_json(), "cable_expansion_per_degF": order.cable.expansion.as_json(),
                    "structure_expansion_per_degF": order.airframe.expansion.as_json()},
    }  # fmt: skip
