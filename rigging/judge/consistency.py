"""Readings of one circuit against each other: free sectors hold no moment, so the tensions hang together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rigging.physics.circuit import Circuit

if TYPE_CHECKING:
    from rigging.physics.circuit import Array


def nearest_balance(circuit: Circuit, reading_lbf: Array, uncertainty_lbf: Array) -> Array | None:
    """The tensions in balance that lie nearest to the readings, weighted by their uncertainty.

    reading_lbf [lbf], shape (links,): nan where a link was not read. uncertainty_lbf [lbf], shape (links,),
    any multiple of the standard uncertainty. None where the readings do not fix every link.
    """
    import numpy as np

    read = ~np.isnan(reading_lbf)
    basis = circuit.pretension()
    # a thousandth of a pound keeps a reading without uncertainty from outweighing all others beyond rounding
    weight = 1 / np.maximum(uncertainty_lbf[read], 1e-3)
    weighted = basis[read] * weight[:, None]
    if not read.any() or np.linalg.matrix_rank(weighted) < basis.shape[1]:
        return None
    amount = np.linalg.lstsq(weighted, reading_lbf[read] * weight, rcond=None)[0]
    balanced: Array = basis @ amount
    return balanced
