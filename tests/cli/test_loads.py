"""``rigging loads``, ``rigging friction`` and ``rigging cut`` as a person or a script calls them."""

import csv
import io

import pytest

REEDLING = "examples/reedling/sheet.yaml"
LOADS = ("loads", REEDLING, "aileron", "--at", "54F")
FRICTION = ("friction", "6lbf", "3lbf")
CUT = (
    "cut", "--size", "1/8", "--pin-to-pin", "14 ft 3 in", "--turnbuckle-length", "8 in", "--thread", "1/4-28",
    "--threads-showing", "1", "--tension", "35lbf", "--at", "60F", "--airframe", "spruce", "--coldest", "-20F",
    "--hottest", "110F",
)  # fmt: skip
KEYS = {
    LOADS: "circuit finding usable_for_sign_off rules pilot rigged_lbf days cables bends notes assumptions cautions",
    FRICTION: "friction_lbf load_lbf pulls_lbf scale basis source",
    CUT: "length_in uncertainty_in stretch_in bedding_in takeup_per_turn_in threads_showing days start fits findings sources",
}


def once(*words):
    """A command in which the last of an option's two values stands alone: the first was the usual one."""
    kept = list(words)
    for option in {w for w in words if w.startswith("--") and words.count(w) > 1}:
        del kept[kept.index(option) : kept.index(option) + 2]
    return kept


CODES = {LOADS: 0, FRICTION: 0, CUT: 0}


@pytest.mark.parametrize("command", KEYS, ids=lambda c: c[0])
def test_json_is_one_document_with_its_keys(shared, command):
    ran = shared(*command, "--json")
    assert (ran.code, ran.err) == (CODES[command], "")
    assert set(KEYS[command].split()) <= set(ran.json)


def named(value, key=""):
    """Every float of a document with its key; inside a mapping or list that names a unit, the unit is the outer one's."""
    if isinstance(value, dict):
        for inner, v in value.items():
            yield from named(v, key if key.endswith(("_lbf", "_deg")) else inner)
    elif isinstance(value, list):
        for v in value:
            yield from named(v, key)
    elif isinstance(value, float):
        yield key


@pytest.mark.parametrize("command", KEYS, ids=lambda c: c[0])
def test_a_quantity_names_its_unit(shared, command):
    units = ("_lbf", "_in", "_degF", "_deg", "_per_degF", "_share", "_in_lbf")
    counts = (
        "coverage_factor",
        "margin",
        "friction_ratio",
        "most_inside",
        "most_inside_at_first_rigging",
        "value",
        "standard_uncertainty",
    )
    threads = ("threads_showing", "threads_showing_new", "least", "most", "uncertainty")
    for key in named(shared(*command, "--json").json):
        assert key.endswith(units) or key in (*counts, *threads), key


