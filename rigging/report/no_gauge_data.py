"""Tension without a tensiometer, several ways held against each other, and what a gauge adds: as JSON and as rows."""

from __future__ import annotations

from typing import Any

from rigging.jobs.best_pull import PULLS, BestPull
from rigging.jobs.clamp import ClampEffect
from rigging.jobs.pluck import Pluck
from rigging.jobs.pluck_sound import Heard
from rigging.jobs.side_pull import SidePull
from rigging.jobs.stretch import Stretch
from rigging.measure.agree import Agreement
from rigging.report.as_json import components
from rigging.source import Basis

OWN = {"basis": Basis.COMPUTED.value, "source": "computed from the user's own measurements (measured)"}
PULL_COLUMNS = ["force_lbf", "deflection_in", "tension_lbf", "rise_lbf", "string_lbf"]
MODE_COLUMNS = ["mode", "frequency_Hz", "standard_uncertainty_Hz", "string_lbf"]
METHOD_COLUMNS = ["method", "tension_lbf", "standard_uncertainty_lbf", "from_others_lbf", "from_others_in_u"]


def side_pull(found: SidePull | None, best: BestPull | None, stretch: Stretch) -> dict[str, Any]:
    """The tension, every pull by itself, and the pull recommended; what was not asked for is null."""
    return {
        **_figure(found),
        "span_in": None if found is None else found.span_in,
        "place_in": None if found is None else found.at_in,
        "pulls": [] if found is None else pull_rows(found),
        "probability_of_scatter": None if found is None else found.probability,
        "usable_for_sign_off": found is not None
        and not found.too_loose
        and not found.odd
        and stretch.source.acceptable,
        "recommended": None
        if best is None
        else {
            "span_in": best.span_in,
            "force_lbf": best.force_lbf,
            "deflection_in": best.deflection_in,
            "relative_uncertainty": best.relative,
            "pulls": PULLS,
            "reaches_target": best.reaches,
        },
        **_stretch(stretch),
        "bending_stiffness_lbf_in2": None
        if found is None
        else {"low": found.bending.loose_lbf_in2, "high": found.bending.solid_lbf_in2},
        **OWN,
    }


def pull_rows(found: SidePull) -> list[dict[str, Any]]:
    """One row for each pull: force, deflection, the tension it makes by itself, what it added, and plain F L / 4 d."""
    return [
        {"force_lbf": p.force_lbf, "deflection_in": p.deflection_in, "tension_lbf": t, "rise_lbf": r, "string_lbf": s}
        for p, t, r, s in zip(found.pulls, found.each_lbf, found.rises_lbf, found.string_lbf, strict=True)
    ]


def pluck(found: Pluck, heard: Heard | None = None) -> dict[str, Any]:
    """The tension, the modes, what they tell of bending stiffness, and what the recording held."""
    return {
        **_figure(found),
        "span_in": found.span_in,
        "cable": found.cable.size,
        "construction": found.cable.construction,
        "modes": mode_rows(found),
        "probability_of_scatter": found.probability,
        "line": None
        if found.line is None
        else {"tension_lbf": found.line.tension_lbf, "bending_stiffness_lbf_in2": found.line.bending_lbf_in2},
        "bending_stiffness_lbf_in2": {"low": found.bending_low_lbf_in2, "high": found.bending_high_lbf_in2},
        "usable_for_sign_off": found.usable if heard is None else heard.usable,
        "recording": None
        if heard is None
        else {
            "file": heard.file,
            "samples_per_second": heard.rate_Hz,
            "duration_s": heard.duration_s,
            "looked_for_lbf": {"low": heard.low_lbf, "high": heard.high_lbf},
            "expected": heard.expected,
            "peaks": [
                {"frequency_Hz": p.frequency_Hz, "strength": p.strength, "mains_Hz": p.mains} for p in heard.peaks
            ],
        },
        "notes": [*found.notes, *sound_notes(heard)],
        "sources": {"weight_lb_per_100ft": found.weight.as_json()},
        **OWN,
    }


def mode_rows(found: Pluck) -> list[dict[str, Any]]:
    """One row for each mode, with the tension it would make without bending stiffness."""
    return [
        {
            "mode": m.number,
            "frequency_Hz": m.frequency_Hz,
            "standard_uncertainty_Hz": m.standard_uncertainty_Hz,
            "string_lbf": t,
        }
        for m, t in zip(found.modes, found.string_lbf, strict=True)
    ]


