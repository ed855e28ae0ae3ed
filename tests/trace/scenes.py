"""Photographs with known truth: paper pieces and printed sheets on a floor, seen by a camera of formulas.

The floor is painted as a metric picture, then looked at through a pinhole with radial distortion (the
forward form x (1 + k1 r^2 + k2 r^4), which the program under test does not use), blurred, shaded and made
noisy. The sheets are the printed PDF itself, rasterised by PDFium.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field

import cv2
import numpy as np

from marker.trace.target import PAPERS, TOP, Sheet, target_pdf

Floor = str
FLOORS = ("wood", "carpet", "tiles", "dark", "light")
BEYOND = 150.0
"""Millimetres of floor painted around the scene, so that a tilted camera sees floor everywhere."""


@dataclass(frozen=True)
class Camera:
    """``focal`` in half diagonals of the picture; ``tilt`` in degrees about x and y; ``distance`` in mm to
    the point of the floor in the middle of the picture."""

    width: int = 2000
    height: int = 1500
    focal: float = 1.25
    k1: float = 0.0
    k2: float = 0.0
    tilt: tuple[float, float] = (8.0, -6.0)
    turn: float = 0.0
    distance: float = 0.0
    off_centre: tuple[float, float] = (0.0, 0.0)
    """Principal point, in parts of the half diagonal."""


@dataclass(frozen=True)
class Scene:
    """What lies on a floor of ``size`` mm. Pieces are arrays (n, 2) in mm, y down; sheets lie at (x, y,
    degrees) of the upper left corner of their chequered board."""

    pieces: tuple[np.ndarray, ...]
    sheets: tuple[tuple[Sheet, float, float, float], ...]
    floor: Floor = "dark"
    size: tuple[float, float] = (900.0, 675.0)
    paper: tuple[int, int, int] = (236, 232, 222)
    marks: bool = True
    shadow: float = 0.0
    vignette: float = 0.2
    blur: float = 0.8
    """Pixels of the photograph, standard deviation."""
    noise: float = 3.0
    camera: Camera = field(default_factory=Camera)
    seed: int = 1
    grain: float = 3.0
    """Pixels of the painted floor for a millimetre."""
    print_scale: float = 1.0
    white: float = 0.0
    """How much redder the left and bluer the right rim is than the middle: lamp on one side, window on the
    other."""
    creases: float = 0.0
    """How much lighter and darker than flat the panels of folded paper are; the paper still lies flat."""


def bezier(*points: tuple[float, float], last: bool = True, steps: int = 60) -> np.ndarray:
    """Points of a cubic, with or without its last one."""
    a, b, c, d = (np.array(p, dtype=float) for p in points)
    t = np.linspace(0, 1, steps + last, endpoint=last)[:, None]
    return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3


def bodice(x: float = 0.0, y: float = 0.0, scale: float = 1.0, angle: float = 0.0) -> np.ndarray:
    """Half a front: neck and armhole curves, straight centre, shoulder, side and hem; 260 mm x 420 mm."""
    outline = np.concatenate(
        [
            np.array([(0.0, 90.0)]),
            np.array([(0.0, 420.0)]),
            np.array([(250.0, 408.0)]),
            bezier((258.0, 190.0), (205.0, 165.0), (205.0, 90.0), (212.0, 35.0)),
            bezier((85.0, 0.0), (82.0, 55.0), (55.0, 88.0), (0.0, 90.0), last=False),
        ]
    )
    return place(outline, x, y, scale, angle)


def sleeve(x: float = 0.0, y: float = 0.0, scale: float = 1.0, angle: float = 0.0) -> np.ndarray:
    """A sleeve: an S-curved cap, straight seams, a slightly curved hem; 300 mm x 330 mm."""
    outline = np.concatenate(
        [
            bezier((0.0, 110.0), (60.0, 90.0), (80.0, 0.0), (150.0, 0.0), last=False),
            bezier((150.0, 0.0), (225.0, 0.0), (235.0, 90.0), (300.0, 110.0)),
            bezier((262.0, 330.0), (200.0, 342.0), (100.0, 318.0), (38.0, 330.0)),
        ]
    )
    return place(outline, x, y, scale, angle)


def cuff(x: float = 0.0, y: float = 0.0, scale: float = 1.0, angle: float = 0.0) -> np.ndarray:
    """A plain rectangle, 230 mm x 80 mm."""
    return place(np.array([(0.0, 0.0), (230.0, 0.0), (230.0, 80.0), (0.0, 80.0)]), x, y, scale, angle)


def place(outline: np.ndarray, x: float, y: float, scale: float = 1.0, angle: float = 0.0) -> np.ndarray:
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return scale * outline @ np.array([[c, s], [-s, c]]) + [x, y]


def on_sheet(scene: Scene, points: np.ndarray, sheet: int = 0) -> np.ndarray:
    """Places on the floor as the board of a sheet counts them."""
    _, x, y, angle = scene.sheets[sheet]
    return place(points - [x, y], 0.0, 0.0, 1.0, -angle)


@functools.lru_cache(maxsize=8)
def sheet_picture(sheet: Sheet, dots: int) -> np.ndarray:
    """The printed page at ``dots`` pixels a millimetre, grey."""
    import pypdfium2

    document = pypdfium2.PdfDocument(target_pdf(sheet.paper, sheet.number))
    page = document[sheet.number - 1]
    rendered = np.array(page.render(scale=dots * 25.4 / 72.0, grayscale=True).to_numpy())
    return rendered.reshape(rendered.shape[:2])


def paint_floor(kind: Floor, size: tuple[int, int], grain: float, rng: np.random.Generator) -> np.ndarray:
    """A floor as float RGB, 0 to 255 in sRGB, shape (height, width, 3)."""
    width, height = size

    def cloud(cells_x: int, cells_y: int) -> np.ndarray:
        small = rng.standard_normal((cells_y, cells_x)).astype(np.float32)
        return cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)

    if kind == "wood":
        board = 95 * grain
        tones = rng.normal(0, 11, int(height / board) + 2)
        row = np.minimum((np.arange(height) / board).astype(int), len(tones) - 1)
        streak = 9 * cloud(12, height // 4) + 5 * cloud(40, height // 2)
        base = streak + tones[row][:, None]
        base[(np.arange(height) % board) < 1.2 * grain] -= 45
        return np.clip(base[..., None] + np.array([138.0, 98.0, 62.0]), 5, 250).astype(np.float32)
    if kind == "carpet":
        tufts = 20 * cloud(int(width / grain / 2), int(height / grain / 2)) + 10 * cloud(60, 45)
        return np.clip(tufts[..., None] + np.array([92.0, 96.0, 118.0]), 5, 250).astype(np.float32)
    if kind == "tiles":
        side = 150 * grain
        ys, xs = np.arange(height)[:, None], np.arange(width)[None, :]
        tone = rng.normal(0, 5, (int(height / side) + 2, int(width / side) + 2))
        base = tone[(ys / side).astype(int), (xs / side).astype(int)] + 2 * cloud(200, 150)
        base = np.where((ys % side < 3 * grain) | (xs % side < 3 * grain), 60.0, base)
        return np.clip(base[..., None] + np.array([104.0, 82.0, 76.0]), 5, 250).astype(np.float32)
    level = {"dark": (52.0, 54.0, 60.0), "light": (176.0, 178.0, 176.0), "paper": (232.0, 229.0, 221.0)}[kind]
    return np.clip(2.0 * cloud(80, 60)[..., None] + np.array(level), 5, 250).astype(np.float32)


def covered(outline: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """How much of each pixel an outline (in pixels, pixel i covering i to i + 1) covers, 0 to 1.

    OpenCV paints the rim of a filled polygon too, half a pixel beyond its edge; the mean of painting the
    outline and of painting what is around it has no such bias.
    """
    # Counted in 1/16 pixels from the middles of pixels.
    ring = np.round((outline - 0.5) * 16).astype(np.int32)
    width, height = size
    all_ = np.array([(-5, -5), (width + 5, -5), (width + 5, height + 5), (-5, height + 5)], np.int32) * 16
    inside, outside = np.zeros((height, width), np.uint8), np.zeros((height, width), np.uint8)
    cv2.fillPoly(inside, [ring], 255, cv2.LINE_AA, 4)
    cv2.fillPoly(outside, [all_, ring], 255, cv2.LINE_AA, 4)
    return (inside.astype(np.float32) + 255.0 - outside) / 510.0


def creased(outline: np.ndarray, size: tuple[int, int], grain: float, depth: float) -> np.ndarray:
    """Light on a piece of paper that was folded every 105 mm both ways: panels that lean towards the light
    and away from it in turn, and a narrow dark line in each fold."""
    left, top = outline.min(axis=0)
    xs = (np.arange(size[0]) / grain - left + 37.0) / 105.0
    ys = (np.arange(size[1]) / grain - top + 61.0) / 105.0
    panels = [np.where(np.floor(along) % 2, 1.0, -1.0) * (1.0 - along % 1.0) for along in (xs, ys)]
    folds = [np.exp(-((((along + 0.5) % 1.0 - 0.5) * 105.0 / 1.2) ** 2)) for along in (xs, ys)]
    shade = panels[0][None, :] * 0.6 + panels[1][:, None] * 0.4
    line = np.maximum(folds[0][None, :], folds[1][:, None])
    return (1.0 + depth * shade - 2.0 * depth * line).astype(np.float32)


def paint(scene: Scene) -> np.ndarray:
    """The floor with everything on it as float RGB in linear light, ``grain`` pixels a millimetre."""
    rng = np.random.default_rng(scene.seed)
    g = scene.grain
    size = round((scene.size[0] + 2 * BEYOND) * g), round((scene.size[1] + 2 * BEYOND) * g)
    linear = linear_light(paint_floor(scene.floor, size, g, rng))
    for outline in (piece + BEYOND for piece in scene.pieces):
        cover = covered(outline * g, size)
        paper = np.empty(linear.shape, np.uint8)
        paper[:] = scene.paper
        if scene.marks:
            middle = outline.mean(axis=0)
            ink = (70, 72, 80)
            for a, b in (
                ((0, -55), (0, 55)),
                ((-25, 20), (25, 20)),
                ((0, -55), (-6, -43)),
                ((0, -55), (6, -43)),
            ):
                start, end = (tuple(int(v) for v in (middle + p) * g) for p in (a, b))
                cv2.line(paper, start, end, ink, max(1, round(0.6 * g)), cv2.LINE_AA)
            cv2.putText(
                paper,
                "Front 2",
                tuple(int(v) for v in (middle + (10, -10)) * g),
                0,
                0.35 * g,
                ink,
                2,
                cv2.LINE_AA,
            )
        alpha = cover[..., None]
        lit = linear_light(paper)
        if scene.creases:
            lit = lit * creased(outline, size, g, scene.creases)[..., None]
        linear = linear + (lit - linear) * alpha
    for sheet, x, y, angle in scene.sheets:
        x, y, dots = x + BEYOND, y + BEYOND, 10
        page = sheet_picture(sheet, dots).astype(np.float32)
        width = PAPERS[sheet.paper][0]
        left = (width - 180.0) / 2
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        # Floor pixel centre to page pixel centre.
        turn = np.array([[c, s], [-s, c]]) / scene.print_scale
        to_page = dots * turn / g
        offset = dots * (turn @ (np.array([0.5, 0.5]) / g - [x, y]) + [left, TOP]) - 0.5
        matrix = np.hstack([to_page, offset[:, None]])
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        page = cv2.blur(page, (round(dots / g), round(dots / g)))
        seen = cv2.warpAffine(page, matrix, size, flags=flags, borderValue=0)
        there = cv2.warpAffine(np.ones_like(page), matrix, size, flags=flags, borderValue=0)[..., None]
        ink = np.float32(0.03) + np.float32(0.8) * (seen / np.float32(255.0))[..., None]
        linear = linear * (1 - there) + ink * there
    return linear


def linear_light(picture: np.ndarray) -> np.ndarray:
    """The same as to_linear for whole numbers, quickly."""
    table = to_linear(np.arange(256.0)).astype(np.float32)
    return table[np.clip(np.round(picture), 0, 255).astype(np.uint8)]


def to_linear(srgb: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1."""
    v = srgb / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)


