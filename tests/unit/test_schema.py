import datetime as dt
from enum import Enum
from typing import Any, Literal

import jsonschema
import msgspec
import pytest

from rigging import schema
from rigging.bands import Band
from rigging.errors import BadFile
from rigging.schema import (
    Angle,
    Expansion,
    Force,
    Length,
    Offset,
    Share,
    Size,
    Temperature,
    TemperatureDifference,
    TensionBand,
    json_schema,
)
from rigging.yamlfile import loads


class Colour(Enum):
    RED = "red"
    BLUE = "blue"


class Part(msgspec.Struct, frozen=True):
    """A part.

    More about it.
    """

    length_in: Length = msgspec.field(name="length")
    colour: Colour = Colour.RED


class Leaves(msgspec.Struct, frozen=True):
    """One leaf of every kind."""

    temperature_degF: Temperature = msgspec.field(name="temperature", default=0.0)
    spread_degF: TemperatureDifference = msgspec.field(name="spread", default=0.0)
    force_lbf: Force = msgspec.field(name="force", default=0.0)
    offset_in: Offset = msgspec.field(name="offset", default=0.0)
    angle_deg: Angle = msgspec.field(name="angle", default=0.0)
    expansion_per_degF: Expansion = msgspec.field(name="expansion", default=0.0)
    share: Share = 0.0
    size: Size = "1/8"
    limits: TensionBand | None = None
    part: Part | None = None
    word_or_part: str | Part = ""


class Sheet(msgspec.Struct, frozen=True):
    """A whole file."""

    sheet: Literal[1]
    name: str
    parts: dict[str, Part] = {}
    pair: tuple[int, str] = (0, "")
    many: tuple[float, ...] = ()
    words: list[str] = []
    when: dt.date | None = None
    choice: Literal["loop", "open"] = "loop"
    count: int = 0
    factor: float = 1.0
    closed: bool = False
    anything: Any = None
    leaves: Leaves | None = None


class Picky(msgspec.Struct, frozen=True):
    """Checks itself."""

    low: float
    high: float

    def __post_init__(self):
        if self.low > self.high:
            raise ValueError("low must not lie above high")


class Chain(msgspec.Struct, frozen=True):
    """Holds itself."""

    name: str
    next: "Chain | None" = None


def read(text, kind=Sheet):
    return schema.read(loads(text, "x.yaml"), kind)


def problems(text, kind=Sheet):
    with pytest.raises(BadFile) as caught:
        read(text, kind)
    return [(p.line, p.path, p.message) for p in caught.value.problems]


def one(text, kind=Sheet):
    found = problems(text, kind)
    assert len(found) == 1, found
    return found[0]


def test_a_whole_file():
    text = """\
sheet: 1
name: first
parts:
  left: {length: 14 ft 3 in, colour: blue}
  right: {length: 1 m}
pair: [3, x]
many: [1, 2.5]
words: [a, b]
when: 2026-11-25
choice: open
count: 4
factor: 2
closed: true
anything: {free: [1, form]}
leaves:
  temperature: 10C
  spread: 10C
  force: 40 lbf
  offset: -1/8 in
  angle: 1 rad
  expansion: 18e-6/C
  share: 2%
  size: 2/16
  limits: 30..40 lbf @ 70F
  part: {length: 1 in}
  word_or_part: {length: 2 in}
"""
    sheet = read(text)
    assert sheet.parts["left"] == Part(171.0, Colour.BLUE)
    assert sheet.parts["right"].length_in == pytest.approx(1000 / 25.4)
    assert (sheet.pair, sheet.many, sheet.words) == ((3, "x"), (1.0, 2.5), ["a", "b"])
    assert (sheet.when, sheet.choice, sheet.count, sheet.factor, sheet.closed) == (
        dt.date(2026, 11, 25),
        "open",
        4,
        2.0,
        True,
    )
    assert type(sheet.factor) is float
    assert sheet.anything == {"free": [1, "form"]}
    leaves = sheet.leaves
    assert leaves.temperature_degF == pytest.approx(10 * 1.8 + 32)
    assert leaves.spread_degF == pytest.approx(10 * 1.8)
    assert leaves.offset_in == -1 / 8
    assert leaves.angle_deg == pytest.approx(180 / 3.14159265359)
    assert leaves.expansion_per_degF == pytest.approx(18e-6 / 1.8)
    assert (leaves.force_lbf, leaves.share, leaves.size) == (40.0, 0.02, "1/8")
    assert leaves.limits == Band(30.0, 40.0, 35.0, 70.0, "30..40 lbf @ 70F")
    assert leaves.part == Part(1.0)
    assert leaves.word_or_part == Part(2.0)


def test_defaults():
    assert read("sheet: 1\nname: a\n") == Sheet(1, "a")


def test_a_choice_between_a_word_and_a_block():
    assert read("word_or_part: hello\n", Leaves).word_or_part == "hello"
    assert "length" in one("word_or_part: {}\n", Leaves)[2]


