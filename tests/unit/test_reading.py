"""Several dial readings as one tension: its parts of uncertainty, and what is said about readings that are not sound."""

import datetime as dt
import math
from pathlib import Path

import pytest
from scipy import stats

from rigging.errors import Refusal, UsageError
from rigging.measure.card import Card, CardColumn
from rigging.measure.reading import read_tension
from rigging.source import Basis, Source

TODAY = dt.date(2026, 11, 25)
COLUMN = CardColumn(1, "1/8", [(10, 20), (20, 40), (30, 60)])  # straight, 2 lbf per division


def card(**changes):
    fields = {
        "serial": "0417",
        "calibrated": dt.date(2026, 3, 2),
        "due": dt.date(2027, 3, 2),
        "accuracy": 0.02,
        "division": 1.0,
        "columns": (COLUMN,),
        "source": Source(Basis.MEASURED, "card of tensiometer 0417"),
        "file": str(Path("card.yaml")),
        "sha256": "",
    }
    return Card(**{**fields, **changes})


def read(dials, today=TODAY, **changes):
    return read_tension(card(**changes), 1, "1/8", dials, today)


def part(tension, words):
    return next(c for c in tension.combined.components if words in c.why)


def test_the_tension_is_the_mean_of_the_readings():
    tension = read([19, 20, 22])
    # by hand, at 2 lbf a division
    assert tension.readings_lbf == pytest.approx((38, 40, 44))
    assert tension.tension_lbf == pytest.approx(122 / 3)
    assert tension.spread_lbf == pytest.approx(44 - 38)


def test_the_scatter_is_all_but_the_instruments_own_error():
    # on a curved card, so that it may bend between its points: that is not the same at every dial
    curved = CardColumn(1, "1/8", [(10, 20), (20, 40), (30, 70)])
    tension = read([15, 16, 18], columns=(curved,))
    assert {c.why.split()[0] for c in tension.combined.components} == {"accuracy", "dial", "card", "repeatability"}
    left_out = set(tension.combined.components) - set(tension.scatter.components)
    assert left_out == {part(tension, "accuracy")}
    assert part(tension, "accuracy").part == "instrument" and part(tension, "card between").part == "card"
    assert part(tension, "resolution").part == part(tension, "repeatability").part == ""


def test_each_part_of_the_uncertainty_by_hand():
    tension = read([19, 20, 22])
    assert part(tension, "accuracy").standard_uncertainty == pytest.approx(0.02 * 122 / 3 / math.sqrt(3))
    # half a division of 2 lbf, rectangular
    assert part(tension, "resolution").standard_uncertainty == pytest.approx(1 / math.sqrt(3))
    # pooled (GUM 4.2.4): two degrees of freedom of their own, five of one division of 2 lbf, rectangular
    pooled = (2 * stats.tvar([38, 40, 44]) + 5 * 2**2 / 3) / 7
    repeat = part(tension, "repeatability")
    assert repeat.standard_uncertainty == pytest.approx(math.sqrt(pooled / 3))
    assert repeat.degrees_of_freedom == 7


def test_u_is_the_root_of_squares_times_students_t_at_the_effective_dof():
    tension = read([19, 20, 22])
    pooled = (2 * stats.tvar([38, 40, 44]) + 5 * 2**2 / 3) / 7
    squares = [(0.02 * 122 / 3) ** 2 / 3, 1 / 3, pooled / 3]
    dof = sum(squares) ** 2 / (squares[2] ** 2 / 7)
    expected = stats.t.ppf(0.975, math.floor(dof)) * math.sqrt(sum(squares))
    assert tension.uncertainty_lbf == pytest.approx(expected)


def test_the_division_of_the_dial_sets_its_resolution():
    fine = part(read([19, 20, 22], division=0.5), "resolution")
    assert fine.standard_uncertainty == pytest.approx(0.5 / math.sqrt(3))


def test_the_bend_of_the_card_counts_between_its_points():
    # t = d^2 / 10: the chord from 20 to 30 lies 2.5 above it at 25
    parabola = CardColumn(1, "1/8", [(10, 10), (20, 40), (30, 90), (40, 160)])
    tension = read([25], columns=(parabola,))
    assert part(tension, "between its points").standard_uncertainty == pytest.approx(2.5 / math.sqrt(3))


