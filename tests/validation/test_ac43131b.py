"""Tables and figures of AC 43.13-1B.

Reference: U.S. Department of Transportation, Federal Aviation Administration, Advisory Circular AC 43.13-1B,
"Acceptable Methods, Techniques, and Practices - Aircraft Inspection and Repair", chapter 7: table 7-3 (p. 7-28),
"Flexible cable"; table 7-8 (p. 7-45), turnbuckle safetying guide; paragraphs 7-149n, 7-166, 7-179 to 7-181.
Columns are aligned by our own reading of the printed page.
"""

import pytest

from rigging import tables
from rigging.source import Basis

# diameter in, construction, plus tolerance in, growth at cut end in, COMP A lbf, COMP B lbf
TABLE_7_3 = [
    ("1/32", "3x7", 0.006, 0.006, 110, 110),
    ("3/64", "7x7", 0.008, 0.008, 270, 270),
    ("1/16", "7x7", 0.010, 0.009, 480, 480),
    ("1/16", "7x19", 0.010, 0.009, 480, 480),
    ("3/32", "7x7", 0.012, 0.010, 920, 920),
    ("3/32", "7x19", 0.012, 0.010, 1000, 920),
    ("1/8", "7x19", 0.014, 0.011, 2000, 1760),
    ("5/32", "7x19", 0.016, 0.017, 2800, 2400),
    ("3/16", "7x19", 0.018, 0.019, 4200, 3700),
    ("7/32", "7x19", 0.018, 0.020, 5600, 5000),
    ("1/4", "7x19", 0.018, 0.021, 7000, 6400),
    ("9/32", "7x19", 0.020, 0.023, 8000, 7800),
    ("5/16", "7x19", 0.022, 0.024, 9800, 9000),
    ("11/32", "7x19", 0.024, 0.025, 12500, None),
    ("3/8", "7x19", 0.026, 0.027, 14400, 12000),
]

# cable, wrap, wire in, least diameter?, material (annealed), note (1)?
TABLE_7_8 = [
    ("1/16", "single", 0.040, False, "copper, brass", True),
    ("3/32", "single", 0.040, False, "copper, brass", True),
    ("1/8", "single", 0.040, False, "stainless, Monel, K-Monel", False),
    ("1/8", "double", 0.040, False, "copper, brass", True),
    ("1/8", "single", 0.057, True, "copper, brass", True),
    ("5/32 and up", "double", 0.040, False, "stainless, Monel, K-Monel", True),
    ("5/32 and up", "single", 0.057, True, "stainless, Monel, K-Monel", True),
    ("5/32 and up", "double", 0.0512, False, "copper, brass", False),
]


@pytest.mark.parametrize("row", range(len(TABLE_7_3)))
def test_table_7_3_flexible_cable(row):
    found = list(tables.load("cable-flexible-ac43131b-7-3").rows)[row]
    assert tuple(found.values.values()) == TABLE_7_3[row]
    for name in ("diameter_tolerance", "growth_at_cut_end", "carbon"):
        assert found.source(name).basis is Basis.PUBLISHED
        assert found.source(name).document == "FAA AC 43.13-1B"
        assert found.source(name).place == "table 7-3, p. 7-28"


def test_table_7_3_has_these_rows_only():
    assert len(list(tables.load("cable-flexible-ac43131b-7-3").rows)) == len(TABLE_7_3)


@pytest.mark.parametrize(("size", "construction"), [row[:2] for row in TABLE_7_3 if row[5] is not None])
def test_table_7_3_strengths_are_in_pounds_force(size, construction):
    row = tables.load("cable-flexible-ac43131b-7-3").find(size=size, construction=construction)
    assert row.figure("carbon").unit == row.figure("stainless").unit == "lbf"
    assert row.figure("stainless").source.basis is Basis.PUBLISHED


def test_the_one_blank_cell_is_not_called_published():
    row = tables.load("cable-flexible-ac43131b-7-3").find(size="11/32")
    assert row.values["stainless"] is None
    assert row.source("stainless").basis is Basis.MEMORY


@pytest.mark.parametrize("row", range(len(TABLE_7_8)))
def test_table_7_8_locking_wire(row):
    v = list(tables.load("locking-wire-ac43131b-7-8").rows)[row].values
    assert (
        v["cable"],
        v["wrap"],
        v["wire"],
        v["wire_is_minimum"] == "min",
        v["material"],
        v["note_1"] == "(1)",
    ) == TABLE_7_8[row]
    assert v["wire_is_minimum"] in ("", "min")
    assert v["note_1"] in ("", "(1)")


def test_table_7_8_has_these_rows_only_and_is_published():
    table = tables.load("locking-wire-ac43131b-7-8")
    assert len(list(table.rows)) == len(TABLE_7_8)
    assert table.file.source.basis is Basis.PUBLISHED
    assert table.file.source.place == "table 7-8, p. 7-45"


def test_a_fairlead_bends_a_cable_at_most_three_degrees():
    row = tables.load("control-limits").find(limit="fairlead bend")
    assert row.figure("most_deg").value == 3
    assert row.source("most_deg").basis is Basis.PUBLISHED
    assert "43.13-1B" in row.source("most_deg").document
