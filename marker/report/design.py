"""What a print looks like: its bars, lines and motifs as plain shapes on the flat cloth, and in words.

Drawn so that one sees whether it is even: an even print has one broad bar in every repeat, or a motif that
is its own mirror image; an uneven one has narrower lines on one side of the bar, or a lopsided motif.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from marker.model.fabric import Border, Print
from marker.report.measure import System, width_text

BAR = 0.3
"""Share of the repeat that a bar takes."""

BESIDE = ((0.27, 0.09), (0.39, 0.045))
"""Lines beside the bar of an uneven print: where their middle lies and how wide, in repeats."""

MOTIF = 0.5
"""Share of the shorter repeat that a motif takes."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Inked:
    """A printed shape (shapely). ``name`` tells its kind and counts repeats from the start: crosswise-0."""

    name: str
    shape: Any


def middles(start: float, repeat: float, low: float, high: float) -> list[tuple[int, float]]:
    """The middles of bars from ``low`` to ``high``: how many repeats after the start, and where."""
    first, last = math.ceil((low - start) / repeat - 1e-9), math.floor((high - start) / repeat + 1e-9)
    return [(k, start + k * repeat) for k in range(first, last + 1)]


def printed(design: Print, box: Box) -> list[Inked]:
    """What is printed within a box (left, bottom, right, top) of the flat cloth; bars cut off at its edge."""
    import shapely

    left, bottom, right, top = box
    clip = shapely.box(*box)
    if design.kind == "motifs":
        found = _motifs(design, box)
    else:
        found = []
        if design.along is not None:
            for name, low, high in _bars(design.start[0], design.along, design.even_along, left, right):
                found.append(Inked(f"crosswise-{name}", shapely.box(low, bottom, high, top)))
        if design.across is not None:
            for name, low, high in _bars(design.start[1], design.across, design.even_across, bottom, top):
                found.append(Inked(f"lengthwise-{name}", shapely.box(left, low, right, high)))
    cut = [Inked(one.name, one.shape.intersection(clip)) for one in found]
    return [one for one in cut if one.shape.geom_type == "Polygon" and one.shape.area > 0]


def _bars(start: float, repeat: float, even: bool, low: float, high: float) -> list[tuple[str, float, float]]:
    found = []
    for k, middle in middles(start, repeat, low - repeat, high + repeat):
        found.append((str(k), middle - BAR / 2 * repeat, middle + BAR / 2 * repeat))
        for n, (at, wide) in enumerate(() if even else BESIDE, start=1):
            found.append(
                (f"{k}-line-{n}", middle + (at - wide / 2) * repeat, middle + (at + wide / 2) * repeat)
            )
    return found


def _motifs(design: Print, box: Box) -> list[Inked]:
    import shapely
    from shapely import affinity

    along, across = design.along, design.across
    if along is None or across is None:
        return []
    left, bottom, right, top = box
    shape = shapely.Polygon(_motif(design.even_along, design.even_across))
    half = MOTIF / 2 * min(along, across)
    shape = affinity.scale(shape, half, half, origin=(0, 0))
    return [
        Inked(f"motif-{k}-{n}", affinity.translate(shape, x, y))
        for k, x in middles(design.start[0], along, left - along, right + along)
        for n, y in middles(design.start[1], across, bottom - across, top + across)
    ]


def _motif(even_along: bool, even_across: bool) -> list[tuple[float, float]]:
    """Corners of a motif two wide and two high round its middle; the head of one with a direction is at +x
    (along the cloth), or at +y."""
    if even_along and even_across:
        return [(1, 0), (0, 1), (-1, 0), (0, -1)]
    if even_across:
        return [(1, 0), (-1, 0.8), (-0.6, 0), (-1, -0.8)]
    if even_along:
        return [(0, 1), (-0.8, -1), (0, -0.6), (0.8, -1)]
    # A pennant on its staff.
    return [(-1, -1), (-0.7, -1), (1, -0.35), (-0.7, 0.3), (-0.7, 1), (-1, 1)]


def smallest_repeat(design: Print) -> float:
    """The shorter of the repeats, in millimetres."""
    return min(repeat for repeat in (design.along, design.across) if repeat is not None)


def border_box(border: Border, width: float) -> tuple[float, float]:
    """From y to y on a flat cloth of that width."""
    return (0.0, border.width) if border.side == "lower" else (width - border.width, width)


def design_words(design: Print, system: System, remnant: bool = False) -> str:
    """Kind, repeats and start: for a key or a caption."""
    start = start_words(design, system, remnant)
    return f"{kind_words(design)}, {repeat_words(design, system)}; {start}"


def kind_words(design: Print) -> str:
    kind = {"stripes along": "stripes along the cloth", "stripes across": "stripes across the cloth"}
    words = kind.get(design.kind, design.kind)
    return words if design.even_along and design.even_across else f"uneven {words}"


def repeat_words(design: Print, system: System) -> str:
    parts = [
        f"{width_text(repeat, system)} {way}"
        for repeat, way in ((design.along, "along"), (design.across, "across"))
        if repeat is not None
    ]
    return f"repeat {', '.join(parts)}"


def start_words(design: Print, system: System, remnant: bool = False) -> str:
    """Where the first bar or motif lies; starts beyond a repeat are told within the first."""
    end, edge = ("left end", "lower edge") if remnant else ("cut end", "lower selvage")
    what = "motif" if design.kind == "motifs" else "bar"
    parts = []
    if design.along is not None:
        parts.append(f"{width_text(design.start[0] % design.along, system)} from the {end}")
    if design.across is not None:
        parts.append(f"{width_text(design.start[1] % design.across, system)} from the {edge}")
    return f"middle of the first {what} {', '.join(parts)}"


def even_words(design: Print) -> str:
    """Which way round the print may be laid, as a clause."""
    if design.even_along and design.even_across:
        return "looks the same turned round and mirrored"
    if design.even_across:
        return "has an up and a down: all pieces face one way"
    if design.even_along:
        return "has a left and a right: all pieces face one way, and no two are mirror images in the print"
    return "is uneven both ways: all pieces face one way, and no two are mirror images in the print"
