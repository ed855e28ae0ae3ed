"""marker compare: one job on several cloths, widths, folds or levels of matching."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from marker.commands.cloth_options import by_material, print_and_nap
from marker.commands.lengths import widths_of
from marker.commands.once import Command
from marker.commands.shared import MATCHINGS, interruptible, job_options, usual_out
from marker.commands.table_options import search_of, search_options, solver, written_and_told


@click.command(cls=Command)
@click.argument("pattern")
@job_options
@click.option(
    "--fabric",
    "fabrics",
    multiple=True,
    metavar="FILE",
    help="Fabric file to compare, or own for the pattern's cloth; may be repeated.  [default: own]",
)
@click.option(
    "--width",
    "widths",
    multiple=True,
    metavar="[MATERIAL=]LENGTH",
    help="Width to compare, such as 140cm, 55in or interfacing=90cm; may be repeated.",
)
@print_and_nap
@click.option(
    "--fold", "folds", multiple=True, help="Way to spread the cloth; may be repeated.  [default: best]"
)
@click.option(
    "--match",
    "matchings",
    multiple=True,
    type=click.Choice(MATCHINGS),
    help="How much of a print has to match; may be repeated.  [default: main]",
)
@click.option("--material", help="Material to draw; the main one if not given.")
@search_options
@click.option("--out", type=click.Path(path_type=Path), help="Folder for table and figure.")
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON instead of the table.")
@click.pass_context
def compare(
    context: click.Context,
    pattern: str,
    size: str | None,
    view: str | None,
    with_: tuple[str, ...],
    without: tuple[str, ...],
    quantity: int,
    fabrics: tuple[str, ...],
    widths: tuple[str, ...],
    prints: tuple[str, ...],
    nap: bool,
    folds: tuple[str, ...],
    matchings: tuple[Any, ...],
    material: str | None,
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
    """Compare cloths, widths, folds and matching for one job.

    All combinations of what is repeated, each laid out and verified with the same budget: a table, and a
    figure with the lays below each other at one scale. What nap or print takes is the difference to a
    second layout, on the same cloth laid plain.
    """
    search = search_of(seed, seconds, effort)

    from marker.errors import InputError
    from marker.files.atomic import settle
    from marker.plain import csv_bytes, file_stem
    from marker.report.side_by_side import MOST, side_by_side_files
    from marker.tables import compare as tables
    from marker.tables.panels import panels
    from marker.tables.source import open_source

    source = open_source(pattern, with_=with_, without=without, quantity=quantity)
    wanted = tables.alternatives(
        source,
        size=size,
        view=view,
        files=fabrics,
        widths=source.widths(widths_of(widths, source.pattern.unit)),
        folds=folds or ("best",),
        matchings=matchings or ("main",),
        prints=by_material(source, "--print", prints),
        nap=(source.main_material(),) if nap else (),
        search=search,
    )
    materials = wanted[0].job.materials
    if material is not None and material not in materials:
        raise InputError(f"--material {material}: this job cuts from {', '.join(materials)}.")
    drawn = material or source.main_material(materials)
    folder = out or usual_out(pattern, wanted[0].job.size, wanted[0].job.view, "compare")
    settle(folder)
    with interruptible() as stopped:
        solve = solver(search, cores, cluster, cache, fresh, stopped)
        table = tables.compare(source, wanted, search, solve)
    files: dict[Path, bytes] = {
        folder / "compare.md": tables.as_markdown(table).encode(),
        folder / "compare.csv": csv_bytes(tables.as_csv(table)),
    }
    shown = panels(table, drawn)
    if shown:
        stem = file_stem(drawn)
        heading = f"{tables.title(table)}, {drawn}"
        for fmt, data in side_by_side_files(shown[:MOST], heading).items():
            files[folder / f"compare-{stem}.{fmt}"] = data
    written_and_told(tables, table, folder, files, as_json)
    if len(shown) > MOST and not as_json:
        click.echo(f"The figure shows the first {MOST} of {len(shown)} lays.")
    if not table.complete:
        context.exit(3)
