"""The reader of tables, and what must hold in every table that is shipped.

Row counts and keys are typed from the printed tables, not taken from the files.
"""

import datetime as dt
import itertools
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest

from rigging import tables
from rigging.errors import BadFile, Refusal
from rigging.schema import json_schema
from rigging.source import Basis, Source
from rigging.tables import UNITS, TableFile, load_file, table_ids
from rigging.yamlfile import load as load_yaml

ROWS = {
    "cable-1x19-memory": 6,
    "cable-flexible-ac43131b-7-3": 15,
    "cable-modulus-en1993-1-11": 8,
    "cable-stretch-rope-maker": 2,
    "cable-weight-memory": 8,
    "control-limits": 3,
    "dial-examples": 3,
    "expansion": 17,
    "glider-tensions-ap4309a": 2,
    "locking-wire-ac43131b-7-8": 8,
    "modulus-wire-rope-users-manual-17": 2,
    "pilot-forces-14cfr23-397": 5,
    "pulleys-ms20219-ms20220": 7,
    "sheave-efficiency-wire-rope-users-manual": 2,
    "sheave-ratio-mil-f-18372": 3,
    "time-constants-still-air": 4,
    "turnbuckle-threads": 7,
    "typical-chart-points": 4,
    "wood-shrinkage-fpl1093": 1,
}
WORDS = {"text", "size"}


def column(table_id, name):
    return [row.values[name] for row in tables.load(table_id).rows]


def test_every_table_is_known_here():
    assert table_ids() == sorted(ROWS)


@pytest.mark.parametrize("table_id", ROWS)
def test_rows_as_printed(table_id):
    table = tables.load(table_id)
    assert len(list(table.rows)) == ROWS[table_id]
    assert table.id == table_id
    assert len(table.sha256) == 64


@pytest.mark.parametrize("table_id", ROWS)
def test_every_cell_has_a_source_that_says_where_or_that_it_was_not_seen(table_id):
    table = tables.load(table_id)
    assert table.file.read == dt.date(2026, 11, 25)
    assert table.file.decisions
    assert table.file.title
    for row in table.rows:
        for name in table.file.columns:
            source = row.source(name)
            assert isinstance(source.basis, Basis)
            assert source.document or source.note, (table_id, row.label, name)


@pytest.mark.parametrize("table_id", [t for t in ROWS if t.endswith("-memory")])
def test_a_remembered_table_says_so_in_its_name_and_in_every_cell(table_id):
    table = tables.load(table_id)
    assert {row.source(name).basis for row in table.rows for name in table.file.columns} == {Basis.MEMORY}


@pytest.mark.parametrize("table_id", [t for t in ROWS if not t.endswith("-memory")])
def test_no_other_table_is_remembered_as_a_whole(table_id):
    table = tables.load(table_id)
    assert any(row.source(name).acceptable for row in table.rows for name in table.file.columns)


@pytest.mark.parametrize("table_id", ROWS)
def test_figures_are_finite_and_have_a_unit_of_the_list(table_id):
    table = tables.load(table_id)
    for row in table.rows:
        for name, col in table.file.columns.items():
            assert col.unit in UNITS
            if col.unit not in WORDS and row.values[name] is not None:
                figure = row.figure(name)
                assert figure.unit == col.unit
                assert abs(figure.value) < 1e6


@pytest.mark.parametrize("table_id", ROWS)
def test_keys_find_their_row(table_id):
    table = tables.load(table_id)
    labels = [row.label for row in table.rows]
    assert len(set(labels)) == len(labels)
    for row in table.rows:
        if table.file.key:
            assert table.find(**{name: row.values[name] for name in table.file.key}).index == row.index


@pytest.mark.parametrize("table_id", ROWS)
def test_the_json_schema_takes_every_table(table_id):
    data = load_yaml(tables.folder() / f"{table_id}.yaml").data
    jsonschema.validate(data, json_schema(TableFile, "a table"), jsonschema.Draft202012Validator)


