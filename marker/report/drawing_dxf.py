"""The layout as a DXF file: every placed piece on the layers of the open standard ASTM D6673.

One block a placement, its shapes in millimetres where they lie on the cloth (x along the length, y across),
all inserted at the origin: a reader that knows the standard finds one piece a block, and any other shows the
layout. The standard itself leaves markers out, so the cloth is drawn beside the blocks on layers that are
called by words. The file is plain text of release 12, ASCII only, and the same bytes for the same layout.

Layers: 1 outline and texts, 2 turn points, 4 notches, 6 mirror line (fold edge), 7 grain line from tail to
head, 8 inner lines, 11 holes, 13 drill holes, 15 annotation (``Notch: NAME`` at every notch). Group codes are
those of the published DXF reference.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.model.piece import Point
from marker.plain import visible
from marker.report.placed_words import names_of, quantity_words

TEXT_HEIGHT = 8.0
LAYERS: tuple[tuple[str, int], ...] = (
    ("0", 7),
    ("1", 7),
    ("2", 8),
    ("4", 1),
    ("6", 5),
    ("7", 3),
    ("8", 4),
    ("11", 1),
    ("13", 1),
    ("15", 8),
    ("CLOTH", 8),
    ("FOLD", 5),
    ("FLAW", 1),
)
"""Names and colour numbers of the layers."""

Pair = tuple[int, str | int | float]


def layout_dxf(material: MaterialLayout, job: Job) -> bytes:
    """The DXF file of one material's layout."""
    names = names_of(material)
    blocks = [(f"PIECE-{i + 1:03d}", placed) for i, placed in enumerate(material.placements)]
    pairs: list[Pair] = [(999, "Cutting layout, lengths in millimetres"), *_header(material), *_tables()]
    pairs += [(0, "SECTION"), (2, "BLOCKS")]
    for (block, placed), name in zip(blocks, names, strict=True):
        pairs += [(0, "BLOCK"), (8, "0"), (2, block), (70, 0), *_at((0.0, 0.0)), (3, block)]
        pairs += _piece(placed, name, material.material, job)
        pairs += [(0, "ENDBLK"), (8, "0")]
    pairs += [(0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]
    pairs += _style(material, job)
    pairs += _cloth(material)
    for block, _ in blocks:
        pairs += [(0, "INSERT"), (8, "1"), (2, block), *_at((0.0, 0.0))]
    pairs += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(f"{code:>3}\n{_value(value)}\n" for code, value in pairs).encode("ascii")


def _header(material: MaterialLayout) -> Iterator[Pair]:
    yield from _pairs((0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"))
    yield from _pairs((9, "$DWGCODEPAGE"), (3, "ANSI_1252"))
    yield from _pairs(
        (9, "$EXTMIN"), *_at((0.0, 0.0)), (9, "$EXTMAX"), *_at((material.length, material.width))
    )
    yield (0, "ENDSEC")


def _tables() -> Iterator[Pair]:
    yield from _pairs((0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, 1), (0, "LTYPE"))
    yield from _pairs(
        (2, "CONTINUOUS"), (70, 0), (3, "Solid line"), (72, 65), (73, 0), (40, 0.0), (0, "ENDTAB")
    )
    yield from _pairs((0, "TABLE"), (2, "LAYER"), (70, len(LAYERS)))
    for name, colour in LAYERS:
        yield from _pairs((0, "LAYER"), (2, name), (70, 0), (62, colour), (6, "CONTINUOUS"))
    yield from _pairs(
        (0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, 1), (0, "STYLE"), (2, "STANDARD"), (70, 0)
    )
    yield from _pairs((40, 0.0), (41, 1.0), (50, 0.0), (71, 0), (42, TEXT_HEIGHT), (3, "txt"), (4, ""))
    yield from _pairs((0, "ENDTAB"), (0, "ENDSEC"))


def _piece(placed: Placement, name: str, material: str, job: Job) -> Iterator[Pair]:
    yield from _line(placed.outline, "1", closed=True)
    # What is cut are these straight lines: every vertex is a turn point, so that no reader rounds them.
    for point in placed.outline:
        yield from _pairs((0, "POINT"), (8, "2"), *_at(point))
    for notch in placed.notches:
        yield from _pairs((0, "POINT"), (8, "4"), *_at(notch.at))
        yield from _text(f"Notch: {notch.name}", notch.at, "15")
    if placed.fold_edge is not None:
        yield from _segment(*placed.fold_edge, "6")
    yield from _segment(*placed.grain, "7")
    for line in placed.lines:
        yield from _line(line, "8")
    for hole in placed.holes:
        yield from _line(hole, "11", closed=True)
    for drill in placed.drills:
        yield from _pairs((0, "POINT"), (8, "13"), *_at(drill))
    words = [
        f"Piece Name: {name}",
        f"Size: {job.size}",
        f"Quantity: {quantity_words(placed)}",
        f"Material: {material}",
        *(["Annotation: laid face down"] if placed.mirrored else []),
    ]
    x, y = _middle(placed.grain)
    for i, text in enumerate(words):
        yield from _text(text, (x, y - 1.5 * i * TEXT_HEIGHT), "1")


def _style(material: MaterialLayout, job: Job) -> Iterator[Pair]:
    view = f", view {job.view}" if job.view else ""
    words = (
        f"Style Name: {job.pattern}{view}, {material.material}",
        f"Sample Size: {job.size}",
        "Units: METRIC",
    )
    for i, text in enumerate(words):
        yield from _text(text, (0.0, -2.0 * (i + 1) * TEXT_HEIGHT), "1")


def _cloth(material: MaterialLayout) -> Iterator[Pair]:
    for band in material.bands:
        (x0, x1), (y0, y1) = band.x, band.y
        yield from _line(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "CLOTH", closed=True)
        for y in band.folds:
            yield from _segment((x0, y), (x1, y), "FOLD")
        if band.fold_across is not None:
            yield from _segment((band.fold_across, y0), (band.fold_across, y1), "FOLD")
    for flaw in material.obstacles:
        yield from _line(flaw, "FLAW", closed=True)


def _line(points: Sequence[Point], layer: str, closed: bool = False) -> Iterator[Pair]:
    yield from _pairs((0, "POLYLINE"), (8, layer), (66, 1), *_at((0.0, 0.0)), (70, 1 if closed else 0))
    for point in points:
        yield from _pairs((0, "VERTEX"), (8, layer), *_at(point))
    yield from _pairs((0, "SEQEND"), (8, layer))


def _segment(start: Point, end: Point, layer: str) -> Iterator[Pair]:
    yield from _pairs((0, "LINE"), (8, layer), *_at(start), (11, end[0]), (21, end[1]), (31, 0.0))


def _text(words: str, at: Point, layer: str) -> Iterator[Pair]:
    yield from _pairs((0, "TEXT"), (8, layer), *_at(at), (40, TEXT_HEIGHT), (1, words[:250]))


def _pairs(*pairs: Pair) -> tuple[Pair, ...]:
    return pairs


def _at(point: Point) -> Iterable[Pair]:
    return [(10, point[0]), (20, point[1]), (30, 0.0)]


def _value(value: str | int | float) -> str:
    if isinstance(value, float):
        # Six decimals are what the layout file has.
        text = f"{value:.6f}".rstrip("0")
        text = f"{text}0" if text.endswith(".") else text
        return "0.0" if text == "-0.0" else text
    if isinstance(value, int):
        return f"{value:>6}"
    kept = " ".join(visible(value, " ").split())
    # Beyond ASCII the reference has \U+ and four hexadecimal digits.
    return "".join(
        char if ord(char) < 128 else f"\\U+{ord(char):04X}" if ord(char) < 65536 else "?" for char in kept
    )


def _middle(segment: tuple[Point, Point]) -> Point:
    (ax, ay), (bx, by) = segment
    return (ax + bx) / 2, (ay + by) / 2
