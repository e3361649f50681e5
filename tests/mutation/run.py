"""``nice -n 19 python tests/mutation/run.py [--sample N] [--seed S] [--only PART] [--keep FILE]``: do the tests notice?

Draws a sample of all small changes to `physics`, `measure` and `judge`, runs for each the tests that run the changed line,
and prints the share noticed ("killed") with its 95 % interval and every survivor. Works on copies in a folder of its own;
nothing in the checkout is changed. Needs the extra ``mutation``.

Of the fast tests those that run the line are found once by coverage; for what runs at import, all tests of the module.
Tests that take longer than SLOWEST_S are left out, so the score is rather too low than too high. A survivor with its
reason stands in ``survivors.yaml``, found there by file, old and new line; others end the run with exit code 1.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import queue
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import mutants
import yaml

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
ROOMS = ("physics", "measure", "judge")
SUITES = ("tests/unit", "tests/validation", "tests/properties", *(f"rigging/{room}" for room in ROOMS))
# minutes by themselves, or about the log, which runs none of this
LEFT_OUT = (
    "tests/validation/test_pluck_recording.py::test_the_interval_holds_in_95_of_100_recordings",
    "tests/validation/test_pluck_recording.py::test_without_an_expected_tension_it_rather_refuses_than_errs",
    "tests/properties/test_log_properties.py",
)
SLOWEST_S = 2.5  # of one test, as coverage ran it
PROCESSES = 2
GRACE_S, TIMES = 15.0, 3.0  # a mutant may take this and so many times what its tests take under coverage
NOT_COPIED = shutil.ignore_patterns(".git", ".hypothesis", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache")
NORMAL_975 = 1.959963984540054


class Tests:
    """Which tests to run for a line."""

    def __init__(self, root: Path, seen: dict[str, Any]) -> None:
        self.root, self.lines, self.seconds = root, seen["lines"], seen["seconds"]
        fit = {name for name, s in self.seconds.items() if s <= SLOWEST_S} - set(seen["failed"])
        self.fit = {name for name in fit if not name.startswith(LEFT_OUT)}
        self.texts = {path: (root / path).read_text(encoding="utf-8") for path in {n.partition("::")[0] for n in fit}}

    def of(self, place: mutants.Place, source: str) -> list[str]:
        """Fastest first. For a line that runs at import: whatever runs or imports its module."""
        lines = self.lines.get(place.file, {})
        if place.line in mutants.module_level(source):
            names = {name for of_line in lines.values() for name in of_line}
            module = place.file.removesuffix(".py").replace("/", ".")
            mention = {path for path, text in self.texts.items() if module in text}
            names |= {name for name in self.fit if name.partition("::")[0] in mention}
        else:
            names = self._of_lines(lines, range(place.line, place.last_line + 1))
            names = names or self._of_lines(lines, mutants.statement_lines(source).get(place.line, range(0)))
        return sorted(names & self.fit, key=lambda name: (round(self.seconds[name], 2), name))

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


def drawn(root: Path, only: str, sample: int, seed: int) -> list[tuple[mutants.Mutant, str]]:
    """The sample, each with its module's source: all places in a random order, those that are no change passed by."""
    files = [p.relative_to(root).as_posix() for room in ROOMS for p in sorted((root / "rigging" / room).glob("*.py"))]
    sources = {file: (root / file).read_text(encoding="utf-8") for file in files if only in file}
    all_places = [place for file, source in sources.items() for place in mutants.places(file, source)]
    random.Random(seed).shuffle(all_places)
    print(f"{len(all_places)} changes possible in {len(sources)} modules", file=sys.stderr)
    chosen: list[tuple[mutants.Mutant, str]] = []
    for place in all_places:
        if len(chosen) == sample:
            break
        made = mutants.mutant(place, sources[place.file])
        if made is not None:
            chosen.append((made, sources[place.file]))
    return chosen


class Server:
    """A process that runs tests in a copy of its own (server.py)."""

    def __init__(self, root: Path, tests: Tests) -> None:
        self.tests = tests
        self.process = subprocess.Popen(
            [sys.executable, str(HERE / "server.py")], cwd=root, env=environment(root), text=True, stdin=-1, stdout=-1
        )

    def ask(self, file: str, code: str, names: list[str]) -> dict[str, Any]:
        """How these tests end with this code in that file."""
        if not names:
            return {"outcome": "no test", "by": "", "seconds": 0.0}
        assert self.process.stdin is not None and self.process.stdout is not None
        limit_s = GRACE_S + TIMES * sum(self.tests.seconds[name] for name in names)
        self.process.stdin.write(json.dumps({"file": file, "code": code, "tests": names, "limit_s": limit_s}) + "\n")
        self.process.stdin.flush()
        return dict(json.loads(self.process.stdout.readline()))

    def close(self) -> None:
        """No more questions."""
        self.process.communicate()


