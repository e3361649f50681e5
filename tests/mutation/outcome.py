"""What a run found: the share noticed of every part, every survivor with its reason, and reasons that no line has any more."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
NORMAL_975 = 1.959963984540054


def interval(killed: int, of: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share."""
    z2, share = NORMAL_975**2, killed / of
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = NORMAL_975 * math.sqrt(share * (1 - share) / of + z2 / (4 * of * of)) / (1 + z2 / of)
    return middle - half, middle + half


def known_survivors() -> Callable[[dict[str, Any]], dict[str, str] | None]:
    """What survivors.yaml says about a result: its kind and reason, None where it stands not there."""
    known = yaml.safe_load((HERE / "survivors.yaml").read_text(encoding="utf-8"))
    single = {(s["file"], s["was"], s["now"]): s for s in known["survivors"]}

    def look_up(result: dict[str, Any]) -> dict[str, str] | None:
        for rule in known["rules"]:
            if rule["was"] in result["was"] and rule["now"] in result["now"]:
                return dict(rule)
        return single.get((result["file"], result["was"], result["now"]))

    return look_up


def entries_without_a_line() -> list[dict[str, str]]:
    """Entries of survivors.yaml whose old line stands in its module no more."""
    entries = yaml.safe_load((HERE / "survivors.yaml").read_text(encoding="utf-8"))["survivors"]
    flat: dict[str, str] = {}
    for file in {entry["file"] for entry in entries}:
        text = (ROOT / file).read_text(encoding="utf-8") if (ROOT / file).exists() else ""
        flat[file] = " ".join(line.strip() for line in text.splitlines())
    return [entry for entry in entries if entry["was"] not in flat[entry["file"]]]


def report(results: list[dict[str, Any]]) -> int:
    """Print the table and the survivors; how many of these have no reason."""
    known = known_survivors()
    parts: dict[str, Counter[str]] = defaultdict(Counter)
    for result in results:
        noticed = result["outcome"] in ("killed", "timeout")
        said = None if noticed else known(result)
        for part in (result["file"].removeprefix("rigging/"), result["file"].split("/")[1], "all"):
            parts[part].update(mutants=1, killed=noticed, equal=said is not None and said["kind"] == "equal")
    print(
        "| part | mutants | killed | score [%] | 95 % interval | equal | score without equal ones [%] | 95 % interval |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for part, seen in sorted(parts.items(), key=lambda item: (item[0] == "all", item[0])):
        killed, of = seen["killed"], seen["mutants"]
        cells = [
            f"{part} | {of} | {killed} | {_share(killed, of)}",
            str(seen["equal"]),
            _share(killed, of - seen["equal"]),
        ]
        print(f"| {' | '.join(cells)} |")
    without = 0
    for result in sorted(results, key=lambda r: (r["file"], r["line"])):
        if result["outcome"] in ("killed", "timeout"):
            continue
        said = known(result)
        without += said is None
        print(f"\n{result['file']}:{result['line']} {result['outcome']} {result['operator']}, {result['tests']} tests")
        print(f"  - {result['was']}\n  + {result['now']}")
        print(f"  {said['kind']}: {said['reason']}" if said else "  NO REASON GIVEN")
    late = sum(result["outcome"] == "timeout" for result in results)
    print(f"\n{late} ended by their time limit; {without} survivors without a reason")
    for entry in entries_without_a_line():
        print(f"survivors.yaml: no longer in {entry['file']}: {entry['was']}")
    return without


def _share(killed: int, of: int) -> str:
    """``86.7 | 83.2 to 89.5``."""
    if not of:
        return "- | -"
    low, high = interval(killed, of)
    return f"{100 * killed / of:.1f} | {100 * low:.1f} to {100 * high:.1f}"
