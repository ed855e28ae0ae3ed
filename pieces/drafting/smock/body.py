"""Front, back and yoke, cut out of one block: half a body with the centre line at x = 0.

The origin is level with the neck's high point; the shoulder lines of front and back coincide, so
the strip that the yoke takes from the front is that strip mirrored in the shoulder line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import hypot

from drafting.curves import (
    Edge,
    Point,
    curve,
    end,
    joined,
    length,
    line,
    moved,
    off,
    point_at,
    reverse,
    solve,
    split_where,
    square_to,
    start,
)
from drafting.piece import Drawing, upright
from drafting.smock.measures import CHEST_EASE, NECK_EASE, Measures

HEM = 25.0
VENT = 90.0
SLIT_WIDTH = 30.0
GUSSET_SIDE = 60.0
DROPPED_SHOULDER = 18.0
"""How far the armhole seam lies beyond the shoulder bone."""
PLEAT = 30.0
"""What each half of the back is wider than the yoke: an inverted pleat 30 mm wide behind the centre."""

_NAPE = 20.0
_SHOULDER_DROP = 48.0
_YOKE_AT_BACK = 90.0
_YOKE_AT_FRONT = 30.0
_FLARE = 6.0


@dataclass(frozen=True)
class Body:
    """Stitching lines of half a body, all running from the neck outwards and down.

    ``*_high`` are the parts that belong to the yoke. ``hem`` is the height of the hem.
    """

    shoulder: tuple[Point, Point]
    back_neck: Edge
    front_neck: Edge
    front_neck_high: Edge
    back_armhole: Edge
    back_armhole_high: Edge
    front_armhole: Edge
    front_armhole_high: Edge
    side: Edge
    hem: float

    @property
    def half_neck(self) -> float:
        """Length of the neckline from the centre back to the centre front."""
        return length(self.back_neck) + length(self.front_neck) + length(self.front_neck_high)

    @property
    def front_hole(self) -> float:
        return length(self.front_armhole) + length(self.front_armhole_high)

    @property
    def back_hole(self) -> float:
        return length(self.back_armhole) + length(self.back_armhole_high)


@cache
def body(m: Measures) -> Body:
    half_neck = (m.neck + NECK_EASE) / 2.0
    width = solve(lambda w: sum(map(length, _necks(m, w))) - half_neck, 50.0, 110.0)
    front_neck, back_neck = _necks(m, width)
    shoulder = _shoulder(m, width)
    front_hole, back_hole = _armholes(m, shoulder)
    front_neck_high, front_neck_low = split_where(reverse(front_neck), _from_shoulder(shoulder))
    front_hole_high, front_hole_low = split_where(front_hole, _from_shoulder(shoulder))
    back_hole_high, back_hole_low = split_where(back_hole, lambda p: p[1] - _NAPE - _YOKE_AT_BACK)
    under, hem = end(front_hole), _NAPE + m.length
    return Body(
        shoulder=shoulder,
        back_neck=back_neck,
        front_neck=reverse(front_neck_low),
        front_neck_high=front_neck_high,
        back_armhole=back_hole_low,
        back_armhole_high=back_hole_high,
        front_armhole=front_hole_low,
        front_armhole_high=front_hole_high,
        side=line(under, (under[0] + _FLARE, hem)),
        hem=hem,
    )


def _shoulder(m: Measures, neck_width: float) -> tuple[Point, Point]:
    return (neck_width, 0.0), (m.shoulders / 2.0 + DROPPED_SHOULDER, _SHOULDER_DROP)


def _necks(m: Measures, width: float) -> tuple[Edge, Edge]:
    """Front and back neckline from the centre to the shoulder, which they meet at right angles."""
    neck, _ = shoulder = _shoulder(m, width)
    down = square_to(*shoulder)
    depth = width + 14.0
    front = curve((0.0, depth), (0.58 * width, depth), off(neck, down, 0.52 * depth), neck)
    back = curve((0.0, _NAPE), (0.52 * width, _NAPE), off(neck, down, 13.0), neck)
    return front, back


def _armholes(m: Measures, shoulder: tuple[Point, Point]) -> tuple[Edge, Edge]:
    """Front and back armhole from the shoulder to the underarm; the front is scooped deeper."""
    tip, down = shoulder[1], square_to(*shoulder)
    under = ((m.chest + CHEST_EASE) / 4.0, m.chest / 8.0 + 130.0)
    drop = under[1] - tip[1]
    front = curve(tip, off(tip, down, 0.60 * drop), (under[0] - 0.40 * drop, under[1]), under)
    back = curve(tip, off(tip, down, 0.52 * drop), (under[0] - 0.27 * drop, under[1]), under)
    return front, back


def _from_shoulder(shoulder: tuple[Point, Point]) -> Callable[[Point], float]:
    """How far a point lies below the line where the yoke ends at the front."""
    neck, down = shoulder[0], square_to(*shoulder)
    return lambda p: (p[0] - neck[0]) * down[0] + (p[1] - neck[1]) * down[1] - _YOKE_AT_FRONT


def front(b: Body, m: Measures, pocket: tuple[Point, Point]) -> Drawing:
    """Half the front with its fold at the left; the slit is cut open after the placket is sewn on."""
    neck, top = b.front_neck, start(b.front_neck)
    seam = line(end(neck), start(b.front_armhole))
    hem = line(end(b.side), (0.0, b.hem))
    fold = line(end(hem), top)
    slit = top[1] + m.slit
    return Drawing(
        edges=(neck, seam, b.front_armhole, b.side, hem, fold),
        grain=upright(end(seam)[0] / 2.0, slit, b.hem),
        fold=(top, end(hem)),
        notches=(
            ("yoke front", point_at(seam, 0.4 * length(seam))),
            ("armhole front", point_at(b.front_armhole, length(b.front_armhole) - 90.0)),
            *_side_notches(b, "front"),
        ),
        hem=hem,
        marks=(("pocket corner", pocket[0]),),
        drills=((SLIT_WIDTH / 2.0, slit), *pocket),
        lines=(
            line(top, (0.0, slit - SLIT_WIDTH / 2.0), (SLIT_WIDTH / 2.0, slit)),
            line((0.0, slit), (SLIT_WIDTH / 2.0, slit), (SLIT_WIDTH / 2.0, top[1])),
        ),
        allowances=((hem, HEM),),
    )


def back(b: Body) -> Drawing:
    """Half the back with its fold at the left, wider than the yoke by the pleat."""
    hole, side = moved(b.back_armhole, _over_pleat), moved(b.side, _over_pleat)
    top = (0.0, start(hole)[1])
    seam = line(top, start(hole))
    hem = line(end(side), (0.0, b.hem))
    return Drawing(
        edges=(seam, hole, side, hem, line(end(hem), top)),
        grain=upright(0.45 * start(hole)[0], top[1] + 100.0, b.hem),
        fold=(top, end(hem)),
        hem=hem,
        notches=(
            ("pleat", (PLEAT, top[1])),
            ("yoke back", (0.6 * (start(hole)[0] - PLEAT) + PLEAT, top[1])),
            *_back_armhole_notches(hole),
            *((name, _over_pleat(at)) for name, at in _side_notches(b, "back")),
        ),
        lines=tuple(line((x, top[1]), (x, top[1] + 70.0)) for x in (PLEAT / 2.0, PLEAT)),
        allowances=((hem, HEM),),
    )


def _over_pleat(p: Point) -> Point:
    return (p[0] + PLEAT, p[1])


def _back_armhole_notches(hole: Edge) -> tuple[tuple[str, Point], ...]:
    """Two notches tell the back from the front, which has one."""
    reach = length(hole)
    return (
        ("armhole back 1", point_at(hole, reach - 100.0)),
        ("armhole back 2", point_at(hole, reach - 90.0)),
    )


def _side_notches(b: Body, hand: str) -> tuple[tuple[str, Point], ...]:
    reach = length(b.side)
    return (
        (f"gusset {hand}", point_at(b.side, GUSSET_SIDE / 2.0)),
        ("side", point_at(b.side, reach / 2.0)),
        ("vent", point_at(b.side, reach - VENT)),
    )


def yoke(b: Body) -> Drawing:
    """Half the yoke with its fold at the left, over the shoulder to the front seam."""
    over = _mirror_in(b.shoulder)
    neck_high, hole_high = moved(b.front_neck_high, over), moved(b.front_armhole_high, over)
    neck = joined(b.back_neck, neck_high)
    front_seam = line(end(neck), end(hole_high))
    hole = joined(reverse(hole_high), b.back_armhole_high)
    foot = end(hole)
    back_seam = line(foot, (0.0, foot[1]))
    return Drawing(
        edges=(neck, front_seam, hole, back_seam, line(end(back_seam), start(neck))),
        grain=upright(0.2 * foot[0], _NAPE, foot[1]),
        fold=(start(neck), end(back_seam)),
        notches=(
            ("neck shoulder", b.shoulder[0]),
            ("yoke front", point_at(front_seam, 0.4 * length(front_seam))),
            ("shoulder", b.shoulder[1]),
            ("yoke back", (0.6 * foot[0], foot[1])),
            ("centre back", start(neck)),
        ),
        lines=(line(*b.shoulder),),
    )


def _mirror_in(axis: tuple[Point, Point]) -> Callable[[Point], Point]:
    (ax, ay), (bx, by) = axis
    reach = hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / reach, (by - ay) / reach

    def over(p: Point) -> Point:
        along = (p[0] - ax) * ux + (p[1] - ay) * uy
        return (2.0 * (ax + along * ux) - p[0], 2.0 * (ay + along * uy) - p[1])

    return over
