"""A circuit of the sheet becomes links and stretches; what cannot hang together is said in the sheet's own words."""

import numpy as np
import pytest

from rigging.errors import BadFile, Refusal
from rigging.jobs.plan_learned import learned
from rigging.jobs.stretch import of_circuit
from rigging.sheet.circuit import Circuits, circuit_model, parse_end
from rigging.sheet.load import load_rig

# EA of 1/8 7x19 carbon: 100 GPa x 0.585 x pi (3.175 mm)^2 / 4 = 463.162 kN = 104 123.0 lbf
EA_LBF = 104123.0

SHEET = """\
rig_sheet: 1
aircraft: {name: Test bed, registration: none}
reference_temperature: 70F
airframe: {material: aluminium}
circuits:
  elevator:
    sectors:
      stick: {arm: 3 in}
      horn: {arm_plus: 4 in, arm_minus: 5 in}
      tab: {arm: 1 in}
    hold: [stick]
    cables:
      up: {size: 1/8, length: 100 in, from: stick +, to: horn +}
      down: {size: 1/8, length: 200 in, from: stick -, to: horn -, give: 0.001 in/lbf}
      trim: {size: 1/8, length: 50 in, from: horn -, to: tab -,
        path: [{length: 20 in, airframe: spruce}, {length: 30 in, airframe: aluminium}]}
    springs:
      bungee: {from: tab +, rate: 5 lbf/in, pull: 10 lbf}
      centring: {from: horn +, to: stick -, rate: 2 lbf/in, pull: 1 lbf}
"""


@pytest.fixture
def sheet(tmp_path):
    """Write a sheet with some of its text replaced and give its path."""

    def write(*changes):
        text = SHEET
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        path = tmp_path / "sheet.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def model(path, **how):
    return circuit_model(load_rig(path), "elevator", **how)


def problems(path):
    with pytest.raises(BadFile) as caught:
        load_rig(path)
    return [(p.line, p.path, p.message) for p in caught.value.problems]


# --- what becomes of a sheet


def test_cables_come_first_in_the_order_of_the_sheet_then_springs(sheet):
    made = model(sheet())
    assert [link.name for link in made.circuit.links] == ["up", "down", "trim", "bungee", "centring"]
    assert made.cable_count == 3
    assert [run.name for run in made.runs] == ["up", "down", "trim"]
    assert made.circuit.sectors == ("stick", "horn", "tab")
    assert made.circuit.held == ("stick",)


def test_each_side_of_a_sector_has_its_own_arm(sheet):
    found = {
        link.name: [j and (j.sector, j.side, j.arm_in) for j in (link.start, link.end)]
        for link in model(sheet()).circuit.links
    }
    assert found == {
        "up": [("stick", 1, 3), ("horn", 1, 4)],
        "down": [("stick", -1, 3), ("horn", -1, 5)],
        "trim": [("horn", -1, 5), ("tab", -1, 1)],
        "bungee": [("tab", 1, 1), None],
        "centring": [("horn", 1, 4), ("stick", -1, 3)],
    }


def test_stiffness_is_that_of_cable_and_give_in_series_and_a_spring_has_its_rate(sheet):
    stiffness = model(sheet()).circuit.stiffness_lbf_per_in
    by_hand = [EA_LBF / 100, 1 / (200 / EA_LBF + 0.001), EA_LBF / 50, 5, 2]
    assert list(stiffness) == pytest.approx(by_hand, rel=1e-5)


def test_what_turns_have_taught_stiffens_the_cable_and_not_its_brackets_or_springs(sheet):
    stiffness = model(sheet(), stiffness_scale=1.25).circuit.stiffness_lbf_per_in
    by_hand = [1.25 * EA_LBF / 100, 1 / (200 / (1.25 * EA_LBF) + 0.001), 1.25 * EA_LBF / 50, 5, 2]
    assert list(stiffness) == pytest.approx(by_hand, rel=1e-5)
    # temperature lengthens a stiff cable as much as a soft one
    assert list(model(sheet(), stiffness_scale=1.25).stretch_in_per_degF) == list(model(sheet()).stretch_in_per_degF)


