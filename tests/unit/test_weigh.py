"""Hanging weights: differences and their uncertainty by hand, the word for each load and for all, the corrected card."""

import datetime as dt
import math
from pathlib import Path

import pytest
from scipy import stats

from rigging.bands import parse_band
from rigging.errors import Refusal, UnitError, UsageError
from rigging.jobs.weigh import card_text, new_card, weigh_instrument, write_card
from rigging.judge.verdict import Word
from rigging.measure.card import Card, CardColumn, dial_to_lbf, load_card
from rigging.measure.weigh import GRAVITY_SHARE, Load, column_accuracy, load_parts, measured_column, parse_load, weigh
from rigging.source import Basis, Source

TODAY = dt.date(2026, 11, 25)
COLUMN = CardColumn(1, "1/8", [(10, 20), (20, 40), (30, 60), (60, 120)])  # straight, 2 lbf per division
OTHER = CardColumn(2, "5/32", [(10, 30), (20, 60)])


def card(**changes):
    fields = {
        "serial": "0417",
        "calibrated": dt.date(2026, 3, 2),
        "due": dt.date(2027, 3, 2),
        "accuracy": 0.05,
        "division": 0.1,
        "columns": (COLUMN, OTHER),
        "source": Source(Basis.MEASURED, "card of tensiometer 0417"),
        "file": "card.yaml",
        "sha256": "",
    }
    return Card(**{**fields, **changes})


def loads(*pairs):
    return [Load(load, tuple(dials), f"{load} lbf") for load, dials in pairs]


def check(*pairs, accuracy=0.005, band=None, **changes):
    return weigh_instrument(
        card(**changes), 1, "1/8", loads(*pairs), accuracy, None if band is None else parse_band(band), TODAY
    )  # fmt: skip


RIGHT = (30, [15, 15, 15]), (40, [20, 20, 20]), (50, [25, 25, 25])


def test_a_load_as_it_is_typed():
    assert parse_load("30 lbf: 27 27.5 28") == Load(30.0, (27.0, 27.5, 28.0), "30 lbf: 27 27.5 28")
    assert parse_load("0.5 lbf: 1").load_lbf == 0.5
    assert parse_load("1000000 lbf: 1").load_lbf == 1e6
    assert parse_load("133.446648 N:12").load_lbf == pytest.approx(30, abs=1e-5)  # 1 lbf is 4.4482216 N


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("30 lbf", UsageError, "like '30 lbf: 27 27 28'"),
        ("30 lbf:", UsageError, "like '30 lbf: 27 27 28'"),
        ("30: 27", UnitError, "has no unit"),
        ("30 in: 27", UnitError, "is a length"),
        ("0 lbf: 27", UnitError, "must be more than zero"),
        ("-3 lbf: 27", UnitError, "must be more than zero"),
        ("30 lbf: 27,5", UnitError, "comma"),
        ("30 lbf: x", UnitError, "not a number"),
        ("30 lbf: nan", UnitError, "finite"),
        ("30 lbf: -2", UnitError, "below zero"),
        ("9e9 lbf: 2", UnitError, "no load to hang"),
        ("1000000.1 lbf: 2", UnitError, "no load to hang"),
    ],
)
def test_a_load_that_is_none(text, error, words):
    with pytest.raises(error, match=words):
        parse_load(text)


def test_gravity_over_the_earth():
    # normal gravity at sea level, WGS 84: 9.7803 at the equator, 9.8322 at the poles; standard 9.80665
    assert pytest.approx(1 - 9.7803 / 9.80665, abs=5e-5) == GRAVITY_SHARE
    assert GRAVITY_SHARE > 9.8322 / 9.80665 - 1


def test_the_difference_and_each_part_of_its_uncertainty_by_hand():
    found = weigh(card(division=1.0), 1, "1/8", Load(40, (19, 20, 22), ""), 0.01, TODAY)
    assert found.difference_lbf == pytest.approx(122 / 3 - 40)
    assert found.share == pytest.approx((122 / 3 - 40) / 40)
    pooled = (2 * stats.tvar([38, 40, 44]) + 5 * 2**2 / 3) / 7
    squares = [(0.01 * 40) ** 2 / 3, (GRAVITY_SHARE * 40) ** 2 / 3, 1 / 3, pooled / 3]
    assert found.combined.standard_uncertainty == pytest.approx(math.sqrt(sum(squares)))
    dof = math.floor(sum(squares) ** 2 / (squares[3] ** 2 / 7))
    assert found.uncertainty_lbf == pytest.approx(stats.t.ppf(0.975, dof) * math.sqrt(sum(squares)))


