"""One placement: the right shape, the right way round, straight, and on the ground it says it lies on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.affinity import affine_transform, rotate
from shapely.geometry import Polygon

from marker.check.demand import Wanted
from marker.check.form import (
    Affine,
    apply,
    reflected,
    same_up_to_shift,
    shift_onto,
    shifted,
    turned,
)
from marker.check.geometry import DEPTH_TOLERANCE, Shape, form_difference, is_ring, same_form, solid
from marker.check.spread import EDGE_TOLERANCE, Ground
from marker.model.fabric import Fabric
from marker.model.layout import Placement
from marker.model.piece import Notch, Point

SHAPE_TOLERANCE = 0.02
"""Millimetres that a placed outline may be off the pattern's, anywhere: the precision of the layout file."""
MARK_TOLERANCE = 0.05
"""Millimetres that a mark on a piece may be off."""
ANGLE_TOLERANCE = 0.01
"""Degrees granted to rounding over the tolerance of the fabric: 0.2 mm at the far end of a metre."""


@dataclass(frozen=True)
class Laid:
    """A placement, and what the job wants there; no ``ground`` while the bands are in doubt."""

    placement: Placement
    wanted: Wanted | None
    shape: Shape
    ground: Ground | None
    layers: int

    @property
    def at(self) -> str:
        """How to find it on the cloth."""
        if self.shape.is_empty:
            return self.placement.name
        left, bottom, right, top = self.shape.bounds
        along, across = (left + right) / 2, (bottom + top) / 2
        return f"{self.placement.name} (middle at {along:.0f} mm along, {across:.0f} mm across)"

    @property
    def yields(self) -> tuple[int, int]:
        """Copies (as drawn, mirrored) that come off, whatever the layout says about it."""
        if self.layers == 2 and not self.placement.on_fold:
            return 1, 1
        face_down = self.placement.mirrored and not self.placement.on_fold
        return (0, 1) if face_down else (1, 0)


def laid_shape(placement: Placement) -> Shape | None:
    return solid(placement.outline, placement.holes) if is_ring(placement.outline) else None


def faults_of(laid: Laid, fabric: Fabric) -> Iterator[str]:
    """Everything wrong with one placement by itself, a sentence each."""
    placement, wanted = laid.placement, laid.wanted
    if wanted is None:
        yield f"{laid.at} is laid {_what(placement)}, and nothing like it is asked for"
    else:
        if placement.name != wanted.piece.name:
            yield f"{laid.at} is called “{wanted.piece.name}” in the pattern"
        yield from _form(laid, wanted)
    yield from _copies(laid)
    yield from _grain(laid, fabric)
    if laid.ground is not None:
        yield from _ground(laid, laid.ground)


def _what(placement: Placement) -> str:
    manner = "on the fold" if placement.on_fold else "opened out" if placement.opened else "off the fold"
    return f"{manner}, region “{placement.region}”" if placement.region else manner


def _form(laid: Laid, wanted: Wanted) -> Iterator[str]:
    placement = laid.placement
    if laid.shape.is_empty:
        yield f"{laid.at} has an outline that encloses nothing"
        return
    # The cut lines are compared as they are drawn: repairing one of them could drop what both have.
    shape = Polygon(placement.outline, placement.holes)
    drawn = wanted.shape if placement.opened else Polygon(wanted.ring)
    motion = turned(wanted.piece.grain, placement.rotation, placement.mirrored)
    expected = affine_transform(drawn, motion)
    motion = shifted(motion, shift_onto(expected, shape))
    expected = affine_transform(drawn, motion)
    if not same_form(expected, shape, SHAPE_TOLERANCE):
        mirrored = affine_transform(
            drawn, turned(wanted.piece.grain, placement.rotation, not placement.mirrored)
        )
        if same_up_to_shift(mirrored, shape, SHAPE_TOLERANCE):
            way = "face down" if placement.mirrored else "face up"
            yield f"{laid.at} is of the wrong hand: it is entered {way} and drawn the other way round"
        elif same_up_to_shift(rotate(expected, 180.0), shape, SHAPE_TOLERANCE):
            yield f"{laid.at} is drawn end for end against the {placement.rotation:.2f}° it is entered with"
        else:
            off = form_difference(expected, shape)
            yield (
                f"{laid.at} does not have the shape of the pattern piece turned by {placement.rotation:.2f}°:"
                f" its outline is up to {off:.2f} mm off, {SHAPE_TOLERANCE} mm are allowed"
            )
        return
    yield from _marks(laid, wanted, motion)
    if placement.on_fold and laid.ground is not None:
        yield from _on_fold(laid, wanted, laid.ground, motion)


def _marks(laid: Laid, wanted: Wanted, motion: Affine) -> Iterator[str]:
    """The grain line and every mark shown lie where the pattern has them."""
    placement, piece = laid.placement, wanted.piece
    if not (placement.region or placement.opened):
        ends = [apply(motion, end) for end in piece.grain]
        off = max(math.dist(a, b) for a, b in zip(ends, placement.grain, strict=True))
        if off > MARK_TOLERANCE:
            yield f"{laid.at} has its grain line {off:.2f} mm off its place on the piece"
    halves = [(piece.notches, piece.drills)]
    if placement.opened and piece.fold_edge:
        fold = piece.fold_edge
        notches = tuple(Notch(n.name, reflected([n.at], fold)[0]) for n in piece.notches)
        halves.append((notches, reflected(piece.drills, fold)))
    for notch in placement.notches:
        off = _nearest(
            notch.at, [apply(motion, n.at) for ns, _ in halves for n in ns if n.name == notch.name]
        )
        if off > MARK_TOLERANCE:
            yield f"{laid.at} has notch “{notch.name}” {off:.2f} mm off its place"
    for drill in placement.drills:
        off = _nearest(drill, [apply(motion, d) for _, ds in halves for d in ds])
        if off > MARK_TOLERANCE:
            yield f"{laid.at} has a drill point {off:.2f} mm off its place"


