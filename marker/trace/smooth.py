"""From the measured points of an outline to few lines and curves: straight edges straight, corners sharp.

Corners are where the directions on both sides differ at two scales at once, so that a tight curve is none.
Between corners, long stretches that no bend explains better than a straight line become lines; what is left
becomes cubic curves by least squares (Plass & Stone 1983), split until they are within the tolerance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

TOLERANCE = 0.5
"""Millimetres the smoothed outline may lie off the measured points (of 98 in 100; corners aside)."""
SPACING = 1.0
"""Millimetres between the points that are worked on."""
CORNER_ANGLE = 25.0
"""Degrees an outline must turn in one place to have a corner there."""
ROUNDED = 2
"""Points on either side of a corner that blur has rounded off."""
SHORTEST_LINE = 50.0
"""Millimetres below which a stretch is not called straight, unless it lies between two corners."""


@dataclass(frozen=True)
class Segment:
    """A straight line (``controls`` None) or a cubic curve to ``end``; points are arrays of shape (2,)."""

    end: Array
    controls: tuple[Array, Array] | None = None


@dataclass(frozen=True)
class Smoothed:
    """A closed outline from ``start`` through ``segments``, and how far measured points lie off it in
    millimetres: root mean square, and 98 in 100."""

    start: Array
    segments: tuple[Segment, ...]
    off: float
    off_98: float

    @property
    def ring(self) -> Array:
        """Points of the outline, chords within a few hundredths of a millimetre, shape (n, 2)."""
        points, at = [self.start], self.start
        for segment in self.segments:
            if segment.controls is None:
                points.append(segment.end)
            else:
                control = np.array([at, *segment.controls, segment.end])
                length = float(np.linalg.norm(np.diff(control, axis=0), axis=1).sum())
                points.extend(_bezier(control, np.linspace(0, 1, max(4, int(length / 2.0)) + 1)[1:]))
            at = segment.end
        return np.array(points[:-1])

    def path(self) -> str:
        """SVG path data, absolute, millimetres to a hundredth."""
        words = [f"M {_say(self.start)}"]
        last = len(self.segments) - 1
        for i, segment in enumerate(self.segments):
            if segment.controls is not None:
                words.append(f"C {_say(segment.controls[0])} {_say(segment.controls[1])} {_say(segment.end)}")
            elif i < last:
                words.append(f"L {_say(segment.end)}")
        return " ".join([*words, "Z"])

    def moved(self, by: Array) -> Smoothed:
        """The same outline shifted."""
        segments = tuple(
            Segment(s.end + by, None if s.controls is None else (s.controls[0] + by, s.controls[1] + by))
            for s in self.segments
        )
        return Smoothed(self.start + by, segments, self.off, self.off_98)


def smooth(points: Array, tolerance: float = TOLERANCE) -> Smoothed:
    """The outline through measured points (shape (n, 2), millimetres, closed, in order)."""
    ring = _resampled(np.asarray(points, dtype=float))
    corners, turning = _corners(ring)
    if len(corners):
        ring, cuts = np.roll(ring, -corners[0], axis=0), [*(corners - corners[0]), len(ring)]
    else:
        start = int(turning.argmax())
        ring, cuts = np.roll(ring, -start, axis=0), [0, len(ring)]
    closed = np.concatenate([ring, ring[:1]])
    sharp = len(corners) > 0
    pieces: list[_Stretch] = []
    for begin, end in pairwise(cuts):
        pieces += _divided(closed[begin : end + 1], tolerance, sharp)
    vertices, tangents = _joints(pieces, sharp)
    segments: list[Segment] = []
    for i, piece in enumerate(pieces):
        first, last = vertices[i], vertices[(i + 1) % len(pieces)]
        if piece.straight:
            segments.append(Segment(last))
            continue
        inner = _without_ends(_calmed(piece.points), first, last)
        leaving, arriving = tangents[i][1], tangents[(i + 1) % len(pieces)][0]
        segments += _curves(inner, leaving, arriving, 0.7 * tolerance)
    smoothed = Smoothed(vertices[0], tuple(segments), 0.0, 0.0)
    off = _distances(ring, smoothed.ring)
    return Smoothed(
        vertices[0], tuple(segments), float(np.sqrt((off**2).mean())), float(np.percentile(off, 98))
    )


@dataclass
class _Stretch:
    """Points from one joint to the next, straight or not; ``sharp`` if it begins at a corner."""

    points: Array
    straight: bool
    sharp: bool


def _corners(ring: Array) -> tuple[npt.NDArray[np.intp], Array]:
    """Indices of corners, and how much the outline turns at each point (degrees over 10 mm either way)."""
    n = len(ring)
    near, far = (_turning(ring, reach) for reach in (min(5, n // 6), min(10, n // 6)))
    both = near + far
    peak = np.ones(n, bool)
    for k in range(1, min(9, n // 6) + 1):
        peak &= (both >= np.roll(both, k)) & (both > np.roll(both, -k))
    return np.flatnonzero(peak & (far > CORNER_ANGLE) & (near > 0.8 * CORNER_ANGLE)), far


def _turning(ring: Array, reach: int) -> Array:
    """Degrees between the directions before and after each point, each fitted over ``reach`` points."""
    n = len(ring)
    at = np.arange(n)[:, None]
    steps = np.arange(1, reach + 1)[None, :]
    before, after = (_direction(ring[(at + sign * steps) % n]) for sign in (-1, 1))
    # Directions are fitted without a sign: they are made to run forwards.
    back_way = ring - ring[(np.arange(n) - reach) % n]
    fore_way = ring[(np.arange(n) + reach) % n] - ring
    before *= np.where((before * back_way).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    after *= np.where((after * fore_way).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.abs(np.degrees(np.arctan2(cross, (before * after).sum(axis=1))))


def _direction(windows: Array) -> Array:
    """Unit direction of the line fitted to each window, shape (n, k, 2) to (n, 2)."""
    off = windows - windows.mean(axis=1, keepdims=True)
    xx, yy, xy = (off[..., 0] ** 2).sum(1), (off[..., 1] ** 2).sum(1), (off[..., 0] * off[..., 1]).sum(1)
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _divided(points: Array, tolerance: float, sharp: bool) -> list[_Stretch]:
    """The stretch between two corners as lines and what is left between them, in order."""
    if sharp and len(points) > 2 * ROUNDED + 3:
        points = points[ROUNDED:-ROUNDED]
    if len(points) < 5:
        return [_Stretch(points, True, sharp)]
    kinds = np.zeros(len(points), int)
    calm = _calmed(points)
    label = 0
    pending = [(0, len(points))]
    while pending:
        begin, end = pending.pop()
        rest = calm[begin:end]
        run = _straight_run(rest, tolerance, whole=sharp and end - begin == len(points))
        # One curve says more than a chain of lines that turn a little from one to the next.
        if run is None or (
            run != (0, len(rest)) and np.percentile(_fitted(rest, None, None)[1], 97) < 0.4 * tolerance
        ):
            continue
        label += 1
        left, right = begin + run[0], begin + run[1]
        # Where a line runs on into a curve, its last bit is taken for the curve's.
        left += 3 if left > 3 else 0
        right -= 3 if right < len(points) - 3 else 0
        # Rests too short for a curve of their own go to the line.
        left = 0 if left < 6 else left
        right = len(points) if len(points) - right < 6 else right
        kinds[left:right] = label
        pending += [(begin, left), (right, end)]
    pieces = []
    edges = [0, *(np.flatnonzero(np.diff(kinds)) + 1), len(points)]
    for begin, end in pairwise(edges):
        pieces.append(_Stretch(points[begin:end], bool(kinds[begin]), sharp and begin == 0))
    return pieces


def _straight_run(points: Array, tolerance: float, whole: bool) -> tuple[int, int] | None:
    """The longest run (begin, end) of points that is a straight line and not a slight curve, or None."""
    n = len(points)
    # From corner to corner nobody draws a curve that slight: there it is the lens or the paper.
    if whole and n >= 5 and _near_line(points, tolerance):
        return 0, n
    least = int(SHORTEST_LINE / SPACING)
    for off in (0.7 * tolerance, 0.4 * tolerance, 0.24 * tolerance):
        best: tuple[int, int] | None = None
        for begin in range(0, n - least, 4):
            low, high = least if best is None else max(least, best[1] - best[0] + 1), n - begin
            if low > high or not _near_line(points[begin : begin + low], off):
                continue
            while low < high:
                middle = (low + high + 1) // 2
                if _near_line(points[begin : begin + middle], off):
                    low = middle
                else:
                    high = middle - 1
            if _is_straight(points[begin : begin + low], off):
                best = begin, begin + low
        if best is not None:
            return best
    return None


def _near_line(points: Array, off: float) -> bool:
    return float(np.abs(_along_and_off(points)[1]).max()) <= off


def _is_straight(points: Array, off: float) -> bool:
    """Near a line, and a cubic through the same points does not bend away from it by half as much."""
    along, aside = _along_and_off(points)
    if np.abs(aside).max() > off:
        return False
    t = along / max(float(np.abs(along).max()), 1e-9)
    bend = np.polynomial.Polynomial.fit(t, aside, 3)(t) if len(points) >= 8 else aside
    return float(np.abs(bend).max()) <= 0.5 * off


def _along_and_off(points: Array) -> tuple[Array, Array]:
    middle, direction = _line(points)
    away = points - middle
    return away @ direction, away @ np.array([-direction[1], direction[0]])


def _line(points: Array) -> tuple[Array, Array]:
    """Middle and direction of the fitted line, running as the points run."""
    direction = _direction(points[None])[0]
    if direction @ (points[-1] - points[0]) < 0:
        direction = -direction
    return points.mean(axis=0), direction


def _joints(
    pieces: Sequence[_Stretch], sharp: bool
) -> tuple[list[Array], list[tuple[Array | None, Array | None]]]:
    """Where each piece begins, and the directions there of the piece before and of the piece itself.

    None for a direction that the curve's own points shall tell: at corners.
    """
    vertices: list[Array] = []
    tangents: list[tuple[Array | None, Array | None]] = []
    for i, piece in enumerate(pieces):
        before = pieces[i - 1]
        corner = piece.sharp and sharp
        guess = (before.points[-1] + piece.points[0]) / 2
        a, b = _end_line(before, last=True), _end_line(piece, last=False)
        meet = _crossing(a, b)
        if before.straight and piece.straight and meet is not None and np.linalg.norm(meet - guess) < 12:
            vertices.append(meet)
            tangents.append((a[1], b[1]))
        elif corner:
            if meet is None or np.linalg.norm(meet - guess) > 4.0:
                meet = guess
            vertices.append(meet)
            tangents.append((None, None))
        else:
            direction = a[1] if before.straight else b[1]
            line = a if before.straight else b
            vertices.append(line[0] + ((guess - line[0]) @ direction) * direction)
            tangents.append((direction, direction))
    return vertices, tangents


def _end_line(piece: _Stretch, last: bool) -> tuple[Array, Array]:
    """The line of a straight piece, or a curve's tangent at one end with a point of it."""
    if piece.straight and len(piece.points) >= 3:
        return _line(piece.points)
    if len(piece.points) < 3:
        return piece.points[-1], _unit(piece.points[-1] - piece.points[0])
    near = piece.points[-16:][::-1] if last else piece.points[:16]
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(near, axis=0), axis=1))])
    degree = 2 if len(near) >= 6 else 1
    x, y = (np.polynomial.Polynomial.fit(s, near[:, k], degree) for k in range(2))
    direction = _unit(np.array([x.deriv()(0.0), y.deriv()(0.0)]))
    return np.array([x(0.0), y(0.0)]), -direction if last else direction


