"""Fields of a log entry from flags: ``--half-turns 2``, ``--ways "up=20 deg"``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, get_args, get_origin

from rigging.errors import UsageError, nearest

if TYPE_CHECKING:
    import msgspec

    from rigging.log.entry import Entry
    from rigging.log.kinds import Kind

YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def from_flags(kind: Kind, words: Sequence[str]) -> dict[str, Any]:
    """The given of an entry from ``--field value`` pairs. Raises UsageError for an unknown or empty flag."""
    hints = hints_of(kind.struct)
    given: dict[str, Any] = {}
    rest = list(words)
    while rest:
        flag, sign, value = rest.pop(0).partition("=")
        if not flag.startswith("--"):
            raise UsageError(f"'{flag}' is not a flag of {kind.name}: write it like {kind.example}")
        key = flag[2:].replace("-", "_")
        if key not in hints:
            known = [f"--{name.replace('_', '-')}" for name in hints]
            raise UsageError(f"{kind.name} has no flag {flag}{nearest(flag, known)}")
        if not sign:
            if not rest:
                raise UsageError(f"{flag} needs a value")
            value = rest.pop(0)
        _put(given, key, hints[key], value, flag)
    return given


def instead_of(wrong: Entry, changes: Sequence[str]) -> dict[str, Any]:
    """What holds instead of an entry: its own fields, but for those given as ``name=value``.

    Raises UsageError for a field that an entry of its kind does not have.
    """
    from rigging.log.kinds import CORRECTION, KINDS
    from rigging.units import with_article

    if wrong.kind not in KINDS or wrong.kind == CORRECTION:
        return {}  # which is refused by the rule for every correction
    hints, old = hints_of(KINDS[wrong.kind].struct), wrong.payload["given"]
    new: dict[str, Any] = {}
    for change in changes:
        name, _, value = (part.strip() for part in change.partition("="))
        key = name.replace("-", "_").replace(" ", "_")
        if key not in hints:
            raise UsageError(
                f"--instead {change}: entry {wrong.sequence} is {with_article(wrong.kind)}, which has no field '{name}'{nearest(key, hints)}"
            )
        _put(new, key, hints[key], value, f"--instead {key}")
    for key, value in new.items():
        if isinstance(value, dict) and isinstance(old.get(key), dict):
            new[key] = {**old[key], **value}
    return {**old, **new}


def hints_of(struct: type[msgspec.Struct]) -> dict[str, Any]:
    """The kind of every field, by the name it has in a file."""
    from rigging.schema import fields

    return {key: hint for key, (_, hint, _) in fields(struct).items()}


def _put(given: dict[str, Any], key: str, hint: Any, value: str, flag: str) -> None:
    inner = inner_of(hint)
    if get_origin(inner) is not dict:
        if key in given:
            raise UsageError(f"{flag} stands twice: keep one")
        given[key] = typed(inner, value)
        return
    name, sign, way = (part.strip() for part in value.partition("="))
    if not sign or not name:
        raise UsageError(f"{flag} {value}: write it like name=value, once for each name")
    below = get_args(inner)[1]
    if below is Any:
        # fields of another entry, which are read once its kind is known
        given.setdefault(key, []).append(value)
        return
    held = given.setdefault(key, {})
    if get_origin(below) is dict:
        second, sign, last = (part.strip() for part in way.partition("="))
        if not sign:
            raise UsageError(f"{flag} {value}: write it like surface=input=way")
        _put_once(held.setdefault(name, {}), second, last, f"{flag} {name}={second}")
    else:
        _put_once(held, name, typed(below, way), f"{flag} {name}")


def _put_once(held: dict[str, Any], name: str, value: Any, said: str) -> None:
    if name in held:
        raise UsageError(f"{said} stands twice: keep one")
    held[name] = value


def inner_of(hint: Any) -> Any:
    """The kind of a field without the ``| None`` of an optional one."""
    import types
    from typing import Union

    if get_origin(hint) in (Union, types.UnionType):
        return next(h for h in get_args(hint) if h is not type(None))
    return hint


def typed(hint: Any, text: str) -> Any:
    """A flag's text as the plain value a file would hold; a text that is none is left for the schema to refuse."""
    import re

    origin = get_origin(hint)
    if hint is bool:
        return YES_NO.get(text.strip().lower(), text)
    if hint is int:
        return int(text) if re.fullmatch(r"[+-]?\d{1,18}", text.strip(), re.ASCII) else text
    if hint is float:
        return float(text) if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)", text.strip(), re.ASCII) else text
    if origin in (list, tuple):
        inner = get_args(hint)[0]
        # 31,5 is a decimal comma, which is refused further on; two counts may be written 2,2
        counts = inner is not str and not re.search(r"\s", text.strip())
        return [typed(inner, word) for word in re.split("," if counts else r",?\s+", text.strip())]
    return text
