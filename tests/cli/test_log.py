"""The log on the command line: a whole job, mistyped words, and what a stranger does with the files."""

import csv
import datetime as dt
import hashlib
import io
import json
import sqlite3

import pytest

from rigging.clock import Clock
from rigging.log.entry import Draft
from rigging.log.store import open_log

DAY = "2026-11-25"
CANNOT_SHOW = (
    "This cannot show that the newest entries were cut off or that the whole file was rewritten: compare count and seal "
    "with a printed record."
)


@pytest.fixture
def place(tmp_path, dabchick):
    (tmp_path / "card.yaml").write_text(dabchick.CARD)
    (tmp_path / "sheet.yaml").write_text(dabchick.SHEET)
    rows = [("left", 40), ("right", 40)]
    readings = "circuit,run,riser,dial,structure\n" + "".join(f"rudder,{r},1,{d},70F\n" for r, d in rows for _ in "123")
    (tmp_path / "readings.csv").write_text(readings)
    return tmp_path


@pytest.fixture
def do(rigging, place):
    """Run a command in the folder of the sheet, by A. Finch unless someone else is named."""

    def run(*words, who="A. Finch", stdin=""):
        return rigging(*words, cwd=place, stdin=stdin, RIGGING_WHO=who)

    return run


def add(do, kind, *flags, who="A. Finch", code=0):
    ran = do("log", "add", kind, "sheet.yaml", "--on", DAY, "--circuit", "rudder", *flags, who=who)
    assert ran.code == code, ran.err
    return ran


def whole_job(do, but=()):
    add(do, "adjustment", "--turnbuckle", "left", "--half-turns", "2", "--threads-showing", "2 2")
    assert do("check", "sheet.yaml", "readings.csv", "--on", DAY, "--log").code == 0
    each = {
        "travel": ["--surface", "rudder", "--ways", "left=24 deg", "--ways=right=24 deg", "--uncertainty", "0.5 deg"],
        "neutral": ["--surface", "rudder", "--offset", "-0.1 deg", "--uncertainty", "0.3deg"],
        "stops": ["--surface=rudder", "--touches-first", "left=surface", "--touches-first", "right=surface"],
        "friction": ["--pull-one", "4 lbf", "--pull-other", "2 lbf", "--uncertainty", "0.4 lbf"],
        "direction": ["--surface", "rudder", "--seen", "left pedal=left", "--seen", "right pedal=right"],
        "safetying": ["--turnbuckle", "left", "--method", "locking clips", "--threads-showing", "2,2", "--safe", "yes"],
    }
    for kind, flags in each.items():
        if kind not in but:
            add(do, kind, *flags)


def inspect(do, dabchick, place, who="R. Tern"):
    (place / "seen.json").write_text(json.dumps(dabchick.INSPECTED))
    of_day = ("--on", DAY, "--circuit", "rudder")
    return do("log", "add", "inspection", "sheet.yaml", *of_day, "--from", "seen.json", who=who)


@pytest.mark.dated
def test_a_job_from_the_first_turn_to_the_signature(do, dabchick, place):
    whole_job(do)
    assert do("sign", "sheet.yaml").code == 1
    assert inspect(do, dabchick, place).code == 0
    assert do("status", "sheet.yaml").code == 0
    signed = do("sign", "sheet.yaml")
    assert signed.code == 0
    assert "signed: #" in signed.err
    assert "no release to service" in signed.err
    verified = do("log", "verify", "sheet.yaml", "--json")
    assert verified.code == 0
    assert verified.json["intact"] is True
    assert verified.json["entries"] == 13  # sheet, card and readings, nine entries, a signature
    assert verified.json["first_bad_entry"] is None
    assert len(verified.json["head_hash"]) == 64