def test_the_stated_accuracy_is_the_limit_and_no_part_of_the_uncertainty():
    tight, loose = (weigh(card(accuracy=a), 1, "1/8", Load(40, (20,), ""), 0.005, TODAY) for a in (0.001, 0.4))
    assert tight.combined == loose.combined
    assert check(*RIGHT, accuracy=0.005).loads[1].allowed_lbf == pytest.approx(0.05 * 40)


def test_a_right_instrument():
    result = check(*RIGHT, band="32..48 lbf")
    assert [w.word for w in result.loads] == [Word.IN] * 3
    assert (result.word, result.brackets, result.finding) == (Word.IN, True, False)
    assert result.worst.share == 0


def test_one_load_out_puts_the_instrument_out():
    # 50 lbf reads 44: 6 low, 2.5 allowed
    result = check((30, [15] * 3), (40, [20] * 3), (50, [22] * 3))
    assert [w.word for w in result.loads] == [Word.IN, Word.IN, Word.OUT]
    assert (result.word, result.finding) == (Word.OUT, True)
    assert result.worst.load.load_lbf == 50
    assert result.worst.share == pytest.approx(-6 / 50)
    assert "6.0 lbf" not in result.loads[2].reason
    assert "44.0 lies 3.5 lbf below 47.5" in result.loads[2].reason


def test_a_coarse_dial_decides_nothing():
    # U of one division of 2 lbf is beyond 5 % of 30 to 50 lbf... 1.5 to 2.5 lbf
    result = check(*((load, [dial]) for load, (dial, *_) in RIGHT), division=1.0)
    assert result.word is Word.RE_MEASURE
    assert result.finding
    assert "no reading here could be accepted" in result.loads[0].reason
    assert any("to decide more" in note for note in result.notes)
    assert any(note == "at 30.0 lbf: one reading only: three show whether it repeats" for note in result.notes)


def test_near_the_edge_it_is_said_on_which_side():
    # 40 lbf reads 41.9, 2 allowed; U a few tenths
    result = check((30, [15] * 3), (40, [20.95] * 3), (50, [25] * 3))
    assert result.loads[1].word is Word.RE_MEASURE
    assert "lies inside the stated 2.0 lbf, by less than its uncertainty" in result.loads[1].reason
    result = check((30, [15] * 3), (40, [21.05] * 3), (50, [25] * 3))
    assert "lies outside the stated 2.0 lbf, by less than its uncertainty" in result.loads[1].reason
    assert result.word is Word.RE_MEASURE


def test_a_dial_under_the_card_is_out_where_even_the_cards_end_is():
    # seen in practice: a gauge that reads under its card on a hung 70 lbf
    result = check((70, [9, 8, 9]), (80, [40] * 3), (90, [45] * 3))
    under = result.loads[0]
    assert (under.word, under.weighing.outside) == (Word.OUT, "under")
    assert under.weighing.tension.tension_lbf == pytest.approx(20)
    assert "the dial lies beyond the card, under 20.0 lbf, and is out by more than 50.0 lbf" in under.reason


def test_a_dial_under_the_card_decides_nothing_where_the_load_is_near_the_end():
    # a dial under the card reads under 20 lbf; on 20 lbf it may be right or not
    result = check((20, [9.9] * 3), (40, [20] * 3), (50, [25] * 3))
    assert result.loads[0].word is Word.RE_MEASURE
    assert "no figure is given there" in result.loads[0].reason
    # over the card, on a load far above it, the figure may be right
    result = check((40, [20] * 3), (50, [25] * 3), (150, [75] * 3))
    assert (result.loads[2].weighing.outside, result.loads[2].word) == ("over", Word.RE_MEASURE)
    # over the card on a light load it is out for certain
    result = check((40, [70] * 3), (50, [25] * 3), (60, [30] * 3))
    assert (result.loads[0].weighing.outside, result.loads[0].word) == ("over", Word.OUT)


def test_a_dial_beyond_both_ends_is_no_reading():
    with pytest.raises(Refusal, match="beyond both ends"):
        check((40, [5, 70]), (50, [25]), (60, [30]))


