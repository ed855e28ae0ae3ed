"""How far traced outlines are from the truth, in the way the accuracy is promised."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from PIL import Image

from marker.trace.find import View, find_sheets, solve
from marker.trace.outline import find_edges
from marker.trace.pattern import _refuse_uncertain
from marker.trace.photo import read_photo
from marker.trace.smooth import Smoothed, smooth
from tests.trace.scenes import Scene, on_sheet, photograph


@dataclass(frozen=True)
class Found:
    """``p95`` and ``worst``: millimetres between traced and true outline, the worse of both directions;
    ``area``: percent the traced one is too large; ``open``: 95 in 100 of two standard deviations told."""

    p95: float
    worst: float
    area: float
    open: float
    outline: Smoothed
    share: float = 0.0
    """Part of the points within 1.5 mm, the worse of both directions."""


def save(scene: Scene, path: Path, quality: int = 90, **how: object) -> Path:
    """Take the photograph of a scene and keep it as a camera would, JPEG."""
    data = io.BytesIO()
    Image.fromarray(photograph(scene)).save(data, "JPEG", quality=quality, **how)
    path.write_bytes(data.getvalue())
    return path


def view_of(path: Path) -> View:
    photo = read_photo(path)
    return solve([(photo, find_sheets(photo))])[0]


def measure(scene: Scene, path: Path, quality: int = 90) -> list[Found]:
    """Photograph a scene into a JPEG, trace that and compare with what lies there, as the sheet counts.

    Nothing is fitted to the truth: neither scale nor place nor direction.
    """
    view = view_of(save(scene, path, quality))
    edges = find_edges(view)
    truths = [shapely.Polygon(on_sheet(scene, piece)) for piece in scene.pieces]
    assert len(edges) == len(truths), f"{len(edges)} pieces found, {len(truths)} lie there"
    found = []
    for edge in edges:
        _refuse_uncertain(view, edge)
        outline = smooth(view.to_floor(edge.pixels))
        traced = shapely.Polygon(outline.ring)
        truth = max(truths, key=lambda polygon: polygon.intersection(traced).area)
        there = distances(traced.exterior, truth.exterior)
        back = distances(truth.exterior, traced.exterior)
        found.append(
            Found(
                max(float(np.percentile(d, 95)) for d in (there, back)),
                max(float(d.max()) for d in (there, back)),
                100.0 * (traced.area / truth.area - 1.0),
                2.0 * float(np.percentile(view.uncertainty(edge.pixels), 95)),
                outline,
                min(float((d <= 1.5).mean()) for d in (there, back)),
            )
        )
    return found


def distances(line: shapely.LinearRing, other: shapely.LinearRing) -> np.ndarray:
    """From points every millimetre along ``line`` to ``other``."""
    return shapely.distance(
        shapely.line_interpolate_point(line, np.arange(0.0, line.length, 1.0)), shapely.LineString(other)
    )
