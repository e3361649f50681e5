"""The posterior of a bedding-in cable, summed without any of the program's shortcuts.

The likelihood is that of a multivariate normal distribution, written out: the covariance of the readings with T0, stiffness,
slope and instruments in it, its inverse by LAPACK, its determinant, and no straight-line part taken off but T0, about which
nothing is known beforehand (generalised least squares; the program's wide prior says as much). D is summed over 160 points of its prior, the times over 220 of theirs; mixtures over 28 x 28 times and 10 Gauss points of their
share. So nothing is shared with the program but the prior as its documentation states it: drop, times log-normal with
95 % in their ranges, the three laws alike, mixtures of two exponentials, one of each and two logarithms alike.
(tests/properties/test_settling_properties.py draws it by a Monte Carlo besides.)
"""

import math
from functools import lru_cache

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from rigging.physics.settling import LATER_SHARE, Fit
from rigging.physics.settling_history import History, Prior
from rigging.physics.settling_shapes import LAWS

pytestmark = pytest.mark.slow

YEAR_H = 8760.0
PRIOR = Prior(10.0, 100.0, 1.0, 504.0, YEAR_H, 300.0, 0.075, 0.62, 0.05, 0.0115)


def log_normal_points(low, high, count):
    z = ndtri((np.arange(count) + 0.5) / count)
    return np.exp(math.log(low * high) / 2 + z * math.log(high / low) / 3.92)


@lru_cache
def every_shape(prior, pairs, parts):
    """Function of time to shares for every shape, with prior weights and laws."""
    alone = log_normal_points(prior.elapsed_low, prior.elapsed_high, 220)
    pair = log_normal_points(prior.elapsed_low, prior.elapsed_high, pairs)
    nodes, weights = np.polynomial.legendre.leggauss(parts)
    part, part_weight = (nodes + 1) / 2, weights / 2

    def shares(t):
        fast = lambda tau: np.expm1(-t / tau) / np.expm1(-prior.horizon / tau)  # noqa: E731
        slow = lambda tau: np.log(1 + t / tau) / np.log(1 + prior.horizon / tau)  # noqa: E731
        out = [fast(alone), slow(alone)]
        for one, other in ((fast, fast), (fast, slow), (slow, slow)):
            a, b, p = one(pair)[:, None, None], other(pair)[None, :, None], part[None, None, :]
            out.append((p * a + (1 - p) * b).ravel())
        return np.concatenate(out)

    mixture = np.broadcast_to(part_weight / pairs**2, (pairs, pairs, parts)).ravel() / 3
    weight = np.concatenate([np.full(220, 1 / 220), np.full(220, 1 / 220), mixture, mixture, mixture]) / 3
    law = np.repeat([0, 1, 2], [220, 220, 3 * pairs**2 * parts])
    return shares, weight, law


