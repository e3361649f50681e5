"""A commented sheet to start from, its card, and the JSON Schema of the sheet."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from rigging.errors import BadFile, UsageError
from rigging.measure.card import load_card
from rigging.schema import json_schema
from rigging.sheet.schema import SheetFile

CARD_NAME: Final = "card-own.yaml"
_HERE: Final = Path(__file__).resolve().parent


def sheet_text() -> str:
    """The commented sheet."""
    return (_HERE / "new-sheet.yaml").read_text(encoding="utf-8")


def card_text() -> str:
    """The commented card beside it."""
    return (_HERE / "new-card.yaml").read_text(encoding="utf-8")


def schema_text() -> str:
    """The JSON Schema of a rig sheet."""
    return json.dumps(json_schema(SheetFile, "rig sheet"), indent=2) + "\n"


def is_card(path: Path) -> bool:
    """Whether a card lies there already that a sheet can go by."""
    try:
        load_card(path)
    except BadFile:
        return False
    return True


def write_new(files: Mapping[Path, str]) -> list[Path]:
    """Write files that must not exist yet; none is written where one is in the way.

    Raises UsageError where a file exists, BadFile where one cannot be written.
    """
    for path in files:
        if path.exists():
            raise UsageError(f"{path} exists: choose another name, nothing was written")
    made: list[Path] = []
    try:
        for path, text in files.items():
            with path.open("x", encoding="utf-8") as stream:
                made.append(path)
                stream.write(text)
    except BaseException as error:
        # an interruption too leaves nothing half-written behind
        for written in made:
            written.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise BadFile.one(path, f"cannot be written ({error.strerror}): nothing was written") from None
        raise
    return made
