"""Reading YAML so that what is read is what the person wrote.

YAML has traps that turn a figure into another one without a word: ``1e3`` is read as text, ``12:30``
as 750, ``010`` as 8, ``no`` as false, and the last of two equal keys wins. Here each of them is
refused with its line and the way out. Anchors, aliases, tags and several documents in a file are not
used by any file of ours and are refused too, so a small file cannot grow into a large one.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

import yaml

from rigging.errors import LONGEST_WORD, BadFile, Problem, add_problem

LARGEST_BYTES: Final = 1_000_000
DEEPEST: Final = 30
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_INTEGER = re.compile(r"[+-]?(?:0|[1-9][0-9]*)", re.ASCII)
_DECIMAL = re.compile(r"[+-]?(?:0|[1-9][0-9]*)?\.[0-9]+|[+-]?(?:0|[1-9][0-9]*)\.", re.ASCII)
_TRAPS: Final = (
    (re.compile(r"[+-]?[0-9.]+[eE][+-]?[0-9]+", re.ASCII), "is read as text by some programs: write it out as a plain decimal"),
    (re.compile(r"[+-]?[0-9]+(?::[0-9]+)+(?:\.[0-9]*)?", re.ASCII), "can be read as a base-60 number: put it in quotes"),
    (re.compile(r"[+-]?0[0-9_]+|0[xob][0-9a-fA-F_]+", re.ASCII), "can be read as an octal or hexadecimal number: write it in quotes or without the leading zero"),
    (re.compile(r"[+-]?[0-9][0-9_]*_[0-9_]*(?:\.[0-9_]*)?", re.ASCII), "has an underscore: write the digits alone"),
    (re.compile(r"[+-]?\.?(?:nan|inf|infinity)", re.ASCII | re.IGNORECASE), "is not a finite number"),
    (re.compile(r"yes|no|on|off|y|n", re.IGNORECASE), "is read as true or false by some programs: put it in quotes, or write true or false"),
)  # fmt: skip

Path_ = tuple[str | int, ...]


class Document(NamedTuple):
    """A file as read: its name, the plain value, the line of every path in it, and the SHA-256 of its bytes.

    texts: the digits as typed, by path, of numbers that would print otherwise (``1.10`` is 1.1).
    """

    name: str
    data: Any
    lines: dict[Path_, int]
    sha256: str
    texts: Mapping[Path_, str] = MappingProxyType({})

    def line(self, path: Path_) -> int | None:
        """The line of a path, or of the nearest enclosing one that stands in the file."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def problem(self, path: Path_, message: str) -> Problem:
        """A problem at a path, in the words of the file."""
        return Problem(self.name, self.line(path), show_path(path), message)


def show_path(path: Path_) -> str:
    """``circuits / aileron / cables / left / limits``; list positions count from 1, as people do."""
    return " / ".join(f"no. {part + 1}" if isinstance(part, int) else _short(part) for part in path)


def _short(word: str) -> str:
    return word if len(word) <= LONGEST_WORD else f"{word[:LONGEST_WORD]}…"