class Long:
    """The long way."""

    def __init__(self, history, prior, step=0, scale=0.0, reach=5.0):
        n = len(history.elapsed)
        # many readings leave little of the prior, and that is looked at more closely
        pairs, parts, drops = (24, 8, 120) if n <= 4 else (44, 10, 240)
        shares, weight, self.law = every_shape(prior, pairs, parts)
        self.prior, self.shares = prior, shares
        # the drop by even steps of its logarithm, to five deviations on either side
        z = np.linspace(-reach, reach, drops)
        self.drops = np.exp(math.log(prior.drop_low_lbf * prior.drop_high_lbf) / 2 + z * math.log(prior.drop_high_lbf / prior.drop_low_lbf) / 3.92)  # fmt: skip
        of_drop = -0.5 * z**2 - math.log(np.exp(-0.5 * z**2).sum())
        pulled = prior.stiffness_lbf_per_in * history.takeup_in
        # covariance of the readings: own scatter, T0, stiffness, slope, instruments, and a step where one is asked for
        cover = np.diag(history.standard_uncertainty_lbf**2)
        cover += prior.stiffness_relative_uncertainty**2 * np.outer(pulled, pulled)
        cover += prior.slope_uncertainty_lbf_per_degF**2 * np.outer(history.away_degF, history.away_degF)
        same = history.instrument[:, None] == history.instrument[None, :]
        cover += prior.bias_share**2 * np.outer(history.tension_lbf, history.tension_lbf) * same
        if scale:
            after = (np.arange(n) >= step).astype(float)
            cover += scale**2 * np.outer(after, after)
        # what a tension at the reference has in common with the readings, T0 apart: the stiffness
        last = pulled[-1]
        self.known = prior.stiffness_relative_uncertainty**2 * pulled * last
        self.own, self.base = (prior.stiffness_relative_uncertainty * last) ** 2, last
        # readings less what is known for certain
        self.left = history.tension_lbf - pulled - prior.slope_lbf_per_degF * history.away_degF
        plain = np.linalg.inv(cover)
        ones = plain.sum(axis=0)
        self.plain, self.ones, self.total = plain, ones, float(ones.sum())
        self.inverse = plain - np.outer(ones, ones) / self.total
        g = np.stack([shares(t) for t in history.elapsed], axis=1)
        # -1/2 (left + D g)' C^-1 (left + D g) and the determinant, for every shape and drop
        a, b, c = (
            np.einsum("si,ij,sj->s", g, self.inverse, g),
            g @ self.inverse @ self.left,
            self.left @ self.inverse @ self.left,
        )
        # a shape whose likeliest drop weighs less than e^-16 of the best, before its prior, is no longer looked at
        held = np.clip(-b / np.maximum(a, 1e-300), self.drops[0], self.drops[-1])
        best = -0.5 * (a * held + 2 * b) * held + np.log(weight)
        likeliest = np.argmax(best - 0.5 * np.interp(np.log(held), np.log(self.drops), z) ** 2)
        self.kept = best > best[likeliest] - 16
        power = -0.5 * (a[self.kept, None] * self.drops + 2 * b[self.kept, None]) * self.drops
        power += of_drop + np.log(weight[self.kept])[:, None]
        self.law, self.g = self.law[self.kept], g[self.kept]
        power += -0.5 * (c + np.linalg.slogdet(cover)[1] + math.log(self.total))
        top = power.max()
        chance = np.exp(power - top)
        self.log_evidence = top + math.log(chance.sum())
        self.chance = chance / chance.sum()

    def forecast(self, elapsed):
        """Means and weights of the tension at reference then, and its deviation."""
        # T0 by generalised least squares, and what the readings left of the rest
        straight = self.known @ self.plain
        missing = 1 - self.known @ self.ones
        gain = straight + missing * self.ones / self.total
        means = self.base + gain @ self.left + self.drops * (self.g @ gain - self.shares(elapsed)[self.kept])[:, None]
        variance = self.own - straight @ self.known + missing**2 / self.total
        return means.ravel(), self.chance.ravel(), math.sqrt(variance)

    def to_come(self, start, end):
        return ((self.shares(end) - self.shares(start))[self.kept, None] * self.drops).ravel()


def history(elapsed, tension, u=1.0, away=0.0, takeup=0.0, instrument=0):
    n = len(elapsed)
    full = [np.broadcast_to(np.asarray(value, dtype=float), n) for value in (u, away, takeup)]
    return History(np.asarray(elapsed, float), np.asarray(tension, float), *full, np.broadcast_to(instrument, n))


def bedding(hours, drop, time, law="exponential", seed=1, u=1.0):
    at = np.asarray(hours, float)
    g = -np.expm1(-at / time) if law == "exponential" else np.log1p(at / time) / np.log1p(YEAR_H / time)
    return 90 - drop * g + u * np.random.default_rng(seed).standard_normal(len(at))


HISTORIES = {
    "one reading": (history([0], [80]), PRIOR),
    "two": (history([0, 24], [80, 70], 2.0), PRIOR),
    "four, two instruments, a turn": (history([0, 3, 24, 100], [80, 74, 75, 71], 1.2, [0, -20, 5, 10], [0, 0, 1 / 32, 1 / 32], [0, 1, 0, 1]), PRIOR),
    "six, slow": (history([0, 8, 48, 200, 500, 900], bedding([0, 8, 48, 200, 500, 900], 45, 300), 1.0), PRIOR),
    "eight, logarithmic": (history([0, 1, 3, 10, 30, 100, 300, 1000], bedding([0, 1, 3, 10, 30, 100, 300, 1000], 40, 2, "logarithmic"), 1.0), PRIOR),
    "ten, bedded in": (history(range(0, 500, 50), bedding(range(0, 500, 50), 25, 20), 0.8), PRIOR),
    "proof-loaded, hardly any": (history([0, 24, 100], [41, 40.5, 40.6], 0.8), PRIOR._replace(drop_low_lbf=0.5, drop_high_lbf=6.0)),
}  # fmt: skip


