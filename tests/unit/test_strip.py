"""The strip: where a reading lies in its band, always as wide, always with its limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.report.text.strip import WIDTH, strip

# 17 cells from 25 to 45 lbf, 1.25 lbf each: 30 is cell 4, 40 is cell 12


@pytest.mark.parametrize(
    ("tension", "guard", "expected"),
    [
        (35.0, 1.3, "····|-==●==-|····"),
        (35.0, 0.0, "····|===●===|····"),
        (30.0, 1.3, "····●-=====-|····"),
        (40.0, 1.3, "····|-=====-●····"),
        (25.0, 1.3, "●···|-=====-|····"),
        (45.0, 1.3, "····|-=====-|···●"),
        (20.0, 1.3, "◀···|-=====-|····"),
        (99.0, 1.3, "····|-=====-|···▶"),
        (0.0, 1.3, "◀···|-=====-|····"),
        # a guard band that leaves nothing to accept
        (35.0, 5.1, "····|---●---|····"),
        (35.0, 99.0, "····|---●---|····"),
    ],
)
def test_by_hand(tension, guard, expected):
    assert strip(tension, 30.0, 40.0, guard) == expected


@pytest.mark.parametrize(
    ("tension", "expected"),
    [(35.0, "....|-==o==-|...."), (20.0, "<...|-=====-|...."), (50.0, "....|-=====-|...>")],
)
def test_in_ascii(tension, expected):
    assert strip(tension, 30.0, 40.0, 1.3, ascii_only=True) == expected


FORCES = st.floats(min_value=0.0, max_value=1e4)


@given(FORCES, FORCES, st.floats(min_value=0.1, max_value=1e4), FORCES, st.booleans())
def test_every_strip_is_as_wide_and_shows_the_reading_once(tension, low, width, guard, ascii_only):
    made = strip(tension, low, low + width, guard, ascii_only)
    assert len(made) == WIDTH
    marks = "o<>" if ascii_only else "●◀▶"
    assert sum(made.count(mark) for mark in marks) == 1
    assert made.isascii() is ascii_only
    assert made.count("|") >= 1


@given(FORCES, st.floats(min_value=1.0, max_value=1e4), st.floats(min_value=0.0, max_value=1.0))
def test_a_reading_in_limits_stands_between_or_on_the_limits(low, width, share):
    made = strip(low + share * width, low, low + width, 0.0)
    assert 4 <= made.index("●") <= 12
