"""A calibration card as its file is written, and the way through it in both directions."""

import datetime as dt

import pytest

from rigging.errors import BadFile, Refusal
from rigging.measure.card import (
    CardColumn,
    dial_to_lbf,
    dial_window,
    interpolation_error_lbf,
    lbf_to_dial,
    load_card,
    local_slope_lbf,
)
from rigging.source import Basis

CARD = """\
tensiometer_card: 1
serial: "0417"
calibrated: 2026-03-02
due: 2027-03-02
accuracy: 2%
columns:
  - {riser: 1, cable: 1/8, points: [[10, 20], [20, 40], [30, 70]]}
  - {riser: 2, cable: 5/32, points: [[10, 30], [20, 50]]}
"""
COLUMN = CardColumn(1, "1/8", [(10, 20), (20, 40), (30, 70)])


@pytest.fixture
def card_of(tmp_path):
    def load(text=CARD):
        path = tmp_path / "card.yaml"
        path.write_text(text, encoding="utf-8")
        return load_card(path)

    return load


def test_a_card_says_whose_it_is(card_of):
    card = card_of()
    assert (card.serial, card.accuracy, card.division) == ("0417", 0.02, 1.0)
    assert (card.calibrated, card.due) == (dt.date(2026, 3, 2), dt.date(2027, 3, 2))
    assert card.source.basis is Basis.MEASURED
    assert "0417" in card.source.document


@pytest.mark.parametrize(
    ("unit", "lbf"),
    [("N", 1 / (0.45359237 * 9.80665)), ("daN", 10 / (0.45359237 * 9.80665)), ("kgf", 1 / 0.45359237)],
)
def test_a_card_in_another_unit_is_read_in_pounds(card_of, unit, lbf):
    card = card_of(CARD + f'unit: "{unit}"\n')
    assert dial_to_lbf(card.column(1, "1/8"), 20) == pytest.approx(40 * lbf)


def test_the_column_is_found_by_riser_and_size(card_of):
    assert card_of().column(2, "5/32").points == [(10, 30), (20, 50)]
    assert card_of().risers("1/8") == [1]
    assert card_of().risers("3/16") == []


@pytest.mark.parametrize(("riser", "size"), [(2, "1/8"), (1, "5/32"), (3, "1/4")])
def test_another_riser_or_size_is_refused_with_what_there_is(card_of, riser, size):
    with pytest.raises(Refusal, match=r"no column for riser .* \(it has riser 1, cable 1/8; riser 2, cable 5/32\)"):
        card_of().column(riser, size)


def test_another_serial_is_refused(card_of):
    with pytest.raises(Refusal, match="for tensiometer 0417, the one in hand is 1183: no card may be lent"):
        card_of().need_serial("1183")
    card_of().need_serial("0417")


@pytest.mark.parametrize(
    ("day", "good"),
    [("2026-03-01", False), ("2026-03-02", True), ("2027-03-02", True), ("2027-03-03", False)],
)
def test_a_card_is_good_from_its_calibration_to_the_day_it_is_due(card_of, day, good):
    assert card_of().in_date(dt.date.fromisoformat(day)) is good


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[20, 40]", "[10, 40]", "must rise in dial and tension"),
        ("[20, 40]", "[20, 20]", "must rise in dial and tension"),
        ("[20, 40]", "[5, 40]", "must rise in dial and tension"),
        ("[20, 40]", "[20, 15]", r"\[10, 20\] is followed by \[20, 15\]"),
        ("[10, 20]", "[-1, 20]", "below zero"),
        ("[10, 20]", "[10, -1]", "below zero"),
        ("[[10, 30], [20, 50]]", "[[10, 30]]", "at least two points"),
        ("riser: 2, cable: 5/32", "riser: 1, cable: 1/8", "two columns for riser 1, cable 1/8: keep one"),
        ("due: 2027-03-02", "due: 2026-03-02", "must lie after calibrated"),
        ("due: 2027-03-02", "due: 2026-03-01", "must lie after calibrated"),
        ("accuracy: 2%", "accuracy: 0.02", "has no unit"),
        ("accuracy: 2%", "accuracy: 51%", "no measurement"),
        ("columns:", "division: 0\ncolumns:", "no dial is finer"),
        # a division of which a card holds more than can be counted
        ("columns:", f"division: 0.{'0' * 300}1\ncolumns:", "no dial is finer"),
        ("columns:", "unit: kg\ncolumns:", "'kg' is not known"),
        ('serial: "0417"\n', "", "'serial' is missing"),
    ],
)
def test_a_card_that_cannot_be_right_is_not_read(card_of, old, new, words):
    with pytest.raises(BadFile, match=words):
        card_of(CARD.replace(old, new))


def test_a_card_without_columns_is_not_read(card_of):
    with pytest.raises(BadFile, match="without columns"):
        card_of(CARD.partition("columns:")[0] + "columns: []\n")


