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


# corrections: what is given replaces fields of the wrong entry, the others stay


ADJUSTMENT = ["--turnbuckle", "left", "--half-turns", "2", "--threads-showing", "2 2"]
TRAVEL = ["--surface", "left aileron", "--ways", "up=20 deg", "--ways", "down=16 deg", "--uncertainty", "0.5 deg"]
READING = ["--run", "left", "--station", "wing root", "--riser", "1", "--dial", "31 32 31", "--tensiometer", "0417"]
SAFETYING = ["--turnbuckle", "left", "--method", "locking clips", "--threads-showing", "2 2", "--safe", "yes"]


@pytest.mark.parametrize(
    ("kind", "given", "changes", "instead"),
    [
        ("adjustment", ADJUSTMENT, ["half_turns=-1"], {"turnbuckle": "left", "half_turns": -1, "threads_showing": [2, 2]}),
        ("adjustment", ADJUSTMENT, ["half-turns=-1", "threads-showing=1.5 2", "turnbuckle=right"],
         {"turnbuckle": "right", "half_turns": -1, "threads_showing": [1.5, 2]}),
        ("travel", TRAVEL, ["ways=up=19 deg", "remark=read again"],
         {"surface": "left aileron", "ways": {"up": "19 deg", "down": "16 deg"}, "uncertainty": "0.5 deg", "remark": "read again"}),
        ("travel", TRAVEL, ["ways=up=19 deg", "ways= down = 15 deg"],
         {"surface": "left aileron", "ways": {"up": "19 deg", "down": "15 deg"}, "uncertainty": "0.5 deg"}),
        ("reading", READING, ["dial=29 30 29"],
         {"run": "left", "station": "wing root", "riser": 1, "dial": ["29", "30", "29"], "tensiometer": "0417"}),
        ("safetying", SAFETYING, ["safe=no"],
         {"turnbuckle": "left", "method": "locking clips", "threads_showing": [2, 2], "safe": False}),
        ("safetying", SAFETYING, ["method=locking wire", "wire_diameter=0.040 in", "wire_material=stainless", "wrap=single"],
         {"turnbuckle": "left", "method": "locking wire", "threads_showing": [2, 2], "safe": True, "wire_diameter": "0.040 in",
          "wire_material": "stainless", "wrap": "single"}),
        ("condition", ["--part", "left", "--worn", "5%"], ["broken_wires=0", "internal_corrosion=no", "worn=10%"],
         {"part": "left", "worn": "10%", "broken_wires": 0, "internal_corrosion": False}),
    ],
)  # fmt: skip
def test_a_correction_by_flags_changes_the_fields_that_are_given(add, rigging, tmp_path, kind, given, changes, instead):
    add(kind, *given)
    flags = [word for change in changes for word in ("--instead", change)]
    ran = add("correction", "--corrects", "3", "--reason", "misread", *flags, "--json")
    assert ran.code in (0, 1), ran.err
    assert ran.json["given"]["instead"] == instead
    assert rigging("log", "show", "sheet.yaml", "4", "--recompute", cwd=tmp_path).code == 0


@pytest.mark.parametrize(
    ("changes", "code", "said"),
    [
        (["worn=5%"], 2, "--instead worn=5%: entry 3 is an adjustment, which has no field 'worn' (known: turnbuckle, half_turns, threads_showing, remark)"),
        (["half_turn=1"], 2, "--instead half_turn=1: entry 3 is an adjustment, which has no field 'half_turn' (did you mean 'half_turns'?)"),
        (["half_turns=two"], 3, "the fields: instead: half_turns: a whole number is needed here, not 'two'"),
        (["half_turns=0"], 3, "the fields: instead: half_turns is zero: nothing was turned"),
        (["threads_showing=2"], 3, "the fields: instead: threads_showing: 2 entries are needed here, not 1"),
        (["half_turns=1", "half_turns=2"], 2, "--instead half_turns stands twice: keep one"),
        (["half_turns"], 2, "--instead half_turns: write it like name=value, once for each name"),
        (["turnbuckle=lef"], 3, "no cable 'lef' with a turnbuckle in circuit aileron (did you mean 'left'?)"),
    ],
)  # fmt: skip
def test_what_does_not_fit_the_corrected_entry_is_refused(add, rigging, tmp_path, changes, code, said):
    add("adjustment", *ADJUSTMENT)
    flags = [word for change in changes for word in ("--instead", change)]
    ran = add("correction", "--corrects", "3", "--reason", "misread", *flags)
    assert (ran.code, ran.err) == (code, f"{said}\n")
    assert len(rigging("log", "list", "sheet.yaml", "--json", cwd=tmp_path).json) == 1


def test_a_correction_by_flags_names_what_it_corrects_and_that_is_there(add):
    add("adjustment", *ADJUSTMENT)
    assert add("correction", "--reason", "misread", "--instead", "half_turns=1").err == (
        "--instead needs --corrects: the number of the entry that is wrong\n"
    )
    assert (
        "there is no entry 9" in add("correction", "--corrects", "9", "--reason", "x", "--instead", "half_turns=1").err
    )
    # a file of the log stands as it is, whatever is to stand instead
    assert "it stands as it is" in add("correction", "--corrects", "1", "--reason", "x", "--instead", "name=other").err


def test_a_correction_asked_for_at_a_terminal(add, terminal, rigging, tmp_path):
    add("adjustment", *ADJUSTMENT)
    at = terminal("log", "add", "correction", "sheet.yaml", "--who", "A. Finch", cwd=tmp_path)
    for question, answer in (("corrects", "3"), ("reason", "misread"), ("[instead]", "-1"), ("[instead]", "half_turns=-1"),
                             ("[instead]", "")):  # fmt: skip
        assert question in at.question()
        at.type(answer)
    ran = at.end()
    assert ran.code == 0 and "write the name of the field" in ran.out
    shown = rigging("log", "show", "sheet.yaml", "4", "--json", cwd=tmp_path).json["given"]
    assert shown["instead"] == {"turnbuckle": "left", "half_turns": -1, "threads_showing": [2, 2]}
