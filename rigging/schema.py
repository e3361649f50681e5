"""From plain values to frozen structs, collecting every problem on the way; and the JSON Schema of the same.

One struct says it all: its field names (``length_in``), the key in the file (``length``), the kind of
quantity (``Length``) and the docstring. Texts such as ``14 ft`` become floats in the program's unit.
"""

from __future__ import annotations

import datetime as dt
import types
from collections.abc import Callable
from enum import Enum
from functools import cache
from typing import Annotated, Any, Final, Literal, NamedTuple, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from rigging.bands import AngleBand, Band, parse_angle_band, parse_band
from rigging.errors import BadFile, Problem, RiggingError, add_problem, nearest
from rigging.units import parse, parse_size, with_article
from rigging.yamlfile import Document, Path_

T = TypeVar("T")

LARGEST_COUNT: Final = 10**9
LARGEST_NUMBER: Final = 1e300


class Text(NamedTuple):
    """How a leaf is written in a file: a name, its parser, an example."""

    name: str
    parser: Callable[[Any], Any]
    example: str


def _quantity(name: str, example: str) -> Text:
    return Text(name, lambda text: parse(name, text), example)


def _positive(name: str, example: str, floor: float = 0.0, ceiling: float = float("inf")) -> Text:
    def parser(text: Any) -> float:
        value = parse(name, text)
        if value <= floor:
            raise RiggingError(f"'{text}' must be more than zero")
        if value > ceiling:
            raise RiggingError(f"'{text}' is beyond anything in a light aircraft: check the unit")
        return value

    return Text(name, parser, example)


def _from_zero(name: str, example: str, ceiling: float = float("inf")) -> Text:
    def parser(text: Any) -> float:
        value = parse(name, text)
        if value < 0:
            raise RiggingError(f"'{text}' cannot be below zero")
        if value > ceiling:
            raise RiggingError(f"'{text}' is beyond anything in a light aircraft: check the unit")
        return value

    return Text(name, parser, example)


# Ceilings catch a slipped unit (14 m typed for 14 in is still fine; 14 km is not).
Temperature = Annotated[float, _quantity("temperature", "54F")]
TemperatureDifference = Annotated[float, _positive("temperature difference", "2F", ceiling=200.0)]
Force = Annotated[float, _positive("force", "40 lbf", ceiling=1e6)]
Length = Annotated[float, _positive("length", "14 ft", ceiling=12 * 1000.0)]
Offset = Annotated[float, _quantity("length", "-0.02 in")]
Angle = Annotated[float, _quantity("angle", "90 deg")]
PositiveAngle = Annotated[float, _positive("angle", "20 deg", ceiling=360.0)]
Expansion = Annotated[float, _quantity("expansion", "23.6e-6/C")]
Share = Annotated[float, _positive("share", "2%", ceiling=1.0)]
Time = Annotated[float, _positive("time", "20 h", ceiling=24 * 3650.0)]
Rate = Annotated[float, _positive("spring rate", "5 lbf/in", ceiling=1e5)]
Give = Annotated[float, _positive("give", "0.0005 in/lbf", ceiling=1.0)]
Size = Annotated[str, Text("cable size", parse_size, "1/8")]
TensionBand = Annotated[Band, Text("tension band", parse_band, "30..40 lbf @ 70F")]
AngleRange = Annotated[AngleBand, Text("angle band", parse_angle_band, "18..22 deg")]
# What is looked for and may well not be there: nothing is an answer too.
AngleFromZero = Annotated[float, _from_zero("angle", "0.5 deg", ceiling=360.0)]
LengthFromZero = Annotated[float, _from_zero("length", "4 in", ceiling=12 * 1000.0)]
ShareFromZero = Annotated[float, _from_zero("share", "10%", ceiling=1.0)]


def read(document: Document, kind: type[T]) -> T:
    """The document as a ``kind``. Raises BadFile with all problems, root causes first in the file."""
    problems: list[Problem] = []
    value = _convert(document, kind, document.data, (), problems)
    if problems:
        raise BadFile(problems)
    return value  # type: ignore[no-any-return]


