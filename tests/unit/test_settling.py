"""Bedding-in fitted and decided on: small histories whose answer is plain, and refusals."""

import math

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.physics.settling import Fit, fit_many
from rigging.physics.settling_forecast import BINS, Forecast, binned
from rigging.physics.settling_history import History, Prior
from rigging.physics.settling_shapes import LAWS, law_share, log_centre, log_grid, log_normal, shapes
from rigging.physics.settling_state import anomaly, laws, least_step_lbf, next_check, set_now, settled_probability

YEAR_H = 8760.0
# a new 1/8 cable of 332 in in aluminium: 10 to 100 lbf to lose, 300 lbf/in, 0.62 lbf/F
PRIOR = Prior(10.0, 100.0, 1.0, 504.0, YEAR_H, 300.0, 0.075, 0.62, 0.05, 0.0115)
HOURS = np.array([0.0, 1, 3, 8, 24, 48, 96, 200, 400, 700])


def history(elapsed, tension, u=0.6, away=0.0, takeup=0.0, instrument=0):
    n = len(elapsed)
    full = [np.broadcast_to(np.asarray(value, dtype=float), n) for value in (u, away, takeup)]
    return History(np.asarray(elapsed, float), np.asarray(tension, float), *full, np.broadcast_to(instrument, n))


def exponential(hours, drop=20.0, time=6.0, start=80.0):
    return start - drop * -np.expm1(-np.asarray(hours, dtype=float) / time)


def bedded(step=0.0, at=6, hours=HOURS, **how):
    """Twenty pounds lost within a day, then nothing but a step before one reading."""
    return Fit(history(hours, exponential(hours) + step * (np.arange(len(hours)) >= at), **how), PRIOR)


@pytest.mark.parametrize("law", ["exponential", "logarithmic"])
def test_the_share_runs_from_nothing_to_all(law):
    share = law_share(law, np.array([0.0, 10.0, 100.0, YEAR_H]), np.array([1.0, 30.0, 504.0]), YEAR_H)
    assert share.shape == (3, 4)
    assert share[:, 0] == pytest.approx(0)
    assert share[:, -1] == pytest.approx(1)
    assert (np.diff(share, axis=1) >= 0).all()


def test_shares_by_hand():
    exponential_share = law_share("exponential", np.array([10.0]), np.array([10.0]), YEAR_H)
    assert exponential_share[0, 0] == pytest.approx(1 - 1 / math.e)
    # log(1 + 9) / log(1 + 99) = 1/2
    assert law_share("logarithmic", np.array([9.0]), np.array([1.0]), 99.0)[0, 0] == pytest.approx(0.5)


def test_a_forecast_of_two_halves():
    forecast = Forecast(np.array([0.5, 0.5]), np.array([10.0, 30.0]), 1.0)
    assert forecast.mean_lbf == 20
    assert forecast.below(20) == pytest.approx(0.5)
    # all of the half at 10 and half of the half at 30
    assert forecast.below(30) == pytest.approx(0.75)
    # 95 % of each half lies within 1.645 of it on the outer side
    assert forecast.interval() == pytest.approx((10 - 1.645, 30 + 1.645), abs=0.01)


@pytest.mark.parametrize("mean", [0.0, 1e-4, -1e-4])
def test_a_value_near_nothing_is_as_near_as_any(mean):
    # half of a normal distribution lies below its mean
    assert Forecast(np.array([1.0]), np.array([mean]), 1.0).quantile(0.5) == pytest.approx(mean, abs=3e-6)


def test_a_forecast_without_spread():
    forecast = Forecast(np.array([0.25, 0.75]), np.array([10.0, 30.0]), 0.0)
    assert [forecast.below(lbf) for lbf in (5, 20, 40)] == [0, 0.25, 1]
    assert forecast.quantile(0.5) == pytest.approx(30, abs=1e-3)