def test_a_cable_of_no_stated_construction_is_the_usual_one_of_its_size(sheet):
    # 7x7 below 1/8: a rope maker's 100 D^2 / 1.07e-5, D 0.0625 in
    made = model(sheet(("trim: {size: 1/8,", "trim: {size: 1/16,")))
    assert [run.cable.construction for run in made.runs] == ["7x19", "7x19", "7x7"]
    assert made.circuit.stiffness_lbf_per_in[2] == pytest.approx(100 * 0.0625**2 / 1.07e-5 / 50, rel=1e-9)


def test_a_circuit_is_as_unsure_as_its_least_known_cable(sheet):
    # k=1: 7.5 % for 7x19 by the table of moduli, 15 % for 7x7 by the rope maker's
    assert model(sheet()).stiffness_relative_uncertainty == pytest.approx(0.075)
    assert model(sheet(("trim: {size: 1/8,", "trim: {size: 1/16,"))).stiffness_relative_uncertainty == pytest.approx(
        0.15
    )
    # the first cable measured to 4 % (U) does not speak for the others
    measured = "up: {size: 1/8, stiffness: 98000 lbf, stiffness_uncertainty: 4%,"
    assert model(sheet(("up: {size: 1/8,", measured))).stiffness_relative_uncertainty == pytest.approx(0.075)


def test_what_a_plan_or_a_side_pull_takes_is_as_unsure(sheet):
    # up is 7x19 and leads the list; trim, 7x7, is off by 15 % (k=1) and has its part in what up answers with
    rig = load_rig(sheet(("trim: {size: 1/8,", "trim: {size: 1/16,")))
    assert learned(rig, "elevator", [])[2] == pytest.approx(0.15)
    found = of_circuit(rig, rig.run("elevator", "up"))
    assert found.stiffness_uncertainty_lbf_per_in == pytest.approx(0.15 * found.stiffness_lbf_per_in)


@pytest.mark.parametrize("scale", [0.0, -1.0, float("nan")])
def test_a_scale_that_is_not_above_zero_is_refused(sheet, scale):
    with pytest.raises(Refusal, match="above zero"):
        model(sheet(), stiffness_scale=scale)


def test_one_degree_stretches_a_cable_by_what_the_structure_outgrows_it(sheet):
    # aluminium 22.9 - 11.7 = 11.2e-6/C = 6.22222e-6/F; spruce 4.45 - 11.7 = -7.25e-6/C = -4.02778e-6/F
    by_hand = [100 * 6.22222e-6, 200 * 6.22222e-6, 20 * -4.02778e-6 + 30 * 6.22222e-6, 0, 0]
    assert list(model(sheet()).stretch_in_per_degF) == pytest.approx(by_hand, rel=1e-5)


def test_stretch_of_given_tensions_with_the_pull_of_the_springs(sheet):
    made = model(sheet())
    # 10 lbf at 5 lbf/in are 2 in, 1 lbf at 2 lbf/in is half an inch
    assert list(made.spring_stretch_in) == [0, 0, 0, 2, 0.5]
    by_hand = [30 * 100 / EA_LBF, 20 * (200 / EA_LBF + 0.001), 0, 2, 0.5]
    assert list(made.stretch_in([30, 20, 0])) == pytest.approx(by_hand, rel=1e-5)
    # the springs of the model itself are left alone
    assert list(made.spring_stretch_in) == [0, 0, 0, 2, 0.5]


def test_tensions_that_balance_at_neutral_stay_there(sheet):
    # tab: bungee 10 lbf x 1 in against trim: T = 10. horn: 4 (up + 1) = 5 (down + 10), with down 20: up = 36.5
    made = model(sheet())
    balance = made.circuit.solve(made.stretch_in([36.5, 20, 10]))
    assert list(balance.tension_lbf) == pytest.approx([36.5, 20, 10, 10, 1], rel=1e-9)
    assert np.abs(balance.angle_rad).max() < 1e-12


def test_held_sectors_may_be_others_than_the_sheet_names(sheet):
    path = sheet()
    assert model(path, held=["horn", "tab"]).circuit.held == ("horn", "tab")
    with pytest.raises(Refusal, match="'flap' is to be held, but there is no such sector"):
        model(path, held=["flap"])
    # the bungee holds the tab to the airframe, and the tab holds all else
    assert model(path, held=[]).circuit.held == ()


