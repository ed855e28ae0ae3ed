"""The command line: gathers the commands and tells bad input in one sentence."""

from __future__ import annotations

import sys
from typing import Any

import click

from marker.commands.check import check
from marker.commands.compare import compare
from marker.commands.import_ import import_command
from marker.commands.lay import lay
from marker.commands.new import new
from marker.commands.trace import trace
from marker.commands.yardage import yardage
from marker.plain import readable_output, visible


class Friendly(click.Group):
    """Bad input ends with one sentence and exit code 1, never with a traceback."""

    def main(self, *args: Any, **extra: Any) -> Any:
        """Whatever is printed, in usage errors as well, is printed readably."""
        readable_output()
        return super().main(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        from marker.errors import InputError

        try:
            return super().invoke(ctx)
        except InputError as problem:
            click.echo(f"marker: {visible(str(problem))}", err=True)
            ctx.exit(1)
        except RuntimeError as problem:
            from marker.api import NotVerified

            if not isinstance(problem, NotVerified):
                raise
            click.echo(f"marker: {visible(str(problem))}", err=True)
            ctx.exit(1)
        except BrokenPipeError:
            # Whoever read our output has had enough.
            sys.stderr.close()
            ctx.exit(0)


@click.group(cls=Friendly, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="boathouse-marker", prog_name="marker")
def main() -> None:
    """How much cloth to buy, and how to lay the pieces of a pattern on it."""


for command in (lay, yardage, compare, check, import_command, trace, new):
    main.add_command(command)
