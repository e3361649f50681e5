"""Limits moved through the whole circuit, held to statics by hand and to a second way of solving.

By hand: the tensions of a loop through one free sector balance on its arms, T1 r1 = T2 r2, and the sector turns until
the stretches fit (statics of springs in series; EA, expansions and their uncertainties from reference tables R4 and R5:
E 100 GPa, fill 0.585, EA +-7.5 % k=1; carbon cable 11.7 +2 / -0.7, 2024 22.9, spruce 4.45 and 4130 12.3, +-1 each, all 1e-6/C).

The second way: angles from the normal equations, A'KA phi = -A'K x, tensions K (x + A phi), with stretches that make
the tensions at reference what they are, whatever the stiffness. Every error is put in by itself, up and down, and half
the difference taken (central difference); EA enters K and the stretches at reference both.
"""

import datetime as dt
import math

import numpy as np
import pytest
from scipy.linalg import null_space

from rigging.jobs.check import check
from rigging.jobs.drift import components
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.thermal import Piece, compliance_in_per_lbf, responses, shift
from rigging.sheet.circuit import circuit_model
from rigging.sheet.load import load_rig

EA = 100e9 * 0.585 * math.pi / 4 * (0.125 * 0.0254) ** 2 / 4.4482216152605
ALUMINIUM, SPRUCE, STEEL_TUBE, CABLE = (x * 1e-6 / 1.8 for x in (22.9, 4.45, 12.3, 11.7))
CABLE_U = 2.7e-6 / 1.8 / math.sqrt(12)  # +2 / -0.7 as a rectangle over its whole width
FRAME_U = 1e-6 / 1.8 / math.sqrt(3)
READING_U = 2 / math.sqrt(3)
TODAY = dt.date(2026, 11, 25)

SHEET = """\
rig_sheet: 1
aircraft: {{name: Test bed, registration: none}}
reference_temperature: 70F
airframe: {{material: aluminium}}
circuits:
  rudder:
    sectors:
      pedals: {{arm: 5 in}}
      horn: {horn}
    hold: [pedals]
    cables:
      left: {{size: 1/8, length: 100 in, from: pedals +, to: horn +, limits: 60..80 lbf @ 70F{left}}}
      {other}
"""
RIGHT = "right: {{size: 1/8, length: 200 in, from: pedals -, to: horn -, limits: 50..70 lbf @ 70F{right}}}"


@pytest.fixture
def limits(tmp_path):
    """Limits of every run of the sheet at a temperature, by name."""

    def found(at_degF, horn="{arm: 4 in}", left="", right="", other=RIGHT):
        path = tmp_path / "sheet.yaml"
        path.write_text(SHEET.format(horn=horn, left=left, other=other.format(right=right)), encoding="utf-8")
        results = check(load_rig(path), [], TODAY, at_degF).runs
        assert not [r.refusal for r in results if r.refusal]
        return {r.run.name: r.limits for r in results}

    return found


def parts(found):
    return {c.why: c.standard_uncertainty for c in found.components}


@pytest.mark.parametrize("at", [20.0, 54.0, 100.0])
def test_unequal_arms_share_one_change_of_moment(limits, at):
    # T1 = 5 s, T2 = 4 s on arms of 4 and 5 in; s = (5 g1 + 4 g2) / (25 L1/EA + 16 L2/EA)
    away = at - 70
    growth = (5 * 100 + 4 * 200) * (ALUMINIUM - CABLE)
    s = growth * away / ((25 * 100 + 16 * 200) / EA)
    found = limits(at, horn="{arm_plus: 4 in, arm_minus: 5 in}")
    for name, share, low, high in (("left", 5, 60, 80), ("right", 4, 50, 70)):
        one = found[name]
        assert one.shift_lbf == pytest.approx(share * s, rel=1e-6)
        assert (one.low_lbf, one.high_lbf) == pytest.approx((low + share * s, high + share * s), rel=1e-6)
        assert one.at_reference_lbf(one.high_lbf) == pytest.approx(high)
        assert one.slope_lbf_per_degF == pytest.approx(share * s / away, rel=1e-6)
        assert one.direction == "warmer is tighter"
        # one table for both cables and nothing else that gives: the whole change goes with EA
        per_degF = share / ((25 * 100 + 16 * 200) / EA)
        assert parts(one) == pytest.approx(
            {
                "cable stiffness": 0.075 * share * abs(s),
                "expansion of carbon cable": per_degF * (5 * 100 + 4 * 200) * CABLE_U * abs(away),
                "expansion of aluminium 2024": per_degF * (5 * 100 + 4 * 200) * FRAME_U * abs(away),
                "temperature reading": share * abs(s / away) * READING_U,
            },
            rel=1e-6,
        )


