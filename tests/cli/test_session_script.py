"""A session by a file of answers: each behind the key of its question; what does not fit stops it. And the day it is of."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from rigging.cli.options import CLOCK
from rigging.cli.session import session
from rigging.errors import BadFile, Refusal, RiggingError
from rigging.log.contents import day_of, is_dated_back
from rigging.log.store import open_log

pytestmark = pytest.mark.dated
ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = (ROOT / "examples/reedling/session.txt").read_text(encoding="utf-8").splitlines()
WHO = "A. Finch"
STOPPED = "Stopped there; what was answered before is in the log"


@pytest.fixture
def folder(tmp_path):
    """A copy of the example aircraft."""
    shutil.copytree(ROOT / "examples/reedling", tmp_path / "r", ignore=shutil.ignore_patterns("*.riglog*"))
    return tmp_path / "r"


def lead(folder, lines, on=None, circuit=("elevator",)):
    (folder / "a.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return session(
        sheet=folder / "sheet.yaml", circuit=list(circuit), who=WHO, script=folder / "a.txt",
        log_at=str(folder / "job.riglog"), on=on, si=False,
    )  # fmt: skip


def entries(folder, but=("document", "answer")):
    with open_log(str(folder / "job.riglog"), CLOCK) as log:
        assert log.verify().intact
        return [e for e in log.entries() if e.kind not in but]


def at(words):
    """The index of the first line that begins like this."""
    return next(i for i, line in enumerate(EXAMPLE) if line.startswith(words))


def stopped(folder, lines, **how):
    """The one line with which a session stops, without the folder."""
    with pytest.raises(BadFile) as caught:
        lead(folder, lines, **how)
    [line] = str(caught.value).replace(f"{folder}/", "").splitlines()
    return line


def test_the_example_is_signed_on_the_day_that_it_gives(folder, capsys):
    assert lead(folder, EXAMPLE) == 0
    found = entries(folder)
    assert (found[0].kind, found[-1].kind) == ("session", "signature")
    assert {day_of(e) for e in found[:-1]} == {dt.date(2026, 11, 25)}
    assert not is_dated_back(found[-1])
    assert "all of it is written down as read and done on 2026-11-25" in " ".join(capsys.readouterr().err.split())


# what does not fit


def test_an_answer_to_another_question_stops_it(folder):
    """One answer is missing: the next line is for another question, and is not taken for this one."""
    where = at("elevator/condition/up/worn")
    said = stopped(folder, EXAMPLE[:where] + EXAMPLE[where + 1 :])
    assert said == (
        f"a.txt:{where + 1}: 'elevator/condition/up/internal_corrosion: no' does not answer the question '[worn] (like 10%)': "
        f"that line begins with 'elevator/condition/up/worn:'. {STOPPED}"
    )
    assert [e.kind for e in entries(folder)] == ["session", "conditions"]


@pytest.mark.parametrize(
    ("line", "question", "why"),
    [
        ("conditions/structure: 54", "structure (like 54F)", "54"),
        ("elevator/pins: perhaps", "done? (yes, skip, stop)", "yes, skip or stop"),
        ("elevator/reading/up/dial: 18,5 18 18", "dial (like 31 32 31)", "has a comma"),
        ("elevator/reading/up/dial:", "dial (like 31 32 31)", "an answer is needed here"),
        ("elevator/reading/up/dial: 900", "dial (like 31 32 31)", "dial 900 lies outside the card's points"),
        ("elevator/turn/half_turns: yes", "half turns [Enter: ", "a whole number is needed"),
        ("elevator/safetying/up/method: string", "method (locking wire, locking clips, other)", "is none of these"),
        ("elevator/inspection/second person: a.  finch", "name of the second person", "did the work on elevator"),
        ("elevator/direction/elevator/seen/stick back: upp", "stick back: which way does elevator go?", "no way of moving"),
        ("sign: perhaps", "sign as A. Finch? (yes, again, stop)", "yes, again or stop"),
        ("sign: skip", "sign as A. Finch? (yes, again, stop)", "cannot be left out"),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_stops_it(folder, line, question, why):
    where = at(line.partition(":")[0] + ":")
    said = stopped(folder, [*EXAMPLE[:where], line, *EXAMPLE[where + 1 :]])
    answer = line.partition(":")[2].strip()
    assert said.startswith(f"a.txt:{where + 1}: the answer '{answer}' does not fit the question '{question}")
    assert why in said and said.endswith(STOPPED)
    assert "signature" not in [e.kind for e in entries(folder)]


def test_a_line_that_stands_twice_is_as_if_typed_twice(folder):
    where = at("elevator/direction/elevator/seen/stick back")
    odd = "elevator/direction/elevator/seen/stick back: upp"
    # what the second person sees there says the same, so that only the first is asked again
    assert lead(folder, [*EXAMPLE[:where], odd, odd, *EXAMPLE[where + 1 : where + 2]]) == 1
    [seen] = [e for e in entries(folder) if e.kind == "direction"]
    assert seen.payload["given"]["seen"]["stick back"] == "upp"


def test_a_step_that_is_refused_as_a_whole_leaves_nothing_half_written(folder):
    where = at("elevator/turn/half_turns")
    said = stopped(folder, [*EXAMPLE[:where], "elevator/turn/half_turns: 0", *EXAMPLE[where + 1 :]])
    assert "half_turns is zero" in said and said.startswith(f"a.txt:{where + 2}: the answer '1.5 1.5' ")
    assert [e.kind for e in entries(folder)][-1] == "again"
    # the step begins anew, and the rest of the file goes on from there
    assert lead(folder, EXAMPLE[where - 1 :]) == 0


def test_where_the_file_ends_it_says_before_which_question(folder, capsys):
    where = at("elevator/reading/down")
    assert lead(folder, EXAMPLE[:where]) == 1
    last = capsys.readouterr().err.splitlines()[-1]
    assert "a.txt ends before the question 'dial (like 31 32 31)' (elevator/reading/down/dial): stopped" in last
    assert lead(folder, EXAMPLE[where:]) == 0


def test_what_is_left_over_keeps_it_from_being_signed(folder):
    said = stopped(folder, [*EXAMPLE, "elevator/friction/where: grip"])
    assert "'elevator/friction/where: grip' is left over where all is answered, and nothing was signed" in said
    assert [e.kind for e in entries(folder)][-1] == "inspection"
    assert lead(folder, ["sign: yes"]) == 0


def test_the_same_file_once_more_says_what_to_leave_out(folder):
    assert lead(folder, EXAMPLE[: at("elevator/pins:")]) == 1
    said = stopped(folder, EXAMPLE)
    assert (
        "'done? (yes, skip, stop)': that line begins with 'elevator/pins:'; leave out what the session under way has"
        in said
    )


def test_a_file_of_bare_answers_is_refused_before_anything_is_written(folder):
    said = stopped(folder, ["on its wheels", "54F", "55F"])
    assert said == "a.txt:1: 'on its wheels' names no question: write it like conditions/structure: 54F"
    assert not (folder / "job.riglog").exists()


def test_left_out_with_its_reason_and_taken_up_again(folder, capsys):
    first, last = at("elevator/friction/pull_one"), at("elevator/friction/where")
    answers = EXAMPLE[first : last + 1]
    left_out = ["elevator/friction/pull_one: skip", "elevator/friction/left out: no scale"]
    lines = [*EXAMPLE[:first], *left_out, *EXAMPLE[last + 1 :], "sign: again", *answers, "sign: yes"]
    assert lead(folder, lines) == 0
    assert "not signed: 1 item is open" in capsys.readouterr().err


def test_help_names_the_key_of_a_question(folder, capsys):
    assert lead(folder, ["conditions/state: ?", "conditions/state: on its wheels"]) == 1
    assert "in a file of answers this one is 'conditions/state: ...'" in capsys.readouterr().err


# the day that it is of


BEFORE = "2026-11-20"


@pytest.mark.parametrize(
    "lines", [EXAMPLE, [line for line in EXAMPLE if not line.startswith("on:")]], ids=["file", "option"]
)
def test_a_session_of_a_past_day_can_be_finished_and_signed(folder, lines):
    on = None if any(line.startswith("on:") for line in lines) else BEFORE
    assert lead(folder, lines, on=on) == 0
    days = {day_of(e).isoformat() for e in entries(folder, but=("document", "signature"))}
    assert days == {on or "2026-11-25"}
    [check, _] = [e for e in entries(folder) if e.kind == "check"]
    assert check.payload["given"]["on"] == (on or "2026-11-25")


def test_it_goes_on_with_the_day_it_began_with(folder):
    plain = [line for line in EXAMPLE if not line.startswith("on:")]
    where = plain.index(EXAMPLE[at("elevator/pins:")])
    assert lead(folder, plain[:where], on=BEFORE) == 1
    with pytest.raises(Refusal, match=f"the session under way is of {BEFORE}, --on says 2026-11-21: leave --on out"):
        lead(folder, plain[where:], on="2026-11-21")
    assert lead(folder, plain[where:]) == 0
    assert {day_of(e).isoformat() for e in entries(folder)[:-1]} == {BEFORE}


def test_a_session_without_a_day_is_of_the_days_on_which_it_is_written(folder):
    plain = [line for line in EXAMPLE if not line.startswith("on:")]
    assert lead(folder, plain[: plain.index(EXAMPLE[at("elevator/pins:")])]) == 1
    with pytest.raises(Refusal, match="the session under way holds what was done on"):
        lead(folder, plain, on=BEFORE)
    assert not any(is_dated_back(e) for e in entries(folder))


def test_what_it_cannot_begin_with(folder):
    tomorrow = CLOCK.today() + dt.timedelta(days=2)
    with pytest.raises(Refusal, match="has not come, today is"):
        lead(folder, EXAMPLE, on=tomorrow.isoformat())
    with pytest.raises(Refusal, match="has not come, today is"):
        lead(folder, [f"on: {tomorrow}", *EXAMPLE[at("conditions/") :]])
    with pytest.raises(RiggingError, match=r"--on says 2026-11-24, .*a.txt says 2026-11-25: keep the right one"):
        lead(folder, EXAMPLE, on="2026-11-24")
    assert stopped(folder, ["on: soon"]) == "a.txt:1: 'soon' is not a date: write it like 2026-11-25"
    assert not (folder / "job.riglog").exists() or entries(folder) == []


def test_a_session_of_a_day_before_a_turn_is_refused_at_its_start(folder, rigging):
    ran = rigging(
        "log", "add", "adjustment", "sheet.yaml", "--circuit", "elevator", "--turnbuckle", "up", "--half-turns", "2",
        "--threads-showing", "2 2", "--on", "2026-11-26", "--who", WHO, "--log-at", "job.riglog", cwd=folder,
    )  # fmt: skip
    assert ran.code == 0
    with pytest.raises(
        Refusal, match=r"2026-11-25 lies before the turnbuckle of up was turned .* could close nothing of"
    ):
        lead(folder, EXAMPLE)
    assert [e.kind for e in entries(folder)] == ["adjustment"]


def test_a_second_signature_is_left_over(folder):
    assert EXAMPLE[-1] == "sign: yes"
    said = stopped(folder, [*EXAMPLE, "sign: yes"])
    assert said.startswith(f"a.txt:{len(EXAMPLE) + 1}: 'sign: yes' is left over where all is answered")
    assert entries(folder)[-1].kind != "signature"


def test_a_temperature_that_no_limits_hold_at_stops_it_where_it_is_typed(folder):
    where = at("conditions/structure")
    lines = [*EXAMPLE[:where], "conditions/structure: 300F", *EXAMPLE[where + 1 :]]
    said = stopped(folder, lines)
    assert "structure temperature 300 F lies outside -65 to 160 F" in said
    assert "conditions" not in [e.kind for e in entries(folder)]
