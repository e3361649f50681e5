"""Bends a valid file the way hands, editors, transfers and ill will do: every step is drawn from one seeded source.

Text is bent by its own structure (lines, keys, values, numbers, brackets), a recording by the fields of its header.
"""

from __future__ import annotations

import copy
import json
import random
import re
import struct
from collections.abc import Callable, Sequence
from typing import Any

import yaml

Step = Callable[[bytes, random.Random], bytes]
LARGEST = 64 * 1024

NUMBERS = (
    b"0", b"-0", b"-1", b"1e999", b"-1e999", b"1e308", b"9" * 19, b"9" * 400, b"0." + b"0" * 320 + b"1", b"1e-320",
    b"1.7976931348623157e308", b"nan", b"inf", b"-.inf", b"007", b"0x10", b"1_000", b"12:30", b"1,5", b"1/0", b"0/1",
    b"99999999999999999999/3", b"+-5", b"--5", b"5e", b".", b"1..2", "١٢".encode(), "½".encode(), "−5".encode(), "1e٣".encode(),
)  # fmt: skip
TEXTS = (
    b"\x00", b"\xef\xbb\xbf", b"\xff\xfe", b"\r\n", b"\r", b"\x0b", b"\x1b[31m", b"\x7f", b"\xc3", b"\xed\xa0\x80", b"\t",
    "\u0085".encode(), "\u2028".encode(), "\u202e".encode(), "\ufeff".encode(), "e\u0301".encode(), "\U0001f6e9".encode(),
    "\xa0".encode(), "ß".encode(), "İ".encode(), "\U000e0001".encode(), b"'", b'"', b'""', b",", b";", b"|", b">", b"#", b": ", b"- ",
    b"? ", b"---\n", b"...\n", b"&a ", b"*a", b"<<: *a", b"!!python/object:os.system ", b"!!binary ", b"! ", b"%YAML 9.9\n", b"@", b"`",
    b"{}", b"[]", b"null", b"~", b"true", b"no", b"\\ud800", b'"\\0"', b'"\\ud83d"', b"=1+1", b"../../etc/passwd", b"/dev/zero",
    b"/dev/stdin", b".", b"a" * 300, b"\xcc\x81" * 200,
)  # fmt: skip
_NUMBER = re.compile(rb"[+-]?\d+(?:\.\d+)?")
_VALUE = re.compile(rb"(?<=[:,\[{ ])[^\s:,\[\]{}\"]+")
_KEY = re.compile(rb"[\w ]+(?=\"?:)")


def _span(data: bytes, draw: random.Random, longest: int = 64) -> tuple[int, int]:
    start = draw.randrange(len(data) + 1)
    return start, min(len(data), start + draw.randint(0, longest))


def _one(pattern: re.Pattern[bytes], data: bytes, draw: random.Random) -> tuple[int, int]:
    found = [m.span() for m in pattern.finditer(data)]
    return draw.choice(found) if found else _span(data, draw, 8)


def flip(data: bytes, draw: random.Random) -> bytes:
    """One bit, as a bad copy does."""
    if not data:
        return b"\x01"
    at = draw.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << draw.randrange(8)]) + data[at + 1 :]


def set_byte(data: bytes, draw: random.Random) -> bytes:
    at, end = _span(data, draw, 1)
    return data[:at] + bytes([draw.randrange(256)]) + data[end:]


def delete(data: bytes, draw: random.Random) -> bytes:
    start, end = _span(data, draw)
    return data[:start] + data[end:]


def cut_off(data: bytes, draw: random.Random) -> bytes:
    return data[: draw.randrange(len(data) + 1)]


def again(data: bytes, draw: random.Random) -> bytes:
    """A piece stands twice, or many times."""
    start, end = _span(data, draw)
    return data[:end] + data[start:end] * draw.choice((1, 1, 2, 50)) + data[end:]


def swap(data: bytes, draw: random.Random) -> bytes:
    """Two values change places."""
    a, b = sorted((_one(_VALUE, data, draw), _one(_VALUE, data, draw)))
    if a[1] > b[0]:
        return data
    return data[: a[0]] + data[b[0] : b[1]] + data[a[1] : b[0]] + data[a[0] : a[1]] + data[b[1] :]


