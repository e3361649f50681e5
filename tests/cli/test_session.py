"""A guided session at a terminal and from a file of answers: to the signature, stopped, killed, and with wrong keys."""

from __future__ import annotations

import json
import random
import shutil
import signal
import sqlite3
import sys
import time
from pathlib import Path
from unittest.mock import Mock

import pytest

from rigging.cli.options import CLOCK
from rigging.cli.session import session
from rigging.cli.session_answers import Answers
from rigging.jobs.entering import enter
from rigging.log.store import open_log
from rigging.sheet.load import load_rig

DAY = "2026-11-25"
ROOT = Path(__file__).resolve().parents[2]
SCRIPT = [
    line for line in (ROOT / "examples/reedling/session.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith(("#", "on:"))
]  # fmt: skip
# as they are typed at a terminal
ANSWERS = [line.partition(":")[2].strip() for line in SCRIPT]
WHO = "A. Finch"


@pytest.fixture
def reedling(tmp_path):
    """A copy of the example aircraft."""
    shutil.copytree(ROOT / "examples/reedling", tmp_path / "reedling", ignore=shutil.ignore_patterns("*.riglog*"))
    return tmp_path / "reedling"


def record(place, but=()):
    """Every entry as it counts: all but its time, the hash that the times are part of, and the folder it was made in."""
    with open_log(str(place), CLOCK) as log:
        found = [
            (e.kind, e.circuit, e.who, json.dumps(e.payload).replace(f"{place.parent}/", ""))
            for e in log.entries()
            if e.kind not in ("document", *but)
        ]
    entries = [(*about, json.loads(payload)) for *about, payload in found]
    for *_, payload in entries:
        payload["given"].pop("head_before", None)
    return entries


def by_script(folder, lines, who=WHO, on=DAY, si=False):
    """Lead a session in this process by a file of these lines; returns its exit code."""
    script = folder / "answers.txt"
    script.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return session(
        sheet=folder / "sheet.yaml", circuit=["elevator"], who=who, script=script, log_at=str(folder / "job.riglog"), on=on,
        si=si,
    )  # fmt: skip


def lead(folder, answers, who=WHO, on=DAY, si=False):
    """Lead a session in this process with these answers as if typed; returns its exit code, 130 where they end before it."""
    left = iter(answers)

    def typed(question):
        answer = next(left, None)
        print(question, answer, file=sys.stderr)
        if answer is None:
            raise KeyboardInterrupt
        return answer.strip()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("rigging.cli.ask.ask_line", typed)
        patch.setattr("sys.stdin", Mock(isatty=lambda: True))
        return session(
            sheet=folder / "sheet.yaml", circuit=["elevator"], who=who, script=None, log_at=str(folder / "job.riglog"),
            on=on, si=si,
        )  # fmt: skip


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The record of the uninterrupted session."""
    folder = tmp_path_factory.mktemp("whole") / "reedling"
    shutil.copytree(ROOT / "examples/reedling", folder, ignore=shutil.ignore_patterns("*.riglog*"))
    assert by_script(folder, SCRIPT) == 0
    return record(folder / "job.riglog")


def at_terminal(terminal, folder, **how):
    return terminal(
        "session", "sheet.yaml", "--circuit", "elevator", "--who", WHO, "--log-at", "job.riglog", "--on", DAY,
        cwd=folder, **how,
    )  # fmt: skip


# from first step to signature


def test_the_record_of_the_example(whole):
    """Typed from the order of the job; what each entry came to follows from the sheet's limits."""
    kinds = [kind for kind, *_ in whole if kind != "answer"]
    assert kinds == [
        "session", "conditions", "condition", "condition", "pins", "neutral", "reading", "reading", "check",
        "adjustment", "adjustment", "cycled", "neutral", "reading", "reading", "check", "pins", "travel", "stops", "direction",
        "friction", "safetying", "safetying", "inspection", "signature",
    ]  # fmt: skip
    assert {who for kind, _, who, _ in whole if kind == "inspection"} == {"R. Tern"}
    assert whole[-1][3]["given"]["remark"] == "ends the guided session #3"
    # the words of the person and nothing else: the temperature and the state have places of their own
    checks = [payload["given"] for kind, *_, payload in whole if kind == "check"]
    assert [(g["steady_since"], g["state"]) for g in checks] == [
        ("doors shut since 07:30", "on its wheels, half fuel, tied down")
    ] * 2


def test_every_answer_but_the_last_of_a_step_stands_before_its_entry(whole):
    answers = []
    for kind, _, who, payload in whole:
        if kind == "answer":
            answers.append((payload["given"]["field"], payload["given"]["value"], who))
            continue
        for field, value, by in answers:
            if field == ["second person"]:
                assert (value, by) == (who, who)
                continue
            place = payload["given"]
            for name in field:
                place = place[name]
            assert place == value
        answers = []


def test_from_first_step_to_signature_at_a_terminal_of_80_by_24(reedling, terminal, whole):
    at = at_terminal(terminal, reedling)
    for answer in ANSWERS:
        assert at.question()
        at.type(answer)
    ran = at.end()
    assert ran.code == 0
    assert "signed: #" in ran.out
    assert "██" in ran.out  # the dial in figures that are read from a ladder
    assert max(map(len, ran.out.splitlines())) <= 80
    assert record(reedling / "job.riglog") == whole


@pytest.mark.slow
def test_killed_at_every_answer_it_ends_in_the_same_record(reedling, terminal, whole):
    """After each answer the program is killed: in turn once its next question stands, or soon after the key.

    What it took is not asked again. Where the kill came before the answer was in the log, that one question comes again.
    """
    chance = random.Random(20261125)
    questions, again = [], 0
    i = 0
    while i < len(ANSWERS):
        at = at_terminal(terminal, reedling)
        question = at.question()
        lost = bool(questions) and i % 2 == 0 and question == questions[i - 1] and asks_again(reedling, i)
        if lost:
            i, again = i - 1, again + 1
        else:
            questions.append(question)
        at.type(ANSWERS[i])
        if i == len(ANSWERS) - 1:
            assert at.end().code == 0
        elif i % 2 and not lost:
            time.sleep(chance.uniform(0.0, 0.08))
        else:
            assert at.question()
        at.process.kill()
        at.process.wait()
        i += 1
    # both sides of the moment of writing were met
    assert 0 < again < len(ANSWERS) // 2
    assert record(reedling / "job.riglog") == whole


def asks_again(folder, i):
    """Whether fewer than ``i`` answers are in the log: an answer each, or the entry of a step with its last one."""
    taken = [k for k, *_ in record(folder / "job.riglog") if k not in ("session", "check")]
    return len(taken) < i


@pytest.mark.slow
def test_ended_by_the_file_of_answers_at_every_question_it_ends_in_the_same_record(reedling, whole, capsys):
    for line in SCRIPT[:-1]:
        assert by_script(reedling, [line]) == 1
        assert "answers.txt ends before the question '" in capsys.readouterr().err.splitlines()[-1]
    assert by_script(reedling, SCRIPT[-1:]) == 0
    assert record(reedling / "job.riglog") == whole


def test_another_person_goes_on(reedling, whole):
    assert lead(reedling, ANSWERS[:20]) == 130
    assert lead(reedling, ANSWERS[20:], who="B. Ruff") == 0
    by = [who for _, _, who, _ in record(reedling / "job.riglog")]
    assert set(by) == {WHO, "B. Ruff", "R. Tern"}
    assert [(k, c, p["given"]) for k, c, _, p in record(reedling / "job.riglog")][:-1] == [
        (k, c, p["given"]) for k, c, _, p in whole
    ][:-1]


# wrong keys


@pytest.mark.slow
def test_wrong_keys_at_every_question_lose_nothing(reedling, whole, capsys):
    wrong = ["?", "\x1b[A", "skip", "", "\x00"]
    assert lead(reedling, [word for answer in ANSWERS for word in (*wrong[:4], answer)]) == 0
    assert record(reedling / "job.riglog") == whole
    shown = capsys.readouterr().err
    assert shown.count("keys that are no letters") == len(ANSWERS)
    assert shown.count("go back to it") == len(ANSWERS) - 1  # a signature cannot be left out
    assert "cannot be left out" in shown


def test_garbage_where_a_quantity_is_needed_is_asked_again(reedling, whole):
    """Where words are taken as they are, garbage is words; everywhere else it must not pass."""
    free = {0, 3, 12}  # state, steady since, instrument
    words = []
    for i, answer in enumerate(ANSWERS):
        quantity = answer and answer not in ("R. Tern", "surface", "stick grip", "protractor P-3")
        words += ["%%%", answer] if quantity and i not in free and answer not in ("up", "down") else [answer]
    assert lead(reedling, words) == 0
    assert record(reedling / "job.riglog") == whole


@pytest.mark.slow
def test_stop_at_every_question(reedling, whole, capsys):
    for answer in ANSWERS[:-1]:
        assert lead(reedling, [answer, "stop", "never read"]) == 1
    assert "goes on from here" in capsys.readouterr().err.replace("\n  ", " ")
    assert lead(reedling, ANSWERS[-1:]) == 0
    assert record(reedling / "job.riglog") == whole


@pytest.mark.slow
def test_interrupted_at_every_question(reedling, whole, monkeypatch, capsys):
    line = Answers._line

    def interrupted(self, question, key):
        if getattr(self, "had", 0):
            raise KeyboardInterrupt
        self.had = 1
        return line(self, question, key)

    for answer in ANSWERS[:-1]:
        with monkeypatch.context() as patch:
            patch.setattr(Answers, "_line", interrupted)
            assert lead(reedling, [answer]) == 130
    assert "what was answered is in the log" in capsys.readouterr().err
    assert lead(reedling, ANSWERS[-1:]) == 0
    assert record(reedling / "job.riglog") == whole


@pytest.mark.parametrize("key", ["Ctrl-C", "Ctrl-D"])
@pytest.mark.parametrize("inside", [(), ("skip",)], ids=["at a question", "at the reason"])
def test_keys_that_end_a_program(reedling, terminal, key, inside):
    at = at_terminal(terminal, reedling)
    for answer in (*ANSWERS[:2], *inside):
        at.question()
        at.type(answer)
    at.question()
    # the program does not own this terminal, so that the key cannot be typed
    at.process.send_signal(signal.SIGINT) if key == "Ctrl-C" else at.press(b"\x04")
    ran = at.end()
    assert ran.code == 130
    assert "the same command goes on from here" in ran.out.replace("\n  ", " ")
    assert "nothing was written" not in ran.out
    assert [kind for kind, *_ in record(reedling / "job.riglog")] == ["session", "answer", "answer"]


def test_letters_of_another_encoding(reedling, terminal):
    at = at_terminal(terminal, reedling)
    at.question()
    at.press(b"M\xf6we\n")
    at.wait_for("keys that are no letters")
    assert at.question().startswith("state")
    at.press(b"\x04")
    assert at.end().code == 130


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("18,5 18 18", "'18,5' has a comma: write decimals with a point, like 18.5"),
        ("18 lbf", "'lbf' is not a dial reading"),
        ("-18", "is not a dial reading"),
        ("", "an answer is needed here"),
        ("900", "dial 900 lies outside the card's points"),
    ],
)
def test_a_dial_reading_that_cannot_be(reedling, whole, capsys, typed, words):
    at = ANSWERS.index("18 18 18")
    assert lead(reedling, [*ANSWERS[:at], typed, *ANSWERS[at:]]) == 0
    assert words in " ".join(capsys.readouterr().err.split())
    assert record(reedling / "job.riglog") == whole


