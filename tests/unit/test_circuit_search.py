"""How soon a balance is found, and where a sector rests that its tight cables leave loose.

Nothing here asks for time: what is counted is how often the careful way is gone, and how often a question met before is
worked through anew. The circuits are drawn; their angles are held to a least squares sum of numpy's.
"""

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.physics import circuit_search
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.circuit_lines import alike, lines
from rigging.physics.circuit_newton import newton
from rigging.physics.circuit_search import Search


def drawn_circuit(rng):
    """A tree of loops of unlike cables on a held sector, at times with a spring at its end."""
    names = [f"s{i}" for i in range(int(rng.integers(2, 6)))]
    links = []
    for i in range(1, len(names)):
        near = names[int(rng.integers(0, i))]
        for side in (1, -1):
            joints = Joint(near, side, rng.uniform(1, 4)), Joint(names[i], side, rng.uniform(1, 4))
            links.append(Link(f"{names[i]} {side}", rng.uniform(200, 2000), *joints))
    if rng.random() < 0.5:
        links.append(Link("spring", rng.uniform(2, 20), Joint(names[-1], 1, 3.0), None))
    return Circuit(names, links, names[:1])


def pulls(circuit):
    """Stretch of every link per radian of every sector, by the definition."""
    table = np.zeros((len(circuit.links), len(circuit.sectors)))
    for i, link in enumerate(circuit.links):
        for joint in (link.start, link.end):
            if joint is not None:
                table[i, circuit.sectors.index(joint.sector)] += joint.side * joint.arm_in
    return table


def asked(rng, circuit, spread_in, load_in_lbf):
    """Stretches about 0.05 in and moments, as a circuit may be asked."""
    stretch = rng.normal(0.05, spread_in, len(circuit.links))
    return stretch, load_in_lbf * rng.normal(size=len(circuit.sectors)) if load_in_lbf else None


@pytest.fixture
def careful(monkeypatch):
    """How many cases have gone the careful way."""
    count = []
    newton = circuit_search.newton

    def counted(frame, lines_of, base, moment, phi):
        count.extend([1] * base.shape[1])
        return newton(frame, lines_of, base, moment, phi)

    monkeypatch.setattr(circuit_search, "newton", counted)
    return count


@pytest.fixture
def worked_through(monkeypatch):
    """How many single cases were not answered by a set of tight links that came to mind."""
    count = []
    one = Search.one

    def counted(self, base, moment):
        count.append(1)
        return one(self, base, moment)

    monkeypatch.setattr(Search, "one", counted)
    return count


@pytest.mark.parametrize("load_in_lbf", [0.0, 50.0, 500.0])
def test_loops_about_as_tight_as_they_are_rigged_hardly_ever_go_the_careful_way(load_in_lbf, careful):
    # take-up of 0.05 in give or take 0.02: under 50 in lbf a cable goes slack in every fourth, under 500 in most
    slack = 0
    for seed in range(100):
        rng = np.random.default_rng(seed)
        circuit = drawn_circuit(rng)
        slack += circuit.solve(*asked(rng, circuit, 0.02, load_in_lbf)).slack.any()
        many = [asked(rng, circuit, 0.02, load_in_lbf) for _ in range(10)]
        circuit.solve([x for x, _ in many], [m for _, m in many] if load_in_lbf else None)
    assert slack > 20 or not load_in_lbf
    # of 1100
    assert len(careful) <= 4


@pytest.mark.parametrize(("spread_in", "most"), [(0.05, 20), (0.2, 30), (1.0, 40)])
def test_few_go_the_careful_way_however_they_hang(spread_in, most, careful):
    # of 200, and none of these is held any other way: what goes round in circles is put right there
    for seed in range(200):
        rng = np.random.default_rng(seed)
        circuit = drawn_circuit(rng)
        circuit.solve(*asked(rng, circuit, spread_in, 0.0))
    assert len(careful) <= most


