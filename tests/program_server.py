"""The program for tests: a small process that has imported it, and is forked for every run.

Most of the time of a run is its imports. A fork of the process that holds the tests would carry all of their memory.
Each line on stdin is a run (arguments, folder, environment, and files for the three streams); its wait status is the answer.
"""

from __future__ import annotations

import gc
import json
import os
import sys
import time
import traceback
from typing import Any, NoReturn

import numpy  # noqa: F401 - so that no child has to

from rigging.cli.main import main


def be_the_program(job: dict[str, Any]) -> NoReturn:
    """In a child: what a fresh interpreter would find, then the program itself."""
    code = 70
    try:
        for number, name in enumerate(job["streams"]):
            os.dup2(os.open(name, os.O_RDWR), number)
        os.environ.clear()
        os.environ.update(job["env"])
        time.tzset()
        sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stdout, sys.stderr = (open(n, "w", encoding="utf-8", closefd=False) for n in (1, 2))  # noqa: SIM115
        os.chdir(job["cwd"])
        sys.argv = ["rigging", *job["args"]]
        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    finally:
        os._exit(code)


if __name__ == "__main__":
    gc.freeze()
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            be_the_program(json.loads(line))
        print(os.waitpid(child, 0)[1], flush=True)
