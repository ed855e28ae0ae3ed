"""Options that the commands with tables share, and what becomes of them."""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

SECONDS = 10.0
"""Usual time for each layout."""

AMOUNT = click.FloatRange(min=0, max=1e7, min_open=True)


def search_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Options about the search, where it runs and what is kept."""
    options = (
        click.option(
            "--seed", type=int, default=1, show_default=True, help="Another number, another search."
        ),
        click.option("--seconds", type=AMOUNT, help=f"Time for each layout.  [default: {SECONDS:g}]"),
        click.option(
            "--effort", type=AMOUNT, help="Work instead of time: the same effort gives the same table."
        ),
        click.option(
            "--cores",
            type=click.IntRange(1, 256),
            help="Layouts to search for at once.  [default: all cores]",
        ),
        click.option("--cluster", metavar="ADDRESS", help="Search on this Dask cluster instead."),
        click.option(
            "--cache",
            type=click.Path(path_type=Path),
            metavar="DIR",
            help="Where layouts are kept for reuse.",
        ),
        click.option("--fresh", is_flag=True, help="Search anew, whatever has been kept."),
    )
    for option in reversed(options):
        command = option(command)
    return command


def search_of(seed: int, seconds: float | None, effort: float | None) -> Any:
    """The Search that the options ask for; seconds and effort together are wrong usage."""
    from marker.tables.task import Search

    if seconds is not None and effort is not None:
        raise click.UsageError("Give --seconds or --effort, not both.")
    return Search(seed, None if effort is not None else seconds or SECONDS, effort)


def solver(
    search: Any,
    cores: int | None,
    cluster: str | None,
    cache: Path | None,
    fresh: bool,
    stopped: threading.Event,
) -> Callable[[Sequence[Any]], Any]:
    """What takes tasks and gives their outcomes, telling its progress on stderr."""
    from marker.tables.cache import Cache, usual_folder
    from marker.tables.progress import TableProgress
    from marker.tables.run import Where, outcomes

    many = cores or os.cpu_count() or 1
    kept = Cache(cache or usual_folder(), fresh)

    def solved(tasks: Sequence[Any]) -> Any:
        with TableProgress(stopped, None if cluster else search.seconds, many) as watcher:
            return outcomes(tasks, Where(many, cluster or ""), kept, watcher)

    return solved


def written_and_told(
    tables: Any, table: Any, folder: Path, files: Mapping[Path, bytes], as_json: bool
) -> None:
    """Writes the files of a table and prints it; ``tables`` is the module that it is from."""
    from marker.files.atomic import write_all
    from marker.report.console import screen_width

    write_all(files)
    if as_json:
        click.echo(json.dumps(tables.as_json(table), allow_nan=False, indent=1))
        return
    click.echo(tables.terminal(table, screen_width(), sys.stdout.isatty()))
    click.echo(f"Written to {folder}: {', '.join(file.name for file in files)}")