def test_what_is_refused_as_a_whole_is_asked_for_anew(reedling, capsys):
    """No half turn at all is no adjustment; the step is begun anew, and the log says why."""
    at = ANSWERS.index("18 18 18") + 2
    assert lead(reedling, [*ANSWERS[:at], "", "0", "2 2", *ANSWERS[at:]]) == 0
    assert "half_turns is zero" in capsys.readouterr().err
    assert (
        "half_turns is zero"
        in next(p for k, _, _, p in record(reedling / "job.riglog") if k == "again")["given"]["reason"]
    )


def test_a_turn_other_than_planned_is_written_as_it_was(reedling):
    at = ANSWERS.index("18 18 18") + 2
    assert lead(reedling, [*ANSWERS[:at], "DOWN", "-2", "3 3"]) == 130
    adjustment = next(p for k, _, _, p in record(reedling / "job.riglog") if k == "adjustment")["given"]
    assert adjustment == {"turnbuckle": "down", "half_turns": -2, "threads_showing": [3, 3]}


def test_a_way_the_sheet_does_not_know_is_typed_twice(reedling, whole, capsys):
    at = ANSWERS.index("up")
    assert lead(reedling, [*ANSWERS[:at], "upp", *ANSWERS[at:]]) == 0
    assert "'upp' is no way of moving" in capsys.readouterr().err
    assert record(reedling / "job.riglog") == whole