@pytest.mark.parametrize("command", KEYS, ids=lambda c: c[0])
@pytest.mark.parametrize("options", [(), ("--si",)], ids=["US", "SI"])
def test_text_fits_eighty_columns(shared, command, options):
    ran = shared(*command, *options)
    assert (ran.code, ran.err) == (CODES[command], "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert (" N" in ran.out or " mm" in ran.out) is bool(options)


@pytest.mark.parametrize(("name", "circuit"), [("reedling", "elevator"), ("harbour", "aileron")])
def test_examples_fit_eighty_columns(shared, name, circuit):
    ran = shared("loads", f"examples/{name}/sheet.yaml", circuit)
    # the aluminium ailerons hang slack at rest on the coldest day; nothing is broken in the spruce elevator
    assert ran.code == (1 if name == "harbour" else 0)
    assert max(map(len, ran.out.splitlines())) <= 80


def test_the_aileron_of_the_reedling_by_hand(shared):
    found = shared(*LOADS, "--json").json
    days = {d["day"]: d for d in found["days"]}
    assert list(days) == ["coldest", "today", "reference", "hottest"]
    # rigged to the middle of 30..40, equal arms: 35 each
    assert days["reference"]["rest_lbf"] == pytest.approx({"left": 35, "balance": 35, "right": 35})
    # EA 104 123 lbf x (4.45 - 11.7)e-6 / 1.8 for each degree
    assert days["hottest"]["rest_lbf"]["left"] == pytest.approx(35 + 104123 * (4.45 - 11.7) / 1.8e6 * 40, abs=0.01)
    plus = days["reference"]["pulls"][0]
    # 67 lbf x 15 in over 3 in: 335 lbf, far past 2 x 35; slack from 70 x 3 / 15
    assert plus["tensions_lbf"] == pytest.approx({"left": 335, "balance": 35, "right": 0}, abs=1e-6)
    assert (plus["first_slack"], plus["slack_force_lbf"]) == (["right"], pytest.approx(14))
    floor = next(b for b in found["bends"] if b["run"] == "left" and b["name"] == "floor")
    assert floor["load_lbf"] == pytest.approx(335 * 2**0.5)
    assert floor["rating_lbf"] == 1680
    rules = {r["rule"]: r["verdict"] for r in found["rules"]}
    assert rules["slack under limit force"] == "noted"
    assert rules["strength of left"] == "met"
    assert rules["control stretch"] == "noted"
    balance = next(c for c in found["cables"] if c["run"] == "balance")
    assert (balance["weakest"], balance["strengths_lbf"]) == ("cable", {"cable": 2000})
    assert list(balance["not_counted"]) == ["terminals", "turnbuckle"]
    assert "bellcrank alone held" in balance["where"] and balance["margin"] == pytest.approx(2000 / (1.5 * 335) - 1)
    assert rules["spar on left"] == "not known"


def test_text_says_what_is_slack_and_when(shared):
    text = " ".join(shared(*LOADS).out.split())
    assert "· noted slack under limit force" in text
    assert "left bellcrank alone held; see that it cannot leave its pulleys" in text
    assert "guidance: a rule for sailplanes" in text
    assert "readings at its two ends may differ by" in text
    for source in ("14 CFR 23.397(b), before amendment 64", "AMC 22.411(a)", "table 7-3", "MS20219 and MS20220"):
        assert source in text


@pytest.mark.parametrize("options", [(), ("--json",)])
def test_rules_of_part_23_are_those_before_amendment_64(shared, options):
    text = " ".join(shared(*LOADS, *options).out.split())
    for rule in ("23.397(b)", "23.689"):
        assert text.count(rule) == text.count(f"{rule}, before amendment 64") > 0


def test_a_pilot_without_a_force_is_told_which_rule_would_give_one(bench, rigging):
    bench.bend(
        bench.sheet, "    cables:\n", "    pilot: {sector: pedals, lever: 10 in, surfaces: [horn]}\n    cables:\n"
    )
    assert "14 CFR 23.397(b), before amendment 64" in rigging("loads", "sheet.yaml", "rudder", cwd=bench.folder).err


def test_a_loop_that_keeps_every_rule_ends_with_zero(bench, rigging):
    bench.bend(
        bench.sheet, "    cables:\n",
        "    pilot: {sector: pedals, lever: 10 in, surfaces: [horn], force: 20 lbf, travel: 40 deg}\n    cables:\n",
    )  # fmt: skip
    ran = rigging("loads", "sheet.yaml", "rudder", cwd=bench.folder)
    assert (ran.code, ran.err) == (0, "")
    assert "✗" not in ran.out and "only the reference" in " ".join(ran.out.split())
    # 20 lbf x 10 in / 5 in = 40 lbf at the cable, more than 2 x 15: slack on one side, which is told and breaks no rule
    slack = rigging("loads", "sheet.yaml", "rudder", "--tension", "15lbf", cwd=bench.folder)
    assert slack.code == 0
    assert "noted" in slack.out
    ascii_only = rigging("loads", "sheet.yaml", "rudder", cwd=bench.folder, PYTHONIOENCODING="ascii")
    assert "+ met" in ascii_only.out


def test_csv_has_every_cable_day_and_state(shared):
    ran = shared(*LOADS, "--csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert (ran.code, ran.err) == (0, "")
    # three cables on four days: at rest, and both ways with both surfaces, the left and the right one held
    assert len(rows) == 3 * 4 * (1 + 2 * 3)
    reference = [r for r in rows if r["day"] == "reference" and r["run"] == "right"]
    left, right = "left bellcrank", "right bellcrank"
    both = f"{left} and {right}"
    assert [(r["state"], r["held"], r["slack"]) for r in reference] == [
        ("rest", both, "False"), ("stick +", both, "True"), ("stick -", both, "False"),
        ("stick +", left, "True"), ("stick -", left, "False"), ("stick +", right, "True"), ("stick -", right, "False"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("command", "code", "words"),
    [
        (("loads", "examples/harbour/sheet.yaml", "rudder"), 3, "circuit rudder has no 'pilot:' block: add one"),
        (("loads", REEDLING, "elevatr"), 3, "did you mean 'elevator'?"),
        (("loads", "no.yaml", "aileron"), 3, "no.yaml"),
        ((*LOADS[:3], "--at", "54"), 2, "has no unit"),
        ((*LOADS[:3], "--at", "200F"), 3, "temperature 200 F lies outside"),
        ((*LOADS[:3], "--tension", "0 lbf"), 3, "above zero"),
        ((*LOADS, "--json", "--csv"), 2, "ask for one"),
        (("friction", "6", "3lbf"), 2, "'6' has no unit"),
        (("friction", "6lbf", "3 in"), 2, "is a length, not a force"),
        (("friction", "--", "6lbf", "-3lbf"), 3, "only pulls"),
        ((*CUT, "--thread", "10-24"), 3, "no thread '10-24'"),
        ((*CUT, "--airframe", "cheese"), 3, "unknown airframe material 'cheese'"),
        ((*CUT, "--history", "old"), 3, "unknown history of a cable 'old'"),
        ((*CUT, "--pin-to-pin", "14"), 2, "has no unit"),
        ((*CUT, "--pin-to-pin", "7 in"), 3, "leaves no cable"),
        ((*CUT, "--threads-showing", "nan"), 2, "no number of threads"),
        ((*CUT, "--threads-showing", "-5", "--most-inside", "4"), 2, "start deeper than --most-inside"),
        ((*CUT, "--tension", "2000lbf"), 3, "above the proof load"),
        ((*CUT, "--tension", "-5lbf"), 3, "cannot be below zero"),
        ((*CUT, "--measured-within", "-1 in"), 2, "not below zero"),
        ((*CUT, "--coldest", "120F"), 3, "swapped"),
    ],
    ids=lambda v: " ".join(v[-2:]) if isinstance(v, tuple) else "",
)
def test_bad_input_is_one_clear_line(shared, command, code, words):
    ran = shared(*once(*command))
    assert (ran.code, ran.out) == (code, "")
    assert len(ran.err.splitlines()) == 1
    assert words in ran.err


def test_friction_of_two_pulls(shared):
    found = shared(*FRICTION, "--json").json
    assert (found["friction_lbf"], found["load_lbf"], found["basis"]) == (1.5, 4.5, "published")
    text = shared(*FRICTION).out
    assert text.startswith("friction 1.5 lbf")
    assert "RAF A.P. 4309A" in text
    found = shared(*FRICTION, "--other-side", "--json").json
    assert (found["friction_lbf"], found["load_lbf"]) == (4.5, 1.5)
    assert "friction 7 N" in shared(*FRICTION, "--si").out


def test_a_cable_to_cut_by_hand(shared):
    found = shared(*CUT, "--json").json
    # 10 F below reference, to first order: wood gains less than steel; EA 104 123 lbf
    reach_in = 171 * (1 + (4.45 - 11.7) * 1e-6 / 1.8 * 10)
    assert found["length_in"] == pytest.approx((reach_in - 8 - 2 / 28) / (1 + 35 / 104123), abs=1e-4)
    assert found["stretch_in"] == pytest.approx(found["length_in"] * 35 / 104123, rel=1e-4)
    assert found["bedding_in"]["high_in"] == pytest.approx(found["length_in"] / 1000)
    assert (found["bedding_in"]["basis"], found["fits"]) == ("practice", True)
    assert [d["day"] for d in found["days"]] == ["coldest", "reference", "hottest"]
    assert found["start"]["least"] < 1 < found["start"]["most"]
    # 90 F below and 40 F above reference: as check moves the target
    per_degF = found["sources"]["stiffness_lbf"]["value"] * (4.45 - 11.7) / 1.8e6
    assert [d["tension_lbf"] for d in found["days"]] == pytest.approx([35 - 90 * per_degF, 35, 35 + 40 * per_degF])
    assert [d["threads_showing_new"] for d in found["days"]] == pytest.approx([1, 1, 1], abs=0.05)


def test_no_word_of_cut_can_be_read_as_four_threads_engaged(shared):
    text = " ".join(shared(*CUT).out.split())
    assert (
        "at first rigging the terminals sunk at most 4 threads below the end of the barrel, the others engaged" in text
    )
    assert "4 inside" not in text and "-4 inside" not in text


@pytest.mark.parametrize(
    ("threads", "words"),
    [
        ("3.5", "too short: 3.5 threads would show on the"),
        ("-5", "the terminals would be sunk 5.0 threads below the end"),
    ],
)
def test_a_thread_that_runs_out_is_a_finding(shared, threads, words):
    ran = shared(*once(*CUT, "--threads-showing", threads))
    assert ran.code == 1
    assert words in " ".join(ran.out.split())
    assert shared(*once(*CUT, "--threads-showing", threads), "--json").json["fits"] is False