def test_two_materials_in_series_are_wrong_by_themselves_and_their_cable_in_common(limits):
    # equal arms: one tension, and the stretch of both over the compliance of both
    found = limits(40.0, right=", path: [{length: 200 in, airframe: spruce}]")
    slope = EA * (100 * (ALUMINIUM - CABLE) + 200 * (SPRUCE - CABLE)) / 300
    assert slope < 0 < ALUMINIUM - CABLE  # the long spruce cable decides for both
    for one in found.values():
        assert one.shift_lbf == pytest.approx(-30 * slope, rel=1e-6)
        assert one.direction == "warmer is looser"
        assert parts(one) == pytest.approx(
            {
                "cable stiffness": 0.075 * 30 * abs(slope),
                "expansion of spruce": EA * 200 / 300 * FRAME_U * 30,
                "expansion of aluminium 2024": EA * 100 / 300 * FRAME_U * 30,
                "expansion of carbon cable": EA * CABLE_U * 30,
                "temperature reading": abs(slope) * READING_U,
            },
            rel=1e-6,
        )
        assert any("moisture" in caution for caution in one.cautions)
        assert sum("airframe" in line for line in one.assumptions) == 2
    told = [line for line in found["left"].assumptions if "moved through the circuit" in line]
    assert len(told) == 1
    assert f"by {-30 * slope:+.1f} lbf; between fixed ends it would be {-30 * EA * (ALUMINIUM - CABLE):+.1f}" in told[0]


def test_a_spring_keeps_the_tension_of_an_open_loop(limits):
    # cable on 4 in against a spring of 5 lbf/in on 6 in: T 4 = S 6; the horn turns; T = g / (L/EA + (4/6)^2 / 5)
    spring = "\n    springs:\n      bungee: {{from: horn -, rate: 5 lbf/in, pull: 45 lbf}}"
    found = limits(20.0, horn="{arm_plus: 4 in, arm_minus: 6 in}", other=spring)["left"]
    soft, elastic = (4 / 6) ** 2 / 5, 100 / EA
    slope = 100 * (ALUMINIUM - CABLE) / (elastic + soft)
    assert slope == pytest.approx(0.0069, abs=1e-4)  # between fixed ends 0.65
    assert (found.low_lbf, found.high_lbf) == pytest.approx((60 - 50 * slope, 80 - 50 * slope), rel=1e-9)
    # of EA only its own share of what gives: T = g / (c + s), so dT/T = c / (c + s) dEA/EA
    assert parts(found)["cable stiffness"] == pytest.approx(0.075 * 50 * slope * elastic / (elastic + soft), rel=1e-6)
    assert parts(found)["expansion of carbon cable"] == pytest.approx(100 * CABLE_U * 50 / (elastic + soft), rel=1e-6)
    assert any("moved through the circuit" in line for line in found.assumptions)


def test_a_measured_stiffness_has_an_error_of_its_own(limits):
    # left as measured, right by the table: T = EA (g1 + g2) / (L1 EA / EA1 + L2), each error by its own share of what gives
    found = limits(20.0, left=", stiffness: 80000 lbf, stiffness_uncertainty: 4%")["left"]
    own, table = 100 / 80000, 200 / EA
    moved = 50 * 300 * (ALUMINIUM - CABLE) / (own + table)
    # 4 % is U: half of it is k=1
    assert parts(found)["stiffness of left"] == pytest.approx(0.02 * moved * own / (own + table), rel=1e-5)
    assert parts(found)["cable stiffness"] == pytest.approx(0.075 * moved * table / (own + table), rel=1e-5)


