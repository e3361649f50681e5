"""Runs chosen tests in a process of their own for every mutant; what all of them import is imported once, before the fork.

Speaks lines of JSON: in {file, code, tests with their limits, limit_s}, out {outcome, by, seconds}. Stands in a copy of the checkout of its
own and writes the mutant there, so that programs which the tests start meet it too.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import math
import os
import resource
import signal
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, settings

# what half the tests need; nothing of ours, and of other people's only what may be loaded before a fork
SHARED = (
    "numpy",
    "scipy.optimize",
    "scipy.stats",
    "scipy.sparse",
    "msgspec",
    "yaml",
    "typer",
    "rich.table",
    "jsonschema",
)
PATIENCE = 10  # how many times a limit of processor time may take by the clock
OPTIONS = ("--hypothesis-profile=mutation", "--tb=no", "--no-header")
# hypothesis has been imported before pytest began
OPTIONS += ("-W", "ignore::pytest.PytestAssertRewriteWarning")
settings.register_profile(
    "mutation",
    derandomize=True,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),  # one failure is enough, it need not be made small
)


class Chosen:
    """A pytest plugin: these tests and no others, in this order, each in its time, and the name of the first that fails.

    tests: by name the seconds of the processor that each may take.
    """

    def __init__(self, tests: dict[str, float]) -> None:
        self.limits_s = tests
        self.rank = {name: i for i, name in enumerate(tests)}
        self.by = ""

    def pytest_runtest_protocol(self, item: pytest.Item) -> None:
        """A loop without an end is ended soon."""
        until_s = math.ceil(time.process_time() + self.limits_s[item.nodeid])
        hard_s = resource.getrlimit(resource.RLIMIT_CPU)[1]
        resource.setrlimit(resource.RLIMIT_CPU, (min(until_s, hard_s), hard_s))

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep the chosen ones."""
        items[:] = sorted((i for i in items if i.nodeid in self.rank), key=lambda item: self.rank[item.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep the first name."""
        if report.failed:
            self.by = self.by or report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """A module that cannot even be imported."""
        if report.failed:
            self.by = self.by or f"{report.nodeid} (import)"


def alone(limit_s: int) -> None:
    """In the child: so much time and no more, and what is started here ends with it."""
    # of the processor, not of the clock: a busy machine must not make a mutant look noticed
    resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s + 1))
    os.setsid()
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"


def quiet() -> None:
    """Whatever is said from here on goes to the file MUTATION_TALK, or nowhere."""
    where = os.open(os.environ.get("MUTATION_TALK", os.devnull), os.O_RDWR | os.O_CREAT | os.O_APPEND)
    for stream in (0, 1, 2):
        os.dup2(where, stream)


def attempt(tests: dict[str, float], limit_s: int, pipe: int) -> None:
    """In the child: run the tests, say how it ended, and end."""
    alone(limit_s)
    quiet()
    chosen = Chosen(tests)
    files = sorted({name.partition("::")[0] for name in tests})
    try:
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *OPTIONS, *files], plugins=[chosen]))
    except BaseException as error:  # a mutant may end the whole run
        code, chosen.by = 99, repr(error)
    import rigging

    assert Path(rigging.__file__).is_relative_to(Path.cwd()), "the tests ran on another copy"
    os.write(pipe, json.dumps({"code": code, "by": chosen.by}).encode())
    os._exit(0)


def judge(task: dict[str, Any], child_does: Callable[[int, int], None]) -> dict[str, Any]:
    """Write the mutant, run its tests in a child (given its limit in seconds and a pipe to answer), put the module back."""
    path = Path(task["file"])
    original, stamp = path.read_bytes(), path.stat()
    started = time.monotonic()
    try:
        path.write_text(task["code"], encoding="utf-8")
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reader)
            child_does(math.ceil(task["limit_s"]), writer)
        os.close(writer)
        late = _ended(child, started + PATIENCE * task["limit_s"]) in (signal.SIGXCPU, signal.SIGKILL)
        with os.fdopen(reader, "rb") as stream:
            said = stream.read() if not late else b""
    finally:
        path.write_bytes(original)
        os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))  # compiled copies of the original hold again
    seconds = time.monotonic() - started
    if late:
        return {"outcome": "timeout", "by": "", "seconds": seconds}
    done = json.loads(said) if said else {"code": -1, "by": "the test process ended"}
    # a failed test or a module that cannot be imported; anything else is a fault of this runner and must be looked at
    outcome = {0: "survived", 1: "killed", 2: "killed", 5: "no test"}.get(done["code"], "broken")
    return {"outcome": outcome, "by": done["by"], "seconds": seconds}


def _ended(child: int, until: float) -> int:
    """Wait for the child and say which signal ended it, 0 for none; kill it and all it started when its time is over."""
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0
        time.sleep(0.02)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return signal.SIGKILL


def main() -> None:
    """One line of JSON out for each line in."""
    for name in SHARED:
        importlib.import_module(name)
    for line in sys.stdin:
        task = json.loads(line)
        print(json.dumps(judge(task, partial(attempt, task["tests"]))), flush=True)


if __name__ == "__main__":
    main()
