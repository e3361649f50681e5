"""A tensioned beam on a grid: EI w'''' - T w'' = q, ends pinned or clamped; nothing of the program is used.

Second-order central differences. Beyond an end the grid goes on by its mirror: w(-h) = w(h) where the end is clamped,
w(-h) = -w(h) where it is pinned.
"""

import numpy as np
from scipy.linalg import eig_banded, solveh_banded


def bands(points, tension, bending, span, clamped_ends):
    """Upper bands of the symmetric matrix of the inner points, and the step."""
    h = span / (points + 1)
    out = np.zeros((3, points))
    out[0, 2:] = bending / h**4
    out[1, 1:] = -4 * bending / h**4 - tension / h**2
    out[2] = 6 * bending / h**4 + 2 * tension / h**2
    for place, clamped in zip((0, -1), clamped_ends, strict=True):
        out[2, place] += bending / h**4 * (1 if clamped else -1)
    return out, h


def deflection(force, place_share, tension, bending, span, clamped_ends, points=3999):
    """Deflection under a force at a place that falls on the grid."""
    matrix, h = bands(points, tension, bending, span, clamped_ends)
    at = round(place_share * (points + 1)) - 1
    load = np.zeros(points)
    load[at] = force / h
    return solveh_banded(matrix, load)[at]


def frequency_ratios(xi, clamped_ends, count, points=1600):
    """Frequencies over n f1 of the plain string, span, tension and mass 1; two grids brought together (Richardson)."""

    def on(n):
        matrix, _ = bands(n, 1.0, 1 / xi**2, 1.0, clamped_ends)
        squares = eig_banded(matrix, eigvals_only=True, select="i", select_range=(0, count - 1))
        return np.sqrt(squares) / (np.pi * np.arange(1, count + 1))

    coarse, fine = on(points // 2 - 1), on(points - 1)
    return (4 * fine - coarse) / 3