def test_a_forecast_of_very_many_means_is_told_by_a_thousand_bins():
    # evenly from 10 to 30 lbf, each as likely: the mean and the ends stay
    means = np.linspace(10.0, 30.0, 20 * BINS + 1)
    told = binned(Forecast(np.full(len(means), 1 / len(means)), means, 0.5))
    assert len(told.means_lbf) == len(told.weights) == BINS
    assert told.weights.sum() == pytest.approx(1.0)
    assert told.mean_lbf == pytest.approx(20.0)
    assert (told.means_lbf[0], told.means_lbf[-1]) == pytest.approx((10.0, 30.0), abs=20.0 / BINS)
    assert told.standard_uncertainty_lbf == 0.5


def test_one_reading_gives_the_prior():
    fit = Fit(history([0], [80]), PRIOR)
    low, high = fit.forecast(YEAR_H).interval()
    assert low < 80 - 90 < 80 - 12 < high < 80
    assert fit.law_probability() == pytest.approx(dict.fromkeys(LAWS, 1 / 3), abs=1e-3)
    assert settled_probability(fit, 2.0) < 0.01
    assert anomaly(fit).kind == "none"


def test_a_bedded_cable_is_settled():
    fit = bedded()
    assert fit.forecast(YEAR_H).mean_lbf == pytest.approx(80 - 20, abs=0.7)
    assert settled_probability(fit, 2.0) > 0.95
    assert fit.law_probability()["logarithmic"] < 1e-3
    assert sum(fit.law_probability().values()) == pytest.approx(1)
    assert anomaly(fit).kind == "none"
    assert next_check(fit, 2.0) is None


def test_even_a_law_ruled_out_has_an_answer():
    assert bedded(u=0.1).law_probability()["logarithmic"] < 1e-9
    # a logarithm goes on where an exponential has ended, at 80 - 20
    assert bedded(u=0.1).forecast(YEAR_H, law="logarithmic").mean_lbf < 60


def test_a_turn_moves_the_forecast_by_what_it_pulls():
    fit = bedded()
    assert fit.forecast(YEAR_H, takeup_in=1 / 32).mean_lbf - fit.forecast(YEAR_H).mean_lbf == pytest.approx(300 / 32)


def test_turns_that_were_logged_are_no_anomaly():
    turned = np.where(HOURS > 50, 1 / 32, 0.0)
    assert bedded(300 / 32, takeup=turned).forecast(YEAR_H).mean_lbf == pytest.approx(60 + 300 / 32, abs=1)
    assert anomaly(bedded(300 / 32, takeup=turned)).kind == "none"
    forgotten = anomaly(bedded(300 / 32))
    assert (forgotten.kind, forgotten.reading) == ("rise", 6)
    assert forgotten.size_lbf == pytest.approx(300 / 32, abs=1)


@pytest.mark.parametrize("lbf", [-4.0, -8.0, -20.0, 5.0])
@pytest.mark.parametrize("at", [5, 7])
def test_a_step_is_found_where_it_fell(lbf, at):
    found = anomaly(bedded(lbf, at))
    assert found.kind == ("drop" if lbf < 0 else "rise")
    assert found.reading == at
    assert found.size_lbf == pytest.approx(lbf, abs=1.2)
    assert found.odds > 6


def test_a_loss_that_grows_is_found():
    growing = -2.0 * np.maximum(0, np.arange(len(HOURS)) - 6) ** 2
    assert anomaly(Fit(history(HOURS, exponential(HOURS) + growing), PRIOR)).kind == "drop"


def test_more_lost_at_once_than_any_cable_beds_in():
    assert anomaly(Fit(history([0, 24, 48], [250, 20, 20]), PRIOR)).kind == "drop"


def test_temperature_is_no_anomaly_and_a_rise_against_it_is():
    away = np.where(np.arange(len(HOURS)) % 2, -40.0, 0.0)
    swinging = exponential(HOURS) + 0.62 * away
    assert anomaly(Fit(history(HOURS, swinging, away=away), PRIOR)).kind == "none"
    assert anomaly(Fit(history(HOURS, swinging), PRIOR)).kind != "none"