@pytest.mark.parametrize("table_id", ROWS)
def test_columns_of_sources_hold_words(table_id):
    columns = tables.load(table_id).file.columns
    assert all(columns[name].unit == "text" for name in ("basis", "document", "place", "note") if name in columns)


@pytest.mark.parametrize("table_id", ROWS)
def test_published_and_second_hand_name_their_document(table_id):
    for row in (table := tables.load(table_id)).rows:
        for name in table.file.columns:
            source = row.source(name)
            assert source.document or source.basis not in (Basis.PUBLISHED, Basis.SECOND_HAND)


@pytest.mark.parametrize(
    ("table_id", "name"),
    [
        ("cable-flexible-ac43131b-7-3", "carbon"),
        ("cable-flexible-ac43131b-7-3", "stainless"),
        ("cable-1x19-memory", "breaking_strength"),
        ("cable-weight-memory", "weight"),
    ],
)
def test_a_thicker_cable_is_stronger_and_heavier(table_id, name):
    by_construction = {}
    for row in tables.load(table_id).rows:
        if row.values[name] is not None:
            by_construction.setdefault(row.values["construction"], []).append(
                (Fraction(row.values["size"]), row.values[name])
            )
    for points in by_construction.values():
        assert all(d1 < d2 and v1 < v2 for (d1, v1), (d2, v2) in itertools.pairwise(points))


def test_carbon_is_at_least_as_strong_as_stainless():
    for row in tables.load("cable-flexible-ac43131b-7-3").rows:
        assert row.values["stainless"] is None or row.values["carbon"] >= row.values["stainless"]


def test_a_strand_is_stronger_than_a_flexible_cable_of_its_size():
    flexible = tables.load("cable-flexible-ac43131b-7-3")
    for row in tables.load("cable-1x19-memory").rows:
        assert row.values["breaking_strength"] > flexible.find(size=row.values["size"]).values["carbon"]


def test_a_cable_grows_at_its_cut_end_by_less_than_a_quarter_of_itself():
    for row in tables.load("cable-flexible-ac43131b-7-3").rows:
        assert 0 < row.values["growth_at_cut_end"] < float(Fraction(row.values["size"])) / 4


def test_weight_agrees_with_steel_in_the_circle():
    # metal share of the circle by geometry, 0.283 lb/in3, 1200 in, lay factor 1.05; real cable is over its nominal diameter
    for row in tables.load("cable-weight-memory").rows:
        share = 0.591 if row.values["construction"] == "7x19" else 0.605
        computed_lb = share * 0.7853981634 * float(Fraction(row.values["size"])) ** 2 * 0.283 * 1200 * 1.05
        assert 1.05 < row.values["weight"] / computed_lb < 1.20, row.label


def test_modulus_and_fill():
    for row in tables.load("cable-modulus-en1993-1-11").rows:
        v = row.values
        assert 0 < v["modulus_half_width"] < v["modulus"] < 210
        assert 0 < v["fill_factor"] < 1
        if v["construction"] in ("7x7", "7x19"):
            assert v["fill_factor"] == pytest.approx((v["fill_low"] + v["fill_high"]) / 2)
            assert row.source("fill_factor").basis is Basis.COMPUTED
            assert row.source("fill_high").basis is Basis.COMPUTED
            assert row.source("fill_low").basis is Basis.SECOND_HAND
        else:
            assert v["fill_low"] is v["fill_high"] is None
    assert [
        (r.values["construction"], r.values["material"]) for r in tables.load("cable-modulus-en1993-1-11").rows
    ] == list(itertools.product(("7x7", "7x19", "1x19", "1x7"), ("carbon", "stainless")))


