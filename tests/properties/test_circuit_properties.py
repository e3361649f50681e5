"""What must hold for every circuit, whatever hangs in it."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rigging.errors import Refusal
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.sheet.circuit import circuit_model
from rigging.sheet.load import load_rig

pytestmark = pytest.mark.slow

_spec = importlib.util.spec_from_file_location("circuits", Path(__file__).with_name("circuits.py"))
circuits = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(circuits)
cases, energy, largest = circuits.cases, circuits.energy, circuits.largest

SEED = st.integers(0, 2**32 - 1)
CLOSE = 1e-8  # of the largest tension


def solved(case, stretch=None, moment=None):
    return case.circuit.solve(
        case.stretch if stretch is None else stretch, case.moment if moment is None else moment, case.held_angle
    )


def close(found, expected):
    """Within 1e-8 of the largest tension."""
    assert np.abs(np.asarray(found) - expected).max(initial=0.0) <= CLOSE * largest(expected)


@settings(max_examples=400, deadline=None)
@given(cases())
def test_the_balance_laid_down_is_found(case):
    close(solved(case).tension_lbf, case.tension)


def test_a_circuit_all_of_whose_cables_hang_at_the_edge_of_slack():
    # once went round in circles: a stretch of 1e-301 in was neither tight nor slack for long
    links = [
        Link("a", 11, Joint("A", 1, 1.0), Joint("B", -1, 1.0)),
        Link("b", 11, Joint("A", 1, 1.0), Joint("B", 1, 1.0)),
        Link("c", 11, None, Joint("B", 1, 1.0)),
    ]
    balance = Circuit(["A", "B"], links, ["A"]).solve([-0.5, -0.5, 1.7e-301], [77.0, 0.0], [0.5, 0.0])
    assert balance.tension_lbf == pytest.approx(0.0, abs=CLOSE)
    assert balance.angle_rad == pytest.approx([0.5, 0.0], abs=CLOSE)


@settings(deadline=None)
@given(cases(), SEED)
def test_no_tension_is_negative_and_every_free_sector_is_in_balance(case, seed):
    # another load and another set of stretches than the one laid down, of the same kind
    rng = np.random.default_rng(seed)
    pull = np.where(rng.random(len(case.tension)) < 0.3, 0.0, rng.uniform(0, 500, len(case.tension)))
    moment = case.arms.T @ pull
    stretch = case.stretch + rng.normal(0, 0.1, len(pull))
    balance = solved(case, stretch, moment)
    assert (balance.tension_lbf >= 0).all()
    assert (balance.slack == (balance.tension_lbf <= 0)).all()
    scale = np.abs(case.arms).max() * max(largest(balance.tension_lbf), np.abs(moment).max())
    assert np.abs((case.arms.T @ balance.tension_lbf - moment)[case.free]).max(initial=0.0) <= CLOSE * scale
    # and each tension is what its own cable gives at these angles
    close(case.stiffness * np.maximum(0.0, stretch + case.arms @ balance.angle_rad), balance.tension_lbf)
    assert (balance.angle_rad[~case.free] == case.held_angle[~case.free]).all()


@settings(deadline=None)
@given(cases(), SEED)
def test_no_other_state_has_less_energy(case, seed):
    rng = np.random.default_rng(seed)
    stretch = case.stretch + rng.normal(0, 0.1, len(case.tension))
    angle = solved(case, stretch).angle_rad
    least = energy(case, stretch, case.moment, angle)
    apart = 10.0 ** rng.uniform(-6, 0.5, (200, 1)) * rng.normal(size=(200, len(angle))) * case.free
    trials = np.concatenate([angle + apart, case.held_angle + apart, [case.held_angle]])
    others = energy(case, stretch, case.moment, trials)
    # rounding: parts in 1e12 of the largest term of either sum
    size = 0.5 * case.stiffness * (np.abs(stretch) + np.abs(trials) @ np.abs(case.arms).T) ** 2
    rounding = 1e-12 * (size.sum(axis=1) + np.abs(trials) @ np.abs(case.moment * case.free) + abs(least))
    assert (least <= others + rounding).all()


@settings(deadline=None)
@given(cases(), SEED)
def test_a_batch_is_its_singles(case, seed):
    # far from and close to slack, so that many sets of tight links are met; moments and held angles broadcast
    rng = np.random.default_rng(seed)
    stretch = case.stretch + rng.normal(0, 1, (5, 1, len(case.tension))) * rng.choice([1e-3, 0.1, 1.0])
    pull = rng.uniform(0, 200, (4, len(case.tension)))
    moment = pull @ case.arms
    held = case.held_angle + rng.normal(0, 0.2, (4, len(case.free))) * ~case.free
    batch = case.circuit.solve(stretch, moment, held)
    assert batch.tension_lbf.shape == (5, 4, len(case.tension))
    assert batch.angle_rad.shape == (5, 4, len(case.free))
    for i in range(5):
        for j in range(4):
            close(batch.tension_lbf[i, j], case.circuit.solve(stretch[i, 0], moment[j], held[j]).tension_lbf)
    # one case against many of another kind, in all three places
    many = case.circuit.solve(case.stretch, moment, case.held_angle).tension_lbf
    for j in range(4):
        close(many[j], case.circuit.solve(case.stretch, moment[j], case.held_angle).tension_lbf)
    many = case.circuit.solve(case.stretch, case.moment, np.stack([case.held_angle] * 3)).tension_lbf
    for row in many:
        close(row, solved(case).tension_lbf)
    many = case.circuit.solve(stretch[:, 0], case.moment, case.held_angle).tension_lbf
    for i in range(5):
        close(many[i], solved(case, stretch[i, 0]).tension_lbf)


@settings(deadline=None)
@given(cases(), st.data())
def test_turning_a_turnbuckle_and_back_returns(case, data):
    before = solved(case)
    link = data.draw(st.integers(0, len(case.tension) - 1))
    takeup = np.zeros(len(case.tension))
    takeup[link] = data.draw(st.floats(-1, 1))
    solved(case, case.stretch + takeup)
    after = solved(case)
    # nothing is left in the circuit by what it was asked in between, to the last bit
    assert (after.tension_lbf == before.tension_lbf).all()
    assert (after.angle_rad == before.angle_rad).all()
    close(solved(case, case.stretch + takeup - takeup).tension_lbf, case.tension)


@settings(deadline=None)
@given(cases(), SEED)
def test_an_answer_does_not_depend_on_what_was_asked_before(case, seed):
    # to the last bit, with sets of tight links that change from one question to the next
    rng = np.random.default_rng(seed)
    stretches = case.stretch + rng.normal(0, 0.3, (6, len(case.tension))) * rng.choice([0.0, 1e-3, 1.0], (6, 1))
    moments = rng.uniform(0, 200, (6, len(case.tension))) @ case.arms * rng.choice([0.0, 1.0], (6, 1))
    used = [case.circuit.solve(x, m) for x, m in zip(stretches, moments, strict=True)]
    again = [case.circuit.solve(x, m) for x, m in zip(stretches[::-1], moments[::-1], strict=True)][::-1]
    for x, m, one, other in zip(stretches, moments, used, again, strict=True):
        fresh = Circuit(case.circuit.sectors, case.circuit.links, case.circuit.held).solve(x, m)
        assert (fresh.tension_lbf == one.tension_lbf).all() and (fresh.tension_lbf == other.tension_lbf).all()
        assert (fresh.angle_rad == one.angle_rad).all() and (fresh.angle_rad == other.angle_rad).all()


@settings(deadline=None)
@given(cases(), st.data())
def test_taking_up_never_slackens_its_own_cable(case, data):
    # the energy is convex: the tension of a link rises with its own take-up, by its stiffness at most
    link = data.draw(st.integers(0, len(case.tension) - 1))
    inch = data.draw(st.floats(0, 1))
    takeup = np.zeros(len(case.tension))
    takeup[link] = inch
    after = solved(case, case.stretch + takeup).tension_lbf
    gained = after[link] - case.tension[link]
    noise = CLOSE * largest(np.maximum(after, case.tension))
    assert -noise <= gained <= case.stiffness[link] * inch + noise


@settings(deadline=None)
@given(cases(tight=True))
def test_double_stretch_and_moment_double_every_tension_and_angle(case):
    held = case.circuit.solve(case.stretch, case.moment, case.held_angle)
    double = case.circuit.solve(2 * case.stretch, 2 * case.moment, 2 * case.held_angle)
    close(held.tension_lbf, case.tension)
    close(double.tension_lbf, 2 * case.tension)
    assert double.angle_rad == pytest.approx(2 * held.angle_rad, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(cases(), st.floats(1e-3, 1e3))
def test_with_slack_too_tensions_scale_with_stretch_and_moment_together(case, factor):
    scaled = case.circuit.solve(factor * case.stretch, factor * case.moment, factor * case.held_angle)
    assert np.abs(scaled.tension_lbf - factor * case.tension).max() <= CLOSE * factor * largest(case.tension)


@settings(deadline=None)
@given(cases(tight=True), st.data())
def test_pretension_balances_and_turns_nothing(case, data):
    basis = case.circuit.pretension()
    a = case.arms[:, case.free]
    rank = np.linalg.matrix_rank(a / np.abs(a).max(axis=0, initial=0.0)) if a.shape[1] else 0
    assert basis.shape == (len(case.tension), len(case.tension) - rank)
    assert np.abs(basis.T @ basis - np.eye(basis.shape[1])).max(initial=0.0) < 1e-12
    assert np.abs(a.T @ basis).max(initial=0.0) < 1e-12 * np.abs(a).max(initial=1.0) * len(case.tension)
    # taken up so far that only this is added: every link still tight, no sector turns
    weights = np.array([data.draw(st.floats(-1, 1)) for _ in range(basis.shape[1])])
    added = basis @ weights * 0.9 * case.tension.min() / max(np.abs(basis @ weights).max(initial=0.0), 1.0)
    after = solved(case, case.stretch + added / case.stiffness)
    close(after.tension_lbf, case.tension + added)
    assert after.angle_rad == pytest.approx(solved(case).angle_rad, abs=1e-8)


@settings(deadline=None)
@given(cases(tight=True), st.data())
def test_takeup_effect_is_the_difference_of_two_balances(case, data):
    tension, angle = case.circuit.takeup_effect()
    n = len(case.tension)
    assert tension.shape == (n, n)
    assert angle.shape == (len(case.free), n)
    assert (angle[~case.free] == 0).all()
    j = data.draw(st.integers(0, n - 1))
    # as far as every link stays tight, tensions go straight; both ways, so that nothing of second order hides
    step = 0.5 * case.tension.min() / case.stiffness.max()
    takeup = step * np.eye(n)[j]
    up, down = solved(case, case.stretch + takeup), solved(case, case.stretch - takeup)
    assume((up.tension_lbf > 0).all() and (down.tension_lbf > 0).all())
    gained = (up.tension_lbf - down.tension_lbf) / 2
    turned = (up.angle_rad - down.angle_rad) / 2
    assert np.abs(gained - tension[:, j] * step).max() <= CLOSE * largest(case.tension)
    assert np.abs(turned - angle[:, j] * step).max(initial=0.0) <= 1e-9


@settings(deadline=None)
@given(cases(tight=True))
def test_takeup_effect_is_mutual(case):
    # Maxwell and Betti: an inch in i gives j the tension that an inch in j gives i
    tension, _ = case.circuit.takeup_effect()
    assert np.abs(tension - tension.T).max() <= 1e-9 * case.stiffness.max()


@settings(deadline=None)
@given(cases(), st.data())
def test_the_order_of_links_and_sectors_is_a_matter_of_names(case, data):
    links = data.draw(st.permutations(range(len(case.tension))))
    sectors = data.draw(st.permutations(range(len(case.free))))
    names = case.circuit.sectors
    again = Circuit([names[s] for s in sectors], [case.circuit.links[i] for i in links], case.circuit.held)
    balance = again.solve(case.stretch[links], case.moment[sectors], case.held_angle[sectors])
    close(balance.tension_lbf, case.tension[links])


@settings(deadline=None)
@given(cases())
def test_a_cable_laid_twice_at_half_the_stiffness_is_the_same_cable(case):
    first, *rest = case.circuit.links
    half = first._replace(stiffness_lbf_per_in=first.stiffness_lbf_per_in / 2)
    twice = Circuit(case.circuit.sectors, [half, half._replace(name="twin"), *rest], case.circuit.held)
    balance = twice.solve(np.concatenate([case.stretch[:1], case.stretch]), case.moment, case.held_angle)
    close(balance.tension_lbf[0], case.tension[0] / 2)
    close(balance.tension_lbf[1:], np.concatenate([[case.tension[0] / 2], case.tension[1:]]))


@settings(deadline=None)
@given(cases(), st.floats(0.01, 100))
def test_a_load_that_no_cable_can_hold_is_refused_by_name(case, load):
    # a sector that hangs on one cable only, pushed the way the cable goes slack
    circuit = case.circuit
    names = [*circuit.sectors, "flap"]
    links = [*circuit.links, Link("last", 100.0, Joint("flap", 1, 2.0), None)]
    more = Circuit(names, links, circuit.held)
    stretch, held = np.append(case.stretch, 0.0), np.append(case.held_angle, 0.0)
    close(more.solve(stretch, np.append(case.moment, load), held).tension_lbf, np.append(case.tension, load / 2))
    with pytest.raises(Refusal, match="nothing stops flap:"):
        more.solve(stretch, np.append(case.moment, -load), held)
    with pytest.raises(Refusal, match="nothing stops flap:"):
        more.solve(np.stack([stretch] * 2), np.append(case.moment, -load), held)


SAME_EXPANSION = """\
rig_sheet: 1
aircraft: {{name: Even, registration: none}}
reference_temperature: 70F
airframe: {airframe}
circuits:
  aileron:
    sectors:
      stick: {{arm: 3 in}}
      left: {{arm: 2 in}}
      right: {{arm_plus: 2.5 in, arm_minus: 4 in}}
    hold: [stick]
    cables:
      a: {{size: 1/8, material: {wire}, length: 14 ft, from: stick +, to: left +}}
      b: {{size: 3/32, material: {wire}, length: 18 ft, from: left -, to: right +}}
      c: {{size: 5/32, material: {wire}, length: 9 ft, from: right -, to: stick -, give: 0.001 in/lbf}}
    springs:
      bungee: {{from: left +, rate: 5 lbf/in, pull: 10 lbf}}
"""


@pytest.fixture(scope="module")
def even_sheets(tmp_path_factory):
    """The same circuit in stainless cable on 304, and in carbon cable on a frame that expands as it does."""
    own = "{material: frame, expansion: 11.7e-6/C, expansion_half_width: 1e-6/C, source: a test piece}"
    made = []
    for wire, airframe in (("stainless", "stainless 304"), ("carbon", own)):
        path = tmp_path_factory.mktemp("even") / "sheet.yaml"
        path.write_text(SAME_EXPANSION.format(wire=wire, airframe=airframe), encoding="utf-8")
        made.append(circuit_model(load_rig(path), "aileron"))
    return made


@given(st.tuples(*[st.floats(0, 80)] * 3), st.floats(-135, 90), st.booleans())
def test_equal_temperature_on_equal_expansion_changes_nothing(even_sheets, tensions, change, which):
    model = even_sheets[which]
    cold = model.circuit.solve(model.stretch_in(tensions))
    warm = model.circuit.solve(model.stretch_in(tensions) + change * model.stretch_in_per_degF)
    close(warm.tension_lbf, cold.tension_lbf)
    # 11.7e-6/C by two ways of rounding
    assert np.abs(model.stretch_in_per_degF).max() < 1e-17
