"""What was seen on a cable: the faults in words, with their source, and what nobody looked at."""

import math

import msgspec
import pytest

from rigging import yamlfile
from rigging.errors import BadFile, Refusal
from rigging.judge.condition import CableCondition, faults, not_looked_at
from rigging.schema import read
from rigging.source import Basis

SOUND = CableCondition(
    broken_wires=0,
    worn=0.0,
    internal_corrosion=False,
    splice_to_bend_in=8.0,
    fairlead_bend_deg=0.0,
    misalignment_deg=0.0,
    primary=True,
    wrap_left_deg=30.0,
    pulley_turns=True,
    flange_damaged=False,
    reading_place_in=20.0,
)


def bent(**changes):
    return msgspec.structs.replace(SOUND, **changes)


def test_a_sound_cable_has_no_fault_and_nothing_is_left_out():
    assert faults(SOUND) == []
    assert not_looked_at(SOUND) == []


def test_nothing_looked_at_is_no_fault_and_is_named():
    assert faults(CableCondition()) == []
    assert not_looked_at(CableCondition()) == [
        "broken wires", "worn wires", "internal corrosion", "splices", "fairlead bend", "pulley alignment",
        "wrap left on the sector", "pulley turning", "pulley flanges", "reading place",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("field", "name"),
    [
        ("broken_wires", "broken wires"),
        ("worn", "worn wires"),
        ("internal_corrosion", "internal corrosion"),
        ("splice_to_bend_in", "splices"),
        ("fairlead_bend_deg", "fairlead bend"),
        ("misalignment_deg", "pulley alignment"),
        ("wrap_left_deg", "wrap left on the sector"),
        ("pulley_turns", "pulley turning"),
        ("flange_damaged", "pulley flanges"),
        ("reading_place_in", "reading place"),
    ],
)
def test_one_thing_left_out_is_named_alone(field, name):
    assert not_looked_at(bent(**{field: None})) == [name]
    assert faults(bent(**{field: None})) == []


@pytest.mark.parametrize(
    ("change", "action", "basis", "words"),
    [
        ({"internal_corrosion": True}, "replace", Basis.PUBLISHED, "corrosion inside the cable: replace the cable"),
        ({"worn": 0.45}, "replace", Basis.PUBLISHED, "45 % worn: outer wires worn 40 % or more: replace the cable"),
        ({"splice_to_bend_in": 1.5}, "put right", Basis.PUBLISHED,
         "a splice comes to 1.5 in: splices stay at least 2 in from pulleys and fairleads over the full travel"),
        ({"fairlead_bend_deg": 4.0}, "put right", Basis.PUBLISHED, "bent by 4 deg: a fairlead bends the cable by at most 3 deg"),
        ({"misalignment_deg": 1.5}, "put right", Basis.PUBLISHED,
         "out of line by 1.5 deg: a pulley of a primary control is in line with its cable within 1 deg; 'pulley_part' or "
         "'side_travel' if a wider limit holds for it"),
        ({"wrap_left_deg": 5.0}, "put right", Basis.PUBLISHED,
         "5 deg of wrap left: at least 10 deg of wrap are left on a sector at both ends of travel"),
        ({"pulley_turns": False}, "put right", Basis.PRACTICE,
         "the pulley does not turn with the cable: free or replace it, and look at the cable there"),
        ({"flange_damaged": True}, "put right", Basis.PRACTICE,
         "a flange of the pulley is damaged: replace the pulley, and look at the cable there"),
        ({"reading_place_in": 4.0}, "put right", Basis.SECOND_HAND,
         "read at 4 in: read the tension more than 6 in from fittings, pulleys and fairleads"),
    ],
)  # fmt: skip
def test_each_fault_in_words_with_its_source(change, action, basis, words):
    (fault,) = faults(bent(**change))
    assert (fault.words, fault.action, fault.source.basis) == (words, action, basis)


