"""What is given twice, or by a name or a word that is none, is refused in one line that says what to write."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def add(rigging, tmp_path):
    """``rigging log add`` on a copy of the example, for its aileron circuit."""
    shutil.copytree(
        ROOT / "examples/reedling", tmp_path, ignore=shutil.ignore_patterns("*.riglog*"), dirs_exist_ok=True
    )

    def run(kind, *more):
        return rigging(
            "log", "add", kind, "sheet.yaml", "--who", "A. Finch", "--circuit", "aileron", *more, cwd=tmp_path
        )

    return run


@pytest.mark.parametrize(
    ("kind", "given", "said"),
    [
        ("travel", ["--surface", "left aileron", "--ways", "up=20 deg", "--ways", "up=16 deg"], "--ways up"),
        ("travel", ["--surface", "left aileron", "--ways", "up=20 deg", "--ways= up = 20 deg"], "--ways up"),
        ("stops", ["--surface", "left aileron", "--touches-first", "up=surface", "--touches-first", "up=stick"], "--touches-first up"),
        ("direction", ["--surface", "left aileron", "--seen", "stick left=up", "--seen", "stick left=down"], "--seen stick left"),
        ("inspection", ["--secured", "left=yes", "--secured", "left=no"], "--secured left"),
        ("inspection", ["--seen", "a=b=up", "--seen", "a=b=down"], "--seen a=b"),
    ],
)  # fmt: skip
def test_a_name_given_twice_in_an_entry(add, kind, given, said):
    ran = add(kind, *given)
    assert (ran.code, ran.err) == (2, f"{said} stands twice: keep one\n")


def test_two_names_of_one_option_are_both_taken(add):
    ran = add("travel", "--surface", "left aileron", "--ways", "up=20 deg", "--ways", "down=16 deg")
    assert "written: #3" in ran.err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (["envelope", "examples/reedling/sheet.yaml", "aileron", "--tension", "left=30lbf", "--tension", "aileron / left=40lbf"],
         "--tension aileron / left"),
        (["plan", "examples/reedling/sheet.yaml", "aileron", "examples/reedling/droop.csv", "--neutral", "left bellcrank=1deg",
          "--neutral", "left bellcrank=2deg"], "--neutral left bellcrank"),
        (["steady", "--air", "54F", "--part", "box=2h", "--part", "box=3h"], "--part box"),
    ],
)  # fmt: skip
def test_a_name_given_twice_in_a_question(rigging, line, said):
    ran = rigging(*line)
    assert (ran.code, ran.out, ran.err) == (2, "", f"{said} stands twice: keep one\n")


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("nosuch", "(known: left, balance, right, floor of left, spar of left, rib 4 of balance, spar of right, floor of right, stick, "
                   "left bellcrank, right bellcrank)"),
        ("flor", "(did you mean 'floor'?)"),
        ("spar of lefft", "(did you mean 'spar of left'?)"),
    ],
)  # fmt: skip
def test_a_part_that_the_sheet_does_not_name(add, part, said):
    ran = add("condition", "--part", part, "--worn", "5%")
    assert (ran.code, ran.err) == (3, f"no part '{part}' in circuit aileron {said}\n")


@pytest.mark.parametrize("part", ["balance", "rib 4 of balance", "rib 4", "right bellcrank"])
def test_parts_of_the_sheet(add, part):
    assert "condition of aileron by A. Finch" in add("condition", "--part", part, "--worn", "5%").err


def test_a_part_in_what_is_to_stand_instead(add, tmp_path):
    add("condition", "--part", "left", "--worn", "5%")
    (tmp_path / "instead.json").write_text(
        '{"corrects": 3, "reason": "wrong cable", "instead": {"part": "nosuch", "worn": "5%"}}'
    )
    ran = add("correction", "--from", "instead.json")
    assert ran.code == 3 and ran.err.startswith("no part 'nosuch' in circuit aileron")


def test_an_entry_of_a_part_that_left_the_sheet_can_be_run_again(add, rigging, tmp_path):
    add("condition", "--part", "spar of left", "--worn", "5%")
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("name: spar", "name: beam"), encoding="utf-8")
    ran = rigging("log", "show", "sheet.yaml", "3", "--recompute", cwd=tmp_path)
    assert ran.code == 0 and "the verdict stands" in ran.out
    assert "no part" not in rigging("status", "sheet.yaml", cwd=tmp_path).out


def test_words_in_json_where_true_is_wanted(add, tmp_path):
    seen = {"seen": {"left aileron": {"stick left": "up"}}, "secured": {"left": "yes"}, "free_over_full_travel": "no",
            "tools_removed": True}  # fmt: skip
    (tmp_path / "seen.json").write_text(json.dumps(seen))
    ran = add("inspection", "--from", "seen.json")
    assert ran.code == 3
    assert ran.err.splitlines() == [
        "seen.json: secured / left: true or false is needed here, not 'yes': write true, without quotation marks",
        "seen.json: free_over_full_travel: true or false is needed here, not 'no': write false, without quotation marks",
    ]


def test_a_log_named_by_the_environment_and_another_by_name(rigging, tmp_path):
    ran = rigging("log", "show", "job.riglog", "1", cwd=tmp_path, RIGGING_LOG="other.riglog")
    assert ran.code == 2
    assert ran.err == (
        "RIGGING_LOG, set to other.riglog, says where the log of a sheet is: name the sheet, or clear RIGGING_LOG to read job.riglog\n"
    )
    ran = rigging("log", "show", "job.riglog", "1", "--log-at", "mine.riglog", cwd=tmp_path, RIGGING_LOG="other.riglog")
    assert ran.err == "--log-at says where the log of a sheet is: name the sheet, or leave --log-at out\n"


def test_the_example_of_every_kind_is_shown_with_hanging_lines(rigging):
    lines = rigging("log", "kinds").out.splitlines()
    assert max(map(len, lines)) <= 80
    # a name of a kind alone begins at the edge
    assert all(line.startswith("  ") or " " not in line.strip() for line in lines)