def test_loads_are_taken_light_to_heavy():
    result = check(*reversed(RIGHT))
    assert [w.weighing.load.load_lbf for w in result.loads] == [30, 40, 50]


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_loads_check_nothing(count):
    with pytest.raises(
        Refusal, match=f"^{count} load{'' if count == 1 else 's'} cannot check an instrument: hang 3 or more"
    ):
        check(*RIGHT[:count])


def test_a_load_given_twice():
    with pytest.raises(UsageError, match="are one load: put all its readings into one --at"):
        check(*RIGHT, (40, [20]))


@pytest.mark.parametrize("accuracy", [0.0, -0.01, 0.21, 1.0, math.nan])
def test_weights_that_check_nothing(accuracy):
    with pytest.raises(Refusal, match="check nothing"):
        check(*RIGHT, accuracy=accuracy)


@pytest.mark.parametrize(
    ("band", "brackets"), [("30..50 lbf", True), ("29.9..50 lbf", False), ("30..50.1 lbf", False), ("35..45 lbf", True)]
)
def test_whether_the_loads_bracket_what_matters(band, brackets):
    result = check(*RIGHT, band=band)
    assert result.brackets is brackets
    assert result.finding is not brackets
    assert any("do not bracket" in note for note in result.notes) is not brackets


def test_a_card_out_of_date_or_from_memory_is_told_once():
    result = check(*RIGHT, due=dt.date(2026, 6, 1), source=Source(Basis.MEMORY))
    assert len([n for n in result.notes if n.startswith("card 0417 was due on 2026-06-01")]) == 1
    assert len([n for n in result.notes if n.startswith("card 0417 is from memory")]) == 1


def test_an_unknown_column():
    with pytest.raises(Refusal, match="no column for riser 3, cable 1/8"):
        weigh_instrument(card(), 3, "1/8", loads(*RIGHT), 0.005, None, TODAY)


# the corrected card

WRONG = (30, [13, 13, 14]), (40, [17, 17, 17]), (50, [22, 22, 21.5])


def test_the_new_card_reads_back_as_what_was_hung(tmp_path):
    path = tmp_path / "new.yaml"
    made = write_card(path, check(*WRONG), "R. Tern", None)
    read = load_card(path)
    assert (read.serial, read.calibrated, read.due) == ("0417", TODAY, dt.date(2027, 3, 2))
    assert read.source.basis is Basis.MEASURED
    assert read.source.document == "hanging weights of 30, 40, 50 lbf, within 0.5 %, 2026-11-25 by R. Tern"
    assert read.columns == (CardColumn(1, "1/8", [(13.333, 30), (17, 40), (21.833, 50)]),)
    assert (read.accuracy, read.division) == (made.accuracy, 0.1)
    assert dial_to_lbf(read.column(1, "1/8"), 17) == 40
    assert "riser 2, cable 5/32" in path.read_text()  # as left out


@pytest.mark.parametrize(
    ("who", "serial"), [('R. "Tern"', "0417"), ("É: {x} #1", "a: b"), ("o\\n", "1e3"), ("yes", "no"), ("李", "12:30")]
)
def test_names_of_any_kind_come_back_as_they_are(tmp_path, who, serial):
    write_card(tmp_path / "new.yaml", check(*WRONG, serial=serial), who, None)
    read = load_card(tmp_path / "new.yaml")
    assert read.serial == serial
    assert read.source.document.endswith(f"by {who}")


def test_nothing_is_overwritten(tmp_path):
    path = tmp_path / "new.yaml"
    path.write_text("mine\n")
    with pytest.raises(UsageError, match=r"exists: choose another name, nothing was written"):
        write_card(path, check(*WRONG), "R. Tern", None)
    assert path.read_text() == "mine\n"


def test_the_day_it_is_good_until_is_not_invented():
    result = check(*WRONG, due=dt.date(2026, 11, 25))
    with pytest.raises(UsageError, match=r"the card was due on 2026-11-25: give the day .* --due"):
        new_card(result, "R. Tern", None)
    assert new_card(result, "R. Tern", dt.date(2026, 12, 1)).due == dt.date(2026, 12, 1)
    with pytest.raises(UsageError, match="after 2026-11-25"):
        new_card(result, "R. Tern", TODAY)


