"""Circuits that have no answer are refused by name; circuits at the edge have one."""

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.physics import circuit_search
from rigging.physics.circuit import Circuit, Joint, Link, named


def pair(a, b, stiffness=1000.0, arms=(3.0, 3.0), name=""):
    """The two cables of a loop between two sectors."""
    return [
        Link(f"{name or a}{'+' if side > 0 else '-'}", stiffness, Joint(a, side, arms[0]), Joint(b, side, arms[1]))
        for side in (1, -1)
    ]


STICK_AND_HORN = Circuit(["stick", "horn"], pair("stick", "horn"), ["stick"])


# --- refused when built


def refused(sectors, links, held=()):
    with pytest.raises(Refusal) as caught:
        Circuit(sectors, links, held)
    return str(caught.value)


def test_a_loop_held_nowhere_is_named():
    said = refused(["stick", "horn"], pair("stick", "horn"))
    assert said == "nothing restrains stick and horn: hold a sector of this circuit, or join it with a cable"


def test_a_sector_without_a_cable_is_named():
    assert "nothing restrains tab:" in refused(["stick", "horn", "tab"], pair("stick", "horn"), ["stick"])
    assert "nothing restrains tab:" in refused(["stick", "tab"], [], ["stick"])


def test_all_that_is_loose_is_named_together_whatever_its_arms():
    # a loop of small arms and stout cable, a sector alone, a loop of long arms and a soft spring
    links = [*pair("a", "b", 1e5, (0.5, 0.5)), *pair("c", "d", 1.0, (30.0, 30.0))]
    links += pair("stick", "horn")
    said = refused(["a", "b", "alone", "c", "d", "stick", "horn"], links, ["stick"])
    assert "nothing restrains a and b and alone and c and d:" in said


def test_a_loop_that_hangs_together_but_from_nothing_is_loose_as_a_whole():
    links = [Link(n, 500.0, Joint(a, 1, 2.0), Joint(b, -1, 3.0)) for n, a, b in (("1", "a", "b"), ("2", "b", "c"))]
    assert "nothing restrains a and b and c:" in refused(["a", "b", "c"], links)


def test_two_sides_of_one_arm_do_not_hold_a_sector():
    # both ends on the same sector, one on either side: it pulls the sector against itself
    assert "nothing restrains a:" in refused(["a"], [Link("x", 100.0, Joint("a", 1, 2.0), Joint("a", -1, 2.0))])


@pytest.mark.parametrize("stiffness", [0.0, -1.0, float("nan"), float("inf"), 1e200, 1e-200])
def test_a_stiffness_is_above_zero_and_finite(stiffness):
    assert "cable: a stiffness above zero" in refused(["a"], [Link("cable", stiffness, Joint("a", 1, 2.0), None)])


@pytest.mark.parametrize(
    ("side", "arm"),
    [(1, 0.0), (1, -2.0), (1, float("nan")), (1, float("inf")), (1, 1e200), (1, 1e-200), (0, 2.0), (2, 2.0)],
)
def test_an_arm_is_above_zero_and_its_side_is_one_of_two(side, arm):
    said = refused(["a"], [Link("cable", 100.0, None, Joint("a", side, arm))])
    assert "cable: the arm on 'a' must be above zero, its side + or -" in said


def test_an_unknown_sector_is_named():
    assert "cable is joined to 'flap'" in refused(["a"], [Link("cable", 1.0, Joint("flap", 1, 1.0), None)])
    assert "'flap' is to be held" in refused(["a"], [Link("cable", 1.0, Joint("a", 1, 1.0), None)], ["flap"])


def test_a_circuit_has_a_link_and_each_sector_once():
    assert "without a cable or spring" in refused(["stick"], [], ["stick"])
    assert "without a cable or spring" in refused([], [])
    assert "there are two sectors 'horn'" in refused(["horn", "horn"], pair("stick", "horn"))


# --- refused when solved


