"""marker trace: photographs of paper pieces to a pattern file, and the target sheet for them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from marker.commands.lengths import length, spelled
from marker.commands.once import Command
from marker.commands.pattern_file import asked_allowance, asked_widths, tell_written
from marker.plain import visible

if TYPE_CHECKING:
    from marker.trace.find import Printed


@click.command(cls=Command)
@click.argument("photos", nargs=-1, metavar="[PHOTO]...", type=click.Path(path_type=Path))
@click.option(
    "--target", type=click.Choice(["a4", "letter"]), help="Write the target sheet for this paper (PDF)."
)
@click.option(
    "--sheets",
    type=click.IntRange(1, 4),
    default=1,
    show_default=True,
    help="With --target: how many different sheets. Pieces over 35 cm need two to four around them.",
)
@click.option("--out", type=click.Path(path_type=Path), help="File to write.  [default: PHOTO with .toml]")
@click.option(
    "--lens",
    "lens_photos",
    multiple=True,
    metavar="PHOTO",
    type=click.Path(path_type=Path),
    help="A picture of sheets alone by the same camera and zoom, from another angle, to learn the lens from.",
)
@click.option("--ruler", metavar="LENGTH", help='What the line marked "100 mm" measures on your print.')
@click.option(
    "--board",
    metavar="WIDTHxLENGTH",
    help="What the chequered board measures on your print, more exact than --ruler.  [default: 180x240 mm]",
)
@click.option(
    "--tolerance",
    metavar="LENGTH",
    default="0.5 mm",
    show_default=True,
    help="How far the smoothed outline may lie off the measured one.",
)
@click.option(
    "--grain",
    type=click.Choice(["up", "down", "left", "right"]),
    help="Which way the tops of the pieces point, as sheet 1 (else the lowest number) is read.",
)
@click.option(
    "--unit",
    type=click.Choice(["mm", "cm", "in"]),
    help="What the pattern file, and numbers without a unit, count in.  [default: cm]",
)
@click.option("--name", help="What the pattern is called.")
@click.option("--seam-allowance", help='Such as "15 mm", or included if the paper has it.')
@click.option(
    "--width", "widths", multiple=True, metavar="[MATERIAL=]LENGTH", help="Width of the cloth, such as 140cm."
)
@click.option("--replace", is_flag=True, help="Write over files that are there already.")
def trace(
    photos: tuple[Path, ...],
    target: Literal["a4", "letter"] | None,
    sheets: int,
    out: Path | None,
    lens_photos: tuple[Path, ...],
    ruler: str | None,
    board: str | None,
    tolerance: str,
    grain: Literal["up", "down", "left", "right"] | None,
    unit: Literal["mm", "cm", "in"] | None,
    name: str | None,
    seam_allowance: str | None,
    widths: tuple[str, ...],
    replace: bool,
) -> None:
    """Trace paper pieces in photographs into one pattern file.

    First print the target sheet (marker trace --target a4), at 100 %, and check its rulers. Lay it on a
    plain floor beside the paper piece, both flat, with floor between and all around them, and take a picture
    from straight above. One picture may show several pieces, and several pictures make one pattern. Then
    look at the proof pictures that are written beside the pattern file: the outlines are drawn over your
    photographs. What a photograph does not say is left blank in the pattern file, marked "todo".

    Paper lying h higher than the sheet is traced too large by h/D, where D is how far the camera is: 5 mm at
    1 m makes 0.5 %. The lens is learnt from the sheets, from all pictures of one camera together. A printer
    that is off by 0.3 % makes a long edge of 1 m wrong by 3 mm: measure the board, and use --board.
    """
    from marker.errors import InputError
    from marker.trace import opencv

    if target is not None:
        if photos or lens_photos:
            raise click.UsageError("Print the target sheet first, without photographs.")
        opencv()
        _write_target(target, sheets, out or Path(f"target-{target}.pdf"), replace)
        return
    if not photos:
        raise click.UsageError("Name at least one photograph, or print the sheet with --target a4 or letter.")
    opencv()

    from marker.files.atomic import write_all
    from marker.files.pattern_writer import pattern_text
    from marker.importing.merge import with_answers
    from marker.trace.pattern import Options, trace_photos

    pattern = out or Path(photos[0].with_suffix(".toml").name)
    proofs = _proof_names(pattern, photos, "proof")
    troubles = dict(zip(map(str, photos), _proof_names(pattern, photos, "problem"), strict=True))
    for file in (pattern, *proofs):
        if file.exists() and not replace:
            raise InputError(
                f"{file}: is there already; name another file with --out, or add --replace to write over it."
            )
    if pattern.suffix.lower() != ".toml":
        raise InputError(f"--out {pattern}: a pattern file is written; let its name end in .toml.")
    options = Options(_printed(ruler, board, unit), _tolerance(tolerance, unit), unit or "cm")

    def show_trouble(photo: str, picture: bytes) -> str:
        write_all({troubles[photo]: picture})
        return str(troubles[photo])

    result = trace_photos(photos, options, lens_photos, show_trouble)
    title = name or pattern.stem.replace("-", " ").replace("_", " ").capitalize()
    found = with_answers(result.found, title, asked_allowance(seam_allowance, unit), grain)
    text = pattern_text(found, asked_widths(widths, found, unit))
    pictures = {file: picture for file, (_, picture) in zip(proofs, result.proofs, strict=True)}
    write_all({pattern: text.encode(), **pictures})
    for note in found.notes:
        click.echo(visible(note))
    tell_written(pattern, text, found)
    click.echo("Look at the outlines over your photographs before you cut:")
    for file in proofs:
        click.echo(f"  {file}")


def _write_target(paper: Literal["a4", "letter"], sheets: int, out: Path, replace: bool) -> None:
    from marker.errors import InputError
    from marker.files.atomic import write_bytes
    from marker.trace.target import target_pdf

    if out.suffix.lower() != ".pdf":
        raise InputError(f"--out {out}: the target sheet is a PDF; let its name end in .pdf.")
    if out.exists() and not replace:
        raise InputError(f"{out}: is there already; name another file with --out, or add --replace.")
    write_bytes(out, target_pdf(paper, sheets))
    click.echo(
        f"Written to {out}: print at 100 %, not fitted to the page. The board must measure 180 mm x "
        "240 mm and the rulers 100 mm and 4 in; if they do not, tell with --board or --ruler when you trace."
    )


def _proof_names(pattern: Path, photos: tuple[Path, ...], what: str) -> list[Path]:
    """A picture beside the pattern file for each photograph; two photographs of one name get numbers."""
    names = [f"{pattern.stem}-{photo.stem}-{what}" for photo in photos]
    return [
        pattern.with_name(f"{name}-{i + 1}.png" if names.count(name) > 1 else f"{name}.png")
        for i, name in enumerate(names)
    ]


def _printed(ruler: str | None, board: str | None, unit: str | None) -> Printed:
    """The board as printed. Raises InputError for a length that no printer makes of it."""
    from marker.errors import InputError
    from marker.trace.find import Printed
    from marker.trace.target import BOARD
    from marker.units import parse_length

    if ruler is not None and board is not None:
        raise click.UsageError("Give --ruler or --board, not both.")
    if ruler is not None:
        option = f"--ruler {ruler}"
        share = length("--ruler", ruler, unit) / 100.0
        width, height = share * BOARD[0], share * BOARD[1]
    elif board is not None:
        option = f"--board {board}"
        first, _, second = spelled("--board ", board.lower(), unit).replace("×", "x").partition("x")
        try:
            width, height = parse_length(first), parse_length(second)
        except InputError as problem:
            raise InputError(f"{option}: {problem}") from None
    else:
        return Printed()
    for measured, true in ((width, BOARD[0]), (height, BOARD[1])):
        if not 0.9 < measured / true < 1.1:
            raise InputError(
                f"{option}: is more than 10 % off what the sheet should measure; "
                "check the number and its unit, or print the sheet again at 100 %."
            )
    return Printed(width, height)


def _tolerance(text: str, unit: str | None) -> float:
    from marker.errors import InputError

    tolerance = length("--tolerance", text, unit)
    if not 0.2 <= tolerance <= 3.0:
        raise InputError(f"--tolerance {text}: write a length from 0.2 mm to 3 mm.")
    return tolerance
