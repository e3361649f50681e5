"""What is decided on a fit, with fits that say plainly what they are: one normal distribution, or steps written by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from rigging.physics.settling import LAWS, Forecast
from rigging.physics.settling_state import anomaly, laws, least_step_lbf, next_check, set_now, settled_probability


class Plain:
    """A fit whose drop between two times is a rate times their distance, one rate for each law."""

    def __init__(self, rates=(0.1, 0.1), u_lbf=2.0, probability=(0.5, 0.5), last=100.0, horizon=200.0, start=60.0):
        self.history = SimpleNamespace(elapsed=np.array([0.0, last]))
        self.prior = SimpleNamespace(horizon=horizon)
        self.rates = dict(zip(("exponential", "logarithmic"), rates, strict=True))
        self.probability = dict(zip(("exponential", "logarithmic"), probability, strict=True))
        self.u_lbf, self.start = u_lbf, start

    def one(self, mean):
        return Forecast(np.array([1.0]), np.array([mean]), self.u_lbf)

    def drop_between(self, earlier, later, law=None):
        return self.one(self.rates[law or "exponential"] * (later - earlier))

    def forecast(self, at, law=None):
        return self.one(self.start - self.rates[law] * at)

    def law_probability(self):
        return {**dict.fromkeys(LAWS, 0.0), **self.probability}


class Stepped:
    def __init__(self, *found):
        self.found = [
            SimpleNamespace(reading=i, size_lbf=s, log_gain=g, standard_uncertainty_lbf=u) for i, s, g, u in found
        ]

    def step_evidence(self, scale_lbf):
        assert scale_lbf == 6.0
        return self.found


def phi(z):
    return math.erfc(-z / math.sqrt(2)) / 2


# the drop to come, 10 lbf with u = 2 lbf, times a factor of 1 with u = 0.2: three-point Gauss-Hermite sum by numpy
@pytest.mark.parametrize("visible_lbf", [4.0, 8.0, 10.0, 14.0])
def test_the_probability_of_being_settled_carries_what_no_law_knows(visible_lbf):
    nodes, weights = np.polynomial.hermite_e.hermegauss(3)
    weights = weights / weights.sum()
    expected = sum(w * phi((visible_lbf / (1 + 0.2 * n) - 10) / 2) for n, w in zip(nodes, weights, strict=True))
    assert settled_probability(Plain(), visible_lbf) == pytest.approx(expected, rel=1e-9)


def test_the_more_cautious_law_is_the_lower_end():
    found = laws(Plain((0.1, 0.15)), 5.0)
    assert found.finals_lbf == pytest.approx({"exponential": 60 - 20, "logarithmic": 60 - 30})
    assert (found.cautious, found.disagree) == ("logarithmic", True)
    assert laws(Plain((0.15, 0.1)), 5.0).cautious == "exponential"


@pytest.mark.parametrize(("visible_lbf", "disagree"), [(9.9, True), (10.1, False)])
def test_laws_disagree_where_it_can_be_seen(visible_lbf, disagree):
    assert laws(Plain((0.1, 0.15)), visible_lbf).disagree is disagree


@pytest.mark.parametrize(("probability", "said"), [(0.099, 1), (0.1, 2), (0.101, 2)])
def test_a_law_less_probable_than_a_tenth_has_no_say(probability, said):
    found = laws(Plain((0.1, 0.15), probability=(1 - probability, probability)), 1.0)
    assert len(found.finals_lbf) == said
    assert found.cautious == ("logarithmic" if said == 2 else "exponential")


def test_the_next_check_is_when_the_loss_is_seen():
    # 0.1 lbf/h: 4 lbf are lost 40 h after the last reading, found to a thousandth of the 100 h to the horizon
    assert next_check(Plain(), 4.0) == pytest.approx(140.0, abs=0.1)
    # by the more cautious law, 0.2 lbf/h
    assert next_check(Plain((0.1, 0.2)), 4.0) == pytest.approx(120.0, abs=0.1)
    # never early: by then it is expected to have passed
    assert next_check(Plain(), 4.0) >= 140.0


def test_no_check_for_what_will_not_be_seen():
    assert next_check(Plain(), 10.5) is None
    assert next_check(Plain((0.125, 0.125)), 12.5) is None  # just reached at the horizon is not passed


def test_set_so_that_it_ends_on_target():
    found = set_now(Plain(), 40.0, 60.0, 3.0)
    assert found == pytest.approx((50.0, False, 10.0))
    # the drop is that of the law that loses more
    assert set_now(Plain((0.1, 0.15)), 40.0, 60.0, 3.0).tension_lbf == pytest.approx(55.0)


@pytest.mark.parametrize(("high_lbf", "tension_lbf", "capped"), [(52.0, 49.0, True), (53.0, 50.0, False)])
def test_set_no_higher_than_the_limit_less_the_guard(high_lbf, tension_lbf, capped):
    found = set_now(Plain((0.125, 0.125), horizon=180.0), 40.0, high_lbf, 3.0)
    assert (found.tension_lbf, found.capped) == (tension_lbf, capped)


def test_no_gap_no_step():
    assert anomaly(Stepped()) == ("none", None, 0.0, 0.0)


def test_odds_are_the_mean_over_the_gaps():
    # e^2 and e^0 over two gaps: (7.389 + 1) / 2 = 4.19, below 6
    assert anomaly(Stepped((1, -8.0, 2.0, 1.0), (2, 1.0, 0.0, 1.0))) == (
        "none",
        None,
        0.0,
        pytest.approx(4.1945, abs=1e-4),
    )
    # e^3 and e^0: 10.54
    found = anomaly(Stepped((1, -8.0, 3.0, 1.0), (2, 1.0, 0.0, 1.0)))
    assert found == ("drop", 1, -8.0, pytest.approx(10.5428, abs=1e-4))
    assert anomaly(Stepped((1, 1.0, 0.0, 1.0), (2, 8.0, 3.0, 1.0)))[:3] == ("rise", 2, 8.0)


def test_an_alarm_at_odds_of_six():
    assert anomaly(Stepped((1, -8.0, math.log(5.99), 1.0))).kind == "none"
    assert anomaly(Stepped((1, -8.0, math.log(6.01), 1.0))).kind == "drop"


def test_odds_too_large_for_a_number_are_an_alarm_all_the_same():
    assert anomaly(Stepped((1, -800.0, 1e4, 1.0))).kind == "drop"


def test_the_least_step_by_hand():
    # u = 2, three gaps: z = sqrt(2 ln(6 x 3 x 6 / 2)) = sqrt(2 ln 54) = 2.82452; 2 (2.82452 + 1.645) = 8.9390
    fit = Stepped((1, 0.0, 0.0, 1.0), (2, 0.0, 0.0, 2.0), (3, 0.0, 0.0, 100.0))
    assert least_step_lbf(fit, 2) == pytest.approx(8.939, abs=1e-3)
    # u = 100: 6 x 3 x 6 / 100 is just above 1, z = sqrt(2 ln 1.08) = 0.39233
    assert least_step_lbf(fit, 3) == pytest.approx(100 * (0.39233 + 1.645), abs=0.01)


def test_the_least_step_of_a_reading_that_says_next_to_nothing():
    # odds that start above the alarm need no z of their own; what is left is 1.645 u
    assert least_step_lbf(Stepped((1, 0.0, 0.0, 200.0)), 1) == pytest.approx(329.0)
