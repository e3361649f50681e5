"""In, out or re-measure at the boundaries, in words, and what must never be accepted."""

import datetime as dt
import math

import pytest
from scipy import stats

from rigging.jobs.check import check
from rigging.judge.verdict import Word, judge, probability_in_limits
from rigging.sheet.load import load_rig
from rigging.sheet.readings import parse_readings

IN, OUT, AGAIN = Word.IN, Word.OUT, Word.RE_MEASURE


def verdict(tension, low=30.0, high=40.0, u=1.0, k=2.0):
    return judge(tension, low, high, u, coverage_factor=k)


def below(x):
    return math.nextafter(x, -math.inf)


def above(x):
    return math.nextafter(x, math.inf)


@pytest.mark.parametrize(
    ("tension", "word"),
    [
        (below(28.0), OUT), (28.0, AGAIN), (above(28.0), AGAIN),
        (below(32.0), AGAIN), (32.0, IN), (above(32.0), IN),
        (below(38.0), IN), (38.0, IN), (above(38.0), AGAIN),
        (below(42.0), AGAIN), (42.0, AGAIN), (above(42.0), OUT),
    ],
)  # fmt: skip
def test_the_word_at_just_below_and_just_above_each_boundary(tension, word):
    # limits 30..40, U 2; ILAC-G8:09/2019 with w = U
    assert verdict(tension).word is word


@pytest.mark.parametrize(
    ("tension", "plain"),
    [(below(30.0), "out"), (30.0, "in"), (above(30.0), "in"), (below(40.0), "in"), (40.0, "in"), (above(40.0), "out")],
)
def test_the_plain_comparison_includes_both_limits(tension, plain):
    assert verdict(tension).plain == plain


@pytest.mark.parametrize(
    ("tension", "side"), [(20.0, "low"), (31.0, "low"), (35.0, None), (39.0, "high"), (50.0, "high")]
)
def test_the_side_is_the_limit_it_is_about(tension, side):
    assert verdict(tension).side == side


def test_the_guard_band_is_k_times_u():
    assert judge(35, 30, 40, 1.5, coverage_factor=2.0).guard_lbf == pytest.approx(2.0 * 1.5)


@pytest.mark.parametrize(("u", "can_decide"), [(2.499, True), (2.5, True), (2.501, False)])
def test_u_of_more_than_half_the_tolerance_leaves_nothing_to_accept(u, can_decide):
    middle = verdict(35.0, u=u)
    assert middle.can_decide is can_decide
    assert middle.word is (IN if can_decide else AGAIN)
    assert ("this instrument cannot decide this band" in middle.reason) is not can_decide


def test_an_instrument_that_cannot_accept_can_still_reject():
    assert verdict(20.0, u=3.0).word is OUT


@pytest.mark.parametrize(("tension", "word"), [(below(30.0), OUT), (30.0, IN), (40.0, IN), (above(40.0), OUT)])
def test_without_uncertainty_it_is_the_plain_comparison(tension, word):
    assert verdict(tension, u=0.0).word is word
    assert verdict(tension, u=0.0).probability_in_limits == (1.0 if word is IN else 0.0)


@pytest.mark.parametrize(
    ("tension", "words"),
    [
        (35.0, "35.0 lies inside 30.0..40.0 by more than its uncertainty 2.0 lbf"),
        (25.0, "25.0 lies 5.0 lbf below 30.0, more than its uncertainty 2.0"),
        (44.0, "44.0 lies 4.0 lbf above 40.0, more than its uncertainty 2.0"),
        (30.0, "30.0 is nearer to 30.0 than its uncertainty 2.0 lbf: in limits with 50 % probability"),
    ],
)
def test_the_reason_in_words(tension, words):
    assert verdict(tension).reason == words


@pytest.mark.parametrize("dof", [1, 2, 5, 16, math.inf])
@pytest.mark.parametrize("tension", [28.0, 31.0, 35.0, 41.0])
def test_the_probability_is_students_t_around_the_reading(tension, dof):
    t = stats.t(dof) if math.isfinite(dof) else stats.norm()
    expected = t.cdf((40 - tension) / 1.3) - t.cdf((30 - tension) / 1.3)
    assert probability_in_limits(tension, 30, 40, 1.3, dof) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("low", "high", "u"), [(40, 30, 1), (30, 30, 1), (math.nan, 40, 1), (30, 40, -0.1)])
def test_limits_the_wrong_way_round_are_an_error_of_the_caller(low, high, u):
    with pytest.raises(ValueError, match="low must lie below high"):
        judge(35, low, high, u)


@pytest.mark.parametrize("u", [0.0, 1.0, 1e6])
def test_what_is_no_number_is_never_accepted(u):
    assert verdict(math.nan, u=u).word is not IN


# The whole way: a reading in the middle of its band, on figures that may or may not be signed for

SHEET = """\
rig_sheet: 1
aircraft: {name: Test bed}
reference_temperature: 70F
airframe: MATERIAL
tensiometers: [card.yaml]
circuits:
  rudder:
    sectors: {pedals: {arm: 5 in}, horn: {arm: 4 in}}
    hold: [pedals]
    cables:
      left: {size: 1/8, length: 12 ft, from: pedals +, to: horn +, limits: 30..50 lbf @ 70F, limits_basis: LIMITS}
"""
CARD = """\
tensiometer_card: 1
serial: "0007"
calibrated: 2026-01-15
due: 2027-01-15
accuracy: 2%
basis: CARD
columns:
  - {riser: 1, cable: 1/8, points: [[10, 10], [20, 20], [30, 30], [40, 40], [50, 50], [60, 60]]}
"""
READINGS = "circuit,run,riser,dial,structure\n" + "rudder,left,1,40,70F\n" * 3


@pytest.fixture
def judged(tmp_path):
    def run(material="aluminium", limits="aircraft", card="measured", today="2026-11-25"):
        (tmp_path / "card.yaml").write_text(CARD.replace("CARD", card), encoding="utf-8")
        sheet = tmp_path / "sheet.yaml"
        sheet.write_text(SHEET.replace("MATERIAL", material).replace("LIMITS", limits), encoding="utf-8")
        rig = load_rig(sheet)
        (result,) = check(rig, parse_readings(READINGS, "readings.csv", rig), dt.date.fromisoformat(today)).runs
        return result

    return run


def test_a_sound_reading_on_sound_figures_is_accepted(judged):
    assert judged().word is IN


@pytest.mark.parametrize(
    "changes",
    [
        {"material": "carbon"},
        {"material": "wood"},
        {"limits": "memory"},
        {"card": "memory"},
        {"today": "2027-01-16"},
        {"today": "2026-01-14"},
    ],
)
def test_what_rests_on_memory_or_an_out_of_date_card_is_never_accepted(judged, changes):
    result = judged(**changes)
    assert result.word is not IN
    assert result.verdict.plain == "in"
    assert any(reason.startswith("cannot be accepted: ") for reason in result.reasons)
    assert result.action.startswith("inside its limits as it stands, but not for sign-off: ")
