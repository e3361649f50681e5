"""Fields of a log entry asked for at a terminal, one by one; each answer is checked before the next question."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple, get_args, get_origin

from rigging.cli.given import inner_of, typed
from rigging.cli.options import explain
from rigging.errors import RiggingError, nearest
from rigging.told import as_typed, told
from rigging.units import QUANTITIES

if TYPE_CHECKING:
    from rigging.log.kinds import Kind
    from rigging.sheet.circuit_entry import CircuitEntry
    from rigging.sheet.rig import Rig

Ask = Callable[[str], str]
Say = Callable[[str], None]
# fields that are asked for only where another has this value, and are needed there
ONLY_WHERE: Final = {
    ("inspection", "reason"): ("alone", True),
    ("inspection", "pause"): ("alone", True),
    ("proof-load", "proof_load"): ("certificate", None),
    ("proof-load", "proof_time"): ("certificate", None),
    ("proof-load", "gauge"): ("certificate", None),
    ("safetying", "wire_diameter"): ("method", "locking wire"),
    ("safetying", "wire_material"): ("method", "locking wire"),
    ("safetying", "wrap"): ("method", "locking wire"),
    ("safetying", "remark"): ("method", "other"),
}


def _say(words: str) -> None:
    explain(words, "  ")


class Question(NamedTuple):
    """One question.

    words: how it is asked. path: where the answer goes in the fields. hint: what it must be. options: what the sheet
    offers, nothing else is taken. usual: words that are taken at once; another must be typed twice. default: what Enter
    takes where an answer is needed.
    """

    words: str
    path: tuple[str, ...]
    hint: Any
    needed: bool
    options: tuple[str, ...] = ()
    usual: tuple[str, ...] = ()
    default: Any = None

    def answer(self, given: dict[str, Any], ask: Ask, say: Say = _say) -> Any:
        """Ask until there is an answer that can be read, and put it where it belongs; None where it was left out."""
        value = self._until_good(ask, say)
        put(given, self.path, value)
        return value

    def _until_good(self, ask: Ask, say: Say) -> Any:
        from rigging.schema import convert

        before = None
        while True:
            text = ask(self.words)
            if not text and self.default is not None:
                return self.default
            if not text and not self.needed:
                return None
            if not text:
                say("an answer is needed here")
                continue
            if self.options:
                same = [o for o in self.options if o.casefold() == text.casefold()]
                if text not in self.options and len(same) != 1:
                    say(f"'{text}' is none of these{nearest(text, self.options)}")
                    continue
                text = text if text in self.options else same[0]
            value = typed(self.hint, text)
            try:
                convert(self.hint, value)
            except RiggingError as error:
                say(str(error).removeprefix(": "))
                continue
            if self.usual and text.casefold() not in (u.casefold() for u in self.usual) and text != before:
                before = text
                say(
                    f"'{text}' is no way of moving that the sheet knows there: type it once more if that is what you see"
                )
                continue
            return value


def put(given: dict[str, Any], path: Sequence[str], value: Any) -> None:
    """Put an answer where it belongs; None leaves the field out."""
    if value is None:
        return
    for name in path[:-1]:
        given = given.setdefault(name, {})
    given[path[-1]] = value


def questions(
    kind: Kind,
    keys: Sequence[str],
    given: dict[str, Any],
    rig: Rig,
    circuit: str,
    suggested: Mapping[str, Any] | None = None,
) -> Iterator[Question]:
    """The questions for these fields of a kind, in order; what was answered before decides what comes next.

    suggested: what Enter takes, by field.
    """
    from rigging.schema import fields

    known = fields(kind.struct)
    for key in keys:
        _, hint, required = known[key]
        inner = inner_of(hint)
        if (kind.name, key) in ONLY_WHERE:
            other, value = ONLY_WHERE[kind.name, key]
            if given.get(other) != value:
                continue
            required = True
        if get_origin(inner) is dict:
            each = list(_each(key, inner, required, given, rig.file.circuits[circuit]))
            if required and not each:
                given.setdefault(key, {})  # the sheet names nothing to ask for
            yield from each
            continue
        options = _offered(key, rig, circuit) or tuple(a for a in get_args(inner) if isinstance(a, str))
        default = (suggested or {}).get(key)
        offered = f" ({', '.join(options)})" if options else ""
        if default is not None:
            offered += f" [Enter: {_typed(default)}]"
        shown = offered or _like(inner, key)
        words = key.replace("_", " ") if required else f"[{key.replace('_', ' ')}]"
        yield Question(told("  {}{}: ", words, shown), (key,), inner, required, options, (), default)


def missing(kind: Kind, given: dict[str, Any]) -> list[str]:
    """The fields of a kind that are still to be asked for; optional ones are offered too."""
    from rigging.log.kinds import NO_LONGER_WRITTEN
    from rigging.schema import fields

    return [key for key in fields(kind.struct) if key not in given and key not in NO_LONGER_WRITTEN.get(kind.name, ())]


def _each(key: str, inner: Any, required: bool, given: dict[str, Any], entry: CircuitEntry) -> Iterator[Question]:
    """A question for each surface, way, input or turnbuckle that the sheet names."""
    below = get_args(inner)[1]
    if get_origin(below) is dict:
        for name, surface in entry.surfaces.items():
            for control in surface.moves:
                # what is expected is not shown: the second person says what they see
                yield _moves(control, name, (key, name, control), entry)
        return
    name = str(given.get("surface", ""))
    for part in _parts(key, name, entry):
        if key == "seen":
            yield _moves(part, name, (key, part), entry)
            continue
        words = told("{} {}{}", _WORDS.get(key, key), part, _like(below, key))
        yield Question(told("  {}: " if required else "  [{}]: ", words), (key, part), below, required)


def _moves(control: str, surface: str, path: tuple[str, ...], entry: CircuitEntry) -> Question:
    own = entry.surfaces[surface]
    usual = tuple(dict.fromkeys([*own.moves.values(), *own.travel]))
    return Question(f"  {control}: which way does {surface} go? ", path, str, True, usual=usual)


_WORDS: Final = {
    "touches_first": "the stop that touches first,",
    "ways": "travel",
    "secured": "secured: turnbuckle of",
    "cushion": "cushion",
}
# where the field says more than its unit
_EXAMPLES: Final = {
    "cushion": "1/2 in", "offset": "0.2 deg", "ways": "20 deg", "uncertainty": "0.5 deg", "pull_one": "3.5 lbf",
    "pull_other": "2.5 lbf", "half_turns": "2 or -2", "times": "5", "riser": "1", "tension": "14 lbf", "wire_diameter": "0.060 in", "proof_load": "1200 lbf",
    "proof_time": "3 min",
}  # fmt: skip


def _like(hint: Any, key: str) -> str:
    if hint is bool:
        return " (yes, no)"
    return "" if hint is str else told(" (like {})", _example(hint, key))


def _typed(value: Any) -> str:
    """A value as it would be typed."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:+d}" if isinstance(value, int) else str(value)


def _parts(key: str, surface: str, entry: CircuitEntry) -> list[str]:
    if key == "secured":
        return [name for name, cable in entry.cables.items() if cable.turnbuckle is not None]
    own = entry.surfaces.get(surface)
    if own is None:
        return []
    return list(own.moves if key == "seen" else own.travel)


def _offered(key: str, rig: Rig, circuit: str) -> tuple[str, ...]:
    """The names of the sheet that a field may hold."""
    from rigging.jobs.parts import parts_of

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
            "part": parts_of(rig, circuit),
        }.get(key, [])
    )


def _example(hint: Any, key: str) -> object:
    from rigging.schema import Text

    leaf = next((a for a in get_args(hint) if isinstance(a, Text)), None)
    if leaf is not None:
        of_force = leaf.name == "force" and key == "uncertainty"
        example = "0.5 lbf" if of_force else _EXAMPLES.get(key, leaf.example)
        return as_typed(leaf.name, example) if leaf.name in QUANTITIES else example
    if key in _EXAMPLES:
        return _EXAMPLES[key]
    if get_origin(hint) in (list, tuple):
        return "31 32 31" if Ellipsis in get_args(hint) else "2 2"
    return {int: "2", float: "2.5"}.get(hint, "words")
