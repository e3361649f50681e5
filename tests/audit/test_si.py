"""With ``--si`` nothing is left in US units: every command that has the option, its refusals and its cautions too."""

from __future__ import annotations

import json
import re

import msgspec
import pytest
from runs import DAY, PLOVER_LINES, REEDLING, REFUSED, ROOT, WITHOUT_A_LOG, WITHOUT_A_TENSIOMETER, plover, run

from rigging.bands import parse_band
from rigging.cli.options import CLOCK
from rigging.log.kinds import KINDS
from rigging.report import hidden
from rigging.told import Told, as_text, as_typed, degF, inches, join, lbf, lbf_per_degF, quoting, shown, told

pytestmark = pytest.mark.slow

US = re.compile(r"\b(lbf|lb|lbs|psi|ft)\b|\d ?F\b|(?<![/\d.])\d+(\.\d+)? in\b(?! balance| the\b)")
# what is quoted from a printed source, and how a quantity may be written, stay as they are
QUOTED = re.compile(r"design weight up to 5000 lb|0\.283 lb/in3|[{][^}]*[}]|like [\w.]+F\b")
LINES = [line for line in (*WITHOUT_A_LOG, *WITHOUT_A_TENSIOMETER, *REFUSED) if not line.startswith("sheet")]


def left(text: str) -> list[str]:
    """The US quantities in a text, whose lines may be broken anywhere."""
    whole = QUOTED.sub("", " ".join(text.split()))
    return [whole[max(0, m.start() - 40) : m.end() + 10] for m in US.finditer(whole)]


@pytest.mark.parametrize("line", LINES)
def test_no_us_unit_is_left(line):
    ran = run(line, "--si")
    assert ran.code in (0, 1, 2, 3)
    assert ran.out or ran.err
    assert left(ran.out) == []
    assert left(ran.err) == []


@pytest.mark.parametrize("line", PLOVER_LINES)
def test_nor_where_everything_is_in_limits(line, tmp_path):
    ran = run(line, "--si", folder=plover(tmp_path))
    assert left(ran.out + ran.err) == []


def test_the_search_finds_what_is_there():
    # without --si all of these hold US units
    for line in LINES[:10]:
        ran = run(line)
        assert left(ran.out + ran.err), line


def test_every_command_with_the_option_is_run():
    have = {path.stem.replace("_", "-") for path in (ROOT / "rigging" / "cli").glob("*.py") if re.search(r"\bsi: Si\b", path.read_text(encoding="utf-8"))}  # fmt: skip
    # these need a log, and come below
    assert have - {"log", "session", "status"} == {line.split()[0] for line in LINES}


# sessions and records


PROGRAMME = ("reference_temperature: 70F", "reference_temperature: 70F\nprogramme: [{task: tension, every_months: 12}]")
WRITE = (
    f"check sheet.yaml away.csv --on {DAY} --log", f"check sheet.yaml slack.csv --on {DAY} --log",
    f"check sheet.yaml beyond.csv --on {DAY} --log",
    "log add note sheet.yaml --text 'new wire ordered'",
    "log add conditions sheet.yaml --state 'on its wheels' --structure 54F --air 55F --steady-since 'doors shut since 7:30'",
    "log add adjustment sheet.yaml --circuit rudder --turnbuckle left --half-turns 2 --threads-showing '4 4'",
    "log add cable-fitted sheet.yaml --circuit rudder --cable left --assembly R1 --batch B1 --proof-load '900 lbf' --proof-time '3 min' --gauge L9",
    "log add pins sheet.yaml --circuit rudder --inserted no", "log add cycled sheet.yaml --circuit rudder --times 5",
    "log add proof-load sheet.yaml --circuit rudder --cable left --proof-load '1200 lbf' --proof-time '1 min' --gauge L9",
    "log add travel sheet.yaml --circuit rudder --surface rudder --ways left=24deg --ways right=20deg",
    "log add neutral sheet.yaml --circuit rudder --surface rudder --offset 2deg",
    "log add stops sheet.yaml --circuit rudder --surface rudder --touches-first left=surface --cushion 'left=1/2 in'",
    "log add friction sheet.yaml --circuit rudder --pull-one '9 lbf' --pull-other '3 lbf'",
    "log add friction sheet.yaml --circuit rudder --pull-one '19 lbf' --pull-other '1 lbf' --uncertainty '0.5 lbf'",
    "log add direction sheet.yaml --circuit rudder --surface rudder --seen 'left pedal=left' --seen 'right pedal=right'",
    "log add safetying sheet.yaml --circuit rudder --turnbuckle left --method 'locking wire' --wire-diameter '1 mm' --wire-material stainless --wrap single --threads-showing '1 1' --safe no",
    "log add condition sheet.yaml --circuit rudder --part left --broken-wires 1 --broken-wire-to-fitting '0.5 in' --worn 50% --splice-to-bend '1 in'"
    " --reading-place '2 in' --fairlead-bend 5deg",
    "log add bridle sheet.yaml --circuit rudder --tension '25 lbf' --uncertainty '0.8 lbf' --structure 70F --instrument P-3",
    "log add bridle sheet.yaml --circuit rudder --tension '14 lbf' --uncertainty '0.8 lbf' --structure 40F --instrument P-3",
    "log add reading sheet.yaml --circuit rudder --run left --riser 1 --dial '55 56' --tensiometer P-3",
    "log add inspection sheet.yaml --circuit rudder --who 'R. Tern' --from seen.json",
    "log add task-done sheet.yaml --task tension",
    "log add correction sheet.yaml --from instead.json", "log add correction sheet.yaml --corrects 4 --reason 'wrong riser'",
)  # fmt: skip
"""An entry of every kind that is written by a command, judged in and out."""