# by hand: 2 lbf a division up to dial 20, then 3
@pytest.mark.parametrize(("dial", "lbf"), [(10, 20), (15, 30), (20, 40), (22.5, 47.5), (30, 70)])
def test_straight_between_the_points_both_ways(dial, lbf):
    assert dial_to_lbf(COLUMN, dial) == pytest.approx(lbf)
    assert lbf_to_dial(COLUMN, lbf) == pytest.approx(dial)


@pytest.mark.parametrize("dial", [9.999, 30.001, -1, 1e9, float("nan"), float("inf")])
def test_a_dial_outside_the_points_has_no_tension(dial):
    with pytest.raises(Refusal, match=r"outside the card's points for riser 1, cable 1/8 \(10 to 30\)"):
        dial_to_lbf(COLUMN, dial)


@pytest.mark.parametrize("lbf", [19.999, 70.001, float("nan")])
def test_a_tension_outside_the_points_has_no_dial(lbf):
    with pytest.raises(Refusal, match=r"\(20 to 70 lbf\): no figure is given beyond them"):
        lbf_to_dial(COLUMN, lbf)


@pytest.mark.parametrize(("dial", "slope"), [(10, 2), (19.9, 2), (20, 3), (30, 3)])
def test_slope_of_the_chord_at_a_reading(dial, slope):
    assert local_slope_lbf(COLUMN, dial) == pytest.approx(slope)


def test_dial_window_is_cut_inward_to_whole_divisions():
    # 33 lbf is dial 16.5, 50 lbf is dial 23.33
    assert dial_window(COLUMN, 33, 50, 1) == (17, 23)
    assert dial_window(COLUMN, 33, 50, 0.5) == (16.5, 23)


def test_an_edge_on_a_division_belongs_to_the_window():
    assert dial_window(COLUMN, 40, 55, 1) == (20, 25)


def test_a_band_between_two_divisions_is_too_narrow():
    with pytest.raises(Refusal, match=r"^no division of the dial falls inside 32\.4\.\.33\.6 lbf: too narrow"):
        dial_window(COLUMN, 32.4, 33.6, 1)


def test_a_band_beyond_the_card_has_no_window():
    with pytest.raises(Refusal, match="outside the card's points"):
        dial_window(COLUMN, 60, 71, 1)


def test_the_interpolation_error_is_that_of_a_parabola():
    # t = d^2 / 10, in the middle of the card and at both of its ends
    parabola = CardColumn(1, "1/8", [(10, 10), (20, 40), (30, 90), (40, 160)])
    for dial in (11, 15, 21, 25, 29, 35, 39):
        above = dial_to_lbf(parabola, dial) - dial**2 / 10
        assert interpolation_error_lbf(parabola, dial) == pytest.approx(above)


@pytest.mark.parametrize("dial", [10, 20, 30])
def test_there_is_no_interpolation_error_at_the_cards_own_points(dial):
    assert interpolation_error_lbf(COLUMN, dial) == 0


def test_a_straight_card_has_no_interpolation_error():
    assert interpolation_error_lbf(CardColumn(1, "1/8", [(10, 20), (20, 40), (30, 60)]), 17) == pytest.approx(0)


def test_the_interpolation_error_of_a_parabola_whose_points_lie_unevenly():
    # the second difference of a parabola is the same wherever its points lie
    parabola = CardColumn(1, "1/8", [(d, d * d / 10) for d in (10, 14, 27, 31, 50)])
    for dial in (12, 20, 29, 40):
        above = dial_to_lbf(parabola, dial) - dial**2 / 10
        assert interpolation_error_lbf(parabola, dial) == pytest.approx(above)


def test_a_band_around_one_division_has_that_one():
    assert dial_window(COLUMN, 39.5, 40.5, 1) == (20, 20)


def test_a_refusal_names_the_reading_itself():
    with pytest.raises(Refusal, match=r"^dial 9\.5 lies outside .* \(10 to 30\)"):
        dial_to_lbf(COLUMN, 9.5)
    with pytest.raises(Refusal, match=r"^tension 71\.5 lbf lies outside .* \(20 to 70 lbf\)"):
        lbf_to_dial(COLUMN, 71.5)


def test_at_its_own_points_a_card_gives_its_own_figures_to_the_last_bit():
    # along the chord both would come out a bit short of the last point
    column = CardColumn(1, "1/8", [(20.7, 21.6), (29.1, 61.4), (53.9, 144.8)])
    for dial, lbf in column.points:
        assert (dial_to_lbf(column, dial), lbf_to_dial(column, lbf)) == (lbf, dial)


def test_a_card_may_begin_at_nothing(card_of):
    card = card_of(CARD.replace("[[10, 20], [20, 40], [30, 70]]", "[[0, 0], [20, 40], [30, 70]]"))
    assert dial_to_lbf(card.column(1, "1/8"), 0) == 0
