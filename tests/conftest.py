"""What several test files share: the real program in its own process, at a pipe or at a terminal, and example aircraft."""

from __future__ import annotations

import codecs
import fcntl
import importlib.util
import json
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import settings

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_S = 60.0
# The suite that decides on a change draws the same examples every time; a search draws others:
# python -m pytest --hypothesis-profile=search
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", derandomize=False, deadline=None, max_examples=2000)
settings.load_profile("same")
DAY = "2026-11-25"  # the day of the example readings: a test must not expire with a card


def helper(name: str) -> Any:
    """A module of helpers in the tests' folder; they are no package, so that nothing is imported by accident."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "tests" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def dabchick() -> Any:
    """The aircraft of the log's tests: sheet, card and what is entered for it."""
    return helper("dabchick")


@pytest.fixture
def book(dabchick: Any, tmp_path: Path) -> Any:
    """Its sheet and an open log in a folder."""
    made = dabchick.Book(tmp_path)
    yield made
    made.log.close()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What needs a server or a browser is slow, wherever it stands."""
    for item in items:
        on = getattr(item, "callspec", None)
        if {"cluster", "browser"} & set(getattr(item, "fixturenames", ())) or (
            on and "postgresql" in on.params.values()
        ):
            item.add_marker(pytest.mark.slow)


class Ran(NamedTuple):
    """How a run of the program ended."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on stdout; anything beside it does not parse."""
        return json.loads(self.out)


def clean_environment(**extra: str) -> dict[str, str]:
    """The environment of a run: nothing of the terminal the tests were started from."""
    dropped = (
        "NO_COLOR",
        "COLUMNS",
        "LINES",
        "TERM",
        "FORCE_COLOR",
        "TTY_COMPATIBLE",
        "PYTHONIOENCODING",
        "PYTHONUTF8",
    )
    kept = {k: v for k, v in os.environ.items() if k not in dropped and not k.startswith("LC_")}
    return {**kept, "LANG": "C.UTF-8", "TERM": "xterm-256color", **extra}


class Server:
    """The process that has imported the program and is forked for every run."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, Path(__file__).with_name("program_server.py")],
            cwd=ROOT, env=clean_environment(), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True,
        )  # fmt: skip

    def run(self, job: dict[str, Any]) -> int:
        """The exit code of a run; one that does not end in time ends the server with it."""
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(json.dumps(job) + "\n")
        self.process.stdin.flush()
        if not select.select([self.process.stdout], [], [], PATIENCE_S)[0]:
            os.killpg(self.process.pid, signal.SIGKILL)
            server.cache_clear()
            raise TimeoutError(f"no end after {PATIENCE_S:g} s: {job['args']}")
        return os.waitstatus_to_exitcode(int(self.process.stdout.readline()))


@cache
def server() -> Server:
    """One for each worker of a parallel run; it ends when its stdin does."""
    return Server()


def run_program(*args: object, cwd: Path = ROOT, stdin: str = "", **env: str) -> Ran:
    """One run with everything piped, in a process of its own.

    Where the system can fork, that is one of a server, which has imported the program already. ``run_afresh`` starts an
    interpreter, as what speaks to the interpreter itself needs.
    """
    if not hasattr(os, "fork") or any(name.startswith("PYTHON") for name in env):
        return run_afresh(*args, cwd=cwd, stdin=stdin, **env)
    with (
        tempfile.NamedTemporaryFile() as given,
        tempfile.NamedTemporaryFile() as out,
        tempfile.NamedTemporaryFile() as err,
    ):
        given.write(stdin.encode())
        given.flush()
        streams = [stream.name for stream in (given, out, err)]
        job = {"args": [*map(str, args)], "cwd": str(cwd), "env": clean_environment(**env), "streams": streams}
        return Ran(server().run(job), out.read().decode(), err.read().decode())


def run_afresh(*args: object, cwd: Path = ROOT, stdin: str = "", **env: str) -> Ran:
    """The same in an interpreter of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "rigging", *map(str, args)],
        cwd=cwd,
        input=stdin,
        capture_output=True,
        encoding="utf-8",
        env=clean_environment(**env),
        timeout=PATIENCE_S,
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


@pytest.fixture(scope="session")
def rigging():
    """Run the program: ``rigging("cable", "1/8", "--json")``, from the checkout unless ``cwd`` says otherwise."""
    return run_program


@pytest.fixture(scope="session")
def shared():
    """The same, each command line once: for runs that change nothing and are looked at by several tests."""
    return cache(run_program)


