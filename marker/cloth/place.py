"""The engine's answer turned back into pieces on cloth."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from marker.cloth.demand import Need
from marker.cloth.flaws import spread_out
from marker.cloth.orient import SCALE, Pose, Shape, turned
from marker.cloth.plan import Laid, Plan
from marker.model.amount import amount
from marker.model.fabric import Fabric
from marker.model.fold import unfold
from marker.model.layout import Band, MaterialLayout, Placement
from marker.model.piece import Notch, Point, Ring
from marker.model.ring import mirrored
from marker.nest.problem import Placing, Solution
from marker.units import format_buy

Move = Callable[[Iterable[Point]], tuple[Point, ...]]


def cloth_length(plan: Plan, lengths: Sequence[int], fabric: Fabric) -> float:
    """Millimetres of cloth a plan takes when its stretches come out at ``lengths`` lattice units.

    A crosswise fold takes its length twice; between two stretches the gap is kept. Where a print has to
    match along the cloth the length is that of a whole number of repeats, so that every length laid starts
    alike (Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 231).
    """
    total = 0.0
    for stretch, length in zip(plan.stretches, lengths, strict=True):
        total += length / SCALE * (2 if stretch.section.crosswise else 1)
    total += fabric.gap * (len(plan.stretches) - 1)
    return whole_repeats(total, plan.repeat) if plan.repeat else total


def whole_repeats(length: float, repeat: float) -> float:
    """``length`` rounded up to a whole number of repeats, as exact as the engine's lattice."""
    return math.ceil(length / repeat - 1e-3 / repeat) * repeat


def to_buy(length: float, fabric: Fabric, plan: Plan) -> float:
    """Length to buy for a plan that takes ``length`` of the cloth."""
    return amount(length, fabric, begin_on(plan)).bought


def begin_on(plan: Plan) -> float:
    """Millimetres to buy before the lay: where a print must match along the cloth, the shop's cut may fall
    anywhere in the repeat, and the lay begins at one place of it."""
    return plan.repeat or 0.0


def waste_percent(needs: Sequence[Need], length: float, fabric: Fabric) -> float:
    """100 (1 - area wanted / (length x width)): spare copies count as waste."""
    return 100.0 * (1.0 - sum(need.area for need in needs) / (length * fabric.flat_width))


def material_layout(
    material: str,
    fabric: Fabric,
    plan: Plan,
    needs: Sequence[Need],
    solutions: Sequence[Solution],
    bounds: Sequence[int],
    edges: Sequence[Ring] = (),
) -> MaterialLayout:
    """Pieces on cloth for one material, from one solution for each stretch of the plan.

    Flaws and ``edges``, where there is no cloth, are the layout's obstacles.
    """
    bands: list[Band] = []
    placements: list[Placement] = []
    yielded: dict[int, list[int]] = {}
    x_from = 0.0
    length = cloth_length(plan, [solution.length for solution in solutions], fabric)
    for stretch, solution in zip(plan.stretches, solutions, strict=True):
        # The gap to the next stretch belongs to this one.
        x_to = x_from + solution.length / SCALE + (fabric.gap if stretch is not plan.stretches[-1] else 0.0)
        if plan.repeat and stretch is plan.stretches[-1]:
            x_to = length
        first = len(bands)
        for strip in stretch.section.strips:
            across = x_from if stretch.section.crosswise else None
            bands.append(Band((x_from, x_to), (strip.low, strip.high), strip.layers, strip.folds, across))
        for placing in sorted(solution.placings, key=lambda p: (p.x, p.y)):
            laid = stretch.laid[placing.kind]
            yielded.setdefault(id(laid.need), []).append(len(placements))
            placements.append(_placement(laid, placing, x_from, first))
        x_from = x_to
    for need in needs:
        _mark_spares(need, yielded.get(id(need), []), placements)
    parts = amount(length, fabric, begin_on(plan))
    bound = cloth_length(plan, bounds, fabric)
    return MaterialLayout(
        material=material,
        width=fabric.flat_width,
        usable=(
            (0.0, fabric.flat_width)
            if plan.spread.name == "tubular"
            else (fabric.selvage, fabric.flat_width - fabric.selvage)
        ),
        lay=plan.spread.name,
        length=length,
        buy=parts.bought,
        buy_text=format_buy(parts.bought, fabric.system),
        parts=parts,
        waste_percent=waste_percent(needs, length, fabric),
        lower_bound=min(bound, length),
        bands=tuple(bands),
        placements=tuple(placements),
        obstacles=tuple(spread_out((*fabric.flaws, *edges), fabric, plan.spread)),
    )


def _mark_spares(need: Need, where: Sequence[int], placements: list[Placement]) -> None:
    """Say on the placements how many of their copies nobody asked for: at most one of two."""
    over = sum(placements[k].copies for k in where) - need.copies
    doubles = [k for k in where if placements[k].copies == 2]
    for k in doubles[len(doubles) - over :]:
        placements[k] = replace(placements[k], spare=1)


def _placement(laid: Laid, placing: Placing, x_from: float, first_band: int) -> Placement:
    spot = laid.spots[placing.variant]
    at = (placing.x / SCALE + x_from, placing.y / SCALE)
    move = mover(laid.shape, spot.pose, at)
    piece, need = laid.need.piece, laid.need
    extra: Callable[[Point], Point] | None = None
    outline = need.outline
    if laid.opened:
        assert need.fold_edge is not None
        extra = partial(mirrored, line=need.fold_edge)
        outline = unfold(need.outline, need.fold_edge)

    def both(points: Sequence[Point]) -> list[Point]:
        return [*points, *(extra(point) for point in points)] if extra else list(points)

    marks = [(notch.name, notch.at) for notch in piece.notches]
    if extra:
        marks += [(name, extra(spot_at)) for name, spot_at in marks]
    lines = [tuple(line) for line in piece.lines]
    if extra:
        lines += [tuple(extra(point) for point in line) for line in lines]
    whole_piece = not need.region
    grain = move(piece.grain)
    return Placement(
        piece=piece.number,
        name=piece.name,
        copies=laid.copies,
        mirrored=spot.pose.mirrored,
        rotation=spot.pose.rotation,
        on_fold=laid.on_fold,
        outline=_ring(move(outline), spot.pose.mirrored),
        grain=(grain[0], grain[1]),
        band=first_band + spot.strip,
        notches=tuple(Notch(name, move([point])[0]) for name, point in marks) if whole_piece else (),
        drills=move(both(piece.drills)) if whole_piece else (),
        lines=tuple(move(line) for line in lines) if whole_piece else (),
        fold_edge=_pair(move(need.fold_edge)) if laid.on_fold and need.fold_edge else None,
        region=need.region,
        opened=laid.opened,
    )


def mover(shape: Shape, pose: Pose, at: Point) -> Move:
    """The rigid motion from the drawing to the cloth: grain along +x, mirrored or not, turned, moved."""
    origin = np.asarray(shape.origin)
    spin = math.radians(pose.rotation)

    def move(points: Iterable[Point]) -> tuple[Point, ...]:
        local = np.asarray(list(points), dtype=float).reshape(-1, 2)
        local = turned(local - origin, -shape.grain_angle)
        if pose.mirrored:
            local = local * (1.0, -1.0)
        local = turned(local, spin) + np.asarray(at)
        return tuple((float(x), float(y)) for x, y in local)

    return move


def _ring(points: tuple[Point, ...], mirrored: bool) -> Ring:
    return points[::-1] if mirrored else points


def _pair(points: tuple[Point, ...]) -> tuple[Point, Point]:
    return points[0], points[1]