@pytest.mark.parametrize("load_in_lbf", [0.0, 50.0])
def test_what_was_met_before_is_answered_at_once(load_in_lbf, worked_through):
    for seed in range(50):
        rng = np.random.default_rng(seed)
        circuit = drawn_circuit(rng)
        stretch, moment = asked(rng, circuit, 0.02, load_in_lbf)
        first = circuit.solve(stretch, moment)
        if first.slack.any() and not load_in_lbf:
            continue  # a loop that hangs slack with nothing to pull it may rest at the edge
        worked_through.clear()
        again = circuit.solve(stretch * (1 + 1e-9), None if moment is None else moment * (1 + 1e-9))
        assert (again.slack == first.slack).all()
        assert not worked_through


@pytest.fixture
def made(monkeypatch):
    """How many sets of tight links have been worked out."""
    count = []

    def counted(*of):
        count.append(1)
        return lines(*of)

    monkeypatch.setattr(circuit_search, "lines", counted)
    return count


# sets worked out for 200 circuits, one case each, beside that of every link tight: a tenth more than were counted once
@pytest.mark.parametrize(
    ("spread_in", "load_in_lbf", "most"), [(0.05, 0.0, 130), (0.05, 50.0, 160), (0.05, 500.0, 240)]
)
def test_one_set_names_the_next(spread_in, load_in_lbf, most, made):
    for batch in (False, True):
        made.clear()
        for seed in range(200):
            rng = np.random.default_rng(seed)
            circuit = drawn_circuit(rng)
            stretch, moment = asked(rng, circuit, spread_in, load_in_lbf)
            circuit.solve([stretch] if batch else stretch, moment)
        assert len(made) - 200 <= most


def test_a_set_is_worked_out_once(made):
    rng = np.random.default_rng(5)
    circuit = drawn_circuit(rng)
    stretches = rng.normal(0.0, 0.1, (40, len(circuit.links)))
    for _ in range(2):
        for stretch in stretches:
            circuit.solve(stretch)
        circuit.solve(stretches)
    assert len(made) - 1 == len(circuit._search.kept) > 3


@pytest.mark.parametrize("tight", [[True, True, False, False, True], [False] * 5, [True] * 5])
def test_the_size_of_a_set_is_what_its_arrays_hold(tight):
    rng = np.random.default_rng(2)
    a, stiffness = rng.normal(size=(5, 2)), rng.uniform(1, 2, 5)
    of = lines(a, stiffness, np.array(tight), np.array([True, False, True]))
    assert of.size == of.by_stretch.size + of.by_moment.size + of.inverse.size + of.null.size + of.freed.size


def at_the_edge(rng, circuit, play_in=0.0):
    """Stretches and moments of a balance drawn first; what does not pull hangs slack by this at most."""
    a, k = pulls(circuit), circuit.stiffness_lbf_per_in
    tension = np.where(rng.random(len(k)) < 0.5, 0.0, rng.uniform(0.01, 200, len(k)))
    angle = rng.normal(0, 0.3, len(circuit.sectors)) * [name not in circuit.held for name in circuit.sectors]
    return tension / k - np.where(tension > 0, 0.0, play_in * rng.random(len(k))) - a @ angle, tension @ a


def test_an_answer_is_the_same_to_the_last_bit_whatever_was_asked_before(careful):
    for seed in range(60):
        rng = np.random.default_rng([11, seed])
        circuit = drawn_circuit(rng)
        questions = [asked(rng, circuit, 0.3, 50.0), *(at_the_edge(rng, circuit) for _ in range(3))]
        questions += [(x, None) for x, _ in questions] + [(np.zeros(len(circuit.links)), m) for _, m in questions[1:]]
        answers = [circuit.solve(*question) for question in questions]
        again = [circuit.solve(*question) for question in questions[::-1]][::-1]
        for question, one, other in zip(questions, answers, again, strict=True):
            fresh = Circuit(circuit.sectors, circuit.links, circuit.held).solve(*question)
            assert (fresh.tension_lbf == one.tension_lbf).all() and (fresh.tension_lbf == other.tension_lbf).all()
            assert (fresh.angle_rad == one.angle_rad).all() and (fresh.angle_rad == other.angle_rad).all()
    assert len(careful) > 10


