"""Where the target sheets are in a photograph, and what that says about lens and perspective.

The lens is taken as radial about the middle of the picture: a pixel at x (from the middle, in half
diagonals) belongs at x (1 + k1 r^2 + k2 r^4) in a picture without distortion (Brown 1966, its first two
terms). From there a homography leads to the floor. Both are fitted together, by least squares over all
corners of all sheets in all photographs of one camera; each further sheet in a picture adds where it lies.
The fit also tells how well the sheets pin down any place in the picture: ``View.uncertainty``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from marker.errors import InputError
from marker.trace import opencv
from marker.trace.photo import Photo
from marker.trace.target import BOARD, COLUMNS, ROWS, Sheet, all_sheets, board

Array = npt.NDArray[np.float64]

FEWEST_CORNERS = 12
"""Inner corners of a board, out of 35, that must be seen for the sheet to count."""
SMALLEST_SQUARE = 18.0
"""Pixels a square of the board must measure."""
MOST_SQUARES = 6000
"""Squares in a picture in which markers are still looked for; four sheets have some hundred."""
LENS_PRIOR = (0.03, 0.02)
"""Standard deviations of k1 and k2 before a photograph is seen: cameras bend the corners of the picture by
a few percent at most (common practice, no source)."""
FINEST_NOISE = 0.03
"""Pixels a corner is off at least, whatever the fit says."""
MOST_NOISE = 0.35
"""Millimetres that corners may be off the fit before the sheet cannot be flat."""


@dataclass(frozen=True)
class Printed:
    """What the board measures on the print in millimetres, where the printer was not exact."""

    width: float = BOARD[0]
    length: float = BOARD[1]

    @property
    def stretch(self) -> Array:
        return np.array([self.width / BOARD[0], self.length / BOARD[1]])


@dataclass(frozen=True)
class Seen:
    """A sheet in a photograph: corners of its board in ``pixels`` and in millimetres on it, shape (n, 2)."""

    sheet: Sheet
    pixels: Array
    millimetres: Array


@dataclass(frozen=True)
class View:
    """How one photograph shows the floor. The floor counts millimetres from the upper left corner of the
    board of the first sheet, x to its right, y down."""

    photo: Photo
    seen: tuple[Seen, ...]
    lens: Array
    homography: Array
    """From the floor to undistorted half diagonals from the middle of the picture."""
    places: tuple[Array, ...]
    """(x, y, angle) of each sheet's board on the floor; zeros for the first."""
    stretch: Array
    noise: float
    """Pixels, root mean square, that corners are off the fit."""
    _covariance: Array = field(repr=False)

    @property
    def _middle(self) -> Array:
        return np.array(self.photo.size) / 2.0 - 0.5

    @property
    def _half_diagonal(self) -> float:
        return float(np.hypot(*self.photo.size)) / 2.0

    def to_floor(self, pixels: Array) -> Array:
        """Millimetres on the floor of pixels, shape (n, 2)."""
        return _floor_of(
            (np.asarray(pixels, dtype=float) - self._middle) / self._half_diagonal, self.lens, self.homography
        )

    def to_pixels(self, floor: Array) -> Array:
        """Pixels of places on the floor, shape (n, 2)."""
        straight = _project(self.homography, np.asarray(floor, dtype=float))
        bent = straight.copy()
        for _ in range(30):
            r2 = (bent**2).sum(axis=1, keepdims=True)
            bent = straight / (1.0 + self.lens[0] * r2 + self.lens[1] * r2 * r2)
        return bent * self._half_diagonal + self._middle

    def paper(self, index: int) -> Array:
        """Corners of sheet ``index``'s paper on the floor, shape (4, 2)."""
        return _placed(self.seen[index].sheet.edges * self.stretch, self.places[index])

    def uncertainty(self, pixels: Array) -> Array:
        """Standard deviation in millimetres of ``to_floor`` at pixels, shape (n,).

        The placing of the floor as a whole is free: it is measured relative to the sheets.
        """
        jacobian = self._jacobian(pixels)
        spread = np.einsum("nij,jk,nik->n", jacobian, self._covariance, jacobian)
        return np.sqrt(np.maximum(spread, 0.0))

    def area_uncertainty(self, pixels: Array) -> float:
        """Standard deviation of the area of a closed outline in pixels on the floor, as a part of it."""
        jacobian = self._jacobian(pixels)
        ring = self.to_floor(pixels)
        # Moving a corner changes the area by half the distance of its neighbours, across.
        across = (np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)) / 2.0
        change = np.einsum("n,nj->j", across[:, 1], jacobian[:, 0]) - np.einsum(
            "n,nj->j", across[:, 0], jacobian[:, 1]
        )
        return float(np.sqrt(max(change @ self._covariance @ change, 0.0))) / _area(ring)

    def _jacobian(self, pixels: Array) -> Array:
        """How ``to_floor`` changes with lens and homography, shape (n, 2, 10)."""
        normal = (np.asarray(pixels, dtype=float) - self._middle) / self._half_diagonal
        params = np.concatenate([self.lens, self.homography.ravel()[:8]])
        jacobian = np.empty((len(normal), 2, len(params)))
        for j, step in enumerate(_steps(params)):
            moved = [params.copy(), params.copy()]
            moved[0][j] += step
            moved[1][j] -= step
            ahead, behind = (_floor_of(normal, m[:2], np.append(m[2:], 1.0).reshape(3, 3)) for m in moved)
            jacobian[:, :, j] = (ahead - behind) / (2.0 * step)
        return jacobian


