"""A guided session as a function of the log: which step is next, what comes again, what each reading rests on.

The order expected is that of the bench (condition, pins and neutral, tension, turns, cycling, reading again, travel,
stops, friction and direction, safetying, second person, signature), typed here by hand. The Dabchick's card reads
pounds on its dial, its limits are 30 to 50 lbf at 70 F.
"""

from __future__ import annotations

import datetime as dt

import msgspec
import pytest

from rigging.cli.questions import questions
from rigging.errors import Refusal
from rigging.jobs.check import check
from rigging.jobs.entering import enter
from rigging.jobs.recorded_check import record_check
from rigging.jobs.session import (
    begun,
    conditions_too_old,
    do_again,
    keep_answer,
    next_step,
    session_readings,
    steady_since,
    withdraw_fallen,
)
from rigging.jobs.sign import StillOpen, sign
from rigging.jobs.under_way import ends
from rigging.log.kinds import KINDS
from rigging.report import as_json as view
from rigging.told import shown

pytestmark = pytest.mark.dated

DAY = dt.date(2026, 11, 25)
RIGGER, SECOND = "A. Finch", "R. Tern"
GOOD = {
    "conditions": {"state": "on its wheels", "structure": "70F", "steady_since": "07:30"},
    "condition": {"broken_wires": 0, "worn": "0%", "internal_corrosion": False},
    "proof-load": {"certificate": "C-4471"},
    "pins": {},
    "neutral": {"offset": "0.1 deg", "uncertainty": "0.3 deg"},
    "reading": {"dial": ["40", "40", "40"]},
    "cycled": {"times": 5},
    "travel": {"ways": {"left": "24 deg", "right": "24 deg"}, "uncertainty": "0.5 deg"},
    "stops": {"touches_first": {"left": "surface", "right": "surface"}},
    "friction": {"pull_one": "4 lbf", "pull_other": "2 lbf", "uncertainty": "0.4 lbf"},
    "direction": {"seen": {"left pedal": "left", "right pedal": "right"}},
    "safetying": {"method": "locking clips", "threads_showing": [2, 2], "safe": True},
    "inspection": {
        "secured": {"left": True, "right": True},
        "free_over_full_travel": True,
        "tools_removed": True,
    },
}
FIRST_PART = [
    "conditions", "rudder/condition/left", "rudder/condition/right", "rudder/pins", "rudder/neutral/rudder",
    "rudder/reading/left/", "rudder/reading/right/", "rudder/check",
]  # fmt: skip
AFTER_A_TURN = [
    "rudder/cycle",
    "rudder/neutral/rudder",
    "rudder/reading/left/",
    "rudder/reading/right/",
    "rudder/check",
]
SECOND_PART = [
    "rudder/pins out", "rudder/travel/rudder", "rudder/stops/rudder", "rudder/direction/rudder", "rudder/friction",
    "rudder/safetying/left", "rudder/safetying/right", "rudder/inspection", "sign",
]  # fmt: skip


class Led:
    """A session on a book, led without a terminal."""

    def __init__(self, book, circuits=("rudder",), who=RIGGER):
        self.book, self.who = book, who
        self.add("session", {"circuits": list(circuits)}, circuit="")

    @property
    def entries(self):
        return list(self.book.log.entries())

    @property
    def step(self):
        return next_step(self.book.rig, self.entries)

    def add(self, kind, given, who=None, circuit="rudder"):
        return enter(self.book.log, self.book.rig, kind, circuit, given, who or self.who, "here")

    def do(self, **given):
        """Answer the next step, with what is usual where nothing else is given; returns the step."""
        step = self.step
        if step.kind == "check":
            withdraw_fallen(self.book.log, self.book.rig, self.entries, step.circuit, self.who)
            readings = session_readings(self.entries, step.circuit)
            result = check(self.book.rig, readings, DAY)
            record_check(self.book.log, self.book.rig, result, readings, view.check, self.who, None, None, "", "")
            return step
        who = SECOND if step.kind == "inspection" else self.who
        usual = dict(GOOD.get(step.kind, {}))
        if step.kind == "inspection":
            surfaces = self.book.rig.file.circuits[step.circuit].surfaces
            usual["seen"] = dict.fromkeys(surfaces, GOOD["direction"]["seen"])
        self.add(step.kind, {**step.given, **usual, **given}, who, step.circuit)
        return step

    def skip(self, reason="no time"):
        step = self.step
        self.add("skipped", {"step": step.key, "reason": reason}, circuit="")
        return step

    def until(self, key, **given):
        """Go on until a step is next; returns the keys of those that were done."""
        keys = []
        while (step := self.step).key != key:
            assert len(keys) < 80, keys
            keys.append(step.key)
            self.do(**given.get(step.kind, {}))
        return keys

    def turned(self, key="rudder/turn"):
        """Every turn that is planned, given as planned."""
        turns = []
        while (step := self.step).key == key:
            assert step.suggested, step
            turns.append(step)
            self.do(**step.suggested, threads_showing=[2, 2])
        return turns


