"""WAV files of every kind that is read, and bad ones: one clear line each."""

import importlib.util
import struct
import wave
from pathlib import Path

import numpy as np
import pytest

from rigging.errors import BadFile, Refusal
from rigging.measure.peaks import Peak, Spectrum, spectrum_peaks
from rigging.measure.series import find_series
from rigging.measure.wav import Sound, load_wav

_spec = importlib.util.spec_from_file_location(
    "plucked_cable", Path(__file__).resolve().parents[1] / "validation" / "plucked_cable.py"
)
sound = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(sound)

RATE = 8000
TIMES = np.arange(RATE) / RATE
TONE = 0.5 * np.sin(2 * np.pi * 40 * TIMES)


@pytest.mark.parametrize("extensible", [False, True])
@pytest.mark.parametrize(("kind", "bits"), [(1, 8), (1, 16), (1, 24), (1, 32), (3, 32), (3, 64)])
def test_every_kind_gives_its_samples_back(tmp_path, kind, bits, extensible):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE, bits, kind, extensible)
    found = load_wav(file)
    assert (found.rate_Hz, found.bits, found.duration_s) == (RATE, bits, 1.0)
    assert found.samples.shape == (1, RATE)
    assert np.abs(found.samples[0] - TONE).max() < 2 ** (2 - min(bits, 24))


