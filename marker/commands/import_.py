"""marker import: drawings to a pattern file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from marker.commands.once import Command
from marker.commands.pattern_file import asked_allowance, asked_widths, tell_written
from marker.plain import visible

if TYPE_CHECKING:
    from marker.importing.found import Found, Options

KINDS = (".svg", ".svgz", ".pdf", ".dxf")
COUNTED = ("mm", "cm", "in")
"""Units of a drawing that people count cloth in, too."""
UNITS = ("mm", "cm", "m", "in", "px")


@click.command("import", cls=Command)
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path), help="Pattern file to write.  [default: FILE with .toml]"
)
@click.option(
    "--unit", type=click.Choice(UNITS), help="What one unit of the drawing is, if the drawing does not say."
)
@click.option("--scale", help="Correct a drawing that is too small or too large, such as 103.1%.")
@click.option("--page", type=click.IntRange(1), help="The page of a PDF that has several.")
@click.option(
    "--grain",
    type=click.Choice(["up", "down", "left", "right"]),
    help="Which way the tops of pieces without a grain line point in the drawing.",
)
@click.option("--name", help="What the pattern is called.")
@click.option("--seam-allowance", help='Such as "15 mm", or included if the outlines are cutting lines.')
@click.option(
    "--width",
    "widths",
    multiple=True,
    metavar="[MATERIAL=]LENGTH",
    help="Width of the cloth, such as 140cm or interfacing=90cm.",
)
@click.option(
    "--hand", type=click.Choice(["left", "right"]), help="The hand that pieces of a pair are drawn for (DXF)."
)
@click.option("--replace", is_flag=True, help="Write over the pattern file if there is one.")
def import_command(
    files: tuple[Path, ...],
    out: Path | None,
    unit: str | None,
    scale: str | None,
    page: int | None,
    grain: Literal["up", "down", "left", "right"] | None,
    name: str | None,
    seam_allowance: str | None,
    widths: tuple[str, ...],
    hand: str | None,
    replace: bool,
) -> None:
    """Read pieces from drawings (SVG, DXF, PDF) into one pattern file.

    What a drawing does not say is left blank in the pattern file, marked "todo".
    """
    from marker.errors import InputError
    from marker.files.atomic import write_text
    from marker.files.pattern_writer import pattern_text
    from marker.importing.found import Options
    from marker.importing.merge import merged, with_answers

    target = out or Path(_plain(files[0]).with_suffix(".toml").name)
    if target.exists() and not replace:
        raise InputError(
            f"{target}: is there already; name another file with --out, or add --replace to write over it."
        )
    counted = unit if unit in COUNTED else None
    options = Options(
        unit=unit,
        right_hand=None if hand is None else hand == "right",
        scale=_share("--scale", scale),
        page=page,
    )
    found = merged([(file.name, _read(file, options)) for file in files])
    name = name or found.name or _plain(files[0]).stem.replace("-", " ").replace("_", " ").capitalize()
    found = with_answers(
        found, name=name, seam_allowance=asked_allowance(seam_allowance, counted), grain=grain
    )
    text = pattern_text(found, asked_widths(widths, found, counted))
    write_text(target, text)
    for note in found.notes:
        click.echo(visible(note))
    tell_written(target, text, found)


def _read(file: Path, options: Options) -> Found:
    from marker.errors import InputError

    kind = _plain(file).suffix.lower()
    if kind in (".svg", ".svgz"):
        from marker.importing.svg import read_svg

        return read_svg(file, options)
    if kind == ".pdf":
        from marker.importing.pdf import read_pdf

        return read_pdf(file, options)
    if kind == ".dxf":
        from marker.importing.dxf import read_dxf

        return read_dxf(file, options)
    if not file.exists():
        raise InputError(f"{file}: there is no such file; check the name and the folder.")
    raise InputError(
        f"{file}: is no drawing that can be imported; name a file that ends in {', '.join(KINDS)}"
        " (photographs: marker trace)."
    )


def _plain(file: Path) -> Path:
    """The name of a drawing without the ending of its compression."""
    return file.with_suffix("") if file.name.lower().endswith(".svg.gz") else file


def _share(option: str, text: str | None) -> float:
    """103.1% or 1.031 as a factor."""
    if text is None:
        return 1.0
    word = text.strip().replace(",", ".")
    try:
        factor = float(word.removesuffix("%")) / (100 if word.endswith("%") else 1)
    except ValueError:
        factor = 0.0
    if not 0.01 <= factor <= 100:
        raise click.UsageError(f"{option}: '{text}' is no scale; write a percentage like 103.1%.")
    return factor