def test_a_loop_that_is_let_go_is_refused_by_name(bench):
    with pytest.raises(Refusal, match="nothing restrains pedals and horn: hold a sector of this circuit"):
        circuit_model(load_rig(bench.sheet), "rudder", held=[])


def test_an_unknown_circuit_or_sector_is_named(sheet):
    rig = load_rig(sheet())
    with pytest.raises(Refusal, match=r"no circuit 'elevater' in the sheet \(did you mean 'elevator'\?\)"):
        circuit_model(rig, "elevater")
    made = circuit_model(rig, "elevator")
    assert [made.sector(name) for name in ("stick", "horn", "tab")] == [0, 1, 2]
    with pytest.raises(Refusal, match=r"no sector 'hron' in circuit elevator \(did you mean 'horn'\?\)"):
        made.sector("hron")


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("stick +", ("stick", 1)),
        ("stick -", ("stick", -1)),
        ("left bellcrank+", ("left bellcrank", 1)),
        ("aft-quadrant  -", ("aft-quadrant", -1)),
        ("stick", None),
        ("+", None),
        ("", None),
        ("stick + horn", None),
    ],
)
def test_an_end_is_a_sector_and_its_side(text, end):
    assert parse_end(text) == end


# --- how temperature moves a run in it


def test_a_run_answers_temperature_as_its_circuit_and_names_who_has_a_part(sheet):
    circuits = Circuits(load_rig(sheet()))
    made = circuits.model("elevator")
    effect, _ = made.circuit.takeup_effect()
    for i, run in enumerate(made.runs):
        around = circuits.around(run)
        assert around.run == f"elevator / {run.name}"
        assert around.response.slope_lbf_per_degF == pytest.approx(float(effect[i] @ made.stretch_in_per_degF))
        # up and down meet at the horn and trim hangs on it: all three move each other
        assert [len(parts) for _, parts in around.others] == [len(r.parts) for r in made.runs if r is not run]


def test_a_loop_beside_it_has_no_part(sheet):
    path = sheet(
        ("horn: {arm_plus: 4 in, arm_minus: 5 in}", "horn: {arm_plus: 4 in, arm_minus: 5 in}\n      flap: {arm: 2 in}"),
        ("    springs:\n", "      flap out: {size: 3/32, length: 50 in, from: stick +, to: flap +}\n"
         "      flap in: {size: 3/32, length: 50 in, from: stick -, to: flap -}\n    springs:\n"),
    )  # fmt: skip
    rig = load_rig(path)
    around = Circuits(rig).around(rig.run("elevator", "flap out"))
    assert [(cable.size, len(parts)) for cable, parts in around.others] == [("3/32", 1)]


def test_a_cable_whose_sector_is_pulled_one_way_only_has_no_answer_and_the_others_have(sheet):
    # the tab without its bungee: nothing pulls against the trim cable
    rig = load_rig(sheet(("      bungee: {from: tab +, rate: 5 lbf/in, pull: 10 lbf}\n", "")))
    circuits = Circuits(rig)
    with pytest.raises(Refusal, match="no tension can stand in elevator / trim: a sector there is pulled one way only"):
        circuits.around(rig.run("elevator", "trim"))
    assert circuits.around(rig.run("elevator", "up")).response.slope_lbf_per_degF > 0


def test_a_circuit_that_cannot_be_worked_out_says_so_to_everyone_who_asks(sheet):
    rig = load_rig(sheet(("up: {size: 1/8,", "up: {size: 1/32, construction: 3x7,")))
    circuits = Circuits(rig)
    for ask in (lambda: circuits.model("elevator"), lambda: circuits.around(rig.runs[1])):
        for _ in range(2):
            with pytest.raises(Refusal, match=r"^elevator / up: no table gives the modulus of 3x7 cable"):
                ask()


# --- what is wrong with a sheet, all together