@pytest.mark.dated
def test_tension_adjusted_and_direction_not_looked_at_cannot_be_signed(do, dabchick, place):
    whole_job(do, but={"direction"})
    assert inspect(do, dabchick, place).code == 0
    refused = do("sign", "sheet.yaml")
    assert refused.code == 1
    assert "direction of rudder: not looked at since the turnbuckle of left was turned 2 half turns (#3)" in " ".join(
        refused.out.split()
    )
    assert refused.err.strip() == "not signed: 1 item is open on Dabchick"
    as_json = do("sign", "sheet.yaml", "--json").json
    assert as_json["signed"] is False
    assert [(i["what"], i["of"], i["who"]) for i in as_json["open"]] == [("direction", "rudder", "whoever rigs")]


def test_the_message_says_for_whom(do):
    whole_job(do)
    refused = do("sign", "sheet.yaml")
    assert "for a second person, not A. Finch" in " ".join(refused.out.split())


def test_the_same_person_is_no_second_person(do, dabchick, place):
    whole_job(do)
    ran = inspect(do, dabchick, place, who="A. Finch")
    assert ran.code == 3
    assert "A. Finch did the work on rudder" in ran.err


def test_a_finding_is_written_and_gives_exit_code_1(do):
    ran = add(
        do, "direction", "--surface", "rudder", "--seen", "left pedal=right", "--seen", "right pedal=left", code=1
    )
    assert "REVERSED" in ran.err
    assert do("status", "sheet.yaml").code == 1


def test_show_recomputes(do):
    whole_job(do)
    lines = do("log", "list", "sheet.yaml", "--json").json
    number = next(line["sequence"] for line in lines if line["kind"] == "check")
    ran = do("log", "show", "sheet.yaml", number, "--recompute")
    assert ran.code == 0
    assert "the verdict stands" in ran.out
    assert do("log", "show", "sheet.yaml", number, "--recompute", "--json").json["recomputed"]["stands"] is True
    assert do("log", "show", "sheet.yaml", "999").code == 3


def test_what_a_log_cannot_show_of_itself_is_said_where_it_is_verified(do, place):
    """Whoever writes the whole file anew, hashes and all, or leaves the newest entries out, gets an intact one: by
    SHA-256 of the hash before and the record, computed here and not by the program."""
    add(do, "adjustment", "--turnbuckle", "left", "--half-turns", "2", "--threads-showing", "2 2")
    assert do("log", "export", "sheet.yaml", "-o", "true.jsonl").code == 0
    header, *lines = [json.loads(line) for line in (place / "true.jsonl").read_text().splitlines()]
    before = "0" * 64
    for line in lines:
        line["record"] = line["record"].replace("A. Finch", "R. Tern")
        line["previous_hash"] = before
        before = line["hash"] = hashlib.sha256((before + line["record"]).encode()).hexdigest()
    for name, kept in (("forged", lines), ("cut", lines[:-1])):
        top = {**header, "entries": len(kept), "head_hash": kept[-1]["hash"]}
        (place / f"{name}.jsonl").write_text("".join(json.dumps(line) + "\n" for line in (top, *kept)))
        assert do("log", "import", f"{name}.riglog", f"{name}.jsonl").code == 0
        ran = do("log", "verify", f"{name}.riglog")
        assert ran.code == 0 and "intact" in ran.out and "nobody" not in ran.out
        said = " ".join(ran.out.split())
        assert said.endswith(f"log seal {kept[-1]['hash']} {CANNOT_SHOW}")
        assert do("log", "verify", f"{name}.riglog", "--json").json["cannot_show"] == CANNOT_SHOW
    assert CANNOT_SHOW in " ".join(do("log", "verify", "--help").out.split())
    # beside the count and the seal of a printed record it shows
    printed = do("report", "sheet.yaml", "-o", "record.html").err
    assert f"log seal {do('log', 'verify', 'sheet.yaml', '--json').json['head_hash']}" in printed
    assert f"log seal {before}" not in printed
    page = (place / "record.html").read_text()
    assert "cannot show that its newest entries were cut off or that all of it was rewritten" in page


