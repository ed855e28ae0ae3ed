"""From photographs to what a pattern file is made of: the steps of this package in their order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from marker.errors import InputError
from marker.importing.found import Found, FoundPiece, Unit
from marker.trace.find import Printed, Seen, View, find_sheets, solve
from marker.trace.outline import Edge, Unclear, find_edges, where
from marker.trace.photo import Photo, read_photo
from marker.trace.proof import Traced, proof, trouble
from marker.trace.smooth import TOLERANCE, Smoothed, smooth

MOST_UNCERTAIN = 0.75
"""Millimetres, standard deviation, that the sheets may leave open for the piece: twice as much is the 1.5 mm
that 95 of 100 points are promised to keep."""
MOST_UNCERTAIN_AREA = 0.0025
"""Standard deviation of a piece's area, as a part of it, that the sheets may leave open."""
MOST_PHOTOS = 60
MOST_KEPT = 4
"""Photographs that are kept in memory, all of them."""


@dataclass(frozen=True)
class Options:
    """What the person says about the sheets and the result."""

    printed: Printed = field(default_factory=Printed)
    tolerance: float = TOLERANCE
    unit: Unit = "cm"


@dataclass(frozen=True)
class Result:
    """The pieces, and a proof picture (PNG) for each photograph in their order."""

    found: Found
    proofs: tuple[tuple[str, bytes], ...]


def trace_photos(
    photos: Sequence[str | Path],
    options: Options,
    lens_photos: Sequence[str | Path] = (),
    show_trouble: Callable[[str, bytes], str] | None = None,
) -> Result:
    """Trace every paper piece in ``photos``; ``lens_photos`` show sheets only, and help to learn the lens.

    Where an outline is refused for a place in the picture, ``show_trouble`` is called with the photograph's
    path and a picture of the place (PNG), and gives back the name of the file it was written to. Raises
    InputError.
    """
    if len(photos) + len(lens_photos) > MOST_PHOTOS:
        raise InputError(
            f"{len(photos) + len(lens_photos)} photographs are more than {MOST_PHOTOS} at a time."
        )
    views = _views([*photos, *lens_photos], options.printed)
    pieces: list[FoundPiece] = []
    proofs: list[tuple[str, bytes]] = []
    notes: list[str] = []
    for path, known in zip(photos, views, strict=False):
        view = known
        if len(views) > MOST_KEPT:
            view = replace(known, photo=read_photo(path))
        try:
            edges = find_edges(view)
            for edge in edges:
                _refuse_uncertain(view, edge)
        except Unclear as problem:
            shown = show_trouble(str(path), trouble(view, problem.pixels)) if show_trouble else ""
            raise InputError(f"{problem}{f' See {shown}.' if shown else ''}") from None
        traced = []
        for edge in edges:
            outline = smooth(view.to_floor(edge.pixels), options.tolerance)
            number = str(len(pieces) + 1)
            traced.append(Traced(number, outline))
            pieces.append(_found(path, view, edge, outline, number))
        proofs.append((str(path), proof(view, traced)))
        notes.append(_note(path, view, len(edges)))
    notes.append(
        f"Outlines are smoothed within {options.tolerance:g} mm and seen as the paper lay, printed side up. "
        "Paper that lies h higher than the sheets is traced too large by h / D, D the distance of the "
        "camera: 5 mm at 1 m is 0.5 %. Measure a long edge of each piece on the paper and compare."
    )
    return Result(Found(None, options.unit, (), tuple(pieces), tuple(notes)), tuple(proofs))


def _views(paths: Sequence[str | Path], printed: Printed) -> list[View]:
    """The views of photographs, those of one camera solved together, in the order given."""
    seen: list[tuple[Photo, tuple[Seen, ...]]] = []
    for path in paths:
        photo = read_photo(path)
        sheets = find_sheets(photo)
        if len(paths) > MOST_KEPT:
            # Sixty photographs would take gigabytes: they are read again when their turn comes.
            photo = replace(photo, pixels=np.broadcast_to(np.uint8(0), photo.pixels.shape))
        seen.append((photo, sheets))
    views: dict[int, View] = {}
    for camera in dict.fromkeys(photo.camera for photo, _ in seen):
        mine = [i for i, (photo, _) in enumerate(seen) if photo.camera == camera]
        views.update(zip(mine, solve([seen[i] for i in mine], printed), strict=True))
    return [views[i] for i in range(len(seen))]


def _refuse_uncertain(view: View, edge: Edge) -> None:
    open_ = view.uncertainty(edge.pixels)
    area = view.area_uncertainty(edge.pixels)
    if float(np.percentile(open_, 95)) <= MOST_UNCERTAIN and area <= MOST_UNCERTAIN_AREA:
        return
    at = edge.pixels[open_ >= np.percentile(open_, 97)]
    raise Unclear(
        f"{view.photo.path}: the piece reaches too far from the target for a true outline: "
        f"{where(view, at.mean(axis=0))} it is known to about {2 * float(open_.max()):.1f} mm only, "
        f"its area to {200 * area:.1f} %; lay the sheet nearer, take the picture from nearer, or lay further "
        "sheets (--target with --sheets 4) at the other sides of the piece.",
        at,
    )


def _found(path: str | Path, view: View, edge: Edge, outline: Smoothed, number: str) -> FoundPiece:
    ring = outline.ring
    placed = outline.moved(-np.floor(ring.min(axis=0)))
    wide, high = ring.max(axis=0) - ring.min(axis=0)
    curves = sum(segment.controls is not None for segment in outline.segments)
    sure = max(0.3, 2 * float(np.percentile(view.uncertainty(edge.pixels), 95)) + outline.off)
    note = (
        f"Traced from {Path(path).name}: {wide:.1f} mm x {high:.1f} mm, {len(outline.segments) - curves} "
        f"straight edges and {curves} curves, smoothed by up to {outline.off_98:.2f} mm; good to about "
        f"{sure:.1f} mm if sheet and paper lay flat."
    )
    return FoundPiece(outline=placed.path(), number=number, notes=(note,))


def _note(path: str | Path, view: View, count: int) -> str:
    sheets = ", ".join(f"{seen.sheet.number} ({seen.sheet.paper.upper()})" for seen in view.seen)
    corners = sum(len(seen.pixels) for seen in view.seen)
    bent = 100.0 * float(view.lens.sum())
    return (
        f"{Path(path).name}: {count} piece{'' if count == 1 else 's'}; target sheet {sheets}, {corners} "
        f"corners, off by {view.noise:.2f} pixels; lens bends the picture by {abs(bent):.1f} % at corners."
    )
