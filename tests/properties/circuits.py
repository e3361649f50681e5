"""Random circuits with a known balance: angles and tensions are drawn first, stretches and moments follow from them.

Nothing here asks the code under test. With t >= 0 the drawn tensions and phi the drawn angles, the stretches
x0 = t/k - A phi (less some slack where t = 0) and the moments M = A' t satisfy balance by construction; the tensions
are unique, because the energy is strictly convex in the stretch of every tight link.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from rigging.physics.circuit import Circuit, Joint, Link

ARM_IN = st.floats(0.5, 30)
STIFFNESS = st.floats(0, 4).map(lambda decade: 10.0 + 10.0**decade)  # a soft spring to a short stout cable
# nothing closer to the edge of slack than a thousandth of a pound, but for exact zeros
TENSION_LBF = st.one_of(st.just(0.0), st.floats(1e-3, 500))
PLAY_IN = st.one_of(st.just(0.0), st.floats(1e-3, 2))


class Case(NamedTuple):
    """A circuit, its geometry (links x free sectors) and one balance that holds by construction."""

    circuit: Circuit
    arms: np.ndarray
    stiffness: np.ndarray
    free: np.ndarray
    stretch: np.ndarray
    moment: np.ndarray
    held_angle: np.ndarray
    tension: np.ndarray


@st.composite
def sectors_and_links(draw, largest=6):
    """Names, links and held sectors: every free sector is joined, along a tree, to the airframe or a held one."""
    n = draw(st.integers(1, largest))
    names = [f"s{i}" for i in range(n)]
    held = [name for name in names if draw(st.booleans()) and draw(st.booleans())]
    links: list[Link] = []

    def joint(name):
        return Joint(name, draw(st.sampled_from((1, -1))), draw(ARM_IN))

    def add(start, end):
        links.append(Link(f"link {len(links)}", draw(STIFFNESS), start, end))

    anchors = list(held)
    for name in names:
        if name in held:
            continue
        start = joint(name)
        end = joint(draw(st.sampled_from(anchors))) if anchors and draw(st.integers(0, 3)) else None
        add(start, end)
        if draw(st.integers(0, 3)):  # the returning cable of a loop
            add(start._replace(side=-start.side), end and end._replace(side=-end.side))
        if draw(st.integers(0, 5)) == 0:  # the same cable twice
            add(start, end)
        anchors.append(name)
    for _ in range(draw(st.integers(0 if links else 1, 3))):  # branches, springs, cross cables
        a = draw(st.sampled_from(names))
        others = [name for name in names if name != a]
        add(joint(a), joint(draw(st.sampled_from(others))) if others and draw(st.booleans()) else None)
    return names, links, held


def pulls(names, links):
    """Stretch of every link per radian of every sector, by the definition."""
    table = np.zeros((len(links), len(names)))
    for i, link in enumerate(links):
        for joint in (link.start, link.end):
            if joint is not None:
                table[i, names.index(joint.sector)] += joint.side * joint.arm_in
    return table


@st.composite
def cases(draw, tight=False):
    """A circuit with a balance; tight: every link above zero."""
    names, links, held = draw(sectors_and_links())
    table = pulls(names, links)
    free = np.array([name not in held for name in names])
    k = np.array([link.stiffness_lbf_per_in for link in links])
    tension = np.array([draw(st.floats(1, 500) if tight else TENSION_LBF) for _ in links])
    play = np.array([0.0 if t else draw(PLAY_IN) for t in tension])
    angle = np.array([draw(st.floats(-0.6, 0.6)) for _ in names])
    # a moment on a held sector goes into its pin and counts for nothing
    moment = np.where(free, table.T @ tension, 77.0)
    return Case(
        circuit=Circuit(names, links, held),
        arms=table,
        stiffness=k,
        free=free,
        stretch=tension / k - play - table @ angle,
        moment=moment,
        held_angle=np.where(free, 0.0, angle),
        tension=tension,
    )


def largest(tension):
    """The scale a tension is judged by: the largest, and a pound at least."""
    return max(float(np.max(tension, initial=0.0)), 1.0)


def energy(case, stretch, moment, angle):
    """1/2 sum k max(0, x)^2 - M phi over the free sectors, with the held ones where ``angle`` has them."""
    x = np.maximum(0.0, stretch + angle @ case.arms.T)
    return 0.5 * (case.stiffness * x**2).sum(axis=-1) - (moment * case.free * angle).sum(axis=-1)