def test_again_begins_a_step_anew(reedling, whole):
    at = ANSWERS.index("28 deg")
    assert lead(reedling, [*ANSWERS[:at], "18 deg", "again", *ANSWERS[at:]]) == 0
    found = record(reedling / "job.riglog")
    assert [e for e in found if e[0] == "travel"] == [e for e in whole if e[0] == "travel"]
    assert [p["given"]["steps"] for k, _, _, p in found if k == "again"] == [["elevator/travel/elevator"]]


def test_left_out_and_taken_up_at_the_signature(reedling, capsys):
    at = ANSWERS.index("6 lbf")
    answers = [*ANSWERS[:at], "skip", "no scale", *ANSWERS[at + 3 :], "again", "6 lbf", "2 lbf", "stick grip", "yes"]
    assert lead(reedling, answers) == 0
    shown = capsys.readouterr().err
    assert "not signed: 1 item is open" in shown
    kinds = [k for k, *_ in record(reedling / "job.riglog", but=("answer",))]
    assert kinds[-4:] == ["inspection", "again", "friction", "signature"]


@pytest.mark.parametrize("name", ["a.  finch", "Finch, A.", "Ann Finch", "AFinch", "A. F\u00efnch"])
def test_the_second_person_cannot_be_the_first(reedling, whole, capsys, name):
    """Told at once, and not after the six questions that the log would refuse."""
    at = ANSWERS.index("R. Tern")
    assert lead(reedling, [*ANSWERS[:at], "", "---", name, *ANSWERS[at:]]) == 0
    shown = capsys.readouterr().err
    assert shown.count("did the work on elevator (write both names in full") == 1
    assert shown.count("a name is needed here") == 2
    assert record(reedling / "job.riglog") == whole