def find_sheets(photo: Photo) -> tuple[Seen, ...]:
    """The target sheets in a photograph, the lowest number first. Raises InputError if there is none."""
    cv2 = opencv()
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    # Its default leaves out markers that are small in a large picture.
    parameters.minMarkerPerimeterRate = 28.0 / max(photo.size)
    if _squares_seen(cv2, grey) > MOST_SQUARES:
        raise InputError(
            f"{photo.path}: target not found: the picture is full of small squares; photograph the sheet on "
            "a plain floor, in focus."
        )
    detector = cv2.aruco.ArucoDetector(board(all_sheets()[0]).getDictionary(), parameters)
    corners, ids, _ = detector.detectMarkers(grey)
    if ids is None or len(ids) == 0:
        raise InputError(
            f"{photo.path}: target not found; lay the printed target sheet flat beside the piece, wholly in "
            "the picture, in even light, and in focus."
        )
    found, small, few = [], 0.0, 0
    for sheet in all_sheets():
        mine = [i for i, number in enumerate(ids.ravel()) if int(number) in sheet.ids]
        if not mine:
            continue
        if len({int(number) for number in ids[mine].ravel()}) < len(mine) - 2:
            raise InputError(
                f"{photo.path}: target sheet {sheet.number} lies in the picture twice; further sheets must "
                "be different ones: print them with --target and --sheets 2 to 4."
            )
        side = float(np.median([np.linalg.norm(corners[i][0][0] - corners[i][0][1]) for i in mine]))
        square = side * 30.0 / 22.0
        if square < SMALLEST_SQUARE:
            small = max(small, square)
            continue
        seen = _corners(cv2, grey, sheet, [corners[i] for i in mine], ids[mine])
        if seen is None or len(seen.pixels) < FEWEST_CORNERS:
            few = max(few, 0 if seen is None else len(seen.pixels))
            continue
        found.append(seen)
    if found:
        return tuple(sorted(found, key=lambda seen: seen.sheet.number))
    if small:
        raise InputError(
            f"{photo.path}: the target is too small in the picture (a square of it is {small:.0f} pixels; "
            f"{SMALLEST_SQUARE:.0f} are needed); go nearer, or save the photograph in full size."
        )
    raise InputError(
        f"{photo.path}: target not found: too little of the sheet can be seen ({few} of "
        f"{(COLUMNS - 1) * (ROWS - 1)} corners); lay it wholly in the picture, uncovered, without glare."
    )


