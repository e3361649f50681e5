"""``python tests/bench/run.py``: every measurement, as ratios against its rival in the same run.

A file beside this one joins by a function ``rows`` that returns rows (what, median in ms, ratio, against what).
Nothing here is a test: a clock on a busy machine proves nothing.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

Row = tuple[str, float, float, str]
HERE = Path(__file__).resolve().parent


def main() -> None:
    """Run every file of this folder and print one table each."""
    for path in sorted(HERE.glob("*.py")):
        if path == Path(__file__).resolve():
            continue
        spec = importlib.util.spec_from_file_location(path.stem, path)
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        print((module.__doc__ or path.stem).splitlines()[0])
        rows: list[Row] = module.rows()
        width = max(len(what) for what, *_ in rows)
        for what, median_ms, ratio, rival in rows:
            print(f"  {what:{width}}  {median_ms:8.1f} ms  {ratio:5.2f} x {rival}")
        print()


if __name__ == "__main__":
    main()
