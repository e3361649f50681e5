"""The README cannot drift from the program: every output in it is run again, and CI runs its own test command."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_spec = importlib.util.spec_from_file_location("readme", Path(__file__).with_name("readme.py"))
assert _spec is not None and _spec.loader is not None
readme = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(readme)


def test_every_output_in_the_readme_is_what_the_program_prints() -> None:
    text = readme.README.read_text(encoding="utf-8")
    assert len(readme.BLOCK.findall(text)) >= 5
    assert readme.rewritten(text) == text


def test_only_what_another_run_changes_is_masked() -> None:
    mask = readme.Mask()
    now = mask.since.strftime("%Y-%m-%d %H:%M")
    assert mask(f"2026-11-02 10:00 {now} 2026-11-12 11:00") == "2026-11-02 10:00 2026-11-25 09:40 2026-11-12 11:00"
    one, other = "a" * 64, "b" * 64
    first, second, again, short = mask(f"{one} {other} {one} {one[:12]}").replace("...(64 digits)", "").split()
    assert first == again == short[:6] != second


def test_ci_calls_exactly_the_test_command_of_the_readme() -> None:
    commands = re.findall(r"^python3 -m venv .*pytest.*$", readme.README.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(commands) == 1
    assert commands[0] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_readme_output_fits_eighty_columns() -> None:
    text = readme.README.read_text(encoding="utf-8")
    for block in re.findall(r"```\n\$ .*?\n(.*?)```", text, re.DOTALL):
        assert max(map(len, block.splitlines())) <= 80