def to_srgb(linear: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1, 0 to 255."""
    v = np.clip(linear, 0.0, 1.0)
    return 255.0 * np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.maximum(v, 0.0031308) ** (1 / 2.4) - 0.055)


def looked_at(camera: Camera, size: tuple[float, float]) -> np.ndarray:
    """Homography from the floor (mm) to the undistorted picture (half diagonals from the middle)."""
    ax, ay, az = np.radians([*camera.tilt, camera.turn])
    rx = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    ry = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    rz = np.array([[np.cos(az), -np.sin(az), 0], [np.sin(az), np.cos(az), 0], [0, 0, 1]])
    turned = rx @ ry @ rz
    half = np.hypot(camera.width, camera.height) / 2
    distance = camera.distance or 1.02 * camera.focal * size[0] * half / camera.width
    pose = np.column_stack([turned[:, 0], turned[:, 1], (0, 0, distance)])
    to_middle = np.array([[1, 0, -size[0] / 2], [0, 1, -size[1] / 2], [0, 0, 1.0]])
    return np.diag([camera.focal, camera.focal, 1.0]) @ pose @ to_middle


def photograph(scene: Scene) -> np.ndarray:
    """The picture the camera takes, RGB uint8."""
    camera = scene.camera
    rng = np.random.default_rng(scene.seed + 100)
    painted = paint(scene)
    over = 2
    width, height = camera.width * over, camera.height * over
    half = np.hypot(width, height) / 2
    # The way back from the picture to the floor runs so smoothly that every eighth pixel says it all.
    ys, xs = np.mgrid[0 : height // 8, 0 : width // 8] * 8 + 3.5
    bent_x = (xs + 0.5 - width / 2) / half - camera.off_centre[0]
    bent_y = (ys + 0.5 - height / 2) / half - camera.off_centre[1]
    x, y = bent_x, bent_y
    for _ in range(12 if camera.k1 or camera.k2 else 0):
        r2 = x * x + y * y
        factor = 1 + camera.k1 * r2 + camera.k2 * r2 * r2
        x, y = bent_x / factor, bent_y / factor
    back = np.linalg.inv(looked_at(camera, scene.size))
    floor = np.stack([x, y, np.ones_like(x)], axis=-1) @ back.T
    floor = ((floor[..., :2] / floor[..., 2:] + BEYOND) * scene.grain - 0.5).astype(np.float32)
    floor = cv2.resize(floor, (width, height), interpolation=cv2.INTER_LINEAR)
    where = floor, None
    light = cv2.remap(painted, *where, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
    light = cv2.resize(light, (camera.width, camera.height), interpolation=cv2.INTER_AREA)
    if scene.blur:
        light = cv2.GaussianBlur(light, (0, 0), scene.blur)
    ys, xs = np.mgrid[0 : camera.height, 0 : camera.width].astype(np.float32)
    u, v = xs / camera.width - 0.5, ys / camera.height - 0.5
    shade = 1 - scene.vignette * (u * u + v * v) / 0.5
    if scene.shadow:
        # The soft edge of somebody's shadow across the picture.
        shade = shade * (1 - scene.shadow / (1 + np.exp(-(u + 0.6 * v - 0.05) / 0.03)))
    light = light * shade[..., None]
    if scene.white:
        light = light * (1.0 + 2.0 * scene.white * u[..., None] * np.array([-1.0, 0.0, 1.0], np.float32))
    picture = to_srgb(light)
    picture = picture + np.float32(scene.noise) * rng.standard_normal(picture.shape, np.float32)
    return np.clip(np.round(picture), 0, 255).astype(np.uint8)
