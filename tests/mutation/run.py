"""``nice -n 19 python tests/mutation/run.py [--sample N] [--seed S] [--only PART ...] [--keep FOLDER]``: do the tests notice?

Draws a sample of all small changes to `physics`, `measure` and `judge`, runs for each the tests that run the changed line,
and prints the share noticed ("killed") with its 95 % interval and every survivor. Works on copies in a folder of its own;
nothing in the checkout is changed. Needs the extra ``mutation``.

Of the fast tests those that run the line are found once by coverage; for what runs at import, all tests of the module.
Most changes are another body of a function: they are put in place in a process that has all tests imported (``held.py``).
The others are imported anew (``server.py``). Tests that take longer than SLOWEST_S are left out, and what lies beyond
LONGEST_S together, so the score is rather too low than too high. A survivor with its reason stands in ``survivors.yaml``,
found there by file, old and new line; others end the run with exit code 1.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import queue
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from itertools import accumulate, islice
from pathlib import Path
from typing import Any

try:
    import coverage  # noqa: F401  # by cover.py, in a process of its own
    import mutants
except ModuleNotFoundError as error:
    sys.exit(f"{error.name} is missing: pip install -e '.[mutation]'")
from outcome import report

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
ROOMS = ("physics", "measure", "judge")
SUITES = (
    "tests/unit",
    "tests/validation",
    "tests/properties",
    "tests/independent",
    *(f"rigging/{room}" for room in ROOMS),
)
# minutes by themselves, or about the log, which runs none of this
LEFT_OUT = (
    "tests/validation/test_pluck_recording.py::test_the_interval_holds_in_95_of_100_recordings",
    "tests/validation/test_pluck_recording.py::test_without_an_expected_tension_it_rather_refuses_than_errs",
    "tests/properties/test_log_properties.py",
)
SLOWEST_S = 2.5  # of one test, as coverage ran it
LONGEST_S = 10.0  # of all tests for one mutant
PROCESSES = 2
# a mutant may take this and so many times what its tests take under coverage, each test the second and as many times
GRACE_S, EACH_S, TIMES = 15.0, 4.0, 3.0
NOT_COPIED = shutil.ignore_patterns(".git", ".hypothesis", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache")


class Tests:
    """Which tests to run for a line."""

    def __init__(self, root: Path, seen: dict[str, Any]) -> None:
        self.root, self.lines, self.seconds = root, seen["lines"], seen["seconds"]
        fit = {name for name, s in self.seconds.items() if s <= SLOWEST_S} - set(seen["failed"])
        self.fit = {name for name in fit if not name.startswith(LEFT_OUT)}
        self.texts = {path: (root / path).read_text(encoding="utf-8") for path in {n.partition("::")[0] for n in fit}}

    def of(self, place: mutants.Place, source: str) -> list[str]:
        """Those named after the module first, then the fastest, until they take LONGEST_S together.

        For a line that runs at import: of whatever runs or imports its module.
        """
        lines = self.lines.get(place.file, {})
        if place.line in mutants.module_level(source):
            names = {name for of_line in lines.values() for name in of_line}
            module = place.file.removesuffix(".py").replace("/", ".")
            mention = {path for path, text in self.texts.items() if module in text}
            names |= {name for name in self.fit if name.partition("::")[0] in mention}
        else:
            names = self._of_lines(lines, range(place.line, place.last_line + 1))
            names = names or self._of_lines(lines, mutants.statement_lines(source).get(place.line, range(0)))
        own = f"test_{Path(place.file).stem}"
        ranked = sorted(names & self.fit, key=lambda n: (own not in n.partition("::")[0], round(self.seconds[n], 2), n))
        together = list(accumulate(self.seconds[name] for name in ranked))
        return ranked[: bisect_right(together, LONGEST_S)]

    def runs_at_import(self, place: mutants.Place, source: str) -> bool:
        """Whether the statement runs while its module or a test is imported, or something that this keeps."""
        span = mutants.statement_lines(source).get(place.line, range(place.line, place.last_line + 1))
        lines = self.lines.get(place.file, {})
        return place.line in mutants.module_level(source) or any("" in lines.get(str(line), ()) for line in span)

    @staticmethod
    def _of_lines(lines: dict[str, list[str]], wanted: range) -> set[str]:
        return {name for line in wanted for name in lines.get(str(line), ())}


def environment(root: Path, **more: str) -> dict[str, str]:
    """The copy's package comes before an installed one."""
    return {**os.environ, "PYTHONPATH": f"{root}:{root / 'tests' / 'mutation'}", "OPENBLAS_NUM_THREADS": "1", **more}


