"""A sound file from a telephone or recorder: RIFF WAVE with plain samples, read with every bound checked.

8, 16, 24 and 32 bit whole numbers, 32 and 64 bit floating point; one channel or several; any sample rate.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import BadFile

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LARGEST_BYTES: Final = 50_000_000
LONGEST_S: Final = 300.0
LOWEST_RATE_Hz: Final = 100
HIGHEST_RATE_Hz: Final = 400_000
MOST_CHANNELS: Final = 8
MOST_SAMPLES: Final = (
    15_000_000  # of all channels together; each takes 8 bytes, several times over while it is looked at
)

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_OTHER: Final = "save it as WAV with 16 bit PCM samples"


class Sound(msgspec.Struct, frozen=True):
    """A recording. samples: shape (channels, n), full scale +-1. rate_Hz [Hz]. file: its name as given."""

    file: str
    rate_Hz: float
    bits: int
    samples: Array

    @property
    def duration_s(self) -> float:
        """Length of the recording [s]."""
        return float(self.samples.shape[1] / self.rate_Hz)


def load_wav(path: Path) -> Sound:
    """Read a WAV file. Raises BadFile: it cannot be read, is no WAV file, is cut off, too large, too long or empty."""
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise BadFile.one(path, f"{size / 1e6:.0f} MB: at most {LARGEST_BYTES / 1e6:.0f} MB; cut out the pluck")
        data = path.read_bytes()
    except OSError as error:
        raise BadFile.one(path, f"cannot be read ({error.strerror})") from None
    if data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        raise BadFile.one(path, f"no WAV file: {_OTHER}")
    return _sound(path, data)


def _sound(path: Path, data: bytes) -> Sound:
    shape: tuple[int, int, int, int] | None = None
    place = 12
    while place + 8 <= len(data):
        name, length = data[place : place + 4], struct.unpack_from("<I", data, place + 4)[0]
        body = data[place + 8 : place + 8 + length]
        if name == b"fmt ":
            shape = _format(path, body)
        elif name == b"data":
            if shape is None:
                raise BadFile.one(path, f"its samples come before their format: {_OTHER}")
            # recorders that were stopped hard write a length of zero or of all ones
            broken = length in (0, 0xFFFFFFFF)
            if len(body) < length and not broken:
                raise BadFile.one(path, f"is cut off: {len(body)} of {length} bytes of sound are there; copy it again")
            return _decoded(path, data[place + 8 :] if broken else body, shape)
        # pieces are padded to even lengths
        place += 8 + length + length % 2
    raise BadFile.one(path, f"has no {'samples' if shape else 'format'} in it: {_OTHER}")


def _format(path: Path, body: bytes) -> tuple[int, int, int, int]:
    """(kind, channels, rate, bits) from the format piece."""
    if len(body) < 16:
        raise BadFile.one(path, f"its format is cut off: {_OTHER}")
    kind, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", body)
    if kind == _EXTENSIBLE and len(body) >= 26:
        kind = struct.unpack_from("<H", body, 24)[0]
    if (kind, bits) not in {(_PCM, 8), (_PCM, 16), (_PCM, 24), (_PCM, 32), (_FLOAT, 32), (_FLOAT, 64)}:
        raise BadFile.one(
            path, f"its sound is packed in a way that is not read here (kind {kind}, {bits} bit): {_OTHER}"
        )
    if not 1 <= channels <= MOST_CHANNELS:
        raise BadFile.one(path, f"{channels} channels: 1 to {MOST_CHANNELS} are read")
    if not LOWEST_RATE_Hz <= rate <= HIGHEST_RATE_Hz:
        raise BadFile.one(path, f"{rate} samples per second: {LOWEST_RATE_Hz} to {HIGHEST_RATE_Hz} are read")
    return kind, channels, rate, bits


def _decoded(path: Path, body: bytes, shape: tuple[int, int, int, int]) -> Sound:
    import numpy as np

    kind, channels, rate, bits = shape
    frame = channels * bits // 8
    count = len(body) // frame
    if count == 0:
        raise BadFile.one(path, "holds no sound")
    if count > LONGEST_S * rate:
        raise BadFile.one(path, f"{count / rate:.0f} s long: at most {LONGEST_S:.0f} s; cut out the pluck")
    if count * channels > MOST_SAMPLES:
        raise BadFile.one(
            path, f"{count * channels / 1e6:.0f} million samples: at most {MOST_SAMPLES / 1e6:.0f}; cut out the pluck"
        )
    raw = body[: count * frame]
    if kind == _FLOAT:
        # some bit patterns that are no number are talked about when converted; they are refused just below
        with np.errstate(invalid="ignore"):
            flat = np.frombuffer(raw, f"<f{bits // 8}").astype(float)
        if not np.isfinite(flat).all():
            raise BadFile.one(path, "holds samples that are no numbers: record it again")
        if np.abs(flat).max() > 1e6:
            raise BadFile.one(path, "holds samples far beyond full scale: it is damaged")
    elif bits == 8:
        flat = np.frombuffer(raw, np.uint8).astype(float)
        flat -= 128
        flat /= 128
    elif bits == 24:
        parts = np.frombuffer(raw, np.uint8).reshape(-1, 3).astype(np.int32)
        # the highest byte carries the sign
        flat = ((parts[:, 0] << 8 | parts[:, 1] << 16 | parts[:, 2] << 24) >> 8) / float(2**23)
    else:
        flat = np.frombuffer(raw, f"<i{bits // 8}").astype(float)
        flat /= 2.0 ** (bits - 1)
    return Sound(str(path), float(rate), bits, np.ascontiguousarray(flat.reshape(count, channels).T))
