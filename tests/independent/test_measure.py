"""Uncertainty and verdict by drawing: how often U holds the truth, how often a wrong cable is accepted.

JCGM 101 throughout: every input drawn from its own distribution, the whole sum made for every draw, and the share of draws
counted. What chance leaves open of a share p of n draws is sqrt(p (1 - p) / n); bounds lie four of these away.
"""

import datetime as dt
import math

import numpy as np
import pytest
from scipy import stats
from scipy.interpolate import PchipInterpolator

from rigging.judge.verdict import Word, judge, probability_in_limits
from rigging.measure.agree import Method, agreement
from rigging.measure.card import Card, CardColumn, dial_to_lbf
from rigging.measure.reading import HAND_DOF, read_tension
from rigging.measure.student_t import coverage_factor
from rigging.measure.uncertainty import Component, arcsine, combine, rectangular
from rigging.source import Basis, Source

pytestmark = pytest.mark.slow

TODAY = dt.date(2026, 11, 25)


def test_standard_uncertainties_of_the_usual_distributions(agrees):
    rng = np.random.default_rng(1)
    agrees("u of a rectangle, drawn", rectangular(2.0), rng.uniform(-2, 2, 1_000_000).std(), 3e-3)
    agrees("u of a cycle, drawn", arcsine(2.0), (2 * np.sin(rng.uniform(0, 2 * math.pi, 1_000_000))).std(), 3e-3)


# (standard uncertainty, degrees of freedom); what is estimated from few readings decides, or does not
BUDGETS = [
    [(1.0, 2)],
    [(1.0, 5), (0.5, math.inf)],
    [(1.0, 5), (1.0, 5)],
    [(0.3, 2), (1.0, math.inf)],
    [(1.0, 7), (0.7, 20), (0.4, math.inf)],
    [(0.6, 1), (0.8, math.inf), (0.5, 9)],
]


@pytest.mark.parametrize("budget", BUDGETS)
def test_how_often_u_at_95_holds_the_truth(budget, agrees):
    """Welch and Satterthwaite: deviations that are only estimated are drawn as estimated (chi-square), U made from those."""
    rng = np.random.default_rng(2)
    count = 10_000
    error = sum(u * rng.standard_normal(count) for u, _ in budget)
    seen = [u * (np.sqrt(rng.chisquare(v, count) / v) if v < math.inf else np.ones(count)) for u, v in budget]
    made = [
        combine(Component("", float(s[i]), v) for s, (_, v) in zip(seen, budget, strict=True)) for i in range(count)
    ]
    # scipy's t for most of them, and the program's own k for every fiftieth
    dof = np.array([m.degrees_of_freedom for m in made])
    k = stats.t.ppf(0.975, np.maximum(1.0, np.floor(np.minimum(dof, 1e9))))
    agrees("k at effective degrees of freedom, scipy", [m.coverage_factor() for m in made[::50]], k[::50], 1e-5)
    held = int((np.abs(error) <= k * [m.standard_uncertainty for m in made]).sum())
    # cutting the degrees of freedom only widens; 94 % is as low as the method itself goes (Welch's approximation)
    agrees("share outside U, Welch-Satterthwaite, beyond 5 %", max(0.0, 0.95 - held / count), 0.0, 0.01, of=1.0)
    assert held / count < 0.985


def test_students_t_by_drawing(agrees):
    rng = np.random.default_rng(3)
    for dof in (1, 2, 5, 16, 60):
        t = rng.standard_normal(400_000) / np.sqrt(rng.chisquare(dof, 400_000) / dof)
        held = float((np.abs(t) <= coverage_factor(dof)).mean())
        agrees("share inside k, Student's t drawn", held, 0.95, 4 * math.sqrt(0.95 * 0.05 / 400_000), of=1.0)


# a card that bends, as they do: dial = f(lbf), printed at a few points
BENT = CardColumn(riser=1, cable="1/8", points=[(21.0, 30.0), (36.0, 50.0), (50.0, 70.0), (63.0, 90.0), (69.0, 100.0)])


# the instrument itself, between the points of its card: a smooth curve through them (monotone cubic)
TRUE_LBF = PchipInterpolator(*zip(*BENT.points, strict=True))


@pytest.mark.parametrize("readings", [1, 3, 5])
@pytest.mark.parametrize("hand", [0.5, 1.0])
def test_how_often_u_of_a_reading_holds_the_tension(readings, hand, agrees):
    """Instrument wrong within its accuracy, a hand that scatters, a dial read in whole divisions, a card that bends."""
    rng = np.random.default_rng(4)
    card = Card("0417", TODAY, TODAY, 0.02, 1.0, (BENT,), Source(Basis.MEASURED, "card"), "", "")
    count = 600
    held = 0
    grid = np.linspace(21.0, 69.0, 4000)
    curve = TRUE_LBF(grid)
    for _ in range(count):
        truth = rng.uniform(40, 92)
        shown = truth * (1 + rng.uniform(-card.accuracy, card.accuracy))
        dial = np.interp(shown, curve, grid)
        seen = np.round(dial + hand * rng.uniform(-1, 1, readings))
        made = read_tension(card, 1, "1/8", [float(d) for d in seen], TODAY)
        held += abs(made.tension_lbf - truth) <= made.uncertainty_lbf
    agrees("share outside U of a reading, beyond 5 %", max(0.0, 0.95 - held / count), 0.0, 0.01, of=1.0)
    assert HAND_DOF == 5 and dial_to_lbf(BENT, 36.0) == 50.0


