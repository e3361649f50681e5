"""Exit codes, and the one place where errors become a line on the screen."""

from __future__ import annotations

import errno
import sys
from typing import Any, Final

import typer.core
import typer.exceptions

from rigging.errors import RiggingError, UsageError
from rigging.report.pipe import hush

FINE: Final = 0
FINDING: Final = 1
WRONG_USE: Final = 2
BAD_INPUT: Final = 3
INTERNAL: Final = 4
INTERRUPTED: Final = 130


class Group(typer.core.TyperGroup):
    """A command group whose commands return their exit code and may raise any RiggingError."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """The words of the command line; ``--plain`` belongs to the program and is taken wherever it stands."""
        if ctx.parent is None:
            end = args.index("--") if "--" in args else len(args)
            if "--plain" in args[:end]:
                args = ["--plain", *(word for word in args[:end] if word != "--plain"), *args[end:]]
        return super().parse_args(ctx, args)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command of a line. Raises UsageError where an option that counts once stands twice."""
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and not ctx.resilient_parsing:
            _refuse_twice(command.context_class(command, info_name=name, parent=ctx, **command.context_settings), rest)
        return name, command, rest

    def invoke(self, ctx: Any) -> Any:
        """Run a command; whatever ends it becomes an exit code."""
        if ctx.parent is not None:
            return super().invoke(ctx)
        code: Any = FINE
        si = "--si" in ctx.args
        try:
            code = super().invoke(ctx)
            sys.stdout.flush()
        except RiggingError as error:
            from rigging.told import shown

            print(shown(error, si), file=sys.stderr)
            code = error.exit_code
        except (KeyboardInterrupt, typer.Abort):
            print("interrupted; nothing was written", file=sys.stderr)
            code = INTERRUPTED
        except BrokenPipeError:
            # the reader of a pipe has seen enough; a finding stays a finding
            hush()
        except OSError as error:
            if error.errno not in (errno.ENOSPC, errno.EIO):
                code = _internal(error)
            else:
                print(f"the output cannot be written ({error.strerror}): it is not whole", file=sys.stderr)
                hush()
                code = BAD_INPUT
        except (typer.Exit, typer.exceptions.TyperException):
            # help was asked for, or the command line is wrong: typer ends these itself
            raise
        except Exception as error:
            code = _internal(error)
        ctx.exit(code if isinstance(code, int) else FINE)
        return None


def _refuse_twice(ctx: Any, args: list[str]) -> None:
    # the parser lets the last one win without a word; its order names every option as often as it stands
    _, _, order = ctx.command.make_parser(ctx).parse_args(args=list(args))
    if any(param.is_eager for param in order):
        return
    seen = set()
    for param in order:
        if param.param_type_name == "option" and not (param.multiple or param.count or param.is_flag):
            if param.name in seen:
                raise UsageError(f"{max(param.opts, key=len)} stands twice: keep one")
            seen.add(param.name)


def _internal(error: Exception) -> int:
    import tempfile
    import traceback

    from rigging import __version__

    with tempfile.NamedTemporaryFile(
        "w", prefix="rigging-error-", suffix=".txt", delete=False, encoding="utf-8"
    ) as report:
        report.write(f"rigging {__version__}, Python {sys.version}\n{' '.join(sys.argv[1:])}\n\n")
        traceback.print_exception(error, file=report)
    print(f"internal error ({type(error).__name__}): no figure of this run may be used", file=sys.stderr)
    print(f"what happened is in {report.name}: please report it with what you typed", file=sys.stderr)
    return INTERNAL