def test_at_the_edge_of_slack_every_tension_is_the_one_laid_down():
    for seed in range(100):
        rng = np.random.default_rng([12, seed])
        circuit = drawn_circuit(rng)
        questions = [at_the_edge(rng, circuit) for _ in range(6)]
        a, k = pulls(circuit), circuit.stiffness_lbf_per_in
        batch = circuit.solve([x for x, _ in questions], [m for _, m in questions])
        for i, (stretch, moment) in enumerate(questions):
            for found in (circuit.solve(stretch, moment), type(batch)(batch.tension_lbf[i], batch.angle_rad[i])):
                free = [name not in circuit.held for name in circuit.sectors]
                assert (found.tension_lbf @ a - moment)[free] == pytest.approx(0.0, abs=1e-8)
                stretched = k * np.maximum(0.0, stretch + a @ found.angle_rad)
                assert found.tension_lbf == pytest.approx(stretched, abs=1e-8)


def test_a_tight_circuit_is_no_slack_one_because_of_its_size():
    # every cable tight by a hundredth of an inch, sectors turned by far more: nothing is at the edge
    loop = [Link(n, 1000.0, Joint("stick", s, 3.0), Joint("horn", s, 3.0)) for n, s in (("up", 1), ("down", -1))]
    circuit = Circuit(["stick", "horn"], loop, ["stick"])
    for turned in (0.0, 1.0, 1e3):
        assert circuit.solve([0.01 + turned, 0.01 - turned]).tension_lbf == pytest.approx([10.0, 10.0], rel=1e-6)


def resting_angles(circuit, stretch, moment, tension):
    """Angles of the free sectors in balance with these tensions, the slack links pushing and pulling alike where it is loose.

    Beside them by how much the least slack link then hangs slack [in].
    """
    a = pulls(circuit)[:, [name not in circuit.held for name in circuit.sectors]]
    k = circuit.stiffness_lbf_per_in
    tight = tension > 1e-6
    angle, *_ = np.linalg.lstsq(a[tight], tension[tight] / k[tight] - stretch[tight], rcond=None)
    _, s, v = np.linalg.svd(a[tight]) if tight.any() else (None, np.zeros(0), np.eye(a.shape[1]))
    null = v[int((s > 1e-9).sum()) :].T
    root = np.sqrt(k[~tight])
    if null.size and root.size:
        way, *_ = np.linalg.lstsq(root[:, None] * (a[~tight] @ null), -root * (stretch + a @ angle)[~tight], rcond=None)
        angle = angle + null @ way
    return angle, float(-(stretch + a @ angle)[~tight].max(initial=-1.0))


@pytest.mark.parametrize("load_in_lbf", [0.0, 50.0])
def test_a_sector_rests_where_its_slack_cables_would_leave_it(load_in_lbf, careful):
    looked_at = 0
    for seed in range(300):
        rng = np.random.default_rng([7, seed])
        circuit = drawn_circuit(rng)
        stretch, moment = asked(rng, circuit, rng.choice([0.05, 0.3, 1.0]), load_in_lbf)
        free = np.array([name not in circuit.held for name in circuit.sectors])
        single = circuit.solve(stretch, moment)
        expected, play_in = resting_angles(circuit, stretch, moment, single.tension_lbf)
        if play_in < 1e-6:
            continue  # there it is some angle at which they hang slack
        looked_at += 1
        assert single.angle_rad[free] == pytest.approx(expected, abs=1e-8)
        if moment is None:
            batch = circuit.solve([np.full(len(stretch), 0.05), stretch, -np.abs(stretch)])
            assert batch.angle_rad[1][free] == pytest.approx(expected, abs=1e-8)
    assert looked_at > 100
    assert len(careful) > 10 or load_in_lbf


