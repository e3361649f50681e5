"""The README's outputs: run every command named in an ``output`` comment and put what it prints below it.

``python tests/docs/readme.py`` rewrites the README; the test beside it fails where the two differ.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"<!-- output: (?P<command>.+?) -->\n```\n(?:.*?)```\n", re.DOTALL)


def output(command: str) -> str:
    """What a command prints, with the program of this very environment first on the path."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    environment = {"PATH": path, "LANG": "C.UTF-8", "HOME": os.environ.get("HOME", "")}
    done = subprocess.run(
        ["bash", "-c", command], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    if done.stderr:
        raise RuntimeError(f"{command}: {done.stderr}")
    lines = [line.rstrip() for line in done.stdout.splitlines()]
    return "\n".join(lines).strip("\n") + "\n"


def rewritten(text: str) -> str:
    """The README with every output block filled anew."""

    def fill(block: re.Match[str]) -> str:
        command = block["command"]
        return f"<!-- output: {command} -->\n```\n$ {command}\n{output(command)}```\n"

    return BLOCK.sub(fill, text)


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
