"""Pieces that go with their hem along a border printed on one edge of the cloth."""

from __future__ import annotations

import math

from marker.cloth.demand import Need
from marker.cloth.orient import Pose, Shape
from marker.errors import InputError
from marker.model.fabric import Fabric
from marker.model.fold import fold_edge_of, unfold
from marker.model.piece import Point, Ring
from marker.model.ring import mirrored, off_line

STRAIGHT = 0.05
"""Millimetres the hem of an opened piece may be off a straight line."""

Hem = tuple[Point, Point]


def goes_along(need: Need, fabric: Fabric) -> bool:
    """Whether a cut lies with its hem on the edge of the cloth, as the border has it."""
    return fabric.border is not None and need.piece.hem is not None and not need.region


def hem_of(need: Need) -> tuple[Ring, Hem]:
    """The outline to lay, opened out if it is drawn as a half, and its hem in the order of the outline.

    Raises InputError if the hem is no straight stretch of that outline, or the piece is on the bias as well.
    """
    assert need.piece.hem is not None
    if need.piece.bias:
        raise InputError(
            f"{need.label}: it is cut on the bias and goes with its hem along the border, which cannot both "
            "be; leave out its hem, or bias."
        )
    outline = need.outline
    if need.whole:
        assert need.fold_edge is not None
        outline = unfold(outline, need.fold_edge)
    hem = fold_edge_of(outline, need.piece.hem)
    if hem is None or not all(any(math.dist(end, at) < 0.5 for at in outline) for end in need.piece.hem):
        raise InputError(f"{need.label}: its hem is no straight edge of its outline, as a border asks.")
    if need.whole and need.fold_edge:
        for end in need.piece.hem:
            if abs(off_line(mirrored(end, need.fold_edge), hem)) > STRAIGHT:
                raise InputError(
                    f"{need.label}: opened out, its hem is not straight, so it cannot lie along a border; "
                    "draw the hem square to the fold."
                )
    return outline, hem


def hem_pose(shape: Shape, hem: Hem, side: str, mirrored: bool) -> Pose:
    """The one way to lay a shape with its hem along an edge of the cloth and its body inwards."""
    (ax, ay), (bx, by) = hem
    lean = math.degrees(math.atan2(by - ay, bx - ax) - shape.grain_angle)
    # Cloth lies on the left of a hem in the order of the outline; face down on its right.
    rotation = lean + 180.0 if mirrored else -lean
    if side == "upper":
        rotation += 180.0
    nearest = round(rotation / 90.0) * 90.0
    return Pose(mirrored, (nearest if abs(rotation - nearest) < 1e-6 else rotation) % 360.0)


def edge_of(fabric: Fabric) -> float:
    """The edge of the usable cloth that the border runs along."""
    assert fabric.border is not None
    return fabric.selvage if fabric.border.side == "lower" else fabric.flat_width - fabric.selvage
