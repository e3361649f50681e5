"""TAB: what the shell is offered, asked as the shell's own script asks. It never fails, whatever stands on the line."""

from __future__ import annotations

import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
import typer.main

import rigging.cli.main

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
SHEET = "examples/reedling/sheet.yaml"
CARD = "examples/reedling/card-0417.yaml"
# every variable by which a shell asks
VARIABLES = (
    "_RIGGING_COMPLETE", "COMP_WORDS", "COMP_CWORD", "_TYPER_COMPLETE_ARGS", "_TYPER_COMPLETE_FISH_ACTION",
    "_TYPER_COMPLETE_WORD_TO_COMPLETE",
)  # fmt: skip


built = cache(typer.main.get_command)


@pytest.fixture
def tab(monkeypatch, capsys):
    """What a shell is given: ``tab("rigging", "check", "")`` for TAB after ``rigging check ``."""
    # the commands are made once for all of these tests
    monkeypatch.setattr(typer.main, "get_command", built)
    monkeypatch.setattr(sys, "argv", ["rigging"])
    monkeypatch.chdir(ROOT)

    def ask(*words, shell="bash"):
        for name in VARIABLES:
            monkeypatch.delenv(name, raising=False)
        asked = {"_RIGGING_COMPLETE": f"complete_{shell}"}
        if shell == "bash":
            asked |= {"COMP_WORDS": "\n".join(words), "COMP_CWORD": str(len(words) - 1)}
        else:
            asked |= {"_TYPER_COMPLETE_ARGS": " ".join(words), "_TYPER_COMPLETE_FISH_ACTION": "get-args"}
            asked |= {"_TYPER_COMPLETE_WORD_TO_COMPLETE": words[-1]} if shell == "powershell" else {}
        for name, value in asked.items():
            monkeypatch.setenv(name, value)
        with pytest.raises(SystemExit) as end:
            rigging.cli.main.main()
        out, err = capsys.readouterr()
        assert err == ""
        assert end.value.code == 0
        return out.splitlines() if out.strip() else []

    return ask


OFFERED = [
    (("plan", SHEET, ""), {"aileron", "elevator", "rudder", "trim"}),
    (("loads", SHEET, "e"), {"elevator"}),
    (("envelope", SHEET, ""), {"aileron", "elevator", "rudder", "trim"}),
    (("session", SHEET, "--circuit", "r"), {"rudder"}),
    (("log", "list", SHEET, "--circuit", "t"), {"trim"}),
    (("settle", SHEET, "elevator"), {"elevator/up", "elevator/down"}),
    (("side-pull", "--sheet", SHEET, "--run", "trim/"), {r"trim/nose\ up", r"trim/nose\ down"}),
    (("clamp", "--sheet", SHEET, "--run", "rudder/l"), {"rudder/left"}),
    (("envelope", SHEET, "aileron", "--tension", ""), {"left=", "balance=", "right="}),
    (("plan", SHEET, "elevator", "--turned", ""), {"up=", "down="}),
    (("plan", SHEET, "aileron", "--neutral", "left"), {r"left\ bellcrank="}),
    (("log", "add", "adj"), {"adjustment"}),
    (("log", "kinds", "cable"), {"cable-fitted"}),
    (("log", "list", SHEET, "--kind", "ch"), {"check"}),
    (("cable", "1/8", "--material", ""), {"carbon", "stainless"}),
    (("cable", "1/8", "--construction", "7"), {"7x19", "7x7"}),
    (("limits", "1/8", "--at", "54F", "--airframe", "steel"), {"steel", r"steel\ tube", r"steel\ 1020"}),
    (("cable", "3/"), {"3/64", "3/32", "3/16", "3/8"}),
    (("cut", "--size", "3/3"), {"3/32"}),
    (("cut", "--thread", "1/4"), {"1/4-28"}),
    (("cut", "--history", "p"), {"proof-loaded"}),
    (("settle", SHEET, "--by", ""), {"hours", "cycles"}),
    (("steady", "--part", "fit"), {"fitting"}),
    (("tables", "show", "turn"), {"turnbuckle-threads"}),
    # the card on the line knows its own columns
    (("dial", "--card", CARD, "--cable", ""), {"1/8", "3/32", "5/32"}),
    (("dial", "--card", CARD, "--riser", ""), {"1", "2"}),
    # the fields of an entry, and what they may hold
    (("log", "add", "adjustment", SHEET, "--half"), {"--half-turns"}),
    (("log", "add", "adjustment", SHEET, "--circuit", "elevator", "--turnbuckle", ""), {"up", "down"}),
    (("log", "add", "safetying", SHEET, "--method", "locking"), {r"locking\ wire", r"locking\ clips"}),
    (("log", "add", "safetying", SHEET, "--safe", ""), {"yes", "no"}),
    # an option and its value in one word, which bash takes apart
    (("session", SHEET, "--circuit", "=", "ail"), {"aileron"}),
    (("session", SHEET, "--circuit", "="), {"aileron", "elevator", "rudder", "trim"}),
    (("check", "--on", "=", "2026-11-25", SHEET, "--stea"), {"--steady-since"}),
    (("envelope", SHEET, "--tension", "left", "="), set()),
    # an open quotation mark: bash puts no backslash there
    (("settle", SHEET, '"trim/nose u'), {"trim/nose up"}),
    (("che",), {"check"}),
    (("--pl",), {"--plain"}),
    (("log", "ver"), {"verify"}),
]  # fmt: skip


