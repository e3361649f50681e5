"""What the record gathers from a log, on an aircraft invented for the tests."""

import copy
import datetime as dt
import html
import json
import re

import pytest

from rigging.jobs.sign import sign
from rigging.judge.limits import RIGID
from rigging.log.entry import Draft
from rigging.report.html.page import page
from rigging.report.record_data import record as as_data

pytestmark = pytest.mark.dated


def circuit(record, name="rudder"):
    return next(c for c in record.circuits if c.name == name)


def test_every_reading_is_there_as_it_was_typed(job):
    job.read("40.5", "41.0", "54F")
    job.read(39, 38)
    found = circuit(job.record()).readings
    assert [(r.run, r.typed, r.tensiometers, r.risers, r.day) for r in found] == [
        ("left", ("40.5",) * 3, ("K-7",), (1,), "2026-11-02"),
        ("right", ("41.0",) * 3, ("K-7",), (1,), "2026-11-02"),
        ("left", ("39",) * 3, ("K-7",), (1,), "2026-11-02"),
        ("right", ("38",) * 3, ("K-7",), (1,), "2026-11-02"),
    ]
    assert found[1].dials == (41.0,) * 3
    # the card of the test is the identity: dial 40.5 is 40.5 lbf
    assert found[0].tension_lbf == pytest.approx(40.5)
    assert (found[0].temperature_degF, found[0].steady_since) == (54.0, "since 07:30")
    assert (found[0].states, found[0].notes) == (("on wheels",), ("wiped",))


def test_the_latest_reading_of_a_cable_is_that_of_the_last_check_that_stands(job):
    job.read(40, 40)
    wrong = job.read(20, 20)
    job.add("correction", {"corrects": wrong.sequence, "reason": "riser not seated"}, circuit="")
    rudder = circuit(job.record())
    assert [r.tension_lbf for r in rudder.cables[0].latest] == pytest.approx([40.0])
    gone = [r for r in rudder.readings if not r.stands]
    assert {r.sequence for r in gone} == {wrong.sequence}
    assert gone[0].corrected.reason == "riser not seated"
    assert gone[0].corrected.withdrawn


def test_limits_stay_those_of_the_day_when_the_sheet_changes(job):
    job.read(40, 40)
    path = job.folder / "sheet.yaml"
    path.write_text(path.read_text().replace("30..50 lbf", "20..25 lbf"))
    job.again()
    record = job.record()
    cable = circuit(record).cables[0]
    assert (cable.low_lbf, cable.high_lbf) == (20.0, 25.0)
    assert (cable.latest[0].low_lbf, cable.latest[0].high_lbf, cable.latest[0].verdict) == (30.0, 50.0, "in")
    assert not record.sheet_is_kept


def test_a_structure_taken_as_rigid_is_said_once(job):
    # both circuits have days to draw, and the rudder was read below its reference
    job.read(40, 40, "54F")
    found = job.record()
    assert " ".join(html.unescape(page(found)).split()).count(RIGID) == 1
    assert as_data(found)["assumptions"] == (RIGID,)
    path = job.folder / "sheet.yaml"
    path.write_text(path.read_text().replace("size: 1/8,", "size: 1/8, give: 0.0005 in/lbf,"))
    job.again()
    found = job.record()
    # what was judged before rests on what it rested on then
    assert as_data(found)["assumptions"] == ()
    assert RIGID in html.unescape(page(found))


def test_turns_are_counted_as_they_stand(job):
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 3, "threads_showing": [2, 2]})
    wrong = job.add("adjustment", {"turnbuckle": "left", "half_turns": 4, "threads_showing": [1, 1]})
    instead = {"turnbuckle": "left", "half_turns": -1, "threads_showing": [3, 3]}
    job.add("correction", {"corrects": wrong.sequence, "reason": "loosened", "instead": instead}, circuit="")
    record = job.record()
    left, right = circuit(record).turnbuckles
    assert left.half_turns == 3 - 1
    assert left.threads_showing == (3, 3)
    assert (right.half_turns, right.threads_showing, right.threads_entry) == (0, (2, 2), None)
    [beside] = record.corrections
    assert beside.wrong.typed["half_turns"] == 4
    assert beside.instead.typed["half_turns"] == -1
    assert beside.instead.instead_of == wrong.sequence