@pytest.mark.parametrize(
    ("where", "action", "words"),
    [
        ({"in_fatigue_area": True}, "replace", "1 broken wire: one broken wire in a critical fatigue area: replace the cable"),
        ({"broken_wire_to_fitting_in": 8.0}, "replace",
         "1 broken wire, 8 in from a swaged fitting: within 1 ft of a swaged fitting is a critical fatigue area: replace the cable"),
        # the distance decides, whatever else was said
        ({"broken_wire_to_fitting_in": 8.0, "in_fatigue_area": False}, "replace",
         "1 broken wire, 8 in from a swaged fitting: within 1 ft of a swaged fitting is a critical fatigue area: replace the cable"),
        # far from a fitting it may still lie where the cable bends
        ({"broken_wire_to_fitting_in": 30.0}, "replace",
         "1 broken wire, and not where: taken to lie in a critical fatigue area until 'in_fatigue_area' says: replace the cable"),
        ({}, "replace",
         "1 broken wire, and not where: taken to lie in a critical fatigue area until 'in_fatigue_area' says: replace the cable"),
        ({"in_fatigue_area": False}, "look up",
         "1 broken wire outside the critical fatigue areas: look up what the aircraft's own data allow and name them in "
         "'broken_wires_allowed_by'; where they say nothing, replace the cable"),
    ],
)  # fmt: skip
def test_a_broken_wire_is_judged_by_where_it_lies(where, action, words):
    (fault,) = faults(bent(broken_wires=1, **where))
    # where the aircraft's own data are to be looked up there is no printed rule to name
    basis = Basis.PRACTICE if action == "look up" else Basis.PUBLISHED
    assert (fault.words, fault.action, fault.source.basis) == (words, action, basis)


def test_the_place_of_broken_wires_is_asked_for_where_there_are_any():
    assert not_looked_at(bent(broken_wires=1)) == ["where the broken wires lie"]
    assert not_looked_at(bent(broken_wires=1, in_fatigue_area=False)) == []
    assert not_looked_at(bent(broken_wires=1, broken_wire_to_fitting_in=3.0)) == []


@pytest.mark.parametrize(
    ("allowed_by", "where", "found"),
    [
        ("manual 5-20-3", {"in_fatigue_area": False}, 0),
        ("   ", {"in_fatigue_area": False}, 1),
        ("manual 5-20-3", {"in_fatigue_area": True}, 1),
        ("manual 5-20-3", {"broken_wire_to_fitting_in": 12.0}, 1),
        ("manual 5-20-3", {}, 1),
    ],
)
def test_the_aircrafts_own_data_allow_broken_wires_outside_the_critical_areas_alone(allowed_by, where, found):
    assert len(faults(bent(broken_wires=2, broken_wires_allowed_by=allowed_by, **where))) == found


def test_several_faults_stand_together_the_cable_first():
    found = faults(bent(flange_damaged=True, worn=0.5, internal_corrosion=True, broken_wires=3, in_fatigue_area=True))
    assert [fault.action for fault in found] == ["replace", "replace", "replace", "put right"]
    assert "3 broken wires: " in found[2].words


@pytest.mark.parametrize(("primary", "count"), [(True, 1), (None, 1), (False, 0)])
def test_where_nobody_says_what_a_pulley_belongs_to_the_stricter_limit_holds(primary, count):
    found = faults(bent(misalignment_deg=1.5, primary=primary))
    assert len(found) == count
    assert [("primary: false" in fault.words) for fault in found] == [primary is None] * count


