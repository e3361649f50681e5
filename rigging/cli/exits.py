"""Exit codes, and the one place where errors become a line on the screen."""

from __future__ import annotations

import errno
import sys
from typing import Any, Final

import typer.core
import typer.exceptions

from rigging.errors import RiggingError
from rigging.report.pipe import hush
from rigging.told import shown

FINE: Final = 0
FINDING: Final = 1
WRONG_USE: Final = 2
BAD_INPUT: Final = 3
INTERNAL: Final = 4
INTERRUPTED: Final = 130


class Group(typer.core.TyperGroup):
    """A command group whose commands return their exit code and may raise any RiggingError."""

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
