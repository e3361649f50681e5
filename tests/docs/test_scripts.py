"""The scripts of ``tests/`` that are run by hand from a checkout: they take its own package, and say what they lack."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]


def run(words: str, shadow: Path) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(shadow), "OPENBLAS_NUM_THREADS": "1"}
    return subprocess.run(
        [sys.executable, *words.split()], cwd=ROOT, env=environment, capture_output=True, text=True, timeout=120, check=False
    )  # fmt: skip


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("tests/audit/honesty.py constants", 0),
        ("tests/bench/run.py --only card", 0),
        ("tests/fuzz/large.py --help", 0),
        ("tests/study/settling.py --help", 0),
        ("tests/study/slips.py --help", 0),
    ],
)
def test_a_script_takes_the_package_of_its_checkout(words: str, code: int, tmp_path: Path) -> None:
    (tmp_path / "rigging").mkdir()
    (tmp_path / "rigging" / "__init__.py").write_text("raise SystemExit('another package was taken')\n")
    done = run(words, tmp_path)
    assert (done.returncode, done.stderr) == (code, "")


@pytest.mark.parametrize(
    ("script", "module", "extra"),
    [
        ("tests/mutation/run.py", "cosmic_ray", "mutation"),
        ("tests/mutation/run.py", "coverage", "mutation"),
        ("tests/fuzz/run.py", "atheris", "fuzz"),
    ],
)
def test_a_script_without_its_extra_says_how_to_install_it(
    script: str, module: str, extra: str, tmp_path: Path
) -> None:
    for name in ("parso", "coverage", module):
        (tmp_path / name).mkdir(exist_ok=True)
        (tmp_path / name / "__init__.py").write_text(f"raise ModuleNotFoundError(name={name!r})\n" * (name == module))
    (tmp_path / "parso" / "tree.py").touch()
    done = run(script, tmp_path)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == f"{module} is missing: pip install -e '.[{extra}]'\n"