def test_another_tensiometer_explains_two_pounds_and_not_ten():
    other = np.where(HOURS > 50, 1, 0)
    assert anomaly(bedded(-2.0, instrument=other)).kind == "none"
    assert anomaly(bedded(-10.0, instrument=other)).kind == "drop"
    assert least_step_lbf(bedded(instrument=other), 6) > least_step_lbf(bedded(), 6) + 1


def test_a_slip_is_harder_to_see_while_it_beds_in():
    first, early, late = (least_step_lbf(bedded(), reading) for reading in (1, 4, 7))
    # what goes in the first hour may all be fast bedding-in: no size is told
    assert first is None
    assert late < 5 < early


def test_the_next_check_is_when_the_drop_can_be_seen():
    fit = Fit(history([0, 2, 5, 24], exponential([0, 2, 5, 24], 30, 60)), PRIOR)
    when = next_check(fit, 2.0)
    assert when is not None and 24 < when < YEAR_H
    law = laws(fit, 2.0).cautious
    assert fit.drop_between(24, when, law).mean_lbf == pytest.approx(2.0, abs=0.1)
    later = next_check(fit, 4.0)
    assert later is not None and later > when


def test_what_to_set_now():
    fit = Fit(history([0, 2, 5, 24], exponential([0, 2, 5, 24], 30, 60)), PRIOR)
    free = set_now(fit, 35.0, 200.0, 2.0)
    assert not free.capped
    assert free.tension_lbf == pytest.approx(35 + free.drop_lbf)
    assert free.drop_lbf > fit.drop_between(24, YEAR_H, "exponential").mean_lbf - 1e-9
    held = set_now(fit, 35.0, 40.0, 2.0)
    assert held.capped
    assert held.tension_lbf == 40.0 - 2.0  # the high limit less what an instrument can see
    assert held.drop_lbf == free.drop_lbf


def test_the_cautious_law_ends_lowest():
    fit = Fit(history([0, 2, 5, 24], exponential([0, 2, 5, 24], 30, 60)), PRIOR)
    view = laws(fit, 2.0)
    assert set(view.finals_lbf) <= set(LAWS)
    assert view.finals_lbf[view.cautious] == min(view.finals_lbf.values())
    apart = max(view.finals_lbf.values()) - min(view.finals_lbf.values())
    assert laws(fit, apart * 0.99).disagree
    assert not laws(fit, apart * 1.01).disagree
    assert set(laws(bedded(u=0.1), 2.0).finals_lbf) <= {"exponential", "mixed"}


def test_control_cycles_do_for_hours():
    hours = Fit(history(HOURS, exponential(HOURS)), PRIOR)
    tenfold = PRIOR._replace(elapsed_low=10.0, elapsed_high=5040.0, horizon=10 * YEAR_H)
    cycles = Fit(history(10 * HOURS, exponential(HOURS)), tenfold)
    assert cycles.forecast(10 * YEAR_H).interval() == pytest.approx(hours.forecast(YEAR_H).interval(), abs=0.01)


def test_a_fleet_is_its_singles():
    histories = [history(HOURS, exponential(HOURS, drop)) for drop in (12.0, 30.0, 60.0)]
    fleet = fit_many(histories, [PRIOR] * 3)
    singles = [Fit(one, PRIOR).forecast(YEAR_H).mean_lbf for one in histories]
    assert [fit.forecast(YEAR_H).mean_lbf for fit in fleet] == singles


GOOD = history([0, 1, 5], [80, 78, 75])