def test_7x7_and_7x19_are_off_each_by_its_own_table(limits):
    # T = (g1 + g2) / (L1/EA1 + L2/EA2), EA1 of 3/32 7x7 a rope maker's 100 D^2 / 1.07e-5, off by 15 % (k=1)
    right = RIGHT.replace("size: 1/8", "size: 3/32")
    found = limits(20.0, other=right)["left"]
    soft, table = 200 / (100 * 0.09375**2 / 1.07e-5), 100 / EA
    moved = 50 * 300 * (ALUMINIUM - CABLE) / (soft + table)
    assert found.shift_lbf == pytest.approx(-moved, rel=1e-6)
    assert parts(found)["7x7 cable stiffness"] == pytest.approx(0.15 * moved * soft / (soft + table), rel=1e-5)
    assert parts(found)["cable stiffness"] == pytest.approx(0.075 * moved * table / (soft + table), rel=1e-5)


@pytest.mark.parametrize(("size", "within"), [("1/8", 0.05), ("3/32", 0.1)])
def test_the_other_way_of_the_envelope_agrees(tmp_path, size, within):
    # drift.components puts EA in by solving a second circuit: one-sided, so it agrees to second order only, and 3/32, 7x7,
    # is twice as uncertain
    path = tmp_path / "sheet.yaml"
    other = RIGHT.format(right=", give: 0.002 in/lbf, path: [{length: 200 in, airframe: spruce}]")
    other = other.replace("size: 1/8", f"size: {size}")
    path.write_text(SHEET.format(horn="{arm_plus: 4 in, arm_minus: 5 in}", left="", other=other), encoding="utf-8")
    rig = load_rig(path)
    model = circuit_model(rig, "rudder")
    drifted = components(model, [50.0, 40.0], [-40.0], 2.0)
    for i, r in enumerate(check(rig, [], TODAY, 30.0).runs):
        for why, u in parts(r.limits).items():
            assert u == pytest.approx(float(drifted[why][0, i]), rel=within if why.endswith("stiffness") else 1e-9)


# --- random circuits against the second way


