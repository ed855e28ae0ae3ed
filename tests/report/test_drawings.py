"""Layouts as DXF and SVG: read back by our own importers, audited by ezdxf, the same bytes every time."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.dxf import read_dxf
from marker.importing.found import Found, Options
from marker.importing.svg import read_svg
from marker.model.layout import Band, MaterialLayout, Placement
from marker.model.piece import Notch, Piece, Point, Ring
from marker.model.ring import counter_clockwise
from marker.report.drawing_dxf import layout_dxf
from marker.report.drawing_svg import layout_svg
from tests.report import samples

KINDS = {
    "dxf": (layout_dxf, lambda path: read_dxf(path)),
    "svg": (layout_svg, lambda path: read_svg(path, Options())),
}
NEAR = 0.01
"""Millimetres that a shape may change by on its way out and in again."""
LAYS = (
    samples.folded,
    samples.interfacing,
    samples.crosswise,
    samples.mixed,
    samples.tube,
    samples.flawed,
    samples.thin,
)


def found_in(kind: str, material: MaterialLayout, folder: Path) -> Found:
    write, read = KINDS[kind]
    file = folder / f"layout.{kind}"
    file.write_bytes(write(material, samples.job()))
    return read(file)


def pieces_in(kind: str, material: MaterialLayout, folder: Path) -> list[Piece]:
    """The pieces of the pattern file that the drawing of a layout is imported to, in the drawing's order."""
    found = found_in(kind, material, folder)
    file = folder / f"{kind}.toml"
    file.write_text(pattern_text(found, {material.material: "140 cm"}))
    pattern = load_pattern(file)
    return list(pattern.pieces[pattern.sizes[0]])


def corner(points: Ring) -> Point:
    return min(x for x, _ in points), min(y for _, y in points)


def assert_same(piece: Piece, placed: Placement) -> None:
    """The same shape and marks, but for where they lie."""
    (left, bottom), (x0, y0) = corner(piece.outline), corner(placed.outline)

    def there(point: Point) -> Point:
        return point[0] - left + x0, point[1] - bottom + y0

    read = Polygon([there(point) for point in piece.outline])
    wanted = Polygon(placed.outline)
    assert read.exterior.hausdorff_distance(wanted.exterior) < NEAR
    assert read.symmetric_difference(wanted).area < NEAR * wanted.length
    assert_near([there(point) for point in piece.grain], placed.grain)
    assert_near(sorted(there(notch.at) for notch in piece.notches), sorted(n.at for n in placed.notches))
    assert sorted(notch.name for notch in piece.notches) == sorted(notch.name for notch in placed.notches)
    assert_near([there(point) for point in piece.drills], placed.drills)
    if placed.on_fold and placed.fold_edge is not None:
        assert piece.fold_edge is not None
        assert_near(sorted(there(point) for point in piece.fold_edge), sorted(placed.fold_edge))
        assert [cut.how for cut in piece.cuts] == ["on fold"]
    else:
        assert piece.fold_edge is None
    assert sum(cut.count for cut in piece.cuts) == placed.copies
    wanted_lines = [*placed.lines, *([placed.fold_edge] if placed.opened and placed.fold_edge else [])]
    assert len(piece.lines) == len(wanted_lines) + len(placed.holes)
    for line in placed.lines:
        assert any(
            all(math.dist(there(a), b) < NEAR for a, b in zip(read_line, line, strict=False))
            for read_line in piece.lines
        )


def assert_near(one: Any, other: Any) -> None:
    assert len(one) == len(other)
    for a, b in zip(one, other, strict=True):
        assert math.dist(a, b) < NEAR


def on_edge(material: MaterialLayout) -> MaterialLayout:
    """Without the notches that the rough sample pieces have off their edge."""

    def kept(placed: Placement) -> Placement:
        edge = Polygon(placed.outline).exterior
        from shapely import Point as Dot

        return replace(placed, notches=tuple(n for n in placed.notches if edge.distance(Dot(n.at)) < 0.001))

    return replace(material, placements=tuple(kept(placed) for placed in material.placements))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("lay", LAYS, ids=lambda lay: lay.__name__)
def test_every_placed_piece_is_read_back(kind: str, lay: Any, tmp_path: Path) -> None:
    material = on_edge(lay())
    pieces = pieces_in(kind, material, tmp_path)
    assert len(pieces) == len(material.placements)
    for piece, placed in zip(pieces, material.placements, strict=True):
        assert placed.name in piece.name and piece.name.startswith(placed.piece)
        assert_same(piece, placed)


