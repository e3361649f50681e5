"""Commands run inside this process, for audits that watch or change what they read."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-11-25"
REEDLING, QUILL, HARBOUR = (f"examples/{name}" for name in ("reedling", "quill", "harbour"))
CARD = f"--card {REEDLING}/card-0417.yaml --riser 2 --cable 5/32 --on {DAY}"

WITHOUT_A_LOG = (
    "cable 1/8", "cable 3/16 --material stainless", "cable 1/8 --construction 1x19", "cable 3/32 --construction 7x7",
    "cable 11/32 --material stainless", "cable 1/32",
    'limits 1/8 --at 54F --spec "30..40 lbf @ 70F" --airframe spruce',
    'limits 1/8 --at 54F --spec "30..40 lbf @ 70F" --airframe aluminium --material stainless --reading 36lbf',
    'limits 3/32 --at 85F --construction 7x7 --spec "14 +-4 lbf @ 70F" --airframe "steel tube"',
    "limits 1/8 --at 54F", "limits 5/32 --at 70F", "limits 3/16 --at 80F", "limits 1/4 --at 90F",
    f"limits 1/8 --at 54F --chart {HARBOUR}/rudder-chart.yaml --for rudder",
    f"pounds 30 31 29 {CARD}", f'dial 40lbf {CARD} --band "35..45 lbf"',
    f"check {REEDLING}/sheet.yaml {REEDLING}/readings.csv --on {DAY}",
    f"check {QUILL}/sheet.yaml {QUILL}/readings.csv --on {DAY}",
    f"check {HARBOUR}/sheet.yaml {HARBOUR}/readings.csv --on {DAY}",
    f'plan {REEDLING}/sheet.yaml aileron {REEDLING}/droop.csv --neutral "left bellcrank=1.4deg" --on {DAY}',
    f"envelope {REEDLING}/sheet.yaml", f"envelope {QUILL}/sheet.yaml", f"envelope {HARBOUR}/sheet.yaml",
    f"settle {REEDLING}/sheet.yaml elevator/up --readings {REEDLING}/settling.csv",
    f"loads {REEDLING}/sheet.yaml aileron --at 54F", f"loads {REEDLING}/sheet.yaml elevator",
    f"loads {HARBOUR}/sheet.yaml aileron --tension 36lbf",
    'friction 5lbf 2lbf',
    f'weigh {CARD} --band "30..60 lbf" --at "30 lbf: 10 10 10" --at "45 lbf: 17 17 18" --at "60 lbf: 26 26 26"',
    'steady --air 54F --air-was 70F --read "cap 08:00 66F" --read "cap 08:20 60F" --part fitting',
    'cut --size 1/8 --pin-to-pin "14 ft 3 in" --turnbuckle-length "8 in" --thread 1/4-28 --threads-showing 1 --tension 35lbf --at 60F'
    " --airframe spruce --coldest -20F --hottest 110F --history new",
    'cut --size 5/32 --pin-to-pin "9 ft" --turnbuckle-length "8 in" --thread 5/16-24 --tension 60lbf --at 70F'
    " --airframe aluminium --coldest 0F --hottest 110F --history in-service",
    f"sheet check {REEDLING}/sheet.yaml", f"sheet check {HARBOUR}/sheet.yaml",
)  # fmt: skip
"""A command line of every command that needs no log; together they ask for every table that any of them asks for."""


SPAN = f"--sheet {REEDLING}/sheet.yaml --run aileron/left"
WITHOUT_A_TENSIOMETER = (
    f'side-pull --span 60in --pull "1.7 lbf" --deflection "0.6 in" --pull "2.9 lbf" --deflection "0.9 in" {SPAN}',
    "side-pull --span 60in --expect 40lbf --cable 1/8 --length 14ft",
    "pluck --span 72in --cable 1/8 --mode 1=16.5Hz --mode 2=33.2Hz --mode 3=50.3Hz",
    'clamp --deflection "0.06 in" --anvils "3 in" --cable 1/8 --length "4 ft" --reading 20lbf',
    'agree "card 36 +-1.2 lbf" "side pull 34 +-4 lbf" "pluck 37.1 +-3 lbf"',
)
"""The commands of a bench without a tensiometer."""

REFUSED = (
    'limits 1/8 --at 170F --spec "30..40 lbf @ 70F" --airframe spruce',
    'limits 1/8 --at 0F --spec "30..40 lbf @ 70F" --airframe aluminium',
    'limits 1/8 --at 100F --spec "30..40 lbf @ 70F" --airframe carbon',
    f"limits 1/8 --at 150F --chart {HARBOUR}/rudder-chart.yaml --for rudder",
    f"pounds 99 {CARD}", f"dial 400lbf {CARD}", f'dial 40lbf {CARD} --band "39.9..40.1 lbf"',
    f"loads {REEDLING}/sheet.yaml rudder", f"loads {REEDLING}/sheet.yaml aileron --at 170F",
    'cut --size 1/8 --pin-to-pin "14 in" --turnbuckle-length "20 in" --thread 1/4-28 --tension 35lbf --at 60F --airframe spruce',
    'cut --size 1/8 --pin-to-pin "14 ft" --turnbuckle-length "8 in" --thread 1/4-28 --tension 1500lbf --at 60F --airframe spruce',
    'cut --size 1/8 --pin-to-pin "14 ft" --turnbuckle-length "8 in" --thread 1/4-28 --threads-showing 3 --tension 35lbf --at 60F'
    " --airframe aluminium --coldest -60F --hottest 150F",
    f"envelope {REEDLING}/sheet.yaml aileron --set 3000lbf", f"envelope {REEDLING}/sheet.yaml aileron --set 5lbf",
    f"envelope {HARBOUR}/sheet.yaml trim --limit 60lbf --pilot-force 20lbf",
    'steady --air 54F --air-was 70F --within 0F',
    "pluck --span 20in --cable 1/8 --mode 1=16.5Hz", "pluck --span 50in --cable 1/8 --mode 1=16.5Hz",
    'side-pull --span 60in --pull "30 lbf" --deflection "20 in" --cable 1/8', 'clamp --deflection "2 in" --anvils "3 in" --cable 1/8 --length "4 ft"',
)  # fmt: skip
"""Questions without an answer, or with a word to each: what is said then must be in the units asked for too."""


class Ran(NamedTuple):
    """Exit code and both streams of one command."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The document on stdout; None where there is none."""
        return json.loads(self.out) if self.out.strip() else None


