"""Pulley diameter over cable diameter.

Reference: Military Specification MIL-F-18372, flight control systems: ratio 10 at a cable load of 1 % of the breaking
strength, 20 at 10 %, 28 at 20 %; own reading of a scan.
"""

from rigging import tables
from rigging.source import Basis


def test_three_points():
    table = tables.load("sheave-ratio-mil-f-18372")
    assert [(r.values["load_share"], r.values["diameter_ratio"]) for r in table.rows] == [(1, 10), (10, 20), (20, 28)]
    assert table.file.source.basis is Basis.PUBLISHED
    assert "own reading" in table.file.source.note