class Terminal:
    """The program at a terminal of a given width; what it shows is read as it comes."""

    def __init__(
        self, *args: object, cwd: Path = ROOT, columns: int = 80, pipe_stdout: bool = False, **env: str
    ) -> None:
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rigging", *map(str, args)],
            cwd=cwd,
            stdin=theirs,
            stdout=subprocess.PIPE if pipe_stdout else theirs,
            stderr=theirs,
            env=clean_environment(**env),
        )
        os.close(theirs)
        self.shown = ""
        self._seen = 0
        # a piece may end in the middle of a letter
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")

    def _read(self) -> bool:
        if not select.select([self._ours], [], [], 1.0)[0]:
            return True
        try:
            piece = os.read(self._ours, 65536)
        except OSError:  # Linux says so when the other side is closed
            return False
        self.shown += self._decoder.decode(piece)
        return bool(piece)

    def wait_for(self, text: str) -> None:
        """Read until the text is shown after what was waited for before."""
        end = time.monotonic() + PATIENCE_S
        while text not in self.shown[self._seen :]:
            more = self._read()
            assert more and time.monotonic() < end, f"'{text}' was never shown; the terminal shows:\n{self.shown}"
        self._seen += self.shown[self._seen :].index(text) + len(text)

    def question(self) -> str:
        """Read until the program waits for an answer; returns the line it asks in, empty where it ended instead."""
        end = time.monotonic() + PATIENCE_S
        while True:
            assert time.monotonic() < end, f"it asks nothing; the terminal shows:\n{self.shown}"
            line = self.shown[self._seen :].rpartition("\n")[2]
            # a question is a line that does not end; nothing more comes while it stands
            if line.endswith((": ", "? ", ") ")) and not select.select([self._ours], [], [], 0.05)[0]:
                self._seen = len(self.shown)
                return line.strip()
            if not self._read():
                return ""

    def type(self, text: str) -> None:
        """Type one line."""
        os.write(self._ours, f"{text}\n".encode())

    def press(self, key: bytes) -> None:
        """Press a key as the terminal sends it."""
        os.write(self._ours, key)

    def end(self) -> Ran:
        """Read to the end; ``out`` is the piped stdout, else what the terminal shows."""
        end = time.monotonic() + PATIENCE_S
        while self._read():
            assert time.monotonic() < end, f"it does not end; the terminal shows:\n{self.shown}"
        out, _ = self.process.communicate(timeout=PATIENCE_S)
        shown = self.shown.replace("\r\n", "\n")
        return Ran(self.process.returncode, shown if out is None else out.decode(), shown)

    def close(self) -> None:
        """Leave no process and no descriptor behind."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()
        os.close(self._ours)


@pytest.fixture
def terminal():
    """Start the program at a terminal: ``terminal("check", sheet)``."""
    opened = []

    def start(*args: object, **how: Any) -> Terminal:
        opened.append(Terminal(*args, **how))
        return opened[-1]

    yield start
    for one in opened:
        one.close()


SHEET = """\
rig_sheet: 1
aircraft: {name: Test bed, registration: none}
reference_temperature: 70F
airframe: {material: aluminium}
tensiometers: [card.yaml]
circuits:
  rudder:
    sectors:
      pedals: {arm: 5 in}
      horn: {arm: 4 in}
    hold: [pedals]
    cables:
      left: {size: 1/8, length: 12 ft, from: pedals +, to: horn +, limits: 30..40 lbf @ 70F}
      right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -, limits: 30..40 lbf @ 70F}
"""

CARD = """\
tensiometer_card: 1
serial: "0007"
calibrated: 2026-01-15
due: 2027-01-15
accuracy: 2%
columns:
  - {riser: 1, cable: 1/8, points: [[10, 10], [20, 20], [30, 30], [40, 40], [50, 50]]}
"""

READINGS = """\
circuit,run,riser,dial,structure
rudder,left,1,35,70F
rudder,left,1,35,70F
rudder,right,1,35,70F
rudder,right,1,35,70F
"""


class Bench:
    """A small aircraft in a folder of its own: sheet, card and readings, each a text that a test may bend."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sheet, self.card, self.readings = (folder / n for n in ("sheet.yaml", "card.yaml", "readings.csv"))
        self.sheet.write_text(SHEET, encoding="utf-8")
        self.card.write_text(CARD, encoding="utf-8")
        self.readings.write_text(READINGS, encoding="utf-8")

    def bend(self, path: Path, old: str, new: str) -> None:
        """Replace a text that must stand in the file."""
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")

    def check(self, *args: object, **how: Any) -> Ran:
        """``rigging check sheet.yaml readings.csv`` in the folder."""
        return run_program("check", "sheet.yaml", "readings.csv", "--on", DAY, *args, cwd=self.folder, **how)


@pytest.fixture
def bench(tmp_path):
    """A small aircraft whose two rudder cables are in limits."""
    return Bench(tmp_path)
