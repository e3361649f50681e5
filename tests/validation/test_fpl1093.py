"""Shrinkage of wood along the grain.

Reference: U.S. Forest Products Laboratory, report 1093: from green to oven-dry 0.1 to 0.3 % along the grain.
Spread over 30 % of moisture this is 33 to 100 microstrain per 1 % (computed).
"""

import pytest

from rigging import tables
from rigging.source import Basis


def test_shrinkage_and_what_it_makes_per_percent_of_moisture():
    row = tables.load("wood-shrinkage-fpl1093").find(direction="along the grain")
    assert (row.figure("shrinkage_low").value, row.figure("shrinkage_high").value) == (0.1, 0.3)
    assert row.source("shrinkage_low").basis is row.source("shrinkage_high").basis is Basis.PUBLISHED
    assert (row.figure("swell_low").value, row.figure("swell_high").value) == (33, 100)
    assert row.source("swell_low").basis is row.source("swell_high").basis is Basis.COMPUTED
    assert row.values["swell_low"] == pytest.approx(1000 / 30, abs=0.5)
    assert row.values["swell_high"] == pytest.approx(3000 / 30, abs=0.5)