def test_a_correction_that_is_taken_back_does_not_bring_the_entry_back(job):
    wrong = job.add("adjustment", {"turnbuckle": "left", "half_turns": 4, "threads_showing": [2, 2]})
    instead = {"turnbuckle": "left", "half_turns": 2, "threads_showing": [2, 2]}
    first = job.add("correction", {"corrects": wrong.sequence, "reason": "two", "instead": instead}, circuit="")
    job.add("correction", {"corrects": first.sequence, "reason": "not that either"}, circuit="")
    record = job.record()
    assert circuit(record).turnbuckles[0].half_turns == 0
    assert record.corrected[wrong.sequence].withdrawn


def test_the_direction_sheet_has_both_people_and_tells_what_is_reversed(job):
    job.add("direction", {"surface": "rudder", "seen": {"left pedal": "right", "right pedal": "RIGHT"}})
    job.inspect()
    left, right = circuit(job.record()).directions
    assert (left.input, left.expected, left.first.way, left.first.matches) == ("left pedal", "left", "right", False)
    assert right.first.matches
    assert (left.second.way, left.second.who, left.second.matches, left.second.alone) == (
        "left",
        "R. Tern",
        True,
        False,
    )
    assert not left.first.is_old
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    [left, _] = circuit(job.record()).directions
    assert left.first.is_old
    assert left.second.is_old


def test_someone_alone_stands_out_until_it_is_taken_back(job):
    alone = job.inspect("A. Finch", alone=True, reason="nobody at the field", pause="12 h")
    [found] = job.record().alone
    assert (found.sequence, found.typed["reason"]) == (alone.sequence, "nobody at the field")
    job.add("correction", {"corrects": alone.sequence, "reason": "second person came"}, circuit="")
    assert job.record().alone == ()


def test_a_signature_tells_what_closed_it_and_what_came_after(job):
    job.read(40, 40)
    sign(job.log, job.rig, "R. Tern", "all well")
    [signed] = job.record().signatures
    assert (signed.who, signed.circuits, signed.remark, signed.later) == ("R. Tern", ("rudder",), "all well", ())
    assert {label for label, _, _ in signed.closed_by} >= {"rudder: tension of left", "rudder: tension of right"}
    assert {who for _, _, who in signed.closed_by} == {"A. Finch"}
    job.add("condition", {"part": "left", "worn": "5%"})
    assert job.record().signatures[0].later == ("rudder",)


def test_only_what_the_chain_proves_makes_the_record(job):
    first = job.read(40, 40)
    second = job.read(20, 20)
    job.add("note", {"text": "later"}, circuit="")
    job.break_at(second.sequence)
    record = job.record()
    assert record.broken
    assert record.found
    assert (record.chain.entries, record.chain.first_bad_entry) == (second.sequence - 1, second.sequence)
    assert {r.sequence for r in circuit(record).readings} == {first.sequence}
    assert [e.sequence for e in record.unproven] == [second.sequence, second.sequence + 1]
    assert record.whole == ()


def test_a_damaged_store_is_told_though_every_entry_is_whole(job, monkeypatch):
    job.read(40, 40)
    monkeypatch.setattr(type(job.log._backend), "inspect", lambda *_: "is damaged (row 3 missing from index)")
    record = job.record()
    assert record.chain.intact
    assert "row 3 missing from index" in record.store_fault
    assert record.broken
    assert len(circuit(record).readings) == 2


def test_a_circuit_that_the_sheet_lost_keeps_its_pages(job):
    job.read(15, 15, circuit="trim")
    path = job.folder / "sheet.yaml"
    path.write_text(path.read_text().split("  trim:")[0])
    job.again()
    lost = circuit(job.record(), "trim")
    assert not lost.in_sheet
    assert len(lost.readings) == 2
    assert lost.envelope is None


def test_settling_is_told_from_the_checks_and_the_turns_between(job):
    job.whole_job()
    found = circuit(job.record()).settling
    assert [(s.run, s.checks) for s in found] == [("left", 5), ("right", 5)]
    for s in found:
        assert s.reason == ""
        # two half turns stand, not the four that were corrected
        assert [(t.cable, t.half_turns) for t in s.settled.story.turns] == [("left", 2)]
        assert s.settled.story.points[0].tension_lbf == pytest.approx(36.0)
        assert s.settled.story.points[-1].elapsed == pytest.approx(433.7, abs=1.0)  # 3 + 30 + 200 + 200 h and minutes


