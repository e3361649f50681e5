"""``python tests/bench/run.py [--only NAME] [--write]``: every measurement, as ratios against its rival in the same run.

A file beside this one joins by a function ``rows`` that returns rows (what, median in ms, ratio, against what). ``--write``
puts the table into DEVELOPERS.md. Nothing here is a test: a clock on a busy machine proves nothing.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import platform
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

# the package of this checkout, whatever is installed; in the processes that are started too
os.environ["PYTHONPATH"] = str(Path(__file__).resolve().parents[2])
sys.path.insert(0, os.environ["PYTHONPATH"])

Row = tuple[str, float, float, str]
HERE = Path(__file__).resolve().parent
GUIDE = HERE.parents[1] / "DEVELOPERS.md"
BETWEEN = re.compile(r"(?<=<!-- bench -->\n).*?(?=<!-- end of bench -->)", re.DOTALL)


def benches(only: str) -> Iterator[ModuleType]:
    """The files of this folder, as modules."""
    for path in sorted(HERE.glob("*.py")):
        if path == Path(__file__).resolve() or only not in path.stem:
            continue
        spec = importlib.util.spec_from_file_location(path.stem, path)
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        yield module


def table(only: str = "") -> Iterator[str]:
    """One table in Markdown, line by line as it is measured."""
    load = os.getloadavg()[0] / (os.cpu_count() or 1)
    busy = "nothing else running" if load < 0.3 else f"other work running, {load:.1f} a core"
    yield f"{os.cpu_count()} cores, {platform.system()}, Python {platform.python_version()}; {busy}.\n\n"
    yield "| what | median | ratio | against | goal |\n|---|---|---|---|---|\n"
    for module in benches(only):
        yield f"| **{(module.__doc__ or '').partition(':')[0]}** | | | | |\n"
        goals: dict[str, str] = getattr(module, "GOALS", {})  # by a part of a row's words
        rows: list[Row] = module.rows()
        for what, median_ms, ratio, rival in rows:
            goal = next((goal for part, goal in goals.items() if part in f"{what} over {rival}"), "")
            yield f"| {what} | {_time(median_ms)} | {ratio:.3g} x | {rival} | {goal} |\n"


def _time(ms: float) -> str:
    return f"{ms / 1000:.3g} s" if ms >= 1000 else f"{ms:.3g} ms" if ms >= 0.1 else f"{1000 * ms:.3g} us"


def main() -> None:
    """Measure, print, and where asked for put into the guide."""
    parser = argparse.ArgumentParser(description="Ratios against named rivals, all in one run.")
    parser.add_argument("--only", default="", help="files whose name holds this")
    parser.add_argument("--write", action="store_true", help="put the table into DEVELOPERS.md")
    asked = parser.parse_args()
    lines = []
    for line in table(asked.only):
        lines.append(line)
        sys.stdout.write(line)
        sys.stdout.flush()
    if asked.write:
        if asked.only:
            parser.error("--write takes the whole table: leave --only out")
        text = GUIDE.read_text(encoding="utf-8")
        GUIDE.write_text(BETWEEN.sub(lambda _: "".join(lines), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
