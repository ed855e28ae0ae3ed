"""Open strip-packing instances as placing problems."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from marker.nest.problem import Kind, Problem, Variant

FOLDER = Path(__file__).parent / "instances"

GARMENTS = ("shirts", "swim", "trousers", "albano", "marques", "dagli", "mao")
"""The seven instances that come from the garment trade."""


@dataclass(frozen=True, eq=False)
class Piece:
    """An outline (float64[n, 2], counter-clockwise) wanted ``quantity`` times."""

    id: str
    quantity: int
    rotations: tuple[int, ...]
    outline: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Instance:
    """One published instance, in its own units."""

    name: str
    source: str
    strip_width: float
    pieces: tuple[Piece, ...]

    @property
    def area(self) -> float:
        return sum(piece.quantity * _area(piece.outline) for piece in self.pieces)

    @property
    def count(self) -> int:
        return sum(piece.quantity for piece in self.pieces)

    @property
    def scale(self) -> int:
        """Lattice units in a unit of the instance: the strip becomes one to two million units wide."""
        return -(-1_000_000 // int(self.strip_width))

    def density(self, length: float) -> float:
        """In percent of strip width times ``length``, a length in the instance's own units."""
        return 100 * self.area / (self.strip_width * length)


def names() -> list[str]:
    """All instances there are: those of the garment trade first."""
    others = sorted(path.stem for path in FOLDER.glob("*.json") if path.stem not in GARMENTS)
    return [*GARMENTS, *others]


def load(name: str) -> Instance:
    """Read an instance. Raises FileNotFoundError if there is none of that name."""
    data: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text())
    pieces = tuple(
        Piece(
            p["id"],
            p["quantity"],
            tuple(p["rotations"]),
            _counter_clockwise(np.array(p["outline"], dtype=float)),
        )
        for p in data["pieces"]
    )
    return Instance(data["name"], data["source"], float(data["strip_width"]), pieces)


@dataclass(frozen=True, eq=False)
class Task:
    """An instance as a placing problem, and what its kinds and variants stand for.

    ``pieces`` has for each kind the index of a piece for every copy; ``rotations`` for each kind the
    rotation in degrees of each variant.
    """

    instance: Instance
    problem: Problem
    pieces: tuple[tuple[int, ...], ...]
    rotations: tuple[tuple[int, ...], ...]


def to_task(instance: Instance) -> Task:
    """The placing problem on a lattice of ``instance.scale``.

    Outlines that are the same up to where they lie become one kind, and rotations that give the same
    outline become one variant. The reference point of a variant is the lower left corner of its box.
    """
    width = round(instance.strip_width * instance.scale)
    kinds: dict[tuple[bytes, ...], tuple[int, dict[bytes, tuple[int, NDArray[np.int64]]]]] = {}
    members: dict[tuple[bytes, ...], list[int]] = {}
    for index, piece in enumerate(instance.pieces):
        shapes: dict[bytes, tuple[int, NDArray[np.int64]]] = {}
        for rotation in piece.rotations:
            shape = np.rint(turned(piece.outline, rotation) * instance.scale).astype(np.int64)
            shapes.setdefault(_key(shape), (rotation, shape))
        key = tuple(sorted(shapes))
        kinds.setdefault(key, (index, shapes))
        members.setdefault(key, []).extend([index] * piece.quantity)
    problem = Problem(
        tuple(
            Kind(
                tuple(_variant(shape, width) for _, shape in shapes.values()),
                len(members[key]),
                _area(instance.pieces[index].outline) * instance.scale**2,
            )
            for key, (index, shapes) in kinds.items()
        ),
        width,
    )
    rotations = tuple(tuple(rotation for rotation, _ in shapes.values()) for _, shapes in kinds.values())
    return Task(instance, problem, tuple(tuple(m) for m in members.values()), rotations)


def turned(outline: NDArray[np.float64], degrees: int) -> NDArray[np.float64]:
    """The outline turned counter-clockwise by quarter turns, lower left corner of its box at the origin."""
    if degrees % 90:
        raise ValueError(f"only quarter turns are exact, not {degrees} degrees")
    for _ in range(degrees // 90 % 4):
        outline = np.column_stack((-outline[:, 1], outline[:, 0]))
    return outline - outline.min(axis=0)


def _variant(polygon: NDArray[np.int64], width: int) -> Variant:
    reach = polygon.max(axis=0)
    return Variant(polygon, 0, int(reach[0]), 0, width - int(reach[1]))


def _key(shape: NDArray[np.int64]) -> bytes:
    """The same for any first corner."""
    first = int(np.lexsort((shape[:, 1], shape[:, 0]))[0])
    return np.roll(shape, -first, axis=0).tobytes()


def _area(outline: NDArray[np.float64]) -> float:
    x, y = outline[:, 0], outline[:, 1]
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def _counter_clockwise(outline: NDArray[np.float64]) -> NDArray[np.float64]:
    return outline if _area(outline) > 0 else outline[::-1].copy()
