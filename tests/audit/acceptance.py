"""Can anything be accepted with a figure from memory? Every figure is made one, and everything that used it is asked again.

For each cell of the tables that the commands ask for: its value is moved a little, which shows what depends on it;
then its status is made memory, and nothing that depends on it may be accepted. The same for every status a user can
write in a sheet, a card or a chart, and for the figures that are from memory as they stand.
"""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
from figures import Cell, watched
from runs import PLOVER_LINES, WITHOUT_A_LOG, Ran, accepts, figures_of, nodes, plover, run

from rigging import tables
from rigging.source import Basis

MOVED = 1.04  # what a figure is multiplied by to see what it moves
VERDICTS = ("check", "loads", "cut", "settle", "plan")  # commands whose exit code 0 says that all is well
RESTS_ON = {"loads": ("days", "rigged_lbf", "pilot")}
"""What an answer as a whole vouches for where that is not all of it; rules and runs vouch for themselves."""
ADVICE = frozenset({"time-constants-still-air"})
"""Tables of advice: how long to wait accepts nothing, and says so in the table."""


class Accepted(NamedTuple):
    """Something accepted that rests on a figure from memory: the figure, the command and the place in its answer."""

    figure: str
    command: str
    place: str


@contextlib.contextmanager
def changed(cell: Cell, basis: Basis | None = None, factor: float = 1.0) -> Iterator[None]:
    """While this lasts, one cell of the tables has another status, or another value."""
    plain = tables.load

    def load(table_id: str) -> tables.Table:
        table = plain(table_id)
        if table_id != cell[0]:
            return table
        file = table.file
        if basis is not None:
            others = [c for c in file.cells if (c.row, c.column) != cell[1:]]
            file = msgspec.structs.replace(
                file, cells=[*others, tables.CellSource(cell[1], cell[2], basis, "recalled")]
            )
        if factor != 1.0:
            rows = [list(row) for row in file.rows]
            place = list(file.columns).index(cell[2])
            rows[cell[1] - 1][place] *= factor
            file = msgspec.structs.replace(file, rows=rows)
        return msgspec.structs.replace(table, file=file)

    tables.load = load  # type: ignore[assignment]
    try:
        yield
    finally:
        tables.load = plain


class Line(NamedTuple):
    """A command line and where it is run."""

    command: str
    folder: Path | None

    def run(self) -> Ran:
        """Its answer as JSON."""
        return run(self.command, "--json", **({} if self.folder is None else {"folder": self.folder}))


def lines(folder: Path) -> list[Line]:
    """All command lines: the examples' own, and those that accept the Plover."""
    plover(folder)
    return [*(Line(c, None) for c in WITHOUT_A_LOG), *(Line(c, folder) for c in PLOVER_LINES)]


def used(every: list[Line]) -> dict[Cell, list[Line]]:
    """The numbers that are asked for, and by which command lines."""
    found: dict[Cell, list[Line]] = {}
    shipped = tables.table_ids()
    for line in every:
        with watched() as seen:
            line.run()
        for cell in seen:
            if cell[0] not in shipped:
                continue
            table = tables.load(cell[0])
            value = table.file.rows[cell[1] - 1][list(table.file.columns).index(cell[2])]
            if table.file.columns[cell[2]].unit not in ("text", "size") and value:
                found.setdefault(cell, []).append(line)
    return found


def moved_places(command: str, before: Any, after: Any) -> set[tuple[str, ...]]:
    """Places of an answer whose figures or words differ."""
    other = dict(nodes(after))
    found = set()
    for path, node in nodes(before):
        mine, theirs = node, other.get(path)
        if path == () and command in RESTS_ON and theirs is not None:
            mine, theirs = ({key: n[key] for key in RESTS_ON[command]} for n in (node, theirs))
        elif theirs is not None and "limits_usable_for_sign_off" in node:
            # the mark is on the limits, whatever else is told of the run
            mine, theirs = ({k: v for k, v in n.items() if k.startswith("limits_")} for n in (node, theirs))
        if theirs is None or figures_of(mine) != figures_of(theirs):
            found.add(path)
    return found


