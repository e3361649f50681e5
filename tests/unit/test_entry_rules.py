"""Entries held to printed rules by what the sheet says of the part: pulleys, safety wire, proof load."""

from __future__ import annotations

import pytest

from rigging.errors import BadFile, RiggingError
from rigging.jobs.recorded_check import recompute
from rigging.log.contents import misfit
from rigging.log.entry import Draft
from rigging.report import as_json as view

PULLEY = ", pulleys: [{name: floor, wrap: 90 deg, part: PART}, {wrap: 20 deg}]"


@pytest.fixture
def make(dabchick, tmp_path):
    """A book on a sheet that is bent: ``make(("left: {size: 1/8", "left: {size: 5/32"))``."""
    made = []

    def build(*changes):
        sheet = dabchick.SHEET
        for old, new in changes:
            assert old in sheet
            sheet = sheet.replace(old, new)
        folder = tmp_path / str(len(made))
        folder.mkdir()
        made.append(dabchick.Book(folder, sheet))
        return made[-1]

    yield build
    for book in made:
        book.log.close()


def with_pulley(part):
    return ("left: {size: 1/8, length: 10 ft", f"left: {{size: 1/8, length: 10 ft{PULLEY.replace('PART', part)}")


@pytest.mark.parametrize(
    ("part", "named", "given", "verdict"),
    [
        # MIL-F-18372 3.1.1.17.8: 1.5 deg are too much in a primary control, unless the pulley is an AN219, AN220 or AN221
        ("MS20220-2", "floor of left", {}, "out"),
        ("AN220-2", "floor of left", {}, "recorded"),
        ("AN220-2", "floor", {}, "recorded"),
        ("AN220-2", "pulley 2 of left", {}, "out"),
        ("AN220-2", "left", {}, "out"),
        ("MS20220-2", "floor of left", {"side_travel": True}, "recorded"),
        ("MS20220-2", "pulley 2 of left", {"pulley_part": "AN221-1"}, "recorded"),
    ],
)
def test_the_sheet_names_the_pulley_that_is_out_of_line(make, part, named, given, verdict):
    entry = make(with_pulley(part)).add(
        "condition", {"part": named, "misalignment": "1.5 deg", "primary": True, **given}
    )
    assert entry.payload["judged"]["verdict"] == verdict


def test_two_pulleys_of_one_name_must_be_of_one_part_to_widen_the_limit(make):
    seen = {"part": "floor", "misalignment": "1.5 deg", "primary": True}
    other = (
        "right: {size: 1/8, length: 10 ft",
        "right: {size: 1/8, length: 10 ft, pulleys: [{name: floor, wrap: 9 deg, part: OTHER}]",
    )
    for part, verdict in (("AN220-2", "recorded"), ("MS20220-2", "out")):
        book = make(with_pulley("AN220-2"), (other[0], other[1].replace("OTHER", part)))
        assert book.add("condition", seen).payload["judged"]["verdict"] == verdict


def wired(diameter, material, wrap, **more):
    return {
        "turnbuckle": "left", "method": "locking wire", "wire_diameter": diameter, "wire_material": material, "wrap": wrap,
        "threads_showing": [2, 2], "safe": True, **more,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("size", "diameter", "material", "wrap", "verdict"),
    [
        # AC 43.13-1B table 7-8, row by row: at the diameter, and below it
        ("1/16", "0.040 in", "copper", "single", "in"),
        ("1/16", "0.039 in", "copper", "single", "out"),
        ("3/32", "0.040 in", "brass", "single", "in"),
        ("3/32", "0.032 in", "brass", "single", "out"),
        ("1/8", "0.040 in", "stainless", "single", "in"),
        ("1/8", "0.040 in", "Monel", "single", "in"),
        ("1/8", "0.040 in", "K-Monel", "single", "in"),
        ("1/8", "0.032 in", "stainless", "single", "out"),
        ("1/8", "0.040 in", "copper", "double", "in"),
        ("1/8", "0.040 in", "copper", "single", "out"),
        ("1/8", "0.056 in", "copper", "single", "out"),
        ("1/8", "0.057 in", "copper", "single", "in"),
        ("5/32", "0.040 in", "stainless", "double", "in"),
        ("5/32", "0.040 in", "stainless", "single", "out"),
        ("5/32", "0.057 in", "Monel", "single", "in"),
        ("3/16", "0.0512 in", "copper", "double", "in"),
        ("3/16", "0.051 in", "brass", "double", "out"),
        # note (1): galvanized or tinned steel or soft iron too, on the rows that carry it
        ("1/16", "0.040 in", "galvanized steel", "single", "in"),
        ("1/8", "0.040 in", "soft iron", "double", "in"),
        ("1/8", "0.040 in", "tinned steel", "single", "out"),
        ("5/32", "0.040 in", "tinned steel", "double", "in"),
        # a material that the table does not have for the size
        ("1/16", "0.040 in", "stainless", "single", "out"),
        # what is enough in single wrap is enough in double wrap, which 7-180 and 7-181 prefer
        ("1/8", "0.040 in", "stainless", "double", "in"),
        ("1/8", "0.032 in", "stainless", "double", "out"),
        # 1.016 mm are 0.040 in; a wire of 1 mm is thinner
        ("1/8", "1.016 mm", "stainless", "single", "in"),
        ("1/8", "1 mm", "stainless", "single", "out"),
    ],
)
def test_a_safety_wire_is_held_to_the_printed_table_by_the_cable_of_the_sheet(
    make, size, diameter, material, wrap, verdict
):
    book = make(("left: {size: 1/8", f"left: {{size: {size}"))
    book.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    judged = book.add("safetying", wired(diameter, material, wrap)).payload["judged"]
    assert judged["verdict"] == verdict
    assert ("safetying of left" in book.open()) is (verdict == "out")
    assert (judged["figures"]["basis"], "table 7-8" in judged["figures"]["source"]) == ("published", True)


