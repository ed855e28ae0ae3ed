"""marker check: are these files right, does this layout hold."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import click

from marker.commands.once import Command
from marker.commands.shared import PAPERS, usual_out
from marker.plain import counted, visible

MOST_LINES = 40
"""Lines about one file of what is missing, and of what is odd."""


@click.command(cls=Command)
@click.argument("files", nargs=-1, metavar="FILE...")
@click.option("--pattern", help="Pattern file of a layout, if it is no longer where it was.")
@click.option("--schema", type=click.Choice(["pattern", "fabric"]), help="Print the JSON Schema for editors.")
@click.option(
    "--drawings",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Draw each piece of a pattern with its measurements into this folder (PDF).",
)
@click.option(
    "--paper",
    "papers",
    multiple=True,
    type=click.Choice(PAPERS),
    help="Print each piece of a pattern once in true size: on sheets to stick together, or a plotter's roll.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for what --paper prints.  [default: one named after the pattern, in layouts]",
)
@click.option("--size", help="With --drawings and --paper: only this size.")
@click.option("--json", "as_json", is_flag=True, help="Machine-readable result.")
def check(
    files: tuple[str, ...],
    pattern: str | None,
    schema: str | None,
    drawings: Path | None,
    papers: tuple[Any, ...],
    out: Path | None,
    size: str | None,
    as_json: bool,
) -> None:
    """Check pattern, fabric and layout files.

    A layout is verified against the pattern it was made from. Of other files every mistake is told that can
    be found, what a half-written one still lacks, and how wide each cloth was understood to be.
    """
    from marker.files.json_schema import fabric_schema, pattern_schema

    if schema:
        click.echo(json.dumps(pattern_schema() if schema == "pattern" else fabric_schema(), indent=1))
        return
    if not files:
        raise click.UsageError("Name at least one file.")
    results = [_check_one(file, pattern) for file in files]
    usable = [
        file
        for file, result in zip(files, results, strict=True)
        if not result.get("mistakes") and not result.get("missing")
    ]
    made = 0
    if drawings:
        from marker.api import draw_pieces

        for file in usable:
            for written in draw_pieces(file, drawings, size):
                made += 1
                click.echo(f"Drawn: {written}", err=as_json)
    if papers:
        from marker.api import print_pieces

        for file in usable:
            saved = print_pieces(file, out or usual_out(file, "pieces"), papers, size)
            for written in saved.files:
                made += 1
                click.echo(f"Written: {written}", err=as_json)
            for note in saved.notes:
                click.echo(visible(note), err=as_json)
    if (drawings or papers) and usable and not made:
        raise click.UsageError(
            f"{'--paper' if papers else '--drawings'} is for the pieces of a pattern file, and none is named."
        )
    if as_json:
        click.echo(json.dumps(results, indent=1))
    else:
        for result in results:
            _tell(result)
    if any(result.get("mistakes") for result in results):
        sys.exit(1)
    if any(result["faults"] or result.get("missing") for result in results):
        sys.exit(3)


def _tell(result: dict[str, Any]) -> None:
    """One file's result in lines; all of it on stderr if there are mistakes."""
    wrong = bool(result.get("mistakes"))
    for mistake in result.get("mistakes", ()):
        click.echo(visible(f"{result['file']}: {mistake}."), err=True)
    if not wrong:
        click.echo(visible(f"{result['file']}: {result['summary']}"))
        for line in (*result.get("read", ()), *result["faults"]):
            click.echo(f"  {visible(line)}")
    for field, words in (("missing", "missing"), ("odd", "look at")):
        lines = result.get(field, ())
        for line in lines[:MOST_LINES]:
            click.echo(f"  {words}: {visible(line)}", err=wrong)
        if len(lines) > MOST_LINES:
            click.echo(f"  {words}: and {len(lines) - MOST_LINES} more", err=wrong)


def _check_one(file: str, pattern: str | None) -> dict[str, Any]:
    """One file's result: ``file``, ``summary`` in words and ``faults`` (sentences, none if all is well).

    Of a pattern or fabric file also what was ``read``, ``mistakes``, what is ``missing`` and what is ``odd``.
    """
    from marker import api
    from marker.files.survey import survey

    if Path(file).suffix.lower() == ".json":
        checked = api.check_layout(file, pattern)
        faults = []
        for fault in checked.faults:
            about = [fault.material, f"piece {fault.piece}" if fault.piece else ""]
            faults.append(": ".join(filter(None, [", ".join(filter(None, about)), fault.message])))
        count = sum(len(material.placements) for material in checked.layout.materials)
        if faults:
            summary = counted(len(faults), "fault")
        else:
            summary = f"verified, {counted(count, 'placement holds', 'placements hold')}"
            lost = [each for laid in checked.layout.materials for each in laid.missing]
            if lost:
                copies = counted(sum(each.count for each in lost), "copy has", "copies have")
                summary = f"verified but incomplete, {counted(count, 'placement holds', 'placements hold')}"
                summary += f" and {copies} no place"
        return {"file": file, "summary": summary, "faults": faults}
    found = survey(file)
    told = {name: list(getattr(found, name)) for name in ("read", "mistakes", "missing", "odd")}
    return {"file": file, "summary": found.summary, "faults": [], **told}
