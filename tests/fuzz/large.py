"""``python tests/fuzz/large.py [--lines N]``: files as large as they may be, or far larger: time and memory of each.

Every file runs in a process of its own. Most are the worst that fits into the limit of its size: many problems, many
names to compare, many values to look up.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import random
import resource
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))  # the package of this checkout, whatever is installed
LARGEST = 999_900  # just below what a text file may have
SHEET = (
    "rig_sheet: 1\naircraft: {name: A}\nreference_temperature: 70F\ntemperatures: {coldest: -20F, hottest: 110F}\n"
    "airframe: {material: spruce}\n"
)
SECTORS = "sectors: {a: {arm: 3 in}, b: {arm: 3 in}}, hold: [a]"
CABLE = "size: 1/8, length: 1 ft, limits: 30..40 lbf @ 70F"
CARD = "tensiometer_card: 1\nserial: a\ncalibrated: 2026-01-01\ndue: 2027-01-01\naccuracy: 2%\ncolumns: ["
CHART = (
    "table: 1\nkind: chart\ntitle: a\nsource: {basis: aircraft, document: b}\n"
    "columns: {for: {unit: text}, temperature: {unit: F}, low: {unit: lbf}, high: {unit: lbf}}\nrows: ["
)
HISTORY = "time,circuit,run,tension,uncertainty,structure\n"


def filled(head: str, item: Callable[[int], str], tail: str = "") -> bytes:
    """Head, as many items as fit, tail."""
    count = (LARGEST - len(head) - len(tail)) // len(item(100_000).encode())
    return (head + "".join(map(item, range(count))) + tail).encode()


def ladder(rungs: int) -> bytes:
    """A circuit of two cables between every two sectors in a long row."""
    sectors = ", ".join(f"s{i}: {{arm: 3 in}}" for i in range(rungs + 1))
    cables = "".join(
        f"   {side}{i}: {{{CABLE}, from: s{i} {way}, to: s{i + 1} {way}}}\n"
        for i in range(rungs)
        for side, way in ("k+", "l-")
    )
    return f"{SHEET}circuits:\n c:\n  sectors: {{{sectors}}}\n  hold: [s0]\n  cables:\n{cables}".encode()


def sound(size: int, bits: int = 16, channels: int = 1, rate: int = 48_000, promised: int | None = None) -> bytes:
    """Noise as WAV; promised: what the header says of its length."""
    frame = channels * bits // 8
    form = struct.pack("<HHIIHH", 1, channels, rate, rate * frame, frame, bits)
    head = (
        b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", size if promised is None else promised)
    )
    return b"RIFF" + struct.pack("<I", 36 + size) + head + random.Random(1).randbytes(size)


def hours(count: int) -> bytes:
    """A reading every hour."""
    first = datetime(2000, 1, 1)
    rows = (f"{(first + timedelta(hours=i)).isoformat()[:16]},elevator,up,30lbf,1lbf,54F\n" for i in range(count))
    return (HISTORY + "".join(rows)).encode()


CASES: dict[str, tuple[str, Callable[[], bytes]]] = {
    "sheet, 1 MB, a key again and again": ("sheet", lambda: filled(SHEET, "a: \n".format)),
    "sheet, 1 MB of unknown keys": ("sheet", lambda: filled(SHEET, "k{}: \n".format)),
    "sheet, 1 MB of empty lists, nested 27 deep": ("sheet", lambda: filled(SHEET + "x: " + "[" * 26, lambda i: "[],", "]" * 26)),
    "sheet, 1 MB of numbers that are none": ("sheet", lambda: filled(SHEET + "x: [", lambda i: "1:1,", "]")),
    "sheet, 1 MB of open brackets": ("sheet", lambda: b"[" * LARGEST),
    "sheet, 1 MB of keys within keys": ("sheet", lambda: b"? " * (LARGEST // 2)),
    "sheet, one card 90 000 times": ("sheet", lambda: filled(SHEET + "tensiometers: [", lambda i: "card.yaml, ", "]\ncircuits: {}\n")),
    "sheet, 100 000 unknown sectors held": ("sheet", lambda: filled(SHEET + f"circuits: {{c: {{sectors: {{a: {{arm: 3 in}}, b: {{arm: 3 in}}}}, cables: {{k: {{{CABLE}, from: a +, to: b +}}}}, hold: [", lambda i: f"x{i},", "]}}\n")),
    "sheet, a name of 300 000 letters": ("sheet", f"{SHEET}circuits: {{c: {{{SECTORS}, cables: {{k: {{{CABLE}, from: {'a' * 300_000} +, to: b +}}}}}}}}".encode),
    "sheet, 7000 circuits": ("sheet", lambda: filled(SHEET + "circuits:\n", lambda i: f" c{i}: {{{SECTORS}, cables: {{k: {{{CABLE}, from: a +, to: b +}}}}}}\n")),
    "sheet, 480 cables in one circuit, judged": ("sheet", partial(ladder, 240)),
    "sheet, 5000 cables in one circuit": ("sheet", partial(ladder, 2500)),
    "sheet, 50 000 pulleys on one run": ("sheet", lambda: filled(f"{SHEET}circuits: {{c: {{{SECTORS}, cables: {{k: {{{CABLE}, from: a +, to: b +, pulleys: [", lambda i: "{wrap: 9 deg},", "]}}}}\n")),
    "card, 60 000 points": ("card", lambda: filled(CARD + "{riser: 1, cable: 1/8, points: [", lambda i: f"[{i},{i}],", "]}]")),
    "card, 20 000 columns": ("card", lambda: filled(CARD, lambda i: f"{{riser: {i}, cable: 1/8, points: [[1,1],[2,2]]}},", "]")),
    "chart, 60 000 names": ("table", lambda: filled(CHART, lambda i: f"[a{i},1,1,2],", "]")),
    "chart, 300 000 empty rows": ("table", lambda: filled(CHART, "[],".format, "]")),
    "readings, 28 000 good rows": ("readings", lambda: filled("circuit,run,station,riser,dial,structure\n", lambda i: "aileron,left,wing root,1,30,54F\n")),
    "readings, 330 000 short rows": ("readings", lambda: b"circuit,run,riser,dial\n" + b",x\n" * 325_000),
    "readings, 140 000 columns": ("readings", lambda: filled("", "c{},".format)),
    "readings, one column 490 000 times": ("readings", lambda: b"a," * 490_000),
    "readings, 1 MB of empty lines": ("readings", lambda: b"circuit,run,riser,dial\n" + b"\n" * 950_000),
    "readings, 100 MB": ("readings", lambda: b"circuit,run,riser,dial\n" + b"trim,nose up,1,8\n" * 5_900_000),
    "history, 2000 readings of one run": ("history", partial(hours, 2000)),
    "history, 20 000 readings of one run": ("history", partial(hours, 20_000)),
    "entry, 90 000 unknown fields": ("entries", lambda: b"{" + b",".join(b'"k%d":1' % i for i in range(80_000)) + b"}"),
    "entry, fields 500 000 deep": ("entries", lambda: b'{"a":' * 500_000),
    "WAV, 15 million samples of 8 bit": ("wav", lambda: sound(14_300_000, 8)),
    "WAV, 14 million samples of 8 channels": ("wav", lambda: sound(28_800_000, 16, 8, 20_000)),
    "WAV, 50 MB of 8 bit": ("wav", lambda: sound(49_900_000, 8, 1, 400_000)),
    "WAV, 50 MB of empty pieces": ("wav", lambda: b"RIFF\0\0\0\0WAVE" + b"junk\0\0\0\0" * 6_000_000),
    "WAV, a header that promises 4 GB": ("wav", lambda: sound(1000, promised=2**32 - 16)),
    "WAV, a header that was never finished": ("wav", lambda: sound(500_000, promised=2**32 - 1)),
    "log, a first line of 100 MB": ("log import", lambda: b'{"rig_log":1,' + b"1" * 100_000_000),
    "log, an entry of 100 MB": ("log import", lambda: b'{"rig_log":1,"entries":1,"head_hash":"0"}\n{"sequence":1,"record":"' + b"a" * 100_000_000 + b'"}\n'),
}  # fmt: skip


def tried(name: str) -> dict[str, Any]:
    """What became of one file in this process: seconds, the peak of memory with the file itself in it [MB], what was said."""
    spec = importlib.util.spec_from_file_location("fuzz_targets", HERE / "targets.py")
    assert spec is not None and spec.loader is not None
    sys.modules["fuzz_targets"] = targets = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(targets)
    kind, make = CASES[name]
    data = make()
    started = time.monotonic()
    said = targets.attempt(kind, data)
    seconds = time.monotonic() - started
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"size_mb": len(data) / 1e6, "seconds": seconds, "peak_mb": peak_mb, "said": said}


def alone(name: str, patience_s: float = 300.0) -> dict[str, Any]:
    """The same in a process of its own. Raises where that ends in any other way, or not at all."""
    command = [sys.executable, str(Path(__file__)), "--one", name]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", timeout=patience_s, check=True)
    return dict(json.loads(done.stdout))


def imported(lines: int) -> dict[str, Any]:
    """A log of so many entries taken into a new one."""
    import msgspec

    from rigging.log.chain import GENESIS, seal
    from rigging.log.entry import Entry, sealed_text
    from rigging.log.exchange import import_jsonl
    from rigging.log.store import open_log

    def rows() -> Iterator[Any]:
        head = GENESIS
        for i in range(1, lines + 1):
            payload = {"given": {"text": f"looked at, no. {i}"}, "judged": {"verdict": "recorded", "reasons": []}}
            moment = "2026-11-25T13:40:00.123456Z"
            record = sealed_text(Entry(i, moment, "A. Finch", "note", "Dabchick", "", payload, "0.1", {}))
            yield (row := seal(i, record, head))
            head = row.hash

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "export.jsonl"
        for row in rows():
            last = row
        with path.open("wb") as out:
            out.write(msgspec.json.encode({"rig_log": 1, "entries": lines, "head_hash": last.hash}) + b"\n")
            out.writelines(msgspec.json.encode(row._asdict()) + b"\n" for row in rows())
        started = time.monotonic()
        with open_log(str(Path(folder) / "taken.riglog"), create=True) as log:
            head = import_jsonl(log, path)
        assert head.entries == lines
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        return {
            "size_mb": path.stat().st_size / 1e6,
            "seconds": time.monotonic() - started,
            "peak_mb": peak_mb,
            "said": None,
        }


def main() -> None:
    """A table of all files, or one of them as JSON."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--lines", type=int, default=0, help="import a log of so many entries too")
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(tried(asked.one)))
        return
    print("| file | size | time | peak memory | ends |\n|---|---|---|---|---|", flush=True)
    # the import first: a process keeps the peak of all it has done
    if asked.lines:
        show(f"log, import of {asked.lines} entries", imported(asked.lines))
    for name in CASES:
        show(name, alone(name))


def show(name: str, found: dict[str, Any]) -> None:
    """One row."""
    # a record and fields are tried as every kind, each with its own answer
    ends = "refused" if found["said"] else "answered" if name.startswith("entry") else "taken"
    print(
        f"| {name} | {found['size_mb']:.1f} MB | {found['seconds']:.1f} s | {found['peak_mb']:.0f} MB | {ends} |",
        flush=True,
    )


if __name__ == "__main__":
    main()