@pytest.fixture
def led(book):
    return Led(book)


def test_the_order_where_the_tension_is_in_limits(led):
    assert led.until("sign") == [*FIRST_PART, *SECOND_PART[:-1]]
    entry = sign(led.book.log, led.book.rig, RIGGER)
    assert entry.payload["given"]["circuits"] == ["rudder"]
    assert begun(led.entries) is None
    with pytest.raises(Refusal, match="no session is under way"):
        _ = led.step


def test_the_order_where_it_must_be_turned(led):
    keys = led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    assert keys == FIRST_PART
    turns = led.turned()
    assert [t.kind for t in turns] == ["adjustment"] * len(turns)
    # 18 lbf are missing to the middle: everything is given before the controls are moved
    assert all(t.suggested["half_turns"] > 0 for t in turns)
    assert turns[0].title == f"Turn: step 1 of {len(turns)}"
    assert turns[-1].title == f"Turn: step {len(turns)} of {len(turns)}"
    assert led.until("sign") == [*AFTER_A_TURN, *SECOND_PART[:-1]]
    assert sign(led.book.log, led.book.rig, RIGGER)


def test_a_turn_that_is_not_the_planned_one_ends_the_plan(led):
    led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    step = led.step
    other = "right" if step.suggested["turnbuckle"] == "left" else "left"
    led.do(turnbuckle=other, half_turns=-1, threads_showing=[2, 2])
    assert led.step.key == "rudder/cycle"


def test_the_rest_of_a_plan_can_be_left_out(led):
    led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    led.do(**led.step.suggested, threads_showing=[2, 2])
    if led.step.key == "rudder/turn":
        led.skip()
    assert led.step.key == "rudder/cycle"


def test_a_turn_logged_by_someone_else_brings_all_of_it_back(led):
    led.until("rudder/friction")
    led.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]}, who="B. Ruff")
    # the pins are out by now: they go in again, and out
    assert led.until("sign") == ["rudder/pins", *AFTER_A_TURN, *SECOND_PART[:-1]]


def test_a_new_cable_is_looked_at_and_proof_loaded(led):
    led.until("rudder/travel/rudder")
    led.add("cable-fitted", {"cable": "right", "assembly": "R-114", "batch": "W1"})
    assert led.until("rudder/neutral/rudder")[:3] == [
        "rudder/condition/right",
        "rudder/proof-load/right",
        "rudder/pins",
    ]


def test_a_proof_load_that_is_missing_is_taken_up_at_the_end(led):
    led.until("rudder/travel/rudder")
    led.add("cable-fitted", {"cable": "right", "assembly": "R-114", "batch": "W1"})
    led.until("rudder/proof-load/right")
    # 60 % of 2000 lbf for 3 minutes
    assert "pull it to 1200 lbf at least" in led.step.why[-1]
    led.do(certificate="", proof_load="600 lbf", proof_time="30 s", gauge="L-9")
    led.until("sign")
    assert led.book.open() == {"proof-load of right"}
    assert led.step.again == ("rudder/proof-load/right",)
    do_again(led.book.log, led.book.rig, led.step.again, "pulled again", RIGGER)
    led.do(certificate="", proof_load="1200 lbf", proof_time="3 min", gauge="L-9")
    assert led.step.key == "sign"
    assert led.book.open() == set()


def test_a_cable_that_its_maker_proof_loaded_is_asked_for_no_load(led):
    asked = ("certificate", "proof_load", "proof_time", "gauge")
    for given, paths in (({}, asked), ({"certificate": "C-4471"}, ("certificate",))):
        found = questions(KINDS["proof-load"], asked, {"cable": "left", **given}, led.book.rig, "rudder")
        assert tuple(q.path[0] for q in found) == paths


