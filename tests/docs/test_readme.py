"""The README cannot drift from the program: every output in it is run again, and CI runs its own test command."""

from __future__ import annotations

import importlib.util
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main

from rigging.cli.main import app

pytestmark = pytest.mark.dated

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


def commands(node: Any = None, words: tuple[str, ...] = ()) -> Iterator[tuple[str, set[str]]]:
    """Every command by its words, with its options."""
    node = typer.main.get_command(app) if node is None else node
    below = getattr(node, "commands", None)
    if below is None:
        yield " ".join(words), {option for param in node.params for option in param.opts}
    for name, one in (below or {}).items():
        yield from commands(one, (*words, name))


def test_the_readme_names_the_commands_that_take_a_day() -> None:
    """Neither more nor fewer: the sentences that begin with --on."""
    text = readme.README.read_text(encoding="utf-8")
    said = text[text.index("`--on 2026-11-25` names the day") :].split(". What ")[0]
    named = set(re.findall(r"`([a-z][a-z -]*)`", said))
    assert named == {name for name, options in commands() if "--on" in options}


def test_no_page_counts_what_it_cannot_keep_counted() -> None:
    for page in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        assert re.findall(r"\b\d+ commands\b|\d+ expected values|says that nobody changed", text) == [], page


def test_a_stranger_s_package_is_installed_nowhere() -> None:
    """The index has another package by the name of the command; this one is installed from the checkout."""
    named = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert named["name"] == "control-cable-rigging"
    assert named["scripts"] == {"rigging": "rigging.cli.main:main"}
    assert "/dist/control_cable_rigging-*.whl" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pages = [
        ROOT / "README.md",
        ROOT / "DEVELOPERS.md",
        *(ROOT / "rigging").rglob("*.py"),
        *(ROOT / "examples").rglob("*.md"),
    ]
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert not re.search(r"""pip install(?: -\S+)* ["']?rigging\b""", text), page
    assert any('pip install ".[postgresql]"' in page.read_text(encoding="utf-8") for page in pages[:1])


def test_readme_output_fits_eighty_columns() -> None:
    text = readme.README.read_text(encoding="utf-8")
    for block in re.findall(r"```\n\$ .*?\n(.*?)```", text, re.DOTALL):
        assert max(map(len, block.splitlines())) <= 80