def test_a_name_of_the_second_person_in_two_alphabets_is_asked_for_again(reedling, whole, capsys):
    at = ANSWERS.index("R. Tern")
    assert lead(reedling, [*ANSWERS[:at], "R. T\u0435rn", *ANSWERS[at:]]) == 0
    assert "letters of two alphabets" in capsys.readouterr().err
    assert record(reedling / "job.riglog") == whole


def test_pins_left_in_are_taken_out_when_done_again_at_the_signature(reedling, capsys):
    at = ANSWERS.index("28 deg") - 1
    assert ANSWERS[at] == "yes"
    answers = [*ANSWERS[:at], "skip", "later", *ANSWERS[at + 1 :], "again", "yes", "yes"]
    assert lead(reedling, answers) == 0
    assert "not signed: 1 item is open" in capsys.readouterr().err
    kinds = [k for k, *_ in record(reedling / "job.riglog", but=("answer",))]
    assert kinds[-4:] == ["inspection", "again", "pins", "signature"]


def test_alone_with_reason_and_pause(reedling):
    at = ANSWERS.index("R. Tern") - 1
    answers = [*ANSWERS[:at], "yes", "nobody on the field", "30 h", *ANSWERS[at + 2 :]]
    assert lead(reedling, answers) == 0
    inspection = next(p for k, _, _, p in record(reedling / "job.riglog") if k == "inspection")
    assert inspection["given"]["reason"] == "nobody on the field"
    assert any("a pause of 30 h is stated; at most 24 h lie between" in r for r in inspection["judged"]["reasons"])


# others, and the files it goes by


class Meanwhile:
    """Answers during which someone else does something once."""

    def __init__(self, monkeypatch, before, act):
        line, done = Answers._line, []

        def asked(source, question, key):
            answer = line(source, question, key)
            if before in question and not done:
                done.append(1)
                act()
            return answer

        monkeypatch.setattr(Answers, "_line", asked)


def test_a_locked_log_is_waited_for_and_the_answer_is_kept(reedling, whole, monkeypatch, capsys):
    monkeypatch.setattr("rigging.log.sqlite.PATIENCE", 0.2)
    assert lead(reedling, ANSWERS[:1]) == 130
    lock = sqlite3.connect(reedling / "job.riglog", isolation_level=None, check_same_thread=False)
    lock.execute("BEGIN IMMEDIATE")
    # the lock goes when the session asks to try again: no clock decides
    Meanwhile(monkeypatch, "Enter tries again", lock.rollback)
    assert lead(reedling, [ANSWERS[1], "", ANSWERS[2]]) == 130
    lock.close()
    assert capsys.readouterr().err.count("not written yet") == 1
    assert len([k for k, *_ in record(reedling / "job.riglog") if k == "answer"]) == 3
    assert lead(reedling, ANSWERS[3:]) == 0
    assert record(reedling / "job.riglog") == whole