def test_one_begins_and_another_goes_on(book):
    led = Led(book)
    led.until("rudder/reading/left/")
    led.who = "B. Ruff"
    led.until("sign")
    assert {e.who for e in led.entries} == {RIGGER, "B. Ruff", SECOND}
    inspected = next(i for i, e in enumerate(led.entries) if e.kind == "inspection")
    step = next_step(led.book.rig, led.entries[:inspected])
    # whoever secured or moved something cannot inspect it
    assert (step.key, step.not_by) == ("rudder/inspection", ("B. Ruff",))


def test_answers_of_an_unfinished_step_are_taken_up(led):
    led.until("rudder/travel/rudder")
    keep_answer(led.book.log, led.book.rig, led.step, ("ways", "left"), "24 deg", RIGGER)
    step = led.step
    assert (step.key, step.answered) == ("rudder/travel/rudder", {("ways", "left"): "24 deg"})
    keep_answer(led.book.log, led.book.rig, step, ("instrument",), None, RIGGER)
    assert led.step.answered == {("ways", "left"): "24 deg", ("instrument",): None}
    led.do()
    led.add("correction", {"corrects": led.entries[-1].sequence, "reason": "misread"}, circuit="")
    # the answers belonged to the entry that was taken back
    assert led.step.key == "rudder/travel/rudder"


def test_answers_are_no_part_of_what_is_open_or_signed(led):
    led.until("rudder/travel/rudder")
    before = led.book.open()
    keep_answer(led.book.log, led.book.rig, led.step, ("ways", "left"), "3 deg", RIGGER)
    assert led.book.open() == before


def test_a_change_voids_answers_from_before_it(led):
    led.until("rudder/travel/rudder")
    keep_answer(led.book.log, led.book.rig, led.step, ("ways", "left"), "24 deg", RIGGER)
    led.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    led.until("rudder/travel/rudder")
    assert led.step.answered == {}


def test_a_step_asked_for_anew_comes_without_its_answers(led):
    led.until("rudder/travel/rudder")
    keep_answer(led.book.log, led.book.rig, led.step, ("ways", "left"), "24 deg", RIGGER)
    do_again(led.book.log, led.book.rig, [led.step.key], "wrong end", RIGGER)
    assert led.step.answered == {}
    led.until("sign")
    do_again(led.book.log, led.book.rig, ["rudder/friction", "rudder/stops/rudder"], "doubt", RIGGER)
    assert led.until("sign") == ["rudder/stops/rudder", "rudder/friction"]


def test_a_step_left_out_stays_open_and_can_be_taken_up_at_the_end(led):
    led.until("rudder/travel/rudder", reading={"dial": ["40"]})
    led.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    led.until("rudder/travel/rudder")
    led.skip()
    led.until("sign")
    assert led.book.open() == {"travel of rudder"}
    assert led.step.again == ("rudder/travel/rudder",)
    do_again(led.book.log, led.book.rig, led.step.again, "there is time now", RIGGER)
    assert led.until("sign") == ["rudder/travel/rudder"]
    assert led.book.open() == set()


@pytest.mark.parametrize(
    "key", ["rudder/condition/left", "rudder/neutral/rudder", *(k for k in SECOND_PART[:-1] if k != "rudder/safetying/right")]
)  # fmt: skip
def test_every_step_left_out_comes_again_at_the_end(led, key):
    """A turn of the left turnbuckle opens all but the safetying of the right; 'again' takes up what was left out."""
    led.until("rudder/check", reading={"dial": ["22", "22", "22"]})
    led.until("rudder/turn")
    led.turned()
    led.until("rudder/cycle")
    if key == "rudder/condition/left":
        led.add("condition", {"part": "left", "fairlead_bend": "9 deg"})
    else:
        led.until(key)
        led.skip()
    led.until("sign")
    again = led.step.again
    assert key in again
    do_again(led.book.log, led.book.rig, again, "there is time now", RIGGER)
    assert led.until("sign")[0] == key
    assert [i.label for i in led.book.status().open if i.what != "session"] == []


def test_what_no_step_asks_for_is_not_offered_again(led):
    led.until("rudder/friction")
    led.add("condition", {"part": "horn", "flange_damaged": True})
    led.until("sign")
    assert "condition of horn" in led.book.open()
    assert led.step.again == ()


def test_what_is_out_can_be_measured_again_at_the_end(led):
    led.until("sign", travel={"ways": {"left": "19 deg", "right": "24 deg"}})
    assert led.step.again == ("rudder/travel/rudder",)
    do_again(led.book.log, led.book.rig, led.step.again, "stop screw set", RIGGER)
    assert led.until("sign") == ["rudder/travel/rudder"]
    assert led.step.again == ()


