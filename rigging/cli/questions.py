"""Fields of a log entry asked for at a terminal, one by one; each answer is checked before the next question."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, get_args, get_origin

from rigging.cli.given import inner_of, typed
from rigging.cli.options import talk
from rigging.errors import RiggingError, nearest

if TYPE_CHECKING:
    from rigging.log.kinds import Kind
    from rigging.sheet.rig import Rig
    from rigging.sheet.schema import CircuitEntry

Ask = Callable[[str], str]
# fields that are asked for only where another has this value
ONLY_WHERE = {"reason": ("alone", True), "pause": ("alone", True), "wire": ("method", "locking wire")}


class Question(NamedTuple):
    """One question: its words, where the answer goes in the fields, what it must be, and what the sheet offers."""

    words: str
    path: tuple[str, ...]
    hint: Any
    needed: bool
    options: tuple[str, ...] = ()

    def answer(self, given: dict[str, Any], ask: Ask) -> None:
        """Ask until there is an answer that can be read, and put it where it belongs."""
        value = self._until_good(ask)
        if value is None:
            return
        place = given
        for name in self.path[:-1]:
            place = place.setdefault(name, {})
        place[self.path[-1]] = value

    def _until_good(self, ask: Ask) -> Any:
        from rigging.schema import convert

        while True:
            text = ask(self.words)
            if not text and not self.needed:
                return None
            if not text:
                talk("  an answer is needed here")
                continue
            if self.options and text not in self.options:
                talk(f"  '{text}' is none of these{nearest(text, self.options)}")
                continue
            value = typed(self.hint, text)
            try:
                convert(self.hint, value)
            except RiggingError as error:
                talk(f"  {str(error).removeprefix(': ')}")
                continue
            return value


def questions(kind: Kind, keys: Sequence[str], given: dict[str, Any], rig: Rig, circuit: str) -> Iterator[Question]:
    """The questions for these fields of a kind, in order; what was answered before decides what comes next."""
    from rigging.schema import fields

    known = fields(kind.struct)
    for key in keys:
        _, hint, required = known[key]
        inner = inner_of(hint)
        if key in ONLY_WHERE:
            other, value = ONLY_WHERE[key]
            if given.get(other) != value:
                continue
            required = True
        if get_origin(inner) is dict:
            yield from _each(key, inner, required, given, rig.file.circuits[circuit])
            continue
        options = _offered(key, rig, circuit) or tuple(a for a in get_args(inner) if isinstance(a, str))
        shown = f" ({', '.join(options)})" if options else _like(inner)
        words = key.replace("_", " ") if required else f"[{key.replace('_', ' ')}]"
        yield Question(f"  {words}{shown}: ", (key,), inner, required, options)


def missing(kind: Kind, given: dict[str, Any]) -> list[str]:
    """The fields of a kind that are still to be asked for; optional ones are offered too."""
    from rigging.schema import fields

    return [key for key in fields(kind.struct) if key not in given]


def _each(key: str, inner: Any, required: bool, given: dict[str, Any], entry: CircuitEntry) -> Iterator[Question]:
    """A question for each surface, way, input or turnbuckle that the sheet names."""
    below = get_args(inner)[1]
    if get_origin(below) is dict:
        for name, surface in entry.surfaces.items():
            for control in surface.moves:
                # what is expected is not shown: the second person says what they see
                yield Question(f"  {control}: which way does {name} go? ", (key, name, control), str, True)
        return
    name = str(given.get("surface", ""))
    for part in _parts(key, name, entry):
        words = (
            f"{part}: which way does {name} go?" if key == "seen" else f"{_WORDS.get(key, key)} {part}{_like(below)}:"
        )
        yield Question(f"  {words} " if required else f"  [{words}] ", (key, part), below, required)


_WORDS = {
    "touches_first": "the stop that touches first,",
    "ways": "travel",
    "secured": "secured: turnbuckle of",
    "cushion": "cushion",
}


def _like(hint: Any) -> str:
    return "" if hint is str else f" (like {_example(hint)})"


def _parts(key: str, surface: str, entry: CircuitEntry) -> list[str]:
    if key == "secured":
        return [name for name, cable in entry.cables.items() if cable.turnbuckle is not None]
    own = entry.surfaces.get(surface)
    if own is None:
        return []
    return list(own.moves if key == "seen" else own.travel)


def _offered(key: str, rig: Rig, circuit: str) -> tuple[str, ...]:
    """The names of the sheet that a field may hold."""
    if key == "tensiometer":
        return tuple(rig.cards)
    entry = rig.file.circuits.get(circuit)
    if entry is None:
        return ()
    return tuple(
        {
            "surface": list(entry.surfaces),
            "turnbuckle": [name for name, cable in entry.cables.items() if cable.turnbuckle is not None],
            "cable": list(entry.cables),
            "run": list(entry.cables),
        }.get(key, [])
    )


def _example(hint: Any) -> str:
    from rigging.schema import Text

    leaf = next((a for a in get_args(hint) if isinstance(a, Text)), None)
    if leaf is not None:
        return leaf.example
    if get_origin(hint) in (list, tuple):
        return "31 32 31" if Ellipsis in get_args(hint) else "2 2"
    return {bool: "yes", int: "2", float: "2.5"}.get(hint, "words")