def read_bytes(path: Path, largest_bytes: int = LARGEST_BYTES) -> bytes:
    """The bytes of a user's file. Raises BadFile: missing, a directory, unreadable, too large."""
    try:
        if path.is_dir():
            raise BadFile.one(path, "is a folder: name the file in it")
        if path.exists() and not path.is_file():
            raise BadFile.one(path, "is not an ordinary file")
        with path.open("rb") as stream:
            raw = stream.read(largest_bytes + 1)
    except FileNotFoundError:
        raise BadFile.one(path, "is not there: check the name and the folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BadFile.one(path, f"cannot be read ({reason})") from None
    if len(raw) > largest_bytes:
        raise BadFile.one(path, f"is larger than {largest_bytes} bytes: is it the right file?")
    return raw


def read_text(path: Path, raw: bytes | None = None) -> str:
    """The text of a user's file: UTF-8, with or without a byte order mark, any line ends. Raises BadFile."""
    raw = read_bytes(path) if raw is None else raw
    if b"\0" in raw:
        raise BadFile.one(path, "holds binary data: a text file is needed")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # the decoder counts from after a byte order mark
        start = error.start + len(raw) - len(error.object)
        line = raw[:start].count(b"\n") + 1
        raise BadFile.one(path, f"byte {start} is not UTF-8: save the file as UTF-8", line) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def load(path: Path) -> Document:
    """Read one YAML file. Raises BadFile with every problem that could be found in one pass."""
    raw = read_bytes(path)
    return loads(read_text(path, raw), str(path), hashlib.sha256(raw).hexdigest())


def loads(text: str, name: str, sha256: str = "") -> Document:
    """The same for a text; ``name`` stands in the messages."""
    try:
        encoded = text.encode()
    except UnicodeEncodeError:
        raise BadFile.one(name, "holds half a character (a lone surrogate): save the file as UTF-8") from None
    builder = _Builder(text, name)
    data = builder.document()
    if builder.problems:
        raise BadFile(builder.problems)
    return Document(name, data, builder.lines, sha256 or hashlib.sha256(encoded).hexdigest(), builder.texts)


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


class _Builder:
    """Builds plain values from the parser's events; what must not stand in a file of ours becomes a Problem."""

    def __init__(self, text: str, name: str) -> None:
        self.name = name
        self.lines: dict[Path_, int] = {}
        self.texts: dict[Path_, str] = {}
        self.problems: list[Problem] = []
        self.events = yaml.parse(text, Loader=_LOADER)

    def document(self) -> Any:
        try:
            next(self.events)  # stream start
            event = next(self.events)
            if isinstance(event, yaml.StreamEndEvent):
                raise BadFile.one(self.name, "is empty")
            value = self.value(next(self.events), ())
            next(self.events)  # document end
            event = next(self.events)
            if not isinstance(event, yaml.StreamEndEvent):
                self.note(event, (), "a second document starts here: keep one document in a file")
        except yaml.MarkedYAMLError as error:
            line = error.problem_mark.line + 1 if error.problem_mark else None
            raise BadFile.one(self.name, f"is not YAML: {error.problem or error}", line) from None
        except yaml.YAMLError as error:
            raise BadFile.one(self.name, f"is not YAML: {' '.join(str(error).split())}") from None
        return value

    def note(self, event: Any, path: Path_, message: str) -> None:
        add_problem(self.problems, Problem(self.name, _line(event), show_path(path), message))

    def value(self, event: Any, path: Path_) -> Any:
        self.lines[path] = _line(event)
        if len(path) > DEEPEST:
            raise BadFile.one(self.name, f"is nested more than {DEEPEST} deep", self.lines[path], show_path(path[:3]))
        if isinstance(event, yaml.AliasEvent) or event.anchor:
            self.note(event, path, "anchors and aliases (& and *) are not used here: write the value out")
        if isinstance(event, yaml.AliasEvent):
            return None
        if event.tag and event.tag != "!":
            self.note(event, path, f"the tag {event.tag} is not used here")
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event, path) if event.implicit[0] else event.value
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Any] = []
            while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
                items.append(self.value(event, (*path, len(items))))
            return items
        return self.mapping(path)

    def mapping(self, path: Path_) -> dict[str, Any]:
        values: dict[str, Any] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            if not isinstance(event, yaml.ScalarEvent):
                self.note(event, path, "a key must be a plain word")
                # read over it, one level down, so that keys within keys end at DEEPEST too
                below = (*path, "key")
                self.value(event, below)
                self.value(next(self.events), below)
                continue
            key, line = event.value, _line(event)
            if event.anchor:
                self.note(event, path, "anchors and aliases (& and *) are not used here: write the value out")
            below = (*path, key)
            if key in values:
                first = self.lines[below]
                self.note(event, below, f"stands twice (first in line {first}): keep one")
                self.value(next(self.events), (*path, f"{key} again"))
                continue
            values[key] = self.value(next(self.events), below)
            self.lines[below] = line
        return values

    def typed(self, text: str, value: float, path: Path_) -> float:
        if str(value) != text:
            self.texts[path] = text
        return value

    def scalar(self, event: Any, path: Path_) -> Any:
        text = event.value
        if text in ("", "~", "null"):
            return None
        if text in ("true", "false"):
            return text == "true"
        if _INTEGER.fullmatch(text) and len(text) < 19:
            return self.typed(text, int(text), path)
        if _DECIMAL.fullmatch(text):
            if not math.isfinite(float(text)):
                self.note(event, path, "the number is too large")
            return self.typed(text, float(text), path)
        for trap, why in _TRAPS:
            if trap.fullmatch(text):
                self.note(event, path, f"'{text}' {why}")
                break
        return text
