"""A preloaded loop and its kin, by statics alone.

Reference: reference values "preloaded loop, both cables stiffness k, moment M on one sector, the other held:
T0 +- M/2r, slack at M = 2 T0 r, stiffness halves beyond" (statics, exact). Elastic stretch of a wire rope: Wire
Rope Technical Board, "Wire Rope Users Manual", 4th edition, worked example: 200 ft of 1/2 in 6x25 FW IWRC, metallic
area 0.483 d^2, 5320 lbf, 13.5 Mpsi: 7.8 in. Thermal slopes: EA of 1/8 7x19 carbon cable 104 123 lbf times the
difference of expansions (computed on paper).
"""

from pathlib import Path

import numpy as np
import pytest

from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.thermal import Piece, compliance_in_per_lbf
from rigging.sheet.circuit import circuit_model
from rigging.sheet.load import load_rig

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

# a loop of round numbers: slack is met at 2 x 40 x 3 = 240 in lbf
T0_LBF, K_LBF_PER_IN, ARM_IN = 40.0, 600.0, 3.0
SLACK_AT_IN_LBF = 240.0


def loop(stick_arm=ARM_IN, horn_arm=ARM_IN, stiffness=(K_LBF_PER_IN, K_LBF_PER_IN)):
    """Two cables between a held stick and a free horn."""
    links = [
        Link(name, k, Joint("stick", side, stick_arm), Joint("horn", side, horn_arm))
        for name, side, k in zip(("up", "down"), (1, -1), stiffness, strict=True)
    ]
    return Circuit(["stick", "horn"], links, ["stick"])


def under(moment, circuit=None):
    """Tensions and the angle of the horn, pretensioned to T0."""
    circuit = circuit or loop()
    balance = circuit.solve(T0_LBF / circuit.stiffness_lbf_per_in, [0.0, moment])
    return [*balance.tension_lbf, balance.angle_rad[1]]