def test_a_wrong_wire_is_told_which_ones_are_right(make):
    (why,) = make().add("safetying", wired("0.032 in", "stainless", "single")).payload["judged"]["reasons"]
    assert why == (
        "single stainless of 0.032 in does not secure the turnbuckle of a 1/8 cable. These do: single stainless, Monel, K-Monel "
        "0.04 in or thicker; double copper, brass, galvanized steel, tinned steel, soft iron 0.04 in or thicker; single copper, "
        "brass, galvanized steel, tinned steel, soft iron 0.057 in or thicker (published: FAA AC 43.13-1B, table 7-8, p. 7-45); "
        "where the aircraft's own data name another wire, write it as method 'other' with those data as its remark"
    )


def test_a_wire_on_a_cable_that_the_table_does_not_have_stays_open(make):
    book = make(("left: {size: 1/8", "left: {size: 3/64, construction: 7x7"))
    book.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    judged = book.add("safetying", wired("0.040 in", "copper", "double")).payload["judged"]
    assert (judged["verdict"], judged["usable_for_sign_off"]) == ("not measured", False)
    assert "no safety wire for 3/64 cable" in book.why("safetying").why


def test_what_is_not_secured_or_shows_too_many_threads_is_out_with_the_right_wire(make):
    book = make()
    for more in ({"safe": False}, {"threads_showing": [4, 4]}):
        assert (
            book.add("safetying", wired("0.040 in", "stainless", "single", **more)).payload["judged"]["verdict"]
            == "out"
        )


@pytest.mark.parametrize(
    "given",
    [
        {"wire": "0.032 in stainless"},
        {"wire": "0.040 in stainless", "wire_material": "stainless", "wrap": "single"},
        {},
        {"wire_diameter": "0.040 in", "wrap": "single"},
    ],
)
def test_a_wire_in_words_alone_is_refused(make, given):
    common = {"turnbuckle": "left", "method": "locking wire", "threads_showing": [2, 2], "safe": True}
    book = make()
    with pytest.raises(RiggingError, match="name the wire by 'wire_diameter', 'wire_material' and 'wrap'"):
        book.add("safetying", {**common, **given})
    assert list(book.log.entries()) == []


def test_wire_fields_beside_another_method_are_refused(make):
    with pytest.raises(BadFile, match="go with the method 'locking wire'"):
        make().add("safetying", wired("0.040 in", "stainless", "single", method="locking clips"))


def test_an_entry_from_before_the_wire_was_judged_is_read_and_its_verdict_does_not_stand(make):
    book = make()
    entry = book.add("safetying", wired("0.040 in", "stainless", "single"))
    given = {
        "turnbuckle": "left",
        "method": "locking wire",
        "wire": "0.032 in stainless",
        "threads_showing": [2, 2],
        "safe": True,
    }
    old = {**entry.payload, "given": given, "judged": {**entry.payload["judged"], "figures": {}}}
    draft = Draft("A. Finch", "safetying", entry.aircraft, "rudder", old)
    (written,) = book.log.append([draft], program=entry.program, tables=entry.tables)
    assert misfit(written) == ""
    again = recompute(book.log, written.sequence, view.check)
    assert not again.stands
    assert "verdict was in, it is not measured" in again.differences