def test_what_another_writer_wrote_reads_the_same(tmp_path):
    file = tmp_path / "a.wav"
    with wave.open(str(file), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(np.column_stack([np.round(TONE * 32767), np.zeros(RATE)]).astype("<i2").tobytes())
    found = load_wav(file)
    assert found.samples.shape == (2, RATE)
    assert np.abs(found.samples[0] - TONE).max() < 1e-4 and not found.samples[1].any()


@pytest.mark.parametrize("name", [b"LIST", b"cue ", b"id3 ", b"zzzz"])
def test_other_pieces_are_passed_over(tmp_path, name):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = file.read_bytes()
    # an odd length is padded
    file.write_bytes(data[:12] + name + struct.pack("<I", 3) + b"abc\0" + data[12:])
    assert load_wav(file).samples.shape == (1, RATE)


def test_a_recorder_that_was_stopped_hard_is_read_to_its_end(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = bytearray(file.read_bytes())
    place = data.index(b"data") + 4
    data[place : place + 4] = b"\xff\xff\xff\xff"
    file.write_bytes(data)
    assert load_wav(file).samples.shape == (1, RATE)


def test_a_recorder_that_wrote_no_length_at_all_is_read_to_its_end(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = bytearray(file.read_bytes())
    place = data.index(b"data") + 4
    data[place : place + 4] = bytes(4)
    file.write_bytes(data)
    assert load_wav(file).samples.shape == (1, RATE)


# the lowest number, the middle and the highest of each kind; full scale is -1, one step less than 1 above
@pytest.mark.parametrize(
    ("bits", "numbers"),
    [
        (8, [b"\x00", b"\x80", b"\xff"]),
        (16, [b"\x00\x80", b"\x00\x00", b"\xff\x7f"]),
        (24, [b"\x00\x00\x80", b"\x00\x00\x00", b"\xff\xff\x7f"]),
        (32, [b"\x00\x00\x00\x80", b"\x00\x00\x00\x00", b"\xff\xff\xff\x7f"]),
    ],
)
def test_full_scale_and_silence_to_the_last_step(tmp_path, bits, numbers):
    file = sound.write_wav(tmp_path / "a.wav", TONE[:3], RATE, bits)
    data = file.read_bytes()
    place = data.index(b"data") + 8
    file.write_bytes(data[:place] + b"".join(numbers) + data[place + 3 * bits // 8 :])
    assert load_wav(file).samples.tolist() == [[-1.0, 0.0, 1 - 2.0 ** (1 - bits)]]


@pytest.mark.parametrize("form", [b"AVI ", b"WEBP"])
def test_films_and_pictures_in_the_same_kind_of_file_are_no_sound(tmp_path, form):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = file.read_bytes()
    file.write_bytes(data[:8] + form + data[12:])
    with pytest.raises(BadFile, match="no WAV file"):
        load_wav(file)


def test_eight_channels_are_read_and_nine_are_not(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", np.tile(TONE[:800], 9), RATE)
    data = bytearray(file.read_bytes())
    for channels in (8, 9):
        struct.pack_into("<H", data, 22, channels)
        file.write_bytes(data)
        if channels == 8:
            assert load_wav(file).samples.shape == (8, 900)
        else:
            with pytest.raises(BadFile, match="9 channels: 1 to 8 are read"):
                load_wav(file)


def test_more_samples_than_can_be_looked_at_are_counted_in_millions(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", np.zeros(8), 400_000, 8)
    data = bytearray(file.read_bytes())
    struct.pack_into("<H", data, 22, 8)
    place = data.index(b"data") + 4
    file.write_bytes(data[:place] + b"\xff\xff\xff\xff" + bytes(8 * 2_125_000))
    with pytest.raises(BadFile, match="17 million samples: at most 15; cut out the pluck"):
        load_wav(file)


def patched(at, value, form="<H"):
    def bend(data):
        struct.pack_into(form, data, at, value)
        return data

    return bend


BAD = {
    "no WAV file": lambda d: b"OggS" + d[4:],
    "cut off": lambda d: d[:-100],
    "has no format": lambda d: d[:12],
    "has no samples": lambda d: d[:36],
    "holds no sound": lambda d: d[:40] + struct.pack("<I", 0),
    "packed in a way": patched(20, 2),
    "0 channels": patched(22, 0),
    "3 samples per second": patched(24, 3, "<I"),
    "come before their format": lambda d: d[:12] + d[36:] + d[12:36],
}


@pytest.mark.parametrize("words", BAD)
def test_bad_files_say_what_is_wrong_in_one_line(tmp_path, words):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    file.write_bytes(BAD[words](bytearray(file.read_bytes())))
    with pytest.raises(BadFile, match=words) as caught:
        load_wav(file)
    assert str(caught.value).startswith(str(file)) and "\n" not in str(caught.value)


def test_no_file_a_folder_and_an_empty_one(tmp_path):
    for path in (tmp_path / "none.wav", tmp_path):
        with pytest.raises(BadFile, match="cannot be read"):
            load_wav(path)
    (tmp_path / "empty.wav").write_bytes(b"")
    with pytest.raises(BadFile, match="no WAV file"):
        load_wav(tmp_path / "empty.wav")


def test_too_large_and_too_long(tmp_path):
    big = tmp_path / "big.wav"
    with big.open("wb") as out:
        out.truncate(50_000_001)
    with pytest.raises(BadFile, match="at most 50 MB"):
        load_wav(big)
    long = sound.write_wav(tmp_path / "long.wav", np.zeros(301 * 100), 100)
    with pytest.raises(BadFile, match="at most 300 s"):
        load_wav(long)


def test_samples_that_are_no_numbers(tmp_path):
    for value, words in ((np.nan, "no numbers"), (np.inf, "no numbers"), (1e9, "beyond full scale")):
        bent = TONE.copy()
        bent[5] = value
        with pytest.raises(BadFile, match=words):
            load_wav(sound.write_wav(tmp_path / "a.wav", bent, RATE, 32, 3))


@pytest.mark.parametrize("seed", range(30))
def test_any_damage_is_read_or_refused_and_never_falls_over(tmp_path, seed):
    rng = np.random.default_rng(seed)
    file = sound.write_wav(tmp_path / "a.wav", TONE[:400], RATE, int(rng.choice([8, 16, 24, 32])))
    for _ in range(20):
        data = bytearray(file.read_bytes())
        for place in rng.integers(0, 60, size=3):
            data[place] = rng.integers(256)
        bent = tmp_path / "bent.wav"
        bent.write_bytes(data[: rng.integers(1, len(data))])
        try:
            found = load_wav(bent)
        except BadFile as error:
            assert "\n" not in str(error)
        else:
            assert np.isfinite(found.samples).all()


def chord(*parts, seconds=4.0, rate=2000.0, noise=0.01, seed=0):
    t = np.arange(round(seconds * rate)) / rate
    out = noise * np.random.default_rng(seed).standard_normal(len(t))
    for frequency, strength in parts:
        out += strength * np.exp(-t) * np.sin(2 * np.pi * frequency * t + 0.3)
    return Sound("a.wav", rate, 16, out[None])


def test_peaks_are_found_to_a_fraction_of_a_hertz():
    found = spectrum_peaks(chord((21.34, 1.0), (42.9, 0.5), (60.0, 0.3)), 5.0, 200.0)
    assert [round(p.frequency_Hz, 1) for p in found.peaks] == [21.3, 42.9, 60.0]
    for peak, true in zip(found.peaks, (21.34, 42.9, 60.0), strict=True):
        assert abs(peak.frequency_Hz - true) < 3 * peak.standard_uncertainty_Hz < 0.3
    assert [p.mains for p in found.peaks] == [None, None, 60.0]


def test_channels_against_each_other_do_not_cancel():
    one = chord((21.34, 1.0)).samples[0]
    both = Sound("a.wav", 2000.0, 16, np.stack([one, -one]))
    assert [round(p.frequency_Hz, 1) for p in spectrum_peaks(both, 5.0, 200.0).peaks] == [21.3]


@pytest.mark.parametrize(
    ("heard", "words"),
    [
        (Sound("a.wav", 2000.0, 16, np.zeros((1, 8000))), "silence"),
        (Sound("a.wav", 2000.0, 16, np.full((2, 8000), 0.3)), "silence"),
        (chord((20.0, 1.0), seconds=0.5), "at least 1 s"),
        (chord((3.0, 1.0), rate=20.0), "too few"),
    ],
)
def test_recordings_of_nothing_are_refused(heard, words):
    with pytest.raises(Refusal, match=words):
        spectrum_peaks(heard, 5.0, 200.0)


def peaks(*frequencies, strength=1e3):
    return Spectrum(tuple(Peak(f, 0.05, strength, None) for f in sorted(frequencies)), 0.5, 5.0, 400.0)


def test_a_series_with_gaps_and_strangers():
    found = find_series(peaks(20.0, 60.0, 80.0, 140.0, 33.3, 91.7), 8.0, 40.0, 1.0)
    assert [m.number for m in found.members] == [1, 3, 4, 7]


def test_a_series_that_is_stretched():
    stretched = [n * 20 * (1 + 0.002 * n * n) ** 0.5 for n in range(1, 9)]
    found = find_series(peaks(*stretched), 8.0, 40.0, 2.0)
    assert [m.number for m in found.members] == list(range(1, 9))


def test_two_cables_alike_and_half_a_series_are_refused():
    with pytest.raises(Refusal, match="two series"):
        find_series(peaks(20.0, 40.0, 60.2, 80.0, 27.0, 54.0, 81.3, 108.0), 8.0, 40.0, 1.0)
    # modes 1, 2, 4, 6, 8 of 10 Hz, or 1, 2, 3, 4 of 20 Hz and one stranger
    with pytest.raises(Refusal, match="two series"):
        find_series(peaks(10.0, 20.0, 40.0, 61.0, 80.0), 8.0, 40.0, 1.0)
    # whoever expects 20 Hz is not troubled by 10 Hz
    assert find_series(peaks(10.0, 20.0, 40.0, 61.0, 80.0), 15.0, 40.0, 1.0).first_Hz == pytest.approx(20.0, rel=0.02)


def test_mains_alone_is_no_series():
    hum = Spectrum(tuple(Peak(50.0 * n, 0.02, 1e4, 50.0) for n in range(1, 6)), 0.5, 5.0, 400.0)
    with pytest.raises(Refusal, match="no series"):
        find_series(hum, 8.0, 60.0, 1.0)


@pytest.mark.parametrize("bits", [8, 16, 32])
def test_a_piece_after_the_samples_is_none_of_them(tmp_path, bits):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE, bits)
    data = file.read_bytes()
    file.write_bytes(data + b"LIST" + struct.pack("<I", 400) + bytes(range(200)) * 2)
    found = load_wav(file)
    assert found.samples.shape == (1, RATE)
    assert np.abs(found.samples[0] - TONE).max() < 2.0 ** (1 - bits) + 1e-4


@pytest.mark.parametrize("length", [0, 14, 15])
def test_a_format_that_is_cut_off_is_refused(tmp_path, length):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = file.read_bytes()
    short = data[20 : 20 + length] + bytes(length % 2)
    file.write_bytes(data[:16] + struct.pack("<I", length) + short + data[36:])
    with pytest.raises(BadFile, match="its format is cut off"):
        load_wav(file)


def test_fifty_megabytes_are_still_looked_at(tmp_path):
    zeros = tmp_path / "zeros.wav"
    with zeros.open("wb") as out:
        out.truncate(50_000_000)
    with pytest.raises(BadFile, match="no WAV file"):
        load_wav(zeros)


def test_what_is_too_large_and_too_long_is_told_in_megabytes_and_seconds(tmp_path):
    big = tmp_path / "big.wav"
    with big.open("wb") as out:
        out.truncate(73_000_000)
    with pytest.raises(BadFile, match="73 MB: at most 50 MB"):
        load_wav(big)
    with pytest.raises(BadFile, match="301 s long: at most 300 s"):
        load_wav(sound.write_wav(tmp_path / "long.wav", np.zeros(301 * 100), 100))
    assert load_wav(sound.write_wav(tmp_path / "just.wav", np.zeros(300 * 100), 100)).duration_s == 300.0


@pytest.mark.parametrize(("rate", "read"), [(99, False), (100, True), (400_000, True), (400_001, False)])
def test_sample_rates_that_are_read(tmp_path, rate, read):
    file = sound.write_wav(tmp_path / "a.wav", TONE[:1000], rate)
    if read:
        assert load_wav(file).rate_Hz == rate
    else:
        with pytest.raises(BadFile, match=f"{rate} samples per second: 100 to 400000 are read"):
            load_wav(file)


def test_a_plain_format_with_more_behind_it_stays_what_it_is(tmp_path):
    # 26 bytes, of which the last would name the kind of a packed one
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    data = file.read_bytes()
    plain = data[20:36]
    file.write_bytes(data[:16] + struct.pack("<I", 26) + plain + bytes(8) + struct.pack("<H", 3) + data[36:])
    assert load_wav(file).samples.shape == (1, RATE)


def test_a_packed_format_may_end_with_its_kind(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE, extensible=True)
    data = file.read_bytes()
    length = struct.unpack_from("<I", data, 16)[0]
    assert length > 26
    file.write_bytes(data[:16] + struct.pack("<I", 26) + data[20:46] + data[20 + length :])
    assert load_wav(file).samples.shape == (1, RATE)


def test_a_kind_under_development_is_not_read_as_what_stands_behind_it(tmp_path):
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE, extensible=True)
    data = bytearray(file.read_bytes())
    struct.pack_into("<H", data, 20, 0xFFFF)
    file.write_bytes(data)
    with pytest.raises(BadFile, match="packed in a way that is not read here \\(kind 65535, 16 bit\\)"):
        load_wav(file)


@pytest.mark.parametrize("name", [b"RIFX", b"RF64", b"AAAA", b"ZZZZ"])
def test_other_kinds_of_file_that_hold_waves_are_told(tmp_path, name):
    # RIFX has its bytes the other way round
    file = sound.write_wav(tmp_path / "a.wav", TONE, RATE)
    file.write_bytes(name + file.read_bytes()[4:])
    with pytest.raises(BadFile, match="no WAV file"):
        load_wav(file)