def _crossing(a: tuple[Array, Array], b: tuple[Array, Array]) -> Array | None:
    """Where two lines (point, direction) meet; None if they hardly differ in direction."""
    cross = float(a[1][0] * b[1][1] - a[1][1] * b[1][0])
    if abs(cross) < 0.03:
        return None
    away = b[0] - a[0]
    return a[0] + a[1] * float(away[0] * b[1][1] - away[1] * b[1][0]) / cross


def _without_ends(points: Array, first: Array, last: Array) -> Array:
    """The points between two vertices, with the vertices, leaving out points that lie beyond them."""
    inner = points
    while len(inner) > 2 and (inner[0] - first) @ (inner[1] - inner[0]) < 0:
        inner = inner[1:]
    while len(inner) > 2 and (inner[-1] - last) @ (inner[-2] - inner[-1]) < 0:
        inner = inner[:-1]
    return np.concatenate([first[None], inner, last[None]])


def _curves(
    points: Array, leaving: Array | None, arriving: Array | None, tolerance: float, depth: int = 0
) -> list[Segment]:
    """Cubic curves through ``points``, first and last kept; directions at the ends where given."""
    control, off = _fitted(points, leaving, arriving)
    good = np.percentile(off, 97) <= tolerance and off.max() <= 2.5 * tolerance
    if good or len(points) < 16 or depth >= 7:
        return [Segment(control[3], (control[1], control[2]))]
    # Split near the middle of the worst stretch, where a joint disturbs least: not close to the ends.
    n = len(points)
    worst = int(np.convolve(off, np.ones(9) / 9, mode="same")[n // 5 : n - n // 5].argmax()) + n // 5
    window = points[max(0, worst - 15) : worst + 16]
    s = np.arange(len(window)) - min(worst, 15)
    x, y = (np.polynomial.Polynomial.fit(s, window[:, k], 2) for k in range(2))
    direction = _unit(np.array([x.deriv()(0.0), y.deriv()(0.0)]))
    middle = np.array([x(0.0), y(0.0)])
    left = np.concatenate([points[:worst], middle[None]])
    right = np.concatenate([middle[None], points[worst + 1 :]])
    return [
        *_curves(left, leaving, direction, tolerance, depth + 1),
        *_curves(right, direction, arriving, tolerance, depth + 1),
    ]


def _fitted(points: Array, leaving: Array | None, arriving: Array | None) -> tuple[Array, Array]:
    """Control points, shape (4, 2), of the cubic nearest to ``points``, and how far each lies off it."""
    first, last = points[0], points[-1]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    length = max(float(way[-1]), 1e-9)
    t = way / length
    control = np.array([first, first + (last - first) / 3, last - (last - first) / 3, last])
    if len(points) < 4:
        return control, np.zeros(len(points))
    for _ in range(12):
        b = np.stack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3], axis=1)
        columns, fixed = [], b[:, :1] * first + b[:, 3:] * last
        if leaving is None:
            columns += [np.outer(b[:, 1], e).ravel() for e in np.eye(2)]
        else:
            fixed = fixed + b[:, 1:2] * first
            columns.append(np.outer(b[:, 1], leaving).ravel())
        if arriving is None:
            columns += [np.outer(b[:, 2], e).ravel() for e in np.eye(2)]
        else:
            fixed = fixed + b[:, 2:3] * last
            columns.append(np.outer(b[:, 2], -arriving).ravel())
        found = np.linalg.lstsq(np.stack(columns, axis=1), (points - fixed).ravel(), rcond=None)[0]
        k = 2 if leaving is None else 1
        one = found[:2] if leaving is None else first + max(found[0], 0.02 * length) * leaving
        two = found[k:] if arriving is None else last - max(found[k], 0.02 * length) * arriving
        control = np.array([first, one, two, last])
        # Newton's step to the nearest parameter of each point.
        at = _bezier(control, t)
        d1 = _bezier(3 * np.diff(control, axis=0), t)
        d2 = _bezier(6 * np.diff(control, 2, axis=0), t)
        away = at - points
        bottom = (d1**2).sum(1) + (away * d2).sum(1)
        t = t - np.where(bottom > 1e-9, (away * d1).sum(1) / np.where(bottom > 1e-9, bottom, 1.0), 0.0)
        t = np.maximum.accumulate(np.clip(t, 0.0, 1.0))
        t[0], t[-1] = 0.0, 1.0
    return control, np.linalg.norm(_bezier(control, t) - points, axis=1)