BEGUN = """\
conditions/state: on its wheels
conditions/structure: 54F
conditions/air: 55F
conditions/steady_since: doors shut
rudder/condition/left/broken_wires: 0
rudder/condition/left/worn: again
rudder/condition/left/broken_wires: 0
rudder/condition/left/worn: 5%
rudder/condition/left/internal_corrosion: no
rudder/proof-load/left/certificate: skip
rudder/proof-load/left/left out: no papers yet
rudder/condition/right/broken_wires: skip
rudder/condition/right/left out: no light
"""
ALL_OF_A_JOB = """\
conditions/state: on its wheels
conditions/structure: 21C
conditions/air: 21C
conditions/steady_since: doors shut
rudder/condition/left/broken_wires: 0
rudder/condition/left/worn: 0%
rudder/condition/left/internal_corrosion: no
rudder/condition/right/broken_wires: 0
rudder/condition/right/worn: 0%
rudder/condition/right/internal_corrosion: no
rudder/pins: yes
rudder/neutral/rudder/offset: 0 deg
rudder/neutral/rudder/instrument: P-3
rudder/reading/left/dial: 20 20 20
rudder/reading/right/dial: 20 20 20
rudder/turn/turnbuckle: skip
rudder/turn/left out: no time
rudder/pins out: yes
rudder/travel/rudder/ways/left: 24 deg
rudder/travel/rudder/ways/right: 24 deg
rudder/travel/rudder/instrument: P-3
rudder/stops/rudder/touches_first/left: surface
rudder/stops/rudder/touches_first/right: surface
rudder/stops/rudder/cushion/left: 13 mm
rudder/stops/rudder/cushion/right: 13 mm
rudder/direction/rudder/seen/left pedal: left
rudder/direction/rudder/seen/right pedal: right
rudder/friction/pull_one: 90 N
rudder/friction/pull_other: 9 N
rudder/friction/where: grip
rudder/bridle/tension: 30 N
rudder/bridle/uncertainty: 3 N
rudder/bridle/structure: 21C
rudder/bridle/instrument: P-3
rudder/safetying/left/method: skip
rudder/safetying/left/left out: later
rudder/safetying/right/method: skip
rudder/safetying/right/left out: later
rudder/inspection/alone: skip
rudder/inspection/left out: later
sign: yes
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A log with an entry of every kind, two of them a session's that was begun, answered, begun anew and left."""
    folder = plover(tmp_path_factory.mktemp("plover"), PROGRAMME)
    for name, dial in (("slack", "20"), ("beyond", "95")):
        text = (folder / "away.csv").read_text(encoding="utf-8")
        (folder / f"{name}.csv").write_text(text.replace(",55,", f",{dial},", 2), encoding="utf-8")
    seen = {"seen": {"rudder": {"left pedal": "left", "right pedal": "right"}}, "secured": {"left": True, "right": True},
            "free_over_full_travel": True, "tools_removed": True}  # fmt: skip
    (folder / "seen.json").write_text(json.dumps(seen), encoding="utf-8")
    for line in WRITE[:-2]:
        ran = run(line if "--who" in line else f"{line} --who 'A. Finch'", folder=folder)
        assert "#" in ran.err and ran.code in (0, 1), (line, ran)
    entries = run("log list sheet.yaml --json", folder=folder).json
    friction = [e["sequence"] for e in entries if e["kind"] == "friction"][-1]
    instead = {
        "corrects": friction,
        "reason": "scale read upside down",
        "instead": {"pull_one": "18 lbf", "pull_other": "1 lbf"},
    }
    (folder / "instead.json").write_text(json.dumps(instead), encoding="utf-8")
    for line in WRITE[-2:]:
        assert run(f"{line} --who 'A. Finch'", folder=folder).code in (0, 1), line
    (folder / "begun.txt").write_text(BEGUN, encoding="utf-8")
    assert run("session sheet.yaml --who 'A. Finch' --script begun.txt", folder=folder).code == 1
    return folder