@pytest.mark.parametrize(("line", "offered"), OFFERED, ids=lambda x: " ".join(x) if isinstance(x, tuple) else "")
def test_names_are_offered_where_they_are_asked_for(tab, line, offered):
    """Each by the names that stand in the example sheet, its card and the tables, typed from there."""
    found = tab("rigging", *line)
    assert len(found) == len(set(found))
    assert set(found) == offered


def commands():
    """Every command with its options, by its words."""

    def walk(command, words):
        below = getattr(command, "commands", None)
        if below is None:
            yield words, [max(p.opts, key=len) for p in command.params if p.param_type_name == "option"]
        for name, one in (below or {}).items():
            yield from walk(one, (*words, name))

    return dict(walk(built(rigging.cli.main.app), ()))


STARTS = (
    (), ("",), ("-",), ("--",), ("x", ""), (SHEET, ""), (SHEET, "--at", ""), (SHEET, "--at"), ("--at", "1F", "--at", "2F", ""),
    ("--nope", ""), ("--", "x", ""), ("'", ""), ('"un', "closed"), ("=", "="), (":", ""), ("--at", "=", ""), ("\\",), ("[/x]", ""),
    ("nope.yaml", ""), ("/dev/zero", ""), ("~nobody-of-that-name/x.yaml", ""), ("--plain", ""), ("#", ""), ("--json", "--csv", ""),
)  # fmt: skip


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "powershell"])
@pytest.mark.parametrize("command", commands(), ids=" ".join)
def test_it_never_fails_wherever_it_is_asked(tab, command, shell):
    """Before and after every option of every command, and after what nobody should have typed."""
    for option in commands()[command]:
        tab("rigging", *command, option, shell=shell)
        tab("rigging", *command, option, "", shell=shell)
        tab("rigging", *command, SHEET, option, "", shell=shell)
    for start in STARTS:
        tab("rigging", *command, *start, shell=shell)