def test_takeup_is_two_pitches_and_the_pitch_is_in_the_name():
    for row in tables.load("turnbuckle-threads").rows:
        per_inch = int(row.values["thread"].rpartition("-")[2])
        assert row.values["pitch"] == pytest.approx(1 / per_inch, abs=1e-10)
        assert row.values["takeup_per_turn"] == pytest.approx(2 / per_inch, abs=1e-10)
        assert row.source("pitch").basis is Basis.COMPUTED
    assert column("turnbuckle-threads", "thread") == [
        "6-40",
        "10-32",
        "1/4-28",
        "5/16-24",
        "3/8-24",
        "7/16-20",
        "1/2-20",
    ]


EXPANSION_1E6_PER_C = {
    "aluminium 2024": (22.9, 1, 1, "published"),
    "aluminium 6061": (23.6, 1, 1, "published"),
    "aluminium 7075": (23.4, 1, 1, "published"),
    "steel tube": (12.3, 1, 1, "published"),
    "steel 1020": (11.7, 1, 1, "published"),
    "stainless 304": (17.2, 1, 1, "published"),
    "stainless 316": (15.9, 1, 1, "published"),
    "titanium": (8.6, 1, 1, "published"),
    "douglas fir": (4.45, 1, 1, "published"),
    "spruce": (4.45, 1, 1, "computed"),
    "wood": (3.8, 1, 1, "memory"),
    "glass unidirectional": (6.6, 1, 1, "published"),
    "glass quasi-isotropic": (11.5, 0.5, 0.5, "computed"),
    "carbon unidirectional": (-0.24, 1, 1, "published"),
    "carbon quasi-isotropic": (2.5, 1, 1, "memory"),
    "carbon cable": (11.7, 0.7, 2, "second-hand"),
    "stainless cable": (17.2, 2, 2, "published"),
}


def test_expansion_row_by_row():
    found = {
        row.values["material"]: (
            row.values["expansion"],
            row.values["minus"],
            row.values["plus"],
            row.source("expansion").basis.value,
        )
        for row in tables.load("expansion").rows
    }
    assert found == EXPANSION_1E6_PER_C


@pytest.mark.parametrize(
    ("material", "low", "high"),
    [
        ("wood", 3.1, 4.5),
        ("glass quasi-isotropic", 11, 12),
        ("carbon unidirectional", -0.5, 0.02),
        ("carbon quasi-isotropic", 1.5, 3.5),
        ("carbon cable", 11.5, 11.7),
        ("carbon cable", 11.2, 11.8),
        ("douglas fir", 3.8, 5.1),
    ],
)
def test_the_widths_cover_the_ranges_they_stand_for(material, low, high):
    v = tables.load("expansion").find(material=material).values
    assert v["expansion"] - v["minus"] <= low + 1e-9
    assert v["expansion"] + v["plus"] >= high - 1e-9


def test_a_stand_in_says_so():
    expansion = tables.load("expansion")
    assert "4140" in expansion.find(material="steel tube").source("expansion").note
    assert "Douglas fir" in expansion.find(material="spruce").source("expansion").note
    assert "304" in expansion.find(material="stainless cable").source("expansion").note


def test_rows_of_the_expansion_table_that_must_agree():
    value = dict(zip(column("expansion", "material"), column("expansion", "expansion"), strict=True))
    assert value["spruce"] == value["douglas fir"]
    assert value["carbon cable"] == value["steel 1020"]
    assert value["stainless cable"] == value["stainless 304"]
    assert value["carbon unidirectional"] < value["carbon quasi-isotropic"] < value["wood"] < value["carbon cable"]


def test_wood_by_the_percent_of_moisture_agrees_with_wood_dried():
    (row,) = tables.load("wood-shrinkage-fpl1093").rows
    for edge in ("low", "high"):
        assert row.values[f"swell_{edge}"] == pytest.approx(row.values[f"shrinkage_{edge}"] * 1e4 / 30, abs=0.5)
        assert row.source(f"swell_{edge}").basis is Basis.COMPUTED
        assert row.source(f"shrinkage_{edge}").basis is Basis.PUBLISHED


