"""marker yardage: length to buy for sizes, widths and both ways of laying."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from marker.commands.cloth_options import cloth_words, print_option
from marker.commands.lengths import widths_of
from marker.commands.once import Command
from marker.commands.shared import MATCHINGS, garment_options, interruptible, usual_out
from marker.commands.table_options import search_of, search_options, solver, written_and_told

LAID = ("plain", "nap")


@click.command(cls=Command)
@click.argument("pattern")
@click.option("--size", "sizes", multiple=True, help="A size to list; may be repeated.  [default: all]")
@click.option("--view", "views", multiple=True, help="A view to list; may be repeated.  [default: the first]")
@garment_options
@click.option(
    "--width",
    "widths",
    multiple=True,
    metavar="[MATERIAL=]LENGTH",
    help="A width to list, such as 140cm, 55in or interfacing=90cm; may be repeated.  [default: the cloth's]",
)
@click.option(
    "--fabric", "fabrics", multiple=True, metavar="FILE", help="Fabric file in place of the pattern's cloth."
)
@print_option
@click.option("--laid", default="plain,nap", show_default=True, help="Ways of laying to list.")
@click.option("--fold", default="best", show_default=True, help="How to spread the cloth.")
@click.option(
    "--match",
    "matching",
    type=click.Choice(MATCHINGS),
    default="main",
    show_default=True,
    help="How much of a print has to match.",
)
@search_options
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the table in Markdown and CSV.")
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON instead of the table.")
@click.pass_context
def yardage(
    context: click.Context,
    pattern: str,
    sizes: tuple[str, ...],
    views: tuple[str, ...],
    with_: tuple[str, ...],
    without: tuple[str, ...],
    quantity: int,
    widths: tuple[str, ...],
    fabrics: tuple[str, ...],
    prints: tuple[str, ...],
    laid: str,
    fold: str,
    matching: Any,
    seed: int,
    seconds: float | None,
    effort: float | None,
    cores: int | None,
    cluster: str | None,
    cache: Path | None,
    fresh: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """List how much cloth to buy for every size.

    A table for each material: widths and ways of laying down, sizes across. Every entry is a layout that
    was solved for this pattern and verified. Layouts are kept, so a table that was stopped goes on.
    """
    ways = [word.strip().lower() for word in laid.split(",") if word.strip()]
    if not ways or any(word not in LAID for word in ways):
        raise click.UsageError("--laid knows plain and nap.")
    search = search_of(seed, seconds, effort)

    from marker.cloth.spread import known
    from marker.files.atomic import settle
    from marker.plain import csv_bytes
    from marker.tables import yardage as tables
    from marker.tables.source import fabrics_of, open_source

    known(fold)
    source = open_source(pattern, with_=with_, without=without, quantity=quantity)
    wanted = tables.entries(
        source,
        sizes=sizes,
        views=views,
        widths=source.widths(widths_of(widths, source.pattern.unit)),
        fabrics=fabrics_of(fabrics),
        laid=ways,  # type: ignore[arg-type]
        fold=fold,
        matching=matching,
        words=cloth_words(source, prints=prints),
        search=search,
    )
    folder = out or usual_out(pattern, "yardage")
    settle(folder)
    with interruptible() as stopped:
        solve = solver(search, cores, cluster, cache, fresh, stopped)
        table = tables.yardage(source, wanted, search, solve, matching)
    files = {
        folder / "yardage.md": tables.as_markdown(table).encode(),
        folder / "yardage.csv": csv_bytes(tables.as_csv(table)),
    }
    written_and_told(tables, table, folder, files, as_json)
    if not table.complete:
        context.exit(3)