@pytest.mark.parametrize(
    ("bad", "prior", "words"),
    [
        (history([], []), PRIOR, "no reading"),
        (GOOD._replace(tension_lbf=np.array([80.0, 78.0])), PRIOR, "every reading needs"),
        (history([0, 5, 1], [80, 78, 75]), PRIOR, "order of time"),
        (history([0, 5, 4.5], [80, 78, 75]), PRIOR, "order of time"),
        (history([0, 1, 5], [80, math.nan, 75]), PRIOR, "not a finite number"),
        (history([0, 1, 5], [80, 78, 75], u=0.0), PRIOR, "uncertainty of every reading"),
        (GOOD, PRIOR._replace(drop_low_lbf=0.0), "two rising figures"),
        (GOOD, PRIOR._replace(elapsed_high=0.5), "two rising figures"),
        (GOOD, PRIOR._replace(elapsed_low=0.0), "two rising figures"),
        (GOOD, PRIOR._replace(horizon=5.0), "the horizon, 5,"),
        (GOOD._replace(elapsed=np.array([0.0, 1.0, math.inf])), PRIOR, "not a finite number"),
        (GOOD._replace(instrument=np.array([0, -1, 0])), PRIOR, "numbered from zero"),
        (GOOD._replace(elapsed=np.array(3.0)), PRIOR, "every reading needs"),
        (GOOD._replace(tension_lbf=np.array([80.0, 78.0, 1e200])), PRIOR, "too large to be fitted"),
        (history([0, 1, 5], [80, 78, 75], u=1e-200), PRIOR, "uncertainty of every reading"),
        *((GOOD, PRIOR._replace(**{name: math.nan}), "known before the first reading") for name in Prior._fields),
        (GOOD, PRIOR._replace(horizon=math.inf), "known before the first reading"),
        (GOOD, PRIOR._replace(bias_share=-0.01), "cannot be below zero"),
    ],
)
def test_refusals(bad, prior, words):
    with pytest.raises(Refusal, match=words):
        Fit(bad, prior)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda fit: fit.forecast(math.nan), "a time of nan"),
        (lambda fit: fit.forecast(-1.0), "a time of -1"),
        (lambda fit: fit.forecast(math.inf), "a time of inf"),
        (lambda fit: fit.forecast(10.0, math.nan), "a take-up of nan"),
        (lambda fit: fit.drop_between(0.0, math.nan), "a time of nan"),
        (lambda fit: fit.step_evidence(math.nan), "a step of nan"),
        (lambda fit: fit.step_evidence(0.0), "a step of 0"),
        (lambda fit: fit.forecast(10.0).below(math.nan), "a number"),
        (lambda fit: fit.forecast(10.0).quantile(math.nan), "a probability of nan"),
        (lambda fit: fit.forecast(10.0).quantile(1.0), "a probability of 1"),
        (lambda fit: fit.forecast(10.0).interval(1.0), "between 0 and 1"),
        (lambda _: Forecast(np.array([]), np.array([]), 1.0).interval(), "no value"),
        (lambda _: Forecast(np.array([]), np.array([]), 1.0).below(1.0), "holds one"),
        (lambda fit: fit_many([fit.history], []), "1 histories need as many priors, not 0"),
        (lambda _: law_share("exponential", [math.nan], [1.0], 10.0), "times of settling"),
        (lambda _: law_share("exponential", [-1.0], [1.0], 10.0), "times of settling"),
        (lambda _: law_share("logarithmic", [1.0], [0.0], 10.0), "times of settling"),
        (lambda _: law_share("logarithmic", [1.0], [1.0], math.inf), "times of settling"),
        (lambda _: shapes(1.0, 504.0, math.nan), "a horizon of nan"),
        (lambda _: shapes(math.nan, 504.0, 100.0), "no range"),
        (lambda _: log_centre(0.0, 1.0), "no range"),
        (lambda _: log_grid(1.0, 10.0, 0), "a grid of 0"),
        (lambda _: log_grid(10.0, 10.0, 5), "10 to 10 is no range"),
        (lambda _: log_normal([], 1.0, 10.0), "at one time or more"),
        (lambda _: log_normal([math.nan], 1.0, 10.0), "at one time or more"),
    ],
)
def test_what_is_no_number_is_refused(ask, words):
    with pytest.raises(Refusal, match=words):
        ask(Fit(GOOD, PRIOR))


def test_a_fleet_of_none_is_none():
    assert fit_many([], []) == []