def number(data: bytes, draw: random.Random) -> bytes:
    start, end = _one(_NUMBER, data, draw)
    return data[:start] + draw.choice(NUMBERS) + data[end:]


def other_number(data: bytes, draw: random.Random) -> bytes:
    start, end = _one(_NUMBER, data, draw)
    return data[:start] + str(draw.choice((draw.randint(-3, 40), draw.randint(-(10**6), 10**6)))).encode() + data[end:]


def value(data: bytes, draw: random.Random) -> bytes:
    start, end = _one(_VALUE, data, draw)
    return data[:start] + draw.choice(TEXTS) + data[end:]


def insert(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data) + 1)
    return data[:at] + draw.choice(TEXTS) + data[at:]


def key(data: bytes, draw: random.Random) -> bytes:
    """A key becomes another one of the file, so that keys stand twice, or in the wrong block."""
    a, b = _one(_KEY, data, draw), _one(_KEY, data, draw)
    return data[: a[0]] + data[b[0] : b[1]] + data[a[1] :]


def lines(data: bytes, draw: random.Random) -> bytes:
    """Lines doubled, dropped, moved, pushed in or out."""
    rows = data.split(b"\n")
    i, j = draw.randrange(len(rows)), draw.randrange(len(rows))
    how = draw.randrange(5)
    if how == 0:
        rows.insert(j, rows[i])
    elif how == 1:
        del rows[i]
    elif how == 2:
        rows[i], rows[j] = rows[j], rows[i]
    elif how == 3:
        rows[i] = b" " * draw.choice((1, 2, 40)) + rows[i]
    else:
        rows[i] = rows[i].lstrip()
    return b"\n".join(rows)


def nest(data: bytes, draw: random.Random) -> bytes:
    """A value inside many brackets, closed or not."""
    start, end = _one(_VALUE, data, draw)
    deep = draw.choice((1, 2, 29, 30, 31, 61, 1200, 20_000))
    left, right = draw.choice(((b"[", b"]"), (b"{a: ", b"}"), (b'{"a":', b"}"), (b"- ", b""), (b"? ", b"")))
    closing = right * deep if draw.random() < 0.8 else b""
    return data[:start] + left * deep + data[start:end] + closing + data[end:]


def line_ends(data: bytes, draw: random.Random) -> bytes:
    return data.replace(b"\n", draw.choice((b"\r\n", b"\r", b"\n\n", "\u2028".encode())))


def encoded(data: bytes, draw: random.Random) -> bytes:
    """Saved in another encoding, or with a byte order mark."""
    how = draw.choice(("utf-8-sig", "utf-16", "utf-16-le", "latin-1", "utf-32"))
    return data.decode("utf-8", "replace").encode(how, "replace")


ODD = (
    None, True, False, 0, -1, 1, 2, 41, 10**9, -(10**9), 10**18, 0.5, -0.5, 1e300, "", " ", "x", "no such name", "left", "rudder", "0", "-1", "1e400",
    "54F", "-459F", "1e308F", "0 lbf", "1e-300 lbf", "1000000 lbf", "1e-9 in", "12000 in", "0 deg", "-0 deg", "360 deg", "1e-12 deg",
    "1/8", "999/1000", "30..40 lbf @ 70F", "0..1e-300 lbf", "0%", "100%", "0.0001%", "2026-11-25", "0001-01-01", "9999-12-31", "9" * 400,
    [], {}, [None], [[]], {"": ""}, ["a", "a"], {"a": {"a": {"a": {}}}}, [1, 1], [2, 1], [-3, 40], "stick +", "stick -", "airframe",
)  # fmt: skip
CELLS = (b"", b"0", b"-1", b"+-5", b"--2", b"1e5", b"31.5", b"999999999999", b"40", b"1", b"54F", b"-65F", b"160F", b"1e9F", b"30 lbf", b"1e-300 lbf",
         b"1e300 lbf", b"2026-11-03T09:00", b"0001-01-01T00:00+23:59", b"9999-12-31T23:59-23:59", b"2026-02-30T25:61", b"=1+1", b'"', b"\"a\nb\"")  # fmt: skip