def convert(kind: Any, value: Any) -> Any:
    """One value as a ``kind``. Raises BadFile where it is none."""
    problems: list[Problem] = []
    found = _convert(Document("", value, {}, ""), kind, value, (), problems)
    if problems:
        raise BadFile(problems)
    return found


_MISSING: Final = object()
_MEANT: Final = {"yes": "true", "y": "true", "true": "true", "no": "false", "n": "false", "false": "false"}


@cache
def fields(kind: type) -> dict[str, tuple[str, Any, bool]]:
    """Of every field, by its key in a file: its name here, its kind, and whether it is required."""
    hints = get_type_hints(kind, include_extras=True)
    return {
        f.encode_name: (f.name, hints[f.name], f.required) for f in msgspec.structs.fields(kind)
    }  # fmt: skip


def _convert(document: Document, kind: Any, value: Any, path: Path_, problems: list[Problem]) -> Any:
    def refuse(message: str) -> Any:
        add_problem(problems, document.problem(path, message))
        return _MISSING

    origin = get_origin(kind)
    if origin is Annotated:
        leaf = next(m for m in get_args(kind)[1:] if isinstance(m, Text))
        if isinstance(value, bool | list | dict) or value is None:
            return refuse(f"{with_article(leaf.name)} is needed here, like {leaf.example}")
        try:
            return leaf.parser(document.texts.get(path, value))
        except RiggingError as error:
            return refuse(str(error))
    if origin in (Union, types.UnionType):
        return _union(document, kind, value, path, problems)
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return _struct(document, kind, value, path, problems)
    if origin is dict:
        if not isinstance(value, dict):
            return refuse("a block of 'name: ...' lines is needed here")
        inner = get_args(kind)[1]
        return {k: _convert(document, inner, v, (*path, k), problems) for k, v in value.items()}
    if origin in (list, tuple):
        if not isinstance(value, list):
            return refuse("a list is needed here, like [a, b]")
        args = get_args(kind)
        if origin is tuple and args[-1] is not Ellipsis and len(value) != len(args):
            return refuse(f"{len(args)} entries are needed here, not {len(value)}")
        inners = args if origin is tuple and args[-1] is not Ellipsis else (args[0],) * len(value)
        pairs = zip(inners, value, strict=True)
        items = [_convert(document, inner, v, (*path, i), problems) for i, (inner, v) in enumerate(pairs)]
        return tuple(items) if origin is tuple else items
    if kind is str and path in document.texts:
        return document.texts[path]
    return _leaf(kind, value, refuse)


def _union(document: Document, kind: Any, value: Any, path: Path_, problems: list[Problem]) -> Any:
    members = get_args(kind)
    if value is None and type(None) in members:
        return None

    def fits(member: Any) -> bool:
        blocks = get_origin(member) is dict or (isinstance(member, type) and issubclass(member, msgspec.Struct))
        lists = get_origin(member) in (list, tuple)
        return blocks if isinstance(value, dict) else lists if isinstance(value, list) else not blocks and not lists

    named = [m for m in members if m is not type(None)]
    choice = next((m for m in named if fits(m)), named[0])
    return _convert(document, choice, value, path, problems)


def _struct(document: Document, kind: type, value: Any, path: Path_, problems: list[Problem]) -> Any:
    if not isinstance(value, dict):
        add_problem(problems, document.problem(path, "a block of 'key: value' lines is needed here"))
        return _MISSING
    known = fields(kind)
    before = len(problems)
    for key in value:
        if key not in known:
            add_problem(problems, document.problem((*path, key), f"unknown key '{key}'{nearest(key, known)}"))
    arguments: dict[str, Any] = {}
    for key, (name, hint, required) in known.items():
        if key in value:
            arguments[name] = _convert(document, hint, value[key], (*path, key), problems)
        elif required:
            add_problem(problems, document.problem(path, f"'{key}' is missing here"))
    if len(problems) > before:
        return _MISSING
    try:
        return kind(**arguments)
    except ValueError as error:
        add_problem(problems, document.problem(path, str(error)))
        return _MISSING