def test_all_problems_together_in_the_order_of_the_file():
    text = """\
sheet: 2
nmae: a
parts:
  left: {length: 14}
  right: {lenght: 14 ft}
count: 2.5
closed: maybe
when: yesterday
leaves:
  force: 40 mm
  limits: 40..30 lbf
"""
    found = problems(text)
    assert [line for line, _, _ in found] == sorted(line for line, _, _ in found)
    assert {(line, path) for line, path, _ in found} == {
        (1, "sheet"),
        (1, ""),
        (2, "nmae"),
        (4, "parts / left / length"),
        (5, "parts / right / lenght"),
        (5, "parts / right"),
        (6, "count"),
        (7, "closed"),
        (8, "when"),
        (10, "leaves / force"),
        (11, "leaves / limits"),
    }


def test_an_unknown_key_names_the_nearest():
    assert (2, "nmae", "unknown key 'nmae' (did you mean 'name'?)") in problems("sheet: 1\nnmae: a\n")


def test_an_unknown_key_with_nothing_near_lists_what_there_is():
    assert one("length: 1 in\nxyzzy: 1\n", Part) == (2, "xyzzy", "unknown key 'xyzzy' (known: length, colour)")


def test_a_missing_key():
    assert one("sheet: 1\n") == (1, "", "'name' is missing here")
    assert one("sheet: 1\nname: a\nparts:\n  left: {colour: red}\n") == (4, "parts / left", "'length' is missing here")


def test_the_name_in_the_program_is_no_key_in_the_file():
    assert [m for _, _, m in problems("length_in: 1 in\n", Part)] == [
        "unknown key 'length_in' (did you mean 'length'?)",
        "'length' is missing here",
    ]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("name: [a]", "a plain value is needed here"),
        ("name: true", "a plain value is needed here"),
        ("name:", "a plain value is needed here"),
        ("parts: [a]", "a block of 'name: ...' lines is needed here"),
        ("parts: {a: 5}", "a block of 'key: value' lines is needed here"),
        ("pair: [1]", "2 entries are needed here, not 1"),
        ("pair: 1", "a list is needed here, like [a, b]"),
        ("pair: [x, z]", "a whole number is needed here, not 'x'"),
        ("words: a", "a list is needed here"),
        ("words: {a: b}", "a list is needed here"),
        ("when: 25.11.2026", "is not a date: write it like 2026-11-25"),
        ("when: 2026-13-01", "is not a date"),
        ("when: [1]", "a plain value is needed here"),
        ("choice: lop", "'lop' is not known (did you mean 'loop'?)"),
        ("choice: 1", "'1' is not known (known: loop, open)"),
        ("choice: [a]", "is not known"),
        ("count: 1.5", "a whole number is needed here, not '1.5'"),
        ("count: 'a'", "a whole number is needed here, not 'a'"),
        ("count: true", "a plain value is needed here"),
        ('factor: "1,5"', "a plain number is needed here, not '1,5' (write the decimal point as a point)"),
        ("factor: 1,5", "write the decimal point as a point"),
        ('factor: "2"', "a plain number is needed here, not '2'"),
        ("factor: false", "a plain value is needed here"),
        ("closed: 1", "true or false is needed here, not '1'"),
        ('closed: "true"', "true or false is needed here, not 'true': write true, without quotation marks"),
        ('closed: "Yes"', "true or false is needed here, not 'Yes': write true, without quotation marks"),
        ('closed: "no"', "true or false is needed here, not 'no': write false, without quotation marks"),
        ('closed: "perhaps"', "true or false is needed here, not 'perhaps'"),
        ("leaves: 5", "a block of 'key: value' lines is needed here"),
        ("leaves: {force: 40}", "'40' has no unit: write 40 lbf or 40 N"),
        ("leaves: {force: 40.50}", "'40.50' has no unit: write 40.50 lbf"),
        ("leaves: {force: 0 lbf}", "must be more than zero"),
        ("leaves: {force: -5 lbf}", "must be more than zero"),
        ("leaves: {force: 2000000 lbf}", "is beyond anything in a light aircraft: check the unit"),
        ("leaves: {spread: 0F}", "must be more than zero"),
        ("leaves: {share: 101%}", "is beyond anything"),
        ("leaves: {force: [1]}", "a force is needed here, like 40 lbf"),
        ("leaves: {force: true}", "a force is needed here, like 40 lbf"),
        ("leaves: {force: null}", "a force is needed here, like 40 lbf"),
        ("leaves: {angle: null}", "an angle is needed here, like 90 deg"),
        ("leaves: {size: 0.125}", "is not a cable size"),
        ("leaves: {limits: 35}", "is not a tension band"),
        ("leaves: {part: {length: 14 km}}", "unknown unit 'km'"),
        ("leaves: {part: {length: 1001 ft}}", "check the unit"),
        ("leaves: {part: {length: 1 in, colour: blu}}", "'blu' is not known (did you mean 'blue'?)"),
        ("leaves: {part: {length: 1 in, colour: [red]}}", "is not known"),
    ],
)
def test_wrong_values(line, words):
    head = "sheet: 1\n" if line.startswith("name") else "sheet: 1\nname: a\n"
    at, _, message = one(head + line + "\n")
    assert at == head.count("\n") + 1
    assert words in message