def covered(root: Path, keep: Path) -> dict[str, Any]:
    """Which test runs which line: from the file if it is there, otherwise by running them all once."""
    if not keep.exists():
        left_out = [f"--deselect={name}" for name in LEFT_OUT]
        command = [sys.executable, "-m", "pytest", "-q", "-p", "cover", *left_out, *SUITES]
        subprocess.run(command, cwd=root, env=environment(root, MUTATION_MAP=str(keep)), check=False, stdout=2)
    return dict(json.loads(keep.read_text(encoding="utf-8")))


def drawn(root: Path, only: list[str], sample: int, seed: int) -> Iterator[tuple[mutants.Mutant, str]]:
    """The sample, each with its module's source: all places in a random order, those that are no change passed by.

    A place has its turn by the seed and its own words alone, so that a change of one module leaves the sample of all others.
    """
    files = [p.relative_to(root).as_posix() for room in ROOMS for p in sorted((root / "rigging" / room).glob("*.py"))]
    sources = {file: (root / file).read_text(encoding="utf-8") for file in files if any(part in file for part in only)}
    by_turn = sorted(turn for file, source in sources.items() for turn in turns(seed, file, source))
    all_places = [place for _, place in by_turn]
    print(f"{len(all_places)} changes possible in {len(sources)} modules", file=sys.stderr)
    made = ((mutants.mutant(place, sources[place.file]), sources[place.file]) for place in all_places)
    yield from islice(((mutant, source) for mutant, source in made if mutant is not None), sample or None)


def turns(seed: int, file: str, source: str) -> Iterator[tuple[bytes, mutants.Place]]:
    """Every place of a module with what it is sorted by: a hash of seed, file, operator and line, not of where it stands."""
    lines, met = source.splitlines(), Counter[tuple[str, str]]()
    for place in mutants.places(file, source):
        words = place.operator, lines[place.line - 1].strip()
        met[words] += 1
        yield hashlib.sha256(repr((seed, file, words, met[words])).encode()).digest(), place


class Server:
    """A process that runs tests in a copy of its own: ``held.py`` with all tests imported, or ``server.py`` with none."""

    def __init__(self, root: Path, tests: Tests, program: str) -> None:
        self.tests = tests
        arguments = []
        if program == "held.py":
            files = root.with_name(f"{root.name}.tests")
            files.write_text("\n".join(sorted({name.partition("::")[0] for name in tests.fit})), encoding="utf-8")
            arguments = [str(files), str(root.with_name(f"{root.name}.tmp"))]
        self.process = subprocess.Popen(
            [sys.executable, str(HERE / program), *arguments],
            cwd=root, env=environment(root), text=True, stdin=-1, stdout=-1,
        )  # fmt: skip

    def ask(self, file: str, code: str, names: list[str]) -> dict[str, Any]:
        """How these tests end with this code in that file."""
        assert self.process.stdin is not None and self.process.stdout is not None
        limits_s = {name: EACH_S + TIMES * self.tests.seconds[name] for name in names}
        limit_s = GRACE_S + sum(TIMES * self.tests.seconds[name] for name in names)
        task = {"file": file, "code": code, "tests": limits_s, "limit_s": limit_s}
        self.process.stdin.write(json.dumps(task) + "\n")
        self.process.stdin.flush()
        return dict(json.loads(self.process.stdout.readline()))

    def close(self) -> None:
        """No more questions."""
        self.process.communicate()


