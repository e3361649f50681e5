"""Results as JSON documents; keys carry units, and scripts may rely on them."""

from __future__ import annotations

from typing import Any, Final

from rigging.hardware.cable import Cable
from rigging.jobs.check import CAUTIONS, CheckResult, RunResult, sign_off_gaps
from rigging.judge.limits import Limits
from rigging.measure.reading import Tension
from rigging.measure.uncertainty import Combined
from rigging.tables import Table
from rigging.told import as_text


def dumps(value: Any) -> str:
    """The document as text; infinite degrees of freedom become null."""
    import msgspec

    return msgspec.json.format(msgspec.json.encode(value, enc_hook=as_text), indent=2).decode()


def cable(cable: Cable) -> dict[str, Any]:
    """The ``cable`` contract: figures by key, each with value, basis and source under ``sources``."""
    figures = {
        "breaking_strength_lbf": cable.breaking_strength,
        "proof_load_lbf": cable.proof_load,
        "stiffness_lbf": cable.stiffness,
        "expansion_per_degF": cable.expansion,
        "weight_lb_per_100ft": cable.weight,
    }
    return {
        "size": cable.size,
        "size_in": cable.diameter_in,
        "construction": cable.construction,
        "material": cable.material,
        **{key: figure.value if figure else None for key, figure in figures.items()},
        "sources": {key: figure.as_json() for key, figure in figures.items() if figure},
        "missing": cable.missing,
    }


def limits(limits: Limits, tension_lbf: float | None = None) -> dict[str, Any]:
    """The ``limits`` contract, with both ways of looking at it and what it rests on."""
    return {
        "temperature_degF": limits.temperature_degF,
        "low_lbf": limits.low_lbf,
        "target_lbf": limits.target_lbf,
        "high_lbf": limits.high_lbf,
        "reference_degF": limits.reference_degF,
        "reference_low_lbf": limits.reference_low_lbf,
        "reference_high_lbf": limits.reference_high_lbf,
        "shift_lbf": limits.shift_lbf,
        "shift_standard_uncertainty_lbf": Combined(limits.components).standard_uncertainty,
        "shift_uncertainty_lbf": limits.shift_uncertainty_lbf,
        "may_hang_slack": limits.may_hang_slack,
        "slope_lbf_per_degF": limits.slope_lbf_per_degF,
        "direction": limits.direction,
        "in_words": limits.in_words,
        "basis": limits.source.basis.value,
        "source": str(limits.source),
        "usable_for_sign_off": limits.usable_for_sign_off,
        "not_for_sign_off_because": limits.sign_off_gaps,
        "tension_lbf": tension_lbf,
        **_at_reference(None if tension_lbf is None else limits.at_reference_lbf(tension_lbf)),
        "assumptions": limits.assumptions,
        "cautions": limits.cautions,
    }


def _at_reference(tension_lbf: float | None) -> dict[str, Any]:
    """A tension brought to the reference temperature: zero, and ``slack_at_reference``, where the cable hangs slack there."""
    slack = None if tension_lbf is None else tension_lbf <= 0
    return {"tension_at_reference_lbf": tension_lbf, "slack_at_reference": slack}


def pounds(tension: Tension) -> dict[str, Any]:
    """The ``pounds`` contract."""
    return {
        "readings": [{"dial": d, "tension_lbf": t} for d, t in zip(tension.dials, tension.readings_lbf, strict=True)],
        "tension_lbf": tension.tension_lbf,
        "uncertainty_lbf": tension.uncertainty_lbf,
        "coverage_factor": tension.combined.coverage_factor(),
        "standard_uncertainty_lbf": tension.combined.standard_uncertainty,
        "degrees_of_freedom": tension.combined.degrees_of_freedom,
        "components": components(tension.combined),
        "spread_lbf": tension.spread_lbf,
        "riser": tension.column.riser,
        "cable": tension.column.cable,
        "card_serial": tension.card.serial,
        "card_due": tension.card.due,
        "card_in_date": tension.card_in_date,
        "usable_for_sign_off": tension.card_in_date and tension.card.source.acceptable,
        "basis": tension.card.source.basis.value,
        "source": str(tension.card.source),
        "notes": tension.notes,
    }


def components(combined: Combined) -> list[dict[str, Any]]:
    """Every contribution to an uncertainty in lbf (k=1)."""
    return [
        {"why": c.why, "standard_uncertainty_lbf": c.standard_uncertainty, "degrees_of_freedom": c.degrees_of_freedom}
        for c in combined.components
    ]


def dial(column_label: str, card_serial: str, card_in_date: bool, aim: float | None, window: tuple[float, float] | None,
         tension_lbf: float | None, source: str, basis: str) -> dict[str, Any]:  # fmt: skip
    """The ``dial`` contract: what the dial must show, and the window of a band."""
    return {
        "dial": aim,
        "window": None if window is None else {"low": window[0], "high": window[1]},
        "tension_lbf": tension_lbf,
        "column": column_label,
        "card_serial": card_serial,
        "card_in_date": card_in_date,
        "basis": basis,
        "source": source,
    }