def test_a_turn_left_out_leaves_the_tension_open(led):
    led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    led.skip()
    assert led.until("sign") == SECOND_PART[:-1]
    assert led.book.open() == {"tension of left", "tension of right"}
    assert led.step.again == ("rudder/reading/left/", "rudder/reading/right/")


def test_a_corrected_reading_is_judged_again_and_not_asked_for_again(led):
    led.until("rudder/check", reading={"dial": ["22", "22", "22"]})
    led.do()
    assert led.step.key == "rudder/turn"
    wrong = [e.sequence for e in led.entries if e.kind == "reading"]
    for sequence in wrong:
        entry = led.book.log.entry(sequence)
        instead = {**entry.payload["given"], "dial": ["40", "40", "40"]}
        led.add("correction", {"corrects": sequence, "reason": "misread", "instead": instead}, circuit="")
    assert led.until("rudder/pins out") == ["rudder/check"]
    assert led.book.open() == {"pins"}  # they are still in


def test_a_reading_from_before_a_turn_stays_one_when_it_is_corrected_after_it(led):
    led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    wrong = next(e for e in led.entries if e.kind == "reading")
    led.turned()
    led.add(
        "correction",
        {"corrects": wrong.sequence, "reason": "misread", "instead": {**wrong.payload["given"], "dial": ["23"]}},
        circuit="",
    )
    assert led.until("rudder/pins out") == AFTER_A_TURN


def test_a_reading_withdrawn_is_asked_for_again(led):
    led.until("rudder/pins out")
    read = next(e for e in led.entries if e.kind == "reading")
    led.add("correction", {"corrects": read.sequence, "reason": "wrong cable"}, circuit="")
    assert led.until("rudder/pins out") == ["rudder/reading/left/", "rudder/check"]


def test_a_turn_withdrawn_keeps_what_it_opened(led):
    led.until("rudder/travel/rudder")
    entry = led.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    led.add("correction", {"corrects": entry.sequence, "reason": "it was not turned"}, circuit="")
    assert led.step.key == "rudder/pins"


def test_each_reading_rests_on_the_conditions_it_was_read_under(led):
    led.until("rudder/reading/right/")
    do_again(led.book.log, led.book.rig, ["conditions"], "next day", RIGGER)
    assert led.step.suggested == {"state": "on its wheels"}
    led.do(structure="80F")
    led.do()
    found = session_readings(led.entries, "rudder")
    assert {(r.run, r.structure_degF) for r in found} == {("left", 70.0), ("right", 80.0)}
    assert steady_since(led.entries) == "07:30"


def test_corrected_conditions_hold_for_what_was_read_under_them(led):
    led.until("rudder/pins out")
    about = next(e for e in led.entries if e.kind == "conditions")
    instead = {**about.payload["given"], "structure": "60F"}
    led.add("correction", {"corrects": about.sequence, "reason": "misread", "instead": instead}, circuit="")
    assert led.step.key == "rudder/check"
    assert {r.structure_degF for r in session_readings(led.entries, "rudder")} == {60.0}


def test_conditions_know_their_age(led):
    clock = led.book.log.clock
    assert conditions_too_old(led.entries, clock, None) == ""
    led.do()
    led.book.wait(3.9)
    assert conditions_too_old(led.entries, clock, None) == ""
    led.book.wait(1.1)
    assert conditions_too_old(led.entries, clock, None).startswith("the conditions were written 5.0 h ago: ")


def test_the_big_figures_are_the_limits_that_the_check_judges_by(led):
    led.do(structure="54F", air="70F")
    step = led.until("rudder/reading/left/") and led.step
    led.until("rudder/turn", reading={"dial": ["50", "50", "50"]})
    judged = next(e for e in led.entries if e.kind == "check").payload["judged"]["runs"][0]
    assert step.big[-1] == f"{judged['low_lbf']:.1f} TO {judged['high_lbf']:.1f} lbf TODAY"
    # the card reads pounds: whole divisions inside 19.6 to 39.6, 30 to 50 less 16 F at 0.648 lbf/F
    assert step.figure == "20 - 39"


def test_si_shows_newton(led):
    led.until("rudder/reading/left/")
    assert shown(next_step(led.book.rig, led.entries).big[-1], si=True) == "133 TO 222 N TODAY"  # 30 and 50 lbf