@pytest.mark.parametrize("wrong", [1e101, -1e200, 1.7e308, "much", None, [[0.1], [0.1, 0.2]]])
def test_what_nobody_can_mean_is_refused(wrong):
    stretch = wrong if isinstance(wrong, list) else [wrong, 0.1]
    load = wrong if isinstance(wrong, list) else [0.0, wrong]
    for arguments in ((stretch,), ([0.1, 0.1], load), ([0.1, 0.1], None, load[::-1])):
        with pytest.raises(Refusal, match="not a finite number"):
            STICK_AND_HORN.solve(*arguments)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            (0.1,),
            "the stretches of this circuit are 2 a case, in the order of its cables and springs: an array of shape",
        ),
        (([],), "the stretches of this circuit are 2 a case"),
        (([0.1, 0.1, 0.1],), "the stretches of this circuit are 2 a case"),
        (([0.1, 0.1], [5.0]), "the moments of this circuit are 2 a case, in the order of its sectors"),
        (([0.1, 0.1], None, 5.0), "the angles of this circuit are 2 a case"),
        ((np.ones((3, 2)), np.ones((4, 2))), "are not as many cases each"),
    ],
)
def test_arrays_that_do_not_go_with_the_circuit_are_refused(arguments, said):
    with pytest.raises(Refusal) as caught:
        STICK_AND_HORN.solve(*arguments)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_refused(wrong):
    for arguments in (
        ([wrong, 0.1],),
        ([0.1, 0.1], [0, wrong]),
        ([0.1, 0.1], None, [wrong, 0]),
        ([[0.1, 0.1], [0.1, wrong]],),
        ([0.1, 0.1], [[0, 1], [0, wrong]]),
    ):
        with pytest.raises(Refusal, match="not a finite number"):
            STICK_AND_HORN.solve(*arguments)
    # a held sector takes any moment, and a free one has no angle laid down
    assert list(STICK_AND_HORN.solve([0.1, 0.1], [wrong, 0], [0, wrong]).tension_lbf) == pytest.approx([100, 100])


def test_a_load_on_a_sector_whose_cable_went_slack_is_named():
    # tab hangs on one cable and is pushed the way that slackens it; horn and stick are not to blame
    links = [*pair("stick", "horn"), Link("tab cable", 200.0, Joint("tab", 1, 1.5), Joint("horn", -1, 3.0))]
    circuit = Circuit(["stick", "horn", "tab"], links, ["stick"])
    assert circuit.solve([0.05, 0.05, 0.0], [0, 0, 15.0]).tension_lbf[2] == pytest.approx(10)
    with pytest.raises(Refusal, match="nothing stops tab: the cables that would hold it hang slack"):
        circuit.solve([0.05, 0.05, 0.0], [0, 0, -15.0])


def test_all_that_turns_together_is_named():
    # the far sector hangs on the near one by a loop, the near one on a single cable: both go
    links = [Link("only", 500.0, None, Joint("near", 1, 2.0)), *pair("near", "far", 500.0)]
    circuit = Circuit(["near", "far"], links, [])
    with pytest.raises(Refusal, match="nothing stops near and far:"):
        circuit.solve([0.1, 0.1, 0.1], [0.0, 50.0])
    # the other way: 3 (T+ - T-) = -60 at far, and the cable of near bears 2 T = 60
    assert list(circuit.solve([0.1, 0.1, 0.1], [0.0, -60.0]).tension_lbf) == pytest.approx([30, 40, 60])


# drawn once: each was found "in balance" 1e14 rad away, where rounding of a sector that does not turn had stopped the turn
@pytest.mark.parametrize(
    "stretch",
    [
        [0.09029, -0.07721, -0.02824, 0.00646, 0.03713, 0.03688],
        [-0.05243, -0.03233, 0.10753, 0.04206, 0.01304, 0.01185],
        [0.03292, -0.03959, -0.03574, 0.03274, 0.04687, 0.07956],
    ],
)
def test_a_load_that_nothing_bears_is_refused_though_rounding_turns_a_tight_cable_along(stretch):
    links = [
        Link("up", 353.11304587274424, Joint("a", 1, 1.8459995788022634), None),
        Link("down", 346.8451370425745, Joint("b", -1, 2.011805896749225), None),
        Link("far", 1471.8224115674864, Joint("c", -1, 2.2017132955939935), None),
        Link("loop+", 256.5978745446015, Joint("d", 1, 1.8005493858662467), Joint("c", -1, 4.06916754437076)),
        Link("loop-", 425.7919012215, Joint("d", -1, 1.8005493858662467), Joint("c", 1, 4.06916754437076)),
        Link("cross", 125.63873948687204, Joint("b", -1, 2.420977742059634), Joint("c", 1, 1.5370671361323702)),
    ]
    circuit = Circuit(["a", "b", "c", "d"], links, [])
    # both cables of b pull one way and its load turns it the same way: no tensions balance that
    load = [125.12029851, 42.99541622, -44.35098914, -33.24972106]
    for arguments in ((stretch, load), ([stretch] * 2, load)):
        with pytest.raises(Refusal, match="nothing stops b and c and d"):
            circuit.solve(*arguments)


