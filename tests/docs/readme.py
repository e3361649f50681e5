"""The README's outputs: run every command named in an ``output`` comment and put what it prints below it.

``python tests/docs/readme.py`` rewrites the README; the test beside it fails where the two differ.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"<!-- output: (?P<command>.+?) -->\n```\n(?:.*?)```\n", re.DOTALL)


# what is another in every run, and what stands for it in the text
MASKS = (
    (re.compile(r"\b\d\d-\d\d \d\d:\d\d\b"), "11-25 09:40"),
    (re.compile(r"\b([0-9a-f]{6})[0-9a-f]{58}\b"), "3f9a07...(64 digits)"),
    (re.compile(r"\b([0-9a-f]{12})\b"), "3f9a07c41d22"),
)


def output(command: str, folder: Path) -> str:
    """What a command prints in a copy of the checkout, with the program of this very environment first on the path."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    environment = {"PATH": path, "LANG": "C.UTF-8", "HOME": os.environ.get("HOME", "")}
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
    text = done.stdout
    for mask, instead in MASKS:
        text = mask.sub(instead, text)
    lines = [line.rstrip() for line in text.splitlines()]
    return "\n".join(lines).strip("\n") + "\n"


def rewritten(text: str) -> str:
    """The README with every output block filled anew."""

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "examples", folder / "examples", ignore=shutil.ignore_patterns("*.riglog*"))

        def fill(block: re.Match[str]) -> str:
            command = block["command"]
            return f"<!-- output: {command} -->\n```\n$ {command}\n{output(command, folder)}```\n"

        return BLOCK.sub(fill, text)


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