def _bezier(control: Array, t: Array) -> Array:
    """Points of a Bezier curve of any degree, shape (len(t), 2)."""
    points = [np.repeat(c[None], len(t), axis=0) for c in control]
    while len(points) > 1:
        points = [a + (b - a) * t[:, None] for a, b in pairwise(points)]
    return points[0]


def _calmed(points: Array) -> Array:
    """Points averaged over a few neighbours, ends kept."""
    if len(points) < 9:
        return points
    kernel = np.exp(-0.5 * (np.arange(-4, 5) / 2.0) ** 2)
    kernel /= kernel.sum()
    # Mirrored through the end points, so that a straight end stays where it is.
    head, tail = 2 * points[0] - points[4:0:-1], 2 * points[-1] - points[-2:-6:-1]
    padded = np.concatenate([head, points, tail])
    return np.stack([np.convolve(padded[:, k], kernel, mode="valid") for k in range(2)], axis=1)


def _resampled(points: Array) -> Array:
    closed = np.concatenate([points, points[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = max(24, round(way[-1] / SPACING))
    at = np.linspace(0.0, way[-1], count, endpoint=False)
    return np.stack([np.interp(at, way, closed[:, k]) for k in range(2)], axis=1)


def _distances(points: Array, ring: Array) -> Array:
    """How far each point lies off a closed outline."""
    a = ring
    along = np.roll(ring, -1, axis=0) - a
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    found = np.empty(len(points))
    for begin in range(0, len(points), 256):
        away = points[begin : begin + 256, None] - a[None]
        t = np.clip((away * along).sum(axis=2) / square, 0.0, 1.0)
        found[begin : begin + 256] = np.linalg.norm(away - t[..., None] * along, axis=2).min(axis=1)
    return found


def _unit(vector: Array) -> Array:
    return np.asarray(vector / max(float(np.linalg.norm(vector)), 1e-12))


def _say(point: Array) -> str:
    return f"{round(float(point[0]), 2) + 0.0:g} {round(float(point[1]), 2) + 0.0:g}"
