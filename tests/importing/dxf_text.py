"""DXF files written by hand for tests: group codes and values, as the published DXF reference has them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Point = tuple[float, float]
Pair = tuple[int, object]


def pairs(*given: Pair) -> str:
    return "".join(f"{code}\n{value}\n" for code, value in given)


def polyline(points: Sequence[Point], layer: object, closed: bool = True) -> str:
    vertices = "".join(pairs((0, "VERTEX"), (8, layer), (10, x), (20, y)) for x, y in points)
    head = pairs((0, "POLYLINE"), (8, layer), (66, 1), (70, int(closed)))
    return f"{head}{vertices}{pairs((0, 'SEQEND'))}"


def line(start: Point, end: Point, layer: object) -> str:
    return pairs((0, "LINE"), (8, layer), (10, start[0]), (20, start[1]), (11, end[0]), (21, end[1]))


def point(at: Point, layer: object) -> str:
    return pairs((0, "POINT"), (8, layer), (10, at[0]), (20, at[1]))


def points(many: Iterable[Point], layer: object) -> str:
    return "".join(point(at, layer) for at in many)


def text(words: str, layer: object = 1, at: Point = (10.0, 10.0)) -> str:
    return pairs((0, "TEXT"), (8, layer), (10, at[0]), (20, at[1]), (40, 5), (1, words))


def insert(name: str, at: Point = (0.0, 0.0), *more: Pair) -> str:
    return pairs((0, "INSERT"), (8, 0), (2, name), (10, at[0]), (20, at[1]), *more)


def block(name: str, *body: str) -> str:
    head = pairs((0, "BLOCK"), (8, 0), (2, name), (70, 0), (10, 0), (20, 0))
    return head + "".join(body) + pairs((0, "ENDBLK"), (8, 0))


def dxf(blocks: Sequence[str] = (), entities: Sequence[str] = (), header: str = "") -> str:
    """A whole file with no more in it than it needs."""
    parts = [pairs((0, "SECTION"), (2, "HEADER")) + header + pairs((0, "ENDSEC"))] if header else []
    parts.append(pairs((0, "SECTION"), (2, "BLOCKS")) + "".join(blocks) + pairs((0, "ENDSEC")))
    parts.append(pairs((0, "SECTION"), (2, "ENTITIES")) + "".join(entities) + pairs((0, "ENDSEC")))
    return "".join(parts) + pairs((0, "EOF"))


def style(units: str | None = "METRIC", **more: str) -> str:
    """The texts of the style, in the drawing beside the blocks."""
    words = {"Style Name": "Oar bag", "Sample Size": "M", **more}
    if units is not None:
        words["Units"] = units
    return "".join(text(f"{key}: {value}") for key, value in words.items())


BODY: tuple[Point, ...] = ((0.0, 0.0), (200.0, 0.0), (210.0, 400.0), (150.0, 420.0), (0.0, 420.0))
"""Half of a body, 420 mm along its fold at x = 0."""


def body(size: str = "M", grow: float = 0.0, outline: Sequence[Point] = BODY, *more: str) -> str:
    """A piece with something on every layer that is read."""
    ring = [(x + (grow if x > 0 else 0.0), y) for x, y in outline]
    return block(
        f"BODY-{size}",
        polyline(ring, 1),
        points(ring, 2),
        point(ring[1], 4),
        point((100.0 + grow, 0.0), 81),
        line((0.0, 0.0), (0.0, 420.0), 6),
        line((60.0, 50.0), (60.0, 350.0), 7),
        polyline([(20.0, 300.0), (90.0, 300.0), (90.0, 380.0)], 8, closed=False),
        polyline([(100.0, 100.0), (120.0, 100.0), (120.0, 140.0), (100.0, 140.0)], 11),
        point((90.0, 300.0), 13),
        polyline([(10.0, 10.0), (190.0, 10.0), (200.0, 390.0)], 14, closed=False),
        text("Piece Name: BODY"),
        text(f"Size: {size}"),
        text("Quantity: 1,0"),
        text("Material: FABRIC"),
        text("check the print", 15),
        *more,
    )