def test_a_dial_read_again_at_once_is_one_look_and_no_settling(job):
    job.read(40, 40)
    job.wait(30)
    job.read(25, 39)  # misread, and read again a few minutes later
    job.read(39, 39)
    job.wait(200)
    job.read(38, 38)
    found = circuit(job.record()).settling
    assert [(s.run, s.checks) for s in found] == [("left", 3), ("right", 3)]
    assert [p.tension_lbf for p in found[0].settled.story.points] == pytest.approx([40.0, 39.0, 38.0])
    assert not job.record().unsettled


def test_what_is_no_settling_stands_on_the_first_page(job):
    job.read(40, 40)
    for hours, left in ((50, 39), (50, 39), (50, 38), (50, 20)):
        job.wait(hours)
        job.read(left, 39)
    found = job.record()
    assert [(name, s.run) for name, s in found.unsettled] == [("rudder", "left")] and found.found
    html = page(found)
    front = html[: html.index('id="latest"')]
    assert "NOT SETTLING" in front and "drop that settling does not explain" in front


def test_settling_begins_anew_with_a_new_cable(job):
    job.read(36, 36)
    job.wait(24)
    job.read(35, 35)
    fitted = job.add("cable-fitted", {"cable": "left", "assembly": "R-7", "batch": "W22"})
    assert circuit(job.record()).settling == ()
    job.read(36, 36)
    job.wait(24)
    job.read(35, 35)
    assert {(s.run, s.checks, s.since) for s in circuit(job.record()).settling} == {
        ("left", 2, fitted.sequence), ("right", 2, fitted.sequence),
    }  # fmt: skip


def test_a_reading_written_down_on_a_later_day_counts_on_its_own(job):
    job.read(36, 36, day=dt.date(2026, 10, 1))
    job.read(35, 35, day=dt.date(2026, 10, 11))
    [left, _] = circuit(job.record()).settling
    assert left.settled.story.points[-1].elapsed == pytest.approx(240.0)
    assert any("read on 2026-10-01, and written down later" in note for note in left.notes)


def test_a_story_typed_in_late_is_told_by_the_days_it_is_of(job):
    """In any order in which it is written down: read on the 1st, turned on the 2nd, read on the 2nd and on the 12th."""
    first, second, last = (dt.date(2026, 10, day) for day in (1, 2, 12))
    job.read(40, 40, day=last)
    job.read(36, 36, day=first)
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]}, on=second)
    job.read(41, 41, day=second)
    [left, _] = circuit(job.record()).settling
    assert [round(p.elapsed) for p in left.settled.story.points] == [0, 24, 264]


def test_readings_out_of_the_order_of_the_turns_get_no_forecast(job):
    job.read(36, 36)
    job.wait(6)
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    # taken as read at noon, and the turn before it was given in the afternoon
    job.wait(48)
    job.read(35, 35, day=dt.date(2026, 11, 2))
    for s in circuit(job.record()).settling:
        assert s.settled is None
        assert "not in the order of the turns" in s.reason


def test_a_card_that_is_another_by_now_is_not_read_again(job):
    job.read(36, 36)
    job.wait(24)
    job.read(35, 35)
    card = job.folder / "card.yaml"
    card.write_text(card.read_text().replace("[[10, 10], [60, 60]]", "[[10, 20], [60, 120]]"))
    job.again()
    [left, _] = circuit(job.record()).settling
    assert [p.tension_lbf for p in left.settled.story.points] == pytest.approx([36.0, 35.0])
    assert "a tension is given as a figure: no card stands behind it" in left.settled.gaps


def test_the_seasons_go_from_what_was_read_and_else_from_the_target(job):
    job.read(44, 44)
    record = job.record()
    rudder, trim = circuit(record).envelope, circuit(record, "trim").envelope
    assert rudder.as_read
    assert [r.rigged_lbf for r in rudder.circuit.runs] == pytest.approx([44.0, 44.0])
    assert not trim.as_read
    assert [r.rigged_lbf for r in trim.circuit.runs] == pytest.approx([15.0, 15.0])  # middle of 10..20