def test_a_dial_that_does_not_rise_makes_no_card():
    with pytest.raises(Refusal, match="the dial shows 17 at 40 lbf and 17 at 50 lbf"):
        new_card(check((30, [13]), (40, [17]), (50, [17])), "R. Tern", None)


def test_the_new_accuracy_is_never_better_than_stated_and_covers_the_worst_point():
    hung = loads(*WRONG)
    column = measured_column(1, "1/8", hung)
    assert column_accuracy(column, hung, 0.001, 0.0001, 0.10) == 0.10
    found = column_accuracy(column, hung, 1.0, 0.005, 0.02)
    # the lightest load by hand: slope 10/3.667 lbf a division; dials 13, 13, 14 pooled with one division
    slope = 10 / (17 - 13.333)
    pooled = (2 * stats.tvar([13, 13, 14]) + 5 / 3) / 7
    u = math.sqrt((0.005 * 30) ** 2 / 3 + (GRAVITY_SHARE * 30) ** 2 / 3 + slope**2 * (0.25 / 3 + pooled / 3))
    assert found == math.ceil(1000 * math.sqrt(3) * u / 30) / 1000


def test_the_new_accuracy_is_rounded_up_to_a_tenth_of_a_per_cent():
    hung = loads(*RIGHT)
    column = measured_column(1, "1/8", hung)
    for stated, claimed in ((0.35, 0.35), (0.3502, 0.351), (0.3509, 0.351)):
        assert column_accuracy(column, hung, 0.01, 0.0001, stated) == claimed


def test_the_text_says_what_was_left_out_and_names_the_old_card():
    result = check(*WRONG)
    text = card_text(new_card(result, "R. Tern", None), result.card)
    assert "takes the place of the card calibrated 2026-03-02" in text
    assert "Left out, because they were not checked: riser 2, cable 5/32." in text
    alone = check(*WRONG, columns=(COLUMN,))
    assert "Left out" not in card_text(new_card(alone, "R. Tern", None), alone.card)


def test_a_folder_that_is_not_there(tmp_path):
    from rigging.errors import BadFile

    with pytest.raises(BadFile, match="cannot be written"):
        write_card(Path(tmp_path / "nowhere" / "new.yaml"), check(*WRONG), "R. Tern", None)


def test_what_is_unsure_about_a_load_is_named_in_per_cent():
    weights, gravity = load_parts(50.0, 0.001)
    assert weights.why == "weights within 0.1 %"
    assert weights.standard_uncertainty == pytest.approx(0.05 / math.sqrt(3))  # 0.001 x 50, rectangular
    assert gravity.why.startswith("local gravity, within 0.")


def test_a_dial_at_the_very_end_of_the_card_is_on_it():
    first, _, last = check((20, [10] * 3), (40, [20] * 3), (120, [60] * 3)).loads
    assert (first.weighing.outside, last.weighing.outside) == (None, None)


def test_a_dial_that_does_not_move_reads_zero():
    assert parse_load("3 lbf: 0 0 0").dials == (0.0, 0.0, 0.0)


def test_a_new_card_keeps_a_thousandth_of_a_pound_and_of_a_division():
    column = measured_column(1, "1/8", loads((30.1264, [15.1, 15.1, 15.2]), (40.0, [20]), (50.0, [25])))
    assert list(column.points[0]) == [15.133, 30.126]  # (15.1 + 15.1 + 15.2) / 3


def test_what_air_bears_is_told():
    # 1.2 kg/m3 of air over 7850 kg/m3 of iron: 0.0153 %
    assert any("air bears iron up by 0.015 %" in words for words in check(*RIGHT).assumptions)


def test_where_the_dial_moves_least_the_new_card_is_least_sure():
    # 10 lbf over 20 divisions, then 40 lbf over two: at 40 lbf, where the steep stretch begins, a division is 20 lbf
    hung = loads((30, [10] * 3), (40, [30] * 3), (80, [32] * 3))
    found = column_accuracy(measured_column(1, "1/8", hung), hung, 1.0, 0.005, 0.02)
    pooled = 5 / 3 / 7  # three equal readings, pooled with one division
    u = math.sqrt((0.005 * 40) ** 2 / 3 + (GRAVITY_SHARE * 40) ** 2 / 3 + 20**2 * (0.25 / 3 + pooled / 3))
    assert found == math.ceil(1000 * math.sqrt(3) * u / 40) / 1000
