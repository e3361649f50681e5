"""The files a verdict went by, kept as they were, and the sheet rebuilt from them years later."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.sheet.load import load_rig
from rigging.sheet.rig import Rig
from rigging.yamlfile import read_bytes

_DEEP: Final = 8  # folders above the sheet in which its cards may lie


class Kept(msgspec.Struct, frozen=True):
    """The text of every file by its name as the sheet writes it; sheet: which of them is the sheet."""

    sheet: str
    texts: dict[str, str]

    @property
    def hashes(self) -> dict[str, str]:
        """SHA-256 of each file's bytes, by name."""
        return {name: sha256_of(text) for name, text in self.texts.items()}


def sha256_of(text: str) -> str:
    """SHA-256 of a text's UTF-8 bytes, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def keep(rig: Rig) -> Kept:
    """The sheet, its cards and its chart as they lie on disk.

    Raises Refusal where one has changed since the sheet was read, or is named by an absolute path.
    """
    path = Path(rig.path)
    names = [*rig.file.tensiometers, *([rig.file.chart] if rig.file.chart else [])]
    texts = {path.name: _text(path, rig.sha256)}
    known = {card.file: card.sha256 for card in rig.cards.values()}
    for name in names:
        if Path(name).is_absolute() or PurePosixPath(name).parts.count("..") >= _DEEP:
            raise Refusal(
                f"{path}: {name} is named by a path that holds on this machine alone: name it relative to the sheet, "
                "so that the record can be recomputed elsewhere"
            )
        beside = path.parent / name
        expected = known.get(str(beside), rig.chart.sha256 if rig.chart and name == rig.file.chart else None)
        texts[name] = _text(beside, expected)
    return Kept(path.name, texts)


def _text(path: Path, expected: str | None) -> str:
    raw = read_bytes(path)
    if expected is not None and hashlib.sha256(raw).hexdigest() != expected:
        raise Refusal(f"{path}: has changed while this ran: run it again")
    return raw.decode("utf-8")


def rebuild(sheet: str, texts: Mapping[str, str]) -> Rig:
    """The rig of kept files.

    Raises BadFile where they are no sheet to this version of the program, Refusal for a name that leads out or names no
    file, and where the sheet is not among them.
    """
    if sheet not in texts:
        # any other name could be that of a file of this machine
        raise Refusal(f"the kept sheet '{sheet}' is not in the record")
    with tempfile.TemporaryDirectory(prefix="rigging-kept-") as folder:
        root = Path(folder).resolve()
        place = root.joinpath(*["kept"] * _DEEP)
        for name, text in texts.items():
            try:
                path = (place / name).resolve()
                if not path.is_relative_to(root):
                    raise Refusal(f"the kept file '{name}' lies outside the record")
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(text.encode())
            except (OSError, ValueError) as error:
                raise Refusal(f"the kept file '{name:.80}' cannot be laid out: its name is none ({error})") from None
        place.mkdir(parents=True, exist_ok=True)
        return load_rig(place / sheet)
