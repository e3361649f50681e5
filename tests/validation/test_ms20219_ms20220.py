"""Control pulleys.

Reference: military standards MS20219 (cables 1/16 and 3/32) and MS20220 (1/8, 5/32 and 3/16), in a supplier's
reproduction (second-hand): outside diameter, diameter at the groove root, load on the pulley.
"""

import pytest

from rigging import tables
from rigging.source import Basis

PULLEYS = [
    ("MS20219-1", 1.312, 1.000, None),
    ("MS20219-2", 1.750, 1.438, None),
    ("MS20219-4", 2.625, 2.312, None),
    ("MS20220-1", 1.755, 1.255, 500),
    ("MS20220-2", 3.005, 2.505, 1680),
    ("MS20220-3", 4.255, 3.755, 2500),
    ("MS20220-4", 5.505, 5.005, 2500),
]


@pytest.mark.parametrize(("part", "outside", "root", "load"), PULLEYS)
def test_rows(part, outside, root, load):
    row = tables.load("pulleys-ms20219-ms20220").find(part=part)
    assert (row.values["outside_diameter"], row.values["groove_root_diameter"], row.values["load"]) == (
        outside,
        root,
        load,
    )
    assert row.values["cables"] == ("1/16, 3/32" if part.startswith("MS20219") else "1/8, 5/32, 3/16")
    assert row.source("load").basis is Basis.SECOND_HAND


def test_the_groove_is_cut_to_one_depth_in_each_standard():
    for row in tables.load("pulleys-ms20219-ms20220").rows:
        depth_in = (row.values["outside_diameter"] - row.values["groove_root_diameter"]) / 2
        assert depth_in == pytest.approx(0.156 if row.values["part"].startswith("MS20219") else 0.25, abs=0.001)