def _leaf(kind: Any, value: Any, refuse: Callable[[str], Any]) -> Any:
    if kind is Any:
        return value
    if kind is bool:
        return value if isinstance(value, bool) else refuse(_no_answer(value))
    if get_origin(kind) is Literal:
        options = get_args(kind)
        # True equals 1, and is not what was asked for
        fits = any(value == option and type(value) is type(option) for option in options)
        return value if fits else refuse(f"'{value}' is not known{nearest(str(value), options)}")
    if isinstance(kind, type) and issubclass(kind, Enum):
        try:
            return kind(value)
        except ValueError:
            return refuse(f"'{value}' is not known{nearest(str(value), [e.value for e in kind])}")
    if isinstance(value, bool | list | dict) or value is None:
        return refuse("a plain value is needed here")
    if kind is str:
        return value if isinstance(value, str) else str(value)
    if kind is dt.date:
        try:
            return dt.date.fromisoformat(str(value))
        except ValueError:
            return refuse(f"'{value}' is not a date: write it like 2026-11-25")
    if kind is int:
        if not isinstance(value, int):
            return refuse(f"a whole number is needed here, not '{value}'")
        return value if abs(value) <= LARGEST_COUNT else refuse(f"{_short(value)} is larger than anything counted here")
    if kind is float:
        comma = " (write the decimal point as a point)" if isinstance(value, str) and "," in value else ""
        if not isinstance(value, int | float):
            return refuse(f"a plain number is needed here, not '{value}'{comma}")
        # a file holds no other than finite numbers; what comes as flags or as JSON may
        return (
            float(value) if abs(value) <= LARGEST_NUMBER else refuse(f"{_short(value)} is no finite number of use here")
        )
    raise TypeError(f"no rule to read {kind!r}")


def _no_answer(value: Any) -> str:
    words = value.strip().casefold() if isinstance(value, str) else ""
    way_out = f": write {_MEANT[words]}, without quotation marks" if words in _MEANT else ""
    return f"true or false is needed here, not '{value}'{way_out}"


def _short(value: float) -> str:
    text = str(value)
    return text if len(text) <= 20 else f"{text[:12]}… ({len(text)} digits)"


def json_schema(kind: type, title: str) -> dict[str, Any]:
    """JSON Schema (2020-12) of a struct, for editors that complete and check while typing."""
    definitions: dict[str, Any] = {}
    body = _schema_of(kind, definitions)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **body, "$defs": definitions}


def _schema_of(kind: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    origin, args = get_origin(kind), get_args(kind)
    if origin is Annotated:
        leaf = next(m for m in args[1:] if isinstance(m, Text))
        return {"type": "string", "description": f"{with_article(leaf.name)}, like {leaf.example}"}
    if origin in (Union, types.UnionType):
        return {"anyOf": [_schema_of(a, definitions) for a in args]}
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        if kind.__name__ not in definitions:
            definitions[kind.__name__] = {}
            known = fields(kind)
            definitions[kind.__name__] = {
                "type": "object",
                "description": (kind.__doc__ or "").split("\n\n")[0].strip(),
                "properties": {key: _schema_of(hint, definitions) for key, (_, hint, _) in known.items()},
                "required": [key for key, (_, _, required) in known.items() if required],
                "additionalProperties": False,
            }
        return {"$ref": f"#/$defs/{kind.__name__}"}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema_of(args[1], definitions)}
    if origin is tuple and args[-1] is not Ellipsis:
        return {
            "type": "array",
            "prefixItems": [_schema_of(a, definitions) for a in args],
            "items": False,
            "minItems": len(args),
        }
    if origin in (list, tuple):
        return {"type": "array", "items": _schema_of(args[0], definitions)}
    if origin is Literal:
        return {"enum": list(args)}
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [e.value for e in kind]}
    plain = {str: "string", int: "integer", float: "number", bool: "boolean", type(None): "null"}
    if kind is dt.date:
        return {"type": "string", "format": "date"}
    return {} if kind is Any else {"type": plain[kind]}