def test_two_instruments_two_answers():
    first, second = (r for r in tables.load("dial-examples").rows if r.values["cable"] == "3/16")
    assert (first.values["dial"], first.values["riser"]) == (second.values["dial"], second.values["riser"]) == (48, 2)
    assert (first.values["tension"], second.values["tension"]) == (70, 100)
    assert first.source("tension").document != second.source("tension").document


def test_chart_points():
    assert [tuple(r.values.values())[:7] for r in tables.load("typical-chart-points").rows] == [
        ("1/8", "7x19", 85, 70, None, None, "published"),
        ("3/16", "", 80, 130, 117, 143, "second-hand"),
        ("1/8", "7x19", 80, 70, None, None, "memory"),
        ("3/16", "7x19", 87, 125, None, None, "memory"),
    ]
    for row in tables.load("typical-chart-points").rows:
        v = row.values
        assert -65 <= v["temperature"] <= 160
        if v["low"] is not None:
            assert (v["low"], v["high"]) == pytest.approx((0.9 * v["tension"], 1.1 * v["tension"]))


def test_a_thicker_part_follows_more_slowly_and_the_slow_end_is_slower():
    usual, longest = column("time-constants-still-air", "usual"), column("time-constants-still-air", "longest")
    assert usual == sorted(usual) and longest == sorted(longest)
    # the film coefficient is 10 and 8 W/m2K
    assert [slow / usual for slow, usual in zip(longest, usual, strict=True)] == pytest.approx([10 / 8] * 4, abs=0.04)


def test_weights_row_by_row():
    assert [tuple(r.values.values()) for r in tables.load("cable-weight-memory").rows] == [
        ("1/16", "", 0.75), ("3/32", "7x7", 1.60), ("3/32", "7x19", 1.74), ("1/8", "7x19", 2.90),
        ("5/32", "7x19", 4.50), ("3/16", "7x19", 6.50), ("7/32", "7x19", 8.60), ("1/4", "7x19", 11.0),
    ]  # fmt: skip


def test_strand_row_by_row():
    assert [tuple(r.values.values()) for r in tables.load("cable-1x19-memory").rows] == [
        ("1/16", "1x19", 500), ("3/32", "1x19", 1200), ("1/8", "1x19", 2100),
        ("5/32", "1x19", 3300), ("3/16", "1x19", 4700), ("1/4", "1x19", 8200),
    ]  # fmt: skip
    assert "pulleys" in tables.load("cable-1x19-memory").file.source.note


# --- the reader ---------------------------------------------------------------------------------

HEAD = """\
table: 1
title: a table
source: {basis: published, document: a manual, place: table 1}
key: [size]
columns:
  size: {unit: size}
  strength: {unit: lbf}
  word: {unit: text}
"""


@pytest.fixture
def write(tmp_path):
    def writer(text):
        path = tmp_path / "own.yaml"
        path.write_text(text)
        return path

    return writer


def problems(path):
    with pytest.raises(BadFile) as caught:
        load_file(path)
    return [(p.line, p.path, p.message) for p in caught.value.problems]


def test_an_own_table(write):
    table = load_file(write(HEAD + "rows:\n  - [1/8, 2000, a]\n  - [5/32, null, b]\n"))
    assert table.id == "own"
    assert table.file.kind == "handbook"
    row = table.find(size="1/8")
    figure = row.figure("strength")
    assert (figure.value, figure.unit, figure.standard_uncertainty) == (2000.0, "lbf", 0.0)
    assert figure.source == Source(Basis.PUBLISHED, "a manual", "table 1")
    assert row.figure("strength", 5.0).standard_uncertainty == 5.0


def test_a_blank_cell_is_never_a_figure(write):
    table = load_file(write(HEAD + "rows:\n  - [5/32, null, b]\n"))
    with pytest.raises(Refusal, match="own: 'strength' is blank for 5/32: the printed table gives no figure"):
        table.find(size="5/32").figure("strength")
    blank = tables.load("cable-flexible-ac43131b-7-3").find(size="11/32")
    with pytest.raises(Refusal, match="'stainless' is blank for 11/32 7x19"):
        blank.figure("stainless")
    assert blank.source("stainless").basis is Basis.MEMORY
    assert blank.source("carbon").basis is Basis.PUBLISHED


