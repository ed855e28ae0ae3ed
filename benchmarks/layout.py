"""Solutions of open instances as layouts in the instance's own units, and whether they hold."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from shapely.geometry import Polygon

from benchmarks.instance import Task, turned
from marker.check import outside, overlapping_pairs
from marker.model.layout import Band, Layout, MaterialLayout, Placement
from marker.nest.compaction import is_valid
from marker.nest.problem import Solution

TOLERANCE = 2.0
"""Lattice units by which outlines may overlap or leave the strip: two millionths of its width at most."""


def to_layout(task: Task, solution: Solution, seed: int) -> Layout:
    """A layout of one material, every piece with the outline of the instance, turned and moved."""
    instance = task.instance
    length = solution.length / instance.scale
    copies = [list(pieces) for pieces in task.pieces]
    placements = []
    for p in solution.placings:
        piece = instance.pieces[copies[p.kind].pop(0)]
        rotation = task.rotations[p.kind][p.variant]
        # Pieces of one kind have the same outline: the first of them stands for all.
        first = instance.pieces[task.pieces[p.kind][0]]
        outline = turned(first.outline, rotation) + np.array((p.x, p.y)) / instance.scale
        middle, reach = (outline.min(axis=0) + outline.max(axis=0)) / 2, np.ptp(outline, axis=0) / 4
        turn = np.radians(rotation)
        arrow = reach * np.array((np.cos(turn), np.sin(turn)))
        placements.append(
            Placement(
                piece=piece.id,
                name=piece.id,
                copies=1,
                mirrored=False,
                rotation=float(rotation),
                on_fold=False,
                outline=_points(outline),
                grain=(_points((middle - arrow)[None])[0], _points((middle + arrow)[None])[0]),
                band=0,
            )
        )
    material = MaterialLayout(
        material="fabric",
        width=instance.strip_width,
        usable=(0.0, instance.strip_width),
        lay="open",
        length=length,
        buy=length,
        buy_text=f"{length:.4f}",
        waste_percent=100 - instance.density(length),
        lower_bound=instance.area / instance.strip_width,
        bands=(Band((0.0, length), (0.0, instance.strip_width), 1),),
        placements=tuple(placements),
    )
    return Layout(instance.name, "one size", "all", seed, (material,))


def faults(task: Task, layout: Layout) -> list[str]:
    """What is wrong with a layout of an instance, in words; empty if it holds within ``TOLERANCE``."""
    instance, material = task.instance, layout.materials[0]
    tolerance = TOLERANCE / instance.scale
    outlines = [placement.outline for placement in material.placements]
    found = [
        f"{outlines[i][0]} and {outlines[j][0]} overlap by {depth:g}"
        for i, j, depth in overlapping_pairs(outlines, tolerance)
    ]
    found += [
        f"placement {i} is outside by {far:g}"
        for i, far in outside(outlines, (0.0, material.length), (0.0, instance.strip_width), tolerance)
    ]
    for piece in instance.pieces:
        placed = sum(placement.piece == piece.id for placement in material.placements)
        if placed != piece.quantity:
            found.append(f"{placed} of {piece.id} where {piece.quantity} are wanted")
    return found


def second_opinion(task: Task, solution: Solution, layout: Layout) -> str:
    """What another check says, by areas and by no-fit polygons; for densities above the best known."""
    shapes = [Polygon(placement.outline) for placement in layout.materials[0].placements]
    common = sum(a.intersection(b).area for a, b in combinations(shapes, 2) if a.intersects(b))
    touching = is_valid(task.problem, solution)
    share = common / task.instance.area
    if touching and share < 1e-6:
        return (
            f"above the best known; a second check agrees (pieces share {share:.1e} of their area): a record"
        )
    return (
        f"above the best known, but a second check fails (pieces share {share:.1e} of their area): an overlap"
    )


def _points(array: np.ndarray) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in array)