def numbers(folder, kind):
    return [e["sequence"] for e in run(f"log list sheet.yaml --kind {kind} --json", folder=folder).json]


@pytest.mark.parametrize("kind", [*KINDS, "check", "document"])
def test_a_shown_entry(book, kind):
    shown_entries = numbers(book, kind)
    assert shown_entries, f"no entry of the kind {kind} was written"
    for sequence in shown_entries:
        for more in ((), ("--recompute",)):
            ran = run(f"log show sheet.yaml {sequence} --si", *more, folder=book)
            assert ran.code == 0 or "no sum in it" in ran.err
            assert left(ran.out + ran.err) == [], ran.out


def test_a_shown_signature(tmp_path):
    copy(tmp_path)
    assert lead_elevator(tmp_path).code == 0
    last = run("log list sheet.yaml --kind signature --json", folder=tmp_path).json[-1]["sequence"]
    assert left(run(f"log show sheet.yaml {last} --si", folder=tmp_path).out) == []


def test_what_is_open_holds_both(tmp_path):
    """Tensions that rose with no turn logged, friction, a bridle: what a session shows where it cannot be signed."""
    from rigging.jobs.retold import status_retold
    from rigging.jobs.standing import standing
    from rigging.log.store import open_log
    from rigging.sheet.load import load_rig

    folder = plover(tmp_path)
    slack = (folder / "away.csv").read_text(encoding="utf-8").replace(",55,", ",20,")
    (folder / "slack.csv").write_text(slack, encoding="utf-8")
    for line in (WRITE[1], WRITE[0], *(w for w in WRITE if "add bridle" in w or "add friction" in w)):
        run(f"{line} --who 'A. Finch'", folder=folder)
    rig = load_rig(folder / "sheet.yaml")
    with open_log(str(folder / "sheet.riglog"), CLOCK) as log:
        status = standing(log, rig)
        told_again = status_retold(log, rig, status)
    assert [item.why for item in told_again.open] == [item.why for item in status.open]
    words = " ".join(shown(item.why, si=True) for item in told_again.open)
    # the card reads pounds: 35 lbf more are 156 N
    assert "reads 156 N more" in words
    assert left(" ".join(item.why for item in status.open)) != [] and left(words) == []


def test_a_sum_that_does_not_stand(book, monkeypatch):
    """The card is read 10 % higher than when it was written: every figure that differs is told in newton.

    What was written then has no other words: it stands as it was, and it is said so.
    """
    from rigging.jobs import check as job

    original = job.read_tension

    def higher(*what):
        found = original(*what)
        return msgspec.structs.replace(
            found, readings_lbf=tuple(1.1 * t for t in found.readings_lbf), tension_lbf=1.1 * found.tension_lbf
        )

    monkeypatch.setattr(job, "read_tension", higher)
    ran = run(f"log show sheet.yaml {numbers(book, 'check')[0]} --si --recompute", folder=book)
    assert ran.code == 1 and "DOES NOT STAND" in ran.out
    # 55 lbf of the card are 244.652 N, a tenth more 269.117 N
    assert "tension was 244.652 N, it is 269.117 N" in " ".join(ran.out.split())
    assert left(ran.out[ran.out.index("Recalculated") :]) == [] and "_lbf" not in ran.out
    assert "what stands here in US units is shown as it was written" in " ".join(ran.out.split())


