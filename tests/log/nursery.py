"""Starts writers that are to be killed: a warm process that forks, so that 200 of them do not import everything 200 times.

A line ``PLACE<tab>FILE`` on stdin starts one, whose number is printed; it opens the log, making it where there is none,
and appends one to five entries at a time until it dies. What ``append`` has returned it writes to FILE, a line
``first last token`` for each call, and ``open`` once the log is open. A line ``reap`` waits for the last one.
"""

import contextlib
import os
import random
import sys

import sqlalchemy
import sqlalchemy.dialects.sqlite  # noqa: F401

with contextlib.suppress(ImportError):
    import psycopg  # noqa: F401
from rigging.cli.options import CLOCK
from rigging.log.entry import Draft
from rigging.log.store import open_log


def write(place: str, acknowledged: str) -> None:
    random.seed()
    out = os.open(acknowledged, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with open_log(place, CLOCK, create=True) as log:
        os.write(out, b"open\n")
        while True:
            token = random.randbytes(8).hex()
            size = random.randint(1, 5)
            text = "x" * random.choice((10, 500, 20_000))
            drafts = [
                Draft("A. Wing", "note", "Reedling 3", "", {"token": token, "part": i, "of": size, "text": text})
                for i in range(size)
            ]
            written = log.append(drafts, program="test", tables={})
            os.write(out, f"{written[0].sequence} {written[-1].sequence} {token}\n".encode())


def main() -> None:
    child = 0
    print("ready", flush=True)
    for line in sys.stdin:
        if line == "reap\n":
            _, status = os.waitpid(child, 0)
            print(status, flush=True)
            continue
        child = os.fork()
        if not child:
            try:
                write(*line.rstrip("\n").split("\t"))
            finally:
                os._exit(1)
        print(child, flush=True)


if __name__ == "__main__":
    main()
