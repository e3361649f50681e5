"""A writer in a process of its own: ``python writer.py PLACE NAME COUNT``; begins when a line comes in on stdin."""

import random
import sys
import time

from rigging.cli.options import CLOCK
from rigging.log.entry import Draft
from rigging.log.store import open_log


def main(place: str, name: str, count: str) -> None:
    with open_log(place, CLOCK) as log:
        log.head()
        print("ready", flush=True)
        sys.stdin.readline()
        for n in range(1, int(count) + 1):
            log.append(
                [Draft(name, "note", "Reedling 3", "", {"n": n, "text": "wiped and looked at"})],
                program="test",
                tables={},
            )
            # SQLite lets whoever asks at once come first: without a pause the writers would take turns of hundreds
            time.sleep(random.uniform(0, 0.003))


if __name__ == "__main__":
    main(*sys.argv[1:])
