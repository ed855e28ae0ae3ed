"""How blocks of pieces are inserted in a drawing: seen or hidden, and at which scale.

By the standard a block is a piece as it is drawn. Where the drawing shows it larger, stretched or turned
over, what is shown counts, and both readings are told.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.importing.dxf_shapes import Layers
from marker.importing.found import Point

SAME = 1e-4
"""Share by which two scales may differ and still be one."""

LARGEST = 1000.0
"""Times that a block may be inserted larger or smaller than it is drawn."""


@dataclass(frozen=True)
class Insertion:
    """Where (1, 0) and (0, 1) of a block go, from where its own origin goes."""

    right: Point = (1.0, 0.0)
    up: Point = (0.0, 1.0)

    def __call__(self, point: Point) -> Point:
        x, y = point
        return x * self.right[0] + y * self.up[0], x * self.right[1] + y * self.up[1]

    @property
    def scales(self) -> tuple[float, float]:
        """How much longer the block becomes across and up."""
        return math.hypot(*self.right), math.hypot(*self.up)

    @property
    def mirrored(self) -> bool:
        return self.right[0] * self.up[1] - self.right[1] * self.up[0] < 0


@dataclass(frozen=True)
class Inserted:
    """How each block that is inserted is shown; those inserted only where nobody sees them; and notes."""

    ways: dict[str, Insertion]
    hidden: frozenset[str]
    notes: tuple[str, ...]


def inserted(path: str | Path, space: Iterable[Any], names: Iterable[str], layers: Layers) -> Inserted:
    """What the insertions in ``space`` say of the blocks of these names.

    Raises InputError for a block that is inserted at several scales: nothing tells which is the piece.
    """
    shown: dict[str, list[Insertion]] = {}
    unseen: set[str] = set()
    for entity in space:
        if entity.dxftype() != "INSERT":
            continue
        name = str(entity.dxf.get("name", "")).casefold()
        # On a layer that is off, a block still shows what is on layers of its own.
        if layers.hide(entity, str(entity.dxf.get("layer", "0"))):
            unseen.add(name)
        else:
            shown.setdefault(name, []).append(_insertion(entity))
    ways: dict[str, Insertion] = {}
    hidden: set[str] = set()
    notes = []
    for block in names:
        found = shown.get(block.casefold(), [])
        if not found:
            if block.casefold() in unseen:
                hidden.add(block)
            continue
        first = found[0]
        absurd = [way for way in found if not all(1 / LARGEST <= scale <= LARGEST for scale in way.scales)]
        if absurd:
            raise InputError(
                f"{path}: block {block} is inserted at scale {_told(absurd[0])}, which is absurd; correct it."
            )
        others = [_told(way) for way in found if not _alike(way.scales, first.scales)]
        if others:
            raise InputError(
                f"{path}: block {block} is inserted at scale {_told(first)} and at {others[0]}, and nothing "
                "tells which is the piece; leave one of the two in the drawing."
            )
        over = all(way.mirrored for way in found)
        if not _alike(first.scales, (1.0, 1.0)) or over:
            ways[block] = next(way for way in found if way.mirrored == over)
        if not _alike(first.scales, (1.0, 1.0)):
            even = _alike(first.scales[:1], first.scales[1:])
            notes.append(
                f"Careful: block {block} is inserted {'at scale' if even else 'stretched by'} {_told(first)} "
                "and read so, not as the block itself is drawn."
            )
        if over:
            notes.append(f"Block {block} is inserted turned over, and read so.")
    return Inserted(ways, frozenset(hidden), tuple(notes))


def _insertion(entity: Any) -> Insertion:
    matrix = entity.matrix44()
    right, up = (matrix.transform_direction(way) for way in ((1, 0, 0), (0, 1, 0)))
    return Insertion((float(right.x), float(right.y)), (float(up.x), float(up.y)))


def _alike(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return all(abs(a - b) <= SAME * max(abs(a), abs(b)) for a, b in zip(one, other, strict=True))


def _told(way: Insertion) -> str:
    across, up = way.scales
    return f"{across:.4g}" if _alike((across,), (up,)) else f"{across:.4g} across and {up:.4g} up"