def test_one_case_without_an_answer_refuses_the_batch():
    circuit = Circuit(["a"], [Link("x", 100.0, Joint("a", 1, 2.0), None)], [])
    with pytest.raises(Refusal, match="nothing stops a:"):
        circuit.solve([[0.1], [0.2]], [[10.0], [-1.0]])


@pytest.mark.parametrize("load", [1e-5, 1.0, 1e6])
def test_what_a_load_turns_is_named_however_small_the_load(load):
    # two tabs, each on one cable; the other one, the horn and the stick are not to blame
    tabs = [Link(name, 200.0, Joint(name, 1, 1.5), Joint("horn", -1, 3.0)) for name in ("one", "two")]
    circuit = Circuit(["stick", "horn", "one", "two"], [*pair("stick", "horn"), *tabs], ["stick"])
    stretch = [0.05, 0.05, 0.0, 0.0]
    with pytest.raises(Refusal, match="nothing stops two:"):
        circuit.solve(stretch, [0, 0, 0, -load])
    # and of a batch one case: what another turns is not told of it
    with pytest.raises(Refusal, match=r"nothing stops (one|two):"):
        circuit.solve([stretch, stretch], [[0, 0, -load, 0], [0, 0, 0, -load]])


# --- the edge


def test_all_slack_and_no_load_rests():
    balance = STICK_AND_HORN.solve([-0.1, -0.2])
    assert list(balance.tension_lbf) == [0, 0]
    assert balance.slack.all()
    batch = STICK_AND_HORN.solve([[-0.1, -0.2], [0, 0], [0.1, 0.1]])
    assert batch.tension_lbf == pytest.approx(np.array([[0, 0], [0, 0], [100, 100]]), abs=1e-9)


@pytest.mark.parametrize("takeup", [0.1, 1 / 3, 1.0, 17.7])
@pytest.mark.parametrize("arms", [(3.0, 3.0), (0.5, 30.0), (30.0, 0.5), (1 / 3, 0.7)])
def test_taken_up_on_one_side_as_far_as_let_out_on_the_other(takeup, arms):
    # the sum of the stretches is zero: the loop turns and no tension stands, but for rounding
    circuit = Circuit(["stick", "horn"], pair("stick", "horn", arms=arms), ["stick"])
    balance = circuit.solve([takeup, -takeup])
    assert balance.tension_lbf == pytest.approx(np.zeros(2), abs=1e-9)
    assert balance.angle_rad[1] == pytest.approx(-takeup / arms[1])


def test_a_held_sector_at_an_angle_takes_its_loop_along():
    # the stick forward 0.2 rad; the horn follows, whatever hangs slack by as much
    balance = STICK_AND_HORN.solve([-0.01, -0.01], None, [0.2, 0])
    assert balance.tension_lbf == pytest.approx([0, 0], abs=1e-9)
    # within the play of 0.01 in over 3 in
    assert abs(balance.angle_rad[1] + 0.2) <= 0.01 / 3 + 1e-9


def test_everything_held_is_stretch_times_stiffness():
    circuit = Circuit(["stick", "horn"], pair("stick", "horn", arms=(3.0, 2.0)), ["stick", "horn"])
    assert list(circuit.solve([0.01, -0.01]).tension_lbf) == [10, 0]
    # 3 x 0.01 + 2 x 0.02 = 0.07 in more on the + side, less on the other; in a batch, and with moments into the pins
    batch = circuit.solve([[0.01, 0.01], [0.1, 0.1]], [5.0, 5.0], [0.01, 0.02])
    assert batch.tension_lbf == pytest.approx(np.array([[80, 0], [170, 30]]))
    assert batch.angle_rad.tolist() == [[0.01, 0.02], [0.01, 0.02]]
    assert circuit.solve(np.zeros((3, 2)), np.zeros((3, 2))).tension_lbf.tolist() == [[0, 0]] * 3


def test_an_empty_batch_is_empty():
    assert STICK_AND_HORN.solve(np.zeros((0, 2))).tension_lbf.shape == (0, 2)
    assert STICK_AND_HORN.solve([0.1, 0.1], np.zeros((0, 2))).angle_rad.shape == (0, 2)