def other_entry(folder, kind, circuit, given, who="B. Ruff"):
    rig = load_rig(folder / "sheet.yaml")
    with open_log(str(folder / "job.riglog"), CLOCK) as log:
        enter(log, rig, kind, circuit, given, who, "there")


def test_a_note_by_someone_else_in_between(reedling, whole, monkeypatch):
    Meanwhile(monkeypatch, "dial", lambda: other_entry(reedling, "note", "", {"text": "door open"}))
    assert lead(reedling, ANSWERS) == 0
    assert [k for k, *_ in record(reedling / "job.riglog", but=("note",))] == [k for k, *_ in whole]


def test_the_same_step_answered_by_someone_else_in_between(reedling, monkeypatch, capsys):
    friction = {"pull_one": "5 lbf", "pull_other": "3 lbf", "where": "stick"}
    Meanwhile(monkeypatch, "pull other", lambda: other_entry(reedling, "friction", "elevator", friction))
    at = ANSWERS.index("stick grip")
    assert lead(reedling, ANSWERS) == 0
    shown = capsys.readouterr().err
    assert "looking again" in shown
    assert "yours was not written" in shown
    written = [(who, p["given"]) for k, _, who, p in record(reedling / "job.riglog") if k == "friction"]
    assert written == [("B. Ruff", friction)]
    assert ANSWERS[at] == "stick grip"


def test_a_sheet_that_is_edited_under_way(reedling, whole, monkeypatch, capsys):
    sheet = reedling / "sheet.yaml"
    Meanwhile(monkeypatch, "structure", lambda: sheet.write_text(sheet.read_text() + "# edited\n"))
    assert lead(reedling, [*ANSWERS[:2], "", *ANSWERS[2:]]) == 0
    assert "has changed while this ran" in " ".join(capsys.readouterr().err.split())
    assert [e[:3] for e in record(reedling / "job.riglog")] == [e[:3] for e in whole]


def test_a_sheet_that_is_broken_under_way(reedling, monkeypatch, capsys):
    sheet = reedling / "sheet.yaml"
    text = sheet.read_text()
    turns = iter([lambda: sheet.write_text("{"), lambda: sheet.write_text(text)])
    line = Answers._line

    def asked(source, question, key):
        if "times" in question or "mend that" in question:
            next(turns, lambda: None)()
        return line(source, question, key)

    monkeypatch.setattr(Answers, "_line", asked)
    at = ANSWERS.index("5") + 1
    assert lead(reedling, [*ANSWERS[:at], "", "", "", *ANSWERS[at:]]) in (0, 130)
    shown = capsys.readouterr().err
    assert "mend that and press Enter" in shown
    assert "cycled" in [k for k, *_ in record(reedling / "job.riglog")]


def test_the_sheet_of_another_aircraft_is_no_way_to_go_on(reedling, monkeypatch, capsys):
    sheet = reedling / "sheet.yaml"
    Meanwhile(monkeypatch, "steady", lambda: sheet.write_text(sheet.read_text().replace("Reedling two-seater", "Gull")))
    assert lead(reedling, ANSWERS[:6]) == 130
    assert "is the sheet of Gull now" in " ".join(capsys.readouterr().err.split())


def test_conditions_of_another_time_of_the_day_are_asked_for_again(reedling, monkeypatch, capsys):
    at = ANSWERS.index("18 18 18")
    assert lead(reedling, ANSWERS[:at], on=None) == 130
    monkeypatch.setattr("rigging.jobs.session_log.CONDITIONS_HOLD", -1.0)
    # state on Enter, then the new temperature
    assert lead(reedling, ["", "60F", "", "09:00"], on=None) == 130
    conditions = [p["given"] for k, _, _, p in record(reedling / "job.riglog") if k == "conditions"]
    assert [c["structure"] for c in conditions] == ["54F", "60F"]
    assert conditions[1]["state"] == conditions[0]["state"]
    assert "temperature has moved since" in " ".join(capsys.readouterr().err.split())


