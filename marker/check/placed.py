"""One placement: the right shape, the right way round, straight, and on the ground it says it lies on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from shapely.affinity import affine_transform, rotate
from shapely.geometry import Polygon

from marker.check.demand import Wanted
from marker.check.form import (
    Affine,
    apply,
    same_up_to_shift,
    shift_onto,
    shifted,
    turned,
)
from marker.check.geometry import DEPTH_TOLERANCE, Shape, form_difference, is_ring, same_form, solid
from marker.check.marks import mark_faults
from marker.check.spread import EDGE_TOLERANCE, Ground
from marker.model.layout import Placement
from marker.model.piece import Point

SHAPE_TOLERANCE = 0.02
"""Millimetres that a placed outline may be off the pattern's, anywhere: the precision of the layout file."""


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

    @cached_property
    def motion(self) -> Affine | None:
        """The rigid motion from the drawing to the spread; ``None`` if the outline is not the piece's."""
        if self.wanted is None or self.shape.is_empty:
            return None
        motion = _motion(self, self.wanted)
        expected = affine_transform(_drawn(self, self.wanted), motion)
        return motion if same_form(expected, _cut_lines(self), SHAPE_TOLERANCE) else None

    @property
    def tied(self) -> bool:
        """The print has to match on it."""
        return self.wanted is not None and self.wanted.tied

    @property
    def hem(self) -> tuple[Point, Point] | None:
        """Of a piece laid by its hem, if it has one: the hem as drawn."""
        return self.wanted.piece.hem if self.wanted is not None and not self.placement.region else None

    @property
    def yields(self) -> tuple[int, int]:
        """Copies (as drawn, mirrored) that come off, whatever the layout says about it.

        Of a piece on the bias that is the same from both sides the diagonal makes the hand.
        """
        if self.layers == 2 and not self.placement.on_fold:
            return 1, 1
        if self.wanted is not None and self.wanted.by_diagonal:
            return (1, 0) if self.placement.rotation % 180.0 < 90.0 else (0, 1)
        face_down = self.placement.mirrored and not self.placement.on_fold
        return (0, 1) if face_down else (1, 0)


def laid_shape(placement: Placement) -> Shape | None:
    return solid(placement.outline, placement.holes) if is_ring(placement.outline) else None


def _drawn(laid: Laid, wanted: Wanted) -> Shape:
    return wanted.shape if laid.placement.opened else Polygon(wanted.ring)


def _cut_lines(laid: Laid) -> Polygon:
    # The cut lines are compared as they are drawn: repairing one of them could drop what both have.
    return Polygon(laid.placement.outline, laid.placement.holes)


def _motion(laid: Laid, wanted: Wanted) -> Affine:
    """The turn that is entered, and then the shift of box onto box."""
    motion = turned(wanted.piece.grain, laid.placement.rotation, laid.placement.mirrored)
    return shifted(motion, shift_onto(affine_transform(_drawn(laid, wanted), motion), _cut_lines(laid)))


def faults_of(laid: Laid) -> Iterator[str]:
    """Everything wrong with the form and place of one placement by itself, a sentence each."""
    placement, wanted = laid.placement, laid.wanted
    if wanted is None:
        yield f"{laid.at} is laid {_what(placement)}, and nothing like it is asked for"
    else:
        if placement.name != wanted.piece.name:
            yield f"{laid.at} is called “{wanted.piece.name}” in the pattern"
        yield from _form(laid, wanted)
    yield from _copies(laid)
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
    motion = laid.motion
    if motion is None:
        shape, drawn = _cut_lines(laid), _drawn(laid, wanted)
        expected = affine_transform(drawn, _motion(laid, wanted))
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
    yield from (f"{laid.at} {words}" for words in mark_faults(placement, wanted, motion))
    if placement.on_fold and laid.ground is not None:
        yield from _on_fold(laid, wanted, laid.ground, motion)


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


def images_of(laid: Laid) -> list[Shape]:
    """What is cut out of the flat cloth: one shape a layer (for a piece on the fold, its two halves)."""
    if laid.ground is None:
        return [laid.shape]
    return [affine_transform(laid.shape, sheet) for sheet in laid.ground.sheets]
