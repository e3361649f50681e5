"""What TAB offers: names of the sheet on the line, of the tables, of what a log may hold. It never fails, it offers nothing.

A sheet is read as it stands, so that its names are offered while it is still being mended.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
from pathlib import Path
from typing import Any, Final, Literal, get_args, get_origin

import typer
import typer.core

ASKED: Final = "_RIGGING_COMPLETE"  # set by the script that the shell was given, to the shell's name
SHELL_SIGNS: Final = re.compile(r"([^\w@%+:,./=-])")


def is_asked() -> bool:
    """Whether a shell asks what may stand on the line, instead of running it."""
    return os.environ.get(ASKED, "").startswith("complete_")


def complete(app: typer.Typer) -> None:
    """Answer the shell, and end the program. Whatever goes wrong, the person at the shell reads nothing of it."""
    shell = os.environ[ASKED].partition("_")[2]
    said, after_quote = io.StringIO(), False
    code: Any = 1 if shell == "fish" else 0  # fish is told by 1 that it may offer files
    try:
        after_quote = shell == "bash" and _join_words()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
            app(prog_name="rigging")
    except SystemExit as end:
        code = end.code if shell == "fish" else 0
        lines = said.getvalue().splitlines()
        if shell == "bash" and not after_quote:
            # bash puts an answer on the line as it is
            lines = [SHELL_SIGNS.sub(r"\\\1", line) for line in lines]
        print("\n".join(lines))
        sys.stdout.flush()
    except BaseException:
        pass
    sys.exit(code)


def _join_words() -> bool:
    """Put together what bash has split at = and :, and say whether the last word stands in an open quotation mark."""
    words, place = os.environ["COMP_WORDS"].split("\n"), int(os.environ["COMP_CWORD"])
    if len(words) <= place:
        return False
    joined: list[str] = []
    for word in words[: place + 1]:
        split = joined and (word in ("=", ":") or joined[-1].endswith(("=", ":")))
        joined[-1:] = [joined[-1] + word] if split else [*joined[-1:], word]
    option, _, value = joined[-1].partition("=")
    if split and ("=" in value or not option.startswith("-")):
        # bash would put the answer behind the sign; what stands there is a figure, which nobody can offer
        raise SystemExit(0)
    os.environ["COMP_WORDS"], os.environ["COMP_CWORD"] = "\n".join(joined), str(len(joined) - 1)
    return joined[-1][:1] in ("'", '"')


def _on_line(context: typer.Context, name: str) -> Any:
    """What stands on the line for an option or argument; None where nothing does."""
    value = context.params.get(name)
    if value is None:
        # the parser stops at an option whose value is asked for, before it has told which argument is which
        arguments = [param.name for param in context.command.params if param.param_type_name == "argument"]
        value = dict(zip(arguments, context.args, strict=False)).get(name)
    return value


def _sheet(context: typer.Context) -> dict[str, Any]:
    return _yaml(_on_line(context, "sheet"))


def _yaml(path: object) -> dict[str, Any]:
    from rigging.errors import RiggingError
    from rigging.sheet.raw_names import block
    from rigging.yamlfile import load

    if not path:
        return {}
    try:
        # the shell has not put anything in the place of ~ and $HOME yet
        return block(load(Path(os.path.expandvars(str(path))).expanduser()).data)
    except (RiggingError, RuntimeError):
        return {}


def _names(value: object) -> list[str]:
    from rigging.sheet.raw_names import block

    return [name for name in block(value) if isinstance(name, str) and name.isprintable() and name.strip()]


def _in_circuits(context: typer.Context, key: str, circuit: object = None) -> list[tuple[str, str]]:
    """Circuit and name of everything under a key of every circuit, or of one."""
    from rigging.sheet.raw_names import block

    every = block(_sheet(context).get("circuits"))
    wanted = [name for name in _names(every) if circuit in (None, "", name)]
    return [(of, name) for of in wanted for name in _names(block(every[of]).get(key))]


def circuits(context: typer.Context) -> list[str]:
    """The circuits of the sheet."""
    return _names(_sheet(context).get("circuits"))


def runs(context: typer.Context) -> list[str]:
    """The runs of the sheet, like aileron/left."""
    return [f"{circuit}/{name}" for circuit, name in _in_circuits(context, "cables")]


def run_figures(context: typer.Context) -> list[str]:
    """The runs of the circuit on the line, each to be given a figure."""
    found = _in_circuits(context, "cables", _on_line(context, "circuit"))
    return list(dict.fromkeys(f"{name}=" for _, name in found))


def lever_figures(context: typer.Context) -> list[str]:
    """The sectors of the circuit on the line, each to be given a figure."""
    found = _in_circuits(context, "sectors", _on_line(context, "circuit"))
    return list(dict.fromkeys(f"{name}=" for _, name in found))


def kinds() -> list[str]:
    """The kinds of entry that a person writes."""
    from rigging.log.kinds import BY_SESSION, KINDS

    return [name for name in KINDS if name not in BY_SESSION]


def every_kind() -> list[str]:
    """All kinds of entry that a log holds."""
    from rigging.log.kinds import BY_PROGRAM, KINDS

    return [*KINDS, *sorted(BY_PROGRAM)]


def materials() -> list[str]:
    """What a cable is made of."""
    from rigging.hardware.cable import MATERIALS

    return list(MATERIALS)


def constructions() -> list[str]:
    """How a cable is laid."""
    from rigging.hardware.cable import CONSTRUCTIONS

    return list(CONSTRUCTIONS)


def airframes() -> list[str]:
    """What an airframe is made of."""
    from rigging.hardware.airframe import material_names

    return material_names()


def sizes(context: typer.Context) -> list[str]:
    """The cable sizes of the card on the line, else those of the tables."""
    found = [str(column["cable"]) for column in _columns(context) if isinstance(column.get("cable"), str)]
    if not found:
        from rigging import tables
        from rigging.hardware.cable import FLEXIBLE, STRAND
        from rigging.units import size_in

        rows = [row for table in (FLEXIBLE, STRAND) for row in tables.load(table).rows]
        found = sorted({str(row.values["size"]) for row in rows}, key=size_in)
    return list(dict.fromkeys(found))


def risers(context: typer.Context) -> list[str]:
    """The risers of the card on the line."""
    return list(dict.fromkeys(str(column["riser"]) for column in _columns(context) if "riser" in column))


def _columns(context: typer.Context) -> list[dict[str, Any]]:
    from rigging.sheet.raw_names import block

    found = _yaml(_on_line(context, "card")).get("columns")
    return [block(column) for column in found] if isinstance(found, list) else []


def table_names() -> list[str]:
    """The shipped tables."""
    from rigging import tables

    return tables.table_ids()


def threads() -> list[str]:
    """The threads of turnbuckles that the table has."""
    from rigging import tables
    from rigging.hardware.turnbuckle import THREADS

    return [str(row.values["thread"]) for row in tables.load(THREADS).rows]


def parts() -> list[str]:
    """The parts whose temperature is waited for."""
    from rigging.hardware.parts import parts as of_table

    return list(of_table())


def histories() -> list[str]:
    """What a cable has behind it."""
    return ["new", "proof-loaded", "in-service"]


def measures() -> list[str]:
    """What a cable beds in with."""
    return ["hours", "cycles"]


class EntryCommand(typer.core.TyperCommand):
    """A command that also takes the fields of the kind on its line as flags."""

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """The options of the command, the fields of the kind, and what a field may hold."""
        from typer._click.shell_completion import CompletionItem

        found = super().shell_complete(ctx, incomplete)
        flag = ctx.args[-1] if ctx.args else ""
        words = _values(ctx, flag) if flag.startswith("--") and "=" not in flag else []
        if incomplete.startswith("-"):
            words += [f"--{key.replace('_', '-')}" for key in _fields(ctx)]
        return [*found, *(CompletionItem(word) for word in words if word.startswith(incomplete))]


def _fields(context: typer.Context) -> dict[str, Any]:
    from rigging.cli.given import hints_of
    from rigging.log.kinds import KINDS

    kind = KINDS.get(str(_on_line(context, "kind")))
    return hints_of(kind.struct) if kind else {}


def _values(context: typer.Context, flag: str) -> list[str]:
    from rigging.cli.given import inner_of

    key = flag[2:].replace("-", "_")
    hint = _fields(context).get(key)
    if hint is None:
        return []
    inner = inner_of(hint)
    if inner is bool:
        return ["yes", "no"]
    if get_origin(inner) is Literal:
        return [str(word) for word in get_args(inner)]
    block = {"turnbuckle": "cables", "cable": "cables", "run": "cables", "part": "cables", "surface": "surfaces"}.get(
        key
    )
    found = _in_circuits(context, block, _on_line(context, "circuit")) if block else []
    return list(dict.fromkeys(name for _, name in found))
