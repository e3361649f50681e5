"""The template and the JSON Schema: what an editor accepts is what the program reads, keys above all."""

import copy
import json
from pathlib import Path

import jsonschema
import pytest

from rigging import yamlfile
from rigging.errors import BadFile, UsageError
from rigging.schema import read
from rigging.sheet.load import load_rig
from rigging.sheet.newfile import write_new
from rigging.sheet.schema import SheetFile
from rigging.sheet.template import CARD_NAME, card_text, schema_text, sheet_text

ROOT = Path(__file__).resolve().parents[2]
SHEETS = [*sorted(ROOT.glob("examples/*/sheet.yaml")), ROOT / "rigging" / "sheet" / "new-sheet.yaml"]


@pytest.fixture(scope="module")
def schema():
    loaded = json.loads(schema_text())
    jsonschema.Draft202012Validator.check_schema(loaded)
    return jsonschema.Draft202012Validator(loaded)


def name(path):
    return path.parent.name if path.name == "sheet.yaml" else path.stem


@pytest.mark.parametrize("path", SHEETS, ids=name)
def test_the_schema_accepts_what_the_program_reads(schema, path):
    document = yamlfile.load(path)
    assert read(document, SheetFile)
    assert not [error.message for error in schema.iter_errors(document.data)]


def test_there_are_sheets_to_try():
    assert len(SHEETS) >= 4


@pytest.fixture
def sheet():
    return copy.deepcopy(yamlfile.loads(sheet_text(), "new-sheet.yaml").data)


def places(sheet):
    elevator = sheet["circuits"]["elevator"]
    return {
        "top": sheet,
        "aircraft": sheet["aircraft"],
        "temperatures": sheet["temperatures"],
        "airframe": sheet["airframe"],
        "circuit": elevator,
        "sector": elevator["sectors"]["stick"],
        "cable": elevator["cables"]["up"],
        "turnbuckle": elevator["cables"]["up"]["turnbuckle"],
    }


@pytest.mark.parametrize(
    "place", ["top", "aircraft", "temperatures", "airframe", "circuit", "sector", "cable", "turnbuckle"]
)
def test_the_schema_rejects_an_unknown_key(schema, sheet, place):
    assert schema.is_valid(sheet)
    places(sheet)[place]["nonsense"] = 1
    assert not schema.is_valid(sheet)


@pytest.mark.parametrize(
    ("place", "key"),
    [
        ("top", "rig_sheet"),
        ("top", "airframe"),
        ("top", "circuits"),
        ("aircraft", "name"),
        ("cable", "size"),
        ("cable", "from"),
    ],
)
def test_the_schema_rejects_a_missing_key(schema, sheet, place, key):
    del places(sheet)[place][key]
    assert not schema.is_valid(sheet)


def test_the_schema_rejects_another_format_and_a_bare_number(schema, sheet):
    sheet["rig_sheet"] = 2
    assert not schema.is_valid(sheet)
    sheet["rig_sheet"] = 1
    places(sheet)["cable"]["length"] = 14
    assert not schema.is_valid(sheet)


def test_the_schema_says_how_a_quantity_is_written():
    text = schema_text()
    for example in ("54F", "14 ft", "1/8", "30..40 lbf @ 70F"):
        assert example in text


def test_every_key_of_the_template_has_its_line(tmp_path):
    (tmp_path / "mine.yaml").write_text(sheet_text())
    (tmp_path / CARD_NAME).write_text(card_text())
    rig = load_rig(tmp_path / "mine.yaml")
    assert [run.label for run in rig.runs] == ["elevator / up", "elevator / down"]
    assert not rig.cards["own"].source.acceptable


def test_written_files_are_all_new(tmp_path):
    first, second = tmp_path / "a", tmp_path / "b"
    assert write_new({first: "1", second: "2"}) == [first, second]
    assert (first.read_text(), second.read_text()) == ("1", "2")
    with pytest.raises(UsageError, match="a exists"):
        write_new({tmp_path / "c": "3", first: "1"})
    assert not (tmp_path / "c").exists()


def test_a_file_that_cannot_be_written_takes_the_others_with_it(tmp_path):
    with pytest.raises(BadFile, match="cannot be written"):
        write_new({tmp_path / "a": "1", tmp_path / "nowhere" / "b": "2"})
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_up_leaves_nothing_half_written(tmp_path):
    with pytest.raises(UnicodeEncodeError):
        # the nearest a test can come to a write that fails half way
        write_new({tmp_path / "a": "1", tmp_path / "b": "\ud800"})
    assert list(tmp_path.iterdir()) == []