@pytest.mark.parametrize("name", HISTORIES)
def test_the_posterior_summed_the_long_way(name, agrees):
    readings, prior = HISTORIES[name]
    fit, long = Fit(readings, prior), Long(readings, prior)
    last = float(readings.elapsed[-1])
    # probabilities, absolute: 3072 mixtures of each kind in 3 dimensions leave a few thousandths open
    for i, law in enumerate(LAWS):
        agrees("probability of a law", fit.law_probability()[law], long.chance[long.law == i].sum(), 0.02, of=1.0)
    means, chance, spread = long.forecast(last)
    found = fit.forecast(last)
    # tensions in units of their own deviation, which is what an interval is made of
    deviation = math.sqrt(chance @ (means - chance @ means) ** 2 + spread**2)
    agrees("tension now, mean in its deviation", found.mean_lbf, chance @ means, 0.03, of=deviation)
    for lbf in (chance @ means - deviation, chance @ means, chance @ means + 2 * deviation):
        agrees(
            "tension now, probability to lie below",
            found.below(lbf),
            chance @ ndtr((lbf - means) / spread),
            0.01,
            of=1.0,
        )
    drop = long.to_come(last, prior.horizon)
    size = math.sqrt(chance @ (drop - chance @ drop) ** 2)
    left = fit.drop_between(last, prior.horizon)
    agrees("drop to come, mean in its deviation", left.mean_lbf, chance @ drop, 0.05, of=size)
    for share in (0.25, 0.5, 0.9, 0.975):
        order = np.argsort(drop)
        there = float(drop[order][np.searchsorted(np.cumsum(chance[order]), share)])
        # the program sums sixteen drops for each shape: where the readings say nothing of it all shapes have the same
        # sixteen, of which one weighs up to 0.16, and its probability to lie below rises in such steps
        alone = len(readings.elapsed) == 1
        what = "drop to come, probability to lie below" + (" (prior alone)" if alone else "")
        agrees(what, left.below(there), share, 0.08 if alone else 0.04, of=1.0)
    # at the horizon, with a fifth of the drop to come for what no law says
    means, chance, spread = long.forecast(prior.horizon)
    spread = math.hypot(spread, LATER_SHARE * (chance @ drop))
    ends = fit.forecast(prior.horizon)
    deviation = math.sqrt(chance @ (means - chance @ means) ** 2 + spread**2)
    agrees("tension at the horizon, mean in its deviation", ends.mean_lbf, chance @ means, 0.05, of=deviation)
    for limit, share in zip(ends.interval(), (0.025, 0.975), strict=True):
        agrees(
            "tension at the horizon, ends of its interval", chance @ ndtr((limit - means) / spread), share, 0.01, of=1.0
        )


@pytest.mark.parametrize("name", ["two", "four, two instruments, a turn", "ten, bedded in"])
def test_the_odds_of_a_step_summed_the_long_way(name, agrees):
    """The whole sum once more with a step of 6 lbf (k=1) in the covariance, for every gap."""
    readings, prior = HISTORIES[name]
    if name.startswith("ten"):
        readings = readings._replace(tension_lbf=readings.tension_lbf - 5.0 * (np.arange(10) >= 6))
    plain = Long(readings, prior)
    gaps = Fit(readings, prior).step_evidence(6.0)
    for found in (gaps[0], gaps[len(gaps) // 2], gaps[-1]) if len(gaps) > 3 else gaps:
        stepped = Long(readings, prior, found.reading, 6.0)
        agrees(
            "ln of what the odds gain by a step",
            found.log_gain,
            stepped.log_evidence - plain.log_evidence,
            0.06,
            of=1.0,
        )
        # its size: the mean of a normal distribution for every shape and drop
        after = (np.arange(len(readings.elapsed)) >= found.reading) * 36.0
        gain = after @ stepped.inverse
        sizes = gain @ stepped.left + stepped.drops * (stepped.g @ gain)[:, None]
        size = float((stepped.chance * sizes).sum())
        own = 36.0 - gain @ after
        u = math.sqrt((stepped.chance * (sizes - size) ** 2).sum() + own)
        agrees("size of a step, in its u", found.size_lbf, size, 0.05, of=u)
        agrees("u of a step", found.standard_uncertainty_lbf, u, 0.03)


def test_limits():
    # readings so poor that they say nothing leave the prior: a third for each law, and all of the drop to come
    poor = Fit(history([0, 24, 100], [80, 40, 90], 1e5), PRIOR)
    assert poor.law_probability() == pytest.approx(dict.fromkeys(LAWS, 1 / 3), abs=1e-3)
    # at the first reading nothing has gone; at the horizon all of D: a log-normal of 10 to 100, mean exp(m + s^2 / 2)
    middle, deviation = math.log(1000) / 2, math.log(10) / 3.92
    assert poor.drop_between(0.0, YEAR_H).mean_lbf == pytest.approx(math.exp(middle + deviation**2 / 2), rel=0.01)
    assert poor.drop_between(50.0, 50.0).mean_lbf == 0.0
    # an instant after the last reading nothing more is lost or known than at it
    fit = Fit(history([0, 24], [80, 70], 2.0), PRIOR)
    assert fit.forecast(24.0 + 1e-9).interval() == pytest.approx(fit.forecast(24.0).interval(), abs=1e-4)
    # two readings at one moment are one reading of less scatter
    twice = Fit(history([0, 24, 24], [80, 70, 70], [2.0, 2.0, 2.0]), PRIOR)
    once = Fit(history([0, 24], [80, 70], [2.0, math.sqrt(2.0)]), PRIOR._replace(bias_share=0.0115))
    assert twice.forecast(YEAR_H).mean_lbf == pytest.approx(once.forecast(YEAR_H).mean_lbf, abs=0.02)
