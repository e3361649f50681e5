"""Measured expansion of seven-wire strand, by which the lower edge of carbon cable is held.

Reference: Xie and Yan, International Journal of Concrete Structures and Materials (2018), table 2: unstressed
strand, 11.8e-6 per degree C at 0 C, 11.2 at -20 C, 10.6 at -40 C.
"""

import numpy as np
import pytest

from rigging import tables
from rigging.source import Basis

STRAND = {0.0: 11.8, -20.0: 11.2, -40.0: 10.6}  # 1e-6/C at C


def test_the_lower_edge_names_them():
    source = tables.load("expansion").find(material="carbon cable").source("minus")
    assert (source.basis, source.place) == (Basis.COMPUTED, "table 2")
    assert source.document.startswith("Xie and Yan 2018")
    assert all(f"{expansion} at {at:g} C" in source.note for at, expansion in STRAND.items())


@pytest.mark.parametrize("coldest_degF", [-65.0, -40.0, -4.0, 32.0])
def test_what_the_strand_shrinks_by_from_70_f_lies_inside_the_edges(coldest_degF):
    # the three figures lie on a straight line; what acts on a cable is the mean from the reference down to the day
    at, expansion = np.array(list(STRAND)), np.array(list(STRAND.values()))
    line = np.polynomial.Polynomial.fit(at, expansion, 1)
    assert line(at) == pytest.approx(expansion)
    cold, warm = ((t - 32) / 1.8 for t in (coldest_degF, 70.0))
    shrunk = line.integ()
    mean = (shrunk(warm) - shrunk(cold)) / (warm - cold)
    cable = tables.load("expansion").find(material="carbon cable").values
    assert cable["expansion"] - cable["minus"] < mean < cable["expansion"] + cable["plus"]
    if coldest_degF == -65.0:
        assert mean == pytest.approx(11.3, abs=0.05)
