"""A hanging-weight check as JSON and CSV."""

from __future__ import annotations

from typing import Any

from rigging.jobs.weigh import IN_WORDS, Weighed, WeighResult
from rigging.measure.card import CardFile
from rigging.measure.weigh import GRAVITY_SHARE
from rigging.report.as_json import components
from rigging.source import Basis

ROW_COLUMNS = [
    "load_lbf", "dials", "outside", "tension_lbf", "difference_lbf", "difference_share", "uncertainty_lbf", "allowed_lbf",
    "verdict", "plain", "probability_in_limits", "reason",
]  # fmt: skip


def row(weighed: Weighed) -> dict[str, Any]:
    """One load; a dial beyond the card leaves what it would be judged by at the card's end out."""
    weighing, verdict = weighed.weighing, weighed.verdict
    beyond = weighing.outside is not None
    return {
        "load_lbf": weighing.load.load_lbf,
        "dials": list(weighing.load.dials),
        "outside": weighing.outside,
        "tension_lbf": weighing.tension.tension_lbf,
        "difference_lbf": weighing.difference_lbf,
        "difference_share": weighing.share,
        "uncertainty_lbf": weighing.uncertainty_lbf,
        "allowed_lbf": weighed.allowed_lbf,
        "verdict": IN_WORDS[weighed.word],
        "plain": None if beyond else verdict.plain,
        "probability_in_limits": None if beyond else verdict.probability_in_limits,
        "reason": weighed.reason,
    }


def weigh(result: WeighResult, made: CardFile | None, path: str | None) -> dict[str, Any]:
    """The whole check; ``new_card`` names the file that was written, with its accuracy and points."""
    worst = result.worst
    return {
        "verdict": IN_WORDS[result.word],
        "card_serial": result.card.serial,
        "card_due": result.card.due,
        "card_in_date": result.card.in_date(result.today),
        "card_basis": result.card.source.basis.value,
        "card_source": str(result.card.source),
        "riser": result.riser,
        "cable": result.size,
        "date": result.today,
        "accuracy_share": result.card.accuracy,
        "weight_accuracy_share": result.weight_accuracy,
        "gravity_share": GRAVITY_SHARE,
        "loads": [
            {
                **row(w),
                "coverage_factor": w.weighing.combined.coverage_factor(),
                "components": components(w.weighing.combined),
            }
            for w in result.loads
        ],
        "worst": {
            "load_lbf": worst.load.load_lbf,
            "difference_lbf": worst.difference_lbf,
            "share": worst.share,
            "outside": worst.outside,
        },
        "band": None
        if result.band is None
        else {"low_lbf": result.band.low_lbf, "high_lbf": result.band.high_lbf, "bracketed": result.brackets},
        "basis": Basis.MEASURED.value,
        "source": f"hanging weights on tensiometer {result.card.serial}, {result.today}",
        "assumptions": result.assumptions,
        "notes": result.notes,
        "new_card": None
        if made is None
        else {
            "file": path,
            "accuracy_share": made.accuracy,
            "due": made.due,
            "source": made.source,
            "points": [{"dial": dial, "tension_lbf": tension} for dial, tension in made.columns[0].points],
        },
    }
