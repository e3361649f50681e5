"""Limits that a cable, its pulleys and its turnbuckles are inspected by.

References: U.S. Department of Transportation, Federal Aviation Administration, AC 43.13-1B, paragraph 7-166 (at most 3
threads showing; at most 4 inside when first rigged), 7-179 (threads showing, wire not used again), 7-180 and 7-181 (at
least 4 turns on each shank, double wrap preferred), 7-147a (splices 2 in from fairleads and pulleys), 7-149a (one broken wire in
a critical fatigue area), 7-149b (within 1 ft of a swaged fitting), 7-149g (outer wires worn 40 to 50 %), 7-149i (corrosion of
inner strands), 7-149k (terminals), 7-149n and 14 CFR 23.689, before amendment 64, (fairlead bend at most 3 degrees; primary
control cable at least 1/8 in); MIL-F-18372, own reading of a scan (3.1.1.17.8: pulley in line within 1 degree for primary, 2 for
other controls, with AN219, AN220, AN221 or side travel 2 and 3; at least 10 degrees of wrap left); MIL-DTL-8878L, as quoted (clip resists 15 lbf); TO 1-1A-8, second-hand
(readings more than 6 in from fittings, pulleys and fairleads); MIL-DTL-83420P 1.1 (-65 to 250 F, jacketed 200 F);
MIL-DTL-87161, scope (1x19 strand not over pulleys). 7-149d and 7-149e (popped core, loose strands) are
second-hand.
"""

import pytest

from rigging.hardware import inspection
from rigging.hardware.cable import cable
from rigging.source import Basis

FIGURES = [
    (inspection.THREADS_SHOWING, 3, "count", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-166"),
    (inspection.THREADS_INSIDE, 4, "count", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-166"),
    (inspection.WIRE_TURNS, 4, "count", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-180"),
    (inspection.CLIP_FORCE, 15, "lbf", Basis.SECOND_HAND, "MIL-DTL-8878L", ""),
    (inspection.fairlead_bend(), 3, "deg", Basis.PUBLISHED, "14 CFR 23.689, before amendment 64", "7-149n"),
    (inspection.PULLEY_ALIGNMENT_PRIMARY, 1, "deg", Basis.PUBLISHED, "MIL-F-18372", "3.1.1.17.8"),
    (inspection.PULLEY_ALIGNMENT_OTHER, 2, "deg", Basis.PUBLISHED, "MIL-F-18372", "3.1.1.17.8"),
    (inspection.WIDE_ALIGNMENT_PRIMARY, 2, "deg", Basis.PUBLISHED, "MIL-F-18372", "3.1.1.17.8"),
    (inspection.WIDE_ALIGNMENT_OTHER, 3, "deg", Basis.PUBLISHED, "MIL-F-18372", "3.1.1.17.8"),
    (inspection.WRAP_LEFT, 10, "deg", Basis.PUBLISHED, "MIL-F-18372", ""),
    (inspection.READING_DISTANCE, 6, "in", Basis.SECOND_HAND, "TO 1-1A-8", ""),
    (inspection.WORN_SHARE, 0.40, "share", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-149g"),
    (inspection.BROKEN_WIRES, 1, "count", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-149a"),
    (inspection.FITTING_DISTANCE, 12, "in", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-149b"),
    (inspection.SPLICE_DISTANCE, 2, "in", Basis.PUBLISHED, "FAA AC 43.13-1B", "7-147a"),
]


@pytest.mark.parametrize(
    ("limit", "value", "unit", "basis", "document", "place"), FIGURES, ids=lambda x: getattr(x, "words", "")
)
def test_every_limit_with_its_source(limit, value, unit, basis, document, place):
    assert (limit.value, limit.unit, limit.source.basis) == (value, unit, basis)
    assert document in limit.source.document
    assert place in limit.source.place


def test_every_rule_without_a_figure_with_its_source():
    sources = {
        r.words: str(r.source) for r in (inspection.INTERNAL_CORROSION, inspection.LOOSE_STRANDS, inspection.TERMINALS)
    }
    assert list(sources.values()) == [
        "published: FAA AC 43.13-1B, 7-149i", "second-hand: FAA AC 43.13-1B, 7-149d, 7-149e", "published: FAA AC 43.13-1B, 7-149k",
    ]  # fmt: skip
    assert str(inspection.WIRE_ONCE.source) == "published: FAA AC 43.13-1B, 7-179"
    guard = next(rule for rule in inspection.cautions(cable("1/8")) if "guard" in rule.words)
    assert str(guard.source) == "published: FAA AC 43.13-1B, 7-146, end"


@pytest.mark.parametrize("limit", [row[0] for row in FIGURES], ids=lambda limit: limit.words)
def test_the_words_name_the_figure_that_is_held(limit):
    words = {0.40: "40 %", 12: "1 ft", 1: "1 deg" if limit.unit == "deg" else "one"}
    assert words.get(limit.value, f"{limit.value:g}") in limit.words


def test_the_smallest_primary_cable():
    smallest, source = inspection.smallest_primary_cable()
    assert (smallest, source.basis, source.document) == ("1/8", Basis.PUBLISHED, "14 CFR 23.689, before amendment 64")


@pytest.mark.parametrize("size", ["1/16", "3/32"])
def test_a_cable_below_it_is_warned_about(size):
    assert any("too small for a primary control" in rule.words for rule in inspection.cautions(cable(size)))


@pytest.mark.parametrize("size", ["1/8", "5/32", "1/4"])
def test_a_cable_of_it_or_above_is_not(size):
    assert not any("too small" in rule.words for rule in inspection.cautions(cable(size)))


def test_a_strand_is_kept_off_pulleys_and_its_remembered_strength_is_told():
    found = inspection.cautions(cable("1/8", "1x19"))
    assert any(r.words == "1x19 is not for use over pulleys" and r.source.document == "MIL-DTL-87161" for r in found)
    assert any("from memory: not for sign-off" in r.words and r.source.basis is Basis.MEMORY for r in found)
    assert not any("jacketed" in r.words for r in found)


def test_a_flexible_cable_has_its_range_of_temperature():
    words = next(r for r in inspection.cautions(cable("1/8")) if "jacketed" in r.words)
    assert "-65 to 250 F bare, to 200 F" in words.words
    assert str(words.source) == "published: MIL-DTL-83420P, 1.1"


def test_every_rule_of_both_lists_has_words_and_a_source_that_says_where():
    for rule in (*inspection.inspection_limits().values(), *inspection.safetying_limits().values()):
        assert rule.words
        assert rule.source.document or rule.source.note