def exactly(values):
    return pytest.approx(values, rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("moment", [-240, -239.9, -120, -1, 0, 0.5, 60, 180, 239.9, 240])
def test_before_slack_each_side_takes_half(moment):
    # T0 +- M/2r; the two sides turn against it with 2 k r^2 = 10 800 in lbf/rad
    assert under(moment) == exactly([40 + moment / 6, 40 - moment / 6, moment / 10800])


@pytest.mark.parametrize("moment", [240.0000001, 241, 300, 600, 5000])
def test_beyond_slack_one_side_carries_it_all_and_turns_twice_as_easily(moment):
    # M/r on one side; it came to the kink at 240/10800 and goes on with k r^2 = 5400 in lbf/rad
    assert under(moment) == exactly([moment / 3, 0, 240 / 10800 + (moment - 240) / 5400])
    assert under(-moment) == exactly([0, moment / 3, -240 / 10800 - (moment - 240) / 5400])


def test_slack_is_met_at_twice_the_pretension_and_not_before():
    circuit = loop()
    stretch = [T0_LBF / K_LBF_PER_IN] * 2
    assert not circuit.solve(stretch, [0, SLACK_AT_IN_LBF * (1 - 1e-9)]).slack.any()
    assert circuit.solve(stretch, [0, SLACK_AT_IN_LBF * (1 + 1e-9)]).slack.tolist() == [False, True]


def test_stiffness_halves_beyond_slack():
    def stiffness(moment):
        return 1.0 / (under(moment + 0.5)[2] - under(moment - 0.5)[2])

    assert stiffness(100) == pytest.approx(10800, rel=1e-9)
    assert stiffness(400) == pytest.approx(5400, rel=1e-9)
    assert stiffness(-400) == pytest.approx(5400, rel=1e-9)


def test_without_pretension_one_side_carries_every_load():
    circuit = loop()
    assert list(circuit.solve([0, 0], [0, 30]).tension_lbf) == exactly([10, 0])
    assert list(circuit.solve([0, 0], [0, 0]).tension_lbf) == [0, 0]


def test_a_loop_all_slack_carries_a_load_after_the_free_play():
    # 0.06 in hangs slack on either side: the horn turns 0.02 rad before 60 in lbf are carried by one cable at 20 lbf,
    # which gives 20/600 in more, 1/90 rad
    balance = loop().solve([-0.06, -0.06], [0, 60])
    assert [*balance.tension_lbf, balance.angle_rad[1]] == exactly([20, 0, 0.02 + 1 / 90])


@pytest.mark.parametrize(("stick_arm", "horn_arm"), [(3, 3), (2.5, 4), (0.5, 30), (30, 0.5)])
def test_arms_that_are_equal_on_both_sides_give_equal_tension(stick_arm, horn_arm):
    # moments about the horn: T1 r = T2 r, whatever the arms of the stick and however unevenly it was taken up
    circuit = loop(stick_arm, horn_arm)
    tension = circuit.solve([0.05, 0.11]).tension_lbf
    # the sum of the stretches stays: both hold (0.05 + 0.11)/2 x 600
    assert list(tension) == exactly([48, 48])


def test_unlike_cables_share_a_load_by_stiffness():
    # 300 and 900 lbf/in: the horn turns M/(r^2 sum k) = 108/(9 x 1200) = 0.01 rad, 0.03 in at the arm
    assert under(108, loop(stiffness=(300, 900))) == exactly([40 + 9, 40 - 27, 0.01])


def test_unequal_arms_of_one_sector():
    # 2 in above and 3 in below, each side cabled to the airframe, 500 lbf/in and 0.1 in of stretch:
    # 2 (0.1 + 2 p) = 3 (0.1 - 3 p), p = 0.1/13; T1 = 750/13, T2 = 500/13, and 2 T1 = 3 T2
    links = [Link("above", 500, Joint("horn", 1, 2), None), Link("below", 500, Joint("horn", -1, 3), None)]
    circuit = Circuit(["horn"], links, [])
    balance = circuit.solve([0.1, 0.1])
    assert list(balance.tension_lbf) == exactly([750 / 13, 500 / 13])
    assert list(balance.angle_rad) == exactly([0.1 / 13])
    # and so may tensions stand together: 3 to 2
    assert circuit.pretension().shape == (2, 1)
    assert circuit.pretension()[0, 0] / circuit.pretension()[1, 0] == exactly(3 / 2)


def test_two_cables_through_a_free_sector_are_springs_in_series():
    # 300 and 600 lbf/in make 200; 0.2 in of take-up makes 40 lbf wherever it is taken up
    links = [Link("left", 300, None, Joint("idler", 1, 4)), Link("right", 600, Joint("idler", -1, 4), None)]
    circuit = Circuit(["idler"], links, [])
    for stretch in ([0.2, 0], [0, 0.2], [0.05, 0.15], [0.5, -0.3]):
        assert list(circuit.solve(stretch).tension_lbf) == exactly([40, 40])
    tension, angle = circuit.takeup_effect()
    assert tension.ravel().tolist() == exactly([200, 200, 200, 200])
    # an inch taken up on the left pulls the idler to the left: the right cable gives 200/600 in of it
    assert angle.ravel().tolist() == exactly([-1 / 12, 2 / 3 / 4])


def test_three_cables_in_series_seen_from_the_stick():
    # 1/300 + 1/600 + 1/200 = 1/100; the stick pulls 3 in x 0.1 rad = 0.3 in of cable: 30 lbf, 90 in lbf at the stick
    links = [
        Link("first", 300, Joint("stick", 1, 3), Joint("near idler", 1, 2)),
        Link("second", 600, Joint("near idler", -1, 2), Joint("far idler", 1, 5)),
        Link("third", 200, Joint("far idler", -1, 5), None),
    ]
    circuit = Circuit(["stick", "near idler", "far idler"], links, ["stick"])
    balance = circuit.solve([0, 0, 0], None, [0.1, 0, 0])
    assert list(balance.tension_lbf) == exactly([30, 30, 30])
    # each idler turns by what lies beyond it: 30/600 + 30/200 = 0.2 in over 2 in, 30/200 = 0.15 in over 5 in
    assert list(balance.angle_rad) == exactly([0.1, -0.2 / 2, -0.15 / 5])


def test_a_lever_multiplies_force_and_the_square_of_stiffness():
    # bellcrank 2 in to 6 in: 10 lbf on the long arm make 30 lbf on the short one
    links = [Link("short", 450, Joint("crank", 1, 2), None), Link("long", 100, Joint("crank", -1, 6), None)]
    balance = Circuit(["crank"], links, []).solve([0.2, 0])
    # 2 x 450 (0.2 + 2 p) = 6 x 100 (-6 p): p = -180/5400 = -1/30
    assert [*balance.tension_lbf, *balance.angle_rad] == exactly([60, 20, -1 / 30])


def test_wire_rope_elongation_of_the_users_manual():
    # A = 0.483 x 0.25 = 0.12075 in2, EA = 1 630 125 lbf
    compliance = compliance_in_per_lbf([Piece(2400.0, 1_630_125.0, 0.0, 0.0)])
    assert round(5320 * compliance, 1) == 7.8
    # the same rope holding a drum of 10 in under 53 200 in lbf
    drum = Circuit(["drum"], [Link("rope", 1 / compliance, None, Joint("drum", 1, 10.0))], [])
    balance = drum.solve([0.0], [53200.0])
    assert balance.tension_lbf[0] == exactly(5320)
    assert round(float(balance.angle_rad[0]) * 10, 1) == 7.8
    # and stretched by that much, with the drum held
    held = Circuit(["drum"], drum.links, ["drum"])
    assert held.solve([7.8325]).tension_lbf[0] == pytest.approx(5320, rel=1e-5)


def test_wood_and_steel_tube_along_one_path():
    # Reedling's elevator, two equal cables of 10 ft along spruce and 5 ft along steel tube:
    #   spruce 4.45 - 11.7 = -7.25e-6/C, steel tube 12.3 - 11.7 = +0.6e-6/C
    #   120 in x -4.02778e-6/F + 60 in x 0.333333e-6/F = -4.63333e-4 in/F; 180 in / 104 123 lbf = 1.72872e-3 in/lbf
    #   -4.63333e-4 / 1.72872e-3 = -0.268020 lbf/F; from 70 F to 30 F: +10.7208 lbf
    model = circuit_model(load_rig(EXAMPLES / "reedling" / "sheet.yaml"), "elevator")
    assert list(model.stretch_in_per_degF) == pytest.approx([-4.63333e-4] * 2, rel=1e-5)
    assert list(1 / model.circuit.stiffness_lbf_per_in) == pytest.approx([1.72872e-3] * 2, rel=1e-5)
    balance = model.circuit.solve(model.stretch_in([35, 35]) - 40 * model.stretch_in_per_degF)
    assert list(balance.tension_lbf) == pytest.approx([45.7208, 45.7208], abs=2e-4)
    assert list(balance.angle_rad) == exactly([0, 0])


@pytest.mark.parametrize(
    ("aircraft", "slope"),
    [
        # 104 123 lbf x (22.9 - 11.7)e-6/1.8, (4.45 - 11.7)e-6/1.8, (1.9 - 11.7)e-6/1.8
        ("harbour", 0.64788),
        ("reedling", -0.41938),
        ("quill", -0.56689),
    ],
)
def test_along_one_material_the_lengths_fall_out_of_a_whole_circuit(aircraft, slope):
    # 14, 18 and 14 ft in series: dT/dtheta = EA (a_s - a_c), the same in all three, and nothing turns at the stick
    model = circuit_model(load_rig(EXAMPLES / aircraft / "sheet.yaml"), "aileron")
    stretch = model.stretch_in([35, 35, 35])
    warm = model.circuit.solve(stretch + 10 * model.stretch_in_per_degF)
    assert list(warm.tension_lbf) == pytest.approx([35 + 10 * slope] * 3, abs=2e-4)
    # every cable grows by as much per inch as it is stretched by, so the bellcranks stay where they are
    assert np.abs(warm.angle_rad).max() < 1e-12
