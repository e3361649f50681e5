"""A commented sheet to start from, its card, and the JSON Schema of the sheet."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

from rigging.errors import BadFile
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
