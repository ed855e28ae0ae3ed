"""Which way the pieces lie: grain, bias, nap, and hems along a border."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from marker.check.form import apply, reflected
from marker.check.placed import Laid
from marker.check.spread import EDGE_TOLERANCE
from marker.model.fabric import Border, Fabric

ANGLE_TOLERANCE = 0.01
"""Degrees granted to rounding over the tolerance of the fabric: 0.2 mm at the far end of a metre."""
HEM_TOLERANCE = 0.1
"""Millimetres that a hem may lie off the edge that a border runs along."""


def direction_faults(laid: Laid, fabric: Fabric, *, by_hem: bool) -> Iterator[str]:
    """Everything wrong with the way one placement lies.

    ``by_hem``: its hem decides, not its grain. Where the print must match nothing may tilt.
    """
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
    off = min(abs(_between(placement.rotation, straight)) for straight in (0.0, 180.0))
    if laid.tied:
        if off > ANGLE_TOLERANCE:
            yield f"{laid.at} lies {off:.2f}° off the grain, and where the print must match nothing may tilt"
    elif by_hem or fabric.grain == "any":
        return
    elif laid.wanted is not None and laid.wanted.piece.bias:
        yield from _bias(laid, laid.wanted.handless)
    elif off > fabric.grain_tolerance + ANGLE_TOLERANCE:
        yield f"{laid.at} lies {off:.2f}° off the grain, {fabric.grain_tolerance:g}° are allowed"


def _bias(laid: Laid, handless: bool) -> Iterator[str]:
    """Left and right on opposite diagonals, so that they are mirror images; without a hand on either."""
    drawn, mirrored = (45.0, 225.0), (135.0, 315.0)
    due = (*drawn, *mirrored) if handless else mirrored if laid.placement.mirrored else drawn
    rotation = laid.placement.rotation
    if min(abs(_between(rotation, diagonal)) for diagonal in due) > ANGLE_TOLERANCE:
        degrees = " or ".join(f"{diagonal:g}°" for diagonal in sorted(due))
        yield f"{laid.at} is cut on the bias and lies at {rotation % 360:.2f}° where it must lie at {degrees}"


def nap_faults(pieces: Sequence[Laid]) -> Iterator[tuple[Laid, str]]:
    """With a nap all grain arrows point one way: within a right angle of what most do."""
    angles = [laid.placement.rotation for laid in pieces if math.isfinite(laid.placement.rotation)]
    if not angles:
        return
    # Pieces on either diagonal agree with the length of the cloth and not with one another.
    ways = sorted({0.0, 180.0, *angles})
    agree = {way: sum(abs(_between(angle, way)) < 90 for angle in angles) for way in ways}
    way = max(ways, key=lambda way: agree[way])
    for laid in pieces:
        if math.isfinite(laid.placement.rotation) and abs(_between(laid.placement.rotation, way)) >= 90:
            yield laid, f"{laid.at} lies against the nap: its top points the other way than most"


def hem_faults(laid: Laid, border: Border, usable: tuple[float, float]) -> Iterator[str]:
    """The hem lies on the edge of the usable cloth at the border's side.

    That the piece lies inwards of it follows, as nothing may reach over that edge.
    """
    if laid.motion is None or laid.wanted is None or laid.hem is None:
        return
    ends = [*laid.hem]
    if laid.placement.opened and laid.wanted.piece.fold_edge:
        ends += reflected(laid.hem, laid.wanted.piece.fold_edge)
    edge = usable[0] if border.side == "lower" else usable[1]
    off = max(abs(apply(laid.motion, end)[1] - edge) for end in ends)
    if off > HEM_TOLERANCE:
        yield f"{laid.at} has its hem {off:.2f} mm off the {border.side} edge that the border runs along"


def _between(a: float, b: float) -> float:
    """The turn from b to a, degrees, -180 to 180."""
    return (a - b + 180.0) % 360.0 - 180.0