def accepted_from_tables(folder: Path, once: bool = False) -> tuple[int, list[Accepted]]:
    """How many pairs of a figure and a command were tried, and what was accepted on memory.

    once: each figure with one command line of each kind only, the one that accepts the most.
    """
    plain: dict[Line, Ran] = {}
    tried, found = 0, []
    # the Plover, of which everything is accepted, comes first
    for cell, users in used(list(reversed(lines(folder)))).items():
        if cell[0] in ADVICE:
            continue
        for line in {u.command.split()[0]: u for u in reversed(users)}.values() if once else users:
            before = plain.get(line) or plain.setdefault(line, line.run())
            with changed(cell, factor=MOVED):
                other = line.run()
            if before.json is None or other.json is None:
                continue
            first = line.command.split()[0]
            places = moved_places(first, before.json, other.json)
            tried += 1
            with changed(cell, basis=Basis.MEMORY):
                now = line.run()
            name = f"{cell[0]}, row {cell[1]}, {cell[2]}"
            found += [
                Accepted(name, line.command, "/".join(path) or "the answer")
                for path, node in nodes(now.json)
                if path in places and accepts(node)
            ]
            vouched = any(path == () or accepts(dict(nodes(before.json)).get(path, {})) for path in places)
            if vouched and now.code == 0 and first in VERDICTS:
                found.append(Accepted(name, line.command, "exit code 0"))
    return tried, found


_FRAME = ("airframe: {material: aluminium}", "airframe: {material: aluminium, expansion: 23e-6/C, "
          "expansion_half_width: 1e-6/C, basis: %s, source: recalled}")  # fmt: skip
_LIMITS = (
    "limits_source: Plover notes,\n             history",
    "limits_source: Plover notes, limits_basis: %s,\n             history",
)
BY_A_USER = {
    "airframe": _FRAME,
    "limits of a run": _LIMITS,
    "card": ("source: bench of the Plover works", "basis: %s\nsource: recalled"),
    "path of the other cable in the circuit": (
        "horn -, limits: 30..80 lbf @ 70F,",
        "horn -, path: [{length: 12 ft, airframe: {material: aluminium, expansion: 23e-6/C, expansion_half_width: 1e-6/C, "
        "basis: %s, source: recalled}}], limits: 30..80 lbf @ 70F,",
    ),
}
"""Each status a user can write, as a change of the Plover's files."""

SHIPPED = {
    "an airframe of wood": ("airframe: {material: aluminium}", "airframe: {material: wood}"),
    "an airframe of carbon": ("airframe: {material: aluminium}", "airframe: {material: carbon}"),
    "the other cable along wood": (
        "horn -, limits: 30..80 lbf @ 70F,", "horn -, path: [{length: 12 ft, airframe: wood}], limits: 30..80 lbf @ 70F,"),
}  # fmt: skip
"""Figures that are from memory as they stand in the tables, brought into the Plover's sheet."""


def accepted_from_users(folder: Path) -> tuple[int, list[Accepted]]:
    """The same for each status a user can write, and for what is from memory in the tables as they stand."""
    changes = {name: (old, new % Basis.MEMORY.value) for name, (old, new) in BY_A_USER.items()}
    tried, found = 0, []
    for name, change in {**changes, **SHIPPED}.items():
        place = plover(folder / name.replace(" ", "-"), change)
        one_run = "left" if name.startswith("limits of a run") else ""
        for command in PLOVER_LINES:
            if not _rests_on(name, command):
                continue
            ran = run(command, "--json", folder=place)
            tried += 1
            for path, node in nodes(ran.json):
                # a bend of the cable at a fairlead is geometry
                mine = (not one_run or node.get("run", one_run) == one_run) and "fairlead" not in str(node.get("rule"))
                if mine and accepts(node) and not (path == () and one_run and "rules" not in node):
                    found.append(Accepted(name, command, "/".join(path) or "the answer"))
            if ran.code == 0 and command.split()[0] in VERDICTS:
                found.append(Accepted(name, command, "exit code 0"))
    return tried, found


def _rests_on(name: str, command: str) -> bool:
    """Whether an answer rests on that figure at all: no card is read for an envelope or for loads."""
    return not (name == "card" and command.split()[0] in ("envelope", "loads"))


class _Given(NamedTuple):
    kind: str
    entry: dict[str, Any]
    old: str
    new: str


