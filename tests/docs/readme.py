"""The README's outputs: run every command named in an ``output`` comment and put what it prints below it.

``python tests/docs/readme.py`` rewrites the README; the test beside it fails where the two differ.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"<!-- output: (?P<command>.+?) -->\n```\n(?:.*?)```\n", re.DOTALL)


TIME = re.compile(r"\b\d{4}-\d\d-\d\d \d\d:\d\d\b")
HASH = re.compile(r"\b[0-9a-f]{64}\b|\b[0-9a-f]{12}\b")


class Mask:
    """What is another in every run, and what stands for it in the text.

    Of times only those of the run itself, which the log writes; a time that a file of the examples gives stays. Hashes
    get digits by the order in which they appear, so that two that differ are seen to differ.
    """

    def __init__(self) -> None:
        self.since = datetime.now(UTC).replace(second=0, microsecond=0)
        self.hashes: list[str] = []

    def __call__(self, text: str) -> str:
        """The text with both replaced."""
        return HASH.sub(self._hash, TIME.sub(self._time, text))

    def _time(self, found: re.Match[str]) -> str:
        when = datetime.strptime(f"{found[0]} +0000", "%Y-%m-%d %H:%M %z")
        return "2026-11-25 09:40" if self.since <= when <= datetime.now(UTC) else found[0]

    def _hash(self, found: re.Match[str]) -> str:
        first = found[0][:12]
        if first not in self.hashes:
            self.hashes.append(first)
        digits = hashlib.sha256(str(self.hashes.index(first)).encode()).hexdigest()
        return f"{digits[:6]}...(64 digits)" if len(found[0]) == 64 else digits[:12]


def output(command: str, folder: Path, mask: Mask) -> str:
    """What a command prints in a copy of the checkout, with the program of this very environment first on the path."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    # a clock that was moved for the tests is moved for what they run
    clock = {k: v for k, v in os.environ.items() if k in ("TZ", "LD_PRELOAD") or k.startswith("FAKETIME")}
    environment = {"PATH": path, "LANG": "C.UTF-8", "HOME": os.environ.get("HOME", ""), **clock}
    done = subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{command}: exit code {done.returncode}: {done.stdout}")
    lines = [line.rstrip() for line in mask(done.stdout).splitlines()]
    return "\n".join(lines).strip("\n") + "\n"


def rewritten(text: str) -> str:
    """The README with every output block filled anew."""

    mask = Mask()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "examples", folder / "examples", ignore=shutil.ignore_patterns("*.riglog*"))

        def fill(block: re.Match[str]) -> str:
            command = block["command"]
            return f"<!-- output: {command} -->\n```\n$ {command}\n{output(command, folder, mask)}```\n"

        return BLOCK.sub(fill, text)


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
