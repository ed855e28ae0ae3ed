"""A size copied from another one, with named corners moved: its drawing written out in full.

Corners that are not moved stay. A straight edge stays straight between its ends. A curve keeps its direction
where it meets a corner, and between them it moves with the corners by its share of the way. A place on
the outline keeps its share of its edge; one measured from a corner keeps its distance. What lies inside
moves by the mean value coordinates of the outline (Floater 2003), which agree with the outline where they
meet it. The grain line keeps its direction and its length.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from marker.files.edges import CLOSED, Edge, path_edges, path_of
from marker.files.messages import listed, nearest
from marker.files.outline import Frame, parse_lines
from marker.files.schema import DrawingTable, MoveTable
from marker.files.typed import corner_names, corners_path
from marker.model.piece import Point

DETAIL = 24
"""Parts of each Bézier of the outline that what lies inside is moved by."""


class WrongCopy(ValueError):
    """What is wrong with one field of a copied drawing, as the end of a sentence."""

    def __init__(self, field: str, what: str) -> None:
        super().__init__(what)
        self.field = field


def named_places(drawing: DrawingTable, frame: Frame) -> dict[str, Point]:
    """The named corners of a drawing and where they lie, in the unit of the file.

    Raises WrongCorner.
    """
    if drawing.corners is not None:
        return corner_names(drawing.corners, frame)
    return {name: (at[0], at[1]) for name, at in drawing.named_corners.items()}


def copied(drawing: DrawingTable, base: DrawingTable, frame: Frame) -> DrawingTable:
    """``drawing``, which is like ``base``, with everything that it does not say itself taken over.

    ``base`` is right in itself and is no copy. Raises WrongCopy.
    """
    for field in ("outline", "corners", "named_corners"):
        if getattr(drawing, field):
            raise WrongCopy(
                field,
                f'size {drawing.like} has the outline that this one copies; leave "{field}" out, or "like"',
            )
    names = named_places(base, frame)
    moves = {name: _by(name, move, frame) for name, move in drawing.move.items()}
    for name in moves:
        if name not in names:
            like = nearest(name, names)
            raise WrongCopy(
                "move",
                f"size {drawing.like} has no corner {name}; "
                + (f'did you mean "{like}"? ' if like else "")
                + (f"its named corners are {listed(names)}" if names else "give its corners names first"),
            )
    size = frame.size
    at = {name: (x * size, y * size) for name, (x, y) in names.items()}
    old = path_edges(_path_data(base, frame), frame, list(at.values()))
    change = Change(old, _moved(old, moves, at))

    def place(point: Sequence[float]) -> list[float]:
        x, y = change.on_outline((point[0] * size, point[1] * size))
        return [x / size, y / size]

    def spot(given: list[float] | str) -> list[float] | str:
        return given if isinstance(given, str) else place(given)

    def inside(point: Sequence[float]) -> list[float]:
        x, y = change.inside((point[0] * size, point[1] * size))
        return [x / size, y / size]

    followed = {
        "notches": [n.model_copy(update={"at": None if n.at is None else spot(n.at)}) for n in base.notches],
        "fold": base.fold and [spot(end) for end in base.fold],
        "hem": base.hem and [spot(end) for end in base.hem],
        "allowances": [
            a.model_copy(update={"from_": spot(a.from_), "to": spot(a.to)}) for a in base.allowances
        ],
        "grain": base.grain and _shifted(base.grain, inside),
        "marks": [m.model_copy(update={"at": inside(m.at)}) for m in base.marks],
        "drills": [inside(point) for point in base.drills],
        "lines": [_path(text, inside, frame) for text in base.lines],
        "regions": {name: _path(text, inside, frame) for name, text in base.regions.items()},
    }
    outline = {
        "outline": path_of(change.new, frame),
        "named_corners": {name: place(at) for name, at in names.items()},
    }
    own = {field: getattr(drawing, field) for field in drawing.model_fields_set & followed.keys()}
    return DrawingTable.model_construct(**{**followed, **own, **outline})


@dataclass(frozen=True)
class Change:
    """An outline before and after its corners moved: as many edges, each beside the one it came from.

    Points are millimetres with y downwards.
    """

    old: Sequence[Edge]
    new: Sequence[Edge]

    def on_outline(self, point: Point) -> Point:
        """Where a place on the old outline lies on the new one."""
        found = [edge.nearest(point) for edge in self.old]
        k = min(range(len(found)), key=lambda k: found[k][0])
        return self.new[k].at(found[k][1])

    def inside(self, point: Point) -> Point:
        """Where a place beside or within the outline comes to lie."""
        ring, by = self._ring
        dx, dy = mean_value_weights(np.array(point), ring) @ by
        return point[0] + float(dx), point[1] + float(dy)

    @cached_property
    def _ring(self) -> tuple[np.ndarray, np.ndarray]:
        old, new = [], []
        for before, after in zip(self.old, self.new, strict=True):
            count = DETAIL * len(before.curve) // 3 or 1
            old += [before.at(i / count) for i in range(count)]
            new += [after.at(i / count) for i in range(count)]
        return np.array(old), np.array(new) - np.array(old)


def mean_value_weights(point: np.ndarray, ring: np.ndarray) -> np.ndarray:
    """Weights of the corners of a polygon (n, 2) that ``point`` is the mean of; they add up to 1.

    On an edge only its two ends count. Floater (2003), for any polygon by Hormann & Floater (2006).
    """
    ray = ring - point
    far = np.hypot(ray[:, 0], ray[:, 1])
    after = np.roll(ray, -1, axis=0)
    cross = ray[:, 0] * after[:, 1] - ray[:, 1] * after[:, 0]
    dot = (ray * after).sum(axis=1)
    edge = np.hypot(*(after - ray).T)
    weights = np.zeros(len(ring))
    near = np.flatnonzero(far < 1e-6)
    if len(near):
        weights[near[0]] = 1.0
        return weights
    on = np.flatnonzero((np.abs(cross) < 1e-6 * edge) & (dot < 0))
    if len(on):
        k, next_ = on[0], (on[0] + 1) % len(ring)
        weights[k], weights[next_] = far[next_], far[k]
        return weights / weights.sum()
    # The tangent of half the angle between two rays.
    half = cross / (far * np.roll(far, -1) + dot)
    weights = (half + np.roll(half, 1)) / far
    return weights / weights.sum()


def _path_data(drawing: DrawingTable, frame: Frame) -> str:
    if drawing.corners is not None:
        return corners_path(drawing.corners, frame)
    assert drawing.outline is not None
    return drawing.outline


def _moved(old: Sequence[Edge], moves: Mapping[str, Point], at: Mapping[str, Point]) -> list[Edge]:
    by = [(0.0, 0.0)] * len(old)
    for name, move in moves.items():
        k = min(range(len(old)), key=lambda k: math.dist(old[k].start, at[name]))
        if math.dist(old[k].start, at[name]) > CLOSED:
            raise WrongCopy(
                "move",
                f"{name} lies between two corners of its outline and cannot move by itself; draw the outline "
                "with a corner there",
            )
        by[k] = move
    return [edge.moved(by[k], by[(k + 1) % len(by)]) for k, edge in enumerate(old)]


def _by(name: str, move: MoveTable, frame: Frame) -> Point:
    """Millimetres to the right and down."""
    steps = {step: getattr(move, step) for step in ("right", "left", "up", "down")}
    given = [step for step, size in steps.items() if size is not None]
    if move.by is not None and given:
        raise WrongCopy("move", f'{name} moves by [x, y] and by "{given[0]}"; leave one out')
    for one, other in (("right", "left"), ("up", "down")):
        if one in given and other in given:
            raise WrongCopy("move", f'{name} moves both "{one}" and "{other}"; leave one out')
    if move.by is not None:
        return move.by[0] * frame.size, move.by[1] * frame.size
    if not given:
        raise WrongCopy("move", f"{name} says no distance; write [x, y] or a step like {{ down = 2 }}")
    mm = {step: size.mm if size is not None else 0.0 for step, size in steps.items()}
    return mm["right"] - mm["left"], mm["down"] - mm["up"]


def _shifted(grain: list[list[float]], inside: Callable[[Sequence[float]], list[float]]) -> list[list[float]]:
    middle = [(a + b) / 2 for a, b in zip(*grain, strict=True)]
    by = [b - a for a, b in zip(middle, inside(middle), strict=True)]
    return [[end[0] + by[0], end[1] + by[1]] for end in grain]


def _path(text: str, inside: Callable[[Sequence[float]], list[float]], frame: Frame) -> str:
    """Path data with every point moved; curves become chords, straight lines stay straight."""
    words = []
    for line in parse_lines(text, frame):
        points = [inside((x / frame.size, -y / frame.size)) for x, y in line]
        closed = line[0] == line[-1]
        told = " L ".join(f"{x:.9g} {y:.9g}" for x, y in (points[:-1] if closed else points))
        words.append(f"M {told}{' Z' if closed else ''}")
    return " ".join(words)