def test_arms_lengths_rates_and_gives_of_nothing_are_all_found_with_their_lines(sheet):
    path = sheet(
        ("stick: {arm: 3 in}", "stick: {arm: 0 in}"),
        ("arm_minus: 5 in", "arm_minus: -5 in"),
        ("length: 100 in,", "length: 0 ft,"),
        ("length: 200 in,", "length: -200 in,"),
        ("0.001 in/lbf", "-0.001 in/lbf"),
        ("[{length: 20 in,", "[{length: 0 in,"),
        ("rate: 5 lbf/in", "rate: 0 lbf/in"),
        ("pull: 1 lbf", "pull: -1 lbf"),
    )
    at = "circuits / elevator /"
    assert problems(path) == [
        (8, f"{at} sectors / stick / arm", "'0 in' must be more than zero"),
        (9, f"{at} sectors / horn / arm_minus", "'-5 in' must be more than zero"),
        (13, f"{at} cables / up / length", "'0 ft' must be more than zero"),
        (14, f"{at} cables / down / length", "'-200 in' must be more than zero"),
        (14, f"{at} cables / down / give", "'-0.001 in/lbf' must be more than zero"),
        (16, f"{at} cables / trim / path / no. 1 / length", "'0 in' must be more than zero"),
        (18, f"{at} springs / bungee / rate", "'0 lbf/in' must be more than zero"),
        (19, f"{at} springs / centring / pull", "'-1 lbf' must be more than zero"),
    ]


def test_unknown_sectors_and_missing_sides_are_all_found_with_their_lines(sheet):
    path = sheet(
        ("hold: [stick]", "hold: [stick, pedal]"),
        ("length: 100 in, from: stick +, to: horn +", "length: 100 in, from: stik +, to: horn"),
        ("from: horn -, to: tab -", "from: horn -, to: tabb -"),
        ("from: tab +", "from: airfame +"),
        ("to: stick -, rate", "to: +, rate"),
    )
    at = "circuits / elevator /"
    needs_side = "needs the side of the sector, + or -, like 'stick +'; or 'airframe' for a fixed point"
    known = "(known: stick, horn, tab)"
    assert problems(path) == [
        (11, f"{at} hold / no. 2", f"no sector 'pedal' in this circuit {known}"),
        (13, f"{at} cables / up / from", "no sector 'stik' in this circuit (did you mean 'stick'?)"),
        (13, f"{at} cables / up / to", f"'horn' {needs_side}"),
        (15, f"{at} cables / trim / to", "no sector 'tabb' in this circuit (did you mean 'tab'?)"),
        (18, f"{at} springs / bungee / from", f"no sector 'airfame' in this circuit {known}"),
        (19, f"{at} springs / centring / to", f"'+' {needs_side}"),
    ]


def test_a_circuit_held_nowhere_says_how_to_hold_it(sheet):
    bungee = "      bungee: {from: tab +, rate: 5 lbf/in, pull: 10 lbf}\n"
    path = sheet(("    hold: [stick]\n", ""), (bungee, ""))
    assert problems(path) == [
        (
            6,
            "circuits / elevator",
            "nothing restrains stick and horn and tab: name the sector with the rig pin under 'hold', like hold: [stick], "
            "or the springs that keep this circuit under 'springs'",
        )
    ]


def test_a_circuit_that_springs_keep_needs_no_pin(sheet):
    # the bungee at the tab and the centring spring hold all of it, each sector from both sides
    assert load_rig(sheet(("    hold: [stick]\n", "    hold: []\n"))).file.circuits["elevator"].hold == []


def test_sectors_that_nothing_restrains_are_all_found_with_their_lines(sheet):
    # a sector alone, and a loop of two that hangs from nothing
    path = sheet(
        ("      tab: {arm: 1 in}\n", "      tab: {arm: 1 in}\n      spare: {arm: 1 in}\n      idler: {arm: 1 in}\n"),
        ("from: horn -, to: tab -", "from: idler -, to: tab -"),
        ("from: tab +, rate", "from: tab +, to: idler +, rate"),
    )
    at = "circuits / elevator / sectors /"
    said = "nothing restrains this sector: join it with a cable, or hold it"
    assert problems(path) == [(10, f"{at} tab", said), (11, f"{at} spare", said), (12, f"{at} idler", said)]


def test_a_spring_has_a_name_of_its_own(sheet):
    assert problems(sheet(("bungee:", "trim:"))) == [
        (18, "circuits / elevator / springs / trim", "a cable has this name already")
    ]


def test_a_cable_without_a_known_stiffness_is_refused_by_its_construction(sheet):
    # no table gives the modulus of 3x7
    path = sheet(("up: {size: 1/8,", "up: {size: 1/32, construction: 3x7,"))
    with pytest.raises(Refusal, match="no table gives the modulus of 3x7 cable"):
        circuit_model(load_rig(path), "elevator")
