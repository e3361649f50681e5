"""What is seen on a cable, just inside, at and just outside each limit of the bench.

References: MIL-F-18372, own reading of a scan (3.1.1.17.8: pulley in line within 1 degree for primary, 2 for other controls;
with an AN219, AN220 or AN221 or side travel 2 and 3; at least 10 degrees of wrap left on a sector at both ends of travel);
14 CFR 23.689, before amendment 64, and AC 43.13-1B 7-149n (fairlead bend at most 3 degrees); TO 1-1A-8, second-hand (readings more than 6 in from
fittings, pulleys and fairleads); AC 43.13-1B 7-149g (outer wires worn 40 to 50 %), 7-149a and b (one broken wire in a critical
fatigue area, as within 1 ft of a swaged fitting), 7-147a (splices at least 2 in from pulleys and fairleads).
"""

import pytest

from rigging.judge.condition import CableCondition, faults

SMALL = 0.001


def spoiled(**seen):
    return bool(faults(CableCondition(**seen)))


@pytest.mark.parametrize(
    ("field", "limit", "beside", "below", "at", "above"),
    [
        ("misalignment_deg", 1, {"primary": True}, False, False, True),
        ("misalignment_deg", 2, {"primary": False}, False, False, True),
        ("misalignment_deg", 1, {}, False, False, True),
        ("misalignment_deg", 2, {"primary": True, "pulley_part": "AN220-2"}, False, False, True),
        ("misalignment_deg", 3, {"primary": False, "side_travel": True}, False, False, True),
        ("fairlead_bend_deg", 3, {}, False, False, True),
        ("wrap_left_deg", 10, {}, True, False, False),
        ("splice_to_bend_in", 2, {}, True, False, False),
        ("reading_place_in", 6, {}, True, True, False),  # "more than 6 in"
        ("worn", 0.40, {}, False, True, True),
    ],
)
def test_at_below_and_above_each_limit(field, limit, beside, below, at, above):
    found = [spoiled(**{field: value}, **beside) for value in (limit - SMALL, limit, limit + SMALL)]
    assert found == [below, at, above]


@pytest.mark.parametrize(
    ("away_in", "words"), [(0, "swaged fitting"), (11.999, "swaged fitting"), (12, "swaged fitting"), (12.001, None)]
)
def test_a_broken_wire_within_a_foot_of_a_swaged_fitting(away_in, words):
    found = faults(
        CableCondition(
            broken_wires=1,
            broken_wire_to_fitting_in=away_in,
            in_fatigue_area=False,
            broken_wires_allowed_by="the manual",
        )
    )
    assert [words in fault.words for fault in found] == ([True] if words else [])


@pytest.mark.parametrize(("count", "bad"), [(0, False), (1, True), (2, True)])
def test_one_broken_wire_in_a_critical_area_is_one_too_many(count, bad):
    assert spoiled(broken_wires=count, in_fatigue_area=True) is bad


@pytest.mark.parametrize(
    ("field", "metric_in", "bad"),
    # the same limits measured in mm: 304.8 mm are a foot, 50.8 mm are 2 in, 152.4 mm are 6 in
    [("splice_to_bend_in", 50.8 / 25.4, False), ("reading_place_in", 152.4 / 25.4, True)],
)
def test_a_limit_measured_in_millimetres_is_the_same_limit(field, metric_in, bad):
    for value in (metric_in, metric_in * (1 + 2e-16), metric_in * (1 - 2e-16)):
        assert spoiled(**{field: value}) is bad
