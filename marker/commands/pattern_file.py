"""What import and trace have in common: options about the pattern file they write, and words about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.commands.lengths import of_material, once_each, spelled_length
from marker.plain import visible

if TYPE_CHECKING:
    from marker.importing.found import Found, FoundPiece


def asked_allowance(text: str | None, unit: str | None) -> str | None:
    """The option --seam-allowance as a pattern file says it. Raises InputError."""
    if text is None or text.strip().lower() == "included":
        return text and "included"
    return spelled_length("--seam-allowance", text, unit)


def asked_widths(texts: tuple[str, ...], found: Found, unit: str | None) -> dict[str, str]:
    """The option --width by material, as a pattern file says it. Raises InputError."""
    first = next(
        (cut.material for piece in found.pieces for cut in piece.cuts or () if cut.material), "fabric"
    )
    given = [of_material(text) for text in texts]
    once_each("--width", [material for material, _ in given], first)
    return {
        material or first: spelled_length("--width", length, unit, material) for material, length in given
    }


def tell_written(target: Path, text: str, found: Found) -> None:
    """What was written, and what is still to be filled in."""
    import tomllib

    from marker.api import describe_file
    from marker.errors import InputError
    from marker.files.blanks import blanks
    from marker.files.messages import place

    data = tomllib.loads(text)
    for line in dict.fromkeys(_noted(found)):
        click.echo(visible(line))
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
        click.echo(visible(f"  {', '.join(place(loc, data))}"))
    if len(open_) > 40:
        click.echo("  …")
    for line in _unnamed_cloths(data):
        click.echo(visible(line))


def _unnamed_cloths(data: dict[str, Any]) -> list[str]:
    """What to do about materials of the drawing for which nobody named a cloth, where another has one."""
    from marker.files.blanks import hint_of
    from marker.files.messages import listed

    cloths = data.get("fabric", {})
    named = [material for material, cloth in cloths.items() if hint_of(cloth["width"]) is None]
    lines = []
    for material in cloths if named else ():
        if material in named:
            continue
        pieces = [
            piece["name"]
            for piece in data["piece"]
            if any(cut["material"] == material for cut in piece["cuts"])
        ]
        lines.append(
            f"Careful: the drawing says that {listed(pieces)} {'is' if len(pieces) == 1 else 'are'} cut from "
            f'"{material}", and no cloth is named for that: write its width under [fabric.{material}], or '
            f'replace "{material}" in the cuts by {" or ".join(named)}.'
        )
    return lines


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