@pytest.mark.parametrize("dof", [math.inf, 8.0])
@pytest.mark.parametrize("width", [6.0, 10.0, 40.0])
def test_the_risk_of_the_guard_band_by_simulation(width, dof):
    """Cables anywhere about the band, read with u 1: of those accepted next to none is out, of those rejected none is in.

    By ILAC-G8 a guard band of U keeps the risk at one limit to 2.5 % for a cable right at it, and so for any share of cables
    of which each lies outside. Both limits are simulated, with u itself only estimated where dof is finite.
    """
    rng = np.random.default_rng(5)
    low, high, count = 30.0, 30.0 + width, 8_000
    at_edge = {"low": 0, "high": 0}
    wrong_in = wrong_out = accepted = rejected = 0
    for i in range(count):
        # half of them right at a limit, just outside
        edge = ("low", "high")[i % 2] if i < count // 2 else ""
        truth = {"low": low - 1e-9, "high": high + 1e-9}.get(edge, rng.uniform(low - 5, high + 5))
        u = math.sqrt(rng.chisquare(dof) / dof) if dof < math.inf else 1.0
        word = judge(truth + rng.standard_normal(), low, high, u, dof, coverage_factor(dof)).word
        if edge:
            at_edge[edge] += word is Word.IN
            continue
        inside = low <= truth <= high
        accepted += word is Word.IN
        rejected += word is Word.OUT
        wrong_in += word is Word.IN and not inside
        wrong_out += word is Word.OUT and inside
    for edge, taken in at_edge.items():
        n = count // 4
        assert taken / n <= 0.025 + 4 * math.sqrt(0.025 * 0.975 / n), edge
        # and the guard band is no wider than that takes, where the other limit is far
        assert taken / n >= 0.025 - 4 * math.sqrt(0.025 * 0.975 / n) or width < 10.0, edge
    assert accepted > 100 and rejected > 100
    assert wrong_in <= 0.025 * accepted
    assert wrong_out <= 0.025 * rejected


def test_the_probability_in_limits_by_drawing(agrees):
    """A reading and what its cable may be: the tension drawn about it by Student's t."""
    rng = np.random.default_rng(6)
    for dof in (2, 5, 30):
        t = rng.standard_normal(400_000) / np.sqrt(rng.chisquare(dof, 400_000) / dof)
        for value, low, high, u in ((35, 30, 40, 2.0), (39, 30, 40, 2.0), (41, 30, 40, 0.7), (20, -math.inf, 21, 1.0)):
            drawn = value + u * t
            share = float(((drawn >= low) & (drawn <= high)).mean())
            agrees("probability in limits, drawn", probability_in_limits(value, low, high, u, dof), share, 4e-3, of=1.0)


@pytest.mark.parametrize("count", [2, 3, 6])
def test_several_ways_that_agree_are_said_to_agree(count, agrees):
    """Ways with honest uncertainties: one in twenty is said to disagree, and the combined u is the scatter of the mean."""
    rng = np.random.default_rng(7)
    u = np.exp(rng.uniform(-1, 1, count))
    seen = 40 + u * rng.standard_normal((8000, count))
    made = [
        agreement([Method(str(i), float(x), float(s)) for i, (x, s) in enumerate(zip(row, u, strict=True))])
        for row in seen
    ]
    agrees(
        "share of ways said to agree, drawn",
        np.mean([m.agrees for m in made]),
        0.95,
        4 * math.sqrt(0.95 * 0.05 / 8000),
        of=1.0,
    )
    agrees(
        "u of several ways together, drawn",
        made[0].standard_uncertainty_lbf,
        np.std([m.tension_lbf for m in made]),
        0.04,
    )


def test_limits():
    # nothing uncertain, and no degrees of freedom but one
    assert combine([]).expanded() == 0.0
    assert coverage_factor(1) == pytest.approx(math.tan(0.95 * math.pi / 2))  # Cauchy
    assert probability_in_limits(30.0, 30.0, 40.0, 0.0) == 1.0
    assert probability_in_limits(30.0, 30.0, 40.0, 1e-12) == pytest.approx(0.5)
    assert probability_in_limits(35.0, 30.0, 40.0, 1e12) == pytest.approx(0.0, abs=1e-10)
