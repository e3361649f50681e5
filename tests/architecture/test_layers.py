"""Who may import whom, where heavy and pretty things may stand, how long a module may be, and that all of it is explained."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "rigging"
# a module may import from what stands before it; a part that is new must be given its place here
ORDER = (
    "errors", "clock", "units", "told", "bands", "source", "yamlfile", "schema", "tables", "hardware", "measure", "physics",
    "judge", "sheet", "log", "jobs", "report", "cli",
)  # fmt: skip
STRANGERS = {("measure", "physics"), ("physics", "measure")}
HEAVY = {"numpy", "scipy", "sqlalchemy", "matplotlib", "plotext", "jinja2", "markupsafe"}
LONGEST = 300
# who shows something chooses its units
CHOOSE_UNITS = ("units", "told", "report", "cli")

FILES = sorted(PACKAGE.rglob("*.py"))
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in FILES}


def name(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def part(path: Path) -> str:
    """``hardware`` for hardware/cable.py, ``units`` for units.py; empty for the package itself."""
    first = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    return "" if first in ("__init__", "__main__") else first


def imported(node: ast.AST) -> Iterator[str]:
    """Full names that an import statement may bind, as modules."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports are written in full"
        yield from (f"{node.module}.{alias.name}" for alias in node.names)


def imports(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    for node in ast.walk(tree):
        for what in imported(node):
            yield node, what


def own_part(what: str) -> str | None:
    """The part of ours an import asks for; None for other people's modules and for the package's own names."""
    first, *rest = what.split(".")
    if first != "rigging" or not rest or rest[0].startswith("__"):
        return None
    return rest[0]


def at_import(tree: ast.AST) -> Iterator[ast.AST]:
    """Statements that run when the module is imported: all but the bodies of functions and TYPE_CHECKING blocks."""
    waiting: list[ast.AST] = [tree]
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            waiting += node.orelse
            continue
        waiting += ast.iter_child_nodes(node)


def each(files: list[Path]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("path", files, ids=name)


def test_every_part_has_its_place() -> None:
    assert {part(path) for path in FILES} - {""} <= set(ORDER)


@each(FILES)
def test_imports_come_from_rows_above(path: Path) -> None:
    own = part(path)
    if not own:
        return
    for node, what in imports(TREES[path]):
        other = own_part(what)
        if other is None or other == own:
            continue
        place = f"{name(path)}:{node.lineno} imports {what}"  # type: ignore[attr-defined]
        assert other in ORDER, place
        assert ORDER.index(other) < ORDER.index(own), f"{place}: {other} stands below {own}"
        assert (own, other) not in STRANGERS, f"{place}: {own} and {other} do not know each other"


def test_errors_import_nothing_of_ours_and_physics_only_errors_and_words() -> None:
    for path, tree in TREES.items():
        ours = {own_part(what) for _, what in imports(tree)} - {None, part(path)}
        if part(path) == "errors":
            assert not ours, name(path)
        if part(path) == "physics":
            assert ours <= {"errors", "told"}, name(path)


@each(FILES)
def test_rich_stays_in_report_text(path: Path) -> None:
    if name(path).startswith("report/text/"):
        return
    for node, what in imports(TREES[path]):
        assert what.split(".")[0] != "rich", f"{name(path)}:{node.lineno} imports {what}"  # type: ignore[attr-defined]


@each(FILES)
def test_heavy_and_pretty_things_are_imported_where_they_are_used(path: Path) -> None:
    for node in at_import(TREES[path]):
        for what in imported(node):
            place = f"{name(path)}:{node.lineno} imports {what} at module level"  # type: ignore[attr-defined]
            if part(path) != "physics":
                assert what.split(".")[0] not in HEAVY, place
            if part(path) == "cli":
                assert not what.startswith(("rich", "rigging.report.text")), place


def test_physics_reads_no_file_no_clock_and_prints_nothing() -> None:
    for path in FILES:
        if part(path) != "physics":
            continue
        tree = TREES[path]
        for node, what in imports(tree):
            place = f"{name(path)}:{node.lineno} imports {what}"  # type: ignore[attr-defined]
            assert what.split(".")[0] not in {"os", "io", "sys", "time", "datetime", "pathlib", "random", "logging"}, (
                place
            )
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in {"open", "print", "input"}, f"{name(path)}:{node.lineno}"


READS_THE_CLOCK = {"now", "utcnow", "today", "time", "time_ns", "localtime", "gmtime", "ctime", "strftime"}


def reads_the_clock(tree: ast.AST) -> Iterator[ast.AST]:
    """Calls of ``datetime`` and ``time`` that take the time from the machine, under whatever name they were imported."""
    dates, times, direct = set(), set(), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            dates |= {a.asname or a.name for a in node.names if a.name == "datetime"}
            times |= {a.asname or a.name for a in node.names if a.name == "time"}
        elif isinstance(node, ast.ImportFrom) and node.module == "datetime":
            dates |= {a.asname or a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module == "time":
            direct |= {a.asname or a.name for a in node.names if a.name in READS_THE_CLOCK}
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in direct:
            yield node
        if isinstance(node, ast.Attribute) and node.attr in READS_THE_CLOCK:
            of = ast.unparse(node.value).split(".")[0]
            # the time of a day in datetime is no clock
            if of in times or (of in dates and node.attr != "time"):
                yield node


@each(FILES)
def test_nothing_below_the_commands_reads_the_clock(path: Path) -> None:
    if part(path) == "cli" and name(path) != "cli/options.py":
        assert not list(reads_the_clock(TREES[path])), "the clock of the commands is that of cli/options.py"
    elif part(path) != "cli":
        assert not list(reads_the_clock(TREES[path]))


@pytest.mark.parametrize(
    ("text", "reads"),
    [
        ("import datetime as dt\ndt.datetime.now(dt.UTC)", True),
        ("import datetime as dt\nf(now=dt.date.today)", True),
        ("from datetime import date\ndate.today()", True),
        ("from datetime import datetime as d\nd.now()", True),
        ("import time\ntime.time()", True),
        ("from time import localtime as here\nhere()", True),
        ("import time\ntime.sleep(1)", False),
        ("import datetime as dt\ndt.datetime.combine(day, dt.time(12))", False),
        ("import time\nimport datetime as dt\ndt.time(12)", False),
        ("log.clock.now(), log.clock.today()", False),
    ],
)
def test_what_reads_the_clock(text: str, reads: bool) -> None:
    assert bool(list(reads_the_clock(ast.parse(text)))) is reads


@each(FILES)
def test_no_module_is_too_long(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST


def test_units_are_chosen_where_something_is_shown() -> None:
    """A sentence holds its quantities in both systems (``told``): no sum and no verdict is asked for one of them."""
    asked = {
        name(path)
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.arg) and node.arg == "si" and part(path) not in CHOOSE_UNITS
    }
    assert asked == set()


def unexplained(node: ast.AST, where: str) -> Iterator[str]:
    """Public classes, functions and methods without a docstring."""
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) or child.name.startswith("_"):
            continue
        if not ast.get_docstring(child):
            yield f"{where}:{child.lineno} {child.name}"
        if isinstance(child, ast.ClassDef):
            yield from unexplained(child, where)


@each(FILES)
def test_everything_public_is_explained(path: Path) -> None:
    tree = TREES[path]
    assert ast.get_docstring(tree), f"{name(path)} has no docstring"
    assert not list(unexplained(tree, name(path)))