def _nodes(value: Any, found: list[tuple[Any, Any]]) -> None:
    for at, inner in list(
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    ):
        found.append((value, at))
        _nodes(inner, found)


def node(data: bytes, draw: random.Random) -> bytes:
    """A value in the tree of a YAML or JSON file becomes another one: odd, of elsewhere in the file, or left out.

    Of several lines of JSON, one is bent; of a CSV, a cell.
    """
    rows = data.split(b"\n")
    at = draw.randrange(len(rows)) if data[:1] == b"{" and len(rows) > 1 else None
    text = data if at is None else rows[at]
    try:
        tree = yaml.load(text, yaml.CSafeLoader)
        found: list[tuple[Any, Any]] = []
        _nodes(tree, found)
        holder, place = draw.choice(found)
    except (yaml.YAMLError, ValueError, IndexError, RecursionError, TypeError):
        return cell(data, draw)
    how = draw.randrange(4)
    if how == 0:
        del holder[place]
    elif how == 1:
        other, there = draw.choice(found)
        holder[place] = (
            copy.deepcopy(other[there]) if there in other or (isinstance(other, list) and there < len(other)) else None
        )
    elif how == 2 and isinstance(holder, dict):
        holder[draw.choice(("x", "", place, *map(str, holder)))] = holder[place]
    else:
        holder[place] = draw.choice(ODD)
    try:
        bent = json.dumps(tree, ensure_ascii=False, default=str).encode("utf-8", "replace")
    except TypeError:  # a date as a key
        return lines(data, draw)
    return bent if at is None else b"\n".join([*rows[:at], bent, *rows[at + 1 :]])


def cell(data: bytes, draw: random.Random) -> bytes:
    """A cell of a CSV becomes another one: odd, or of another row."""
    rows = [row.split(b",") for row in data.split(b"\n")]
    row = draw.choice(rows)
    others = [c for r in rows for c in r]
    row[draw.randrange(len(row))] = draw.choice(CELLS) if draw.random() < 0.6 else draw.choice(others)
    return b"\n".join(b",".join(r) for r in rows)


TEXT_STEPS: tuple[Step, ...] = (
    node, node, node, node, node, node,
    flip, set_byte, delete, cut_off, again, swap, number, other_number, other_number, value, insert, key, lines, nest,
    line_ends, encoded,
)  # fmt: skip


def wav_field(data: bytes, draw: random.Random) -> bytes:
    """A field of the header at its edges: sizes, kind, channels, rate, bits."""
    at, form = draw.choice(
        ((4, "<I"), (16, "<I"), (20, "<H"), (22, "<H"), (24, "<I"), (28, "<I"), (32, "<H"), (34, "<H"), (40, "<I"))
    )
    top = 2 ** (8 * struct.calcsize(form)) - 1
    new = struct.pack(
        form, draw.choice((0, 1, 2, 3, 8, 16, 24, 32, 64, 99, 100, 8000, 44100, 400_000, top // 2, top - 1, top)) & top
    )
    return data[:at] + new + data[at + len(new) :]


def wav_samples(data: bytes, draw: random.Random) -> bytes:
    """Samples silent, at full scale, not finite, or all alike."""
    start, end = _span(data, draw, len(data))
    piece = draw.choice(
        (b"\x00", b"\xff", b"\x80", b"\xff\x7f", struct.pack("<f", float("nan")), struct.pack("<d", 1e300))
    )
    return data[: max(44, start)] + (piece * (end - start))[: end - start] + data[max(44, end) :]


WAV_STEPS: tuple[Step, ...] = (wav_field, wav_field, wav_samples, flip, set_byte, delete, cut_off, again)


def mutated(data: bytes, steps: Sequence[Step], seed: int, most_steps: int = 6, largest: int = LARGEST) -> bytes:
    """A seed file after a few steps; the same for the same seed."""
    draw = random.Random(seed)
    for _ in range(min(draw.randint(1, most_steps), draw.randint(1, most_steps))):
        data = draw.choice(steps)(data, draw)[:largest]
    return data