def test_asking_for_what_is_not_there():
    cables = tables.load("cable-flexible-ac43131b-7-3")
    with pytest.raises(Refusal, match="no size '1/2' in this table"):
        cables.find(size="1/2", construction="7x19")
    with pytest.raises(Refusal, match=r"no construction '7x18' in this table \(did you mean '7x19'\?\)"):
        cables.find(size="1/8", construction="7x18")
    with pytest.raises(Refusal, match="no row for size 1/8 with 7x7"):
        cables.find(size="1/8", construction="7x7")
    with pytest.raises(Refusal, match=r"there is no table 'expansoin' \(did you mean 'expansion'\?\)"):
        tables.load("expansoin")


def test_cell_source_beats_row_source_beats_table_source(write):
    text = """\
table: 1
title: a table
source: {basis: published, document: a manual, place: table 1, note: all}
columns:
  a: {unit: in}
  b: {unit: in}
  basis: {unit: text}
  document: {unit: text}
  note: {unit: text}
rows:
  - [1, 2, null, null, null]
  - [1, 2, memory, "", unseen]
  - [1, 2, null, "", worn page]
cells:
  - {row: 2, column: b, basis: measured, note: by hand}
"""
    first, second, third = load_file(write(text)).rows
    assert first.source("a") == Source(Basis.PUBLISHED, "a manual", "table 1", "all")
    assert second.source("a") == Source(Basis.MEMORY, note="unseen")
    assert second.source("b") == Source(Basis.MEASURED, note="by hand")
    assert third.source("a") == Source(Basis.PUBLISHED, "a manual", "table 1", "worn page")


def test_without_a_key_the_first_column_names_a_row(write):
    table = load_file(write(HEAD.replace("key: [size]\n", "") + "rows:\n  - [1/8, 1, a]\n"))
    assert next(iter(table.rows)).label == "1/8"


