"""The steps of a guided session that read a tension: what the dial should show under the conditions written last."""

from __future__ import annotations

from typing import Any, Final

from rigging.errors import Refusal
from rigging.jobs.limit_line import limits_under
from rigging.jobs.session_log import Told
from rigging.jobs.session_step import Step, reading_key
from rigging.judge.limits import Limits
from rigging.judge.temperatures import Condition
from rigging.log.kinds import read_given
from rigging.measure.card import Card, dial_window, lbf_to_dial
from rigging.sheet.circuit import Circuits
from rigging.sheet.rig import Rig, Run
from rigging.told import force, inches, told

AWAY_IN: Final = 6.0  # practice


def reading_step(rig: Rig, run: Run, station: str, limits: Limits | None) -> Step:
    """Read one run at one station; in big what the dial should show, for each riser that is on a card.

    limits: today's, None where there are none to give.
    """
    given: dict[str, Any] = {"run": run.name, "station": station}
    choices = [(card, riser) for card in rig.cards.values() for riser in card.risers(run.cable.size)]
    if len(rig.cards) == 1:
        given["tensiometer"] = next(iter(rig.cards))
        if len(choices) == 1:
            given["riser"] = choices[0][1]
    shown = [_dial(rig, card, riser, run, limits) for card, riser in choices]
    figure = shown[0][0] if len(shown) == 1 else ""
    big = [line for _, line in shown]
    if limits is not None:
        big.append(told("{} TO {} TODAY", force(limits.low_lbf, unit=False), force(limits.high_lbf)))
    place = f"{run.name}, {station}" if station else run.name
    return Step(
        reading_key(run, station), "reading", run.circuit, f"Tension of {run.circuit} / {place}", tuple(big), figure,
        (told("read three times, more than {} from fittings, pulleys and fairleads", inches(AWAY_IN)),), given,
        tuple(key for key in ("tensiometer", "riser", "dial") if key not in given),
    )  # fmt: skip


def _dial(rig: Rig, card: Card, riser: int, run: Run, limits: Limits | None) -> tuple[str, str]:
    """The dial window of one riser: as a figure, and in words."""
    which = f"{card.serial}, " if len(rig.cards) > 1 else ""
    if limits is None:
        return "", f"{which}RISER {riser}"
    try:
        column = card.column(riser, run.cable.size)
        low, high = dial_window(column, limits.low_lbf, limits.high_lbf, card.division)
        aim = f"AIM FOR {lbf_to_dial(column, limits.target_lbf):.0f}"
    except Refusal:
        return "", f"{which}RISER {riser}: TODAY'S LIMITS LIE OUTSIDE ITS CARD"
    return f"{low:g} - {high:g}", f"{which}RISER {riser}: DIAL {low:g} TO {high:g}, {aim}"


def limits_now(rig: Rig, models: Circuits, log: Told, run: Run) -> Limits | None:
    """The limits of a run under the newest conditions, as a check takes them; None where there are none to give."""
    if not log.conditions:
        return None
    about: Any = read_given("conditions", log.conditions[-1].given, "conditions")
    condition = Condition(about.structure_degF, rig.file.thermometer_half_width_degF, None, about.air_degF)
    try:
        return limits_under(models, run, condition)
    except Refusal:
        return None
