"""The step of a guided session that turns a turnbuckle: the next one of a plan, or by hand where there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from rigging.errors import Refusal
from rigging.jobs.judged_surfaces import turnbuckles
from rigging.jobs.plan import plan
from rigging.jobs.session_log import Told
from rigging.jobs.session_step import Step, reading_keys
from rigging.log.kinds import read_given
from rigging.sheet.readings import Reading, last_day
from rigging.sheet.rig import Rig, Run
from rigging.told import force, join, told


class Turns:
    """The turns of a session on a sheet, as its log stands."""

    def __init__(self, rig: Rig, log: Told) -> None:
        self.rig, self.log = rig, log

    def step(
        self,
        circuit: str,
        readings: Sequence[Reading],
        found: Sequence[str],
        judged_at: int,
        turned: Sequence[tuple[str, int]] = (),
    ) -> Step:
        """The next turn of a plan from these readings; where there is none, the reason, to read again or leave it open.

        turned: turns that were given since; where they are not those of the plan, there is no next one.
        """
        again = tuple(reading_keys(self.rig, circuit))
        ways_out = "'again' reads this circuit once more; 'skip' leaves it open"
        key = f"{circuit}/turn"
        if not turnbuckles(self.rig.file.circuits[circuit]):
            why = (*found, "the sheet names no turnbuckle in this circuit", ways_out)
            return Step(key, "", circuit, f"{circuit}: nothing to turn", why=why, again=again)
        ask = ("turnbuckle", "half_turns", "threads_showing")
        title = f"{circuit}: nothing to turn by plan"
        by_hand = Step(key, "adjustment", circuit, title, why=tuple(found), ask=ask, again=again)
        try:
            rig = self._with_threads(circuit, judged_at)
            result = plan(rig, circuit, readings, last_day(readings), neutral_deg=self._neutrals(circuit))
        except Refusal as error:
            return msgspec.structs.replace(by_hand, why=(*found, told("no plan: {}", str(error)), ways_out))
        why = (*found, *result.findings, *result.stopped_by)
        done = len(turned)
        if done >= len(result.steps) or [(s.turnbuckle, s.half_turns) for s in result.steps[:done]] != list(turned):
            return msgspec.structs.replace(by_hand, why=(*why, ways_out))
        now = result.steps[done]
        then = join(", ", [told("{} {}", name, force(t)) for name, t in now.tensions_lbf.items()])
        count = f"{abs(now.half_turns)} HALF TURN{'S' * (abs(now.half_turns) != 1)}"
        showing = now.threads_showing
        threads = (f"threads showing afterwards: {showing[0]:g} and {showing[1]:g}",) if showing else ()
        return msgspec.structs.replace(
            by_hand,
            title=f"Turn: step {done + 1} of {len(result.steps)}",
            big=(f"{now.direction.upper()} the turnbuckle of {now.turnbuckle}: {count}",),
            figure=f"{now.half_turns:+d}",
            why=(
                *why, told("then about: {}", then), *threads, "same number of threads at both ends; Enter takes what is planned, "
                "type what was turned where it differs",
            ),
            suggested={"turnbuckle": now.turnbuckle, "half_turns": now.half_turns},
        )  # fmt: skip

    def _with_threads(self, circuit: str, before: int) -> Rig:
        """The sheet with the threads that showed at an entry."""
        showing = self.log.threads(circuit, before)

        def now(run: Run) -> Run:
            own = run.entry.turnbuckle
            if run.circuit != circuit or own is None or run.name not in showing:
                return run
            entry = msgspec.structs.replace(
                run.entry, turnbuckle=msgspec.structs.replace(own, threads_showing=showing[run.name])
            )
            return msgspec.structs.replace(run, entry=entry)

        return msgspec.structs.replace(self.rig, runs=tuple(now(run) for run in self.rig.runs))

    def _free_surfaces(self, circuit: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
        """Each surface that its cables can move, the sector it sits on, and the entry of its neutral."""
        entry = self.rig.file.circuits[circuit]
        for name, surface in entry.surfaces.items():
            seen = self.log.last("neutral", circuit, surface=name)
            if seen is not None and surface.sector in entry.sectors and surface.sector not in entry.hold:
                yield name, surface.sector, seen.payload

    def _neutrals(self, circuit: str) -> dict[str, float]:
        """Where the sectors of the surfaces rest [deg], as last seen."""
        found: dict[str, float] = {}
        for _, sector, payload in self._free_surfaces(circuit):
            given: Any = read_given("neutral", payload["given"], "neutral")
            found[sector] = given.offset_deg
        return found

    def neutrals_out(self, circuit: str) -> list[str]:
        """Surfaces that rest off their mark, in words."""
        return [
            f"{name}: neutral is out: {'; '.join(payload['judged']['reasons'])}"
            for name, _, payload in self._free_surfaces(circuit)
            if payload["judged"]["verdict"] == "out"
        ]