@pytest.mark.parametrize(
    ("rows", "line", "path", "words"),
    [
        ("rows: []\n", 9, "rows", "there are no rows"),
        ("rows:\n  - [1/8, 1]\n", 10, "rows / no. 1", "has 2 cells, the table has 3 columns"),
        ("rows:\n  - [1/8, 1, a]\n  - [1/8, 2, b]\n", 11, "rows / no. 2", "1/8 stands twice (first in row 1)"),
        ("rows:\n  - [2/16, 1, a]\n", 10, "rows / no. 1 / no. 1", "write the size in lowest terms: 1/8"),
        ("rows:\n  - [0.125, 1, a]\n", 10, "rows / no. 1 / no. 1", "is not a cable size"),
        ("rows:\n  - [1/8, 1 lbf, a]\n", 10, "rows / no. 1 / no. 2", "needs a plain number in lbf, not '1 lbf'"),
        ('rows:\n  - [1/8, "1,5", a]\n', 10, "rows / no. 1 / no. 2", "write the decimal point as a point"),
        ("rows:\n  - [1/8, true, a]\n", 10, "rows / no. 1 / no. 2", "needs a plain number"),
        ("rows:\n  - [1/8, [1], a]\n", 10, "rows / no. 1 / no. 2", "needs a plain number"),
        ("rows:\n  - [1/8, 1, 5]\n", 10, "rows / no. 1 / no. 3", "'word' needs a word, not 5: put it in quotes"),
        ("rows:\n  - [1/8, .nan, a]\n", 10, "rows / no. 1 / no. 2", "is not a finite number"),
        ("rows:\n  - [1/8, 1e3, a]\n", 10, "rows / no. 1 / no. 2", "write it out as a plain decimal"),
        (
            "rows:\n  - [1/8, 1, a]\ncells:\n  - {row: 2, column: word, basis: memory}\n",
            12,
            "cells / no. 1",
            "no cell at row 2",
        ),
        (
            "rows:\n  - [1/8, 1, a]\ncells:\n  - {row: 0, column: word, basis: memory}\n",
            12,
            "cells / no. 1",
            "no cell at row 0",
        ),
        (
            "rows:\n  - [1/8, 1, a]\ncells:\n  - {row: 1, column: wrod, basis: memory}\n",
            12,
            "cells / no. 1",
            "column 'wrod'",
        ),
        (
            "rows:\n  - [1/8, 1, a]\ncells:\n  - {row: 1, column: word, basis: published}\n",
            12,
            "cells / no. 1",
            "needs its document",
        ),
        (
            "rows:\n  - [1/8, 1, a]\ncells:\n  - {row: 1, column: word, basis: seen}\n",
            12,
            "cells / no. 1 / basis",
            "'seen' is not known",
        ),
    ],
)
def test_damaged_rows(write, rows, line, path, words):
    found = problems(write(HEAD + rows))
    assert len(found) == 1, found
    assert found[0][:2] == (line, path)
    assert words in found[0][2]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("table: 1", "table: 2", "'2' is not known"),
        ("document: a manual, ", "", "a published figure needs its document"),
        (
            "basis: published, document: a manual, place: table 1",
            "basis: computed",
            "name the document, or say in a note",
        ),
        ("basis: published", "basis: publshed", "did you mean 'published'?"),
        ("source: {basis: published, document: a manual, place: table 1}\n", "", "'source' is missing here"),
        ("key: [size]", "key: [sise]", "'sise' is no column of this table (did you mean 'size'?)"),
        ("unit: lbf", "unit: lbs", "'lbs' is not known (did you mean 'lbf'?)"),
        ("title: a table", "titel: a table", "unknown key 'titel' (did you mean 'title'?)"),
    ],
)
def test_damaged_heads(write, old, new, words):
    assert old in HEAD
    found = problems(write(HEAD.replace(old, new) + "rows:\n  - [1/8, 1, a]\n"))
    assert any(words in message for _, _, message in found), found


def test_a_status_in_a_row(write):
    text = (
        HEAD.replace("word:", "basis:")
        + "rows:\n  - [1/8, 1, publshed]\n  - [5/32, 1, published]\n  - [3/16, 1, memory]\n"
    )
    assert problems(write(text)) == [
        (10, "rows / no. 1 / no. 3", "'publshed' is not a status (did you mean 'published'?)"),
        (11, "rows / no. 2", "a published figure needs its document"),
    ]


def test_a_source_column_holds_words(write):
    text = HEAD.replace("word: {unit: text}", "note: {unit: in}") + "rows:\n  - [1/8, 1, 5]\n"
    assert problems(write(text)) == [(8, "columns / note", "'note' holds words: its unit is text")]


def test_all_problems_of_a_table_together(write):
    found = problems(write(HEAD + "rows:\n  - [0.1, x, 5]\n  - [1/8]\n"))
    assert [(line, path) for line, path, _ in found] == [
        (10, "rows / no. 1 / no. 1"),
        (10, "rows / no. 1 / no. 2"),
        (10, "rows / no. 1 / no. 3"),
        (11, "rows / no. 2"),
    ]


def test_the_folder_is_found_and_its_absence_explained(monkeypatch, tmp_path):
    assert (tables.folder() / "expansion.yaml").is_file()
    monkeypatch.setattr(tables, "__file__", str(tmp_path / "rigging" / "tables.py"))
    with pytest.raises(BadFile, match="install the program again"):
        tables.folder()
    (tmp_path / "rigging" / "_tables").mkdir(parents=True)
    assert tables.folder() == Path(tmp_path / "rigging" / "_tables").resolve()


def test_tables_are_read_once():
    assert tables.load("expansion") is tables.load("expansion")


def test_units_are_listed_once():
    assert len(set(UNITS)) == len(UNITS)
    assert {"text", "size", "lbf", "in", "F"} < set(UNITS)