def _nearest(point: Point, places: Sequence[Point]) -> float:
    return min((math.dist(point, place) for place in places), default=math.inf)


def _on_fold(laid: Laid, wanted: Wanted, ground: Ground, motion: Affine) -> Iterator[str]:
    edge = [apply(motion, end) for end in wanted.piece.fold_edge or ()]
    away = [max(abs(y - fold) for _, y in edge) for fold in ground.folds]
    if ground.fold_across is not None:
        away.append(max(abs(x - ground.fold_across) for x, _ in edge))
    if not away:
        yield f"{laid.at} is to lie on a fold, and its band has none"
    elif min(away) > EDGE_TOLERANCE:
        yield f"{laid.at} has its fold edge {min(away):.2f} mm off the fold"


def _copies(laid: Laid) -> Iterator[str]:
    placement = laid.placement
    copies = sum(laid.yields)
    if placement.on_fold and placement.opened:
        yield f"{laid.at} cannot be on the fold and opened out at once"
    if placement.on_fold and laid.layers != 2:
        yield f"{laid.at} is to lie on a fold where the cloth is single"
    if placement.copies != copies:
        yield f"{laid.at} is said to give {placement.copies} and gives {copies}"
    if not 0 <= placement.spare < max(copies, 1):
        yield f"{laid.at} gives {copies}, so {placement.spare} of them cannot be to spare"


def _grain(laid: Laid, fabric: Fabric) -> Iterator[str]:
    placement = laid.placement
    (x0, y0), (x1, y1) = placement.grain
    arrow = math.hypot(x1 - x0, y1 - y0)
    if not (math.isfinite(placement.rotation) and math.isfinite(arrow)) or arrow <= 0:
        yield f"{laid.at} has no grain direction"
        return
    drawn = math.degrees(math.atan2(y1 - y0, x1 - x0))
    askew = abs(_between(drawn, placement.rotation))
    if askew > ANGLE_TOLERANCE and (askew > 90 or arrow * math.sin(math.radians(askew)) > EDGE_TOLERANCE):
        entered = f"the {placement.rotation:.2f}° it is entered with"
        yield f"{laid.at} has its grain arrow drawn {askew:.2f}° off {entered}"
    if fabric.grain == "any":
        return
    off = min(abs(_between(placement.rotation, straight)) for straight in (0.0, 180.0))
    if off > fabric.grain_tolerance + ANGLE_TOLERANCE:
        yield f"{laid.at} lies {off:.2f}° off the grain, {fabric.grain_tolerance:g}° are allowed"


def _between(a: float, b: float) -> float:
    """The turn from b to a, degrees, -180 to 180."""
    return (a - b + 180.0) % 360.0 - 180.0


def _ground(laid: Laid, ground: Ground) -> Iterator[str]:
    xs, ys = zip(*laid.placement.outline, strict=True)
    ends = [(0, ground.x[0] - min(xs)), (1, max(xs) - ground.x[1])]
    sides = [(0, ground.y[0] - min(ys)), (1, max(ys) - ground.y[1])]
    for end, over in ends:
        if over > DEPTH_TOLERANCE:
            edge = "fold" if _near(ground.x[end], ground.fold_across) else "end of its cloth"
            yield f"{laid.at} reaches {over:.2f} mm over the {edge} at {ground.x[end]:.2f} mm along"
    for side, over in sides:
        if over > DEPTH_TOLERANCE:
            edge = "fold" if ground.y[side] in ground.folds else "edge of the cloth to be used"
            yield f"{laid.at} reaches {over:.2f} mm over the {edge} at {ground.y[side]:.2f} mm across"


def _near(edge: float, fold: float | None) -> bool:
    return fold is not None and abs(edge - fold) <= EDGE_TOLERANCE


def nap_faults(pieces: Sequence[Laid]) -> Iterator[tuple[Laid, str]]:
    """With a nap all grain arrows point one way: within a right angle of what most do."""
    angles = [laid.placement.rotation for laid in pieces if math.isfinite(laid.placement.rotation)]
    if not angles:
        return
    agree = {angle: sum(abs(_between(angle, other)) < 90 for other in angles) for angle in set(angles)}
    way = max(sorted(agree), key=lambda angle: agree[angle])
    for laid in pieces:
        if math.isfinite(laid.placement.rotation) and abs(_between(laid.placement.rotation, way)) >= 90:
            yield laid, f"{laid.at} lies against the nap: its top points the other way than most"


def images_of(laid: Laid) -> list[Shape]:
    """What is cut out of the flat cloth: one shape a layer (for a piece on the fold, its two halves)."""
    if laid.ground is None:
        return [laid.shape]
    return [affine_transform(laid.shape, sheet) for sheet in laid.ground.sheets]