def copy(folder):
    """The example with the answers of its session, all of them typed in SI."""
    for path in (ROOT / REEDLING).glob("*.*"):
        if ".riglog" not in path.name:
            (folder / path.name).write_bytes(path.read_bytes())
    answers = (folder / "session.txt").read_text(encoding="utf-8")
    for us, si in (
        ("54F", "12C"),
        ("55F", "13C"),
        ("1/2 in", "13 mm"),
        ("6 lbf", "27 N"),
        ("2 lbf", "9 N"),
        ("0.040 in", "1.02 mm"),
    ):
        assert us in answers
        answers = answers.replace(us, si)
    (folder / "session.txt").write_text(answers, encoding="utf-8")


def lead_elevator(folder, *more, script="session.txt"):
    line = f"session sheet.yaml --circuit elevator --who 'A. Finch' --script {script} --on {DAY} --si"
    return run(line, *more, folder=folder)


def test_a_session_through_all_its_steps(tmp_path):
    copy(tmp_path)
    ran = lead_elevator(tmp_path)
    assert ran.code == 0
    for step in (
        # limits 30..45 lbf and 16.4 F (12 C is 53.6 F) of spruce and steel at 0.268 lbf/F: 34.40 and 49.40 lbf, 153.0 and
        # 219.7 N; half a turn of 1/28 in gives 10.3 lbf to 24.3
        "153 TO 220 N TODAY",
        "out: tighten to 186 N",
        "then about: up 154 N",
        "pull one (like 16 N)",
        "lies below 18 by",
        "signed",
    ):
        assert step in ran.err, step
    assert left(ran.out + ran.err) == []


def test_a_session_that_cannot_be_signed(tmp_path):
    folder = plover(tmp_path)
    (folder / "answers.txt").write_text(ALL_OF_A_JOB, encoding="utf-8")
    ran = run(f"session sheet.yaml --who 'A. Finch' --script answers.txt --on {DAY} --si", folder=folder)
    assert ran.code == 1
    assert "53..89 N @ 21.1 C" in ran.err  # 12..20 lbf at 70 F
    assert left(ran.out + ran.err) == []


def test_what_is_written_is_the_same_with_and_without(tmp_path):
    copies = []
    for more in ((), ("--si",)):
        folder = tmp_path / f"copy{len(more)}"
        folder.mkdir()
        copy(folder)
        line = f"check sheet.yaml readings.csv --on {DAY} --log --who 'A. Finch'"
        assert run(line, *more, folder=folder).code == 1
        lead = f"session sheet.yaml --circuit elevator --who 'A. Finch' --script session.txt --on {DAY} --log-at job.riglog"
        assert run(lead, *more, folder=folder).code == 0
        copies.append([])
        for log in ("sheet.riglog", "job.riglog"):
            rows = run(f"log export {log}", folder=folder).out.splitlines()[1:]
            entries = [json.loads(json.loads(row)["record"]) for row in rows]
            copies[-1] += [(e["kind"], e["circuit"], without_time(e["payload"])) for e in entries]
    assert len(copies[0]) > 60 and copies[0] == copies[1]


def without_time(payload):
    """The contents of an entry but for the head that its signature names: the times of all entries are part of it."""
    given = payload.get("given", {})
    return {**payload, "given": {k: v for k, v in given.items() if k != "head_before"}}


def test_a_check_is_judged_once(tmp_path, monkeypatch):
    from rigging.jobs import check as job

    copy(tmp_path)
    judged, original = [], job.compare
    monkeypatch.setattr(job, "compare", lambda *what: judged.append(1) or original(*what))
    run(f"check sheet.yaml readings.csv --on {DAY} --log --who 'A. Finch' --si", folder=tmp_path)
    assert judged == [1]


def test_json_is_in_us_units_whatever_is_asked_for():
    line = LINES[6]
    assert run(line, "--json", "--si").out == run(line, "--json").out


