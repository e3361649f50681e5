"""``nice -n 19 python tests/fuzz/run.py [--minutes N] [TARGET ...]``: a coverage-guided search over everything that reads.

Each target runs in a child process under a limit of address space, a watch on its memory and a time limit for every
input; where one of these ends the child, that is counted, the input kept, and the search goes on. Needs the extra ``fuzz``.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))  # the package of this checkout, whatever is installed
TIME_LIMIT_S = 30  # for one input of some kilobytes, by the clock of a machine that may be busy
MEMORY_LIMIT_MB = 500  # resident, the program and all its libraries included
ADDRESS_LIMIT_BYTES = 4 * 10**9
TOLD_EVERY_S = 0.5
ENDS = re.compile(r"cov: (\d+) ft: \d+ corp: (\d+)/")


def child(name: str, folder: Path, rest: list[str]) -> None:
    """Search one target until libFuzzer's own limits end it; what was seen is kept in ``seen.json`` all the time."""
    import atheris

    resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_LIMIT_BYTES, ADDRESS_LIMIT_BYTES))
    sys.path.insert(0, str(HERE))
    with atheris.instrument_imports(include=["rigging"]):
        import targets

    target = targets.TARGETS[name]
    seeds = target.seeds()
    seen_file = folder / "seen.json"
    seen: dict[str, Any] = json.loads(seen_file.read_text()) if seen_file.exists() else empty()
    told = time.monotonic()

    def one(data: bytes) -> None:
        nonlocal told
        started = time.process_time()
        try:
            seen["taken"] += targets.attempt(name, data) is None
        except BaseException as error:  # whatever it is, it is what is looked for
            keep(error, data)
        took_s = time.process_time() - started  # others on the machine do not count
        seen["inputs"] += 1
        if took_s > seen["slowest_s"]:
            seen["slowest_s"] = took_s
            (folder / "slowest").write_bytes(data)
        if time.monotonic() - told > TOLD_EVERY_S:
            told = time.monotonic()
            tell()

    def keep(error: BaseException, data: bytes) -> None:
        frames = [
            f for f in traceback.extract_tb(error.__traceback__) if "/rigging/" in f.filename or "targets" in f.filename
        ]
        place = f"{type(error).__name__} at {Path(frames[-1].filename).name}:{frames[-1].lineno}: {str(error)[:100]}"
        key = place.split(": ")[0]
        if key not in seen["crashes"]:
            seen["crashes"][key] = place
            (folder / f"crash-{len(seen['crashes'])}").write_bytes(data)
            tell()

    def tell() -> None:
        seen["peak_mb"] = max(seen["peak_mb"], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
        seen_file.write_text(json.dumps(seen))

    def bend(data: bytes, most: int, seed: int) -> bytes:
        # by the structure of the file, its valid forms taken up again and again, else by what libFuzzer has learned
        if seed % 4 == 0:
            return bytes(atheris.Mutate(data, most))
        start = data if seed % 4 == 1 else seeds[seed // 4 % len(seeds)]
        return bytes(targets.mutate.mutated(start, target.steps, seed, most_steps=3, largest=most))

    corpus = folder / "corpus"
    if not corpus.exists():
        corpus.mkdir()
        for i, data in enumerate(seeds):
            (corpus / f"seed-{i}").write_bytes(data)
    options = [f"-max_len={target.longest}", f"-timeout={TIME_LIMIT_S}", f"-rss_limit_mb={MEMORY_LIMIT_MB}"]
    options += [f"-artifact_prefix={folder}/ended-", "-len_control=0", *rest, str(corpus)]
    atheris.Setup([sys.argv[0], *options], one, custom_mutator=bend)
    atheris.Fuzz()


def empty() -> dict[str, Any]:
    return {"inputs": 0, "taken": 0, "slowest_s": 0.0, "peak_mb": 0.0, "crashes": {}}


def search(name: str, seconds: float, folder: Path) -> dict[str, Any]:
    """Run children on a target until its time is up; what they saw, and how they ended."""
    folder.mkdir(parents=True, exist_ok=True)
    end = time.monotonic() + seconds
    coverage: list[tuple[int, int]] = []
    stopped: list[str] = []
    while (left := end - time.monotonic()) > 1:
        command = [sys.executable, str(Path(__file__)), "--child", name, str(folder), f"-max_total_time={int(left)}"]
        in_memory = "/dev/shm" if Path("/dev/shm").is_dir() else None
        with (
            tempfile.TemporaryDirectory(prefix="rigging-fuzz-", dir=in_memory) as own,
            (folder / "output").open("w+", encoding="utf-8", errors="replace") as output,
        ):
            quiet = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "TMPDIR": own}
            try:
                done = subprocess.run(command, stdout=output, stderr=output, env=quiet, timeout=left + 120, check=False)
                code = str(done.returncode)
            except subprocess.TimeoutExpired:
                code = "no answer in its time"
            output.seek(0)
            text = output.read()
        coverage += [(int(a), int(b)) for a, b in ENDS.findall(text)]
        if code == "0":
            break
        why = re.search(r"libFuzzer: (.*)", text)
        stopped.append(why[1] if why else f"ended with {code}: {text[-300:]}")
        if not coverage or len(stopped) > 20:
            break
    seen = json.loads((folder / "seen.json").read_text()) if (folder / "seen.json").exists() else empty()
    return {**seen, "coverage": (coverage[0], coverage[-1]) if coverage else ((0, 0), (0, 0)), "stopped": stopped}


def row(name: str, found: dict[str, Any]) -> str:
    first, last = found["coverage"]
    crashes = len(found["crashes"]) + len(found["stopped"])
    return (
        f"| {name} | {found['inputs']:,} | {found['taken']:,} | {first[0]:,} to {last[0]:,} | {first[1]:,} to {last[1]:,} | {crashes} "
        f"| {found['slowest_s']:.2f} s | {found['peak_mb']:.0f} MB |"
    ).replace(",", " ")


HEADING = """| target | inputs | of these taken | places reached | corpus | crashes | slowest input | peak memory |
|---|---|---|---|---|---|---|---|"""


def main() -> int:
    if sys.argv[1:2] == ["--child"]:
        child(sys.argv[2], Path(sys.argv[3]), sys.argv[4:])
        return 0
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--minutes", type=float, default=2.0, help="for each target")
    parser.add_argument("--keep", type=Path, help="folder for corpus and findings; a new one where left out")
    parser.add_argument("targets", nargs="*", metavar="TARGET", help="all where left out")
    asked = parser.parse_args()
    try:
        import atheris  # noqa: F401  # by the children
    except ModuleNotFoundError as error:
        sys.exit(f"{error.name} is missing: pip install -e '.[fuzz]'")
    sys.path.insert(0, str(HERE))
    from targets import TARGETS

    unknown = set(asked.targets) - set(TARGETS)
    if unknown:
        parser.error(f"no target {', '.join(sorted(unknown))}; there are {', '.join(TARGETS)}")
    folder = asked.keep or Path(tempfile.mkdtemp(prefix="rigging-fuzz-run-"))
    print(f"findings go to {folder}", file=sys.stderr)
    print(HEADING, flush=True)
    bad = 0
    for name in asked.targets or TARGETS:
        found = search(name, asked.minutes * 60, folder / name.replace(" ", "-"))
        print(row(name, found), flush=True)
        for what in (*found["crashes"].values(), *found["stopped"]):
            bad += 1
            print(f"  {name}: {what}", file=sys.stderr, flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