def test_a_sheet_without_days_says_so_in_place_of_a_picture(job):
    path = job.folder / "sheet.yaml"
    path.write_text(path.read_text().replace("temperatures: {coldest: 0F, hottest: 110F}\n", ""))
    job.again()
    job.read(40, 40)
    found = job.record()
    assert "coldest and hottest day" in found.circuits[0].envelope.reason
    assert str(job.folder) not in found.circuits[0].envelope.reason
    assert "No picture: " in page(found)


def test_everything_run_again_stands_and_a_forged_verdict_falls(job):
    job.whole_job()
    assert job.record(recomputed=True).fallen == ()
    assert job.record().recomputed is None
    honest = job.read(20, 20)
    forged = copy.deepcopy(honest.payload)
    forged["judged"]["runs"][0]["verdict"] = "in"
    draft = Draft("A. Finch", "check", job.rig.aircraft, "", forged)
    [entry] = job.log.append([draft], program=honest.program, tables=honest.tables)
    record = job.record(recomputed=True)
    assert [r.sequence for r in record.fallen] == [entry.sequence]
    assert record.found


def test_the_record_as_json_holds_the_same(job):
    job.whole_job()
    record = job.record()
    data = json.loads(json.dumps(as_data(record), default=str))
    rudder = data["circuits"][0]
    assert len(rudder["readings"]) == 10
    assert rudder["readings"][0]["tension_lbf"] == pytest.approx(36.0)
    assert rudder["settling"][0]["answer"]["readings"] == 5
    assert data["log"]["head_hash"] == record.chain.head_hash
    assert rudder["written"]["travel"][0]["given"]["ways"] == {"left": "24 deg", "right": "24 deg"}


def test_a_spring_that_the_readings_contradict_stands_in_the_record(job):
    """Both cables read alike, so a spring at the horn would have to pull nothing, and by the sheet it pulls 12 lbf."""
    path = job.folder / "sheet.yaml"
    spring = "    springs: {centring: {from: horn +, rate: 5 lbf/in, pull: 12 lbf}}\n"
    path.write_text(path.read_text().replace("    hold: [pedals]\n", "    hold: [pedals]\n" + spring))
    job.again()
    entry = job.read(40, 40)
    found = job.record()
    ((sequence, words),) = circuit(found).drag
    assert sequence == entry.sequence
    assert "spring centring and the readings disagree: at horn left reads 40.0, right reads 40.0" in words
    assert "by the sheet it pulls 12.0 lbf" in words
    assert as_data(found)["circuits"][0]["drag"] == [{"sequence": sequence, "words": words}]
    assert "spring centring and the readings disagree" in page(found)
    assert "drag" in job.open()


def test_the_page_shows_the_wire_of_each_turnbuckle_and_the_proof_load_of_a_new_cable(job):
    job.add("cable-fitted", {"cable": "left", "assembly": "R-7", "batch": "W22", "certificate": "C-4471"})
    job.add("proof-load", {"cable": "left", "proof_load": "1200 lbf", "proof_time": "4 min", "gauge": "L-09"})
    wire = {"wire_diameter": "0.041 in", "wire_material": "stainless", "wrap": "double"}
    job.add(
        "safetying", {"turnbuckle": "left", "method": "locking wire", **wire, "threads_showing": [2, 2], "safe": True}
    )
    made = page(job.record())
    words = " ".join(html.unescape(re.sub("<[^>]+>", "", made)).split())
    # beside the turnbuckle, and in the list of what was secured
    assert words.count("locking wire, double stainless of 0.041 in") == 2
    assert "maker's certificate C-4471" in words
    assert "<h3>Proof loads</h3>" in made and "for 4 min, gauge L-09" in words


def test_what_is_overdue_goes_by_the_clock_that_is_handed_in(tmp_path, new_job, dabchick):
    programme = "\nprogramme:\n  - {task: tension of the rudder, every_months: 12, source: notes}\n"
    job = new_job(tmp_path, dabchick.SHEET + programme)
    job.add("task-done", {"task": "tension of the rudder"}, circuit="")
    [due] = job.record().status.programme
    assert (due.on, due.overdue) == (dt.date(2027, 11, 2), False)
    job.now = dt.datetime(2027, 11, 3, 9, tzinfo=dt.UTC)
    [due] = job.record().status.programme
    assert due.overdue and due.words.startswith("OVERDUE since 2027-11-02")
    job.log.close()
