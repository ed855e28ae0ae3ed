"""What import and trace have in common: options about the pattern file they write, and words about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from marker.importing.found import Found, FoundPiece


def asked_allowance(text: str | None) -> str | None:
    """The option --seam-allowance as a pattern file says it. Raises InputError."""
    from marker.errors import InputError
    from marker.units import NotALength, parse_length

    if text is None or text.strip().lower() == "included":
        return text and "included"
    try:
        parse_length(text)
        bare = text.strip().replace(".", "").replace(",", "").isdigit()
    except NotALength as problem:
        raise InputError(f"--seam-allowance {text}: {problem}") from None
    if bare:
        raise InputError(f'--seam-allowance {text}: say the unit too, like "{text.strip()} mm".')
    return text.strip()


def asked_widths(texts: tuple[str, ...], found: Found) -> dict[str, str]:
    """The option --width by material, as a pattern file says it. Raises InputError."""
    from marker.errors import InputError
    from marker.units import parse_length

    first = next(
        (cut.material for piece in found.pieces for cut in piece.cuts or () if cut.material), "fabric"
    )
    widths = {}
    for text in texts:
        material, _, length = text.rpartition("=")
        try:
            parse_length(length)
        except ValueError as problem:
            raise InputError(f"--width {text}: {problem}") from None
        widths[material.strip() or first] = length.strip()
    return widths


def tell_written(target: Path, text: str, found: Found) -> None:
    """What was written, and what is still to be filled in."""
    import tomllib

    from marker.api import describe_file
    from marker.errors import InputError
    from marker.files.blanks import blanks
    from marker.files.messages import place

    data = tomllib.loads(text)
    for line in _noted(found):
        click.echo(line)
    count = len(data["piece"])
    click.echo(f"\nWritten to {target}: {count} piece{'s' if count > 1 else ''}.")
    open_ = list(blanks(data))
    if not open_:
        try:
            click.echo(describe_file(target))
        except InputError as problem:
            click.echo(f"Careful: {problem}")
        return
    click.echo(f'{len(open_)} blank{"s" if len(open_) > 1 else ""} to fill in (search the file for "todo"):')
    for loc, _ in open_[:40]:
        click.echo(f"  {', '.join(place(loc, data))}")
    if len(open_) > 40:
        click.echo("  …")


def _noted(found: Found) -> list[str]:
    """Notes of pieces beside what the file calls the piece; each once, with its sizes if not all have it."""
    drawn: dict[tuple[str | None, str | None], list[FoundPiece]] = {}
    for index, piece in enumerate(found.pieces):
        alone = str(index) if piece.name is None and piece.number is None else None
        drawn.setdefault((piece.number or alone, None if piece.number else piece.name), []).append(piece)
    lines = []
    for sizes in drawn.values():
        name = next((piece.name for piece in sizes if piece.name), None)
        for note in dict.fromkeys(note for piece in sizes for note in piece.notes):
            having = [piece.size for piece in sizes if note in piece.notes]
            some = [size for size in having if size is not None] if len(having) < len(sizes) else []
            where = f", size{'s' if len(some) > 1 else ''} {', '.join(some)}" if some else ""
            lines.append((f'"{name}"' if name else "A piece without a name") + f"{where}: {note}")
    return lines