def test_a_cable_between_two_fixed_points_is_no_part_of_any_balance():
    circuit = Circuit(["horn"], [Link("stay", 10.0, None, None), *pair("horn", "horn", arms=(1.0, 1.0))], ["horn"])
    assert circuit.solve([2.0, 0, 0]).tension_lbf[0] == 10.0 * 2.0  # its stiffness by its stretch


@pytest.mark.parametrize("soft", [1.0, 1e-2, 1e-4])
def test_very_soft_beside_very_stiff(soft):
    # a stout cable 1e5 lbf/in and a soft spring through one idler: in series, k = 1e5 soft/(1e5 + soft)
    links = [Link("stout", 1e5, None, Joint("idler", 1, 3.0)), Link("soft", soft, Joint("idler", -1, 3.0), None)]
    series = 1e5 * soft / (1e5 + soft)
    tension = Circuit(["idler"], links, []).solve([0.0, 2.0]).tension_lbf
    assert tension[1] == pytest.approx(2.0 * series, rel=1e-12)
    # the stout one's stretch is what is left of two far larger numbers: 1e5 lbf/in times their last digit
    assert tension[0] == pytest.approx(2.0 * series, abs=1e5 * 2.0 * 1e-15)
    # taken up until the soft one is the only one tight, and a moment that both would bear
    tension = Circuit(["idler"], links, []).solve([-1.0, 0.0], [-6.0]).tension_lbf
    assert tension == pytest.approx([0.0, 2.0], rel=1e-12)


@pytest.mark.parametrize(("short", "long"), [(0.5, 30.0), (0.01, 100.0)])
def test_very_unlike_arms(short, long):
    # one pound on the long arm is long/short pounds on the short one
    links = [Link("short", 2000.0, None, Joint("crank", 1, short)), Link("long", 500.0, Joint("crank", -1, long), None)]
    circuit = Circuit(["crank"], links, [])
    tension = circuit.solve([0.1, 0.1]).tension_lbf
    assert tension[0] * short == pytest.approx(tension[1] * long, rel=1e-10)
    # short (0.1 + short p) 2000 = long (0.1 - long p) 500
    turn = 0.1 * (500 * long - 2000 * short) / (2000 * short**2 + 500 * long**2)
    assert tension == pytest.approx([2000 * (0.1 + short * turn), 500 * (0.1 - long * turn)], rel=1e-9)


