"""Files that must not exist yet: all of them are written, or none, and nothing half."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from rigging.errors import BadFile, UsageError


@contextmanager
def new_file(path: Path) -> Iterator[TextIO]:
    """A new file to write to as the text comes; gone again where that does not end well.

    Raises UsageError where it exists, BadFile where it cannot be written.
    """
    _must_be_new(path)
    made = False
    try:
        with path.open("x", encoding="utf-8") as stream:
            made = True
            yield stream
    except BaseException as error:
        # an interruption too leaves nothing half-written behind
        if made:
            path.unlink(missing_ok=True)
        if isinstance(error, OSError) and error.filename in (None, str(path)):
            raise BadFile.one(path, f"cannot be written ({error.strerror}): nothing was written") from None
        raise


def write_new(files: Mapping[Path, str]) -> list[Path]:
    """Write files that must not exist yet; none is written where one is in the way.

    Raises UsageError where a file exists, BadFile where one cannot be written.
    """
    for path in files:
        _must_be_new(path)
    made: list[Path] = []
    try:
        for path, text in files.items():
            with new_file(path) as stream:
                stream.write(text)
            made.append(path)
    except BaseException:
        for written in made:
            written.unlink(missing_ok=True)
        raise
    return made


def _must_be_new(path: Path) -> None:
    if path.exists():
        raise UsageError(f"{path} exists: choose another name, nothing was written")
