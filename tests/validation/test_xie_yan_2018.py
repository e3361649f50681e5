"""Measured expansion of seven-wire strand.

Reference: Xie and Yan, International Journal of Concrete Structures and Materials (2018), table 2: unstressed
strand, 11.8e-6 per degree C at 0 C, 11.2 at -20 C, 10.6 at -40 C.
"""

from rigging import tables
from rigging.source import Basis


def test_table_2():
    table = tables.load("strand-expansion-xie-yan-2018")
    assert [(r.values["temperature"], r.values["expansion"]) for r in table.rows] == [
        (0, 11.8),
        (-20, 11.2),
        (-40, 10.6),
    ]
    assert table.file.columns["temperature"].unit == "C"
    assert table.file.source.basis is Basis.PUBLISHED


def test_the_figure_for_carbon_cable_covers_the_strand_down_to_minus_20_c():
    cable = tables.load("expansion").find(material="carbon cable").values
    for row in tables.load("strand-expansion-xie-yan-2018").rows:
        inside = cable["expansion"] - cable["minus"] <= row.values["expansion"] <= cable["expansion"] + cable["plus"]
        # at -40 C the strand measured lies 0.4 below the low edge: known, and a reason to measure on the aircraft
        assert inside is (row.values["temperature"] >= -20)
