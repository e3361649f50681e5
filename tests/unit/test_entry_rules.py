"""Entries held to printed rules by what the sheet says of the part: pulleys, safety wire, proof load."""

from __future__ import annotations

import pytest

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