# where Newton's method begins: radians off the angles that the stretches are counted from
@pytest.mark.parametrize("start_rad", [0.0, 1.0, 1e3])
def test_newton_comes_to_a_balance_laid_down_from_anywhere(start_rad):
    steps = []
    for seed in range(60):
        rng = np.random.default_rng([13, seed])
        circuit = drawn_circuit(rng)
        search, k = circuit._search, circuit.stiffness_lbf_per_in
        drawn = [at_the_edge(rng, circuit, play_in) for play_in in (0.0, 0.0, 0.1, 1.0)]
        base, moment = np.array([x for x, _ in drawn]).T, np.array([m for _, m in drawn]).T[search.free]

        def lines_of(tight, search=search):
            steps.append(1)
            return search.lines_of(tight)

        begin = start_rad * rng.normal(size=moment.shape)
        tight, phi = newton(search.frame, lines_of, base, moment, begin)
        x = base + search.frame.a @ phi
        tension = k[:, None] * np.maximum(0.0, x)
        assert (tight == (x > 0.0))[np.abs(x) > 1e-9].all()
        assert search.frame.a.T @ tension == pytest.approx(moment, abs=1e-7)
    # of the 240 cases together, a tenth more than were counted once
    assert len(steps) <= 520


def test_no_load_and_a_load_of_nothing_are_one_question():
    # plays of 0.1 and 0.2 in on arms of 3 in: amid them, 0.05 in off
    loop = [Link(n, 1000.0, Joint("stick", s, 3.0), Joint("horn", s, 3.0)) for n, s in (("up", 1), ("down", -1))]
    circuit = Circuit(["stick", "horn"], loop, ["stick"])
    for stretch in ([-0.1, -0.2], [[-0.1, -0.2], [0.1, 0.1]]):
        angle = circuit.solve(stretch, [0.0, 0.0]).angle_rad.reshape(-1, 2)[0]
        assert angle == pytest.approx([0.0, -0.05 / 3], abs=1e-12)
    # nor does a load that tight cables bear turn what hangs slack beyond: 30 / (2 x 1000 x 3^2) rad at the horn alone
    beyond = [Link(n, 1000.0, Joint("horn", s, 3.0), Joint("tab", s, 3.0)) for n, s in (("left", 1), ("right", -1))]
    circuit = Circuit(["stick", "horn", "tab"], [*loop, *beyond], ["stick"])
    horn_rad = 30.0 / 18_000.0
    for stretch in ([0.1, 0.1, -0.1, -0.2], [[0.1, 0.1, -0.1, -0.2], [0.1] * 4]):
        angle = circuit.solve(stretch, [0.0, 30.0, 0.0]).angle_rad.reshape(-1, 3)[0]
        assert angle == pytest.approx([0.0, horn_rad, -0.05 / 3 - horn_rad], abs=1e-12)
        # and 3000 at the horn that one cable bears, 1000 lbf: an inch of stretch, 0.1 of it taken up
        angle = circuit.solve(stretch, [0.0, 3000.0, 0.0]).angle_rad.reshape(-1, 3)[0]
        assert angle == pytest.approx([0.0, 0.3, -0.05 / 3 - 0.3], abs=1e-12)


@pytest.mark.parametrize("links", [1, 5, 8, 9, 20])
def test_columns_that_are_the_same_set_are_found_together(links):
    rng = np.random.default_rng(links)
    kinds = rng.random((links, 4)) < 0.5
    tight = kinds[:, rng.integers(0, 4, 60)]
    groups = alike(tight)
    assert sorted(place for group in groups for place in group.tolist()) == list(range(60))
    assert all((tight[:, group] == tight[:, group[:1]]).all() for group in groups)
    assert len(groups) == len({column.tobytes() for column in tight.T})
    assert alike(np.zeros((links, 0), dtype=bool)) == []


@pytest.mark.parametrize("moments", [[5.0], [5.0, 0.0, 0.0]])
def test_a_moment_too_few_or_too_many_is_refused(moments):
    loop = [Link(n, 1000.0, Joint("stick", s, 3.0), Joint("horn", s, 3.0)) for n, s in (("up", 1), ("down", -1))]
    circuit = Circuit(["stick", "horn"], loop, ["stick"])
    with pytest.raises(Refusal, match="the moments of this circuit are 2 a case"):
        circuit.solve([0.1, 0.1], moments)