def test_readings_that_contradict_each_other_give_no_plan_and_can_be_taken_again(led):
    led.until("rudder/reading/left/")
    led.do(dial=["28", "28", "28"])
    led.do(dial=["52", "52", "52"])
    led.do()
    step = led.step
    assert (step.key, step.suggested) == ("rudder/turn", {})
    assert any("contradict each other" in why for why in step.why)
    do_again(led.book.log, led.book.rig, step.again, "read again", RIGGER)
    assert led.until("rudder/pins out") == ["rudder/reading/left/", "rudder/reading/right/", "rudder/check"]


def test_a_neutral_that_is_out_is_turned_for_also_where_the_tension_is_in(led):
    led.until("rudder/turn", neutral={"offset": "3 deg"})
    assert any("neutral is out" in why for why in led.step.why)
    assert {t.suggested["turnbuckle"] for t in led.turned()} == {"left", "right"}


def other(dabchick, folder, *changes):
    sheet = dabchick.SHEET
    for old, new in changes:
        assert old in sheet, old
        sheet = sheet.replace(old, new)
    return dabchick.Book(folder, sheet=sheet)


TURNBUCKLE = "turnbuckle: {thread: 1/4-28, threads_showing: [2, 2]},"


def test_no_turnbuckle(dabchick, tmp_path):
    led = Led(other(dabchick, tmp_path, (TURNBUCKLE, "")))
    led.until("rudder/turn", reading={"dial": ["22", "22", "22"]})
    assert (led.step.kind, led.step.title) == ("", "rudder: nothing to turn")
    led.skip()
    assert led.until("rudder/inspection") == ["rudder/pins out", *SECOND_PART[1:5]]


def test_threads_used_up_are_no_plan(led):
    """2 and 2 threads show and 3 may: a plan may loosen a turnbuckle by two half turns, and each at most that."""
    led.until("rudder/turn", reading={"dial": ["60", "60", "60"]})
    turns = led.turned()
    assert sum(t.suggested["half_turns"] for t in turns) < 0
    led.until("rudder/turn", reading={"dial": ["60", "60", "60"]})
    # 3 and 3 by now: nothing is left to loosen
    for name in ("left", "right"):
        entry = led.add("adjustment", {"turnbuckle": name, "half_turns": -1, "threads_showing": [3, 3]})
    assert entry.payload["judged"]["verdict"] == "recorded"
    led.until("rudder/turn", reading={"dial": ["60", "60", "60"]})
    assert led.step.suggested == {}
    assert any("remake" in why.lower() for why in led.step.why), led.step.why


def test_no_surfaces(dabchick, tmp_path):
    start, end = dabchick.SHEET.index("    surfaces:"), dabchick.SHEET.index("    cables:")
    led = Led(dabchick.Book(tmp_path, sheet=dabchick.SHEET[:start] + dabchick.SHEET[end:]))
    keys = led.until("sign")
    assert keys == [k for k in [*FIRST_PART, *SECOND_PART[:-1]] if not k.endswith("/rudder")]


@pytest.mark.parametrize(
    ("line", "lacking"),
    [
        (
            "        travel: {left: 22..26 deg, right: 22..26 deg}\n",
            {"travel": "its 'travel'", "stops": "its 'travel'"},
        ),
        ("        moves: {left pedal: left, right pedal: right}\n", {"direction": "how it must move ('moves')"}),
    ],
)
def test_what_the_sheet_does_not_say_is_told_and_not_asked_for(dabchick, tmp_path, line, lacking):
    led = Led(other(dabchick, tmp_path, (line, "")))
    for what, words in lacking.items():
        led.until(f"rudder/{what}/rudder")
        assert (led.step.kind, led.step.why) == (
            "",
            (f"the sheet does not give {words}: add it there, with its source, and press Enter",),
        )
        led.skip()
    led.until("rudder/friction")


def test_a_bridle_comes_after_the_main_circuit(dabchick, tmp_path):
    bridle = "    bridle: {name: servo bridle, limits: 12..16 lbf @ 70F, source: sheet 9}\n    surfaces:\n"
    led = Led(other(dabchick, tmp_path, ("    surfaces:\n", bridle)))
    given = {"tension": "14 lbf", "uncertainty": "0.5 lbf", "structure": "70F", "instrument": "K-7"}
    keys = led.until("sign", bridle=given)
    assert keys.index("rudder/bridle") == keys.index("rudder/friction") + 1
    assert led.book.open() == set()


def two_circuits(dabchick, folder):
    start = dabchick.SHEET.index("  rudder:")
    yaw = (
        dabchick.SHEET[start:].replace("  rudder:\n", "  yaw trim:\n", 1).replace("      rudder:\n", "      yaw tab:\n")
    )
    return Led(dabchick.Book(folder, sheet=dabchick.SHEET + yaw), ["rudder", "yaw trim"])