def check(result: CheckResult) -> dict[str, Any]:
    """The ``check`` contract."""
    file = result.rig.file
    return {
        "verdict": result.word.value,
        "aircraft": file.aircraft.name,
        "registration": file.aircraft.registration,
        "sheet": result.rig.path,
        "sheet_sha256": result.rig.sha256,
        "date": result.today,
        "runs": [
            {**check_run(r), "in_balance_lbf": result.comparison.in_balance_lbf.get((r.run.circuit, r.run.name))}
            for r in result.runs
        ],
        "drag": result.comparison.drag,
        "cautions": CAUTIONS,
    }


def check_run(r: RunResult) -> dict[str, Any]:
    """One entry of ``runs``; figures that could not be given are null."""
    tension, limits_, verdict = r.tension, r.limits, r.verdict
    return {
        "circuit": r.run.circuit,
        "run": r.run.name,
        "station": r.station,
        "dials": [reading.dial for reading in r.readings],
        "tension_lbf": tension.tension_lbf if tension else None,
        "uncertainty_lbf": tension.uncertainty_lbf if tension else None,
        "temperature_degF": r.structure_degF,
        "low_lbf": limits_.low_lbf if limits_ else None,
        "target_lbf": limits_.target_lbf if limits_ else None,
        "high_lbf": limits_.high_lbf if limits_ else None,
        "shift_lbf": limits_.shift_lbf if limits_ else None,
        "shift_uncertainty_lbf": limits_.shift_uncertainty_lbf if limits_ else None,
        "may_hang_slack": limits_.may_hang_slack if limits_ else None,
        **_at_reference(r.tension_at_reference_lbf),
        "reference_degF": limits_.reference_degF if limits_ else None,
        "verdict": r.word.value,
        "side": verdict.side if verdict else None,
        "plain": verdict.plain if verdict else None,
        "guard_lbf": verdict.guard_lbf if verdict else None,
        "can_decide": verdict.can_decide if verdict else None,
        "probability_in_limits": verdict.probability_in_limits if verdict else None,
        "basis": r.run.limits_source.basis.value,
        "source": str(limits_.source if limits_ else r.run.limits_source),
        "slope_lbf_per_degF": limits_.slope_lbf_per_degF if limits_ else None,
        "direction": limits_.direction if limits_ else None,
        "usable_for_sign_off": tension is not None and limits_ is not None and not sign_off_gaps(tension, limits_),
        "tensiometer": tension.card.serial if tension else None,
        "without_limits": r.without_limits or None,
        "refusal": r.refusal or None,
        "action": r.action,
        "reasons": r.reasons,
        "assumptions": limits_.assumptions if limits_ else [],
    }  # fmt: skip


# how a name ends by the unit of a table; what has none in this list is a text, a size, a count or a dial reading
_ENDINGS: Final = {
    "lbf": "lbf", "lb/100ft": "lb_per_100ft", "in": "in", "F": "degF", "C": "degC", "deg": "deg", "GPa": "GPa", "Mpsi": "Mpsi",
    "1e-6/C": "microstrain_per_degC", "1e-6/%": "microstrain_per_percent", "1e-5 %/psi": "percent_per_100ksi", "%": "percent", "min": "minutes", "in-lbf": "in_lbf",
    "mm": "mm", "kg/m3": "kg_per_m3", "J/kgK": "J_per_kgK",
}  # fmt: skip


def table_keys(table: Table) -> dict[str, str]:
    """The columns of a table as keys that end in their unit: ``breaking_strength`` is ``breaking_strength_lbf``."""
    found = {}
    for name, column in table.file.columns.items():
        ending = _ENDINGS.get(column.unit, "")
        found[name] = f"{name}_{ending}" if ending and not name.lower().endswith(f"_{ending.lower()}") else name
    return found


def table_rows(table: Table) -> list[dict[str, Any]]:
    """Every row by those keys."""
    keys = table_keys(table)
    return [{keys[name]: value for name, value in row.values.items()} for row in table.rows]


def table(table: Table) -> dict[str, Any]:
    """A handbook table with the source of every row."""
    file, keys = table.file, table_keys(table)
    return {
        "id": table.id,
        "title": file.title,
        "basis": file.source.basis.value,
        "source": str(file.source),
        "read": file.read,
        "sha256": table.sha256,
        "columns": {keys[name]: {"unit": c.unit, "heading": c.heading} for name, c in file.columns.items()},
        "rows": [
            {
                **values,
                "sources": {
                    keys[name]: str(row.source(name)) for name in file.columns if row.source(name) != file.source
                },
            }
            for values, row in zip(table_rows(table), table.rows, strict=True)
        ],
        "decisions": file.decisions,
    }
