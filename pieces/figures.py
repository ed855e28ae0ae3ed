"""Draws the figures of the README: demo patterns on real cloth. Run it as ``python pieces/figures.py``.

The same effort, seed and cores give the same layouts, so the figures change only when the search does.
"""

from __future__ import annotations

import io
from pathlib import Path

from marker.api import Picture, lay, load_job, save
from marker.report.text import render

HERE = Path(__file__).parent
COLOURS = 64
"""Colours kept: enough for tinted pieces on a print, and a fifth of the size."""

LAYS: tuple[tuple[str, str, str, str | None, tuple[Picture, ...]], ...] = (
    ("smock", "harbour-smock.toml", "M", None, ("png",)),
    ("skirt-plaid", "gored-skirt.toml", "M", "plaid-uneven-150.toml", ("png", "seams")),
    ("smock-bars", "harbour-smock.toml", "M", "stripe-wide-140.toml", ("png", "seams")),
    ("apron-remnants", "market-apron.toml", "one size", "remnants-ticking.toml", ("png",)),
)
"""Name of the figure, pattern, size, fabric (``None`` for the pattern's own) and the pictures to take."""


def main() -> None:
    """Lays each job out, tells what to buy, and keeps the pictures of the main material."""
    from tempfile import TemporaryDirectory

    for name, pattern, size, fabric, pictures in LAYS:
        job = load_job(HERE / pattern, size=size, fabrics=[HERE / fabric] if fabric else [])
        answer = lay(job, effort=10, cores=2)
        with TemporaryDirectory() as folder:
            save(answer, folder, pictures)
            for picture in sorted(Path(folder).glob("fabric*.png")):
                told = picture.stem.removeprefix("fabric")
                (HERE / "figures" / f"{name}{told}.png").write_bytes(_smaller(picture.read_bytes()))
        print("\n".join(render(answer.layout, answer.job, width=100).splitlines()[:8]))


def _smaller(png: bytes) -> bytes:
    from PIL import Image

    small = io.BytesIO()
    with Image.open(io.BytesIO(png)) as picture:
        picture.convert("RGB").quantize(COLOURS).save(small, "PNG", optimize=True)
    return small.getvalue()


if __name__ == "__main__":
    main()