def test_several_circuits_are_rigged_before_the_first_is_finished(dabchick, tmp_path):
    led = two_circuits(dabchick, tmp_path)
    keys = led.until("sign")
    rigged = [
        *FIRST_PART,
        *(k.replace("rudder/", "yaw trim/", 1).replace("/rudder", "/yaw tab") for k in FIRST_PART[1:]),
    ]
    assert keys[: len(rigged)] == rigged
    assert keys[-2:] == ["rudder/inspection", "yaw trim/inspection"]
    assert keys.index("yaw trim/pins out") > keys.index("rudder/safetying/right")


def test_two_risers_and_two_cards(dabchick, tmp_path):
    second = dabchick.CARD.replace("K-7", "K-8") + "  - {riser: 2, cable: 1/8, points: [[5, 20], [45, 60]]}\n"
    (tmp_path / "second.yaml").write_text(second)
    led = Led(other(dabchick, tmp_path, ("[card.yaml]", "[card.yaml, second.yaml]")))
    led.until("rudder/reading/left/", reading={})
    step = led.step
    assert step.ask == ("tensiometer", "riser", "dial")
    assert step.given == {"run": "left", "station": ""}
    # riser 2 of K-8 reads 15 less than the pounds
    assert step.big[:3] == (
        "K-7, RISER 1: DIAL 30 TO 50, AIM FOR 40", "K-8, RISER 1: DIAL 30 TO 50, AIM FOR 40",
        "K-8, RISER 2: DIAL 15 TO 35, AIM FOR 25",
    )  # fmt: skip
    assert step.figure == ""  # no one figure is right for all


@pytest.mark.parametrize(
    "given", [{"dial": ["61"]}, {"tensiometer": "K-9"}, {"riser": 3}, {"dial": []}, {"dial": ["31 lbf"]}], ids=str
)
def test_a_reading_that_cannot_be_is_not_written(led, given):
    led.until("rudder/reading/left/")
    before = len(led.entries)
    with pytest.raises(Exception, match=r"card|riser|dial|tensiometer") as refused:
        led.do(**given)
    assert refused.value.exit_code == 3
    assert len(led.entries) == before
    assert led.step.key == "rudder/reading/left/"


def test_a_session_is_ended_by_its_own_signature_also_where_a_circuit_has_no_entry(dabchick, tmp_path):
    led = two_circuits(dabchick, tmp_path)
    while (step := led.step).key != "sign":
        led.skip("not today") if step.circuit == "yaw trim" else led.do()
    session = begun(led.entries)
    sign(led.book.log, led.book.rig, RIGGER, ends(session.sequence))
    assert begun(led.entries) is None


def test_nobody_signs_what_a_session_has_only_begun(dabchick, tmp_path):
    led = two_circuits(dabchick, tmp_path)
    led.until("rudder/pins")
    with pytest.raises(StillOpen) as refused:
        sign(led.book.log, led.book.rig, "B. Ruff")
    assert "is not finished: go on with it" in refused.value.status.open[0].why
    assert begun(led.entries) is not None
    assert led.step.key == "rudder/pins"


def test_a_session_can_be_withdrawn(led):
    session = begun(led.entries)
    led.add("correction", {"corrects": session.sequence, "reason": "wrong circuit"}, circuit="")
    assert begun(led.entries) is None


def test_a_rise_that_nobody_logged_asks_for_the_neutral_again(led):
    """Cables never gain tension by themselves: 36 lbf yesterday, 44 today, and no turn in the log."""
    book = led.book
    session = begun(led.entries)
    led.add("correction", {"corrects": session.sequence, "reason": "begun too early"}, circuit="")
    book.check(left=36, right=36)
    led = Led(book)
    led.until("rudder/pins out", reading={"dial": ["44", "44", "44"]})
    done = [e.kind for e in led.entries if e.sequence > begun(led.entries).sequence]
    assert done.count("neutral") == 2
    assert done.count("reading") == 2
    led.until("sign")
    assert book.open() == set()


def test_the_circuit_that_a_sheet_no_longer_has_is_passed_over(led, dabchick):
    led.until("rudder/friction")
    file = msgspec.structs.replace(led.book.rig.file, circuits={})
    rig = msgspec.structs.replace(led.book.rig, file=file, runs=())
    assert next_step(rig, led.entries).key == "sign"