def _squares_seen(cv2: Any, grey: Any) -> int:
    """How many four-cornered spots the marker detector will have to compare with each other, roughly.

    It looks at the picture in black and white at three sizes of neighbourhood; its time grows with the
    square of what it finds there, which nothing else bounds.
    """
    count = 0
    for window in (3, 13, 23):
        dark = cv2.adaptiveThreshold(grey, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, window, 7)
        _, labels, stats, _ = cv2.connectedComponentsWithStats(dark, connectivity=8, ltype=cv2.CV_32S)
        # Specks are left out first: a picture of noise has millions.
        large = np.minimum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]) >= 6
        large[0] = False
        contours, _ = cv2.findContours(
            (large.astype(np.uint8) * 255)[labels], cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE
        )
        if len(contours) + count <= MOST_SQUARES:
            count += len(contours)
            continue
        for contour in contours:
            around = cv2.arcLength(contour, True)
            corners = cv2.approxPolyDP(contour, 0.03 * around, True) if around >= 24.0 else ()
            count += len(corners) == 4 and cv2.isContourConvex(corners)
    return count


def _corners(cv2: Any, grey: Any, sheet: Sheet, markers: list[Any], ids: Any) -> Seen | None:
    grid = board(sheet)
    detector = cv2.aruco.CharucoDetector(grid)
    points, numbers, _, _ = detector.detectBoard(grey, markerCorners=markers, markerIds=ids)
    if numbers is None or len(numbers) < 4:
        return None
    side = float(np.median([np.linalg.norm(marker[0][0] - marker[0][1]) for marker in markers]))
    pixels = _saddles(cv2, grey, np.asarray(points, dtype=float).reshape(-1, 2), side)
    everywhere = np.asarray(grid.getChessboardCorners(), dtype=float)[:, :2]
    known = np.isfinite(pixels).all(axis=1)
    if known.sum() < 4:
        return None
    # Corners beside markers that could not be read are there all the same.
    rough, _ = cv2.findHomography(
        everywhere[np.asarray(numbers).ravel()][known], pixels[known], cv2.RANSAC, 2.0
    )
    if rough is None:
        return None
    expected = _project(rough, everywhere)
    pixels = _saddles(cv2, grey, expected, side)
    good = np.linalg.norm(pixels - expected, axis=1) < 0.1 * side + 1.0
    return Seen(sheet, pixels[good], everywhere[good])