def test_a_sentence_in_both_systems():
    both = told("{}: {} at {}, {} longer, {}", "left", lbf(10.0), degF(50.0), inches(1.0), lbf_per_degF(0.5))
    assert both == "left: 10.0 lbf at 50 F, 1 in longer, +0.50 lbf/F"
    # 1 lbf is 4.448 N, 50 F are 10 C, 1 in is 25.4 mm; 0.5 lbf/F are 0.5 x 4.448 x 1.8 = 4.00 N/C
    assert shown(both, si=True) == "left: 44 N at 10.0 C, 25.4 mm longer, +4.00 N/C"
    assert shown(both, si=False) == both


def test_sentences_keep_both_when_put_together():
    both = told("{} and {}", told("{}", lbf(100.0)), "the rest {as it stands}")
    assert shown(both, si=True) == "445 N and the rest {as it stands}"
    assert shown(join("; ", [both, "no figure"]), si=True) == "445 N and the rest {as it stands}; no figure"


def test_a_record_quotes_sentences_in_both():
    sentences = [told("{} is low", lbf(10.0)), told("left: {} is low", lbf(10.0)), "no figure"]
    quoted = quoting("#7: left: 10.0 lbf is low; 20.0 lbf as it was", sentences)
    # 10 lbf are 44.48 N; what no sentence says stays as it stands
    assert quoted == "#7: left: 10.0 lbf is low; 20.0 lbf as it was"
    assert shown(quoted, si=True) == "#7: left: 44 N is low; 20.0 lbf as it was"
    assert shown(quoting("up: no figure", sentences), si=True) == "up: no figure"


@pytest.mark.parametrize(
    ("quantity", "typed", "si"),
    [
        ("force", "9 lbf", "40 N"), ("force", "0.5 lbf", "2.2 N"), ("force", "40 N", "40 N"), ("length", "1/2 in", "12.7 mm"),
        ("temperature", "50F", "10.0 C"), ("temperature difference", "18F", "10.0 C"), ("spring rate", "10 lbf/in", "1.75 N/mm"),
        ("angle", "20 deg", "20 deg"),
    ],
)  # fmt: skip
def test_what_was_typed_in_both(quantity, typed, si):
    # by 4.4482216 N to the pound, 25.4 mm to the inch, (F - 32) / 1.8
    assert as_typed(quantity, typed) == (typed, si)


def test_hidden_characters_are_shown_in_both():
    both = hidden.shown(told("\u00e9\u202e {}", lbf(10.0)))
    assert (both, shown(both, si=True)) == ("\u00e9[U+202E] 10.0 lbf", "\u00e9[U+202E] 44 N")


def test_a_band_in_both():
    assert parse_band("12..20 lbf @ 70F").told == ("12..20 lbf @ 70F", "53..89 N @ 21.1 C")
    assert parse_band("35 +-5 lbf").told == ("35 +-5 lbf", "133..178 N")


def test_a_small_force_keeps_a_digit():
    # 0.5 lbf is 2.2 N
    assert shown(told("{}", lbf(0.5)), si=True) == "2.2 N"


def test_for_json_a_sentence_is_plain_text():
    plain = as_text(told("{}", lbf(1.0)))
    assert type(plain) is str and plain == "1.0 lbf"
    with pytest.raises(NotImplementedError):
        as_text(object())


def test_what_holds_no_quantity_is_the_same_in_both():
    assert shown("read this run", si=True) == shown("read this run", si=False) == "read this run"
    assert not isinstance("read this run", Told)


def test_what_is_open_and_the_list_of_entries(tmp_path):
    folder = plover(tmp_path)
    assert run(f"check sheet.yaml readings.csv --on {DAY} --log --who 'A. Finch'", folder=folder).code in (0, 1)
    run("log add bridle sheet.yaml --circuit rudder --who 'A. Finch' --tension '30 lbf' --uncertainty '1 lbf' --structure 70F "
        "--instrument P-3", folder=folder)  # fmt: skip
    for line in ("status sheet.yaml", "log list sheet.yaml"):
        us, si = run(line, folder=folder), run(line, "--si", folder=folder)
        assert us.code == si.code and left(us.out), line
        assert left(si.out + si.err) == [], line