# the file of answers, and how it is begun


@pytest.mark.parametrize(
    ("args", "code", "words"),
    [
        (("--script", "nowhere.txt", "--who", WHO), 3, "is not there"),
        (("--script", "reedling", "--who", WHO), 3, "is a folder"),
        (("--script", "bytes.txt", "--who", WHO), 3, "UTF-8"),
        (("--script", "answers.txt"), 2, "--who"),
        (("--who", WHO), 2, "run this at a terminal"),
        (("--script", "answers.txt", "--who", WHO, "--circuit", "flap"), 3, "no circuit 'flap'"),
        (("--script", "answers.txt", "--who", WHO, "--on", "soon"), 2, "not a date"),
    ],
)
def test_what_it_cannot_begin_with(reedling, rigging, args, code, words):
    folder = reedling.parent
    (folder / "answers.txt").write_text("")
    (folder / "bytes.txt").write_bytes(b"M\xf6we\n")
    ran = rigging("session", "reedling/sheet.yaml", *args, cwd=folder)
    assert (ran.code, ran.out) == (code, "")
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_a_session_of_other_circuits_under_way_says_how_to_end_it(reedling, rigging):
    assert lead(reedling, ANSWERS[:3]) == 130
    (reedling / "answers.txt").write_text("")
    how = ("--who", WHO, "--script", "answers.txt", "--log-at", "job.riglog", "--circuit", "rudder")
    ran = rigging("session", "sheet.yaml", *how, cwd=reedling)
    assert ran.code == 3
    assert "a session of elevator is under way (#3)" in ran.err
    withdrawn = rigging(
        "log", "add", "correction", "sheet.yaml", "--corrects", "3", "--reason", "wrong circuit", "--who", WHO,
        "--log-at", "job.riglog", cwd=reedling,
    )  # fmt: skip
    assert withdrawn.code == 0
    assert rigging("session", "sheet.yaml", *how, cwd=reedling).code == 1
    assert record(reedling / "job.riglog")[-1][3]["given"] == {"circuits": ["rudder"]}


# how it looks


def shown_until(at, answers):
    for answer in answers:
        at.question()
        at.type(answer)
    at.question()
    at.press(b"\x04")
    return at.end().out


@pytest.mark.slow
@pytest.mark.parametrize(
    ("how", "columns"),
    [
        ({}, 80),
        ({}, 60),
        ({}, 40),
        ({"TERM": "dumb"}, 80),
        ({"NO_COLOR": "1"}, 80),
        ({"PYTHONIOENCODING": "ascii"}, 80),
    ],
    ids=str,
)
def test_no_line_is_wider_than_the_terminal(reedling, terminal, how, columns):
    text = shown_until(at_terminal(terminal, reedling, columns=columns, **how), ANSWERS[:22])
    lines = text.replace("\x1b[1m", "").replace("\x1b[0m", "").splitlines()
    # what is typed is as long as it is
    assert max(len(line) for line in lines if not line.endswith(tuple(filter(None, ANSWERS[:22])))) <= columns
    assert "Traceback" not in text
    plain = how != {}
    assert ("\x1b" in text) == (not plain or "PYTHONIOENCODING" in how)
    assert ("█" in text) == ("TERM" not in how and "PYTHONIOENCODING" not in how)
    # limits 30..45 lbf and 16 F at 0.2680 lbf/F: 34.288 to 49.288; on the card dial 25 is 34.286, 26 is 35.7, 34 is 48.3 lbf
    assert "DIAL 26 TO 34" in text


def test_the_second_person_does_not_see_what_the_first_wrote(reedling, terminal):
    """A screen of 24 lines is pushed up before the second person's questions."""
    assert lead(reedling, ANSWERS[: ANSWERS.index("R. Tern") - 1]) == 130
    at = at_terminal(terminal, reedling)
    at.wait_for("the second person")
    before = at.shown.split("elevator: the second person")[0]
    assert before.count("\n") >= 24
    at.press(b"\x04")
    at.end()


def test_si(reedling, capsys):
    assert lead(reedling, ANSWERS, si=True) == 0
    shown = capsys.readouterr().err
    for line in shown.splitlines():
        # the steps and verdicts of tension; what was written in the log stands as it is there
        if "TODAY" in line or "then about" in line or ("tighten to" in line and "#" not in line):
            assert " N" in line and "lbf" not in line, line
