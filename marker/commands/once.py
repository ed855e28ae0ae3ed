"""The kind of command that all commands are: an option that counts once may be given once."""

from __future__ import annotations

from collections import Counter

import click


class Command(click.Command):
    """A command that refuses an option given twice, where the last one would silently win."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not ctx.resilient_parsing:
            _, _, given = self.make_parser(ctx).parse_args(args=list(args))
            for option, times in Counter(given).items():
                if isinstance(option, click.Option) and times > 1 and _counts_once(option):
                    said = max(option.opts, key=len)
                    raise click.UsageError(
                        f"{said} is given {_times(times)}, and counts once; leave out all but one.", ctx
                    )
        return super().parse_args(ctx, args)


def _counts_once(option: click.Option) -> bool:
    return not (option.multiple or option.count or option.is_eager)


def _times(count: int) -> str:
    return "twice" if count == 2 else f"{count} times"
