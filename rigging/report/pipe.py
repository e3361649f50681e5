"""How data leaves on stdout: always UTF-8, and quietly where the reader of a pipe leaves early, as ``head`` does."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO


def hush() -> None:
    """Send the rest of stdout nowhere, so that nothing more fails and Python does not complain at exit."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def put(text: str) -> None:
    """Data on stdout as UTF-8, whatever the terminal's own encoding; a reader who has seen enough is no error."""
    try:
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode())
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        hush()


@contextmanager
def stdout() -> Iterator[TextIO]:
    """Stdout for data too long to hold: UTF-8, written as it comes; a reader who has seen enough is no error."""
    sys.stdout.flush()
    out = io.TextIOWrapper(sys.stdout.buffer, encoding="utf-8", newline="\n")
    try:
        yield out
        out.flush()
    except BrokenPipeError:
        hush()
    finally:
        out.detach()