def sound_notes(heard: Heard | None) -> list[str]:
    """What the person must know of a recording."""
    if heard is None or heard.expected:
        return []
    return [
        "no tension was expected: modes 2, 4, 6 heard alone pass for 1, 2, 3 of a cable four times as tight; say what to "
        "look for, like --expect '20..60 lbf'"
    ]


def agree(found: Agreement) -> dict[str, Any]:
    """The combined figure, null where the methods do not agree, the test, and how far each stands off."""
    off = found.stands_off
    return {
        "agree": found.agrees,
        "tension_lbf": found.tension_lbf if found.agrees else None,
        "uncertainty_lbf": found.uncertainty_lbf if found.agrees else None,
        "standard_uncertainty_lbf": found.standard_uncertainty_lbf if found.agrees else None,
        "chi_square": found.chi_square,
        "degrees_of_freedom": found.degrees_of_freedom,
        "probability_of_scatter": found.probability,
        "birge_ratio": found.birge_ratio,
        "stands_off": None if off is None else off.name,
        "methods": method_rows(found),
        **OWN,
    }


def method_rows(found: Agreement) -> list[dict[str, Any]]:
    """One row for each method, with its distance from the weighted mean of all others."""
    return [
        {
            "method": m.name,
            "tension_lbf": m.tension_lbf,
            "standard_uncertainty_lbf": m.standard_uncertainty_lbf,
            "from_others_lbf": a.difference_lbf,
            "from_others_in_u": a.in_uncertainties,
        }
        for m, a in zip(found.methods, found.apart, strict=True)
    ]


def clamp(found: ClampEffect) -> dict[str, Any]:
    """What the gauge adds, and the tension without it where one was read."""
    return {
        "raise_lbf": found.raise_lbf,
        "raise_uncertainty_lbf": found.combined.expanded(),
        "raise_at_reading_lbf": found.at_lbf,
        "raise_as_a_string_lbf": found.clamped.rise.string_lbf,
        "raise_by_bending_lbf": {
            "low": found.clamped.rise.least_raise_lbf,
            "high": found.clamped.rise.most_raise_lbf,
        },
        "components": components(found.combined),
        "path_in": found.clamped.path_in,
        "deflection_in": found.deflection_in,
        "anvils_in": found.anvils_in,
        "reading_lbf": found.reading_lbf,
        "tension_lbf": found.free_lbf,
        "uncertainty_lbf": None if found.free is None else found.free.expanded(),
        "may_hang_slack": found.maybe_slack if found.reading_lbf is not None else None,
        "accuracy": found.accuracy,
        "more_than_accuracy": found.counts if found.reading_lbf is not None else None,
        "more_than_accuracy_below_lbf": found.counts_below_lbf,
        "bending_stiffness_lbf_in2": {"low": found.bending.loose_lbf_in2, "high": found.bending.solid_lbf_in2},
        **_stretch(found.stretch),
        **OWN,
    }


def _figure(found: SidePull | Pluck | None) -> dict[str, Any]:
    if found is None:
        keys = (
            "tension_lbf", "uncertainty_lbf", "coverage_factor", "standard_uncertainty_lbf", "relative_uncertainty",
            "too_loose", "verdict", "probability_in_limits",
        )  # fmt: skip
        return {**dict.fromkeys(keys), "components": []}
    verdict = found.verdict
    return {
        "tension_lbf": found.tension_lbf,
        "uncertainty_lbf": found.uncertainty_lbf,
        "coverage_factor": found.combined.coverage_factor(),
        "standard_uncertainty_lbf": found.combined.standard_uncertainty,
        "relative_uncertainty": found.relative,
        "too_loose": found.too_loose or None,
        "verdict": None if verdict is None else verdict.word.value,
        "probability_in_limits": None if verdict is None else verdict.probability_in_limits,
        "components": components(found.combined),
    }


def _stretch(stretch: Stretch) -> dict[str, Any]:
    return {
        "stiffness_lbf_per_in": stretch.stiffness_lbf_per_in,
        "stiffness_uncertainty_lbf_per_in": stretch.stiffness_uncertainty_lbf_per_in,
        "assumptions": [stretch.words],
        "sources": {"stiffness_lbf_per_in": {"basis": stretch.source.basis.value, "source": str(stretch.source)}},
    }