def check_unchanged(root: Path, tests: Tests, file: str) -> None:
    """Without any change all tests must pass, or what fails would pass for noticing something."""
    server = Server(root, tests)
    done = server.ask(file, (root / file).read_text(encoding="utf-8"), sorted(tests.fit))
    server.close()
    if done["outcome"] != "survived":
        raise SystemExit(f"without any change: {done['outcome']}, {done['by'] or 'the tests took too long'}")


def work(root: Path, tests: Tests, waiting: queue.Queue[tuple[mutants.Mutant, str]], told: Any) -> None:
    """One process and its copy, until nothing waits."""
    server = Server(root, tests)
    while True:
        try:
            mutant, source = waiting.get_nowait()
        except queue.Empty:
            break
        names = tests.of(mutant.place, source)
        done = server.ask(mutant.place.file, mutant.code, names)
        told({**mutant.place._asdict(), "was": mutant.was, "now": mutant.now, "tests": len(names), **done})
    server.close()


def interval(killed: int, of: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share."""
    z2, share = NORMAL_975**2, killed / of
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = NORMAL_975 * math.sqrt(share * (1 - share) / of + z2 / (4 * of * of)) / (1 + z2 / of)
    return middle - half, middle + half


def known_survivors() -> Callable[[dict[str, Any]], dict[str, str] | None]:
    """What survivors.yaml says about a result: its kind and reason, None where it stands not there."""
    known = yaml.safe_load((HERE / "survivors.yaml").read_text(encoding="utf-8"))
    single = {(s["file"], s["was"], s["now"]): s for s in known["survivors"]}

    def look_up(result: dict[str, Any]) -> dict[str, str] | None:
        for rule in known["rules"]:
            if rule["was"] in result["was"] and rule["now"] in result["now"]:
                return dict(rule)
        return single.get((result["file"], result["was"], result["now"]))

    return look_up


def report(results: list[dict[str, Any]]) -> int:
    """Print the table and the survivors; how many of these have no reason."""
    known = known_survivors()
    parts: dict[str, Counter[str]] = defaultdict(Counter)
    for result in results:
        noticed = result["outcome"] in ("killed", "timeout")
        said = None if noticed else known(result)
        for part in (result["file"].removeprefix("rigging/"), result["file"].split("/")[1], "all"):
            parts[part].update(mutants=1, killed=noticed, equal=said is not None and said["kind"] == "equal")
    print(
        "| part | mutants | killed | score [%] | 95 % interval | equal | score without equal ones [%] | 95 % interval |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for part, seen in sorted(parts.items(), key=lambda item: (item[0] == "all", item[0])):
        killed, of = seen["killed"], seen["mutants"]
        cells = [
            f"{part} | {of} | {killed} | {_share(killed, of)}",
            str(seen["equal"]),
            _share(killed, of - seen["equal"]),
        ]
        print(f"| {' | '.join(cells)} |")
    without = 0
    for result in sorted(results, key=lambda r: (r["file"], r["line"])):
        if result["outcome"] in ("killed", "timeout"):
            continue
        said = known(result)
        without += said is None
        print(f"\n{result['file']}:{result['line']} {result['outcome']} {result['operator']}, {result['tests']} tests")
        print(f"  - {result['was']}\n  + {result['now']}")
        print(f"  {said['kind']}: {said['reason']}" if said else "  NO REASON GIVEN")
    late = sum(result["outcome"] == "timeout" for result in results)
    print(f"\n{late} ended by their time limit; {without} survivors without a reason")
    return without


def _share(killed: int, of: int) -> str:
    """``86.7 | 83.2 to 89.5``."""
    if not of:
        return "- | -"
    low, high = interval(killed, of)
    return f"{100 * killed / of:.1f} | {100 * low:.1f} to {100 * high:.1f}"


def main() -> int:
    """Copy, cover, draw, run, report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sample", type=int, default=900)
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--only", default="", help="modules whose path holds this text")
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
        chosen = drawn(keep / "tree", given.only, given.sample, given.seed)
        check_unchanged(copies[0], tests, chosen[0][0].place.file)
        results_file = keep / "results.jsonl"
        results = [json.loads(line) for line in results_file.read_text().splitlines()] if results_file.exists() else []
        before = {tuple(r[field] for field in mutants.Place._fields): r for r in results}
        waiting: queue.Queue[tuple[mutants.Mutant, str]] = queue.Queue()
        results = [before[m.place] for m, _ in chosen if m.place in before]
        for pair in chosen:
            if pair[0].place not in before:
                waiting.put(pair)
        lock, started = threading.Lock(), time.monotonic()

        def told(result: dict[str, Any]) -> None:
            with lock, results_file.open("a", encoding="utf-8") as stream:
                stream.write(json.dumps(result) + "\n")
                results.append(result)
                if len(results) % 50 == 0:
                    print(f"{len(results)} after {time.monotonic() - started:.0f} s", file=sys.stderr, flush=True)

        workers = [threading.Thread(target=work, args=(copy, tests, waiting, told)) for copy in copies]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        return 1 if report(results) else 0


if __name__ == "__main__":
    sys.exit(main())