def test_one_reading_carries_a_division_and_is_told_so():
    tension = read([20])
    assert part(tension, "one reading").standard_uncertainty == pytest.approx(2 / math.sqrt(3))
    assert tension.notes == ("one reading only: three show whether it repeats",)


def test_sound_readings_have_no_notes():
    assert read([20, 20, 21]).notes == ()


@pytest.mark.parametrize(("above", "noted"), [(-1, False), (1, True)])
@pytest.mark.parametrize(("count", "by"), [(2, 0.02), (3, 0.01), (4, 0.01), (6, 0.01), (11, 0.01)])
def test_more_spread_than_the_instrument_explains_is_reported(count, by, above, noted):
    share = 1 + above * by
    # expected: half a division for the dial and a division for the hand, both rectangular, against chi-square at 95 %
    expected = math.hypot(0.5, 1) / math.sqrt(3) * math.sqrt(stats.chi2.ppf(0.95, count - 1) / (count - 1))
    pattern = [-1, 1] + [0] * (count - 2)
    dials = [20 + share * expected / stats.tstd(pattern) * p for p in pattern]
    notes = read(dials).notes
    assert any("more than the instrument explains" in n and "riser not seated" in n for n in notes) is noted


def test_every_further_reading_that_agrees_makes_the_figure_surer():
    # by hand: 20; 20, 20; 20, 21: a second reading never makes it worse, however they fall within a division
    one, equal, unequal = (read(dials).uncertainty_lbf for dials in ([20], [20, 20], [20, 21]))
    assert equal < unequal < one


def test_the_same_readings_again_and_again_are_surer():
    widths = [read([19, 20, 21] * times).uncertainty_lbf for times in range(1, 12)]
    assert widths == sorted(widths, reverse=True)


def test_an_expired_card_gives_a_figure_and_the_mark():
    tension = read([20, 20, 20], today=dt.date(2027, 3, 3))
    assert tension.tension_lbf == pytest.approx(2 * 20)
    assert tension.card_in_date is False
    assert tension.notes == ("card 0417 was due on 2027-03-02: figure shown, not for sign-off",)


def test_a_card_dated_after_today_gives_a_figure_and_the_mark():
    tension = read([20, 20, 20], today=dt.date(2026, 3, 1))
    assert tension.card_in_date is False
    assert tension.notes == ("card 0417 is dated 2026-03-02, after today: figure shown, not for sign-off",)


def test_a_card_from_memory_gives_a_figure_and_the_mark():
    tension = read([20, 20, 20], source=Source(Basis.MEMORY))
    assert tension.card_in_date is True
    assert tension.notes == ("card 0417 is from memory: figure shown, not for sign-off",)


def test_one_dial_outside_the_card_refuses_them_all():
    with pytest.raises(Refusal, match="outside the card's points"):
        read([29, 30, 30.5])


def test_another_riser_or_size_is_refused():
    for riser, size in ((2, "1/8"), (1, "5/32")):
        with pytest.raises(Refusal, match="has no column"):
            read_tension(card(), riser, size, [20], TODAY)


def test_no_readings_at_all():
    with pytest.raises(UsageError, match="at least one dial reading"):
        read([])


def test_equal_readings_at_the_edge_of_the_card_stay_on_it():
    # a third of the sum of three 0.7 is below 0.7 in floating point
    low = CardColumn(1, "1/8", [(0.7, 10), (1.7, 20), (2.7, 30)])
    assert read([0.7] * 3, columns=(low,)).tension_lbf == pytest.approx(10)


def test_the_spread_that_is_told_is_highest_less_lowest():
    (note,) = read([12, 12, 25]).notes
    assert note.startswith("readings spread 26.0 lbf, more than the instrument explains")  # 50 lbf and 24 lbf


def test_a_card_is_good_on_its_last_day_and_on_its_first():
    assert read([20, 20, 20], today=dt.date(2027, 3, 2)).card_in_date
    assert read([20, 20, 20], today=dt.date(2026, 3, 2)).card_in_date
    assert not read([20, 20, 20], today=dt.date(2027, 3, 3)).card_in_date
