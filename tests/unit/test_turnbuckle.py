"""What one turn takes up, how many threads may show, how the barrel is locked."""

import pytest

from rigging.errors import Refusal
from rigging.hardware.turnbuckle import locking_wire, pitch, takeup_per_turn_in, too_many_threads

THREADS_PER_INCH = {"6-40": 40, "10-32": 32, "1/4-28": 28, "5/16-24": 24, "3/8-24": 24, "7/16-20": 20, "1/2-20": 20}


@pytest.mark.parametrize(("thread", "per_inch"), THREADS_PER_INCH.items())
def test_one_turn_takes_up_two_pitches(thread, per_inch):
    assert pitch(thread).value == pytest.approx(1 / per_inch)
    assert takeup_per_turn_in(thread) == pytest.approx(2 / per_inch)


def test_an_unknown_thread_is_refused_and_none_is_assumed():
    with pytest.raises(Refusal, match="no thread '10-24' in this table"):
        pitch("10-24")


@pytest.mark.parametrize(
    ("showing", "too_many"), [((0, 0), False), ((3, 3), False), ((4, 0), True), ((0, 4), True), ((5, 7), True)]
)
def test_three_threads_may_show_at_each_end(showing, too_many):
    # AC 43.13-1B 7-166, 7-179
    assert too_many_threads(showing) is too_many


@pytest.mark.parametrize(
    ("size", "wires"),
    [
        ("1/32", []),
        ("1/16", ["single"]),
        ("3/32", ["single"]),
        ("1/8", ["single", "double", "single"]),
        ("5/32", ["double", "single", "double"]),
        ("1/4", ["double", "single", "double"]),
    ],
)
def test_locking_wire_by_cable_size(size, wires):
    # AC 43.13-1B table 7-8
    assert [row.values["wrap"] for row in locking_wire(size)] == wires
