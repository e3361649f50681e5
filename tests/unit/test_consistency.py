"""The balance nearest to readings of a loop and of two loops, worked out on paper."""

import math

import numpy as np
import pytest

from rigging.judge.consistency import nearest_balance
from rigging.physics.circuit import Circuit, Joint, Link

LOOP = Circuit(
    ["stick", "horn"],
    [
        Link("up", 500.0, Joint("stick", 1, 3.0), Joint("horn", -1, 3.0)),
        Link("down", 500.0, Joint("stick", -1, 3.0), Joint("horn", 1, 3.0)),
    ],
    ["stick"],
)


def nearest(reading, uncertainty):
    return nearest_balance(LOOP, np.array(reading, dtype=float), np.array(uncertainty, dtype=float))


def test_equal_arms_pull_alike_so_it_is_the_weighted_mean():
    assert nearest([30.0, 40.0], [1.0, 1.0]) == pytest.approx([35.0, 35.0])
    # weights 1 and 1/4
    assert nearest([30.0, 40.0], [1.0, 2.0]) == pytest.approx([32.0, 32.0])
    assert nearest([30.0, 40.0], [10.0, 20.0]) == pytest.approx([32.0, 32.0])


def test_one_reading_says_the_other_and_none_says_nothing():
    assert nearest([30.0, math.nan], [1.0, 1.0]) == pytest.approx([30.0, 30.0])
    assert nearest([math.nan, 30.0], [1.0, 1.0]) == pytest.approx([30.0, 30.0])
    assert nearest([math.nan, math.nan], [1.0, 1.0]) is None


def test_a_reading_without_uncertainty_counts_as_known_to_a_thousandth_of_a_pound():
    assert nearest([30.0, 40.0], [0.0, 0.001]) == pytest.approx([35.0, 35.0])
    assert nearest([30.0, 40.0], [0.0, 0.002]) == pytest.approx([32.0, 32.0])


def test_two_loops_need_a_reading_each():
    links = [
        *LOOP.links,
        *(link._replace(name=link.name + "2", end=link.end._replace(sector="tab")) for link in LOOP.links),
    ]
    both = Circuit(["stick", "horn", "tab"], links, ["stick"])
    u = np.ones(4)
    assert nearest_balance(both, np.array([30.0, 40.0, math.nan, math.nan]), u) is None
    found = nearest_balance(both, np.array([30.0, math.nan, math.nan, 50.0]), u)
    assert found == pytest.approx([30.0, 30.0, 50.0, 50.0])