@pytest.mark.parametrize(
    ("part", "side_travel", "wide"),
    [
        ("AN219-2", None, True), ("AN220", None, True), ("an 221-3A", False, True), ("", True, True), ("MS20220-2", True, True),
        # its number alone makes no AN pulley of another part, and AN22 or AN2201 is another part
        ("MS20220-2", None, False), ("AN210-1A", None, False), ("AN2201", None, False), ("AN22", False, False), ("", None, False),
    ],
)  # fmt: skip
@pytest.mark.parametrize(("primary", "narrow_deg", "wide_deg"), [(True, 1, 2), (None, 1, 2), (False, 2, 3)])
def test_the_part_and_side_travel_decide_how_far_a_pulley_may_be_out_of_line(
    part, side_travel, wide, primary, narrow_deg, wide_deg
):
    # MIL-F-18372 3.1.1.17.8: 1 deg primary, 2 deg other; with AN219, AN220, AN221 or side travel 2 and 3 deg
    most_deg = wide_deg if wide else narrow_deg
    seen = {"primary": primary, "pulley_part": part, "side_travel": side_travel}
    assert faults(bent(misalignment_deg=most_deg, **seen)) == []
    (fault,) = faults(bent(misalignment_deg=most_deg + 0.001, **seen))
    assert f"within {most_deg} deg" in fault.words
    assert str(fault.source) == "published: MIL-F-18372, 3.1.1.17.8"
    # who said nothing about the pulley is told what would widen the limit
    assert ("'side_travel'" in fault.words) is (not part and side_travel is None)


@pytest.mark.parametrize("field", ["broken_wires", "worn", "splice_to_bend_in", "fairlead_bend_deg", "misalignment_deg",
                                   "wrap_left_deg", "reading_place_in", "broken_wire_to_fitting_in"])  # fmt: skip
@pytest.mark.parametrize("value", [-1, math.nan, math.inf])
def test_a_figure_below_zero_or_none_at_all_is_refused(field, value):
    with pytest.raises(Refusal, match="cannot be below zero"):
        faults(bent(**{field: value}))


# --- as it is typed


def typed(text):
    return read(yamlfile.loads(text, "here"), CableCondition)


def test_what_is_typed_with_units_is_what_is_judged():
    found = typed(
        "{broken_wires: 1, in_fatigue_area: false, broken_wire_to_fitting: 2 ft, broken_wires_allowed_by: manual 5-20-3, worn: 10%,\n"
        "internal_corrosion: false, splice_to_bend: 8 cm, fairlead_bend: 0 deg, misalignment: 0.5 deg, primary: false,\n"
        "wrap_left: 12 deg, pulley_turns: true, flange_damaged: false, reading_place: 10 in}"
    )
    assert found == CableCondition(
        broken_wires=1, in_fatigue_area=False, broken_wire_to_fitting_in=24, broken_wires_allowed_by="manual 5-20-3", worn=0.1,
        internal_corrosion=False, splice_to_bend_in=80 / 25.4, fairlead_bend_deg=0, misalignment_deg=0.5, primary=False,
        wrap_left_deg=12, pulley_turns=True, flange_damaged=False, reading_place_in=10,
    )  # fmt: skip
    assert faults(found) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{worn: -1%}", "cannot be below zero"),
        ("{worn: 101%}", "beyond anything"),
        ("{worn: 40}", "has no unit"),
        ("{splice_to_bend: -1 in}", "cannot be below zero"),
        ("{misalignment: -1 deg}", "cannot be below zero"),
        ("{wrap_left: 361 deg}", "beyond anything"),
        ("{broken_wires: 1.5}", "a whole number is needed"),
        ("{pulley_turns: perhaps}", "true or false is needed"),
    ],
)
def test_what_cannot_be_is_refused_as_it_is_typed(text, said):
    with pytest.raises(BadFile, match=said):
        typed(text)


def test_a_wire_broken_at_the_fitting_itself_lies_no_distance_away():
    (fault,) = faults(bent(broken_wires=1, broken_wire_to_fitting_in=0.0))
    assert str(fault.words).startswith("1 broken wire, 0 in from a swaged fitting")


def test_a_length_is_told_to_the_thousandth_of_an_inch():
    (fault,) = faults(bent(reading_place_in=4.125))
    assert fault.words.startswith("read at 4.125 in: ")