def test_what_is_exported_can_be_taken_elsewhere_and_verified(do, place):
    whole_job(do)
    out = do("log", "export", "sheet.yaml", "-o", "job.jsonl")
    assert out.code == 0
    again = do("log", "export", "sheet.yaml", "-o", "job.jsonl")
    assert again.code == 2
    assert "exists" in again.err
    assert do("log", "import", "copy.riglog", "job.jsonl").code == 0
    first = do("log", "verify", "sheet.yaml", "--json").json
    assert do("log", "verify", "copy.riglog", "--json").json == first
    text = (place / "job.jsonl").read_text()
    (place / "job.jsonl").write_text(text.replace("24 deg", "25 deg"))
    refused = do("log", "import", "other.riglog", "job.jsonl")
    assert refused.code == 3
    assert "job.jsonl:" in refused.err
    assert not (place / "other.riglog").exists() or do("log", "verify", "other.riglog", "--json").json["entries"] == 0


def test_export_to_a_pipe_is_data_alone(do):
    whole_job(do)
    ran = do("log", "export", "sheet.yaml")
    rows = [json.loads(line) for line in ran.out.splitlines()]
    assert rows[0]["entries"] == len(rows) - 1
    assert do("log", "export", "sheet.yaml", "--csv").out.splitlines()[0].startswith("sequence,time_utc,who")


@pytest.mark.parametrize("name", ["=cmd|' /C calc'!A0", "+1", "-1", "@x", "\t=1"])
def test_names_that_a_spreadsheet_would_run_are_made_harmless(do, name):
    assert do("log", "add", "note", "sheet.yaml", "--text", name, who=f"x {name}").code == 0
    rows = list(csv.reader(io.StringIO(do("log", "export", "sheet.yaml", "--csv").out)))
    assert any(name.strip() in cell for row in rows for cell in row)
    assert not any(cell.strip().startswith(("=", "+", "-", "@")) for row in rows for cell in row)


@pytest.mark.parametrize(
    "text",
    ['O\'Brien "the ear"', "<script>alert(1)</script>", "line\nbreak", "'; DROP TABLE entries; --", "=1+1", "鳥 🪶"],
)
def test_words_come_back_as_they_were_written(do, text):
    assert do("log", "add", "note", "sheet.yaml", "--text", text).code == 0
    newest = do("log", "list", "sheet.yaml", "--kind", "note", "--json").json[-1]
    entry = do("log", "show", "sheet.yaml", newest["sequence"], "--json").json
    assert entry["given"] == {"text": text}
    assert do("log", "verify", "sheet.yaml").code == 0


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["log", "add", "adjustmnt", "sheet.yaml"], 2, "did you mean 'adjustment'"),
        (["log", "add", "adjustment", "sheet.yaml"], 2, "belongs to a circuit"),
        (["log", "add", "note", "sheet.yaml"], 3, "'text' is missing"),
        (["log", "add", "note", "sheet.yaml", "--txt", "x"], 2, "did you mean '--text'"),
        (["log", "add", "note", "sheet.yaml", "--text"], 2, "--text needs a value"),
        (["log", "add", "note", "sheet.yaml", "--text", "a", "--text", "b"], 2, "stands twice"),
        (["log", "add", "note", "sheet.yaml", "x"], 2, "'x' is not a flag of note"),
        (
            ["log", "add", "travel", "sheet.yaml", "--circuit", "rudder", "--surface", "rudder", "--ways", "24"],
            2,
            "name=value",
        ),
        (["log", "add", "travel", "sheet.yaml", "--circuit", "ruder"], 3, "did you mean 'rudder'"),
        (["log", "add", "note", "sheet.yaml", "--from", "nothing.json"], 3, "nothing.json"),
        (["log", "add", "note", "sheet.yaml", "--from", "card.yaml"], 3, "no JSON object"),
        (["log", "verify", "sheet.yaml"], 3, "no log there yet"),
        (["log", "list", "nowhere.riglog"], 3, "nowhere.riglog"),
        (["log", "import", "new.riglog", "readings.csv"], 3, "readings.csv"),
        (["status", "sheet.yaml"], 3, "no log there yet"),
        (["sign", "sheet.yaml"], 3, "no log there yet"),
    ],
)
def test_a_mistyped_word_gets_one_line(do, place, words, code, message):
    ran = do(*words)
    assert ran.code == code
    assert message in ran.err
    assert len(ran.err.strip().splitlines()) == 1
    assert not (place / "sheet.riglog").exists() or do("log", "verify", "sheet.yaml", "--json").json["entries"] == 0


