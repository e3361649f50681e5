"""A plucked cable as sound, written apart from the fit: eigenvalues by Chebyshev collocation, decays, a room, strangers.

Nothing here uses the characteristic equation, the series law or the peak finder that the program fits with.
"""

from __future__ import annotations

import math
import struct
from pathlib import Path
from typing import NamedTuple

import numpy as np

LBF, INCH, POUND = 4.4482216152605, 0.0254, 0.45359237
STEEL_PA = 200e9


def chebyshev(n):
    """Points on [-1, 1] and the differentiation matrix (Trefethen, Spectral Methods in MATLAB, program 6)."""
    x = np.cos(np.pi * np.arange(n + 1) / n)
    c = np.r_[2, np.ones(n - 1), 2] * (-1) ** np.arange(n + 1)
    apart = np.subtract.outer(x, x) + np.eye(n + 1)
    d = np.outer(c, 1 / c) / apart
    return x, d - np.diag(d.sum(axis=1))


def eigenfrequencies_Hz(tension_N, length_m, mass_kg_m, bending_N_m2, ends, count, n=80):
    """Natural frequencies of a tensioned beam: EI w'''' - T w'' = m w^2 w, ``clamped`` or ``pinned``."""
    x, d = chebyshev(n)
    scale = 2 / length_m
    d2 = (d @ d)[1:-1, 1:-1]
    if ends == "pinned":
        # w'' vanishes at the ends with w, so the fourth derivative is the second of the second
        d4 = d2 @ d2
    else:
        inner = np.r_[0, 1 / (1 - x[1:-1] ** 2), 0]
        powers = [np.linalg.matrix_power(d, k) for k in (2, 3, 4)]
        whole = np.diag(1 - x**2) @ powers[2] - 8 * np.diag(x) @ powers[1] - 12 * powers[0]
        d4 = (whole @ np.diag(inner))[1:-1, 1:-1]
    values = np.linalg.eigvals(bending_N_m2 * scale**4 * d4 - tension_N * scale**2 * d2)
    real = np.sort(values[np.abs(values.imag) < 1e-6 * np.abs(values)].real)
    return np.sqrt(real[real > 0][:count] / mass_kg_m) / (2 * math.pi)


class Truth(NamedTuple):
    """One plucked span as it really is, and as its rigger measured it."""

    size: str
    tension_lbf: float
    span_in: float
    measured_span_in: float
    bending_lbf_in2: float
    ends: str
    frequencies_Hz: np.ndarray


# weight lb per 100 ft as catalogues print it, typed here apart from the table; diameter in; wires, d over wire diameter
CABLES = {"3/32": (1.74, 3 / 32, 133, 15), "1/8": (2.90, 1 / 8, 133, 15), "5/32": (4.50, 5 / 32, 133, 15)}


def draw(rng, count=8):
    """A span of an aircraft: size, tension, span, stiffness and ends drawn wide; mass and span off by what is stated."""
    size = str(rng.choice(list(CABLES)))
    weight, diameter_in, wires, across = CABLES[size]
    tension_lbf = float(np.exp(rng.uniform(np.log(15), np.log(100))))
    span_in = rng.uniform(60, 120)
    solid = STEEL_PA * math.pi * (diameter_in * INCH) ** 4 / 64
    bending = math.exp(rng.uniform(math.log(solid * wires / across**4), math.log(solid)))
    ends = str(rng.choice(["clamped", "pinned"]))
    mass = weight * POUND / (100 * 12 * INCH) * (1 + rng.uniform(-0.06, 0.06))
    found = eigenfrequencies_Hz(tension_lbf * LBF, span_in * INCH, mass, bending, ends, count)
    measured_in = span_in + rng.uniform(-0.5, 0.5)
    return Truth(size, tension_lbf, span_in, measured_in, bending / LBF / INCH**2, ends, found)


def ring(rng, frequencies_Hz, times_s):
    """Modes excited at a random place, some missing, each dying away at its own pace; a telephone hears low ones badly."""
    place = rng.uniform(0.1, 0.45)
    out = np.zeros_like(times_s)
    for n, f in enumerate(frequencies_Hz, start=1):
        if rng.random() < 0.12:
            continue
        strength = abs(math.sin(n * math.pi * place)) / n * math.exp(0.4 * rng.standard_normal())
        # displacement to sound pressure rises with frequency, and the microphone falls off below 30 Hz
        strength *= n / math.hypot(1, 30 / f)
        decay_s = rng.uniform(0.6, 2.0) / math.sqrt(n)
        out += strength * np.exp(-times_s / decay_s) * np.sin(2 * math.pi * f * times_s + rng.uniform(0, 2 * math.pi))
    return out


def recording(rng, truth, rate_Hz=4000, duration_s=4.5, stranger=0.2, hum=0.2, noise=0.1):
    """Samples of a recording: silence, a pluck, hum with its multiples, a second cable that rings along, noise."""
    times = np.arange(round(duration_s * rate_Hz)) / rate_Hz
    start = 0.3
    on = times >= start
    out = np.zeros_like(times)
    own = ring(rng, truth.frequencies_Hz, times[on] - start)
    own /= np.abs(own).max()
    out[on] += own
    if stranger:
        other = ring(rng, draw(rng).frequencies_Hz, times[on] - start)
        out[on] += stranger * rng.uniform(0.3, 1.0) * other / np.abs(other).max()
    mains = rng.choice([50.0, 60.0])
    for k in (1, 2, 3, 5):
        out += hum * rng.uniform(0, 1) / k * np.sin(2 * math.pi * k * mains * times + rng.uniform(0, 6))
    white = rng.standard_normal(len(times))
    # half of it falls with frequency, as in a hangar
    red = np.fft.irfft(
        np.fft.rfft(white) / np.sqrt(1 + (np.fft.rfftfreq(len(times), 1 / rate_Hz) / 20) ** 2), len(times)
    )
    out += noise * (0.5 * rng.standard_normal(len(times)) + red / red.std() * 0.5)
    return 0.5 * out / np.abs(out).max()


def write_wav(path: Path, samples, rate_Hz=4000, bits=16, kind=1, extensible=False):
    """A WAV file written byte by byte; samples of shape (n,) or (n, channels), full scale +-1."""
    samples = np.atleast_2d(np.asarray(samples, dtype=float).T).T
    channels = samples.shape[1]
    if kind == 3:
        raw = samples.astype(f"<f{bits // 8}").tobytes()
    elif bits == 8:
        raw = np.clip(np.round(samples * 127 + 128), 0, 255).astype(np.uint8).tobytes()
    elif bits == 24:
        whole = np.round(samples * (2**23 - 1)).astype("<i4")
        raw = whole.reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    else:
        raw = np.round(samples * (2 ** (bits - 1) - 1)).astype(f"<i{bits // 8}").tobytes()
    frame = channels * bits // 8
    shape = struct.pack("<HHIIHH", 0xFFFE if extensible else kind, channels, rate_Hz, rate_Hz * frame, frame, bits)
    if extensible:
        shape += struct.pack("<HHIH", 22, bits, 0, kind) + bytes.fromhex(
            "0000000010008000 00aa00389b71".replace(" ", "")
        )
    body = b"fmt " + struct.pack("<I", len(shape)) + shape + b"data" + struct.pack("<I", len(raw)) + raw
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(body)) + b"WAVE" + body)
    return path