class Pair:
    """Both servers on one copy: what is only another body of a function goes to the one that holds all tests imported."""

    def __init__(self, root: Path, tests: Tests) -> None:
        self.tests, self.held, self.fresh = tests, Server(root, tests, "held.py"), Server(root, tests, "server.py")

    def ask(self, made: mutants.Mutant, source: str) -> dict[str, Any]:
        """The tests that run the line, in two steps where they have to be imported: those named after the module first."""
        names = self.tests.of(made.place, source)
        done: dict[str, Any] = {"outcome": "no test", "by": "", "seconds": 0.0}
        if names and not self.tests.runs_at_import(made.place, source):
            done = {"how": "held", **self.held.ask(made.place.file, made.code, names)}
        if names and done["outcome"] in ("no test", "fresh"):
            own = [name for name in names if f"test_{Path(made.place.file).stem}" in name.partition("::")[0]]
            for some in (own, [name for name in names if name not in own]):
                if some and done["outcome"] in ("no test", "fresh", "survived"):
                    done = {"how": "fresh", **self.fresh.ask(made.place.file, made.code, some)}
        return {"tests": len(names), **done}

    def close(self) -> None:
        """No more questions."""
        self.held.close()
        self.fresh.close()


def check_unchanged(root: Path, tests: Tests, results: list[dict[str, Any]]) -> None:
    """Without any change all tests that noticed something must pass, or their word is worth nothing."""
    file = next(iter(tests.lines))
    for how, program in (("held", "held.py"), ("fresh", "server.py")):
        names = {r["by"] for r in results if r.get("how") == how} & tests.fit
        server = Server(root, tests, program)
        done = server.ask(file, (root / file).read_text(encoding="utf-8"), sorted(names))
        server.close()
        if names and done["outcome"] != "survived":
            raise SystemExit(f"without any change: {done['outcome']}, {done['by'] or 'the tests took too long'}")


def work(root: Path, tests: Tests, waiting: queue.Queue[tuple[mutants.Mutant, str] | None], told: Any) -> None:
    """One copy and its processes, until the end is told; a fault here ends the whole run."""
    try:
        servers = Pair(root, tests)
        while (pair := waiting.get()) is not None:
            done = servers.ask(*pair)
            told({**pair[0].place._asdict(), "was": pair[0].was, "now": pair[0].now, **done})
        servers.close()
    except Exception:
        traceback.print_exc()
        os._exit(2)  # the others would wait for ever


def main() -> int:
    """Copy, cover, draw, run, report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sample", type=int, default=900, help="0 for all")
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--only", nargs="+", default=[""], help="modules whose path holds one of these texts")
    parser.add_argument(
        "--keep", type=Path, help="a folder: results and coverage stay there, and a run goes on from them"
    )
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="mutation-") as scratch:
        keep = (given.keep or Path(scratch)).resolve()
        keep.mkdir(exist_ok=True, parents=True)
        copies = [Path(scratch) / f"copy{i}" for i in range(PROCESSES)]
        if not (keep / "tree").exists():
            shutil.copytree(ROOT, keep / "tree", ignore=NOT_COPIED)  # others may edit the checkout while this runs
        tests = Tests(keep / "tree", covered(keep / "tree", keep / "map.json"))
        for copy in copies:
            shutil.copytree(keep / "tree", copy)
        results_file = keep / "results.jsonl"
        results = [json.loads(line) for line in results_file.read_text().splitlines()] if results_file.exists() else []
        before = {tuple(r[field] for field in mutants.Place._fields): r for r in results}
        results.clear()
        waiting: queue.Queue[tuple[mutants.Mutant, str] | None] = queue.Queue(100)
        lock, started = threading.Lock(), time.monotonic()

        def told(result: dict[str, Any]) -> None:
            with lock, results_file.open("a", encoding="utf-8") as stream:
                stream.write(json.dumps(result) + "\n")
                results.append(result)
                if len(results) % 100 == 0:
                    print(f"{len(results)} after {time.monotonic() - started:.0f} s", file=sys.stderr, flush=True)

        workers = [threading.Thread(target=work, args=(copy, tests, waiting, told)) for copy in copies]
        for worker in workers:
            worker.start()
        for pair in drawn(keep / "tree", given.only, given.sample, given.seed):
            if pair[0].place in before:
                results.append(before[pair[0].place])
            else:
                waiting.put(pair)
        for _ in workers:
            waiting.put(None)
        for worker in workers:
            worker.join()
        check_unchanged(copies[0], tests, results)
        return 1 if report(results) else 0


if __name__ == "__main__":
    sys.exit(main())