@pytest.mark.parametrize(
    "wrong",
    [
        "", "circuits", "circuits: [a, b]", "circuits: {aileron: 3}", "circuits: {aileron: {cables: [x]}}", "- a", "a: &x [*x]",
        "circuits: {1: {cables: {2: 3}}, null: {}}", "circuits: {a: {b: }", "\t", "circuits: {a: {}, a: {}}", "x" * 1_100_000,
        "[" * 40, "columns: 5", "columns: [5, {cable: 5, riser: [1]}]", "circuits: {\"a\\nb\": {}}",
    ],
    ids=lambda text: text[:20],
)  # fmt: skip
def test_it_never_fails_over_a_broken_sheet_or_card(tab, tmp_path, wrong):
    path = tmp_path / "sheet.yaml"
    path.write_text(wrong)
    for line in (
        ("plan", path, ""), ("settle", path, ""), ("plan", path, "aileron", "--neutral", ""), ("envelope", path, "--tension", ""),
        ("log", "add", "safetying", path, "--turnbuckle", ""), ("session", path, "--circuit", ""), ("check", path, "--at", ""),
    ):  # fmt: skip
        tab("rigging", *map(str, line))
    tab("rigging", "dial", "--card", str(path), "--riser", "")
    tab("rigging", "dial", "--card", str(path), "--cable", "")


@pytest.mark.parametrize("bytes_", [b"\xff\xfe\x00", b"SQLite format 3\x00", b"caf\xe9: 1"])
def test_it_never_fails_over_a_file_that_is_no_text(tab, tmp_path, bytes_):
    path = tmp_path / "sheet.yaml"
    path.write_bytes(bytes_)
    assert tab("rigging", "plan", str(path), "") == []
    assert tab("rigging", "plan", str(tmp_path), "") == []


def test_a_sheet_that_is_refused_still_offers_its_names(tab, tmp_path):
    """While it is being mended: a material that nobody knows, and no reference temperature."""
    path = tmp_path / "my sheet.yaml"
    path.write_text("rig_sheet: 1\nairframe: cheese\ncircuits: {elevator: {cables: {nose up: {size: 1/8}}}}\n")
    assert tab("rigging", "plan", f"'{path}'", "") == ["elevator"]
    assert tab("rigging", "settle", str(path).replace(" ", r"\ "), "") == [r"elevator/nose\ up"]


def test_a_sheet_in_the_home_folder_is_found(tab, tmp_path, monkeypatch):
    """The shell asks before it has put the folder in the place of ~."""
    (tmp_path / "sheet.yaml").write_text("circuits: {tail: {}}\n")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert tab("rigging", "plan", "~/sheet.yaml", "") == ["tail"]
    assert tab("rigging", "plan", "$HOME/sheet.yaml", "") == ["tail"]


@pytest.mark.parametrize("words", ["", "rigging", "rigging check --at ", "rigging 'check"])
@pytest.mark.parametrize("place", ["", "x", "-3", "0", "9", "2"])
def test_a_shell_that_asks_amiss_is_answered_too(monkeypatch, capfd, words, place):
    monkeypatch.setenv("_RIGGING_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", place)
    monkeypatch.setattr(sys, "argv", ["rigging"])
    with pytest.raises(SystemExit) as end:
        rigging.cli.main.main()
    assert end.value.code == 0
    assert capfd.readouterr().err == ""


def test_bash_itself_completes(tmp_path):
    """The script that is installed, in a real bash, with the program in its own process."""
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash here")
    program = tmp_path / "rigging"
    program.write_text(
        f'#!/bin/sh\nexec {sys.executable} -c "import sys; sys.argv[0] = \'rigging\'\nfrom rigging.cli.main import main\nmain()" "$@"\n'
    )
    program.chmod(0o755)
    asked = f"""
    source <(_RIGGING_COMPLETE=source_bash {program})
    COMP_WORDS=({program} settle {SHEET} trim/); COMP_CWORD=3; _rigging_completion {program}; printf '%s\\n' "${{COMPREPLY[@]}}"
    COMP_WORDS=({program} check {SHEET} --at ""); COMP_CWORD=4; _rigging_completion {program}; echo "${{#COMPREPLY[@]}}"
    """
    done = subprocess.run(
        [bash, "--norc", "-c", asked], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    assert (done.stdout, done.stderr) == ("trim/nose\\ up\ntrim/nose\\ down\n0\n", "")
