"""A circuit through the seasons as JSON and as rows."""

from __future__ import annotations

from typing import Any

from rigging.jobs.check import CAUTIONS
from rigging.jobs.envelope_parts import DESIGNER, CircuitEnvelope, EnvelopeResult, RunEnvelope
from rigging.jobs.window import Edge, Window
from rigging.measure.uncertainty import combine

COLUMNS = (
    "circuit", "run", "temperature_degF", "tension_lbf", "uncertainty_lbf", "low_lbf", "high_lbf", "state", "limits",
)  # fmt: skip


def envelope(result: EnvelopeResult) -> dict[str, Any]:
    """The ``envelope`` contract: every circuit under ``circuits``; where it is one, its keys stand at the top as well."""
    file = result.rig.file
    circuits = [one_circuit(c) for c in result.circuits]
    return {
        "aircraft": file.aircraft.name,
        "registration": file.aircraft.registration,
        "sheet": result.rig.path,
        "sheet_sha256": result.rig.sha256,
        "finding": result.found,
        **(circuits[0] if len(circuits) == 1 else {}),
        "circuits": circuits,
        "refused": result.refused,
        "cautions": CAUTIONS,
    }


def envelope_rows(result: EnvelopeResult) -> list[dict[str, Any]]:
    """One row for each cable and temperature."""
    return [
        {
            "circuit": circuit.name,
            "run": r.run.name,
            "temperature_degF": temperature,
            "tension_lbf": r.tensions_lbf[i],
            "uncertainty_lbf": r.uncertainties_lbf[i],
            "low_lbf": r.limits.low_lbf[i],
            "high_lbf": r.limits.high_lbf[i],
            "state": "slack" if any(s.from_degF <= temperature <= s.to_degF for s in r.slack) else "tight",
            "limits": _limits_word(r, i),
        }
        for circuit in result.circuits
        for r in circuit.runs
        if r.tensions_lbf
        for i, temperature in enumerate(circuit.temperatures_degF)
    ]


def _limits_word(r: RunEnvelope, i: int) -> str:
    low, high, tension = r.limits.low_lbf[i], r.limits.high_lbf[i], r.tensions_lbf[i]
    if low is None or high is None:
        return "no-result" if r.limits.given else "not-given"
    # at a corner of a span outside, rounding decides nothing a rigger could read
    return "low" if tension < low - 1e-6 else "high" if tension > high + 1e-6 else "in"


def one_circuit(c: CircuitEnvelope) -> dict[str, Any]:
    """One entry of ``circuits``."""
    return {
        "circuit": c.name,
        "reference_degF": c.reference_degF,
        "coldest_degF": c.coldest_degF,
        "hottest_degF": c.hottest_degF,
        "temperatures_degF": c.temperatures_degF,
        "runs": {
            r.run.name: {
                "tensions_lbf": r.tensions_lbf,
                "uncertainty_lbf": r.uncertainties_lbf,
                "low_lbf": r.limits.low_lbf,
                "high_lbf": r.limits.high_lbf,
            }
            for r in c.runs
        },
        "slack_below_degF": c.slack_below_degF,
        "slack_above_degF": c.slack_above_degF,
        "slack": [_slack(r, s.from_degF, s.to_degF) for r in c.runs for s in r.slack],
        "perhaps_slack": [_slack(r, s.from_degF, s.to_degF) for r in c.runs for s in r.perhaps_slack],
        "out_of_limits": c.out_of_limits,
        "limits_no_result": [
            {"run": r.run.name, "from_degF": o.span.from_degF, "to_degF": o.span.to_degF, "reason": o.reason}
            for r in c.runs
            for o in r.limits.open
        ],
        "rigging": [_rigging(r) for r in c.runs],
        "window": None if c.window is None else _window(c.window),
        "notes": c.notes,
        "assumptions": c.assumptions,
        "material_cautions": c.cautions,
    }


def _slack(r: RunEnvelope, from_degF: float, to_degF: float) -> dict[str, Any]:
    return {
        "run": r.run.name,
        "from_degF": from_degF,
        "to_degF": to_degF,
        "uncertainty_degF": r.slack_uncertainty_degF,
    }


def _rigging(r: RunEnvelope) -> dict[str, Any]:
    """What a cable is rigged to, and what temperature does to it; the contributions are those of the coldest end."""
    return {
        "run": r.run.name,
        "rigged_lbf": r.rigged_lbf,
        "rigged_by": r.rigged_by,
        "slope_lbf_per_degF": r.slope_lbf_per_degF,
        "limits_slope_lbf_per_degF": r.limits.slope_lbf_per_degF,
        "direction": r.direction,
        "limits_basis": r.run.limits_source.basis.value if r.limits.given else None,
        "limits_source": str(r.run.limits_source) if r.limits.given else None,
        "limits_usable_for_sign_off": r.limits.usable_for_sign_off,
        "components_at_first_temperature": [
            {"why": c.why, "standard_uncertainty_lbf": c.standard_uncertainty}
            for c in (combine(r.components[0]).components if r.components else ())
        ],
    }


def _window(w: Window) -> dict[str, Any]:
    """Constraints, never a verdict."""
    return {
        "empty": w.empty,
        "low": None if w.low is None else _edge(w.low),
        "high": None if w.high is None else _edge(w.high),
        "not_looked_at": w.without,
        "advice": DESIGNER,
    }


def _edge(edge: Edge) -> dict[str, Any]:
    return {
        "tensions_lbf": edge.tensions_lbf,
        "uncertainty_lbf": edge.uncertainty_lbf,
        "runs": edge.cables,
        "temperature_degF": edge.temperature_degF,
        "pilot_force_lbf": edge.pilot_force_lbf,
        "limit_lbf": edge.limit_lbf,
        "why": edge.words,
    }