@pytest.mark.parametrize("kind", KINDS)
def test_two_notches_in_one_place_keep_their_names(kind: str, tmp_path: Path) -> None:
    material = samples.interfacing()
    cuff, *others = material.placements
    at = cuff.outline[1]
    doubled = replace(cuff, notches=(Notch("sleeve", at), Notch("collar", at)))
    pieces = pieces_in(kind, replace(material, placements=(doubled, *others)), tmp_path)
    assert_same(pieces[0], doubled)


@pytest.mark.parametrize("kind", KINDS)
def test_holes_are_read_back_as_lines(kind: str, tmp_path: Path) -> None:
    material = samples.interfacing()
    cuff, *others = material.placements
    x, y = corner(cuff.outline)
    hole = ((x + 20, y + 20), (x + 40, y + 20), (x + 40, y + 60))
    pierced = replace(material, placements=(replace(cuff, holes=(hole,)), *others))
    piece = pieces_in(kind, pierced, tmp_path)[0]
    assert_same(piece, pierced.placements[0])
    assert Polygon(piece.lines[0]).area == pytest.approx(Polygon(hole).area)


@st.composite
def outlines(draw: st.DrawFn) -> Ring:
    """Simple outlines, convex or not: points at growing angles round a middle, to a thousandth."""
    count = draw(st.integers(3, 24))
    turn = draw(st.floats(0, math.tau))
    stretch = draw(st.floats(0.2, 1.0))
    points = []
    for i in range(count):
        angle = turn + math.tau * (i + draw(st.floats(-0.35, 0.35))) / count
        radius = draw(st.floats(30, 400))
        points.append(
            (round(500 + radius * math.cos(angle), 3), round(500 + stretch * radius * math.sin(angle), 3))
        )
    return counter_clockwise(points)


@st.composite
def placed_pieces(draw: st.DrawFn) -> Placement:
    outline = draw(outlines())
    notches = []
    # At most one notch an edge and none close to another: those of 1 mm apart snap to one corner.
    for i in draw(st.sets(st.integers(0, len(outline) - 1), max_size=4)):
        (ax, ay), (bx, by) = outline[i], outline[(i + 1) % len(outline)]
        if math.hypot(bx - ax, by - ay) > 10:
            t = draw(st.floats(0.3, 0.7))
            notches.append(
                Notch(
                    draw(st.sampled_from(["a", "b", "front; armhole", "Ä 1", "<&>"])),
                    (ax + t * (bx - ax), ay + t * (by - ay)),
                )
            )
    angle = draw(st.floats(0, 360))
    grain = ((500.0, 500.0), (500 + 20 * math.cos(angle), 500 + 20 * math.sin(angle)))
    return Placement(
        piece=draw(st.sampled_from(["1", "A", "12b"])),
        name=draw(st.sampled_from(["Front", "Ärmel", "cut 2 <fast>", "Loop; spare"])),
        copies=draw(st.integers(1, 2)),
        mirrored=draw(st.booleans()),
        rotation=0.0,
        on_fold=False,
        outline=outline,
        grain=grain,
        band=0,
        notches=tuple(notches),
        lines=(((500.0, 500.0), (510.0, 505.0), (505.0, 515.0)),),
    )


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=60, deadline=None)
@given(placed=st.lists(placed_pieces(), min_size=1, max_size=3))
def test_any_outline_is_read_back(
    kind: str, placed: list[Placement], tmp_path_factory: pytest.TempPathFactory
) -> None:
    # Apart from one another, as pieces on cloth are.
    moved = [_moved(one, 1000.0 * i) for i, one in enumerate(placed) if Polygon(one.outline).area > 200]
    if not moved:
        return
    bands = (Band((0.0, 3000.0), (0.0, 1000.0), 2),)
    material = samples.finish("fabric", samples.LINEN, "open", bands, moved, 3000.0, 3000.0, "3 m")
    pieces = pieces_in(kind, material, tmp_path_factory.mktemp(kind))
    assert len(pieces) == len(moved)
    for piece, one in zip(pieces, moved, strict=True):
        tidy = tuple(Notch(_one_phrase(n.name) if kind == "svg" else n.name, n.at) for n in one.notches)
        assert_same(piece, replace(one, notches=tidy))


def _one_phrase(name: str) -> str:
    """What divides phrases of the SVG convention cannot stand in a name."""
    return name.replace(";", "")


