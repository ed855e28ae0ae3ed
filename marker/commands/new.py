"""marker new: a pattern file without writing TOML."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from marker.commands.once import Command


@click.command(cls=Command)
@click.argument("name", required=False, metavar="NAME")
@click.option(
    "--from",
    "sheet",
    type=click.Path(path_type=Path),
    metavar="FILE.csv",
    help="Take the pieces from a spreadsheet (CSV) in place of asking.",
)
@click.option(
    "--template",
    type=click.Path(path_type=Path),
    metavar="FILE.csv",
    help="Write a spreadsheet to fill in, with an example in it.",
)
def new(name: str | None, sheet: Path | None, template: Path | None) -> None:
    """Make a pattern file from what you measure: asked for here, or from a spreadsheet.

    Stopped half-way (Ctrl-C), it keeps your answers; the same command goes on from there.
    """
    from marker.files.atomic import write_text

    if template is not None:
        if name is not None or sheet is not None:
            raise click.UsageError("--template writes a spreadsheet; give no other argument with it.")
        from marker.new.spreadsheet import TEMPLATE

        _must_be_new(template)
        write_text(template, TEMPLATE)
        click.echo(f"Written to {template}: fill it in, then: marker new NAME --from {template}")
        return
    if name is None:
        raise click.UsageError("Name the pattern file to write, like bag.toml.")
    target = Path(name if name.lower().endswith(".toml") else f"{name}.toml")
    _must_be_new(target)
    if sheet is not None:
        from marker.new.spreadsheet import read_sheet

        text, count = read_sheet(sheet, target)
    else:
        text, count = _asked(target)
    # It may have been made while the questions were answered.
    _must_be_new(target)
    write_text(target, text)
    if sheet is None and sys.stdin.isatty():
        _answers(target).unlink(missing_ok=True)
    click.echo(f"Written to {target}: {count} piece{'s' if count > 1 else ''}.")
    click.echo(
        f"Next: marker check {target} --drawings layouts/pieces    (compare the numbers with the paper)"
    )
    click.echo(f"Then: marker lay {target}")


def _must_be_new(path: Path) -> None:
    from marker.errors import InputError

    if path.exists() or path.is_symlink():
        raise InputError(f"{path}: is there already; name another file, or move this one away first.")


def _answers(target: Path) -> Path:
    """Where answers wait for the rest of them."""
    return target.with_suffix(".answers.txt")


def _asked(target: Path) -> tuple[str, int]:
    from marker.errors import InputError
    from marker.files.atomic import write_text
    from marker.files.toml import read_text
    from marker.new.questions import Asker, ask_pattern

    terminal = sys.stdin.isatty()
    kept = _answers(target)
    told: list[str] = []
    if terminal and kept.exists():
        told = read_text(kept).splitlines()
        click.echo(f"Going on after the {len(told)} answers in {kept} (delete that file to begin anew).")

    def read(question: str) -> str:
        answer = input(question)
        if not terminal:
            click.echo(answer)
        return answer

    def keep(answers: Sequence[str]) -> None:
        if terminal:
            write_text(kept, "".join(f"{answer}\n" for answer in answers))

    asker = Asker(read, click.echo, keep, told)
    try:
        pattern, text = ask_pattern(asker, target)
    except UnicodeDecodeError:
        raise InputError("the answers are not text in UTF-8; nothing was written.") from None
    except (EOFError, KeyboardInterrupt) as stop:
        click.echo()
        if terminal and asker.told:
            raise InputError(
                f"stopped; your answers are kept in {kept}, and the same command goes on from there."
            ) from None
        ended = "the answers end before the pattern is complete" if isinstance(stop, EOFError) else "stopped"
        raise InputError(f"{ended}; nothing was written.") from None
    return text, len(pattern.pieces)