def _saddles(cv2: Any, grey: Any, near: Array, side: float) -> Array:
    """Where the brightness has its saddle at each corner, shape (n, 2); not finite where it has none.

    A quadratic is fitted to the slightly blurred brightness around the corner (Lucchese & Mitra 2002), and
    again around the saddle found. Blur does not move it, and it is steadier than following edges.
    """
    reach = int(np.clip(0.15 * side, 3, 16))
    blurred = cv2.GaussianBlur(grey.astype(np.float32), (0, 0), float(np.clip(0.05 * side, 1.0, 5.0)))
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1].astype(np.float32)
    disc = x * x + y * y <= reach * reach
    terms = np.stack([x * x, x * y, y * y, x, y, np.ones_like(x)], axis=-1)[disc].astype(float)
    solver = np.linalg.pinv(terms)
    found = np.full_like(near, np.nan)
    for i, start in enumerate(near):
        at = start.copy()
        for _ in range(6):
            columns, rows = (x + at[0]).astype(np.float32), (y + at[1]).astype(np.float32)
            seen = cv2.remap(blurred, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            xx, xy, yy, x1, y1, _ = solver @ seen[disc].astype(float)
            bend = 4.0 * xx * yy - xy * xy
            if bend >= 0.0:
                break
            step = np.array([xy * y1 - 2.0 * yy * x1, xy * x1 - 2.0 * xx * y1]) / bend
            at = at + step
            if np.linalg.norm(at - start) > 0.5 * reach + 1.0:
                break
        else:
            found[i] = at
    return found


def solve(photos: Sequence[tuple[Photo, tuple[Seen, ...]]], printed: Printed | None = None) -> list[View]:
    """Lens and perspective of photographs of one camera, together. Raises InputError if the fit is poor."""
    stretch = (printed or Printed()).stretch
    photos = [(photo, tuple(_normal(photo, seen) for seen in sheets)) for photo, sheets in photos]
    fit = _Fit([(photo, sheets) for photo, sheets in photos], stretch)
    fit.run()
    if fit.drop_outliers():
        fit.run()
    return fit.views()


def _normal(photo: Photo, seen: Seen) -> Seen:
    middle = np.array(photo.size) / 2.0 - 0.5
    half = float(np.hypot(*photo.size)) / 2.0
    return Seen(seen.sheet, (seen.pixels - middle) / half, seen.millimetres)


class _Fit:
    """Least squares over (k1, k2), then for each photograph the homography and places of more sheets."""

    def __init__(self, photos: list[tuple[Photo, tuple[Seen, ...]]], stretch: Array) -> None:
        self.photos = photos
        self.stretch = stretch
        self.noise = 0.15
        self.lens = np.zeros(2)
        self.own = [self._start(sheets) for _, sheets in photos]

    def _start(self, sheets: tuple[Seen, ...]) -> Array:
        cv2 = opencv()
        first = sheets[0]
        h, _ = cv2.findHomography(first.millimetres * self.stretch, first.pixels, 0)
        if h is None:
            raise InputError("The target sheet is seen from too flat an angle; photograph it from above.")
        h = h / h[2, 2]
        places = [
            _place(_project(np.linalg.inv(h), s.pixels), s.millimetres * self.stretch) for s in sheets[1:]
        ]
        return np.concatenate([h.ravel()[:8], *places])

    def _residuals(self, index: int, lens: Array, own: Array) -> Array:
        """What corners of one photograph are off, in standard deviations."""
        photo, sheets = self.photos[index]
        h = np.append(own[:8], 1.0).reshape(3, 3)
        half = float(np.hypot(*photo.size)) / 2.0
        off = []
        for i, seen in enumerate(sheets):
            place = own[8 + 3 * (i - 1) : 8 + 3 * i] if i else np.zeros(3)
            off.append(
                _straight(seen.pixels, lens) - _project(h, _placed(seen.millimetres * self.stretch, place))
            )
        return np.concatenate(off).ravel() * (half / self.noise)

    def _system(self) -> tuple[Array, Array, list[slice]]:
        """Normal matrix, right-hand side, and where each photograph's own unknowns are."""
        slices, at = [], 2
        for own in self.own:
            slices.append(slice(at, at + len(own)))
            at += len(own)
        prior = np.array(LENS_PRIOR)
        normal, right = np.zeros((at, at)), np.zeros(at)
        normal[[0, 1], [0, 1]] += prior**-2
        right[:2] -= self.lens / prior**2
        for index, where in enumerate(slices):
            own = self.own[index]
            base = self._residuals(index, self.lens, own)
            both = np.concatenate([self.lens, own])
            jacobian = np.empty((len(base), len(both)))
            for j, step in enumerate(_steps(both)):
                ahead, behind = both.copy(), both.copy()
                ahead[j] += step
                behind[j] -= step
                jacobian[:, j] = (
                    self._residuals(index, ahead[:2], ahead[2:])
                    - self._residuals(index, behind[:2], behind[2:])
                ) / (2.0 * step)
            rows = np.r_[0:2, where]
            normal[np.ix_(rows, rows)] += jacobian.T @ jacobian
            right[rows] -= jacobian.T @ base
        return normal, right, slices

    def _cost(self) -> float:
        total = float(((self.lens / np.array(LENS_PRIOR)) ** 2).sum())
        return total + sum(
            float((self._residuals(i, self.lens, own) ** 2).sum()) for i, own in enumerate(self.own)
        )

    def run(self) -> None:
        """Levenberg and Marquardt's iteration, the noise learnt from the fit in between."""
        for _ in range(3):
            damping, cost = 1e-6, self._cost()
            for _ in range(30):
                normal, right, slices = self._system()
                scale = np.sqrt(np.diag(normal))
                scaled = normal / np.outer(scale, scale) + damping * np.eye(len(scale))
                step = np.linalg.solve(scaled, right / scale) / scale
                before = self.lens, self.own
                self.lens = self.lens + step[:2]
                self.own = [own + step[where] for own, where in zip(self.own, slices, strict=True)]
                new = self._cost()
                if not new < cost:
                    self.lens, self.own = before
                    damping = max(damping * 10.0, 1e-9)
                    if damping > 1e3:
                        break
                    continue
                gained, cost, damping = cost - new, new, damping / 10.0
                if gained < 1e-6 * cost:
                    break
            self._learn_noise()

    def _learn_noise(self) -> None:
        off = np.concatenate([self._residuals(i, self.lens, own) for i, own in enumerate(self.own)])
        free = max(len(off) - 2 - sum(len(own) for own in self.own), 1)
        self.noise = max(FINEST_NOISE, self.noise * float(np.sqrt((off**2).sum() / free)))

    def drop_outliers(self) -> bool:
        """Leave out corners that are far off, as glare and creases make them; whether there were any."""
        dropped = False
        for index, (photo, sheets) in enumerate(self.photos):
            off = self._residuals(index, self.lens, self.own[index]).reshape(-1, 2) * self.noise
            distance = np.linalg.norm(off, axis=1)
            limit = max(0.12, 4.5 * float(np.median(distance)))
            kept, at = [], 0
            for seen in sheets:
                good = distance[at : at + len(seen.pixels)] <= limit
                at += len(seen.pixels)
                if not good.all() and good.sum() >= FEWEST_CORNERS:
                    dropped = True
                    seen = Seen(seen.sheet, seen.pixels[good], seen.millimetres[good])
                kept.append(seen)
            self.photos[index] = photo, tuple(kept)
        return dropped

    def views(self) -> list[View]:
        normal, _, slices = self._system()
        scale = np.sqrt(np.diag(normal))
        covariance = np.linalg.pinv(normal / np.outer(scale, scale), hermitian=True) / np.outer(scale, scale)
        views = []
        for index, (photo, sheets) in enumerate(self.photos):
            own = self.own[index]
            off = self._residuals(index, self.lens, own) * self.noise
            noise = float(np.sqrt(2.0 * (off**2).mean()))
            mine = np.r_[0:2, slices[index].start : slices[index].start + 8]
            half, middle = float(np.hypot(*photo.size)) / 2.0, np.array(photo.size) / 2.0 - 0.5
            view = View(
                photo,
                tuple(Seen(s.sheet, s.pixels * half + middle, s.millimetres) for s in sheets),
                self.lens,
                np.append(own[:8], 1.0).reshape(3, 3),
                (np.zeros(3), *own[8:].reshape(-1, 3)),
                self.stretch,
                noise,
                covariance[np.ix_(mine, mine)],
            )
            scale_there = float(np.sqrt(np.prod(BOARD) / _area(view.to_pixels(_box() * self.stretch))))
            if noise * scale_there > MOST_NOISE:
                raise InputError(
                    f"{photo.path}: the corners of the target lie up to {noise * scale_there:.1f} mm off a "
                    "flat sheet; smooth it out, lay it flat on the floor, and keep the camera still."
                )
            views.append(view)
        return views


def _box() -> Array:
    return np.array([(0.0, 0.0), (BOARD[0], 0.0), BOARD, (0.0, BOARD[1])])


def _area(ring: Array) -> float:
    x, y = ring.T
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2.0


def _steps(params: Array) -> Array:
    return np.maximum(np.abs(params) * 1e-6, 1e-8)


def _straight(normal: Array, lens: Array) -> Array:
    r2 = (normal**2).sum(axis=1, keepdims=True)
    return normal * (1.0 + lens[0] * r2 + lens[1] * r2 * r2)


def _project(h: Array, points: Array) -> Array:
    across = points @ h[:, :2].T + h[:, 2]
    return across[:, :2] / across[:, 2:]


def _floor_of(normal: Array, lens: Array, h: Array) -> Array:
    return _project(np.asarray(np.linalg.inv(h)), _straight(normal, lens))


def _placed(points: Array, place: Array) -> Array:
    cos, sin = np.cos(place[2]), np.sin(place[2])
    return points @ np.array([[cos, sin], [-sin, cos]]) + place[:2]


def _place(floor: Array, own: Array) -> Array:
    """The rigid motion that brings ``own`` nearest to ``floor`` (Procrustes, in the plane)."""
    a, b = own - own.mean(axis=0), floor - floor.mean(axis=0)
    angle = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    turned = _placed(own, np.array([0.0, 0.0, angle]))
    return np.array([*(floor.mean(axis=0) - turned.mean(axis=0)), angle])
