"""What a command loads before it answers: a look-up or one-shot sum must not wait for what it does not use."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CARD = ("--card", "examples/reedling/card-0417.yaml", "--riser", "2", "--cable", "5/32")
HEAVY = {"numpy", "scipy", "sqlalchemy", "matplotlib", "pydantic", "jinja2"}
ASK = """
import sys
before = set(sys.modules)
sys.argv[0] = "rigging"
from rigging.cli.main import main
try:
    main()
except SystemExit:
    pass
sys.stdout.flush()
print("LOADED", *sorted(set(sys.modules) - before), file=sys.stderr)
"""


def loaded(*command: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", ASK, *command], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout, done.stderr
    *said, last = done.stderr.splitlines()
    assert not said
    return {module.split(".")[0] for module in last.removeprefix("LOADED ").split()}


@pytest.mark.parametrize(
    "command",
    [
        ("--help",),
        ("cable", "1/8"),
        ("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--airframe", "spruce"),
        ("limits", "1/8", "--at", "54F"),
        ("pounds", "30", "31", "29", *CARD),
        ("dial", "40lbf", *CARD),
        ("friction", "6lbf", "3lbf"),
    ],
    ids=" ".join,
)
def test_a_look_up_or_a_sum_loads_nothing_heavy(command: tuple[str, ...]) -> None:
    assert not loaded(*command) & HEAVY


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_a_check_loads_numpy_for_the_circuits_and_nothing_heavier(form: tuple[str, ...]) -> None:
    check = ("check", "examples/reedling/sheet.yaml", "examples/reedling/readings.csv", *form)
    assert loaded(*check) & HEAVY == {"numpy"}


@pytest.mark.parametrize(
    "command", [("--help",), ("--version",), ("check", "--help"), ("tables", "--help")], ids=" ".join
)
def test_help_loads_nothing_it_does_not_show(command: tuple[str, ...]) -> None:
    assert not loaded(*command) & (HEAVY | {"rich", "yaml", "msgspec"})


def test_json_does_without_rich() -> None:
    assert "rich" not in loaded("cable", "1/8", "--json")