IN_THE_LOG = {
    "travel": _Given("travel", {"surface": "rudder", "ways": {"left": "24 deg", "right": "24 deg"}, "uncertainty": "0.5 deg"},
                     "source: Plover notes}\n    friction_limit", "source: Plover notes, basis: %s}\n    friction_limit"),
    "neutral": _Given("neutral", {"surface": "rudder", "offset": "0 deg", "uncertainty": "0.3 deg"},
                      "source: Plover notes}\n    friction_limit", "source: Plover notes, basis: %s}\n    friction_limit"),
    "direction": _Given("direction", {"surface": "rudder", "seen": {"left pedal": "left", "right pedal": "right"}},
                        "source: Plover notes}\n    friction_limit", "source: Plover notes, basis: %s}\n    friction_limit"),
    "inspection": _Given(
        "inspection", {"seen": {"rudder": {"left pedal": "left", "right pedal": "right"}},
                       "secured": {"left": True, "right": True}, "free_over_full_travel": True, "tools_removed": True},
        "source: Plover notes}\n    friction_limit", "source: Plover notes, basis: %s}\n    friction_limit"),
    "friction": _Given("friction", {"pull_one": "4 lbf", "pull_other": "2 lbf", "uncertainty": "0.4 lbf"},
                       "friction_source: Plover notes", "friction_source: Plover notes\n    friction_basis: %s"),
    "bridle": _Given("bridle", {"tension": "16 lbf", "uncertainty": "0.5 lbf", "structure": "70F", "instrument": "P-3"},
                     "lbf @ 70F, source: Plover notes}\n", "lbf @ 70F, source: Plover notes, basis: %s}\n"),
}  # fmt: skip
"""What closes an item of the log, and where its basis stands in the sheet."""


def accepted_in_the_log(folder: Path) -> tuple[int, list[Accepted]]:
    """Entries that would close their item with limits from memory, and entries judged by a table's figure made memory."""
    from rigging.jobs.judged import judged
    from rigging.log import kinds
    from rigging.sheet.load import load_rig

    tried, found = 0, []
    for name, (kind, entry, old, new) in IN_THE_LOG.items():
        given = kinds.read_given(kind, entry, name)
        for basis in Basis:
            place = plover(folder / f"{name}-{basis.value}", (old, new % basis.value))
            came = judged(load_rig(place / "sheet.yaml"), kind, "rudder", given)
            tried += 1
            if came.closes != (basis is not Basis.MEMORY) or (basis is Basis.MEMORY and came.verdict == "in"):
                found.append(Accepted(f"{name} by limits from {basis.value}", "log add", came.verdict))
    rig = load_rig(plover(folder / "condition") / "sheet.yaml")
    seen = kinds.read_given("condition", {"part": "left", "fairlead_bend": "2 deg"}, "condition")
    with watched() as asked:
        judged(rig, "condition", "rudder", seen)
    for cell in asked:
        if not isinstance(
            tables.load(cell[0]).file.rows[cell[1] - 1][list(tables.load(cell[0]).file.columns).index(cell[2])],
            float | int,
        ):
            continue
        with changed(cell, basis=Basis.MEMORY):
            tried += 1
            if judged(rig, "condition", "rudder", seen).closes:
                found.append(Accepted(f"{cell[0]}, row {cell[1]}, {cell[2]}", "log add condition", "closed"))
    return tried, found


def accepted_by_a_chart(folder: Path) -> tuple[int, list[Accepted]]:
    """Limits by a chart of which the file, a row or a cell is from memory, at every temperature it reaches."""
    from rigging.judge.chart import limits_from_chart
    from rigging.judge.temperatures import Condition

    text = (
        "table: 1\nkind: chart\ntitle: Plover rudder\nsource: {basis: %s, document: Plover notes}\n"
        "columns: {for: {unit: text}, temperature: {unit: F}, low: {unit: lbf}, high: {unit: lbf}, basis: {unit: text}}\n"
        "rows:\n  - [rudder, 20, 20, 30, %s]\n  - [rudder, 70, 30, 40, null]\n  - [rudder, 100, 36, 46, null]\n%s"
    )
    cells = [
        f"cells: [{{row: {row}, column: {name}, basis: memory}}]\n"
        for row in (1, 2, 3)
        for name in ("temperature", "low", "high")
    ]
    charts = [("memory", "null", ""), ("aircraft", "memory", ""), *(("aircraft", "null", cell) for cell in cells)]
    tried, found = 0, []
    folder.mkdir(parents=True, exist_ok=True)
    for i, parts in enumerate(charts):
        path = folder / f"chart-{i}.yaml"
        path.write_text(text % parts, encoding="utf-8")
        table = tables.load_file(path)
        for at_degF in (20.0, 45.0, 70.0, 90.0, 100.0):
            tried += 1
            if limits_from_chart(table, "rudder", Condition(at_degF), 70.0).usable_for_sign_off:
                found.append(Accepted(f"chart: {parts}", "limits --chart", f"{at_degF:g} F"))
    return tried, found


def everything(folder: Path) -> tuple[int, list[Accepted]]:
    """All of it: how much was tried, and what was accepted with a figure from memory."""
    tried, found = 0, []
    for name, part in (("tables", accepted_from_tables), ("users", accepted_from_users),
                       ("log", accepted_in_the_log), ("charts", accepted_by_a_chart)):  # fmt: skip
        count, accepted = part(folder / name)
        tried += count
        found += accepted
    return tried, found


TODAY = dt.date(2026, 11, 25)