def words(line: str) -> list[str]:
    """A command line as its words."""
    return shlex.split(line)


def run(line: str | list[str], *more: str, folder: Path = ROOT) -> Ran:
    """One command in this process, from the checkout unless ``folder`` says otherwise."""
    from rigging.cli.main import app
    from rigging.report.text.console import console

    # bytes go to the buffer below the text, as ``put`` writes them
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in "oe")
    before, stdin, plain = Path.cwd(), sys.stdin, os.environ.get("RIGGING_PLAIN")
    os.chdir(folder)
    sys.stdin = io.StringIO()
    console.cache_clear()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = app(args=[*(words(line) if isinstance(line, str) else line), *more], standalone_mode=False)
    finally:
        console.cache_clear()
        sys.stdin = stdin
        # --plain leaves it set for the rest of a process
        if plain is None:
            os.environ.pop("RIGGING_PLAIN", None)
        else:
            os.environ["RIGGING_PLAIN"] = plain
        os.chdir(before)
    texts = [stream.buffer.getvalue().decode() for stream in (out, err)]  # type: ignore[attr-defined]
    return Ran(code if isinstance(code, int) else 0, *texts)


SHEET = """\
rig_sheet: 1
aircraft: {name: Plover, registration: none, kind: sailplane}
reference_temperature: 70F
temperatures: {coldest: 50F, hottest: 100F}
airframe: {material: aluminium}
tensiometers: [card.yaml]
circuits:
  rudder:
    sectors: {pedals: {arm: 5 in}, horn: {arm: 5 in}}
    hold: [pedals]
    pilot: {sector: pedals, lever: 10 in, surfaces: [horn], control: rudder, travel_plus: 40 deg, travel_minus: 40 deg}
    cables:
      left: {size: 1/8, length: 12 ft, from: pedals +, to: horn +, limits: 30..80 lbf @ 70F, limits_source: Plover notes,
             history: in-service, turnbuckle: {thread: 1/4-28, threads_showing: [1, 1]},
             pulleys: [{wrap: 30 deg, at: 5 ft, part: MS20220-2}], fairleads: [{bend: 2 deg, at: 8 ft}]}
      right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -, limits: 30..80 lbf @ 70F, limits_source: Plover notes,
              history: in-service, turnbuckle: {thread: 1/4-28, threads_showing: [1, 1]}}
    surfaces:
      rudder: {sector: horn, travel: {left: 22..26 deg, right: 22..26 deg}, neutral: 0 +-1 deg,
               moves: {left pedal: left, right pedal: right}, source: Plover notes}
    friction_limit: 6 lbf
    friction_source: Plover notes
    bridle: {name: yaw servo bridle, limits: 12..20 lbf @ 70F, source: Plover notes}
"""
PLOVER_CARD = """\
tensiometer_card: 1
serial: P-3
calibrated: 2026-03-01
due: 2027-03-01
accuracy: 2%
source: bench of the Plover works
columns:
  - {riser: 1, cable: 1/8, points: [[10, 10], [60, 60], [90, 90]]}
  - {riser: 1, cable: 3/32, points: [[10, 10], [60, 60], [90, 90]]}
"""
READINGS = "circuit,run,riser,dial,structure\n" + "".join(
    f"rudder,{r},1,55,70F\n" for r in ("left", "right") for _ in "123"
)
SETTLED = "time,circuit,run,riser,dial,structure\n" + "".join(
    f"2026-{month:02}-{day:02}T10:00,rudder,left,1,55,70F\n" for month in range(4, 12) for day in (1, 6, 11, 16, 21, 26)
)
PLOVER_LINES = (
    f"check sheet.yaml readings.csv --on {DAY}", f"check sheet.yaml away.csv --on {DAY}",
    "envelope sheet.yaml rudder", "loads sheet.yaml rudder", "settle sheet.yaml rudder/left --readings settled.csv",
    f"plan sheet.yaml rudder readings.csv --on {DAY}",
)  # fmt: skip
"""Commands that accept the Plover as it is: everything that may accept is there to be taken back."""