class Drawn:
    """A circuit of 1 to 4 free sectors with loops and branches, springs among the links, cables along three materials."""

    materials = ("aluminium", "spruce", "steel tube")

    def __init__(self, seed):
        rng = self.rng = np.random.default_rng(seed)
        n = int(rng.integers(1, 5))
        self.names = [f"s{i}" for i in range(n)]
        self.ends = []
        for i, name in enumerate(self.names):
            far = self.names[int(rng.integers(i))] if i and rng.random() < 0.7 else None
            for side in (1, -1):
                self.ends.append((self.joint(name, side), far and self.joint(far, -side)))
        for _ in range(int(rng.integers(0, 3))):
            self.ends.append((self.joint(str(rng.choice(self.names)), int(rng.choice([1, -1]))), None))
        # the first is always a cable
        self.springs = [i > 0 and rng.random() < 0.25 for i in range(len(self.ends))]
        self.expansion = {m: float(rng.uniform(1e-6, 14e-6)) for m in self.materials}
        self.expansion_u = {m: float(rng.uniform(0, 1e-6)) for m in self.materials}
        self.wire = {w: float(rng.uniform(5e-6, 10e-6)) for w in ("carbon cable", "stainless cable")}
        self.wire_u = {w: float(rng.uniform(0, 1e-6)) for w in self.wire}
        self.share = float(rng.uniform(0.02, 0.1))
        self.pieces = [() if s else self.run(i) for i, s in enumerate(self.springs)]
        self.give = [0.0 if s else float(rng.choice([0.0, 2e-4])) for s in self.springs]
        self.rate = [float(rng.uniform(2, 200)) for _ in self.springs]
        self.a = np.zeros((len(self.ends), n))
        for i, pair in enumerate(self.ends):
            for joint in pair:
                if joint is not None:
                    self.a[i, self.names.index(joint.sector)] += joint.side * joint.arm_in
        free = null_space(self.a.T)
        self.reference = free @ rng.normal(0, 60, free.shape[1])

    def joint(self, sector, side):
        return Joint(sector, side, float(self.rng.uniform(1, 6)))

    def run(self, place):
        wire = str(self.rng.choice(list(self.wire)))
        whose = "cable stiffness" if place % 3 else "stiffness of its own"
        return tuple(
            Piece(
                float(self.rng.uniform(30, 200)), float(self.rng.uniform(3e4, 2e5)), self.expansion[m], self.wire[wire],
                m, wire, self.share, self.expansion_u[m], self.wire_u[wire], whose,
            )
            for m in map(str, self.rng.choice(self.materials, int(self.rng.integers(1, 4))))
        )  # fmt: skip

    def tensions(self, structure, cable, stiffer="", expansion="", by=0.0):
        """Tensions at these changes of temperature with one figure wrong by ``by`` of its standard uncertainties."""
        softness, growth = [], []
        for pieces, spring, give, rate in zip(self.pieces, self.springs, self.give, self.rate, strict=True):
            if spring:
                softness.append(1 / rate)
                growth.append(0.0)
                continue
            softness.append(
                give
                + sum(p.length_in / p.stiffness_lbf / (1 + by * self.share * (p.stiffness == stiffer)) for p in pieces)
            )
            growth.append(
                sum(
                    p.length_in * (p.structure_expansion_per_degF + by * self.expansion_u[p.structure] * (p.structure == expansion)) * structure
                    - p.length_in * (p.cable_expansion_per_degF + by * self.wire_u[p.cable] * (p.cable == expansion)) * cable
                    for p in pieces
                )
            )  # fmt: skip
        k = 1 / np.array(softness)
        x = self.reference / k + np.array(growth)
        phi = np.linalg.solve(self.a.T @ (k[:, None] * self.a), -self.a.T @ (k * x))
        return k * (x + self.a @ phi)

    def half_difference(self, structure, cable, step=1e-3, **wrong):
        up, down = (self.tensions(structure, cable, by=s, **wrong) for s in (step, -step))
        return np.abs(up - down) / (2 * step)


@pytest.mark.parametrize("seed", range(200))
def test_random_circuits_answer_temperature_and_every_error_as_solved_anew(seed):
    case = Drawn(seed)
    k = [r if s else 1 / compliance_in_per_lbf(p, g) for r, s, p, g in zip(case.rate, case.springs, case.pieces, case.give, strict=True)]  # fmt: skip
    links = [Link(f"link {i}", k[i], *pair) for i, pair in enumerate(case.ends)]
    effect, _ = Circuit(case.names, links, []).takeup_effect()
    structure, cable = -37.0, -21.0
    found = [shift(r, structure, cable, 1.2, 3.0) for r in responses(case.pieces, effect.tolist())]
    moved = case.tensions(structure, cable) - case.reference
    close = 1e-7 * max(np.abs(moved).max(), np.abs(case.reference).max(), 1.0)
    assert [f.change_lbf for f in found] == pytest.approx(list(moved), abs=close)
    expected = {
        **{s: case.half_difference(structure, cable, stiffer=s) for s in ("cable stiffness", "stiffness of its own")},
        **{f"expansion of {m}": case.half_difference(structure, cable, expansion=m) for m in (*case.materials, *case.wire)},
        "temperature reading": np.abs(case.tensions(1.2, 1.2) - case.reference),
        "cable not at structure temperature": np.abs(case.tensions(0.0, 3.0) - case.reference),
    }  # fmt: skip
    assert set().union(*(f.contributions_lbf for f in found)) <= set(expected)
    for why, each in expected.items():
        # a central difference in steps of a thousandth is off by its square, and by rounding over the step
        assert [f.contributions_lbf.get(why, 0.0) for f in found] == pytest.approx(
            list(each), rel=1e-5, abs=1e3 * close
        ), why