@pytest.mark.parametrize("count", [3, 30, 300])
def test_a_ring_of_many_cables(count):
    # equal arms all round, one sector held: every cable bears sum(stretch) / sum(1/k)
    names = [f"s{i}" for i in range(count)]
    k = 500.0 + 37.0 * (np.arange(count) % 11)
    links = [Link(f"c{i}", k[i], Joint(names[i], 1, 3.0), Joint(names[(i + 1) % count], -1, 3.0)) for i in range(count)]
    circuit = Circuit(names, links, names[:1])
    stretch = 0.05 + 0.04 * np.sin(np.arange(count))
    expected = stretch.sum() / (1 / k).sum()
    assert circuit.solve(stretch).tension_lbf == pytest.approx(np.full(count, expected), rel=1e-9)
    # a moment in the middle that slackens one half: the other half bears it all, M/r
    load = np.zeros(count)
    load[count // 2] = 1e5
    tension = circuit.solve(stretch, load).tension_lbf
    assert tension[count // 2] == pytest.approx(1e5 / 3, rel=1e-9)
    assert tension[count // 2 :] == pytest.approx(np.full(count - count // 2, 1e5 / 3), rel=1e-9)
    assert (tension[: count // 2] == 0).all()


def test_the_same_cable_many_times_shares_the_load():
    circuit = Circuit(["horn"], [Link(f"c{i}", 100.0, None, Joint("horn", 1, 2.0)) for i in range(20)], [])
    assert circuit.solve(np.zeros(20), [80.0]).tension_lbf == pytest.approx(np.full(20, 2.0))
    # one far longer than the others takes no part
    stretch = np.zeros(20)
    stretch[7] = -5.0
    tension = circuit.solve(stretch, [76.0]).tension_lbf
    assert tension == pytest.approx(np.where(np.arange(20) == 7, 0.0, 2.0))


def test_what_is_kept_of_a_circuit_stays_bounded(monkeypatch):
    # twelve springs at one sector going slack one by one, at random: many sets, and the same answers when forgotten
    links = [Link(f"c{i}", 100.0, None, Joint("horn", 1 if i % 2 else -1, 2.0)) for i in range(12)]
    stretch = np.random.default_rng(3).normal(0, 0.1, (500, 12))
    kept = Circuit(["horn"], links, []).solve(stretch).tension_lbf
    monkeypatch.setattr(circuit_search, "MOST_KEPT", 2000)
    circuit = Circuit(["horn"], links, [])
    forgotten = circuit.solve(stretch).tension_lbf
    assert len(circuit._search.kept) < 12
    assert forgotten == pytest.approx(kept, abs=1e-9)


def test_values_by_name():
    # both sides alike, so neither turns the horn: stiffness by stretch
    values = named(STICK_AND_HORN, STICK_AND_HORN.solve([0.04, 0.04]).tension_lbf)
    assert values == pytest.approx({"stick+": 40, "stick-": 40})


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0, 3.0]])
def test_values_of_another_circuit_have_no_names_here(values):
    with pytest.raises(Refusal, match=f"{len(values)} values do not go with the 2 cables and springs"):
        named(STICK_AND_HORN, values)


# --- slack


def test_a_sector_that_nothing_holds_rests_amid_the_play_of_its_cables():
    # plays of 0.1 and 0.2 in at arms of 3 in: turned by 0.05/3 rad each has 0.15 in; as one of many the same
    balance = STICK_AND_HORN.solve([-0.1, -0.2])
    assert balance.angle_rad == pytest.approx([0.0, -0.05 / 3], abs=1e-12)
    batch = STICK_AND_HORN.solve([[0.1, 0.1], [-0.1, -0.2]])
    assert batch.angle_rad[1] == pytest.approx([0.0, -0.05 / 3], abs=1e-12)


@pytest.mark.parametrize("load", [1e-3, 6.0, 600.0])
def test_a_slack_loop_under_load_is_borne_by_one_cable(load):
    # T = M / r on the side that it pulls, nothing on the other, however small the load and large the play
    for sign, expected in ((1.0, [load / 3, 0.0]), (-1.0, [0.0, load / 3])):
        stretch, moment = [-0.1, -0.2], [0.0, sign * load]
        assert STICK_AND_HORN.solve(stretch, moment).tension_lbf == pytest.approx(expected, rel=1e-9, abs=1e-12)
        batch = STICK_AND_HORN.solve([stretch, [0.1, 0.1], stretch], moment)
        assert batch.tension_lbf[2] == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_no_tension_is_a_zero_below_zero():
    links = [*pair("stick", "horn"), Link("idle", 100.0, Joint("tab", 1, 2.0), Joint("horn", 1, 3.0))]
    circuit = Circuit(["stick", "horn", "tab"], links, ["stick"])
    for stretch in ([0.1, 0.1, 0.0], [-0.1, -0.1, 0.0], [0.0, 0.0, 0.0], [-0.0, -0.0, -0.0]):
        assert not np.signbit(circuit.solve(stretch).tension_lbf).any()
        assert not np.signbit(circuit.solve([stretch]).tension_lbf).any()


# what rounding leaves of zero grows with arms and stiffness: these were drawn once, and none is held
@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e3, 1e6])
@pytest.mark.parametrize(("one", "other"), [(3.1, 2.7), (0.7, 5.3), (1.9, 1.1)])
def test_loops_of_any_size_held_nowhere_are_loose(scale, one, other):
    links = [
        Link("up", 123.4 * scale, Joint("stick", 1, one), Joint("horn", -1, other)),
        Link("down", 567.8 * scale, Joint("stick", -1, one), Joint("horn", 1, other)),
        Link("more", 91.2 * scale, Joint("horn", 1, other / 3), Joint("stick", -1, one / 3)),
    ]
    with pytest.raises(Refusal, match="nothing restrains"):
        Circuit(["stick", "horn"], links, [])
    held = Circuit(["stick", "horn"], links, ["stick"])
    assert held.solve([0.1, 0.1, 0.1]).tension_lbf.max() > 0


def test_a_moment_slackens_one_side_only_as_far_as_it_must():
    # pretension 100 lbf in both; a moment past that needed to slacken one is borne by the other alone: T = M / r
    tension = STICK_AND_HORN.solve([0.1, 0.1], [0.0, 3.0 * 1000.0]).tension_lbf
    assert sorted(tension) == pytest.approx([0.0, 1000.0])