@pytest.mark.parametrize("value", ["true", "1.0", '"1"', "2", "null"])
def test_the_version_is_exactly_the_number(value):
    assert one(f"sheet: {value}\nname: a\n")[:2] == (1, "sheet")


@pytest.mark.parametrize("digits", ["1.10", "0.50", "+7", "12", "1.5", "100000000000000000000.0"])
def test_a_serial_number_keeps_its_digits(digits):
    assert read(f"sheet: 1\nname: {digits}\n").name == digits


def test_a_list_entry_keeps_its_digits():
    assert read("sheet: 1\nname: a\nwords: [1.10, 2]\n").words == ["1.10", "2"]


def test_a_struct_may_check_itself():
    assert read("low: 1\nhigh: 2\n", Picky) == Picky(1.0, 2.0)
    assert one("low: 3\nhigh: 2\n", Picky) == (1, "", "low must not lie above high")


@pytest.mark.parametrize("text", ["a word\n", "[1, 2]\n", "5\n", "---\n"])
def test_a_file_that_is_no_block(text):
    assert one(text)[2] == "a block of 'key: value' lines is needed here"


def test_a_kind_without_a_rule_is_our_own_mistake():
    class Odd(msgspec.Struct):
        value: bytes

    with pytest.raises(TypeError, match="no rule to read"):
        read("value: x\n", Odd)


GOOD = [
    "sheet: 1\nname: a\n",
    "sheet: 1\nname: a\nparts: {left: {length: 14 ft, colour: blue}}\npair: [3, x]\nmany: [1, 2]\nwords: [a]\n",
    "sheet: 1\nname: a\nwhen: 2026-11-25\nchoice: open\ncount: 4\nfactor: 2.5\nclosed: true\nanything: [1, {a: b}]\n",
    "sheet: 1\nname: a\nleaves: {force: 40 lbf, size: 1/8, limits: 30..40 lbf @ 70F, part: {length: 1 in}, word_or_part: x}\n",
    "sheet: 1\nname: a\nleaves: {limits: null, part: null, word_or_part: {length: 1 in}}\n",
]
BAD = [
    "name: a\n",
    "sheet: 2\nname: a\n",
    "sheet: 1\nname: a\nnmae: b\n",
    "sheet: 1\nname: a\nparts: {left: {}}\n",
    "sheet: 1\nname: a\nparts: {left: {length: 14}}\n",
    "sheet: 1\nname: a\nchoice: shut\n",
    "sheet: 1\nname: a\npair: [1]\n",
    "sheet: 1\nname: a\npair: [1, x, z]\n",
    "sheet: 1\nname: a\nclosed: 1\n",
    "sheet: 1\nname: a\nwords: b\n",
    "sheet: 1\nname: a\nleaves: {force: 40}\n",
    "sheet: 1\nname: a\nleaves: {part: {length: 1 in, colour: green}}\n",
]


@pytest.mark.parametrize("text", GOOD)
def test_the_json_schema_takes_what_the_program_takes(text):
    read(text)
    jsonschema.validate(loads(text, "x").data, json_schema(Sheet, "a sheet"), jsonschema.Draft202012Validator)


@pytest.mark.parametrize("text", BAD)
def test_the_json_schema_refuses_what_the_program_refuses(text):
    problems(text)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(loads(text, "x").data, json_schema(Sheet, "a sheet"), jsonschema.Draft202012Validator)


def test_the_json_schema_is_one():
    body = json_schema(Sheet, "a sheet")
    jsonschema.Draft202012Validator.check_schema(body)
    assert body["title"] == "a sheet"
    assert body["$defs"]["Part"]["description"] == "A part."
    assert body["$defs"]["Part"]["required"] == ["length"]
    assert "like 14 ft" in body["$defs"]["Part"]["properties"]["length"]["description"]


def test_a_struct_that_holds_itself():
    text = "name: a\nnext: {name: b, next: {name: c}}\n"
    assert read(text, Chain).next.next.name == "c"
    jsonschema.validate(loads(text, "x").data, json_schema(Chain, "a chain"), jsonschema.Draft202012Validator)


def test_a_leaf_example_can_be_read():
    for kind in (Temperature, TemperatureDifference, Force, Length, Offset, Angle, Expansion, Share, Size, TensionBand):
        leaf = kind.__metadata__[0]
        assert leaf.parser(leaf.example) is not None