def test_nobody_writes_without_a_name(rigging, place):
    ran = rigging("log", "add", "note", "sheet.yaml", "--text", "x", cwd=place)
    assert ran.code == 2
    assert "--who" in ran.err


def test_a_note_of_10_mb_is_refused(do, place):
    (place / "long.json").write_text(json.dumps({"text": "x" * 10_000_000}))
    ran = do("log", "add", "note", "sheet.yaml", "--from", "long.json")
    assert ran.code == 3
    assert len(ran.err.strip().splitlines()) == 1
    piped = do("log", "add", "note", "sheet.yaml", "--from", "-", stdin=json.dumps({"text": "x" * 10_000_000}))
    assert piped.code == 3
    assert len(piped.err.strip().splitlines()) == 1


def test_a_broken_chain_is_a_finding(do, place):
    add(do, "friction", "--pull-one", "4 lbf", "--pull-other", "2 lbf", "--uncertainty", "0.4 lbf")
    with sqlite3.connect(place / "sheet.riglog") as raw:
        for (name,) in list(raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")):
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("UPDATE entries SET record = replace(record, '4 lbf', '3 lbf')")
    ran = do("log", "verify", "sheet.yaml")
    assert ran.code == 1
    assert "BROKEN at entry" in ran.out


def test_kinds_tells_every_field(shared):
    kinds = shared("log", "kinds", "--json").json
    assert {"adjustment", "travel", "direction", "inspection", "correction"} <= {k["kind"] for k in kinds}
    assert all(k["means"] and k["fields"] for k in kinds)
    assert (
        "half turns" in shared("log", "kinds", "adjustment").out
        or "--half-turns" in shared("log", "kinds", "adjustment").out
    )


def test_a_log_may_lie_elsewhere(do, place):
    assert do("log", "add", "note", "sheet.yaml", "--text", "x", "--log-at", "shop.riglog").code == 0
    assert (place / "shop.riglog").exists()
    assert not (place / "sheet.riglog").exists()
    text = (place / "sheet.yaml").read_text()
    (place / "sheet.yaml").write_text(text + "log: shop.riglog\n")
    assert do("log", "list", "sheet.yaml", "--json").json[-1]["words"] == "text x"


def test_a_log_that_cannot_be_written_is_told_before_anything_is_asked(do, place):
    (place / "sheet.riglog").mkdir()
    ran = do("check", "sheet.yaml", "readings.csv", "--on", DAY, "--log")
    assert ran.code == 3
    assert ran.out == ""
    assert "sheet.riglog" in ran.err
    assert len(ran.err.strip().splitlines()) == 1


@pytest.mark.dated
def test_a_hangar_of_aircraft_in_one_look(do, place, dabchick):
    whole_job(do, but={"direction"})
    second = dabchick.SHEET.replace("name: Dabchick", "name: Grebe")
    (place / "second.yaml").write_text(second)
    assert do("log", "add", "note", "second.yaml", "--text", "in for its annual").code == 0
    both = do("status", "sheet.yaml", "second.yaml", "--json")
    assert both.code == 1
    assert [s["aircraft"] for s in both.json] == ["Dabchick", "Grebe"]
    assert [len(s["open"]) for s in both.json] == [2, 0]
    rows = do("status", "sheet.yaml", "second.yaml", "--csv").out.splitlines()
    assert len(rows) == 3


def test_two_aircraft_in_one_log_do_not_mix(do, place, dabchick):
    (place / "second.yaml").write_text(dabchick.SHEET.replace("name: Dabchick", "name: Grebe"))
    for sheet in ("sheet.yaml", "second.yaml"):
        text = (place / sheet).read_text()
        (place / sheet).write_text(text + "log: shop.riglog\n")
    add(do, "adjustment", "--turnbuckle", "left", "--half-turns", "2", "--threads-showing", "2 2")
    assert do("log", "add", "note", "second.yaml", "--text", "x").code == 0
    assert do("status", "sheet.yaml").code == 1
    assert do("status", "second.yaml").code == 0


def test_a_note_cannot_steer_the_terminal(do):
    assert do("log", "add", "note", "sheet.yaml", "--text", "fine \x1b[2J\x1b[H all well").code == 0
    newest = do("log", "list", "sheet.yaml", "--json").json[-1]["sequence"]
    for ran in (do("log", "list", "sheet.yaml"), do("log", "show", "sheet.yaml", newest)):
        assert "\x1b" not in ran.out
        assert "[U+001B]" in "".join(ran.out.split())


@pytest.mark.parametrize("kind", ["session", "answer", "again", "skipped"])
def test_what_a_session_writes_nobody_writes_by_hand(do, kind):
    ran = do("log", "add", kind, "sheet.yaml")
    assert (ran.code, ran.out) == (3, "") and "are written by 'rigging session' as it goes" in ran.err


@pytest.mark.dated
def test_a_wrong_clock_closes_a_log_only_until_someone_says_so(do, place):
    """The clock stood two days ahead when the first entry was written, and nobody can set that entry back."""
    ahead = dt.datetime.now(dt.UTC) + dt.timedelta(days=2)
    draft = Draft("A. Finch", "note", "Dabchick", "", {"given": {"text": "begun"}})
    with open_log(str(place / "sheet.riglog"), Clock(lambda: ahead), create=True) as log:
        log.append([draft], program="1", tables={})
    note = ("log", "add", "note", "sheet.yaml", "--text", "the clock of entry 1 stood two days ahead")
    refused = do(*note)
    assert refused.code == 3 and "set the clock first" in refused.err and "--clock-is-right" in refused.err
    assert do(*note, "--clock-is-right").code == 0
    assert do("log", "add", "note", "sheet.yaml", "--text", "and now it goes on").code == 0
    assert do("log", "verify", "sheet.yaml").code == 0


def test_only_a_note_can_say_that_a_clock_was_wrong(do):
    ran = do("log", "add", "pins", "sheet.yaml", "--circuit", "rudder", "--inserted", "yes", "--clock-is-right")
    assert ran.code == 2 and "goes with a note" in ran.err


def test_an_export_that_fails_leaves_no_file(do, place):
    whole_job(do)
    raw = sqlite3.connect(place / "sheet.riglog")
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f'DROP TRIGGER "{name}"')
    raw.execute("UPDATE entries SET record = replace(record, 'A. Finch', 'A. Binch') WHERE sequence = 4")
    raw.commit()
    raw.close()
    ran = do("log", "export", "sheet.yaml", "-o", "copy.jsonl")
    assert ran.code == 3 and "entry 4" in ran.err and not (place / "copy.jsonl").exists()


@pytest.mark.dated
def test_what_was_written_on_another_day_is_shown_as_such(do):
    add(do, "pins", "--inserted", "no")
    assert do("log", "add", "note", "sheet.yaml", "--text", "x").code == 0
    *_, pins, note = do("log", "list", "sheet.yaml", "--json").json
    assert (pins["on"], pins["time_utc"][:10] > DAY) == (DAY, True)
    assert note["on"] != DAY
    assert f"of {DAY}, written " in do("log", "show", "sheet.yaml", pins["sequence"]).out
    assert ", written " not in do("log", "show", "sheet.yaml", note["sequence"]).out
    refused = do("log", "add", "note", "sheet.yaml", "--text", "x", "--on", "2999-01-01")
    assert refused.code == 3 and "2999-01-01 has not come, today is " in refused.err
