"""Help: every command has an example that runs as printed; completion for the shell."""

import os
import shlex
import shutil
import subprocess
import sysconfig
from pathlib import Path

import pytest
import typer.main

from rigging.cli.main import app

pytestmark = pytest.mark.slow

DAY = "2026-11-25"
ROOT = Path(__file__).resolve().parents[2]


def commands(group, path=()):
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name)


EVERY = list(commands(typer.main.get_command(app)))


CHECKED = f"check examples/harbour/sheet.yaml examples/harbour/readings.csv --on {DAY} --log --who 'A. Finch'"
# what must have been done before an example makes sense
NEEDS = {
    ("status",): (CHECKED,),
    ("sign",): (CHECKED,),
    ("report",): (CHECKED,),
    ("log", "list"): (CHECKED,),
    ("log", "show"): (CHECKED,),
    ("log", "verify"): (CHECKED,),
    ("log", "export"): (CHECKED,),
    ("log", "import"): (CHECKED, "log export examples/harbour/sheet.yaml -o job.jsonl"),
}


def example(text):
    """The example of a help text as a list of words."""
    lines = text.split("Example:", 1)[1].split("\n\n", 1)[0]
    return shlex.split(" ".join(lines.split()))


def test_there_are_the_commands_of_the_contract():
    assert {c[0] for c in EVERY} >= {"cable", "limits", "pounds", "dial", "check", "sheet", "tables"}


@pytest.mark.parametrize("command", EVERY, ids=" ".join)
def test_help_ends_well_and_fits_the_screen(shared, command):
    ran = shared(*command, "--help")
    assert (ran.code, ran.err) == (0, "")
    assert "Usage:" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.parametrize("command", EVERY, ids=" ".join)
def test_the_example_of_every_command_runs(shared, rigging, tmp_path, command):
    words = example(shared(*command, "--help").out)
    assert words[0] == "rigging"
    assert tuple(words[1 : 1 + len(command)]) == command
    # a stand-in for the checkout, so that nothing is written into the real one
    shutil.copytree(ROOT / "examples", tmp_path / "examples", ignore=shutil.ignore_patterns("*.riglog*"))
    before = NEEDS.get(command, ())
    for needed in before:
        assert rigging(*shlex.split(needed), cwd=tmp_path).code in (0, 1)
    ran = rigging(*words[1:], cwd=tmp_path)
    assert ran.code in (0, 1)
    assert ran.out or ran.err
    assert "Traceback" not in ran.err
    # a schema and a sheet are files, whatever they are shown on
    if command not in {("sheet", "schema"), ("sheet", "new")}:
        assert max(map(len, ran.out.splitlines()), default=0) <= 80


@pytest.mark.parametrize("command", [(), ("sheet",), ("tables",)], ids=lambda c: " ".join(c) or "rigging")
def test_help_of_a_group_names_its_commands_in_whole_sentences(shared, command):
    ran = shared(*command, "--help")
    assert (ran.code, ran.err) == (0, "")
    for name in (c[len(command)] for c in EVERY if c[: len(command)] == command):
        line = next(line for line in ran.out.splitlines() if line.startswith(f"  {name} "))
        assert line.strip().endswith("."), "cut off"
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.parametrize("command", EVERY, ids=" ".join)
def test_units_in_brackets_survive_in_help(shared, command):
    """rich would delete [lbf] as markup; that typer still shows [required] tells it is off."""
    text = shared(*command, "--help").out
    if "[OPTIONS] {" in text:
        assert "[required]" in text


def test_version(shared):
    ran = shared("--version")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("rigging ")


def program(*args, **env):
    script = Path(sysconfig.get_path("scripts")) / "rigging"
    environment = {**os.environ, "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1", **env}
    return subprocess.run([script, *args], env=environment, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script_for_a_shell(shell):
    ran = program("--show-completion", shell)
    assert ran.returncode == 0
    assert "rigging" in ran.stdout and f"complete_{shell}" in ran.stdout


def test_bash_is_told_the_commands():
    ran = program(COMP_WORDS="rigging p", COMP_CWORD="1", _RIGGING_COMPLETE="complete_bash")
    assert ran.returncode == 0
    assert "pounds" in ran.stdout.split()
    ran = program(COMP_WORDS="rigging sheet ", COMP_CWORD="2", _RIGGING_COMPLETE="complete_bash")
    assert {"new", "check", "schema"} <= set(ran.stdout.split())


def test_bash_itself_accepts_the_script():
    script = program("--show-completion", "bash").stdout
    assert subprocess.run(["bash", "-n"], input=script, text=True, check=False).returncode == 0