def plover(folder: Path, *changes: tuple[str, str]) -> Path:
    """A small aircraft of which everything is in limits, with changes of its sheet (or its card)."""
    sheet, card = SHEET, PLOVER_CARD
    for old, new in changes:
        assert (old in sheet) != (old in card), f"'{old}' must stand in one of the files"
        sheet, card = sheet.replace(old, new), card.replace(old, new)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "sheet.yaml").write_text(sheet, encoding="utf-8")
    (folder / "card.yaml").write_text(card, encoding="utf-8")
    (folder / "readings.csv").write_text(READINGS, encoding="utf-8")
    (folder / "away.csv").write_text(READINGS.replace("70F", "78F"), encoding="utf-8")
    (folder / "settled.csv").write_text(SETTLED, encoding="utf-8")
    return folder


UNTOLD = re.compile(r"source|basis|assumption|sha256|note|^date$")


def nodes(document: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Every mapping of a document with its place."""
    if isinstance(document, dict):
        yield path, document
        for key, value in document.items():
            yield from nodes(value, (*path, str(key)))
    elif isinstance(document, list):
        for i, value in enumerate(document):
            yield from nodes(value, (*path, str(i)))


def figures_of(node: Any) -> Any:
    """A node without what only tells where it comes from."""
    if isinstance(node, dict):
        return {key: figures_of(value) for key, value in node.items() if not UNTOLD.search(key)}
    return [figures_of(v) for v in node] if isinstance(node, list) else node


def accepts(node: dict[str, Any]) -> bool:
    """Whether a node of a JSON answer says that something may be accepted."""
    usable = [node[key] for key in ("usable_for_sign_off", "limits_usable_for_sign_off") if key in node]
    if usable:
        return any(usable)
    return node.get("verdict") in ("in", "met") or (node.get("met") is True and not node.get("findings"))
