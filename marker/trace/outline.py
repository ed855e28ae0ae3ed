"""The outlines of paper pieces in a photograph, in pixels, to a fraction of a pixel.

First a reduced picture is divided into floor and everything that is not floor, by colour and by how
smoothly colours run (Rother, Kolmogorov & Blake 2004, as OpenCV has it), after the light has been made even.
Then, in the full picture, the edge is followed along profiles across it: how far a colour has gone from
floor to paper, in linear light, so that blur does not shift it. Where the step is too small to be certain
the outline is refused and the place is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from marker.errors import InputError
from marker.trace import opencv
from marker.trace.find import Array, View

Mask = npt.NDArray[np.uint8]

COARSE_SIDE = 560
"""Pixels of the longer side of the picture that is divided into floor and paper."""
SMALLEST_PIECE = 1000.0
"""Square millimetres below which a spot is a pin, a label or dirt."""
SPACING = 1.5
"""Pixels between profiles along the outline."""
LEAST_STEP = 0.045
"""Difference of colour (parts of white, gamma encoded) that paper and floor must have at least."""
LEAST_CLEARNESS = 0.5
"""Part of the way from floor to paper that the picture must go where the outline is."""
LONGEST_UNCLEAR = 8.0
"""Millimetres of outline that may be unclear in one stretch: a speck, a scratch, a grout line."""


class Unclear(InputError):
    """A place of the picture where no outline can be made out; ``pixels`` of shape (n, 2) say where."""

    def __init__(self, message: str, pixels: Array) -> None:
        super().__init__(message)
        self.pixels = pixels


@dataclass(frozen=True)
class Edge:
    """The outline of a piece in ``pixels``, shape (n, 2), and ``contrast`` of paper and floor along it
    (parts of white, gamma encoded)."""

    pixels: Array
    contrast: Array


def find_edges(view: View) -> list[Edge]:
    """The outlines of all pieces in a photograph, row by row from the left. Raises InputError."""
    cv2 = opencv()
    picture = view.photo.pixels
    height, width = picture.shape[:2]
    factor = max(1.0, max(width, height) / COARSE_SIDE)
    small = cv2.resize(picture, (round(width / factor), round(height / factor)), interpolation=cv2.INTER_AREA)
    scale = np.array([width / small.shape[1], height / small.shape[0]])
    sheets = [(view.to_pixels(view.paper(i)) + 0.5) / scale - 0.5 for i in range(len(view.seen))]
    mask, even = _paper(cv2, small, sheets)
    linear = _linear(picture)
    edges = []
    for contour, spot in _spots(cv2, mask):
        floor_area = _area(view.to_floor((contour + 0.5) * scale - 0.5))
        if floor_area < SMALLEST_PIECE:
            continue
        _refuse_bad_place(cv2, view, spot, contour, scale, sheets)
        edges.append(_follow(cv2, view, linear, (contour + 0.5) * scale - 0.5, float(scale.max())))
    if not edges:
        raise InputError(
            f"{view.photo.path}: no paper piece found; lay it on a floor of another colour or brightness, "
            "wholly in the picture."
        )
    _refuse_leaks(cv2, view, even, mask, edges, scale)
    return _in_reading_order(view, edges)


def _paper(cv2: Any, small: npt.NDArray[np.uint8], sheets: list[Array]) -> tuple[Mask, npt.NDArray[np.uint8]]:
    """1 where the reduced picture shows paper and no sheet, else 0; and the picture in even light."""
    height, width = small.shape[:2]
    on_sheet = np.zeros((height, width), np.uint8)
    for corners in sheets:
        cv2.fillConvexPoly(on_sheet, np.round(_grown(corners, 1.5)).astype(np.int32), 1)
    around = cv2.dilate(on_sheet, np.ones((15, 15), np.uint8)) - on_sheet
    # The sheets would pass for paper: bits of the floor around them are shown in their place.
    picture = cv2.GaussianBlur(small, (0, 0), 0.7)
    ring = np.flatnonzero(around)
    if len(ring):
        chosen = np.random.default_rng(0).choice(ring, int(on_sheet.sum()))
        picture[on_sheet == 1] = picture.reshape(-1, 3)[chosen]
    band = _band(width, height)
    rim = np.ones((height, width), bool)
    rim[band:-band, band:-band] = False
    wide = np.ones((height, width), bool)
    wide[3 * band : -3 * band, 3 * band : -3 * band] = False
    known = (wide | (around == 1)) & (on_sheet == 0)
    even = _evened(picture, known)
    unlike = _unlike_floor(cv2, even, known)
    limit, _ = cv2.threshold(unlike[(on_sheet == 0)].reshape(1, -1), 0, 255, cv2.THRESH_OTSU)
    marks = np.where(unlike > limit, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    for round_ in range(2):
        even = _evened_near(cv2, picture, (marks == cv2.GC_BGD) | (marks == cv2.GC_PR_BGD))
        marks[rim | (on_sheet == 1)] = cv2.GC_BGD
        if not ((marks == cv2.GC_PR_FGD) | (marks == cv2.GC_FGD)).any():
            break
        cv2.setRNGSeed(7)
        models = np.zeros((1, 65)), np.zeros((1, 65))
        lab = cv2.cvtColor(even, cv2.COLOR_RGB2Lab)
        marks, *_ = cv2.grabCut(lab, marks, None, *models, 1 + round_, cv2.GC_INIT_WITH_MASK)
    paper = ((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD)).astype(np.uint8)
    # Threads of floor that passed for paper are thin; paper is not.
    core = cv2.morphologyEx(paper, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3)))
    return np.asarray(core, dtype=np.uint8), even


def _band(width: int, height: int) -> int:
    """Pixels along the rim of the reduced picture in which no paper may lie."""
    return max(3, round(0.012 * max(width, height)))


def _unlike_floor(cv2: Any, even: npt.NDArray[np.uint8], floor: npt.NDArray[np.bool_]) -> Mask:
    """How unlike each pixel is to the commonest colours of the floor, 0 to 255."""
    lab = cv2.cvtColor(even, cv2.COLOR_RGB2Lab).astype(np.float32)
    seen = lab[floor][::5]
    cv2.setRNGSeed(7)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 20, 0.5)
    _, labels, centres = cv2.kmeans(seen, 5, None, stop, 2, cv2.KMEANS_PP_CENTERS)
    # A colour that hardly occurs is something lying there, maybe a piece.
    common = centres[np.bincount(labels.ravel(), minlength=5) > 0.06 * len(seen)]
    distance = np.min([np.linalg.norm(lab - centre, axis=2) for centre in common], axis=0)
    return np.clip(distance, 0, 255).astype(np.uint8)


def _evened(picture: npt.NDArray[np.uint8], floor: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    """The picture as if the light were even: a smooth surface fitted to the floor divided out."""
    height, width = floor.shape
    v, u = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    terms = np.stack([u**i * v**j for i in range(4) for j in range(4 - i)], axis=-1)
    brightness = np.log(np.maximum(picture.astype(float).mean(axis=2), 2.0))
    at = np.flatnonzero(floor)[::7]
    known, values = terms.reshape(-1, terms.shape[-1])[at], brightness.ravel()[at]
    weights = np.ones(len(at))
    # Far from the floor seen the surface is a guess: it is held back by a little ridge.
    ridge = 1e-3 * len(at) * np.diag([0.0] + [1.0] * (terms.shape[-1] - 1))
    for _ in range(4):
        coefficients = np.linalg.solve(
            (known * weights[:, None]).T @ known + ridge, known.T @ (weights * values)
        )
        weights = 1.0 / np.maximum(np.abs(values - known @ coefficients), 0.02)
        weights /= weights.mean()
    return _divided(picture, terms @ coefficients, floor)


def _evened_near(
    cv2: Any, picture: npt.NDArray[np.uint8], floor: npt.NDArray[np.bool_]
) -> npt.NDArray[np.uint8]:
    """The same with the mean brightness of the floor nearby; where none is near, from farther away."""
    tall, broad = (max(8, side // 4) for side in floor.shape)
    weight = cv2.resize(floor.astype(np.float32), (broad, tall), interpolation=cv2.INTER_AREA)
    brightness = np.log(np.maximum(picture.astype(np.float32).mean(axis=2), 2.0)).astype(np.float32)
    value = cv2.resize(brightness * floor, (broad, tall), interpolation=cv2.INTER_AREA)
    surface, certain = np.zeros_like(value), np.zeros_like(weight)
    for sigma in (0.05 * broad, 0.1 * broad, 0.2 * broad, 0.5 * broad):
        w = cv2.GaussianBlur(weight, (0, 0), sigma)
        mean = cv2.GaussianBlur(value, (0, 0), sigma) / np.maximum(w, 1e-6)
        share = np.clip(w / 0.3, 0.0, 1.0) * (1.0 - certain)
        surface += share * mean
        certain += share
    surface = surface / np.maximum(certain, 1e-6)
    whole = cv2.resize(surface, floor.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return _divided(picture, whole, floor)


def _divided(
    picture: npt.NDArray[np.uint8], surface: Array, floor: npt.NDArray[np.bool_]
) -> npt.NDArray[np.uint8]:
    middle = float(np.median(surface[floor])) if floor.any() else 0.0
    factor = np.exp(np.clip(surface - middle, -0.8, 0.8))
    return np.clip(picture / factor[..., None], 0, 255).astype(np.uint8)


def _spots(cv2: Any, mask: Mask) -> list[tuple[Array, Mask]]:
    """Outer contours of the connected parts (shape (n, 2), pixels of the mask) with the parts filled."""
    found = []
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in contours:
        if len(contour) < 20 or cv2.contourArea(contour) < 30:
            continue
        spot = np.zeros_like(mask)
        cv2.drawContours(spot, [contour], -1, 1, -1)
        # The contour runs through the middles of the outermost pixels; grown by half a pixel it is the edge.
        fine = cv2.resize(spot, None, fx=2, fy=2, interpolation=cv2.INTER_NEAREST)
        outer, _ = cv2.findContours(fine, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        longest = max(outer, key=len)[:, 0].astype(float)
        found.append(((longest + 0.5) / 2.0 - 0.5, spot))
    return found


def _refuse_bad_place(
    cv2: Any, view: View, spot: Mask, contour: Array, scale: Array, sheets: list[Array]
) -> None:
    height, width = spot.shape
    band = _band(width, height)
    near = (
        (contour[:, 0] < band + 1.5)
        | (contour[:, 1] < band + 1.5)
        | (contour[:, 0] > width - band - 2.5)
        | (contour[:, 1] > height - band - 2.5)
    )
    if near.any():
        at = (contour[near] + 0.5) * scale - 0.5
        raise Unclear(
            f"{view.photo.path}: the edge of a piece is cut off by the picture "
            f"{where(view, at.mean(axis=0))}; take it from farther away, with some floor all around.",
            at,
        )
    for corners in sheets:
        sheet = np.zeros_like(spot)
        cv2.fillConvexPoly(sheet, np.round(_grown(corners, 3.0)).astype(np.int32), 1)
        touching = np.argwhere((sheet & spot) == 1)[:, ::-1].astype(float)
        if len(touching) > 4:
            at = (touching + 0.5) * scale - 0.5
            raise Unclear(
                f"{view.photo.path}: a piece touches or covers a target sheet "
                f"{where(view, at.mean(axis=0))}; leave floor between them.",
                at,
            )


def _follow(cv2: Any, view: View, linear: npt.NDArray[np.float32], contour: Array, coarse: float) -> Edge:
    """The edge near ``contour`` to a fraction of a pixel."""
    line = _resampled(_relaxed(contour, coarse), SPACING)
    for reach, average in ((3.0 * coarse + 3.0, 2.0), (5.0, 1.2)):
        line, clear, contrast = _step(cv2, linear, line, reach, average)
        line = _resampled_with(line, SPACING)
    line, clear, contrast = _step(cv2, linear, line, 5.0, 1.0)
    bad = (clear < LEAST_CLEARNESS) | (contrast < LEAST_STEP)
    at = _longest_bad(view, line, bad)
    if at is not None:
        raise Unclear(
            f"{view.photo.path}: too little contrast between paper and floor {where(view, at.mean(axis=0))}; "
            "lay the piece on a floor that is clearly darker or lighter, in even light.",
            at,
        )
    return Edge(line[~bad], contrast[~bad])


def _step(
    cv2: Any, linear: npt.NDArray[np.float32], line: Array, reach: float, average: float
) -> tuple[Array, Array, Array]:
    """Move each point of ``line`` along its normal onto the edge, within ``reach`` pixels.

    Returns the line, how clear the step is there (1: all the way from floor to paper), and the contrast.
    """
    normals = _normals(line)
    inner = max(2.0, 0.35 * reach)
    offsets = np.arange(-reach - inner, reach + inner + 0.25, 0.5)
    at = line[:, None] + offsets[None, :, None] * normals[:, None]
    profile = cv2.remap(
        linear,
        at[..., 0].astype(np.float32),
        at[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    ).astype(float)
    beyond = round(inner / 0.5)
    wide = max(6.0, 2.0 * reach)
    inside = _smooth_around(np.median(profile[:, :beyond], axis=1), wide)
    outside = _smooth_around(np.median(profile[:, -beyond:], axis=1), wide)
    way = inside - outside
    length2 = np.maximum((way**2).sum(axis=1), 1e-9)
    gone = np.einsum("nkc,nc->nk", profile - outside[:, None], way) / length2[:, None]
    gone = _smooth_around(np.clip(gone, -1.0, 2.0), average)
    # The fall from paper to floor across one and a half pixels to either side.
    fall = gone[:, :-6] - gone[:, 6:]
    shift = _best_path(fall[:, beyond - 3 : fall.shape[1] - beyond + 3])
    middle = shift + beyond
    rows = np.arange(len(line))
    # The crossing of the half way mark that is nearest to there.
    best = np.full(len(line), np.inf)
    place = offsets[middle].astype(float)
    for k in range(-4, 4):
        left = np.clip(middle + k, 0, gone.shape[1] - 2)
        a, b = gone[rows, left] - 0.5, gone[rows, left + 1] - 0.5
        crossing = (a > 0) & (b <= 0)
        here = offsets[left] + 0.5 * a / np.where(crossing, a - b, 1.0)
        distance = np.where(crossing, np.abs(here - offsets[middle]), np.inf)
        place = np.where(distance < best, here, place)
        best = np.minimum(best, distance)
    clear_in = gone[rows[:, None], np.clip(middle[:, None] + np.arange(-9, -3), 0, None)].mean(axis=1)
    clear_out = gone[
        rows[:, None], np.clip(middle[:, None] + np.arange(4, 10), None, gone.shape[1] - 1)
    ].mean(axis=1)
    clear = _smooth_around(clear_in - clear_out, 4.0)
    clear = np.where(np.isfinite(best), clear, 0.0)
    contrast = np.abs(_encoded(inside) - _encoded(outside)).max(axis=1)
    return line + place[:, None] * normals, clear, contrast


def _best_path(gain: Array) -> npt.NDArray[np.intp]:
    """For each row of ``gain`` a column, neighbours at most one apart, so that the sum of gains is largest.

    Dynamic programming around the closed line: it is gone round twice and the middle half kept.
    """
    n, columns = gain.shape
    twice = np.concatenate([gain, gain])
    total = np.zeros(columns)
    came = np.zeros((2 * n, columns), np.int8)
    for i in range(2 * n):
        left = np.concatenate([[-np.inf], total[:-1]]) - 0.05
        right = np.concatenate([total[1:], [-np.inf]]) - 0.05
        best = np.maximum(np.maximum(left, right), total)
        came[i] = np.where(best == total, 0, np.where(best == left, -1, 1))
        total = best + twice[i]
    path = np.empty(2 * n, np.intp)
    path[-1] = int(total.argmax())
    for i in range(2 * n - 1, 0, -1):
        path[i - 1] = path[i] + came[i, path[i]]
    half = n // 2
    kept = path[half : half + n]
    return np.roll(kept, half)


def _longest_bad(view: View, line: Array, bad: npt.NDArray[np.bool_]) -> Array | None:
    """The longest stretch of bad points, if it is too long to bridge."""
    if not bad.any():
        return None
    if bad.all():
        return line
    start = int(np.flatnonzero(~bad)[0])
    turned, places = np.roll(bad, -start), np.roll(line, -start, axis=0)
    floor = view.to_floor(places)
    worst, length = None, LONGEST_UNCLEAR
    begin = None
    for i, is_bad in enumerate(np.append(turned, False)):
        if is_bad and begin is None:
            begin = i
        elif not is_bad and begin is not None:
            run = float(np.linalg.norm(np.diff(floor[begin : i + 1], axis=0), axis=1).sum())
            if run > length:
                worst, length = places[begin:i], run
            begin = None
    return worst


def _refuse_leaks(
    cv2: Any, view: View, even: npt.NDArray[np.uint8], mask: Mask, edges: list[Edge], scale: Array
) -> None:
    """Refuse an outline that takes in floor: somewhere its inner side looks like floor, not paper."""
    lab = cv2.cvtColor(even, cv2.COLOR_RGB2Lab).astype(np.float32)
    floor = np.median(lab[cv2.dilate(mask, np.ones((5, 5), np.uint8)) == 0], axis=0)
    for edge in edges:
        inner = (edge.pixels - 2.2 * float(scale.max()) * _normals(edge.pixels) + 0.5) / scale - 0.5
        inside = _smooth_around(_sampled(lab, inner), 4.0)
        paper = np.median(inside, axis=0)
        to_paper, to_floor = (np.linalg.norm(inside - colour, axis=1) for colour in (paper, floor))
        at = _longest_bad(view, edge.pixels, to_floor < to_paper)
        if at is not None:
            raise Unclear(
                f"{view.photo.path}: it is unclear what is paper and what is floor "
                f"{where(view, at.mean(axis=0))}: the piece found there has the colour of the floor; take a "
                "plainer floor of another colour, in even light, with nothing else on it.",
                at,
            )


def where(view: View, pixel: Array) -> str:
    """A place in the picture in words."""
    width, height = view.photo.size
    x, y = float(pixel[0]) / width, float(pixel[1]) / height
    rows = "at the top" if y < 0.33 else "at the bottom" if y > 0.67 else "half-way down"
    columns = "left" if x < 0.33 else "right" if x > 0.67 else "middle"
    return (
        f"{rows} {columns} (pixel {pixel[0] * view.photo.reduced:.0f}, {pixel[1] * view.photo.reduced:.0f})"
    )


def _in_reading_order(view: View, edges: list[Edge]) -> list[Edge]:
    height = view.photo.size[1]
    return sorted(
        edges,
        key=lambda e: (round(float(e.pixels[:, 1].mean()) / (0.34 * height)), float(e.pixels[:, 0].mean())),
    )


def _linear(picture: npt.NDArray[np.uint8]) -> npt.NDArray[np.float32]:
    """Linear light of sRGB (IEC 61966-2-1)."""
    values = np.arange(256) / 255.0
    table = np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)
    return table.astype(np.float32)[picture]


def _encoded(linear: Array) -> Array:
    return np.asarray(np.maximum(linear, 0.0) ** (1 / 2.2))


def _sampled(linear: npt.NDArray[np.float32], at: Array) -> Array:
    cv2 = opencv()
    x, y = at[:, 0].astype(np.float32)[:, None], at[:, 1].astype(np.float32)[:, None]
    return np.asarray(cv2.remap(linear, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[:, 0], float)


def _smooth_around(values: Array, sigma: float) -> Array:
    """Gaussian mean along a closed line (first axis), ``sigma`` in points."""
    reach = min(max(1, int(3 * sigma)), (len(values) - 1) // 2)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    flat = values.reshape(len(values), -1)
    padded = np.concatenate([flat[-reach:], flat, flat[:reach]])
    out = np.zeros_like(flat)
    for k, weight in enumerate(kernel):
        out += weight * padded[k : k + len(flat)]
    return out.reshape(values.shape)


def _normals(line: Array) -> Array:
    """Unit normals of a closed line pointing out of it."""
    along = np.roll(line, -2, axis=0) - np.roll(line, 2, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1)
    return normal if _signed(line) > 0 else -normal


def _relaxed(contour: Array, coarse: float) -> Array:
    """The stair-stepped contour of a mask made smooth over about a pixel of the mask."""
    line = _resampled(contour, SPACING)
    return _smooth_around(line, 0.8 * coarse / SPACING)


def _resampled(line: Array, spacing: float) -> Array:
    """Points at even distances along a closed line."""
    closed = np.concatenate([line, line[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = max(16, round(way[-1] / spacing))
    at = np.linspace(0.0, way[-1], count, endpoint=False)
    return np.stack([np.interp(at, way, closed[:, k]) for k in range(2)], axis=1)


def _resampled_with(line: Array, spacing: float) -> Array:
    return _resampled(_smooth_around(line, 1.0), spacing)


def _signed(line: Array) -> float:
    x, y = line.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0


def _area(line: Array) -> float:
    return abs(_signed(line))


def _grown(corners: Array, by: float) -> Array:
    """A convex outline with its corners moved away from its middle by about ``by``."""
    middle = corners.mean(axis=0)
    away = corners - middle
    return corners + by * np.sqrt(2.0) * away / np.linalg.norm(away, axis=1, keepdims=True)