def _moved(one: Placement, by: float) -> Placement:
    def to(points: Any) -> Any:
        return tuple((x + by, y) for x, y in points)

    return replace(
        one,
        outline=to(one.outline),
        grain=to(one.grain),
        notches=tuple(Notch(n.name, to([n.at])[0]) for n in one.notches),
        lines=tuple(to(line) for line in one.lines),
    )


@pytest.mark.parametrize("lay", LAYS, ids=lambda lay: lay.__name__)
def test_the_audit_of_ezdxf_finds_nothing(lay: Any, tmp_path: Path) -> None:
    data = layout_dxf(lay(), samples.job())
    file = tmp_path / "layout.dxf"
    file.write_bytes(data)
    # Both ways of reading: the strict one raises for what the forgiving one would repair.
    document = ezdxf.readfile(file)
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    from ezdxf import recover

    _, repaired = recover.read(io.BytesIO(data))
    assert not repaired.errors and not repaired.fixes
    assert document.dxfversion == "AC1009"


def test_the_file_shows_the_layout_to_readers_that_know_no_standard() -> None:
    material = samples.folded()
    document = ezdxf.read(io.StringIO(layout_dxf(material, samples.job()).decode("ascii")))
    shown = []
    for insert in document.modelspace().query("INSERT"):
        for entity in insert.virtual_entities():
            if entity.dxftype() == "POLYLINE" and entity.dxf.layer == "1":
                shown.append(Polygon([(v.dxf.location.x, v.dxf.location.y) for v in entity.vertices]))
    assert len(shown) == len(material.placements)
    for shape, placed in zip(shown, material.placements, strict=True):
        assert shape.symmetric_difference(Polygon(placed.outline)).area < 0.01
    cloth = [e for e in document.modelspace() if e.dxf.layer == "CLOTH"]
    assert len(cloth) == len(material.bands)


def test_layers_and_texts_are_those_of_the_standard() -> None:
    document = ezdxf.read(io.StringIO(layout_dxf(samples.folded(), samples.job()).decode("ascii")))
    block = next(b for b in document.blocks if b.name == "PIECE-001")
    kinds = {(entity.dxf.layer, entity.dxftype()) for entity in block}
    assert {
        ("1", "POLYLINE"),
        ("2", "POINT"),
        ("4", "POINT"),
        ("6", "LINE"),
        ("7", "LINE"),
        ("8", "POLYLINE"),
    } <= kinds
    words = [entity.dxf.text for entity in block.query("TEXT[layer=='1']")]
    assert words == ["Piece Name: 1 Front", "Size: M", "Quantity: 1,0", "Material: fabric"]
    style = [entity.dxf.text for entity in document.modelspace().query("TEXT")]
    assert "Units: METRIC" in style and "Sample Size: M" in style


def test_what_lies_face_down_says_so_and_has_the_other_hand() -> None:
    lay = samples.Lay((Band((0.0, 800.0), (0.0, 700.0), 1),))
    placed = lay.put(samples.PLACKET, (0.0, 0.0), mirrored=True)
    material = samples.finish("fabric", samples.LINEN, "open", lay.bands, [placed], 800.0, 800.0, "0.8 m")
    text = layout_dxf(material, samples.job()).decode()
    assert "Quantity: 0,1\n" in text and "Annotation: laid face down\n" in text
    assert b"face down" in layout_svg(material, samples.job())


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_layout_gives_the_same_bytes(kind: str) -> None:
    write = KINDS[kind][0]
    assert write(samples.folded(), samples.job()) == write(samples.folded(), samples.job())
    assert write(samples.folded(), samples.job()) != write(samples.crosswise(), samples.job())


def test_the_svg_is_as_large_as_the_spread_cloth_and_a_margin() -> None:
    material = samples.folded()
    text = layout_svg(material, samples.job()).decode()
    width, height, box = re.search(
        r'<svg [^>]*width="(.*?)mm" height="(.*?)mm" viewBox="(.*?)"', text
    ).groups()  # type: ignore[union-attr]
    assert box == f"0 0 {width} {height}"
    assert float(width) == pytest.approx(material.length + 40)
    # Folded along the length: 690 mm of cloth are seen.
    assert float(height) == pytest.approx(690 + 40)


def test_the_layout_in_svg_has_its_words_inside_the_pieces() -> None:
    text = layout_svg(samples.folded(), samples.job()).decode()
    for placed in samples.folded().placements:
        assert f"{placed.piece} {placed.name}" in text
    assert text.count("<text ") >= 8
